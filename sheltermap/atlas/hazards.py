"""Hazards over the cells of an atlas: layers in, a level for every kind, month and cell out.

In: hazard layers. Out: bytes. Assumes of each cell what ``hazards.findings`` assumes of a place: a
hazard binds where it covers a tenth of it and is an advisory below that; where no layer looked at
a kind, it is not checked, which is no level.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from sheltermap.atlas.area import Block
from sheltermap.atlas.codes import Bytes
from sheltermap.atlas.overlap import Shapes
from sheltermap.dates import FIRST_DAYS
from sheltermap.hazards.findings import ALL_SHARE, LEAST_SHARE, looked_at_by_kind
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.layers import HazardFeature, HazardLayer
from sheltermap.vocabulary import Level, Levels
from sheltermap.website.overlays import MISSING_CODE

_SLIVER = 1e-6  # Shapes that only share an edge with a cell are not in it.


class Hazards:
    """
    Hazard layers that are laid over blocks.

    Parameters
    ----------
    layers : sequence of HazardLayer
    step : tuple of float
        Height and width of a cell. [degrees]
    """

    def __init__(self, layers: Sequence[HazardLayer], step: tuple[float, float]) -> None:
        met: dict[str, list[HazardFeature]] = {}
        for feature in (one for layer in layers for one in layer.features):
            met.setdefault(feature.kind, []).append(feature)
        looked = looked_at_by_kind(layers)
        self.kinds = tuple(kind for kind in HAZARD_KINDS if kind in met or kind in looked)
        self._kinds = [
            _Kind(met.get(kind, []), Shapes([shapely.union_all(looked[kind])], step), step)
            if kind in looked
            else _Kind(met[kind], None, step)
            for kind in self.kinds
        ]

    def levels(self, block: Block) -> Bytes:
        """
        Return the highest level of each month.

        Parameters
        ----------
        block : Block

        Returns
        -------
        uint8 array, shape (kinds, 12, rows, columns)
            A `vocabulary.Level`, before any shield; `overlays.MISSING_CODE`: not checked.
        """
        return np.stack([kind.levels(block) for kind in self._kinds])


class _Kind:
    """One kind of hazard: its features, and where somebody looked."""

    def __init__(
        self, features: Sequence[HazardFeature], looked: Shapes | None, step: tuple[float, float]
    ) -> None:
        shapes = [feature.shape for feature in features]
        self._months = [monthly(feature.level_by_day) for feature in features]
        self._features, self._looked = Shapes(shapes, step), looked
        self._all = Shapes([shapely.union_all(shapes)] if shapes else [], step)

    def levels(self, block: Block) -> Bytes:
        """Return the highest level of each month, shape (12, rows, columns)."""
        found = np.full((12, *block.shape), MISSING_CODE, np.uint8)
        met, looked = np.zeros(block.shape), np.zeros(block.shape)
        for covered in self._looked.over(block) if self._looked else ():
            looked[covered.row, covered.column] = covered.part
        for covered in self._all.over(block):
            met[covered.row, covered.column] = covered.part
        binds = met >= LEAST_SHARE
        found[:, (looked >= ALL_SHARE) | binds] = Level.NONE
        for covered in self._features.over(block):
            row, column = (
                place[covered.part > _SLIVER] for place in (covered.row, covered.column)
            )
            highest = np.where(binds[row, column], Level.CLOSURE, Level.ADVISORY)
            level = np.minimum(self._months[covered.shape][:, np.newaxis], highest)
            before = found[:, row, column]
            # What nobody looked at stays unchecked in the months of which no feature speaks.
            known = np.where(before == MISSING_CODE, Level.NONE, before)
            found[:, row, column] = np.where(level > 0, np.maximum(known, level), before)
        return found


def monthly(level_by_day: Levels) -> Levels:
    """
    Return the highest level of each month.

    Parameters
    ----------
    level_by_day : uint8 array, shape (365,)

    Returns
    -------
    uint8 array, shape (12,)

    Examples
    --------
    >>> days = np.zeros(365, np.uint8)
    >>> days[31] = 2  # the first of February
    >>> monthly(days).tolist()
    [0, 2, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]
    """
    return np.maximum.reduceat(level_by_day, FIRST_DAYS)
