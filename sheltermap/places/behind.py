"""What lies behind: done legs with their nights as they were, by the usual sleeper's limits.

In: a trip's ``[[done]]`` rows and its camps. Out: a DoneStay for each leg that was left.
Assumes that whoever wrote how nights were slept told the truth: those count as they were.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from sheltermap.dates import days_of_year
from sheltermap.places.ground import Camps
from sheltermap.places.place import NightSeason, Place
from sheltermap.places.scored import scored_places
from sheltermap.shelters.fitting import with_addons
from sheltermap.shelters.kit import Kit
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.log import DoneRow, SleptRow
from sheltermap.trip.model import Trip
from sheltermap.vocabulary import FACTORS, Floats

_CAUSES = {"cold": "cold", "heat": "hot", "wet": "wet", "condensation": "damp"}
"""Which count of a row is which factor's; wind is not asked for."""


@dataclass(frozen=True, eq=False)
class DoneStay:
    """
    A leg that is done.

    Attributes
    ----------
    leg : int
        Position in the trip.
    arrive, leave : date
        The first evening on the way to its camp, and the day it was left.
    on_the_way : int
        Evenings before its camp. [night]
    kit : Kit
        Slept in.
    place : Place
        Scored in that kit with the usual limits.
    shares : dict of str to float array, shape (nights,)
        ``sound_share``, ``dangerous`` and each factor, night by night. [0 to 1]
    """

    leg: int
    arrive: date
    leave: date
    on_the_way: int
    kit: Kit
    place: Place
    shares: dict[str, Floats]

    @property
    def nights(self) -> int:
        """Return how many nights were slept."""
        return (self.leave - self.arrive).days

    @property
    def days(self) -> NDArray[np.int_]:
        """Return the positions in the year of its nights."""
        return days_of_year(self.arrive, self.nights)

    @property
    def season(self) -> NightSeason:
        """Return the year at its place, in its kit."""
        return self.place.seasons[self.kit.id]


class UsualPlaces:
    """
    Places scored with the usual limits, whatever nights taught; each kit once.

    Parameters
    ----------
    inputs : Inputs
        As read: nothing of what nights taught is in it.
    camps : Camps
    scored : mapping of Kit to tuple of Place, optional
        Places, one each a leg, that are scored so already.
    """

    def __init__(
        self,
        inputs: Inputs,
        camps: Camps,
        scored: Mapping[Kit, tuple[Place, ...]] | None = None,
    ) -> None:
        self.inputs = inputs
        self._camps, self._scored = camps, dict(scored or {})

    def in_kit(self, kit: Kit) -> tuple[Place, ...]:
        """Return the places in a kit, one each a leg."""
        if kit not in self._scored:
            places, _ = scored_places(self._camps, self.inputs, [kit])
            self._scored[kit] = self._camps.by_leg(places)
        return self._scored[kit]


def done_stays(usual: UsualPlaces, on_the_way: Sequence[int]) -> tuple[DoneStay, ...]:
    """
    Return what is behind.

    Parameters
    ----------
    usual : UsualPlaces
    on_the_way : sequence of int
        For each row of the log, the evenings before its camp was reached. [night]

    Returns
    -------
    tuple of DoneStay
        In the order of the log; the leg that one is still in is not among them.
    """
    inputs = usual.inputs
    names = [leg.name for leg in inputs.trip.legs]
    stays = []
    for row, way in zip(inputs.trip.done, on_the_way, strict=True):
        if row.left is not None:
            kit, leg = kit_of_row(inputs, row), names.index(row.leg)
            stays.append(_stay(inputs.trip, row, way, leg, kit, usual.in_kit(kit)[leg]))
    return tuple(stays)


def kit_of_row(inputs: Inputs, row: DoneRow) -> Kit:
    """
    Return the kit that a leg was slept in.

    Parameters
    ----------
    inputs : Inputs
    row : DoneRow

    Returns
    -------
    Kit
        With its add-ons; those of the trip's first kit where the row says nothing else.
    """
    first = inputs.kits[0]
    name = row.kit or first.id
    if name == first.id and row.addons is None:
        return first
    return with_addons(inputs.known[name], row.addons or (), inputs.addons)


def _stay(trip: Trip, row: DoneRow, way: int, leg: int, kit: Kit, place: Place) -> DoneStay:
    """Return a row with its nights as they were, those on the way to its camp before them."""
    assert row.left is not None
    begun = row.arrived - timedelta(days=way)
    nights = (row.left - begun).days
    season, days = place.seasons[kit.id], days_of_year(begun, nights)
    shares = {
        name: getattr(season, name)[days].copy() for name in ("sound_share", "dangerous", *FACTORS)
    }
    told = [one for one in trip.slept if one.leg == row.leg and _within(one, row)]
    if told:
        shares = _as_it_was(shares, told, nights)
    return DoneStay(leg, begun, row.left, way, kit, place, shares)


def _within(slept: SleptRow, done: DoneRow) -> bool:
    """Return whether nights were slept during a stay."""
    assert done.left is not None
    return slept.first is None or done.arrived <= slept.first < done.left


def _as_it_was(
    shares: Mapping[str, Floats], told: Sequence[SleptRow], nights: int
) -> dict[str, Floats]:
    """
    Return a stay's shares with the nights told in place of those that were expected.

    Rows of one sleeper add up; of several sleepers the worst off counts, as in a share. Which
    night it was is not told, so all nights of the stay get the mean.
    """
    who = {row.who for row in told}
    by_sleeper = [[row for row in told if row.who == one] for one in who]

    def most(count: str) -> int:
        return max(sum(getattr(row, count) for row in rows) for rows in by_sleeper)

    known = min(most("nights"), nights)
    rough = max(
        sum(min(row.nights, row.cold + row.hot + row.wet + row.damp) for row in rows)
        for rows in by_sleeper
    )
    rest = 1 - known / nights
    mixed = {name: np.array(values) for name, values in shares.items()}
    mixed["sound_share"] = rest * mixed["sound_share"] + (known - min(rough, known)) / nights
    for factor, count in _CAUSES.items():
        mixed[factor] = rest * mixed[factor] + min(most(count), known) / nights
    return mixed
