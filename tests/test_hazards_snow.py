"""Tests of snow on the ground: by hand, against high roads and the northern snow cover."""

import numpy as np
import pytest
import xarray as xr
from published_tables import published
from snow_roads import ROADS, misses_of, of_kind, road_days, shares_of

from sheltermap.climate.calendar import by_day
from sheltermap.climate.grid import cells
from sheltermap.climate.heights import heights_at
from sheltermap.climate.world import world_climatology
from sheltermap.dates import FIRST_DAYS
from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.hazards.snow import CLOSING, DEEP, LYING, _weather, snow_shares


def constant_year(temperature, rain, spread=1e-6):
    """Return a year whose days are all alike, or as the arrays given."""
    values = {"air_temperature": temperature, "rain_per_day": rain, "night_low_spread": spread}
    return xr.Dataset(
        {
            name: ("day", np.broadcast_to(np.asarray(each, float), 365))
            for name, each in values.items()
        },
        {"day": np.arange(1, 366)},
    )


def test_steady_cold_builds_snow_and_steady_warmth_has_none():
    """At -5 all is snow and nothing melts; at 5 a day melts 20 mm and all is rain."""
    assert (snow_shares(constant_year(-5.0, 2.0)) == 1).all()
    assert (snow_shares(constant_year(5.0, 2.0)) == 0).all()


def test_snow_of_a_steady_winter_by_hand():
    """100 days at -5 with 2 mm, then 2 degrees: 200 mm lie, and 8 mm melt a day.

    5 mm lie from the third day on; 20 mm from the tenth; on the 23rd warm day 200 - 184 = 16 mm
    are left, on the 25th none. A figure is shared by 15 days, so half of it comes on that day.
    """
    days = np.arange(365)
    cold = (days >= 100) & (days < 200)
    shares = snow_shares(constant_year(np.where(cold, -5.0, 2.0), np.where(cold, 2.0, 0.0)))
    closed = np.flatnonzero(shares.sel(water=CLOSING) > 0.5)
    lying = np.flatnonzero(shares.sel(water=LYING) > 0.5)
    assert (closed[0], closed[-1]) == (109, 221)
    assert (lying[0], lying[-1]) == (102, 223)


def after_a_fall(millimetres, at=-5.0):
    """Return the shares of winters with snow: one fall on day 100, one thaw on day 300."""
    days = np.arange(365)
    mean = np.select([days == 100, days == 300], [at, 60.0], -5.0)
    return snow_shares(constant_year(mean, np.where(days == 100, millimetres, 0.0)))


@pytest.mark.parametrize(("water", "least"), [(LYING, 5.0), (CLOSING, 20.0), (DEEP, 100.0)])
def test_snow_whitens_closes_and_is_deep_from_so_much_on(water, least):
    """5, 20 and 100 mm of water, as the pages say; a hundredth less is not yet."""
    enough, less = after_a_fall(least), after_a_fall(0.99 * least)
    assert enough.sel(water=water)[110:290].values.tolist() == [1.0] * 180
    assert not less.sel(water=water).any()


@pytest.mark.parametrize(("fallen", "closes"), [(29.5, True), (29.0, False)])
def test_a_day_above_freezing_brings_rain_and_snow_and_melts(fallen, closes):
    """At 0.5 degC three quarters are snow and 2 mm melt: 20.1 or 19.75 mm are left, of 20."""
    assert bool(after_a_fall(fallen, at=0.5).sel(water=CLOSING)[150]) is closes


def test_days_share_a_figure_with_a_week_to_either_side():
    """Of snow from day 100 on a fifteenth shows a week before, eight on the day itself."""
    share = after_a_fall(50.0).sel(water=CLOSING).values
    assert share[[92, 93, 100, 106, 107]] == pytest.approx(np.array([0, 1, 8, 14, 15]) / 15)
    around = snow_shares(constant_year(np.where(np.arange(365) < 350, 120.0, -5.0), 30.0))
    # The fall of 17 December on lasts to New Year: days after it share seven with those before.
    assert around.sel(water=CLOSING)[0] == pytest.approx(7 / 15)
    assert around.sel(water=CLOSING)[6] == pytest.approx(1 / 15)


def test_weather_of_winters_lasts_as_months_differ():
    """Each day has mean 0 and spread 1 over 20 winters; a day goes with the next by 0.72.

    Means of n days of such a chain spread by sqrt((1 + r) / ((1 - r) n)), 0.45 for 30.4 days,
    which is how months differ between years.
    """
    weather = _weather()
    assert weather.shape == (730, 20)
    np.testing.assert_allclose(weather.mean(axis=1), 0.0, atol=1e-12)
    np.testing.assert_allclose(weather.std(axis=1), 1.0)
    assert np.mean(weather[1:] * weather[:-1]) == pytest.approx(0.72, abs=0.02)
    months = weather[:720].reshape(24, 30, 20).mean(axis=1)
    assert months.std() == pytest.approx(0.45, abs=0.04)


