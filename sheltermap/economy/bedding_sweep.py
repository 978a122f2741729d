"""A sweep of bedding: what each 5 °C warmer bag saves in nights, and weighs and costs.

In: the nights of one kit with bedding of several comfort labels. Out: a step for each. Assumes
that warmth weighs and costs what the kits' warm bedding does, in proportion to its insulation.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from sheltermap.economy.rows import KitNights
from sheltermap.economy.unknown import known
from sheltermap.shelters.cold import CLO
from sheltermap.shelters.kit import AddOn, Bedding, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import top_resistance
from sheltermap.trip.party import Party

COMFORT_LABELS = (10.0, 5.0, 0.0, -5.0, -10.0, -15.0)
"""Comfort labels that are tried. [degC]"""

WARM_BEDDING = "warm-bedding"
"""The add-on whose insulation, mass and price a step is priced by."""

_ITS_SLEEPERS = 2  # of a warm bedding: two quilts


@dataclass(frozen=True)
class BeddingStep:
    """
    A journey with one bedding for everyone who has none of their own.

    Attributes
    ----------
    comfort_c : float
        Comfort label. [degC]
    rough_nights, dangerous_nights : float or None
        Expected on the plan's dates. [night]
    saved : float or None
        Rough nights fewer than with the label before. [night]
    mass_kg, price : float or None
        What it weighs and costs more than that; None of the first, and where no warm bedding
        is known. [kg], in the trip's currency
    """

    comfort_c: float
    rough_nights: float | None
    dangerous_nights: float | None
    saved: float | None = None
    mass_kg: float | None = None
    price: float | None = None


def sleepers_with(sleepers: Iterable[Sleeper], party: Party, label: float) -> tuple[Sleeper, ...]:
    """
    Return sleepers as they would be with another bedding of the party.

    Parameters
    ----------
    sleepers : iterable of Sleeper
        Those with rows of their own first.
    party : Party
    label : float
        Comfort label. [degC]

    Returns
    -------
    tuple of Sleeper
        Who has bedding of their own keeps it.
    """
    own = [row.bedding is not None for row in party.sleepers]
    return tuple(
        sleeper
        if number < len(own) and own[number]
        else sleeper.model_copy(update={"bedding": Bedding(comfort_c=label)})
        for number, sleeper in enumerate(sleepers)
    )


def bedding_steps(
    nights: Sequence[KitNights], party: Party, settings: Settings, warm: AddOn | None
) -> tuple[BeddingStep, ...]:
    """
    Return the sweep.

    Parameters
    ----------
    nights : sequence of KitNights
        With each of `COMFORT_LABELS`.
    party : Party
    settings : Settings
    warm : AddOn or None
        The warm bedding, for mass and price.

    Returns
    -------
    tuple of BeddingStep
    """
    plain = [
        BeddingStep(label, known(float(one.rough.sum())), known(float(one.dangerous.sum())))
        for label, one in zip(COMFORT_LABELS, nights, strict=True)
    ]
    return (plain[0], *_against_the_one_before(plain, party, settings, warm))


def _against_the_one_before(
    steps: Sequence[BeddingStep], party: Party, settings: Settings, warm: AddOn | None
) -> Iterator[BeddingStep]:
    """Yield each step but the first with what it saves, weighs and costs."""
    people = party.people - sum(row.bedding is not None for row in party.sleepers)
    for before, step in pairwise(steps):
        added = [
            top_resistance(Bedding(comfort_c=one.comfort_c), settings) / CLO
            for one in (before, step)
        ]
        mass = price = saved = None
        if warm is not None and warm.extra_clo > 0:
            share = people / _ITS_SLEEPERS * (added[1] - added[0]) / warm.extra_clo
            mass, price = share * warm.mass_kg, share * warm.price
        if before.rough_nights is not None and step.rough_nights is not None:
            saved = before.rough_nights - step.rough_nights
        yield BeddingStep(
            step.comfort_c, step.rough_nights, step.dangerous_nights, saved, mass, price
        )
