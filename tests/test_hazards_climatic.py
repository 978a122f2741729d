"""Tests of hazards worked out from the climatology."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.hazards.climatic import angstrom_index, computed_findings, computed_levels
from sheltermap.hazards.kinds import COMPUTED_KINDS

MONTHS = np.arange(1, 13)
WEIGHT = xr.DataArray([0.95, 0.05], dims="cell")
MILD = {
    "air_temperature": 15.0,
    "air_temperature_min": 10.0,
    "air_temperature_max": 20.0,
    "vapour_pressure": 1.2,
    "rain_per_day": 2.5,
    "night_low_spread": 3.0,
    "night_low": 10.0,
    "bedtime_temperature": 7.0,
    "elevation": 200.0,
}


def levels(heavy_day=None, marked=(), **changes):
    """Return the levels of a mild climate with changes, the same in all months and cells.

    Variables in `marked` are marked as estimated.
    """
    values = MILD | changes
    season = xr.Dataset(
        {
            name: xr.DataArray(
                np.full((12, 2), float(value)), {"month": MONTHS}, ("month", "cell")
            )
            for name, value in values.items()
        }
    )
    for name in marked:
        season[name].attrs["estimated"] = "from the monthly mean"
    season["elevation"] = season["elevation"].isel(month=0, drop=True)
    chance = None if heavy_day is None else season["air_temperature"] * 0 + heavy_day
    return computed_levels(season, season, chance)


def level(kind, **changes):
    """Return one kind's level."""
    return float(levels(**changes)[kind].isel(month=0, cell=0))


def test_mild_climate_hints_at_nothing():
    """Every kind is assessed and none has a level."""
    result = levels(heavy_day=0.0)
    assert set(result) == set(COMPUTED_KINDS)
    assert all((result[kind] == 0).all() for kind in result)
    assert computed_findings(result, WEIGHT) == ()


# Wet-bulb globe temperature 0.567 T + 3.93 e + 3.94 against the US Army card's categories:
# 25, 2.0 -> 26.0 (1); 28, 2.0 -> 27.7 (1); 28, 2.1 -> 28.1 (2); 34, 2.0 -> 31.1 (3);
# 34, 2.1 -> 31.5 (4); 38, 2.5 -> 35.3 (5).
@pytest.mark.parametrize(
    ("warmest", "vapour", "expected"),
    [(25, 2.0, 0), (28, 2.0, 0), (28, 2.1, 1), (34, 2.0, 1), (34, 2.1, 2), (38, 2.5, 2)],
)
def test_midday_heat_follows_the_categories(warmest, vapour, expected):
    """An advisory from category 2, serious from category 4."""
    assert level("computed-heat", air_temperature_max=warmest, vapour_pressure=vapour) == expected


# 0.7 of the wet bulb and 0.3 of the air, the wet bulb solving es(w) - 0.0671 (t - w) = e by
# hand: 34, 2.1 -> 23.1, so 26.4 (1); 36, 1.5 -> 21.1, so 25.5 (0); 38, 2.5 -> 25.8, so 29.5
# (3); 40, 3.6 -> 30.1, so 33.1 (5).
@pytest.mark.parametrize(
    ("warmest", "vapour", "expected"), [(34, 2.1, 0), (36, 1.5, 0), (38, 2.5, 1), (40, 3.6, 2)]
)
def test_heat_in_shade_follows_the_same_categories(warmest, vapour, expected):
    """Shade helps much in dry air, little in humid air."""
    given = {"air_temperature_max": warmest, "vapour_pressure": vapour}
    assert level("computed-shade-heat", **given) == expected
    assert level("computed-heat", **given) >= expected


def test_heat_in_shade_is_known_where_the_height_is_not():
    """Sea level stands in, which reads too warm rather than too cool."""
    given = {"air_temperature_max": 40, "vapour_pressure": 3.6, "elevation": np.nan}
    assert level("computed-shade-heat", **given) == 2


# P(below 0) of a normal distribution with standard deviation 3: at a mean of 4.0 it is
# Φ(-1.33) = 0.091, at 3.8 Φ(-1.27) = 0.103 (printed tables).
@pytest.mark.parametrize(
    ("low", "mean", "rain", "expected"),
    [(4.0, 9, 2, 0), (3.8, 9, 2, 1), (-5, -1, 0.4, 1), (-5, -1, 0.6, 2), (-5, 1, 5, 1)],
)
def test_frost_is_one_night_in_ten_and_snow_lies_in_the_cold(low, mean, rain, expected):
    """Snow needs a mean at or below freezing and water to fall."""
    assert (
        level("computed-frost", night_low=low, air_temperature=mean, rain_per_day=rain) == expected
    )


