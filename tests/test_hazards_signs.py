"""Tests of signs: levels by hand, places of many camps, and a table that is whole."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.sign import Sign, Strength
from sheltermap.hazards.sign_kinds import COMPUTED_HAZARDS, SIGN_KINDS
from sheltermap.hazards.sign_words import altitude_words
from sheltermap.hazards.signs import ClimateOfCamps, signs_of, strengths

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


def found(heavy_day=0.0, relief=0.0, elevation=200.0, cells=2, **changes):
    """Return the strengths of a mild climate with changes, alike in all days and cells."""
    values = MILD | changes

    def season(dim, length):
        data = xr.Dataset(
            {
                name: ((dim, "cell"), np.broadcast_to(np.asarray(each, float), (length, cells)))
                for name, each in values.items()
            }
        )
        days = np.linspace(1, 365, length)
        data["elevation"] = "cell", np.broadcast_to(elevation, cells)
        return data.assign_coords(day_of_year=(dim, days), latitude=("cell", np.full(cells, 5.0)))

    days, months = season("day", 365), season("month", 12)
    chance = xr.DataArray(np.broadcast_to(heavy_day, (12, cells)), dims=("month", "cell"))
    around = xr.DataArray(np.full(cells, relief), dims="cell")
    return strengths(ClimateOfCamps(days, months, days, chance, around))


def strength(kind, **changes):
    """Return one kind's strength."""
    return float(found(**changes)[kind].isel(day=0, cell=0))


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


# P(below 0) of a normal distribution with standard deviation 3: at a mean of 4.0 it is
# 0.091, at 3.8 0.103 (printed tables).
@pytest.mark.parametrize(("low", "high", "expected"), [(4.0, 9, 0), (3.8, 9, 1), (-5, -1, 2)])
def test_frost_is_one_night_in_ten(low, high, expected):
    """A strong sign where it stays below freezing by day."""
    assert strength("frost", night_low=low, air_temperature_max=high) == expected


@pytest.mark.parametrize(
    ("mean", "share", "expected"),
    [(5.0, 0.3, 0), (5.0, 0.4, 1), (5.0, 0.6, 2), (9.0, 0.6, 0), (-3.0, 0.6, 0)],
)
def test_cold_and_wet_come_together(mean, share, expected):
    """Near freezing with rain on one day in three, or in two."""
    assert strength("cold-and-wet", air_temperature=mean, wet_share=share) == expected


@pytest.mark.parametrize(("chance", "expected"), [(0.04, 0), (0.06, 1), (0.2, 2)])
def test_water_stands_after_heavy_days(chance, expected):
    """One day in twenty, one in seven."""
    assert strength("heavy-days", heavy_day=chance) == expected


@pytest.mark.parametrize(
    ("chance", "relief", "rain", "expected"),
    [(0.01, 200.0, 0.5, 1), (0.03, 200.0, 0.5, 2), (0.01, 50.0, 0.5, 0), (0.01, 200.0, 9.0, 0)],
)
def test_flash_floods_need_a_cloudburst_on_dry_steep_ground(chance, relief, rain, expected):
    """Level country and soaked ground flood otherwise."""
    given = {"heavy_day": chance, "relief": relief, "rain_per_day": rain}
    assert strength("cloudbursts", **given) == expected


def test_flash_floods_come_in_the_season_of_cloudbursts():
    """Where January has 9 %, June's 0.7 % is the dry season; where July has 1 %, it is not."""
    chances = np.full(12, 0.007)
    for likeliest, june in ((0.09, 0), (0.01, 1)):
        chances[0] = likeliest
        days = found(heavy_day=chances[:, np.newaxis], relief=200.0, rain_per_day=0.5)
        assert days["cloudbursts"].isel(day=160, cell=0) == june
        assert days["cloudbursts"].isel(day=10, cell=0) > 0


