"""A kit's twelve months at a place, reduced from its days: for the region page and ``night``.

In: a year of nights. Out: one KitMonth each. Assumes that a month has the grade of its worst
day, so that bad nights never hide in a mean, and the mean of its shares.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sheltermap.dates import FIRST_DAYS
from sheltermap.places.place import NightSeason
from sheltermap.vocabulary import DAYS_IN_MONTH, MISSING_GRADE


@dataclass(frozen=True)
class KitMonth:
    """One month of one kit at a place.

    Attributes
    ----------
    sound_share, dangerous : float
        Mean over the nights; missing where any is. [0 to 1]
    grade : int
        Of the worst day; `MISSING_GRADE` where a day has none.
    close : bool
        Whether a day's grade is.
    limiting_factor : int
        The code of most days, as in `NightSeason`.
    """

    sound_share: float
    dangerous: float
    grade: int
    close: bool
    limiting_factor: int


def month_days(month: int) -> slice:
    """
    Return the days of a month as a slice of a 365-day array.

    Parameters
    ----------
    month : int
        0 for January.

    Examples
    --------
    >>> month_days(1)
    slice(31, 59, None)
    """
    first = int(FIRST_DAYS[month])
    return slice(first, first + DAYS_IN_MONTH[month])


def kit_months(season: NightSeason) -> tuple[KitMonth, ...]:
    """
    Return a kit's twelve months at a place.

    Parameters
    ----------
    season : NightSeason

    Returns
    -------
    tuple of KitMonth
    """
    return tuple(_month(season, month_days(month)) for month in range(12))


def _month(season: NightSeason, days: slice) -> KitMonth:
    """Return one month."""
    grades = season.grade[days]
    codes, counts = np.unique(season.limiting_factor[days], return_counts=True)
    return KitMonth(
        sound_share=float(season.sound_share[days].mean()),
        dangerous=float(season.dangerous[days].mean()),
        grade=int(grades.max()) if (grades >= 0).all() else MISSING_GRADE,
        close=bool(season.close[days].any()),
        limiting_factor=int(codes[np.argmax(counts)]),
    )
