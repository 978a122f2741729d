"""Pictures: one kit's month, or what follows from all of them, as palette images on Mercator.

In: the store of an atlas. Out: PNG bytes by path. Assumes that a class is a class: nothing is
blended, and cells without climate stay transparent.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from sheltermap.atlas import crew
from sheltermap.atlas.area import AtlasGrid
from sheltermap.atlas.codes import WORKABLE, Bytes, code_of
from sheltermap.atlas.legends import (
    SHARE_STEPS,
    Legend,
    best_legend,
    cheapest_legend,
    danger_legend,
    factor_legend,
    level_legend,
    months_legend,
    share_legend,
)
from sheltermap.atlas.store import Store
from sheltermap.shelters.kit import Kit
from sheltermap.website.overlays import HALF_PERCENTS, MISSING_CODE, mercator_pixels, png


@dataclass(frozen=True, eq=False)
class Painter:
    """
    What pictures are made from.

    Attributes
    ----------
    store : Store
    grid : AtlasGrid
    kits : tuple of Kit
    hazards : tuple of str
        Kinds that some layer looked at.
    """

    store: Store
    grid: AtlasGrid
    kits: tuple[Kit, ...]
    hazards: tuple[str, ...] = ()

    def picture(self, classes: Bytes, legend: Legend) -> bytes:
        """Return class numbers of cells, 0 for none, as PNG bytes."""
        _, south, _, north = self.grid.box
        pixels, _ = mercator_pixels(classes, south, north)
        return png(pixels, [(255, 255, 255), *(entry.colour for entry in legend)])

    def share(self, kit: int, month: int) -> bytes:
        """Return one month's share of sound nights."""
        codes = self.store.month("share", kit, month)
        steps = np.minimum(codes // (HALF_PERCENTS // SHARE_STEPS), SHARE_STEPS - 1) + 1
        return self.picture(_where_known(steps, codes), share_legend())

    def factor(self, kit: int, month: int) -> bytes:
        """Return one month's limiting factor."""
        codes = self.store.month("factor", kit, month)
        return self.picture(_where_known(codes + 1, codes), factor_legend())

    def danger(self, kit: int, month: int) -> bytes:
        """Return one month's chance of a dangerous night."""
        codes = self.store.month("danger", kit, month)
        legend = danger_legend()
        floors = [code_of(entry.floor or 0.0) for entry in legend]
        return self.picture(_where_known(_class_of(codes, floors), codes), legend)

    def workable_months(self, kit: int) -> bytes:
        """Return in how many months a kit is workable."""
        year = self.store.year("share", kit)
        count = ((year >= WORKABLE) & (year != MISSING_CODE)).sum(axis=0)
        return self.picture(_where_known(count + 1, year[0]), months_legend())

    def best_month(self, kit: int) -> bytes:
        """Return in which month most nights are sound, where any month is workable."""
        year = self.store.year("share", kit)
        best = np.where(year.max(axis=0) >= WORKABLE, year.argmax(axis=0), 12)
        return self.picture(_where_known(best + 1, year[0]), best_legend())

    def hazard(self, kind: int, month: int) -> bytes:
        """Return the highest level of a kind of hazard in a month."""
        codes = self.store.month("hazard", kind, month)
        return self.picture(_where_known(codes + 1, codes), level_legend())

    def cheapest(self, month: int) -> bytes:
        """Return the cheapest kit that is workable in a month."""
        none = len(self.kits)
        found = np.full(self.grid.shape, none)
        dearest_first = sorted(range(none), key=lambda kit: -self.kits[kit].price)
        for kit in dearest_first:
            codes = self.store.month("share", kit, month)
            found[codes >= WORKABLE] = kit
        return self.picture(_where_known(found + 1, codes), cheapest_legend(self.kits))


def pictures(painter: Painter) -> Iterator[tuple[str, bytes]]:
    """
    Yield every picture of an atlas.

    Parameters
    ----------
    painter : Painter

    Yields
    ------
    str
        Path in the site.
    bytes
        PNG.
    """
    work = list(_work(painter))
    painted = crew.results(_painted, [(paint,) for _, paint in work])
    yield from zip((path for path, _ in work), painted, strict=True)


def _painted(paint: partial[bytes]) -> bytes:
    return paint()


def _work(painter: Painter) -> Iterator[tuple[str, partial[bytes]]]:
    """Yield each picture's path, and what paints it."""
    ids = [kit.id for kit in painter.kits]
    for kit, name in enumerate(ids):
        for month in range(12):
            for layer in ("share", "factor", "danger"):
                paint = partial(getattr(painter, layer), kit, month)
                yield f"maps/{name}/{layer}-{month + 1:02}.png", paint
        yield f"maps/{name}/months.png", partial(painter.workable_months, kit)
        yield f"maps/{name}/best.png", partial(painter.best_month, kit)
    for month in range(12):
        yield f"maps/cheapest-{month + 1:02}.png", partial(painter.cheapest, month)
        for kind, name in enumerate(painter.hazards):
            yield f"maps/hazard/{name}-{month + 1:02}.png", partial(painter.hazard, kind, month)


def _class_of(values: np.ndarray, floors: Sequence[float]) -> np.ndarray:
    """Return the number of the class that values fall in, from 1."""
    return np.searchsorted(floors, values, side="right")


def _where_known(classes: np.ndarray, codes: Bytes) -> Bytes:
    """Return class numbers, 0 where nothing is stored."""
    return np.where(codes == MISSING_CODE, 0, classes).astype(np.uint8)
