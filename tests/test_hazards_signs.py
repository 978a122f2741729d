"""Tests of signs: levels by hand, places of many camps, and a table that is whole."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.sign_kinds import COMPUTED_HAZARDS, SIGN_KINDS
from sheltermap.hazards.signs import HEAVY_DAY_MM, ClimateOfCamps, signs_of, strengths
from sheltermap.hazards.soil import evapotranspiration, reference_evapotranspiration, wetness
from sheltermap.sun import extraterrestrial_radiation

MILD = {
    "air_temperature": 15.0,
    "air_temperature_min": 10.0,
    "air_temperature_max": 20.0,
    "vapour_pressure": 1.2,
    "rain_per_day": 1.5,
    "wet_share": 0.2,
    "night_low_spread": 3.0,
    "night_low": 10.0,
    "bedtime_temperature": 9.0,
    "bedtime_vapour_pressure": 1.1,
}


def season_of(values, dim, length, cells=2, elevation=200.0):
    """Return a season of values alike on all days, or of rows by day, whose mean months have."""
    rows = {name: np.asarray(each, float) for name, each in values.items()}
    alike = {
        name: each if each.ndim < 2 or dim == "day" else each.mean(axis=0)
        for name, each in rows.items()
    }
    data = xr.Dataset(
        {
            name: ((dim, "cell"), np.broadcast_to(each, (length, cells)))
            for name, each in alike.items()
        }
    )
    data["elevation"] = "cell", np.broadcast_to(elevation, cells)
    days = np.linspace(1, 365, length)
    return data.assign_coords(day_of_year=(dim, days), latitude=("cell", np.full(cells, 5.0)))


def found(heavy_day=0.0, relief=0.0, elevation=200.0, cells=2, **changes):
    """Return the strengths of a mild climate with changes, alike in all days and cells."""
    values = MILD | changes
    days, months = (
        season_of(values, dim, length, cells, elevation)
        for dim, length in (("day", 365), ("month", 12))
    )
    chance = xr.DataArray(np.broadcast_to(heavy_day, (12, cells)), dims=("month", "cell"))
    around = xr.DataArray(np.full(cells, relief), dims="cell")
    return strengths(ClimateOfCamps(days, months, days, chance, around))


def strength(kind, **changes):
    """Return one kind's strength."""
    return float(found(**changes)[kind].isel(day=0, cell=0))


def along(kind, **changes):
    """Return one kind's strengths for places that differ in what is given as a list."""
    cells = max(np.size(each) for each in changes.values())
    return found(cells=cells, **changes)[kind].isel(day=0).values.tolist()


def test_mild_climate_has_no_sign():
    """Every kind is assessed, but for wind chill, passes and rivers; none holds."""
    result = found()
    assert set(result) == set(SIGN_KINDS) - {"wind-chill", "snow-on-the-pass", "high-river"}
    assert signs_of(result, np.array([0.5, 0.5]), 200.0) == ()


# Wet-bulb globe temperature 0.567 T + 3.93 e + 3.94 against the US Army card's categories:
# 28, 2.0 -> 27.7 (1); 28, 2.1 -> 28.1 (2); 34, 2.0 -> 31.1 (3); 34, 2.1 -> 31.5 (4).
@pytest.mark.parametrize(
    ("warmest", "vapour", "expected"), [(28, 2.0, 0), (28, 2.1, 1), (34, 2.0, 1), (34, 2.1, 2)]
)
def test_midday_heat_follows_the_categories(warmest, vapour, expected):
    """A sign from category 2, a strong one from category 4."""
    given = {"air_temperature_max": warmest, "vapour_pressure": vapour}
    assert strength("heat-by-day", **given) == expected


# 0.7 of the natural wet bulb and 0.3 of the air, the wet bulb solving es(w) - 0.0671 (t - w) = e
# by hand: 36, 1.5 -> 21.1, so 25.5 (0); 38, 2.5 -> 25.8, so 29.5 (3); 40, 3.6 -> 33.1 (5).
@pytest.mark.parametrize(
    ("warmest", "vapour", "expected"), [(36, 1.5, 0), (38, 2.5, 1), (40, 3.6, 2)]
)
def test_heat_in_shade_follows_the_same_categories(warmest, vapour, expected):
    """Shade helps much in dry air, little in humid air."""
    given = {"air_temperature_max": warmest, "vapour_pressure": vapour}
    assert strength("heat-in-shade", **given) == expected


