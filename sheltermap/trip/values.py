"""Kinds of values a trip file holds: clock times, yearly dates, spans, stays.

In: raw values of a TOML file. Out: checked values, or a ValueError "expected | how to
mend" that `sheltermap.files` turns into a Problem.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, time
from functools import partial
from typing import Annotated, Any, TypeAlias

import numpy as np
from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from sheltermap import files
from sheltermap.daywords import DAY_FORMS, date_of, days_meant
from sheltermap.files import Record, Written, lines, one_line
from sheltermap.hazards.shapes import HIGHEST_LATITUDE
from sheltermap.shelters.kit import BEDDING_WORDS, Bedding
from sheltermap.slips import other_unit
from sheltermap.spans import days_between, ends_meant
from sheltermap.vocabulary import DAYS_IN_MONTH

Find: TypeAlias = Callable[[str], tuple[float, float]]
"""Returns the latitude and longitude of a place by its name, or raises ValueError with
"expected | how to mend". [degrees]"""

_FIRST_YEAR, _LAST_YEAR = 1900, 2199  # judgement: beyond them a year is a slip of the pen.

_HIGHEST_LONGITUDE = 180

_MOST_WIND = 20
"""judgement: windier months are known of a few capes and ice shores. [m s-1]"""

_LARGEST_FIGURE = 1e9  # judgement: beyond it a mass, price or distance is a slip of the pen.


def _figure(value: float) -> float:
    """Return a figure that sums and charts can hold."""
    if value > _LARGEST_FIGURE:
        raise ValueError(f"at most {_LARGEST_FIGURE:,.0f} | Correct the figure.")
    return value


Positive = Annotated[files.Positive, AfterValidator(_figure)]
NotNegative = Annotated[files.NotNegative, AfterValidator(_figure)]


def _point(value: Any, info: ValidationInfo) -> Any:
    """Return a latitude and a longitude, checked together: one place is one mistake."""
    if isinstance(value, str):
        value = position(value, (info.context or {}).get("find"))
    numbers = isinstance(value, list | tuple) and [
        one for one in value if isinstance(one, int | float) and not isinstance(one, bool)
    ]
    if not numbers or len(numbers) != 2 or len(value) != 2:
        raise ValueError(
            "two numbers [latitude, longitude] | Write degrees with a point, as [44.60, 15.60]."
        )
    if not (abs(numbers[0]) <= HIGHEST_LATITUDE and abs(numbers[1]) <= _HIGHEST_LONGITUDE):
        raise ValueError(
            f"[latitude, longitude], at most {HIGHEST_LATITUDE} and {_HIGHEST_LONGITUDE} | "
            "Swap or correct the numbers."
        )
    return value


def _positions(value: Any) -> Any:
    """Return a list of positions; two numbers alone lack their inner brackets."""
    pair = isinstance(value, list) and len(value) == 2
    if pair and all(isinstance(one, int | float) and not isinstance(one, bool) for one in value):
        raise ValueError(
            "a list of [latitude, longitude] | Inner brackets are missing: points = "
            f"[[{value[0]}, {value[1]}]]."
        )
    return value


def position(text: str, find: Find | None) -> Any:
    """
    Return the numbers of a position in quotes, or where a named place lies.

    Parameters
    ----------
    text : str
    find : callable or None
        Where places lie that are named.

    Returns
    -------
    list of float or str
        [degrees] The text itself where it is a name and nobody knows names.
    """
    parts = text.split(",")
    try:
        return [float(part) for part in parts] if len(parts) == 2 else _found(text, find)
    except ValueError:
        return _found(text, find)


def _found(name: str, find: Find | None) -> Any:
    """Return where a named place lies; the name itself where nobody knows names."""
    return name if find is None else list(find(one_line(name)))


def _day(value: Any) -> date:
    """Return a date of the years that journeys are planned in."""
    if isinstance(value, str):
        value = date_of(value)
    if not isinstance(value, date) or isinstance(value, datetime):
        raise ValueError("a date YYYY-MM-DD without a time | Write for example 2027-05-15.")
    if not _FIRST_YEAR <= value.year <= _LAST_YEAR:
        raise ValueError(f"a year from {_FIRST_YEAR} to {_LAST_YEAR} | Correct the year.")
    return value


def _clock(value: Any) -> float:
    """Return "22:30" as hours."""
    if isinstance(value, time):  # TOML has times of its own
        return value.hour + value.minute / 60
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", value) if isinstance(value, str) else None
    if match is None:
        raise ValueError('a clock time like "22:00" | Write hours and minutes in quotes.')
    return int(match[1]) + int(match[2]) / 60


def clock_words(hours: float) -> str:
    """
    Return a clock time.

    Parameters
    ----------
    hours : float
        [h, 0 to 24]

    Returns
    -------
    str

    Examples
    --------
    >>> clock_words(22.5)
    '22:30'
    """
    return f"{int(hours):02d}:{round(hours % 1 * 60):02d}"


def _yearly(value: Any, last: bool) -> str:
    """Return the first or the last day of the year that a text means, as "MM-DD"."""
    if isinstance(value, date):
        raise ValueError(f"{DAY_FORMS} | Leave out the year: it holds every year.")
    if not isinstance(value, str):
        raise ValueError(f'{DAY_FORMS}, in quotes | Write for example "15 May".')
    month, day = days_meant(value)[last]
    return f"{month:02d}-{day:02d}"


def _yearly_or_date(value: Any, last: bool) -> date | str:
    """Return a full date as it is, or a day of every year as "MM-DD"."""
    if isinstance(value, date):
        return _day(value)
    if isinstance(value, str) and re.search(r"\d{4}", value):
        return _day(date_of(value))
    return _yearly(value, last)


def _bedding(value: Any) -> Bedding:
    """Return bedding by its word, or by the temperature on its label. [degC]"""
    if isinstance(value, Bedding):
        return value
    if isinstance(value, str) and value in BEDDING_WORDS:
        return Bedding(word=value)
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not -60 <= value <= 25:
        words = ", ".join(repr(word) for word in BEDDING_WORDS)
        mend = other_unit("bedding", value, -60, 25) or "Use the label's comfort value."
        raise ValueError(f"{words} or a comfort temperature from -60 to 25 | {mend}")
    return Bedding(comfort_c=float(value))


Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(one_line)]
Label = Annotated[str, Field(min_length=1, max_length=12), AfterValidator(one_line)]
Note = Annotated[str, Field(max_length=20_000), AfterValidator(lines)]
Day = Annotated[date, BeforeValidator(_day), Written("date")]
ClockTime = Annotated[
    float,
    BeforeValidator(_clock),
    Written('clock time "HH:MM"', lambda hours: f'"{clock_words(hours)}"'),
]
WrittenBedding = Annotated[
    Bedding, BeforeValidator(_bedding), Written("a word or a number, see the meaning", table=False)
]
Point = Annotated[
    tuple[float, float], BeforeValidator(_point), Written("[latitude, longitude] or name")
]
_OF_EVERY_YEAR = 'month or day of every year, as "June" or "15 May"'
_IN_THE_YEAR = Written(_OF_EVERY_YEAR)
_ON_A_DATE = Written(f"date, or {_OF_EVERY_YEAR}")

Points = Annotated[
    tuple[Point, ...], BeforeValidator(_positions), Field(min_length=1, max_length=1000)
]
FirstDay = Annotated[str, BeforeValidator(partial(_yearly, last=False)), _IN_THE_YEAR]
LastDay = Annotated[str, BeforeValidator(partial(_yearly, last=True)), _IN_THE_YEAR]
FirstOrDate = Annotated[
    date | str, BeforeValidator(partial(_yearly_or_date, last=False)), _ON_A_DATE
]
LastOrDate = Annotated[
    date | str, BeforeValidator(partial(_yearly_or_date, last=True)), _ON_A_DATE
]


class Span(Record):
    """From one day to another, both included; every year, or once with full dates."""

    first: FirstOrDate = Field(description="first day: a date, or yearly")
    last: LastOrDate = Field(
        description="last day, in the same form; a yearly one may lie past New Year"
    )
    margin_days: int = Field(
        0,
        ge=0,
        le=90,
        description="days after a closure still kept free, for a late year; not for permits",
    )
    note: Note = Field("", description="why")

    @model_validator(mode="before")
    @classmethod
    def _in_words(cls, written: Any) -> Any:
        if not isinstance(written, str):
            return written
        first, last = ends_meant(written)
        return {"first": first, "last": last}

    @field_validator("last")
    @classmethod
    def _after_first(cls, last: date | str, others: ValidationInfo) -> date | str:
        first = others.data.get("first", last)
        if isinstance(first, str) != isinstance(last, str):
            raise ValueError(
                "`first` and `last` of one form | Give both with a year, or both without."
            )
        if isinstance(last, date) and last < first:
            raise ValueError(f"a day from `first`, {first}, on | Swap the two dates.")
        return last

    @property
    def yearly(self) -> bool:
        """Return whether it holds every year."""
        return isinstance(self.first, str)

    @property
    def dates(self) -> tuple[date, date] | None:
        """Return its first and last date where it holds once; None where it holds every year."""
        if isinstance(self.first, date) and isinstance(self.last, date):
            return self.first, self.last
        return None

    def days(self) -> np.ndarray:
        """Return which of the 365 days of a year it holds, its margin left out."""
        return days_between(self.first, self.last)


_MOST_NIGHTS = 365  # judgement: who stays a year in one leg moves house.


def _one_listed(value: Any) -> Any:
    """Return one span in words as a list of it."""
    return [value] if isinstance(value, str) else value


Spans = Annotated[
    tuple[Span, ...],
    BeforeValidator(_one_listed),
    Written('list of tables, or in words as "November to April"'),
]


class Nights(Record):
    """How long to stay: at least, best, at most."""

    least: int = Field(ge=1, le=_MOST_NIGHTS, description="fewest")
    preferred: int = Field(ge=1, le=_MOST_NIGHTS, description="best")
    most: int = Field(ge=1, le=_MOST_NIGHTS, description="most")


_STAY_KEYS = tuple(Nights.model_fields)
_STAY_FORMS = (
    "one whole number or three: [least, preferred, most] | Write for example 12 or [8, 12, 20]."
)


def _three_nights(value: Any) -> Any:
    """Return ``12`` and ``[8, 12, 20]`` as a table of nights."""
    if isinstance(value, Nights):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        # One number is one mistake, not three.
        if not 1 <= value <= _MOST_NIGHTS:
            raise ValueError(f"from 1 to {_MOST_NIGHTS} nights | Correct the number.")
        value = [value] * 3
    if isinstance(value, list) and len(value) == 3:
        value = dict(zip(_STAY_KEYS, value, strict=True))
    if not isinstance(value, dict):
        raise ValueError(_STAY_FORMS)
    counts: list[Any] = [value.get(key) for key in _STAY_KEYS]
    if all(isinstance(count, int) for count in counts) and counts != sorted(counts):
        raise ValueError("least, preferred and most nights in rising order | Reorder them.")
    return value


WrittenNights = Annotated[
    Nights, BeforeValidator(_three_nights), Written("whole number or list of three")
]


def _twelve_winds(value: Any) -> Any:
    """Return ``5`` and twelve numbers as the mean wind of each month."""
    each = list(value) if isinstance(value, list | tuple) else [value] * len(DAYS_IN_MONTH)
    known = [one for one in each if isinstance(one, int | float) and not isinstance(one, bool)]
    if len(known) != len(DAYS_IN_MONTH) or not all(0 <= one <= _MOST_WIND for one in known):
        raise ValueError(
            f"a mean wind of 0 to {_MOST_WIND} m/s, or twelve of them, January first | "
            "Give the mean of day and night, not of gusts; 18 km/h or 10 knots are 5 m/s."
        )
    return tuple(map(float, known))


WrittenWind = Annotated[
    tuple[float, ...], BeforeValidator(_twelve_winds), Written("number or list of twelve")
]
