"""Lessons: sleepers and kits as the nights in them have shown them to be.

In: a trip's inputs, its nights slept. Out: the same inputs with what was learned, and the
lessons. Assumes that what was learned holds for the journey ahead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sheltermap.places.slept import SleptNights
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.learned import OwnOffsets, Posterior, learned, moved_by
from sheltermap.trip.inputs import Inputs

KIT_NIGHTS = 20
"""Nights of rain, or of dripping fabric, that a kit's own figure is worth. [night] judgement"""


@dataclass(frozen=True, eq=False)
class Lesson:
    """
    What one sleeper's nights teach.

    Attributes
    ----------
    who : str
        Empty for the only one.
    sleeper : Sleeper
        With what was learned.
    nights, measured : int
        All nights told, and those with a thermometer against cold.
    cold, heat : Posterior
    moved : tuple of (int, float)
        Number of each row, and by how much it moves the offset against cold. [K]
    """

    who: str
    sleeper: Sleeper
    nights: int
    measured: int
    cold: Posterior
    heat: Posterior
    moved: tuple[tuple[int, float], ...]


def lessons(inputs: Inputs, slept: Sequence[SleptNights]) -> tuple[Lesson, ...]:
    """
    Return what each sleeper's nights teach.

    Parameters
    ----------
    inputs : Inputs
    slept : sequence of SleptNights

    Returns
    -------
    tuple of Lesson
        In the order of the rows.
    """
    names = dict.fromkeys(nights.row.who or "" for nights in slept)
    return tuple(
        _lesson(inputs, who, [one for one in slept if (one.row.who or "") == who]) for who in names
    )


def taught(inputs: Inputs, slept: Sequence[SleptNights], learnt: Sequence[Lesson]) -> Inputs:
    """
    Return a trip's inputs with what nights taught.

    Parameters
    ----------
    inputs : Inputs
    slept : sequence of SleptNights
    learnt : sequence of Lesson
        From `lessons`.

    Returns
    -------
    Inputs
        The very same where nobody wrote a night down.
    """
    if not slept:
        return inputs
    sleepers = list(inputs.sleepers)
    for lesson in learnt:
        sleepers[_place(inputs, lesson.who)] = lesson.sleeper
    kits = tuple(_worn(kit, slept) for kit in inputs.kits)
    return replace(inputs, sleepers=tuple(sleepers), kits=kits)


def _place(inputs: Inputs, who: str) -> int:
    """Return the position of a sleeper in the party; those with rows of their own come first."""
    names = [one.name for one in inputs.trip.party.sleepers]
    return names.index(who) if who in names else 0


def _lesson(inputs: Inputs, who: str, slept: Sequence[SleptNights]) -> Lesson:
    """Return what the nights of one sleeper teach."""
    between = inputs.trip.settings.person_spread
    cold_stays = [nights.in_cold() for nights in slept]
    cold = learned(cold_stays, between, of_bedding=True)
    heat = learned([nights.in_heat() for nights in slept], between, of_bedding=False)
    own = OwnOffsets(
        in_bedding=tuple((bedding, cold.offset(bedding)) for bedding in cold.likelihoods),
        new_bedding=cold.offset(None),
        heat=heat.offset(),
    )
    moved = moved_by(cold_stays, between, of_bedding=True)
    return Lesson(
        who=who,
        sleeper=inputs.sleepers[_place(inputs, who)].model_copy(update={"own": own}),
        nights=sum(nights.row.nights for nights in slept),
        measured=sum(nights.row.nights for nights in slept if nights.row.low_c is not None),
        cold=cold,
        heat=heat,
        moved=tuple((one.number, by) for one, by in zip(slept, moved, strict=True)),
    )


def _worn(kit: Kit, slept: Sequence[SleptNights]) -> Kit:
    """
    Return a kit as the nights in it have shown it to be.

    A share of `KIT_NIGHTS` nights, as the kit states it, is joined with the nights counted: a
    beta prior. Of sleepers who tell of the same nights, the one with most of them counts.
    """
    stays: dict[object, SleptNights] = {}
    for nights in slept:
        row = nights.row
        key = row.leg, row.place, row.first
        if nights.kit.id == kit.id and row.rain + row.damp >= (
            stays[key].row.rain + stays[key].row.damp if key in stays else 0
        ):
            stays[key] = nights
    if not stays:
        return kit
    rain = sum(one.row.rain for one in stays.values())
    wet = sum(one.row.wet for one in stays.values())
    dripping = sum(max(one.drips * one.row.nights, one.row.damp) for one in stays.values())
    damp = sum(one.row.damp for one in stays.values())

    def joined(stated: float, counted: float, of: float) -> float:
        return (KIT_NIGHTS * stated + counted) / (KIT_NIGHTS + of) if of else stated

    return kit.after(
        leak=joined(kit.leak, wet, rain),
        leak_under_awning=joined(kit.leak_under_awning, wet, rain),
        condensation_weight=joined(kit.condensation_weight, damp, dripping),
    )
