"""A block of the atlas scored: the climate of its cells in, bytes for every kit and month out.

In: a climatology, a block, kits and who sleeps in them. Out: a ScoredBlock. Assumes each cell at
its own height, in one sleep window, on no particular site: as ``night`` answers it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.atlas.area import Block
from sheltermap.atlas.codes import LAYERS, Bytes, factor_codes, share_codes
from sheltermap.atlas.hazards import Hazards
from sheltermap.climate.calendar import by_month
from sheltermap.climate.grid import cells
from sheltermap.climate.world import world_climatology
from sheltermap.night.conditions import conditions
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.suitability.score import scores
from sheltermap.vocabulary import Floats
from sheltermap.website.overlays import MISSING_CODE

_STORED = {"share": "sound_share", "danger": "dangerous"}


@dataclass(frozen=True, eq=False)
class ScoredBlock:
    """
    What the atlas stores of a block.

    Attributes
    ----------
    block : Block
    codes : dict of str to uint8 array, shape (kits, 12, rows, columns)
        By the names of `codes.LAYERS`; with hazard layers also ``hazard``, whose first
        dimension are their kinds.
    height : array, shape (rows, columns)
        Of the cells; NaN where there is no climate, or no height. [m]
    known : bool array, shape (rows, columns)
        Which cells have a climate that tells all of it.
    """

    block: Block
    codes: dict[str, Bytes]
    height: Floats
    known: np.ndarray


def climate_of(block: Block, own: xr.Dataset | None) -> xr.Dataset:
    """
    Return the climate of a block's cells, loaded.

    Parameters
    ----------
    block : Block
    own : Dataset or None
        A climatology of the user's own, perhaps lazy; None is the embedded one.

    Returns
    -------
    Dataset, month x latitude x longitude
    """
    found = world_climatology(block.box) if own is None else own
    nodes = {"latitude": block.latitude, "longitude": block.longitude}
    return found.sel(nodes, method="nearest").load()


def scored_block(
    block: Block,
    own: xr.Dataset | None,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    hazards: Hazards | None = None,
) -> ScoredBlock:
    """
    Return a block's cells in every kit and month.

    Parameters
    ----------
    block : Block
    own : Dataset or None
        As for `climate_of`.
    kits : sequence of Kit
    sleepers : sequence of Sleeper
        Everyone who sleeps in each kit.
    hazards : Hazards, optional

    Returns
    -------
    ScoredBlock
    """
    here = climate_of(block, own)
    known = here["air_temperature"].notnull().all("month").values
    shape = (len(kits), 12, *block.shape)
    codes = {name: np.full(shape, MISSING_CODE, np.uint8) for name in LAYERS}
    if known.any():
        night = conditions(by_month(cells(here)))
        found = scores(night, kits, sleepers, keep=tuple(_STORED.values()))
        whole = found["sound_share"].notnull().all(["kit", "month"]).values
        known[known] = whole
        found = found.isel(cell=whole)
        for name, stored in _STORED.items():
            codes[name][..., known] = share_codes(found[stored].values)
        codes["factor"][..., known] = factor_codes(found["limiting_factor"].values)
    if hazards is not None:
        codes["hazard"] = np.where(known, hazards.levels(block), MISSING_CODE).astype(np.uint8)
    height = np.where(known, here["elevation"].values, np.nan)
    return ScoredBlock(block, codes, height, known)
