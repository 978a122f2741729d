"""Dates as positions in a year, and dates and counts as messages say them.

In: dates, numbers of days and nights. Out: positions in a 365-day year, words. Assumes the
calendar of today.
"""

from __future__ import annotations

import calendar
from datetime import date, timedelta

import numpy as np

from sheltermap.vocabulary import DAYS_IN_MONTH

FIRST_DAYS = np.concatenate([[0], np.cumsum(DAYS_IN_MONTH)[:-1]])
"""Position in a 365-day year of the first day of each month."""

MONTH_OF_DAY = np.repeat(np.arange(12), DAYS_IN_MONTH)
"""Month of each day of a 365-day year, 0 for January."""


def days_of_year(first: date, days: int) -> np.ndarray:
    """
    Return the position in a 365-day year of each of many consecutive days.

    Parameters
    ----------
    first : date
    days : int
        How many.

    Returns
    -------
    int array, shape (days,)
        0 for 1 January to 364 for 31 December; 29 February repeats 28 February. [1]

    Examples
    --------
    >>> days_of_year(date(2028, 2, 28), 3).tolist()
    [58, 58, 59]
    """
    dates = (first + timedelta(days=index) for index in range(days))
    return np.fromiter(map(day_of_year, dates), np.int64, count=days)


def day_of_year(day: date) -> int:
    """
    Return the position of a day in a 365-day year.

    Parameters
    ----------
    day : date

    Returns
    -------
    int
        0 for 1 January to 364 for 31 December; 29 February is 28 February. [1]

    Examples
    --------
    >>> day_of_year(date(2028, 2, 29)), day_of_year(date(2028, 12, 31))
    (58, 364)
    """
    return int(FIRST_DAYS[day.month - 1]) + min(day.day, DAYS_IN_MONTH[day.month - 1]) - 1


def dated(year: int, month: int, day: int) -> date:
    """
    Return a yearly day in a year.

    Parameters
    ----------
    year, month, day : int

    Returns
    -------
    date
        29 February falls on the 28th where there is none.

    Examples
    --------
    >>> print(dated(2027, 2, 29), dated(2028, 2, 29))
    2027-02-28 2028-02-29
    """
    in_common_years = min(day, DAYS_IN_MONTH[month - 1])
    return date(year, month, day if calendar.isleap(year) else in_common_years)


def in_leap_springs(first: date, last: date) -> bool:
    """
    Return whether a journey meets only springs that follow a 29 February.

    A margin counts that day then. Where a journey meets springs of both kinds, margins end by
    the later of the two countings.

    Parameters
    ----------
    first, last : date

    Returns
    -------
    bool

    Examples
    --------
    >>> in_leap_springs(date(2027, 7, 1), date(2028, 6, 30))
    True
    >>> in_leap_springs(date(2027, 5, 31), date(2028, 6, 30))
    False
    """
    met = [
        year
        for year in range(first.year, last.year + 1)
        # A margin of 90 days after 28 February ends in May.
        if first <= date(year, 5, 31) and last >= date(year, 3, 1)
    ]
    return bool(met) and all(map(calendar.isleap, met))


def said_days(count: int) -> str:
    """
    Return a number of days.

    Examples
    --------
    >>> said_days(1), said_days(3)
    ('1 day', '3 days')
    """
    return f"{count} day" if count == 1 else f"{count} days"


def said_nights(count: int) -> str:
    """
    Return a number of nights.

    Examples
    --------
    >>> said_nights(1), said_nights(3)
    ('1 night', '3 nights')
    """
    return f"{count} night" if count == 1 else f"{count} nights"


def said_date(day: date) -> str:
    """
    Return a date.

    Examples
    --------
    >>> said_date(date(2027, 5, 2))
    '2 May 2027'
    """
    return f"{day.day} {day:%B %Y}"
