"""Days, months and dates as people write them: the one parser of all files and commands.

In: text such as ``June``, ``15 May``, ``05-15``, ``15 May 2027``. Out: months and days, or a
date. Assumes English names; two numbers with a hyphen are a month and a day.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date

from sheltermap.vocabulary import DAYS_IN_MONTH, MONTHS

DAY_FORMS = "a month ('June') or a day ('15 May', '05-15')"

_MONTH_WORD = r"(?P<word>[A-Za-z]{3,9})\.?"
_DAY_NUMBER = r"(?P<day>\d{1,2})(?:st|nd|rd|th|\.)?"
_IN_A_YEAR = (
    re.compile(_MONTH_WORD),
    re.compile(r"(?P<month>\d{1,2})"),
    re.compile(r"(?P<month>\d\d)-(?P<day>\d\d)"),
    re.compile(r"\d{4}-(?P<month>\d\d)-(?P<day>\d\d)"),
    re.compile(rf"{_DAY_NUMBER} (?:of )?{_MONTH_WORD}"),
    re.compile(rf"{_MONTH_WORD} {_DAY_NUMBER}"),
)
_OF_A_YEAR = (
    re.compile(r"(?P<year>\d{4})-(?P<month>\d\d)-(?P<day>\d\d)"),
    re.compile(rf"{_DAY_NUMBER} {_MONTH_WORD},? (?P<year>\d{{4}})"),
    re.compile(rf"{_MONTH_WORD} {_DAY_NUMBER},? (?P<year>\d{{4}})"),
)


def days_meant(text: str) -> tuple[tuple[int, int], tuple[int, int]]:
    """
    Return the first and the last day of the year that a month or a day means.

    Parameters
    ----------
    text : str
        A month by its name, its first three letters or its number; a day as ``15 May``,
        ``May 15``, ``05-15`` or a full date, whose year is left out.

    Returns
    -------
    (int, int), (int, int)
        Month and day, 1 to 12 and 1 to 31; February has 29.

    Raises
    ------
    ValueError
        If it can't be read or no month has such a day; the text is "expected | how to mend".

    Examples
    --------
    >>> days_meant("june"), days_meant("May 15th")
    (((6, 1), (6, 30)), ((5, 15), (5, 15)))
    """
    found = _match(_IN_A_YEAR, text)
    month = None if found is None else _month(found)
    if found is None or month is None:
        raise ValueError(f"{DAY_FORMS} | Write it like one of these.")
    days = DAYS_IN_MONTH[month - 1] + (month == 2)
    if not found.get("day"):
        return (month, 1), (month, days)
    day = int(found["day"])
    if not 1 <= day <= days:
        raise ValueError(f"a day from 1 to {days} in that month | Correct the day.")
    return (month, day), (month, day)


def date_of(text: str) -> date:
    """
    Return the date that a text states.

    Parameters
    ----------
    text : str
        ``2027-05-15``, ``15 May 2027`` or ``May 15, 2027``.

    Returns
    -------
    date

    Raises
    ------
    ValueError
        If it is none of these or no such day; the text is "expected | how to mend".

    Examples
    --------
    >>> date_of("15 May 2027") == date_of("2027-05-15")
    True
    """
    found = _match(_OF_A_YEAR, text)
    month = None if found is None else _month(found)
    try:
        if found is None or month is None:
            raise ValueError("another form")
        return date(int(found["year"]), month, int(found["day"]))
    except ValueError:
        mend = "Write it so, or in words: 15 May 2027."
        raise ValueError(f"a date YYYY-MM-DD | {mend}") from None


def _match(forms: Iterable[re.Pattern[str]], text: str) -> dict[str, str] | None:
    """Return the parts of a text in the first form that it has."""
    plain = " ".join(text.split())
    matches = (form.fullmatch(plain) for form in forms)
    return next((match.groupdict() for match in matches if match), None)


def _month(found: Mapping[str, str]) -> int | None:
    """Return the month of a match, 1 to 12; None where there is none such."""
    word = found.get("word")
    if word is None:
        number = int(found["month"])
        return number if 1 <= number <= 12 else None
    known = [n for n, name in enumerate(MONTHS, start=1) if name.lower().startswith(word.lower())]
    return known[0] if len(known) == 1 else None