def test_heat_in_shade_is_known_where_the_height_is_not():
    """Sea level stands in, which reads too warm rather than too cool."""
    given = {"air_temperature_max": 40, "vapour_pressure": 3.6, "elevation": np.nan}
    assert strength("heat-in-shade", **given) == 2


def test_frost_is_one_night_in_ten():
    """P(below 0) is a tenth 1.2816 spreads off (printed tables): with 3 K from 3.845 down.

    A strong sign where it stays below freezing by day as well.
    """
    low = [4.0, 3.86, 3.83, -5.0, -5.0, 9.0]
    high = [9.0, 9.0, 9.0, 0.0, -0.1, -1.0]
    assert along("frost", night_low=low, air_temperature_max=high) == [0, 0, 1, 1, 2, 0]


def test_cold_and_wet_come_together():
    """Means from -2 to 8 degC with rain on one day in three, or in two."""
    mean = [5.0, 5.0, 5.0, 5.0, 8.0, 8.1, -2.0, -2.1]
    share = [0.33, 1 / 3, 0.49, 0.5, 0.4, 0.6, 0.6, 0.6]
    found = along("cold-and-wet", air_temperature=mean, wet_share=share)
    assert found == [0, 1, 1, 2, 1, 0, 2, 0]


@pytest.mark.parametrize(("chance", "expected"), [(0.049, 0), (0.05, 1), (0.149, 1), (0.15, 2)])
def test_water_stands_after_heavy_days(chance, expected):
    """One day in twenty, one in seven."""
    assert strength("heavy-days", heavy_day=chance) == expected


def test_days_are_heavy_from_what_the_words_say():
    """20 mm, after which water stands; floods of valleys have the same."""
    assert SIGN_KINDS["heavy-days"].says.startswith(f"Rain of {HEAVY_DAY_MM:.0f} mm in a day")
    assert f"chance of {HEAVY_DAY_MM:.0f} mm in a day" in SIGN_KINDS["cloudbursts"].basis


def test_flash_floods_need_a_cloudburst_on_dry_steep_ground():
    """0.6 % and 2 % a day where heights spread by 100 m; soaked ground floods otherwise, and
    below 2 degC it snows."""
    given = {
        "heavy_day": [0.0059, 0.006, 0.0199, 0.02, 0.03, 0.03, 0.03, 0.03, 0.03],
        "relief": [200.0, 200.0, 200.0, 200.0, 100.0, 99.0, 200.0, 200.0, 200.0],
        "rain_per_day": [0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 9.0, 0.1, 0.1],
        "air_temperature": [15.0] * 7 + [2.0, 1.9],
    }
    assert along("cloudbursts", **given) == [0, 1, 1, 2, 2, 0, 0, 2, 0]


def test_flash_floods_come_in_the_season_of_cloudbursts():
    """A month has a third of the likeliest month's chance, or it is the dry season."""
    chances = np.full((12, 3), [0.0099, 0.0101, 0.007])
    chances[0] = [0.03, 0.03, 0.01]
    days = found(heavy_day=chances, relief=200.0, rain_per_day=0.5, cells=3)["cloudbursts"]
    assert days.isel(day=160).values.tolist() == [0, 1, 1]
    # The first months: 31 days of January, and February begins.
    assert days.isel(day=30).values.tolist() == [2, 2, 1]
    assert days.isel(day=31).values.tolist() == [0, 1, 1]


def test_tracks_are_wet_by_the_month_s_rain():
    """130 mm in a month of 365 / 12 days are 4.274 a day, 250 are 8.219; frozen ones carry.

    FAO-56 eq. 52 with 36 MJ, 35 degC and a range of 30 K: 0.0023 x 52.8 x 5.48 x 0.408 x 36 is
    9.8 mm a day, so that the store never fills.
    """
    given = {"air_temperature_min": 20.0, "air_temperature_max": 50.0}
    rain = [4.26, 4.29, 8.2, 8.24]
    assert along("wet-tracks", air_temperature=35.0, rain_per_day=rain, **given) == [0, 1, 1, 2]
    frozen = along("wet-tracks", air_temperature=[0.0, 0.1], rain_per_day=4.29)
    assert frozen == [0, 1]


