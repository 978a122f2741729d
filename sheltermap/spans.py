"""Spans of the year as people write them, and the days they hold.

In: words such as ``June``, ``June..September``, ``11-01..03-15`` or ``all year``.
Out: which of the 365 days of a climatological year they hold. A span may cross New Year.
Assumes no leap day: 29 February reads as 28 February.
"""

from __future__ import annotations

import re
from datetime import date

import numpy as np

from sheltermap.dates import FIRST_DAYS, days_of_year
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, MONTHS, Flags, listed

ALL_YEAR = "all year"
SPAN_FORMS = "a month ('June'), a span ('June..August' or '06-15..09-30') or 'all year'"

_MONTH_NUMBERS = {name.lower(): number for number, name in enumerate(MONTHS, start=1)}
_LEAP_DAY = (2, 29)


def span_days(span: str) -> Flags:
    """
    Return the days that a span holds, both ends included.

    Parameters
    ----------
    span : str
        As in ``SPAN_FORMS``.

    Returns
    -------
    numpy.ndarray of bool, shape (365,)
        From 1 January.

    Raises
    ------
    ValueError
        If the span can't be read; the text is "expected | how to mend".

    Examples
    --------
    >>> int(span_days("June").sum()), int(span_days("12-30..01-02").sum())
    (30, 4)
    >>> int(span_days("November..March").sum())
    151
    """
    if span.strip().lower() == ALL_YEAR:
        return np.ones(DAYS_IN_YEAR, dtype=bool)
    first, separator, last = (part.strip() for part in span.partition(".."))
    return _between(_bounds(first)[0], _bounds(last if separator else first)[1])


def days_between(first: date | str, last: date | str) -> np.ndarray:
    """
    Return the days of the year from one day to another, both included.

    Parameters
    ----------
    first, last : date or str
        Two dates, or two yearly days as MM-DD that may lie on both sides of New Year.

    Returns
    -------
    numpy.ndarray of bool, shape (365,)
        All days where two dates lie a year or more apart.

    Examples
    --------
    >>> int(days_between("12-30", "01-02").sum())
    4
    >>> int(days_between(date(2027, 12, 30), date(2028, 1, 2)).sum())
    4
    """
    if isinstance(first, date) and isinstance(last, date):
        days = np.zeros(DAYS_IN_YEAR, dtype=bool)
        days[days_of_year(first, (last - first).days + 1)] = True
        return days
    return _between(_bounds(str(first))[0], _bounds(str(last))[1])


def _between(start: int, end: int) -> np.ndarray:
    """Return the days from one position in the year to another, round New Year."""
    days = np.arange(DAYS_IN_YEAR)
    if start <= end:
        return (days >= start) & (days <= end)
    return (days >= start) | (days <= end)


def prolonged(days: Flags, margin: int) -> Flags:
    """
    Return days with each run prolonged at its end, round New Year.

    Roads and parks open late in some years: a plan keeps that margin.

    Parameters
    ----------
    days : numpy.ndarray of bool, shape (365,)
    margin : int
        Days to add. [day, 0 to 365]

    Returns
    -------
    numpy.ndarray of bool, shape (365,)

    Examples
    --------
    >>> int(prolonged(span_days("12-01..12-31"), 10)[:10].sum())
    10
    """
    longer = days.copy()
    for shift in range(1, margin + 1):
        longer |= np.roll(days, shift)
    return longer


def day_word(day: int) -> str:
    """
    Return a day of the year as people read it.

    Parameters
    ----------
    day : int
        0 is 1 January. [0 to 364]

    Returns
    -------
    str

    Examples
    --------
    >>> day_word(0), day_word(364)
    ('1 January', '31 December')
    """
    month = int(np.searchsorted(FIRST_DAYS, day, side="right")) - 1
    return f"{day - int(FIRST_DAYS[month]) + 1} {MONTHS[month]}"


def days_in_words(days: Flags) -> str:
    """
    Return which days are set, as an adverb, with runs across New Year kept whole.

    Parameters
    ----------
    days : numpy.ndarray of bool, shape (365,)

    Returns
    -------
    str
        Empty where none is.

    Examples
    --------
    >>> days_in_words(span_days("11-15..03-01") | span_days("June"))
    'in June and from 15 November to 1 March'
    >>> days_in_words(span_days("all year"))
    'all year'
    """
    if days.all():
        return ALL_YEAR
    words = [_run_word(first, last) for first, last in runs(days)]
    if words and all(word.startswith("in ") for word in words):
        words[1:] = [word.removeprefix("in ") for word in words[1:]]
    return listed(words)


