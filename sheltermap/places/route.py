"""The route line cut into what each leg drives of it.

In: the line in degrees, and where the legs lie, in travel order. Out: for each leg the way to
it and the kilometres that end where it ends. Assumes that legs lie along the line in their
order or in the reverse one; the line is looked at in steps of a thousandth of its length or
less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from sheltermap.distance import great_circle
from sheltermap.hazards.shapes import GEOD, Extent
from sheltermap.vocabulary import Floats

PASSED_BY_KM = 50.0
"""A place farther than this from the line is not on it. [km] judgement: twice the 25 km that
count around a place"""

_MOST_STEPS = 8000
_FINEST_KM = 0.25

_OUTSIDE_KM = 1000.0
"""What a step outside a leg's region costs the order of legs, and the most a place may. [km]
judgement: far more than any detour"""


@dataclass(frozen=True)
class Driven:
    """What a leg drives of the route.

    Attributes
    ----------
    approach_km : float
        From where the leg before ends to where this one begins; from the route's start for
        the first. [km]
    kilometres : float
        From where the leg before ends to where this one ends, or to the end of the route for
        the last. [km]
    """

    approach_km: float
    kilometres: float


def driven(route: shapely.MultiLineString, where: Sequence[Extent]) -> tuple[Driven | None, ...]:
    """
    Return what each leg drives of the route.

    The line is cut where each leg ends: at its place's nearest point, at the last of its
    points, where it leaves its region. A leg that the line passes by is not on it: the way
    past it belongs to the leg that follows.

    Parameters
    ----------
    route : shapely.MultiLineString
        From ``trip.route.read_route``.
    where : sequence of Extent
        Of the legs, in travel order. Two that follow each other in one region share it evenly.

    Returns
    -------
    tuple of Driven or None
        None for a leg that the line passes by, or meets in another order. The kilometres of
        all others sum to the route's.
    """
    line = Line.of(route)
    costs = np.array([_costs(line, extent) for extent in where])
    found: list[Driven | None] = [None] * len(where)
    on = np.flatnonzero(costs.min(axis=1) <= PASSED_BY_KM)
    forth, back = _in_order(costs[on]), _in_order(costs[on, ::-1])
    if back[0] < forth[0]:
        line, costs, steps = line.reversed(), costs[:, ::-1], back[1]
    else:
        steps = forth[1]
    met = [int(n) for n, step in zip(on, steps, strict=True) if costs[n, step] <= PASSED_BY_KM]
    steps = [step for n, step in zip(on, steps, strict=True) if n in met]
    for number, share in zip(met, _shares(line, [where[n] for n in met], steps), strict=True):
        found[number] = share
    return tuple(found)


@dataclass(frozen=True, eq=False)
class Line:
    """Equal steps along the route.

    Attributes
    ----------
    longitude, latitude : numpy.ndarray of float, shape (steps,)
        The middle of each. [degrees]
    step_km : float
        How long one is. [km]
    """

    longitude: Floats
    latitude: Floats
    step_km: float

    @classmethod
    def of(
        cls, route: shapely.MultiLineString, step_km: float = _FINEST_KM, most: int = _MOST_STEPS
    ) -> Line:
        """
        Return the steps of a route; a gap between two parts has no length.

        Parameters
        ----------
        route : shapely.MultiLineString
        step_km : float
            How long a step is at most, as long as there are not too many. [km]
        most : int
            How many steps there may be. [1]

        Returns
        -------
        Line
        """
        parts = [shapely.get_coordinates(part) for part in shapely.get_parts(route)]
        lengths = [np.append(0.0, GEOD.line_lengths(xy[:, 0], xy[:, 1])) / 1000 for xy in parts]
        at, points = np.cumsum(np.concatenate(lengths)), np.concatenate(parts)
        count = int(np.clip(np.ceil(at[-1] / step_km), 1, most))
        step = float(at[-1]) / count
        middles = (np.arange(count) + 0.5) * step
        longitude, latitude = (np.interp(middles, at, points[:, axis]) for axis in (0, 1))
        return cls(longitude, latitude, step)

    @property
    def kilometres(self) -> float:
        """Return the length of the route. [km]"""
        return self.step_km * self.longitude.size

    def reversed(self) -> Line:
        """Return the same line driven the other way."""
        return Line(self.longitude[::-1], self.latitude[::-1], self.step_km)

    def away(self, longitude: float, latitude: float) -> Floats:
        """Return how far each step lies from a place. [km]"""
        return np.asarray(great_circle(self.latitude, self.longitude, latitude, longitude))

    def inside(self, extent: Extent) -> np.ndarray:
        """Return which steps lie in an area."""
        shapely.prepare(extent.area)
        return shapely.contains_xy(extent.area, self.longitude, self.latitude)


def _costs(line: Line, extent: Extent) -> Floats:
    """Return how badly each step of the line fits a leg. [km]"""
    if extent.camps is None:
        return np.where(line.inside(extent), 0.0, _OUTSIDE_KM)
    away = [line.away(*camp) for camp in shapely.get_coordinates(extent.camps)]
    return np.minimum(np.min(away, axis=0), _OUTSIDE_KM)


def _in_order(costs: Floats) -> tuple[float, list[int]]:
    """Return the least cost of meeting legs in their order, and the last step at each of them."""
    if not len(costs):
        return 0.0, []
    best = [costs[0]]
    for cost in costs[1:]:
        best.append(cost + np.minimum.accumulate(best[-1]))
    steps: list[int] = []
    end = costs.shape[1]
    for total in reversed(best):
        reachable = total[:end]
        # The last of equals: a region ends where the line leaves it.
        steps.append(int(np.flatnonzero(reachable <= reachable.min() + 1e-9)[-1]))
        end = steps[-1] + 1
    return float(best[-1].min()), steps[::-1]


def _shares(line: Line, where: Sequence[Extent], steps: Sequence[int]) -> list[Driven]:
    """Return what legs drive that the line meets in their order."""
    ends: list[tuple[float, float]] = []
    left = 0.0
    for number, extent in enumerate(where):
        until = steps[number + 1] if number + 1 < len(where) else line.longitude.size - 1
        begins, left = _stretch(line, extent, steps[number], until, left)
        ends.append((begins, left))
    _share_regions(where, ends)
    leaves = [leave for _, leave in ends]
    leaves[-1:] = [line.kilometres] if ends else []
    return [
        Driven(max(begins - before, 0.0), max(leave - before, 0.0))
        for (begins, _), before, leave in zip(ends, [0.0, *leaves], leaves, strict=False)
    ]


def _stretch(
    line: Line, extent: Extent, step: int, until: int, left: float
) -> tuple[float, float]:
    """Return where a leg begins and ends on the line, from where the one before ended. [km]"""
    first = min(int(left / line.step_km), step)
    if extent.camps is None:
        begins = first + int(np.argmax(line.inside(extent)[first : step + 1]))
        return begins * line.step_km, (step + 1) * line.step_km
    passed = [step]
    if len(extent.camps.geoms) > 1:
        window = slice(first, max(until, step) + 1)
        for camp in shapely.get_coordinates(extent.camps):
            away = line.away(*camp)[window]
            if away.min() <= PASSED_BY_KM:
                passed.append(first + int(away.argmin()))
    return (min(passed) + 0.5) * line.step_km, (max(passed) + 0.5) * line.step_km


def _share_regions(where: Sequence[Extent], ends: list[tuple[float, float]]) -> None:
    """Cut the stretch of a region into equal parts for legs that follow each other in it."""
    first = 0
    while first < len(where):
        last = first
        while last + 1 < len(where) and _one_region(where[first], where[last + 1]):
            last += 1
        if last > first:
            begins, ended = ends[first][0], ends[last][1]
            cuts = np.linspace(begins, ended, last - first + 2).tolist()
            ends[first : last + 1] = list(pairwise(cuts))
        first = last + 1


def _one_region(one: Extent, other: Extent) -> bool:
    """Return whether two legs sleep in the same region."""
    return one.camps is None and other.camps is None and one.area.equals(other.area)