def test_tracks_are_wet_by_what_a_full_store_cannot_take():
    """Half a millimetre a day beyond what evaporates, soaked from 2 mm on.

    By FAO-56 eq. 52, whose example is tested elsewhere, at 5 degrees north on 1 January.
    """
    given = {"air_temperature": 10.0, "air_temperature_min": 9.0, "air_temperature_max": 11.0}
    sun = float(extraterrestrial_radiation(5.0, 1))
    drying = float(reference_evapotranspiration(10.0, 9.0, 11.0, sun))
    assert 1.2 < drying < 1.4
    rain = [drying + more for more in (0.49, 0.51, 1.99, 2.01)]
    assert along("wet-tracks", rain_per_day=rain, **given) == [0, 1, 1, 2]


def test_a_store_must_be_full_before_tracks_are_wet():
    """After a dry half-year 4 mm a day fill 2.7 a day: nine tenths take a month and more."""
    rain = np.where(np.arange(365) < 180, 0.0, 4.0)[:, np.newaxis]
    climate = {"air_temperature": 10.0, "air_temperature_min": 9.0, "air_temperature_max": 11.0}
    season = season_of(climate | {"rain_per_day": rain}, "day", 365)
    full = wetness(season, evapotranspiration(season)).values[:, 0] >= 0.9
    wet = found(rain_per_day=rain, **climate)["wet-tracks"].values[:, 0]
    after = slice(180, 365)
    np.testing.assert_array_equal(wet[after] > 0, full[after])
    assert 205 < 180 + np.flatnonzero(full[after])[0] < 230


def test_wind_chill_where_the_wind_is_known():
    """At 18 km/h -4.935 + 1.2511 T (Environment Canada): -28 at -18.44 and -40 at -28.03.

    None in calm air, where there is no chill.
    """
    low = [-18.4, -18.5, -28.0, -28.1, -40.0, -40.0, np.nan]
    wind = [5.0, 5.0, 5.0, 5.0, 0.0, np.nan, 5.0]
    chills = along("wind-chill", air_temperature_min=low, wind_speed=wind)
    np.testing.assert_array_equal(chills, [0, 1, 1, 2, 0, np.nan, np.nan])


@pytest.mark.parametrize(("height", "expected"), [(2499, 0), (2500, 1), (3499, 1), (3500, 2)])
def test_altitude_in_two_steps(height, expected):
    """High and very high altitude."""
    assert strength("thin-air", elevation=height) == expected


@pytest.mark.parametrize(
    ("given", "kinds"),
    [
        ("vapour_pressure", ["heat-by-day", "heat-in-shade", "ticks", "fire-weather"]),
        ("rain_per_day", ["wet-tracks", "cloudbursts", "thaw-mud", "malaria-climate"]),
        ("rain_per_day", ["dengue-climate", "biting-evenings", "fire-weather"]),
        ("wet_share", ["cold-and-wet"]),
        ("night_low", ["frost"]),
        ("bedtime_temperature", ["biting-evenings"]),
        ("air_temperature", ["thin-air", "cold-and-wet", "snow-on-the-road", "ticks"]),
    ],
)
def test_missing_input_is_no_verdict(given, kinds):
    """Without it nothing is stated and nothing denied, even where a cloudburst is likely."""
    result = found(heavy_day=0.03, relief=200.0, **{given: np.nan})
    assert [kind for kind in kinds if not result[kind].isnull().all()] == []
    told = {sign.kind for sign in signs_of(result, np.full(2, 0.5), 0.0)}
    assert not told & set(kinds)


def test_every_kind_says_what_it_rests_on():
    """Title, words, rule, skill and caution; what it answers is a kind of hazard."""
    for kind in SIGN_KINDS.values():
        assert kind.title and kind.says and kind.basis and kind.skill, kind.name
        assert kind.caution.endswith("."), kind.name
        assert not kind.answers or kind.answers in HAZARD_KINDS, kind.name
        words = f"{kind.says} {kind.strongly}".lower()
        assert not any(word in words for word in ("advisory", "serious", "prohibitive")), kind.name
    assert set(COMPUTED_HAZARDS) <= set(HAZARD_KINDS)
    assert not set(SIGN_KINDS) & set(HAZARD_KINDS)
