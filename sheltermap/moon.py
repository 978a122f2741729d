"""Moonlight: how much of the moon is lit on the nights of a stay.

In: dates. Out: shares and words. Assumes the mean length of its phases, which misses a full or
new moon by a day at most; clouds and hills are not known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta

from sheltermap.vocabulary import MONTHS, listed

_CYCLE = 28.0  # astral counts phases from 0, new, over 14, full, to 28.
_FULL = 14.0


def lit_share(day: date) -> float:
    """
    Return the share of the moon's face that is lit at noon of a day.

    Parameters
    ----------
    day : date

    Returns
    -------
    float
        0 at new moon, 1 at full moon. [1]

    Examples
    --------
    The eclipse of the sun on 2 August 2027, and of the moon on 14 March 2025:

    >>> round(lit_share(date(2027, 8, 2)), 1), round(lit_share(date(2025, 3, 14)), 1)
    (0.0, 1.0)
    """
    return (1.0 - math.cos(2.0 * math.pi * _phase(day) / _CYCLE)) / 2.0


def moon_words(first: date, nights: int) -> str:
    """
    Return when the moon is full and new during a stay, or how much of it is lit.

    Parameters
    ----------
    first : date
        First night.
    nights : int
        At least 1.

    Returns
    -------
    str
        A sentence.

    Examples
    --------
    >>> moon_words(date(2027, 8, 1), 21)
    'Moon: new about 2 August and full about 17 August.'
    >>> moon_words(date(2027, 8, 8), 2)
    'Moon: about 50 % lit, growing.'
    """
    days = [first + timedelta(days=number) for number in range(nights)]
    found = listed(_turns(days))
    if found:
        return f"Moon: {found}."
    middle = days[len(days) // 2]
    way = "growing" if _phase(middle) < _FULL else "waning"
    return f"Moon: about {10 * round(10 * lit_share(middle))} % lit, {way}."


def _turns(days: list[date]) -> Iterator[str]:
    """Yield each full and new moon of some days, on the day nearest to it."""
    for day in days:
        for name, turn in (("full", _FULL), ("new", 0.0)):
            before, on, after = (
                _away(_phase(day + timedelta(days=step)), turn) for step in (-1, 0, 1)
            )
            if on < before and on <= after:
                yield f"{name} about {day.day} {MONTHS[day.month - 1]}"


def _away(phase: float, turn: float) -> float:
    """Return how far a phase lies from another, round the cycle."""
    apart = abs(phase - turn) % _CYCLE
    return min(apart, _CYCLE - apart)


def _phase(day: date) -> float:
    """Return the moon's age on a day, 0 to 28."""
    from astral import moon

    return float(moon.phase(day)) % _CYCLE
