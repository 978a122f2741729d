"""The smaller parts of a report: source, refusals, map grid, route.

In: what the pipeline has at hand. Out: values of ``report.report``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
import xarray as xr
from shapely.geometry.base import BaseGeometry

from sheltermap.climate.calendar import by_month
from sheltermap.places.limits import limits_for
from sheltermap.places.scored import CampNights, nights_of
from sheltermap.remembered import remembered
from sheltermap.report.report import (
    ClimateSource,
    Estimate,
    MapGrid,
    RefusedKit,
)
from sheltermap.shelters.fitting import carried, misfit
from sheltermap.shelters.kit import Kit, Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.card import KitLimits
from sheltermap.suitability.score import scores
from sheltermap.trip.inputs import Inputs
from sheltermap.vocabulary import FACTORS, VARIABLES, InputError, Problem


def climate_source(climatology: xr.Dataset, nights: Sequence[CampNights]) -> ClimateSource:
    """
    Return where a climatology comes from and what of it was estimated.

    Parameters
    ----------
    climatology : Dataset
    nights : sequence of CampNights
        Which may rest on estimates of their own, as wind from a site word.

    Returns
    -------
    ClimateSource
    """
    attributes = climatology.attrs
    told = {
        key: str(attributes.get(key, "not stated"))
        for key in ("title", "source", "period", "licence")
    }
    return ClimateSource(
        **told,
        estimates=tuple(
            dict.fromkeys(_estimates(climatology, *(group.night for group in nights)))
        ),
    )


def _estimates(*datasets: xr.Dataset) -> Iterator[Estimate]:
    """Yield every estimated variable of the contract."""
    for dataset in datasets:
        for name, variable in dataset.items():
            if name in VARIABLES and "estimated" in variable.attrs:
                attributes = variable.attrs
                error = attributes.get("uncertainty", "not stated")
                yield Estimate(str(name), attributes["estimated"], error)


def cards(inputs: Inputs, kits: Iterable[Kit]) -> dict[str, KitLimits]:
    """
    Return the limits of kits for a trip's sleepers.

    Parameters
    ----------
    inputs : Inputs
    kits : iterable of Kit

    Returns
    -------
    dict of str to KitLimits
        By the kits' ids.
    """
    return {kit.id: limits_for(inputs, kit) for kit in kits}


def refusals(inputs: Inputs) -> dict[str, RefusedKit]:
    """
    Return the kits that fit neither the sleepers nor the vehicle, and why.

    Parameters
    ----------
    inputs : Inputs

    Returns
    -------
    dict of str to RefusedKit
        By kit id; kits that fit are absent.

    Raises
    ------
    InputError
        If the choice itself does not fit: there is nothing to plan with.
    """
    found = {kit.id: _reasons_against(kit, inputs) for kit in inputs.kits}
    reasons = found[inputs.kits[0].id]
    if reasons:
        expected = "a first kit that fits the sleepers and the vehicle"
        mend = f"{' '.join(reasons)} {_other_first(inputs, found)}"
        problem = Problem(
            str(inputs.path), "shelter.kits[1]", expected, repr(inputs.kits[0].id), mend
        )
        raise InputError([problem])
    return {kit.id: RefusedKit(kit.title, found[kit.id]) for kit in inputs.kits if found[kit.id]}


def _reasons_against(kit: Kit, inputs: Inputs) -> tuple[str, ...]:
    """Return why a kit does not fit a trip's sleepers or its vehicle; empty where it does."""
    vehicle = inputs.trip.vehicle
    reasons = misfit(
        kit,
        people=inputs.trip.party.people,
        longest_m=max(sleeper.length_m for sleeper in inputs.sleepers),
        carries=vehicle.carries,
        bed_length_m=vehicle.bed_length_m,
    )
    return tuple(reasons)


def _other_first(inputs: Inputs, found: dict[str, tuple[str, ...]]) -> str:
    """Return what to do about a first kit that does not fit: name one that does, if any."""
    fitting = [name for name, reasons in found.items() if not reasons]
    if fitting:
        return f"Put {' or '.join(fitting)} first, or mend the party or the vehicle."
    people = inputs.trip.party.people
    shipped = [
        kit.id
        for kit in load_kits().values()
        if not _reasons_against(carried(kit, people), inputs)
    ]
    if shipped:
        return f"Name one that does, as {' or '.join(shipped)}, or mend the party or the vehicle."
    return "No kit named or shipped does. Mend the party or the vehicle."


def map_grid(climatology: xr.Dataset, inputs: Inputs, kits: tuple[Kit, ...]) -> MapGrid:
    """
    Return monthly scores over the journey's box, at the cells' own heights.

    Parameters
    ----------
    climatology : Dataset, month x latitude x longitude
    inputs : Inputs
    kits : tuple of Kit

    Returns
    -------
    MapGrid
    """
    # Maps show half percents: single precision halves the memory of the largest box of all.
    night = nights_of(by_month(climatology), inputs.trip).astype(np.float32)
    factors = _monthly(night, kits, inputs.sleepers, inputs.trip.settings)
    latitude, longitude = climatology["latitude"].values, climatology["longitude"].values
    half_height, half_width = (np.diff(axis).mean() / 2 for axis in (latitude, longitude))
    return MapGrid(
        south=float(latitude[0] - half_height),
        west=float(longitude[0] - half_width),
        north=float(latitude[-1] + half_height),
        east=float(longitude[-1] + half_width),
        latitude=latitude,
        longitude=longitude,
        factors=factors,
    )


@remembered(size=2)
def _monthly(
    night: xr.Dataset, kits: Sequence[Kit], sleepers: Sequence[Sleeper], settings: Settings
) -> dict[str, dict[str, np.ndarray]]:
    """Return each kit's share and risks by name, shape (month, latitude, longitude)."""
    keep = ("sound_share", *FACTORS)
    scored = scores(night, kits, sleepers, settings=settings, keep=keep)
    scored = scored.transpose("kit", "month", "latitude", "longitude")
    return {
        kit.id: {name: scored[name].values[row] for name in keep} for row, kit in enumerate(kits)
    }


def route_points(route: BaseGeometry | None) -> tuple[tuple[float, float], ...]:
    """
    Return a route as points, latitude first.

    Parameters
    ----------
    route : shapely line or None

    Returns
    -------
    tuple of (float, float)
        Empty without a route.
    """
    if route is None:
        return ()
    return tuple((float(y), float(x)) for x, y in shapely.get_coordinates(route))
