"""Tests of fire weather: the indices by hand, and fire seasons in print."""

from functools import cache

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from sign_places import months_at, months_at_all, months_of

from sheltermap.air import saturation_vapour_pressure
from sheltermap.hazards.fire import angstrom_index, drought_code, fire_strength


def test_angstrom_index_by_hand():
    """At 32 degrees and 30 %: 30 / 20 + (27 - 32) / 10 = 1.0."""
    vapour = 0.3 * float(saturation_vapour_pressure(32.0))
    season = xr.Dataset({"air_temperature_max": 32.0, "vapour_pressure": vapour})
    assert float(angstrom_index(season)) == pytest.approx(1.0)


def test_drought_code_of_the_first_steps_by_hand():
    """No rain: the code rises by 0.25 x days x (0.36 T + factor) a month, for ever.

    At 20 degrees on the equator: 0.25 x 365 x (7.2 + 1.4) = 784.75 a year. January of the third
    year: 2 x 784.75, and the mean of what 31 days add at mid-month and at its end, 66.65.
    """
    year = xr.Dataset(
        {
            "air_temperature_max": ("month", np.full(12, 20.0)),
            "rain_per_day": ("month", np.zeros(12)),
        }
    ).assign_coords(latitude=0.0)
    assert float(drought_code(year)[0]) == pytest.approx(2 * 784.75 + 66.65, abs=0.01)


def test_soaking_rain_keeps_the_code_at_what_a_month_dries():
    """245 mm and more fill the scale, so a month ends with its own drying alone."""
    year = xr.Dataset(
        {
            "air_temperature_max": ("month", np.full(12, 20.0)),
            "rain_per_day": ("month", np.full(12, 10.0)),
        }
    ).assign_coords(latitude=0.0)
    drying = 0.25 * 31 * (7.2 + 1.4)
    assert float(drought_code(year)[0]) == pytest.approx((drying + drying + drying) / 2, abs=0.01)


# Van Wagner and Pickett 1985, table of the day length factor of the drought code, from January.
DAY_LENGTH = [-1.6, -1.6, -1.6, 0.9, 3.8, 5.8, 6.4, 5.0, 2.4, 0.4, -1.6, -1.6]