def about_days(days: Flags) -> str:
    """
    Return which days are set to a third of a month, for what is not known to the day.

    Whole months stay whole.

    Parameters
    ----------
    days : numpy.ndarray of bool, shape (365,)

    Returns
    -------
    str
        Empty where none is.

    Examples
    --------
    >>> about_days(span_days("10-28..05-12") | span_days("06-25..06-29"))
    'in late June and from late October to mid-May'
    >>> about_days(span_days("June..August"))
    'from June to August'
    >>> about_days(span_days("all year"))
    'all year'
    """
    if days.all():
        return ALL_YEAR
    return listed(_about_word(first, last) for first, last in runs(days))


def runs(days: Flags) -> list[tuple[int, int]]:
    """
    Return the first and last day of each run of days, those across New Year whole.

    Parameters
    ----------
    days : numpy.ndarray of bool, shape (365,)

    Returns
    -------
    list of tuple of int
        [0 to 364] In the order of their first days; the whole year is one.

    Examples
    --------
    >>> runs(span_days("12-30..01-02")), runs(span_days("all year"))
    ([(363, 1)], [(0, 364)])
    """
    if days.all():
        return [(0, DAYS_IN_YEAR - 1)]
    starts = np.flatnonzero(days & ~np.roll(days, 1))
    ends = np.flatnonzero(days & ~np.roll(days, -1))
    if days[0] and days[-1]:
        ends = np.roll(ends, -1)
    return [(int(first), int(last)) for first, last in zip(starts, ends, strict=True)]


def months_in_words(months: Flags) -> str:
    """
    Return which months are set, as `days_in_words` does.

    Parameters
    ----------
    months : numpy.ndarray of bool, shape (12,)

    Returns
    -------
    str

    Examples
    --------
    >>> months_in_words(np.isin(np.arange(1, 13), [11, 12, 1]))
    'from November to January'
    >>> months_in_words(np.isin(np.arange(1, 13), [3, 6, 7]))
    'in March and from June to July'
    """
    return days_in_words(np.repeat(months, DAYS_IN_MONTH))


def _about_word(first: int, last: int) -> str:
    """Return one run of days to a third of a month, or as whole months."""
    if _whole_months(first, last):
        return _run_word(first, last)
    start, end = (_third_word(day) for day in (first, last))
    return f"in {start}" if start == end else f"from {start} to {end}"


def _whole_months(first: int, last: int) -> bool:
    """Return whether a run starts and ends with a month."""
    return first in FIRST_DAYS and (last + 1) % DAYS_IN_YEAR in FIRST_DAYS


def _third_word(day: int) -> str:
    """Return which third of which month a day lies in."""
    number, month = day_word(day).split()
    third = ("early ", "mid-", "late ")[min((int(number) - 1) // 10, 2)]
    return f"{third}{month}"


def _run_word(start: int, end: int) -> str:
    """Return one run of days, as whole months where it starts and ends with them."""
    (first_day, first_month), (last_day, last_month) = (day_word(d).split() for d in (start, end))
    if _whole_months(start, end):
        if first_month == last_month:
            return f"in {first_month}"
        return f"from {first_month} to {last_month}"
    if start == end:
        return f"on {first_day} {first_month}"
    if start < end and first_month == last_month:
        return f"from {first_day} to {last_day} {last_month}"
    return f"from {first_day} {first_month} to {last_day} {last_month}"


def _bounds(text: str) -> tuple[int, int]:
    """Return the first and last day of a month name, or a dated day twice."""
    number = _MONTH_NUMBERS.get(text.lower())
    if number is not None:
        start = int(FIRST_DAYS[number - 1])
        return start, start + DAYS_IN_MONTH[number - 1] - 1
    match = re.fullmatch(r"([0-9]{2})-([0-9]{2})", text)
    if match:
        month, day = int(match[1]), int(match[2])
        if (month, day) == _LEAP_DAY:
            day = 28
        if 1 <= month <= 12 and 1 <= day <= DAYS_IN_MONTH[month - 1]:
            index = int(FIRST_DAYS[month - 1]) + day - 1
            return index, index
    raise ValueError(f"{SPAN_FORMS} | Write months in full and dates as MM-DD.")
