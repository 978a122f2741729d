"""A sign: what the climate itself tells of a hazard, beside the layers and never among them.

In: a strength by day. Out: a record with its words, spans and grounds. Assumes nothing of
places; signs bind no plan, since a month's mean can neither promise a closed road nor an
open one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from sheltermap.spans import runs
from sheltermap.vocabulary import Flags, Levels


class Strength(IntEnum):
    """How strong a sign is on a day; results write its word."""

    NONE = 0
    SIGN = 1
    STRONG = 2

    @property
    def word(self) -> str:
        """Return the strength as people read it; it is no level of a hazard."""
        return ("none", "sign", "strong sign")[self]


@dataclass(frozen=True, eq=False)
class Sign:
    """
    What the climate tells of one kind of hazard at one place.

    Attributes
    ----------
    kind : str
        A name of ``signs.SIGN_KINDS``.
    title : str
        As people read it.
    strength_by_day : numpy.ndarray of uint8, shape (365,)
        A `Strength` each.
    words : str
        A sentence with months and figures, "computed" at its end.
    basis : str
        The rule with its source, and how well it did.
    caution : str
        What to do where the sign holds; empty where the words say it all.
    """

    kind: str
    title: str
    strength_by_day: Levels
    words: str
    basis: str
    caution: str = ""

    @property
    def strength(self) -> str:
        """Return the word of its strongest day."""
        return Strength(int(self.strength_by_day.max())).word

    @property
    def spans(self) -> tuple[str, ...]:
        """Return when it holds, as MM-DD..MM-DD, each span across New Year whole."""
        return spans_of(self.strength_by_day > 0)

    @property
    def record(self) -> dict[str, object]:
        """Return it as JSON has it."""
        return {
            "kind": self.kind,
            "strength": self.strength,
            "spans": list(self.spans),
            "words": self.words,
        }

    def on(self, days: npt.NDArray[np.integer]) -> Sign | None:
        """
        Return what it says of some days of the year, or None where it does not hold.

        Parameters
        ----------
        days : array of int
            Positions in the year, 0 for 1 January.

        Returns
        -------
        Sign or None
            As strong as on the strongest of them, on other days nothing.
        """
        strength = self.strength_by_day * 0
        strength[days] = self.strength_by_day[days]
        return replace(self, strength_by_day=strength) if strength.any() else None


def spans_of(days: Flags) -> tuple[str, ...]:
    """
    Return runs of days of the year as MM-DD..MM-DD.

    Parameters
    ----------
    days : numpy.ndarray of bool, shape (365,)

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> days = np.zeros(365, dtype=bool)
    >>> days[:31] = days[334:] = True
    >>> spans_of(days)
    ('12-01..01-31',)
    """
    return tuple(f"{_month_day(first)}..{_month_day(last)}" for first, last in runs(days))


def _month_day(day: int) -> str:
    return f"{date(2001, 1, 1) + timedelta(days=day):%m-%d}"