@pytest.mark.parametrize(("mean", "expected"), [(19.9, 0), (20.1, 1), (27.0, 1), (36.5, 0)])
def test_malaria_climate_is_an_advisory_at_most(mean, expected):
    """Half suitability lies at 20 and 36 degrees; rain here is 91 mm a month."""
    changes = {"air_temperature": mean, "rain_per_day": 3.0, "air_temperature_min": 12.0}
    assert level("computed-malaria-climate", **changes) == expected


def test_insects_need_mild_calm_evenings():
    """From 8 degrees at bedtime; wind of 2.5 m/s at 2 m is 2.1 at 1 m by FAO-56 eq. 47."""
    assert level("computed-insects", bedtime_temperature=7.9) == 0
    assert level("computed-insects", bedtime_temperature=8.0) == 1
    assert level("computed-insects", bedtime_temperature=15, wind_speed=2.5) == 0
    assert level("computed-insects", bedtime_temperature=15, wind_speed=2.0) == 1
    assert level("computed-insects", bedtime_temperature=15, wind_speed=np.nan) == 1


@pytest.mark.parametrize(("chance", "expected"), [(0.04, 0), (0.06, 1), (0.2, 2)])
def test_ponding_follows_heavy_days(chance, expected):
    """One day in twenty, one in seven."""
    assert level("computed-ponding", heavy_day=chance) == expected


def test_ponding_is_left_out_when_nobody_knows():
    """No chance of heavy days given: not assessed, not none."""
    assert "computed-ponding" not in levels()


def test_fire_index_by_hand():
    """At 32 degrees and 30 %: 30 / 20 + (27 - 32) / 10 = 1.0."""
    vapour = 0.3 * float(saturation_vapour_pressure(32.0))
    season = xr.Dataset({"air_temperature_max": 32.0, "vapour_pressure": vapour})
    assert float(angstrom_index(season)) == pytest.approx(1.0)


def test_fire_weather_needs_a_dry_month():
    """The same hot dry air, with 30 and with 90 mm a month."""
    hot = {"air_temperature_max": 32.0, "vapour_pressure": 1.4}
    assert level("computed-fire-weather", rain_per_day=1.0, **hot) == 2
    assert level("computed-fire-weather", rain_per_day=3.0, **hot) == 0


@pytest.mark.parametrize(("height", "expected"), [(2499, 0), (2500, 1), (3499, 1), (3500, 2)])
def test_altitude_in_two_steps(height, expected):
    """High and very high altitude."""
    assert level("computed-altitude", elevation=height) == expected


@pytest.mark.parametrize("name", MILD)
def test_missing_input_gives_no_verdict(name):
    """NaN in any input never reads as a level, and never as none."""
    known, unknown = levels(heavy_day=0.0), levels(heavy_day=0.0, **{name: np.nan})
    changed = [kind for kind in known if unknown[kind].isnull().any()]
    assert changed, name
    assert all(unknown[kind].isnull().all() for kind in changed)


def test_findings_are_marked_computed_and_say_how():
    """They name their method, and hold on all days of a month."""
    (finding,) = computed_findings(levels(elevation=2600), WEIGHT)
    assert finding.computed and finding.kind == "computed-altitude"
    assert finding.level_by_day.tolist() == [1] * 365
    assert finding.source.startswith("computed from the climatology: ")


def test_finding_needs_a_tenth_of_the_camps():
    """One cell in twenty above 2,500 m is not where people camp; one in five is."""
    high = levels(elevation=200)
    high["computed-altitude"][:, 1] = 1.0
    assert computed_findings(high, WEIGHT) == ()
    (finding,) = computed_findings(high, xr.DataArray([0.8, 0.2], dims="cell"))
    assert finding.share == pytest.approx(0.2)


def test_months_become_days():
    """A level in February alone holds on days 31 to 58."""
    result = levels(elevation=200)
    result["computed-heat"][1] = 2.0
    (finding,) = computed_findings(result, WEIGHT)
    assert np.flatnonzero(finding.level_by_day).tolist() == list(range(31, 59))


def test_malaria_caution_says_suitability_is_not_risk():
    """The word stands beside every such finding."""
    kind = COMPUTED_KINDS["computed-malaria-climate"]
    assert "not risk" in kind.caution and "travel clinic" in kind.caution