def test_places_have_the_same_weather_and_their_own_snow():
    """Two places in one set, days as the second dimension: each as alone, in steps of a winter."""
    cold, mild = constant_year(-1.0, 1.0, spread=4.0), constant_year(1.0, 2.0, spread=3.0)
    both = xr.concat([cold, mild], "cell").transpose("cell", "day")
    together = snow_shares(both)
    assert together.dims == ("water", "day", "cell")
    assert together.water.values.tolist() == [LYING, CLOSING, DEEP]
    for cell, alone in enumerate((cold, mild)):
        np.testing.assert_array_equal(together[..., cell], snow_shares(alone))
    # Fifteen days of twenty winters: each counts for a 300th.
    np.testing.assert_allclose((together * 300) % 1 % 0.99999, 0.0, atol=1e-4)
    assert 0 < float(together.mean()) < 1


def test_spread_lets_thin_snow_come_and_go():
    """At freezing on average snow lies in some winters, neither in none nor in all."""
    share = snow_shares(constant_year(-1.0, 1.0, spread=4.0)).sel(water=LYING)
    assert 0.2 < share.mean() < 0.9


def test_missing_stays_missing():
    """A place without rain data has no snow figure, the others keep theirs."""
    year = xr.concat([constant_year(-5.0, np.nan), constant_year(-5.0, 1.0)], "cell")
    shares = snow_shares(year)
    assert shares.isel(cell=0).isnull().all()
    assert (shares.isel(cell=1) == 1).all()


def test_high_roads_close_and_open_when_they_are_said_to():
    """42 roads on five continents, at their height in print: half miss by at most 3 weeks."""
    assert len(ROADS["rows"]) >= 25
    assert len({row[1] for row in ROADS["rows"]}) >= 4
    misses = misses_of([float(row[4]) for row in ROADS["rows"]])
    assert np.median(misses) == pytest.approx(15.5, abs=1.0)
    assert np.mean(misses <= 21) == pytest.approx(0.67, abs=0.03)
    assert np.mean(misses <= 30) == pytest.approx(0.79, abs=0.03)


def test_high_roads_at_the_height_of_the_map():
    """The same where nobody states a height: the map's, which cuts 100 m off many a pass."""
    rows = ROADS["rows"]
    found = heights_at(np.array([row[2] for row in rows]), np.array([row[3] for row in rows]))
    misses = misses_of(found["elevation"].values)
    assert np.median(misses) == pytest.approx(17.0, abs=1.5)


def test_northern_snow_cover_month_by_month():
    """Cover in January, April and October, of one cell in 36; thin snow at its edge is missed."""
    climate = world_climatology((-180, 0, 180, 90)).isel(
        latitude=slice(0, None, 6), longitude=slice(0, None, 6)
    )
    land = cells(climate)
    shares = snow_shares(by_day(land)).sel(water=LYING)
    side = 3 * 111.195  # km
    area = side**2 * np.cos(np.radians(land["latitude"])) * land["land_fraction"] / 1e6
    cover = np.add.reduceat((shares * area).sum("cell").values, FIRST_DAYS) / np.diff(
        [*FIRST_DAYS, 365]
    )
    told = {1: "8 % low in January", 4: "21 % in April", 10: "22 % in October"}
    for month, printed in published("snow_roads", "northern_cover")["rows"]:
        low = round(100 * (1 - cover[month - 1] / printed))
        assert told[month].startswith(f"{low} % ")
        assert told[month] in SIGN_KINDS["snow-on-the-road"].skill


def test_roads_that_close_are_told_from_roads_that_stay_open():
    """All 42 roads that close have a day with snow in half of the winters, of 6 open ones none."""
    for table, expected in (("roads", 42), ("open_roads", 0)):
        read = published("snow_roads", table)
        height = read["columns"].index("height")
        shares = shares_of(table, [float(row[height]) for row in read["rows"]])
        assert int((shares >= 0.5).any("day").sum()) == expected, table


def test_which_road_opens_first_is_not_told():
    """What the days don't say: one closing and one opening day for all would miss by less.

    Northern roads close in autumn and open in spring, and so does the computed snow; but among
    closings days hardly go together, and among openings not at all.
    """
    days = [row for row in road_days([float(row[4]) for row in ROADS["rows"]]) if row.north]
    alike = []
    for what, together in (("closes", 0.21), ("opens", -0.08)):
        printed, computed = of_kind(days, what)
        assert np.corrcoef(printed, computed)[0, 1] == pytest.approx(together, abs=0.05)
        alike.extend(np.abs(printed - np.median(printed)))
    assert np.median(alike) == pytest.approx(11, abs=1)
    assert np.median([row.miss for row in days]) == pytest.approx(14.5, abs=1)
