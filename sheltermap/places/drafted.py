"""A route file made into the legs of a trip: where they lie, how far, how high, how long.

In: a route with its heights and named points. Out: the legs, and the text of a trip file that
builds and that its owner edits. Assumes that named points on the line are camps; without any
the line is cut where climate or country change. Nights are a proposal from the kilometres.
"""

from __future__ import annotations

import json
import math
import re
import shutil
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from sheltermap.climate.heights import heights_at
from sheltermap.distance import great_circle
from sheltermap.hazards.altitude import RULE_STARTS_M
from sheltermap.hazards.shapes import place_extent
from sheltermap.places.lands import countries_at
from sheltermap.places.names import gazetteer
from sheltermap.places.route import PASSED_BY_KM, Line, driven
from sheltermap.places.stretches import STEP_KM, Stretch, stretches
from sheltermap.trip.model import MOST_LEGS, Departure
from sheltermap.trip.route import RouteFile, Waypoint, read_route
from sheltermap.trip.starter import filled

_MOST_STEPS = 600
_POINT_EACH_KM, _MOST_POINTS = 60.0, 6  # judgement: two or three climate cells apart.
_HEIGHT_KM = 5.0  # judgement: a track so near tells a camp's height.
_FLAT_M, _DEEP_M = 25.0, 150.0
"""Relief below which country is a plain, and depth below the map at which a track runs in a
valley. [m] judgement"""

_DAILY_KM = Departure.model_fields["daily_km"].default


@dataclass(frozen=True)
class DraftLeg:
    """A leg as a route proposes it.

    Attributes
    ----------
    name, country : str
    points : tuple of (float, float)
        Latitude and longitude. [degrees]
    kilometres : float or None
        The way to it included; None where the line meets the leg in another order. [km]
    elevation_m : float or None
        As the file's heights say. [m]
    site : str or None
        A word of the trip file.
    """

    name: str
    country: str
    points: tuple[tuple[float, float], ...]
    kilometres: float | None
    elevation_m: float | None
    site: str | None

    @property
    def nights(self) -> tuple[int, int, int]:
        """Return a proposal for least, preferred and most nights, from the days of driving."""
        days = max(math.ceil((self.kilometres or 0.0) / _DAILY_KM), 1)
        return days, math.ceil(1.5 * days), 3 * days


@dataclass(frozen=True)
class Draft:
    """Legs as a route proposes them.

    Attributes
    ----------
    legs : tuple of DraftLeg
    told : tuple of str
        What of the file was left out, a line each.
    """

    legs: tuple[DraftLeg, ...]
    told: tuple[str, ...]


def draft(route: RouteFile) -> Draft:
    """
    Return the legs that a route proposes.

    Parameters
    ----------
    route : RouteFile

    Returns
    -------
    Draft
        Cut at the named points on the line, else where climate or country change.
    """
    line = Line.of(route.line, STEP_KM, _MOST_STEPS)
    camps, told = _camps(route, line)
    legs = _legs_at(route, camps) if camps else _legs_between(route, line)
    return Draft(tuple(legs), tuple(filter(None, (route.ignored, *told))))


def _camps(route: RouteFile, line: Line) -> tuple[list[Waypoint], list[str]]:
    """Return the named points on the line in its order, and what is said of the others."""
    found: list[tuple[int, Waypoint]] = []
    for point in route.waypoints:
        away = line.away(point.longitude, point.latitude)
        if away.min() <= PASSED_BY_KM:
            found.append((int(away.argmin()), point))
    told = []
    if len(found) > MOST_LEGS:
        return [], [f"{len(found)} named points are too many for legs: cut by climate instead."]
    if len(found) < len(route.waypoints):
        left = len(route.waypoints) - len(found)
        points = "1 named point" if left == 1 else f"{left} named points"
        told = [f"Left out {points} more than {PASSED_BY_KM:g} km from the line."]
    return [point for _, point in sorted(found, key=lambda one: one[0])], told


def _legs_at(route: RouteFile, camps: Sequence[Waypoint]) -> Iterator[DraftLeg]:
    """Yield a leg for each named point."""
    shares = driven(route.line, [place_extent(one.latitude, one.longitude) for one in camps])
    names = _each_its_own(one.name for one in camps)
    lands = countries_at(
        np.array([one.longitude for one in camps]), np.array([one.latitude for one in camps])
    )
    for name, camp, land, share in zip(names, camps, lands, shares, strict=True):
        where = ((round(camp.latitude, 4), round(camp.longitude, 4)),)
        height = camp.elevation_m if camp.elevation_m is not None else _height(route, where)
        kilometres = None if share is None else share.kilometres
        yield DraftLeg(name, land, where, kilometres, height, _site(where, height))


def _legs_between(route: RouteFile, line: Line) -> Iterator[DraftLeg]:
    """Yield a leg for each stretch of one climate and country."""
    found = stretches(line, MOST_LEGS)
    cuts = [0, *(one.last for one in found)]
    towns = [gazetteer().town(line.latitude[at], line.longitude[at]).name for at in cuts]
    names = _each_its_own(
        f"{start} to {end}" if start != end else f"Around {start}"
        for start, end in pairwise(towns)
    )
    for name, stretch in zip(names, found, strict=True):
        where = _points(line, stretch)
        height = _height(route, where)
        kilometres = (stretch.last - stretch.first + 1) * line.step_km
        yield DraftLeg(name, stretch.country, where, kilometres, height, _site(where, height))


