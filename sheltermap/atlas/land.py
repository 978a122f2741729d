"""The land of an atlas: how much of it a kit suits, month by month.

In: scored blocks, one after another. Out: shares of the land. Assumes that a cell with a climate
is land, and that it counts by its area; sea in a cell on the coast is counted with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from sheltermap.atlas.codes import SOUND, WORKABLE, code_of
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.suitability.candidates import LEAST_DANGER
from sheltermap.website.overlays import MISSING_CODE

LandShares: TypeAlias = dict[str, dict[str, list[float | None]]]
"""By kit, then "sound", "workable" (or better) and "dangerous" (a chance of a dangerous night of
`LEAST_DANGER` or more): shares of the assessed land by month. [0 to 1, None where none is]"""

_BARS = {
    "sound": ("share", SOUND),
    "workable": ("share", WORKABLE),
    "dangerous": ("danger", code_of(LEAST_DANGER)),
}
"""What is counted: the layer, and the least code of it."""


class Land:
    """
    The land of an atlas, while it is counted.

    Parameters
    ----------
    kits : sequence of str
        Ids, in the order of the scores.
    """

    def __init__(self, kits: Sequence[str]) -> None:
        self._kits = kits
        shape = (len(_BARS), len(kits), 12)
        self._reached, self._assessed = np.zeros(shape), np.zeros(shape)

    def add(self, scored: ScoredBlock) -> None:
        """Count a block."""
        area = np.cos(np.radians(scored.block.latitude))
        for place, (layer, bar) in enumerate(_BARS.values()):
            codes = scored.codes[layer]
            assessed = codes != MISSING_CODE
            self._assessed[place] += assessed.sum(axis=-1) @ area
            self._reached[place] += (assessed & (codes >= bar)).sum(axis=-1) @ area

    def shares(self) -> LandShares:
        """
        Return how much of the land each kit suits.

        Returns
        -------
        LandShares
        """
        with np.errstate(invalid="ignore"):
            found = self._reached / self._assessed
        return {
            kit: {
                name: [None if np.isnan(share) else float(share) for share in found[place, at]]
                for place, name in enumerate(_BARS)
            }
            for at, kit in enumerate(self._kits)
        }
