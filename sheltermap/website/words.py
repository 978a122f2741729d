"""The pages' sentences: what the plan says first, and hazards and spans in plain words.

In: a Report and its parts. Out: plain text, not yet escaped (the templates escape it).
Assumes nothing that the Report does not state; sums over legs are the only arithmetic.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from sheltermap.hazards.kinds import hazard_kind
from sheltermap.places.place import Place
from sheltermap.report.report import DatedPlan, PlannedLeg, Report
from sheltermap.spans import days_in_words
from sheltermap.vocabulary import (
    FACTORS,
    MISSING_FACTOR,
    MONTHS,
    Grade,
    Level,
    lowered,
)

FACTOR_WORDS = {
    "cold": "cold",
    "heat": "heat",
    "wet": "rain",
    "wind": "wind",
    "condensation": "condensation",
}
"""How sentences call what spoils a night."""

FACTOR_REASONS = {
    "cold": "the nights are colder than the bedding holds",
    "heat": "the evenings are too hot to fall asleep",
    "wet": "rain gets through the shelter",
    "wind": "wind is more than the shelter withstands",
    "condensation": "moisture collects inside the shelter",
}
"""Why, in one clause."""


VARIABLE_WORDS = {
    "air_temperature": "mean temperature",
    "air_temperature_min": "daily lows",
    "air_temperature_max": "daily highs",
    "rainfall": "rain",
    "wet_days": "wet days",
    "vapour_pressure": "humidity",
    "night_low_spread": "how much nights differ",
    "wind_speed": "wind",
}
"""How sentences call what the climatology holds."""

LEVEL_WORDS = tuple(level.word for level in Level)


def way_words(plan: DatedPlan) -> str:
    """
    Return which way round a plan goes, by the names of its ends.

    Parameters
    ----------
    plan : DatedPlan

    Returns
    -------
    str
    """
    first, last = plan.legs[0].name, plan.legs[-1].name
    return f"to {first}" if len(plan.legs) == 1 else f"from {first} to {last}"


def day_and_month(day: date) -> str:
    """
    Return a date without its year.

    Examples
    --------
    >>> day_and_month(date(2027, 4, 1))
    '1 April'
    """
    return f"{day.day} {MONTHS[day.month - 1]}"


def full_date(day: date) -> str:
    """
    Return a date as the pages write it.

    Examples
    --------
    >>> full_date(date(2027, 4, 1))
    '1 April 2027'
    """
    return f"{day_and_month(day)} {day.year}"


def short_date(day: date) -> str:
    """
    Return a date without its year, as narrow columns write it.

    Examples
    --------
    >>> short_date(date(2027, 4, 1))
    '1 Apr'
    """
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def first_camp(leg: PlannedLeg) -> str:
    """
    Return when the first camp of a leg is reached, where its first nights are on the way there.

    Parameters
    ----------
    leg : PlannedLeg

    Returns
    -------
    str
        As ", first camp on 8 May", after the leg's dates; empty where they begin in camp.
    """
    if leg.camp_reached == leg.arrive:
        return ""
    return f", first camp on {day_and_month(leg.camp_reached)}"


def months_visited(report: Report, place: str) -> str:
    """
    Return the months of a place's nights, stay by stay.

    Parameters
    ----------
    report : Report
    place : str
        Its identity.

    Returns
    -------
    str
        As "Jul", "Jul–Aug" or "Mar, Oct"; empty where the plan sleeps there on no night.
    """
    spans = []
    for leg in report.best.legs if report.best else ():
        if leg.place == place and leg.nights:
            first, last = leg.arrive.month, (leg.leave - timedelta(days=1)).month
            names = dict.fromkeys(MONTHS[month - 1][:3] for month in (first, last))
            spans.append("–".join(names))
    return ", ".join(dict.fromkeys(spans))


def grade_word(grade: int) -> str:
    """
    Return a grade in words; -1 is "unknown".

    Examples
    --------
    >>> grade_word(Grade.UNFIT), grade_word(-1)
    ('unfit', 'unknown')
    """
    return "unknown" if grade < 0 else Grade(int(grade)).word


def factor_word(code: int) -> str:
    """
    Return a stored limiting factor in words.

    Examples
    --------
    >>> factor_word(0), factor_word(-1), factor_word(-9)
    ('cold', 'nothing', 'unknown')
    """
    if code == MISSING_FACTOR:
        return "unknown"
    return "nothing" if code < 0 else FACTOR_WORDS[FACTORS[int(code)]]


def named_factor(name: str | None) -> str:
    """
    Return a factor's name as sentences call it; other words stay.

    Examples
    --------
    >>> named_factor("wet"), named_factor("none")
    ('rain', 'nothing')
    """
    if not name or name == "none":
        return "nothing"
    return FACTOR_WORDS.get(name, name)


def level_sentences(level_by_day: npt.ArrayLike) -> list[tuple[str, str]]:
    """
    Return a hazard's levels and when they hold, the worst first.

    Parameters
    ----------
    level_by_day : int array, shape (365,)
        Stored codes, 0 for none.

    Returns
    -------
    list of (level, spans)

    Examples
    --------
    >>> level_sentences([4] * 31 + [2] * 28 + [0] * 306)
    [('closure', 'in January'), ('serious', 'in February')]
    """
    levels = np.asarray(level_by_day)
    return [
        (level.word, days_in_words(levels == level))
        for level in reversed(Level)
        if level and (levels == level).any()
    ]


def level_phrase(level: int) -> str:
    """
    Return a hazard level as a table names it.

    Parameters
    ----------
    level : int
        Stored code, 1 or more.

    Examples
    --------
    >>> level_phrase(2), level_phrase(4)
    ('serious hazard', 'closure')
    """
    word = LEVEL_WORDS[level]
    return word if level == Level.CLOSURE else f"{word} hazard"


def kind_title(kind: str) -> str:
    """
    Return a hazard kind as people read it, inside a sentence.

    Examples
    --------
    >>> kind_title("flood")
    'flood'
    """
    return lowered(hazard_kind(kind).title)


def place_of(report: Report, identity: str) -> Place:
    """
    Return the place with an id.

    Raises
    ------
    KeyError
        If the report has no such place.
    """
    for place in report.places:
        if place.id == identity:
            return place
    raise KeyError(identity)
