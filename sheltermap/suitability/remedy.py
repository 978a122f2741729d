"""The remedy to name: the cheapest that ends danger, else the cheapest that lifts a grade.

In: stretches of nights (the legs of a plan, a week, a month) with what may help on each. Out:
one remedy for all of them, and what it does on one. Assumes that danger comes before sleep:
nothing is named that leaves a night dangerous, whatever sleep it gains.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sheltermap.suitability.candidates import LEAST_DANGER, Candidate
from sheltermap.suitability.grade import grade
from sheltermap.vocabulary import Grade

LEAST_GAIN = 0.005
"""Share of sound nights below which a remedy is not worth naming. [1] judgement"""


@dataclass(frozen=True, eq=False)
class Stretch:
    """
    Nights that have one grade together, and what may help on them.

    Attributes
    ----------
    sound_share, dangerous : array
        Without any remedy. [0 to 1]
    candidates : sequence of Candidate
        On the same nights.
    nights : array or float
        Nights that each value stands for; a value without nights counts nowhere.
    """

    sound_share: np.ndarray
    dangerous: np.ndarray
    candidates: Sequence[Candidate]
    nights: np.ndarray | float = 1.0

    @cached_property
    def weights(self) -> np.ndarray:
        """Return the nights that each value stands for."""
        return np.broadcast_to(self.nights, np.shape(self.sound_share)).astype(float)

    @cached_property
    def count(self) -> float:
        """Return the number of nights."""
        return float(self.weights.sum())

    def mean(self, values: np.ndarray) -> float:
        """Return the mean over the nights; missing if any of them is, or there are none."""
        if not self.count:
            return np.nan
        counted = np.where(self.weights > 0, values, 0.0)
        return float(np.sum(counted * self.weights) / self.count)

    @cached_property
    def share(self) -> float:
        """Return the share of sound nights without any remedy. [0 to 1]"""
        return self.mean(self.sound_share)

    def in_danger(self, dangerous: np.ndarray) -> bool:
        """Return whether danger remains on any of the nights."""
        return bool((np.asarray(dangerous)[self.weights > 0] >= LEAST_DANGER).any())


@dataclass(frozen=True)
class Remedy:
    """
    One remedy over some nights.

    Attributes
    ----------
    id, title : str
        An add-on's, or "room".
    price : float
        For all the nights given.
    mass_kg : float
    nights_saved : float
        Sound nights won.
    lifts_grade : bool
        Of one stretch at least.
    ends_danger : bool
        Whether there was danger; what leaves any is no remedy.
    rooms : float
        Nights spent in rooms.
    """

    id: str
    title: str
    price: float
    mass_kg: float
    nights_saved: float
    lifts_grade: bool
    ends_danger: bool = False
    rooms: float = 0.0


@dataclass(frozen=True)
class Advice:
    """
    What helps over all nights of a plan.

    Attributes
    ----------
    remedy : Remedy or None
        The one to name; None where nothing carried or paid lifts a grade.
    little : Remedy or None
        Where there is none to name, what gains most nights for its price.
    """

    remedy: Remedy | None = None
    little: Remedy | None = None


def advice(stretches: Sequence[Stretch]) -> Advice:
    """
    Return the remedy to name for some stretches of nights together.

    Parameters
    ----------
    stretches : sequence of Stretch

    Returns
    -------
    Advice
        Where a night has danger, the cheapest remedy that leaves none of it; a room does so
        wherever it is a candidate. Else the cheapest that lifts the grade of a stretch. Else
        none, and what gains most for its price. Nothing where a share is missing.
    """
    if not stretches or any(np.isnan(stretch.share) for stretch in stretches):
        return Advice()
    options = list(_options(stretches))
    if any(stretch.in_danger(stretch.dangerous) for stretch in stretches):
        return Advice(_cheapest(options))
    lifting = _cheapest([option for option in options if option.lifts_grade])
    if lifting is not None:
        return Advice(lifting)
    return Advice(None, _best_value(options, sum(stretch.count for stretch in stretches)))


def remedy_at(stretch: Stretch, name: str | None) -> Remedy | None:
    """
    Return what the remedy named for a whole plan does on one stretch of nights.

    Parameters
    ----------
    stretch : Stretch
    name : str or None
        Its id; None where none is named.

    Returns
    -------
    Remedy or None
        None where the nights are sound without it or gain little. Where it would leave
        danger, which it may on nights that are not planned, the cheapest that ends it.
    """
    danger = stretch.in_danger(stretch.dangerous)
    if np.isnan(stretch.share) or not (danger or grade(stretch.share) > Grade.SOUND):
        return None
    least = 0.0 if danger else LEAST_GAIN * stretch.count
    for option in _options([stretch]):
        if option.id == name and option.nights_saved >= least:
            return option
    return advice([stretch]).remedy if danger else None


def _options(stretches: Sequence[Stretch]) -> Iterator[Remedy]:
    """Yield each candidate that is known on every stretch and leaves no danger on any."""
    by_name = [{one.id: one for one in stretch.candidates} for stretch in stretches]
    for name in by_name[0]:
        # An awning is a candidate only where wind is known, which may be on some legs.
        if all(name in known for known in by_name):
            found = [known[name] for known in by_name]
            pairs = list(zip(stretches, found, strict=True))
            if not any(stretch.in_danger(one.dangerous) for stretch, one in pairs):
                yield _remedy(pairs)


def _remedy(pairs: Sequence[tuple[Stretch, Candidate]]) -> Remedy:
    """Return what a candidate does over some stretches, and costs for them."""
    first = pairs[0][1]
    gains = [stretch.mean(one.sound_share) - stretch.share for stretch, one in pairs]
    paid = [
        0.0 if one.paid is None else float(stretch.weights[one.paid].sum())
        for stretch, one in pairs
    ]
    nightly = sum(one.price * nights for (_, one), nights in zip(pairs, paid, strict=True))
    return Remedy(
        id=first.id,
        title=first.title,
        price=first.price if first.paid is None else nightly,
        mass_kg=first.mass_kg,
        nights_saved=sum(
            gain * stretch.count for gain, (stretch, _) in zip(gains, pairs, strict=True)
        ),
        lifts_grade=any(
            gain >= LEAST_GAIN and grade(stretch.share + gain) < grade(stretch.share)
            for gain, (stretch, _) in zip(gains, pairs, strict=True)
        ),
        ends_danger=any(stretch.in_danger(stretch.dangerous) for stretch, _ in pairs),
        rooms=sum(paid),
    )


def _cheapest(options: Sequence[Remedy]) -> Remedy | None:
    """Return the remedy of least price; among equals the one that saves more."""
    return min(options, key=lambda one: (one.price, -one.nights_saved, one.id), default=None)


def _best_value(options: Sequence[Remedy], nights: float) -> Remedy | None:
    """Return the remedy that saves most for its price, of those worth naming."""
    helping = [option for option in options if option.nights_saved >= LEAST_GAIN * nights]
    return max(helping, key=_gain_for_price, default=None)


def _gain_for_price(option: Remedy) -> tuple[float, float]:
    """Return the nights saved for each unit of money, then the nights saved."""
    saved = option.nights_saved
    return (saved / option.price if option.price > 0 else np.inf), saved
