"""Candidates for a remedy: what one more thing in the vehicle, or a room, would do.

In: nights, a kit, its sleepers. Out: candidates with the share of sound nights and the danger
left with each. Assumes a candidate is an add-on or a bed indoors: none of them closes a vent or
burns fuel inside a shelter, and none may. No awning is one where nobody knows whether wind lets
it stand.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import xarray as xr

from sheltermap.shelters.fitting import bought, useful, with_addons
from sheltermap.shelters.kit import AddOn, Kit, Sleeper, load_addons
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.score import scores

ROOM = "room"
ROOM_TITLE = "A room"

LEAST_DANGER = 0.02
"""Chance of a dangerous night from which danger remains. [1] judgement"""


@dataclass(frozen=True, eq=False)
class Candidate:
    """
    One thing that may help, and what nights are like with it.

    Attributes
    ----------
    id, title : str
        An add-on's, or "room".
    price : float
        Paid once, or for each night of `paid`.
    mass_kg : float
    sound_share : array
        With it. [0 to 1]
    dangerous : array
        Chance of a dangerous night with it. [0 to 1]
    paid : bool array or None
        Nights that are paid for; None for what is bought once.
    """

    id: str
    title: str
    price: float
    mass_kg: float
    sound_share: np.ndarray
    dangerous: np.ndarray
    paid: np.ndarray | None = None

    def at(self, nights: Any) -> Candidate:
        """
        Return the same on some of the nights.

        Parameters
        ----------
        nights : index
            As numpy takes it.

        Returns
        -------
        Candidate
        """
        return replace(
            self,
            sound_share=self.sound_share[nights],
            dangerous=self.dangerous[nights],
            paid=None if self.paid is None else self.paid[nights],
        )


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
    Return every add-on that changes a kit, with its nights.

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
        What the vehicle has, as for `assessable`.

    Returns
    -------
    list of Candidate
        Arrays in the order of the night's dimensions.
    """
    addons = load_addons() if addons is None else addons
    helping = assessable(addons.values(), kit, carries, windy="wind_speed" in night)
    if not helping:
        return []
    better = [with_addons(kit, [addon.id], addons) for addon in helping]
    scored = scores(night, better, sleepers, settings=settings, keep=("sound_share", "dangerous"))
    shares, dangerous = scored.sound_share.values, scored.dangerous.values
    return [
        Candidate(
            id=addon.id,
            title=addon.title,
            price=addon.price,
            mass_kg=addon.mass_kg,
            sound_share=shares[number],
            dangerous=dangerous[number],
        )
        for number, addon in enumerate(bought(addon, kit) for addon in helping)
    ]


def assessable(
    addons: Iterable[AddOn], kit: Kit, carries: Collection[str] | None, *, windy: bool
) -> tuple[AddOn, ...]:
    """
    Return the add-ons that change a kit, of those whose gain can be known.

    Parameters
    ----------
    addons : iterable of AddOn
    kit : Kit
    carries : collection of str, optional
        What the vehicle has; add-ons that need something else are left out. None leaves
        none out.
    windy : bool
        Whether wind is known: without it nobody can say whether an awning stands.

    Returns
    -------
    tuple of AddOn
        In the order given.
    """
    return tuple(addon for addon in useful(addons, kit, carries) if windy or addon.awning is None)


def room(sound_share: np.ndarray, dangerous: np.ndarray, price: float, below: float) -> Candidate:
    """
    Return a bed indoors on the nights that call for one.

    Parameters
    ----------
    sound_share, dangerous : array
        Outdoors. [0 to 1]
    price : float
        Of a night.
    below : float
        Share of sound nights below which the traveller takes a room; on a night of which
        danger remains one is taken whatever the share. [0 to 1]

    Returns
    -------
    Candidate
        A night in a room counts as sound and safe; missing where the share is.
    """
    taken = (sound_share < below) | (dangerous >= LEAST_DANGER)
    return Candidate(
        id=ROOM,
        title=ROOM_TITLE,
        price=price,
        mass_kg=0.0,
        sound_share=np.where(taken, 1.0, sound_share),
        dangerous=np.where(taken, 0.0, dangerous),
        paid=taken,
    )