@pytest.mark.parametrize(
    ("latitude", "factors"),
    [
        (10.1, DAY_LENGTH),
        (60.0, DAY_LENGTH),
        (-10.1, DAY_LENGTH[6:] + DAY_LENGTH[:6]),
        (10.0, [1.4] * 12),
        (-10.0, [1.4] * 12),
    ],
)
def test_months_dry_by_the_printed_length_of_their_days(latitude, factors):
    """Without rain a month adds 0.25 x days x (0.36 x 20 + factor), whatever it was before."""
    year = xr.Dataset(
        {
            "air_temperature_max": ("month", np.full(12, 20.0)),
            "rain_per_day": ("month", np.zeros(12)),
        }
    ).assign_coords(latitude=latitude)
    days = np.array([28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    added = np.diff(drought_code(year))
    assert (added / days * 4 - 7.2).tolist() == pytest.approx(factors[1:])


def test_rain_takes_from_the_code_by_hand():
    """January's 300 mm soak, February to April dry at 30 degC, May brings 50 mm, the rest frost.

    85.4, 94.55 and 91.5 add up to 271.45. 800 exp(-271.45 / 400) = 405.86 and 3.937 x 0.83 x 50
    = 163.39 make 569.24, so May ends at 400 ln(800 / 569.24) = 136.12 and its mean is 203.8.
    """
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    rain = np.array([300.0, 0, 0, 0, 50, *[0] * 7]) / days
    warmest = np.array([-10.0, 30, 30, 30, *[-10] * 8])
    year = xr.Dataset(
        {"air_temperature_max": ("month", warmest), "rain_per_day": ("month", rain)}
    ).assign_coords(latitude=0.0)
    found = drought_code(year).values
    # January's mean is of what it began with, December's 136.12, and of nothing.
    by_hand = [68.06, 85.4, 179.95, 271.45, 203.78, *[136.12] * 7]
    assert found.tolist() == pytest.approx(by_hand, abs=0.01)


def test_code_of_several_places_is_each_one_s_own():
    """A place in the north, one in the south, with months as the second dimension."""
    warm = np.stack([np.linspace(5, 25, 12), np.linspace(30, 12, 12)])
    rain = np.stack([np.linspace(4, 0, 12), np.linspace(1, 2, 12)])
    both = xr.Dataset(
        {
            "air_temperature_max": (("cell", "month"), warm),
            "rain_per_day": (("cell", "month"), rain),
        }
    ).assign_coords(latitude=("cell", [50.0, -35.0]))
    together = drought_code(both)
    assert together.dims == ("month", "cell")
    for cell in range(2):
        alone = drought_code(both.isel(cell=cell))
        np.testing.assert_allclose(together[:, cell], alone)


def _like_every_month(degrees, humidity, rain):
    """Return months alike on the equator but for their rain; degC, %, mm a month."""
    lengths = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    vapour = humidity / 100 * float(saturation_vapour_pressure(degrees))
    return xr.Dataset(
        {
            "air_temperature_max": ("month", np.full(12, degrees)),
            "rain_per_day": ("month", rain / lengths),
            "vapour_pressure": ("month", np.full(12, vapour)),
        }
    ).assign_coords(latitude=0.0)


@cache
def _regions():
    """Return each region in print with the months of its season, and those computed."""
    rows = published("signs", "fire")["rows"]
    found = fire_strength(months_at_all([row[1:3] for row in rows])).transpose("cell", "month")
    return [(row[0], set(row[3]), months_of(each)) for row, each in zip(rows, found, strict=True)]


def test_fire_seasons_are_found_and_others_left_alone():
    """32 regions: nine of ten months of the season, fewer than one in ten of the others.

    The months beside a season count neither way. Thresholds were chosen with these in view.
    """
    hits = false = inside = outside = 0
    for _, season, found in _regions():
        beside = {(month + step - 1) % 12 + 1 for month in season for step in (-1, 1)} - season
        others = set(range(1, 13)) - season - beside
        hits, inside = hits + len(season & found), inside + len(season)
        false, outside = false + len(others & found), outside + len(others)
    assert hits / inside == pytest.approx(0.94, abs=0.02)
    assert false / outside == pytest.approx(0.07, abs=0.02)


def test_nothing_burns_where_nothing_grows_or_dries():
    """Deserts, salt flats, rainforest, and rainy coasts: none at all."""
    for name, season, found in _regions():
        if not season:
            assert not found, name


def test_grass_is_green_for_a_month_after_a_soaked_one():
    """131 mm in one month keep the next from burning, 129 mm don't, however dry it is.

    At 40 degC a month dries by 0.25 x 30 x (0.36 x 40 + 1.4) = 119 and more, so that its code is
    beyond 100 after any rain.
    """
    for soaked, burns in ((131.0, 0), (129.0, 1)):
        rain = np.full(12, 20.0)
        rain[6] = soaked
        found = fire_strength(_like_every_month(40.0, 45.0, rain)).values
        assert found[6] == 0 and (found[7] > 0) == burns and found[8] > 0


def test_no_fire_where_people_would_laugh():
    """Niamey in September, after August's rain; Bangkok in November, when its floods end."""
    niamey, bangkok = (
        months_of(fire_strength(months_at(*place)).values)
        for place in ((13.5, 2.1), (13.75, 100.5))
    )
    assert 9 not in niamey and {11, 12, 1, 2, 3} <= niamey
    assert 11 not in bangkok and {1, 2, 3} <= bangkok


@pytest.mark.parametrize("name", ["rain_per_day", "air_temperature_max"])
def test_a_missing_month_leaves_the_year_unknown(name):
    """Drought comes from the months before, and what grows from the rain of all."""
    year = _like_every_month(30.0, 45.0, np.full(12, 20.0))
    year[name][4] = np.nan
    assert fire_strength(year).isnull().all()


def test_missing_stays_missing():
    """No vapour pressure, no verdict."""
    season = months_at(38.1, 23.8)
    assert (
        fire_strength(season.assign(vapour_pressure=np.nan * season["vapour_pressure"]))
        .isnull()
        .all()
    )


@pytest.mark.parametrize(
    ("degrees", "rain", "humidity", "strength"),
    [
        # At 30 degC the index is humidity / 20 - 0.3; with 20 mm a month the code is about 510.
        (30.0, 20.0, 64.0, 0),  # 2.9
        (30.0, 20.0, 61.0, 1),  # 2.75
        (30.0, 20.0, 47.0, 1),  # 2.05
        (30.0, 20.0, 45.0, 2),  # 1.95
        (30.0, 45.0, 45.0, 1),  # code about 186
        (30.0, 37.5, 45.0, 2),  # code about 259
        (30.0, 39.5, 45.0, 1),  # code about 238
        (20.0, 60.0, 20.0, 0),  # index 1.7, code 92 to 100
        (30.0, 19.5, 45.0, 0),  # 234 mm a year: too little grows
        (30.0, np.nan, 45.0, np.nan),
    ],
)
def test_what_burns_on_the_equator(degrees, rain, humidity, strength):
    """Months alike; the code by hand.

    At 30 degC a month dries d = 0.25 x 30.4 x (0.36 x 30 + 1.4) = 92.7 and wets 3.268 x rain.
    With x the exponential of -code / 400 at its end, 800 x exp(d / 400) = 800 x + wetting: x is
    0.31 and 0.70 with 20 and 45 mm, the code of the month 464 + d / 2 and 140 + d / 2; 37.5 and
    39.5 mm make it 0.588 and 0.619, and the code 213 + d / 2 and 192 + d / 2. At
    20 degC 60 mm soak the ground each month: 1.5 d, with d at most 66.65.
    """
    year = _like_every_month(degrees, humidity, np.full(12, rain))
    np.testing.assert_array_equal(fire_strength(year).values, np.full(12, strength))


@pytest.mark.parametrize(("degrees", "strength"), [(33.5, 1), (31.5, 0)])
def test_litter_burns_from_a_code_of_100_on(degrees, strength):
    """January's 300 mm and frost until March leave a code of 0; March adds 7.75 (0.36 T + 1.4).

    That is 104.3 and 98.7. The air is dry enough either way: 45 / 20 + (27 - T) / 10 is 1.6
    and 1.8.
    """
    warmest = np.full(12, -10.0)
    warmest[2] = degrees
    year = _like_every_month(degrees, 45.0, np.array([300.0, *[0.0] * 11]))
    found = fire_strength(year.assign(air_temperature_max=("month", warmest)))
    assert found[2] == strength


def test_a_wet_month_does_not_burn():
    """86 mm in one month: none there, whatever the others leave dry."""
    rain = np.full(12, 20.0)
    rain[6] = 86.0
    found = fire_strength(_like_every_month(30.0, 45.0, rain)).values
    assert found[6] == 0 and found[5] == 2
