"""Regions: what holds over the area of a country, month by month and kit by kit.

In: scored blocks, one after another, and shapes. Out: a RegionRow each. Assumes that people may
camp anywhere in a country: its cells count by the area of it that they cover. Shares are counted
in the steps in which they are stored, so that no cell is kept and any area takes the same memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from sheltermap.atlas.area import AtlasGrid
from sheltermap.atlas.codes import NO_FACTOR_CODE, SOUND, WORKABLE
from sheltermap.atlas.overlap import Shapes
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.places.lands import countries
from sheltermap.vocabulary import EARTH_RADIUS_KM, FACTORS, Floats
from sheltermap.website.overlays import HALF_PERCENTS

WORST = 0.1
"""Share of a region's area whose nights are worse than what its row calls the worst tenth."""

_STEPS = HALF_PERCENTS + 1
_ROUNDING = 1e-9


@dataclass(frozen=True, eq=False)
class KitYear:
    """
    Twelve months of a region in one kit; arrays have shape (12,), NaN is unknown.

    Attributes
    ----------
    median, worst : array
        Share of sound nights that half of the area, and all but `WORST` of it, has or exceeds.
        [0 to 1]
    dangerous : array
        Mean chance of a dangerous night. [0 to 1]
    why : tuple of str or None
        What spoils most nights over most of the area, where the median is not sound.
    """

    median: Floats
    worst: Floats
    dangerous: Floats
    why: tuple[str | None, ...]

    @property
    def workable(self) -> int:
        """Return the number of months whose median is workable or better."""
        return int((np.rint(np.nan_to_num(self.median) * HALF_PERCENTS) >= WORKABLE).sum())


@dataclass(frozen=True, eq=False)
class RegionRow:
    """
    A region of the atlas.

    Attributes
    ----------
    name : str
    area_km2 : float
        Of its part in the atlas that has a climate. [km2]
    cells : int
        How many touch it.
    kits : dict of str to KitYear
        By the kits' ids.
    """

    name: str
    area_km2: float
    cells: int
    kits: dict[str, KitYear]


class Regions:
    """
    Regions that are being counted.

    Parameters
    ----------
    names, shapes : sequences of str and of shapely geometry
        One each a region; polygons in degrees.
    kits : sequence of str
        Ids, in the order of the scores.
    step : tuple of float
        Height and width of a cell. [degrees]
    """

    def __init__(
        self,
        names: Sequence[str],
        shapes: Sequence[BaseGeometry],
        kits: Sequence[str],
        step: tuple[float, float],
    ) -> None:
        self._names, self._kits = names, tuple(kits)
        self._shapes = Shapes(shapes, step)
        self._counts: dict[int, _Counts] = {}

    def add(self, scored: ScoredBlock) -> None:
        """Count a block."""
        for covered in self._shapes.over(scored.block):
            known = scored.known[covered.row, covered.column] & (covered.area > 0)
            if known.any():
                counts = self._counts.setdefault(covered.shape, _Counts(len(self._kits)))
                counts.add(scored, covered.row[known], covered.column[known], covered.area[known])

    def rows(self) -> tuple[RegionRow, ...]:
        """Return the regions that have a climate, by name."""
        found = (
            RegionRow(
                self._names[region],
                float(counts.area * EARTH_RADIUS_KM**2),
                counts.cells,
                {kit: counts.year(place) for place, kit in enumerate(self._kits)},
            )
            for region, counts in self._counts.items()
        )
        return tuple(sorted(found, key=lambda row: row.name))


class _Counts:
    """The area of a region by share, factor and danger, for every kit and month. [sr]"""

    def __init__(self, kits: int) -> None:
        self.area, self.cells = 0.0, 0
        self.share = np.zeros((kits, 12, _STEPS))
        self.factor = np.zeros((kits, 12, NO_FACTOR_CODE + 1))
        self.danger = np.zeros((kits, 12))

    def add(
        self, scored: ScoredBlock, row: np.ndarray, column: np.ndarray, weight: Floats
    ) -> None:
        """Count cells of a block."""
        self.area += weight.sum()
        self.cells += weight.size
        share, danger, factor = (
            scored.codes[name][:, :, row, column] for name in ("share", "danger", "factor")
        )
        self.share += _counted(share, weight, _STEPS)
        self.factor += _counted(factor, weight, NO_FACTOR_CODE + 1)
        self.danger += danger @ weight / HALF_PERCENTS

    def year(self, kit: int) -> KitYear:
        """Return the twelve months in a kit."""
        median, worst = (_quantile(self.share[kit], part) for part in (0.5, WORST))
        # What spoils no night is no reason, however much of the area it is.
        factor = self.factor[kit, :, :NO_FACTOR_CODE]
        why = [
            FACTORS[int(area.argmax())] if area.any() and code < SOUND else None
            for area, code in zip(factor, median, strict=True)
        ]
        return KitYear(
            median / HALF_PERCENTS, worst / HALF_PERCENTS, self.danger[kit] / self.area, tuple(why)
        )


def _counted(codes: np.ndarray, weight: Floats, classes: int) -> np.ndarray:
    """Return the weight of each code, shape (kits, months, classes)."""
    kits, months, _ = codes.shape
    place = np.arange(kits * months).reshape(kits, months, 1) * 256 + codes
    weights = np.broadcast_to(weight, codes.shape)
    found = np.bincount(place.ravel(), weights.ravel(), kits * months * 256)
    return found.reshape(kits, months, 256)[..., :classes]


def _quantile(area: np.ndarray, part: float) -> Floats:
    """Return the least code that `part` of the area doesn't exceed; NaN where nothing is known."""
    total = area.sum(axis=-1, keepdims=True)
    reached = np.cumsum(area, axis=-1) >= part * total * (1 - _ROUNDING)
    return np.where(total[..., 0] > 0, reached.argmax(axis=-1), np.nan)


def countries_of(grid: AtlasGrid, kits: Sequence[str]) -> Regions:
    """
    Return the countries of the base map, to be counted.

    Parameters
    ----------
    grid : AtlasGrid
    kits : sequence of str
        Ids.

    Returns
    -------
    Regions
    """
    names, shapes = countries()
    return Regions(names, shapes, kits, grid.step)
