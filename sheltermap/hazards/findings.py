"""What hazard layers mean for one leg: findings, the level that binds, what nobody checked.

In: layers, the extent of a leg, the protections of a kit. Out: findings with their
share, the binding level by day, and the kinds that no layer covers there.
Assumes that signs (``hazards.sign``) are shown beside hazards and bind nothing.

judgement: a hazard binds a leg when it covers a tenth of the area, a kilometre of the
route, or a known camp; below that it is an advisory "in part", since people can camp
elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from sheltermap.hazards.kinds import HAZARD_KINDS, hazard_kind, shielded_level
from sheltermap.hazards.layers import HazardFeature, HazardFinding, HazardLayer
from sheltermap.hazards.shapes import Extent, area_km2, length_km
from sheltermap.vocabulary import DAYS_IN_YEAR, Level, Levels

LEAST_SHARE = 0.10
"""Share of the area from which a hazard binds. [1] judgement"""

LEAST_KILOMETRES = 1.0
"""Length of route from which a hazard binds. [km] judgement"""

ALL_SHARE = 0.999
"""Share of an area from which a layer looked at all of it, but for drawing errors. [1]"""

_SLIVER_SHARE = 1e-6  # Shapes that only share a border don't overlap.


def findings(
    layers: Iterable[HazardLayer], extent: Extent, *, leap: bool = False
) -> tuple[HazardFinding, ...]:
    """
    Return what the features of all layers mean for a leg.

    Features that say the same are one finding. Whether it binds is decided by all features
    of its kind together, so that a hazard drawn in many small pieces counts as one.

    Parameters
    ----------
    layers : iterable of HazardLayer
    extent : Extent
        Where the leg's camps may lie.
    leap : bool
        Whether margins of closures count 29 February.

    Returns
    -------
    tuple of HazardFinding
        In the order of the table of kinds, then of the layers.
    """
    met: dict[str, list[HazardFeature]] = {}
    for layer in layers:
        for feature in layer.features:
            if shapely.intersects(feature.shape, extent.area):
                if leap:
                    feature = replace(feature, level_by_day=feature.level_in_leap_years)
                met.setdefault(feature.kind, []).append(feature)
    result = []
    for kind in HAZARD_KINDS:
        features = _merged(met.get(kind, []))
        if not features:
            continue
        part = _part(shapely.union_all([feature.shape for feature in features]), extent)
        for feature in features:
            share = _share(feature.shape, extent)
            if share > _SLIVER_SHARE:
                result.append(_finding(feature, share, part))
    return tuple(result)


def binding_levels(
    found: Sequence[HazardFinding], protections: Iterable[str]
) -> tuple[Levels, npt.NDArray[np.int16]]:
    """
    Return the level that binds a kit on each day, and which finding it comes from.

    Parameters
    ----------
    found : sequence of HazardFinding
        Of one leg.
    protections : iterable of str
        The kit's exposure, and ``net`` where it closes to insects.

    Returns
    -------
    level : numpy.ndarray of uint8, shape (365,)
        A `vocabulary.Level` each; shields applied.
    finding : numpy.ndarray of int16, shape (365,)
        Position in `found` of the finding with that level; -1 where there is none.
    """
    protections = tuple(protections)
    level = np.zeros(DAYS_IN_YEAR, dtype=np.uint8)
    binding = np.full(DAYS_IN_YEAR, -1, dtype=np.int16)
    for position, finding in enumerate(found):
        met = shielded_level(finding.level_by_day, finding.kind, protections)
        higher = met > level
        level[higher] = met[higher]
        binding[higher] = position
    return level, binding


def not_checked(
    layers: Iterable[HazardLayer], extent: Extent, found: Sequence[HazardFinding] = ()
) -> tuple[str, ...]:
    """
    Return the kinds no layer looked at for a leg: *not checked* is not *none*.

    Parameters
    ----------
    layers : iterable of HazardLayer
    extent : Extent
        Where the leg's camps may lie; a layer must cover all of it.
    found : sequence of HazardFinding
        Findings of the leg, with those the trip file states; one that binds shows that
        its kind was looked at, one in part doesn't.

    Returns
    -------
    tuple of str
        Names of ``HAZARD_KINDS``, in their order.
    """
    looked_at = {finding.kind for finding in found if not finding.part}
    for kind, areas in looked_at_by_kind(layers).items():
        covered = shapely.intersection(shapely.union_all(areas), extent.area)
        if area_km2(covered) >= ALL_SHARE * area_km2(extent.area):
            looked_at.add(kind)
    return tuple(kind for kind in HAZARD_KINDS if kind not in looked_at)


def looked_at_by_kind(layers: Iterable[HazardLayer]) -> dict[str, list[BaseGeometry]]:
    """
    Return where layers looked for each kind of hazard.

    Parameters
    ----------
    layers : iterable of HazardLayer

    Returns
    -------
    dict of str to list of shapely geometry
    """
    areas: dict[str, list[BaseGeometry]] = {}
    for kinds, area in (one for layer in layers for one in layer.covered):
        for kind in kinds:
            areas.setdefault(kind, []).append(area)
    return areas


def _merged(features: Sequence[HazardFeature]) -> list[HazardFeature]:
    """Return features that say the same as one, with the shapes of all."""
    alike: dict[tuple, list[HazardFeature]] = {}
    for feature in features:
        words = (feature.kind, feature.note, feature.source, feature.level_by_day.tobytes())
        alike.setdefault(words, []).append(feature)
    return [
        replace(group[0], shape=shapely.union_all([feature.shape for feature in group]))
        for group in alike.values()
    ]


def _finding(feature: HazardFeature, share: float, part: str) -> HazardFinding:
    """Return a feature as a finding, lowered to an advisory where it holds in part only."""
    stated = feature.level_by_day
    return HazardFinding(
        kind=feature.kind,
        title=hazard_kind(feature.kind).title,
        level_by_day=np.minimum(stated, np.uint8(Level.ADVISORY)) if part else stated,
        share=share,
        note=feature.note,
        source=feature.source,
        part=part,
        stated_level_by_day=stated if part else None,
    )


def _overlap(shape: BaseGeometry, extent: Extent) -> tuple[bool, float, float]:
    """Return whether a shape holds a camp, its share of the area, and its route. [km]"""
    camp = extent.camps is not None and bool(shapely.intersects(shape, extent.camps))
    area = area_km2(shapely.intersection(shape, extent.area)) / area_km2(extent.area)
    route = 0.0
    if extent.line is not None:
        route = length_km(shapely.intersection(shape, extent.line))
    return camp, min(area, 1.0), route


def _share(shape: BaseGeometry, extent: Extent) -> float:
    """Return the largest share a shape has of the area, of the route, or 1 with a camp in it."""
    camp, area, route = _overlap(shape, extent)
    if camp:
        return 1.0
    if extent.line is None:
        return area
    return max(area, min(route / length_km(extent.line), 1.0))


def _part(shape: BaseGeometry, extent: Extent) -> str:
    """Return the words for a hazard that holds in part of a leg only; empty if it binds."""
    camp, area, route = _overlap(shape, extent)
    if camp or area >= LEAST_SHARE or route >= LEAST_KILOMETRES:
        return ""
    percent = "less than 1 %" if area < 0.01 else f"about {100 * area:.0f} %"
    return f"in part of the area only ({percent})"
