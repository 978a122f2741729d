"""Remedies: what one more thing in the vehicle, or a room, would do for bad nights.

In: nights, a kit, its sleepers. Out: candidates with their gain in the share of sound
nights, and the one to name. Assumes a remedy is an add-on or a bed indoors: none of them
closes a vent or burns fuel inside a shelter, and none may. Nothing carried is a remedy where
nights stay dangerous with it, and no awning where nobody knows whether wind lets it stand.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.shelters.fitting import bought, useful, with_addons
from sheltermap.shelters.kit import AddOn, Kit, Sleeper, load_addons
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.grade import grade
from sheltermap.suitability.shut import scores_with_shut
from sheltermap.vocabulary import Floats

ROOM = "room"
ROOM_TITLE = "A room"
LEAST_GAIN = 0.005
"""Share of sound nights below which a remedy is not worth naming. [1] judgement"""

LEAST_DANGER = 0.02
"""Chance of a dangerous night from which danger remains. [1] judgement"""


@dataclass(frozen=True)
class Candidate:
    """
    One remedy and what it does.

    Attributes
    ----------
    id, title : str
        An add-on's, or "room".
    price : float
        Bought once; a room's is for each night.
    mass_kg : float
    each_night : bool
        Whether the price is for each night.
    sound_share : array
        With the remedy. [0 to 1]
    gain : array
        What it adds. [-1 to 1]
    dangerous : array
        Chance of a dangerous night with the remedy. [0 to 1]
    """

    id: str
    title: str
    price: float
    mass_kg: float
    each_night: bool
    sound_share: np.ndarray
    gain: np.ndarray
    dangerous: np.ndarray


@dataclass(frozen=True)
class Remedy:
    """The remedy to name: `nights_saved` counts sound nights won over all nights given."""

    id: str
    title: str
    price: float
    mass_kg: float
    nights_saved: float
    lifts_grade: bool


def candidates(
    night: xr.Dataset,
    kit: Kit,
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    addons: dict[str, AddOn] | None = None,
    carries: Collection[str] | None = None,
) -> list[Candidate]:
    """
    Return every add-on that changes a kit, with its gain; no awning without wind.

    Parameters
    ----------
    night : Dataset
        From ``night.conditions``, with the shares of ``suitability.shut`` where known.
    kit : Kit
    sleepers : sequence of Sleeper
    settings : Settings, optional
    addons : dict of str to AddOn, optional
        By default the shipped ones.
    carries : collection of str, optional
        What the vehicle has; add-ons that need something else are left out. None
        leaves none out.

    Returns
    -------
    list of Candidate
        Arrays in the order of the night's dimensions.
    """
    addons = load_addons() if addons is None else addons
    windless = "wind_speed" not in night
    helping = [
        addon
        for addon in useful(addons.values(), kit, carries)
        if not (windless and addon.awning is not None)
    ]
    better = [with_addons(kit, [addon.id], addons) for addon in helping]
    scored = scores_with_shut(
        night, [kit, *better], sleepers, settings=settings, keep=("sound_share", "dangerous")
    )
    shares, dangerous = scored.sound_share.values, scored.dangerous.values
    return [
        Candidate(
            id=addon.id,
            title=addon.title,
            price=addon.price,
            mass_kg=addon.mass_kg,
            each_night=False,
            sound_share=shares[number],
            gain=shares[number] - shares[0],
            dangerous=dangerous[number],
        )
        for number, addon in enumerate((bought(addon, kit) for addon in helping), 1)
    ]


def room(before: np.ndarray, price: float) -> Candidate:
    """
    Return a bed indoors as a remedy; it is the answer only where nothing carried helps.

    Parameters
    ----------
    before : array
        Share of sound nights without it. [0 to 1]
    price : float
        Of a night.

    Returns
    -------
    Candidate
        Every night in a room counts as sound; missing where the share is.
    """
    safe = before * 0.0
    sound = safe + 1.0
    return Candidate(ROOM, ROOM_TITLE, price, 0.0, True, sound, sound - before, safe)


def remedy(
    found: Sequence[Candidate],
    before: np.ndarray,
    nights: np.ndarray | float = 1.0,
) -> Remedy | None:
    """
    Return the remedy to name: the cheapest that lifts the grade, else the largest gain.

    What is carried comes first: a room is named where nothing carried lifts the grade and
    the room does. What leaves any night dangerous is not named.

    Parameters
    ----------
    found : sequence of Candidate
        From `candidates`.
    before : array
        Share of sound nights without any. [0 to 1]
    nights : array or float
        Nights that each value stands for.

    Returns
    -------
    Remedy or None
        None where nothing gains half a percent of the nights without leaving danger, or a
        share is missing.
    """
    weights = np.broadcast_to(nights, np.shape(before)).astype(float)
    count = float(weights.sum())
    usual = _mean(before, weights) if count > 0 else np.nan
    if np.isnan(usual):
        return None
    options = [
        _remedy(candidate, share, usual, count)
        for candidate in found
        if (share := _mean(candidate.sound_share, weights)) - usual >= LEAST_GAIN
        and not _leaves_danger(candidate, weights)
    ]
    carried = [option for option in options if option.id != ROOM]
    lifting = [option for option in carried if option.lifts_grade]
    lifting = lifting or [option for option in options if option.lifts_grade]
    if lifting:
        return min(lifting, key=lambda option: (option.price, -option.nights_saved, option.id))
    return max(carried, key=lambda option: (option.nights_saved, -option.price), default=None)


def _remedy(candidate: Candidate, share: float, usual: float, count: float) -> Remedy:
    """Return what a candidate does over a number of nights, and costs for them."""
    return Remedy(
        id=candidate.id,
        title=candidate.title,
        price=candidate.price * (count if candidate.each_night else 1.0),
        mass_kg=candidate.mass_kg,
        nights_saved=(share - usual) * count,
        lifts_grade=bool(grade(share) < grade(usual)),
    )


def _leaves_danger(candidate: Candidate, weights: np.ndarray) -> bool:
    """Return whether a night with weight is dangerous all the same."""
    return bool((np.asarray(candidate.dangerous)[weights > 0] >= LEAST_DANGER).any())


def _mean(share: Floats, weights: Floats) -> float:
    """Return the weighted mean; missing if any night with weight is."""
    counted = np.where(weights > 0, np.asarray(share), 0.0)
    return float(np.sum(counted * weights) / weights.sum())
