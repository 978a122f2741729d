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
from sheltermap.hazards.snow import CLOSING, LYING, snow_shares


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
    for month, printed in published("snow_roads", "northern_cover")["rows"]:
        assert cover[month - 1] == pytest.approx(printed, rel=0.25), month


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
