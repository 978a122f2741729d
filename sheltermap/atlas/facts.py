"""The facts of an atlas: everything its page says that is not in a tile or a picture.

In: what was scored. Out: an AtlasFacts, and its block of data as the page reads it. Assumes that
the page computes nothing but where a cell lies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from sheltermap.atlas import legends
from sheltermap.atlas.area import TILE_CELLS, AtlasGrid
from sheltermap.atlas.codes import NO_FACTOR_CODE, share_codes
from sheltermap.atlas.land import LandShares
from sheltermap.atlas.placenames import PLACES
from sheltermap.atlas.regions import RegionRow
from sheltermap.atlas.tiles import packed
from sheltermap.hazards.kinds import hazard_kind
from sheltermap.report.night_months import CAUTION
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.suitability.card import kit_limits
from sheltermap.suitability.titles import in_sentence
from sheltermap.vocabulary import FACTORS, GRADE_FLOORS, Grade


@dataclass(frozen=True, eq=False)
class AtlasFacts:
    """
    What an atlas is.

    Attributes
    ----------
    title : str
        For example "the world", or the place it is around.
    grid : AtlasGrid
    kits : tuple of Kit
    sleeper : Sleeper
        Who sleeps in each.
    bedding : str
        As the user wrote it; empty where each kit has its own.
    tiles : tuple of str
        Names of those that exist.
    regions : tuple of RegionRow
    land : dict
        Shares of the land, as from `land.Land.shares`.
    hazards, not_checked : tuple of str
        Kinds that some layer looked at, and those that nobody did.
    not_assessed : tuple of str
        Factors without an input.
    climatology : dict
        ``source``, ``period`` and ``estimated``, as ``night --json`` has them.
    files : tuple of str
        Paths of the data that lie beside the page.
    """

    title: str
    grid: AtlasGrid
    kits: tuple[Kit, ...]
    sleeper: Sleeper
    bedding: str
    tiles: tuple[str, ...]
    regions: tuple[RegionRow, ...]
    land: LandShares
    hazards: tuple[str, ...]
    not_checked: tuple[str, ...]
    not_assessed: tuple[str, ...]
    climatology: dict[str, Any]
    files: tuple[str, ...]

    @cached_property
    def block(self) -> dict[str, Any]:
        """Return what the page's script reads."""
        rows, columns = self.grid.shape
        west, south, *_ = self.grid.box
        ids = [kit.id for kit in self.kits]
        return {
            "title": self.title,
            "kits": [self._kit(kit) for kit in self.kits],
            "bedding": self.bedding or None,
            "factors": list(FACTORS),
            "grades": [
                *({"word": grade.word, "floor": floor} for grade, floor in GRADE_FLOORS),
                {"word": Grade.UNFIT.word, "floor": 0.0},
            ],
            "grid": {
                "south": south,
                "west": west,
                "rows": rows,
                "columns": columns,
                "step": [round(step, 9) for step in self.grid.step],
                "tile_cells": TILE_CELLS,
            },
            "box": list(self.grid.box),
            "tiles": list(self.tiles),
            "legends": _legends(self.kits, bool(self.hazards)),
            "hazards": [{"kind": kind, "title": hazard_kind(kind).title} for kind in self.hazards],
            "not_checked": [hazard_kind(kind).title for kind in self.not_checked],
            "not_assessed": list(self.not_assessed),
            "places": PLACES,
            "climatology": self.climatology,
            "caution": CAUTION,
            "compare": [[ids[cheaper], ids[dearer]] for cheaper, dearer in pairs(self.kits)],
            "regions": self._regions(),
            "land": self.land,
            "files": list(self.files),
        }

    def _regions(self) -> dict[str, Any]:
        """Return the regions as the page reads them: packed as tiles are, regions last."""
        shares = {name: self._years(name) for name in ("median", "worst", "dangerous")}
        why = np.vectorize(_factor_code, otypes=[np.uint8])(self._years("why"))
        return {
            "names": [row.name for row in self.regions],
            "area_km2": [round(row.area_km2) for row in self.regions],
            "cells": [row.cells for row in self.regions],
            **{name: packed(share_codes(values.astype(float))) for name, values in shares.items()},
            "why": packed(why),
        }

    def _years(self, name: str) -> np.ndarray:
        """Return what regions have under a name, shape (kits, 12, regions)."""
        found = np.empty((len(self.kits), 12, len(self.regions)), dtype=object)
        for place, kit in enumerate(self.kits):
            for region, row in enumerate(self.regions):
                found[place, :, region] = getattr(row.kits[kit.id], name)
        return found

    def _kit(self, kit: Kit) -> dict[str, Any]:
        """Return a kit as the page reads it."""
        limits = kit_limits(kit, (self.sleeper,))
        (cold, warm), (hot, humid) = limits.coldest, limits.hottest
        return {
            "id": kit.id,
            "title": kit.title,
            "in_sentence": in_sentence(kit.title),
            "what": kit.what,
            "price": kit.price,
            "mass_kg": kit.mass_kg,
            "limits": (
                f"Half of all people sleep well down to {cold:.0f} °C under a clear sky "
                f"({warm:.0f} °C under cloud), and up to {hot:.0f} °C at bedtime in dry air "
                f"({humid:.0f} °C in humid air)."
            ),
        }


def pairs(kits: Sequence[Kit]) -> list[tuple[int, int]]:
    """
    Return which kits a page may compare, the cheaper of two first.

    Parameters
    ----------
    kits : sequence of Kit

    Returns
    -------
    list of pairs
        Positions.
    """
    by_price = sorted(range(len(kits)), key=lambda kit: (kits[kit].price, kit))
    return [
        (cheaper, dearer)
        for place, cheaper in enumerate(by_price)
        for dearer in by_price[place + 1 :]
    ]


def _legends(kits: Sequence[Kit], hazards: bool) -> dict[str, list[dict]]:
    """Return the legends of all pictures by what they show."""
    found = {
        "share": legends.share_legend(),
        "factor": legends.factor_legend(),
        "danger": legends.danger_legend(),
        "months": legends.months_legend(),
        "best": legends.best_legend(),
        "cheapest": legends.cheapest_legend(kits),
        "saved": legends.saved_legend(),
        **({"hazard": legends.level_legend()} if hazards else {}),
    }
    return {name: [entry.as_data for entry in legend] for name, legend in found.items()}


def _factor_code(why: str | None) -> int:
    """Return a reason as tiles have it."""
    return NO_FACTOR_CODE if why is None else FACTORS.index(why)