def test_snow_of_a_fortnight_closes_no_road():
    """A long-term mean that is just deep enough for 20 days is no season; 21 days are."""
    for length, told in ((20, False), (21, True)):
        shares = np.zeros((3, 365, 1))
        shares[:2, 50 : 50 + length] = 0.6
        snow = xr.DataArray(shares, dims=("water", "day", "cell"))
        signs = signs_of(xr.Dataset({"snow-on-the-road": snow}), np.ones(1), 100.0)
        assert bool(signs) is told


@pytest.mark.parametrize(("rain", "expected"), [(4.0, 0), (4.5, 1), (9.0, 2)])
def test_tracks_are_wet_by_the_month_s_rain(rain, expected):
    """130 mm a month are 4.27 mm a day, 250 are 8.2; warm dry air takes 4 mm a day."""
    given = {"rain_per_day": rain, "air_temperature": 25.0, "air_temperature_min": 17.0}
    assert strength("wet-tracks", air_temperature_max=33.0, **given) == expected


@pytest.mark.parametrize(("wind", "expected"), [(5.0, 1), (20.0, 2), (np.nan, np.nan)])
def test_wind_chill_where_the_wind_is_known(wind, expected):
    """At -20: 18 km/h make -30.5 and 72 km/h -38.8; at -25 the latter makes -45.8."""
    low = -25.0 if wind == 20.0 else -20.0
    assert strength("wind-chill", air_temperature_min=low, wind_speed=wind) == pytest.approx(
        expected, nan_ok=True
    )


@pytest.mark.parametrize(("height", "expected"), [(2499, 0), (2500, 1), (3499, 1), (3500, 2)])
def test_altitude_in_two_steps(height, expected):
    """High and very high altitude."""
    assert strength("thin-air", elevation=height) == expected


def test_thin_air_is_told_with_its_figures():
    """At 5,000 m half of sea level's pressure is left and water boils near 83 degrees (tables)."""
    words = altitude_words(5000.0)
    assert "54 %" in words and "83 °C" in words


def test_place_has_a_sign_from_a_tenth_of_its_camps_on():
    """Two camps, one hot: with 5 % of the weight no sign, with 15 % one."""
    hot = found(air_temperature_max=[40.0, 20.0], vapour_pressure=[3.0, 1.0])
    few = {sign.kind for sign in signs_of(hot, np.array([0.05, 0.95]), 0.0)}
    more = {sign.kind for sign in signs_of(hot, np.array([0.15, 0.85]), 0.0)}
    assert "heat-by-day" not in few and "heat-by-day" in more


def test_missing_input_is_no_verdict():
    """Without vapour pressure no heat is stated, and none is denied."""
    result = found(vapour_pressure=np.nan)
    assert result["heat-by-day"].isnull().all()
    assert "heat-by-day" not in {sign.kind for sign in signs_of(result, np.full(2, 0.5), 0.0)}


def test_sign_says_when_in_words_and_spans():
    """A run across New Year is one span; the strongest day gives the word."""
    days = np.zeros(365, np.uint8)
    days[:31], days[334:] = Strength.STRONG, Strength.SIGN
    sign = Sign("frost", "Frost", days, "", "")
    assert (sign.strength, sign.spans) == ("strong sign", ("12-01..01-31",))


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


def test_short_breaks_do_not_end_a_season():
    """Rain of 5 mm a day from April on: twenty dry days in June are bridged, thirty not."""
    rain = np.where(np.arange(365) < 90, 1.5, 5.0)[:, np.newaxis]
    for dry, spans in ((20, 1), (30, 2)):
        broken = rain.copy()
        broken[160 : 160 + dry] = 1.5
        given = {"air_temperature": 25.0, "air_temperature_min": 17.0, "air_temperature_max": 33.0}
        days = found(**given)
        (sign,) = [
            one
            for one in signs_of(
                days.assign(
                    **{"wet-tracks": (("day", "cell"), np.repeat((broken > 4) * 1.0, 2, 1))}
                ),
                np.full(2, 0.5),
                0.0,
            )
            if one.kind == "wet-tracks"
        ]
        assert len(sign.spans) == spans