def _points(line: Line, stretch: Stretch) -> tuple[tuple[float, float], ...]:
    """Return positions evenly along a stretch."""
    steps = stretch.last - stretch.first + 1
    count = int(np.clip(round(steps * line.step_km / _POINT_EACH_KM), 1, _MOST_POINTS))
    at = stretch.first + ((np.arange(count) + 0.5) * steps / count).astype(int)
    rounded = np.column_stack([line.latitude[at], line.longitude[at]]).round(3)
    return tuple(map(tuple, rounded.tolist()))


def _height(route: RouteFile, where: Sequence[tuple[float, float]]) -> float | None:
    """Return the middle height of the file near some positions; None where it knows none."""
    if not len(route.heights):
        return None
    near = [
        route.heights[
            np.asarray(great_circle(route.heights[:, 1], route.heights[:, 0], *one)) <= _HEIGHT_KM,
            2,
        ]
        for one in where
    ]
    known = np.concatenate(near)
    return float(round(np.median(known), -1)) if known.size else None


def _site(where: Sequence[tuple[float, float]], height: float | None) -> str | None:
    """Return the lie of the camps where the map tells it: flat country, a valley's floor."""
    latitude, longitude = np.array(where).T
    ground = heights_at(latitude, longitude)
    if not np.isfinite(ground["relief"]).all():
        return None
    if float(ground["relief"].max()) < _FLAT_M:
        return "plain"
    deep = height is not None and float(ground["elevation"].mean()) - height > _DEEP_M
    return "valley" if deep else None


def _each_its_own(names: Iterable[str]) -> list[str]:
    """Return names that a trip can hold, each of its own."""
    found: list[str] = []
    for name in names:
        plain = " ".join("".join(c if c.isprintable() else " " for c in name).split())[:100]
        own, number = plain or "Camp", 2
        while own in found:
            own, number = f"{plain or 'Camp'}, {number}", number + 1
        found.append(own)
    return found


def trip_text(legs: Sequence[DraftLeg], route_file: str, year: int) -> str:
    """
    Return a trip file of the legs that a route proposes.

    Parameters
    ----------
    legs : sequence of DraftLeg
    route_file : str
        Name of the route's file beside it.
    year : int
        In which the journey may start.

    Returns
    -------
    str
    """
    first, last = date(year, 1, 1), date(year, 12, 31)
    finish = last + timedelta(days=sum(leg.nights[2] for leg in legs))
    ends = re.split(r" to ", legs[0].name)[0], re.split(r" to ", legs[-1].name)[-1]
    title = " to ".join(dict.fromkeys(ends))
    head = _HEAD.format(
        route=route_file, title=_quoted(title), first=first, last=last, finish=finish
    )
    return head + "".join(map(_leg_text, legs))


def _leg_text(leg: DraftLeg) -> str:
    """Return one leg as the trip file writes it."""
    points = ", ".join(f"[{latitude}, {longitude}]" for latitude, longitude in leg.points)
    where = f"place = {points}" if len(leg.points) == 1 else f"points = [{points}]"
    lines = [
        "",
        "[[legs]]",
        f"name = {_quoted(leg.name)}",
        *([f"note = {_quoted(leg.country + '.')}"] if leg.country else []),
        where,
        f"nights = {list(leg.nights)}",
        *([] if leg.kilometres is None else [f"kilometres = {leg.kilometres:.0f}"]),
    ]
    if leg.elevation_m is not None and leg.elevation_m < RULE_STARTS_M:
        lines.append(f"camp_elevation_m = {leg.elevation_m:.0f}")
    elif leg.elevation_m is not None:
        lines.append(
            f"# The line runs at {leg.elevation_m:.0f} m: state where you will sleep, since high "
            "camps need\n# slow ascents.\n"
            f"# camp_elevation_m = {leg.elevation_m:.0f}"
        )
    if leg.site is not None:
        lines.append(f'site = "{leg.site}"')
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Return text as TOML writes it; JSON's quotes are TOML's."""
    return json.dumps(text, ensure_ascii=False)


_HEAD = """\
# A trip made from {route}: legs cut where it says, nights proposed from the kilometres.
# It builds as it is; change what you know better, then:   sheltermap build trip.toml
# Every key is explained in regions/REFERENCE.md.

title = {title}

[party]
people = 2
bedding = "three-season"      # or "summer", "winter", or the comfort temperature on its label

[departure]
earliest = {first}         # the first day you could leave
latest = {last}           # the last day you could leave
finish_by = {finish}
direction = "forward"         # or "reverse", "either"
daily_km = 200

[shelter]
kits = ["ground-tent", "bedroll", "roof-tent"]   # the first is your choice; see: sheltermap kits

[vehicle]
# weighed_kg = 1850           # ready to go, full tank, without driver and kit; else "unknown"
# rated_kg = 2400             # gross mass on the plate
carries = ["roof_rack"]

[files]
route = "{route}"

# Legs in travel order. Kilometres are the line's; nights are least, preferred, most.
# Worth adding to each: fuel_gap_km, water_gap_days, closed, and [[hazards]] you know of.
"""


def start_on_route(folder: Path, file: Path, year: int) -> tuple[Path, Draft]:
    """
    Return the trip file of a new folder, made from a route, and what it holds.

    Parameters
    ----------
    folder : pathlib.Path
        Folder to make; it must not exist, or be empty.
    file : pathlib.Path
        GPX or GeoJSON; a copy of it goes into the folder.
    year : int
        In which the journey may start.

    Returns
    -------
    pathlib.Path
    Draft

    Raises
    ------
    InputError
        If the file cannot be read or holds no line, or the folder cannot be made.
    """
    found = draft(read_route(file))
    copy = f"route{file.suffix.lower()}"

    def fill(place: Path) -> None:
        shutil.copyfile(file, place / copy)
        text = trip_text(found.legs, copy, year)
        (place / "trip.toml").write_text(text, encoding="utf-8")

    return filled(folder, fill), found
