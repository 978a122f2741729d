"""Spans of the year as people write them, and the days they hold.

In: words such as ``June``, ``June to September``, ``11-01..03-15`` or ``all year``.
Out: which of the 365 days of a climatological year they hold. A span may cross New Year.
Assumes no leap day: 29 February reads as 28 February.
"""

from __future__ import annotations

import re
from datetime import date, timedelta

import numpy as np

from sheltermap.dates import FIRST_DAYS, dated, day_of_year
from sheltermap.daywords import DAY_FORMS, days_meant
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, MONTHS, Flags, listed

ALL_YEAR = "all year"
SPAN_FORMS = (
    "a month ('June'), a span ('June to August', '15 June to 30 September', '06-15..09-30') or "
    "'all year'"
)

_ALWAYS = (ALL_YEAR, "all the year", "year-round", "always")
_BETWEEN = re.compile(r"\s*(?:\.\.+|\u2026|[\u2013\u2014]|\b(?:to|until|till|through)\b)\s*")
_BETWEEN_NAMES = re.compile(r"(?<=[A-Za-z.])\s*-\s*(?=\d*\s*[A-Za-z])")
_MEND = "Write it like one of these."


def span_days(span: str, margin: int = 0, *, leap: bool = False) -> Flags:
    """
    Return the days that a span holds, both ends included.

    Parameters
    ----------
    span : str
        As in ``SPAN_FORMS``.
    margin : int
    leap : bool
        Both as `days_between` takes them.

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
    return days_between(*ends_meant(span), margin, leap=leap)


def ends_meant(span: str) -> tuple[str, str]:
    """
    Return the first and the last month or day of a span, as written.

    Parameters
    ----------
    span : str
        As `span_days` takes it.

    Returns
    -------
    str, str
        The same twice where the span is one month or day.

    Examples
    --------
    >>> ends_meant("from June to August"), ends_meant("Jan-Mar"), ends_meant("15 May")
    (('June', 'August'), ('Jan', 'Mar'), ('15 May', '15 May'))
    """
    plain = span.strip()
    if plain.lower() in _ALWAYS:
        return MONTHS[0], MONTHS[-1]
    plain = re.sub(r"^(?:from|in)\s+", "", plain, flags=re.IGNORECASE)
    parts = _BETWEEN.split(plain) if _BETWEEN.search(plain) else _BETWEEN_NAMES.split(plain)
    if len(parts) > 2:
        raise ValueError(f"{SPAN_FORMS} | {_MEND}")
    return parts[0], parts[-1]


def days_between(
    first: date | str, last: date | str, margin: int = 0, *, leap: bool = False
) -> np.ndarray:
    """
    Return the days of the year from one day to another, both included.

    Parameters
    ----------
    first, last : date or str
        Two dates, or two months or yearly days, as `daywords.days_meant` takes them, that may lie
        on both sides of New Year.
    margin : int
        Days to add at the end: roads and parks open late in some years. [day, 0 to 365]
    leap : bool
        Whether the margin of a yearly span counts 29 February where it reaches March, as in
        leap years; two dates count the days of their own years.

    Returns
    -------
    numpy.ndarray of bool, shape (365,)
        All days where the first lies a year or more before the last.

    Examples
    --------
    >>> int(days_between("12-30", "01-02").sum())
    4
    >>> int(days_between(date(2027, 12, 30), date(2028, 1, 2)).sum())
    4
    >>> int(days_between("12-01", "12-31", 10)[:10].sum())
    10
    """
    if not (isinstance(first, date) and isinstance(last, date)):
        start, end = _bounds(str(first))[0], _bounds(str(last))[1]
        first, last = _in_a_year(start, end, margin, leap=leap)
    span = last - first + timedelta(days=margin)
    if span.days >= DAYS_IN_YEAR:
        return np.ones(DAYS_IN_YEAR, dtype=bool)
    # The calendar repeats after 400 years: here the last day of any date stays a date.
    begin = first.replace(year=2000 + first.year % 400)
    return _between(day_of_year(begin), day_of_year(begin + span))


def _in_a_year(
    start: tuple[int, int], end: tuple[int, int], margin: int, *, leap: bool
) -> tuple[date, date]:
    """Return a yearly span in dates, such that its margin ends in a common or in a leap year."""
    year = 2028 if leap else 2026
    last = dated(year, *end)
    if (last + timedelta(days=margin)).year > year:
        last = dated(year - 1, *end)
    return dated(last.year - (start > end), *start), last


def _between(start: int, end: int) -> np.ndarray:
    """Return the days from one position in the year to another, round New Year."""
    days = np.arange(DAYS_IN_YEAR)
    if start <= end:
        return (days >= start) & (days <= end)
    return (days >= start) | (days <= end)


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


def _bounds(text: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return the first and last day that a month or a day means."""
    try:
        return days_meant(text)
    except ValueError as error:
        if not f"{error}".startswith(DAY_FORMS):
            raise  # The form is right, and the number is told.
        raise ValueError(f"{SPAN_FORMS} | {_MEND}") from None
