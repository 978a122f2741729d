"""What a public copy tells of a journey: cells, months and kits, and nothing finer.

In: a finished report. Out: an Outline, and the years of its cells. Assumes that the outline
is all that is public: the years are worked out from it alone, with the embedded climatology,
kits as shipped and the standard sleeper, so that nothing else of a trip can show through.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import xarray as xr

from sheltermap.climate.calendar import by_month
from sheltermap.climate.grid import box_around, point
from sheltermap.climate.world import world_climatology
from sheltermap.night.conditions import conditions
from sheltermap.places.place import Place
from sheltermap.report.report import DatedPlan, PlannedLeg, Report
from sheltermap.shelters.kit import Kit, load_kits
from sheltermap.suitability.grade import grade
from sheltermap.suitability.score import scores
from sheltermap.vocabulary import Codes, Floats

CELL_DEGREES = 0.5
"""Side of the cells of a public copy, which are those of the embedded climatology; about 55 km
from south to north. [degrees]"""

_AROUND_DEGREES = 1.5


@dataclass(frozen=True)
class OutlineLeg:
    """One leg as everybody may know it.

    Attributes
    ----------
    cell : tuple of float
        Latitude and longitude of the middle of its cell. [degrees]
    month : int or None
        The month with most of its nights, 1 to 12; None without a plan.
    """

    cell: tuple[float, float]
    month: int | None


@dataclass(frozen=True)
class Outline:
    """A journey as everybody may know it.

    Attributes
    ----------
    legs : tuple of OutlineLeg
        In travel order; as the trip file has them where there is no plan.
    kits : tuple of str
        Ids of the shipped kits that are compared; a traveller's own are not told.
    kit : str
        The kit planned with; empty for one of the traveller's own.
    """

    legs: tuple[OutlineLeg, ...]
    kits: tuple[str, ...]
    kit: str


@dataclass(frozen=True, eq=False)
class CellYear:
    """Twelve months of one cell, at its own height.

    Attributes
    ----------
    cell : tuple of float
        Latitude and longitude. [degrees]
    elevation_m : float
    low, high : float array, shape (12,)
        Mean daily minimum and maximum. [degC]
    rain : float array, shape (12,)
        [mm a month]
    wet_days : float array, shape (12,)
        [days of at least 1 mm]
    sound_share, dangerous : dict of str to float array, shape (12,)
        By kit. [0 to 1]
    limiting_factor, grade : dict of str to int array, shape (12,)
        By kit; codes as in `vocabulary`.
    """

    cell: tuple[float, float]
    elevation_m: float
    low: Floats
    high: Floats
    rain: Floats
    wet_days: Floats
    sound_share: dict[str, Floats]
    dangerous: dict[str, Floats]
    limiting_factor: dict[str, Codes]
    grade: dict[str, Codes]


def outline(report: Report) -> Outline:
    """
    Return what everybody may know of a journey.

    Parameters
    ----------
    report : Report

    Returns
    -------
    Outline
        The same for all journeys that differ only within cells and months.
    """
    places = {place.id: place for place in report.places}
    shipped = load_kits()
    plan = report.best
    chosen = report.kits[0].id if plan is None else plan.kit
    own = {kit.id for kit in report.kits if not _shipped(kit, shipped)}
    return Outline(
        legs=tuple(_legs(plan, places, report)),
        kits=tuple(kit.id for kit in report.kits if kit.id not in own),
        kit="" if chosen in own else chosen,
    )


def _legs(
    plan: DatedPlan | None, places: dict[str, Place], report: Report
) -> Iterable[OutlineLeg]:
    """Yield the legs in travel order."""
    if plan is None:
        for place in report.places:
            yield OutlineLeg(cell_of(place.latitude, place.longitude), None)
        return
    for leg in plan.legs:
        place = places[leg.place]
        yield OutlineLeg(cell_of(place.latitude, place.longitude), _main_month(leg))


def _shipped(kit: Kit, shipped: dict[str, Kit]) -> bool:
    """Return whether a kit is one of the program's; title, bedding and mass follow the party."""
    return kit.id in shipped and kit.what == shipped[kit.id].what


def cell_of(latitude: float, longitude: float) -> tuple[float, float]:
    """
    Return the middle of the cell that a place lies in.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]

    Returns
    -------
    tuple of float
        [degrees]

    Examples
    --------
    >>> cell_of(40.24, 72.8), cell_of(40.26, -179.9)
    ((40.0, 73.0), (40.5, -180.0))
    """
    row, column = (
        math.floor(value / CELL_DEGREES + 0.5) * CELL_DEGREES for value in (latitude, longitude)
    )
    return row, (column + 180) % 360 - 180


def _main_month(leg: PlannedLeg) -> int:
    """Return the month with most nights of a leg, the first of several."""
    evenings = (leg.arrive + timedelta(days=night) for night in range(leg.nights))
    counts = Counter(evening.month for evening in evenings)
    return max(counts, key=counts.__getitem__)


def cell_years(told: Outline) -> dict[tuple[float, float], CellYear]:
    """
    Return the year of each cell of a journey in each of its kits.

    Parameters
    ----------
    told : Outline

    Returns
    -------
    dict of tuple to CellYear
        By cell; where a cell has no climate, as at sea, its nearest neighbour's stands in.
    """
    cells = list(dict.fromkeys(leg.cell for leg in told.legs))
    shipped = load_kits()
    kits = [shipped[name] for name in told.kits]
    climate = xr.concat([_nearest(*cell) for cell in cells], "cell")
    season = by_month(climate)
    scored = scores(conditions(season), kits) if kits else None
    return {
        cell: _year(cell, climate.isel(cell=number), scored, number, told.kits)
        for number, cell in enumerate(cells)
    }


def _nearest(latitude: float, longitude: float) -> xr.Dataset:
    """Return the climate of a cell, or of its nearest neighbour that has one."""
    climatology = world_climatology(box_around(latitude, longitude, _AROUND_DEGREES))
    return (
        point(climatology, latitude, longitude, limit=math.inf)
        .drop_vars(["latitude", "longitude", "distance"])
        .assign_coords(latitude=latitude, longitude=longitude)
    )


def _year(
    cell: tuple[float, float],
    climate: xr.Dataset,
    scored: xr.Dataset | None,
    number: int,
    kits: tuple[str, ...],
) -> CellYear:
    """Return one cell's year from the climate and the scores of all."""

    def of(name: str) -> dict[str, np.ndarray]:
        if scored is None:
            return {}
        values = scored[name].isel(cell=number).transpose("kit", "month").to_numpy()
        return dict(zip(kits, values, strict=True))

    shares = of("sound_share")
    return CellYear(
        cell=cell,
        elevation_m=float(climate["elevation"]),
        low=climate["air_temperature_min"].to_numpy(),
        high=climate["air_temperature_max"].to_numpy(),
        rain=climate["rainfall"].to_numpy(),
        wet_days=climate["wet_days"].to_numpy(),
        sound_share=shares,
        dangerous=of("dangerous"),
        limiting_factor=of("limiting_factor"),
        grade={name: grade(share) for name, share in shares.items()},
    )
