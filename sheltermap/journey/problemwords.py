"""Dates and counts as the planner's messages say them.

In: dates, numbers of days and nights. Out: words.
"""

from __future__ import annotations

from datetime import date


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
