"""The ``night`` contract in words, for a terminal of 80 columns.

In: the contract's dict. Out: lines. Assumes nothing that the dict does not hold.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from itertools import groupby

from sheltermap.hazards.kinds import hazard_kind
from sheltermap.places.camp_height import basis_words
from sheltermap.suitability.grade import STILL_SOUND
from sheltermap.vocabulary import DAYS_IN_MONTH, MONTHS

_WIDTH = 80
_NONE_EXPECTED = 0.05
"""Nights of a month below which none is expected; it would read 0.0. [night] judgement"""

_HEAD = (
    "     low  1 in  bed  rain  sound           what       danger  day",
    "            20 time       nights           spoils     nights heat helps",
    "    degC  degC degC    mm      %                              0-5",
)

_OF_LEGS = "The grade is that of the month's worst day, the share the mean of its nights."


def in_words(result: dict) -> list[str]:
    """
    Return the lines that the ``night`` command prints.

    Parameters
    ----------
    result : dict
        From ``point.twelve_months`` or ``leg_night.leg_answer``.

    Returns
    -------
    list of str
        None longer than 80 columns.
    """
    months = result["months"]
    said = [
        *_hot_hours(months),
        *_severities(months),
        *result["cautions"],
        *(f"{one['strength'].capitalize()}: {one['words']}" for one in result["signs"]),
        *_limits(result),
        result["caution"],
    ]
    return [
        *_wrapped(f"{_where(result)}, {_height(result)}, kit: {result['kit']}"),
        "",
        *_HEAD,
        *map(_row, months),
        "1 in 20: the low that one night in 20 goes below. ~: errors of the climate data",
        "could tip the grade. Danger nights: nights of the month that could injure.",
        *([_OF_LEGS] if result["leg"] else []),
        "",
        *(line for sentence in said for line in _wrapped(sentence)),
    ]


def _wrapped(text: str) -> list[str]:
    """Return a sentence as lines; those after the first are set in."""
    return textwrap.wrap(text, _WIDTH, subsequent_indent="  ", break_on_hyphens=False)


def _where(result: dict) -> str:
    """Return the place of an answer."""
    place = f"{result['latitude']:g}, {result['longitude']:g}"
    name = result["leg"] or result["place"]
    return f"{name} ({place})" if name else place


def _height(result: dict) -> str:
    """Return the height of the camp and what it rests on."""
    height = f"{_shown(result['elevation_m'])} m"
    basis = basis_words(result["elevation_basis"], result["elevation_error_m"])
    return f"{height} ({basis})" if basis else height


def _row(month: dict) -> str:
    """Return one month of the table."""
    share = month["sound_share"]
    word = "no data" if share is None else month["grade"] + "~" * month["close"]
    heat = month["heat_by_day"]
    return (
        f"{MONTHS[month['month'] - 1][:3]:3}{_shown(month['night_low_c']):>5}"
        f"{_shown(month['low_one_in_20_c']):>6}{_shown(month['bedtime_temperature_c']):>5}"
        f"{_shown(month['rain_mm']):>6}{'-' if share is None else f'{100 * share:.0f}':>7} "
        f"{word:9} {month['limiting_factor'] or '-':12}{_dangers(month):>5}"
        f"{'-' if heat is None else heat:>5}  {month['remedy'] or '-'}"
    )


def _dangers(month: dict) -> str:
    """Return the dangerous nights of a month; a dash where it has no data."""
    if month["dangerous"] is None:
        return "-"
    nights = month["dangerous"] * DAYS_IN_MONTH[month["month"] - 1]
    return "0" if nights < _NONE_EXPECTED else f"{nights:.1f}"


def _shown(value: float | None) -> str:
    """Return a number for a table; a dash for a missing one."""
    return "-" if value is None else str(round(value))


def _hot_hours(months: Sequence[dict]) -> Iterator[str]:
    """Yield when the sun is too hot for usual work, rounded outwards to hours, if it ever is."""
    told = []
    for hours, run in groupby(months, _hours):
        names = [MONTHS[month["month"] - 1] for month in run]
        if hours:
            told.append(f"{' to '.join(dict.fromkeys((names[0], names[-1])))} {hours}")
    if told:
        yield f"Too hot in the sun for work as usual, hours by the sun: {', '.join(told)}."


def _hours(month: dict) -> str:
    """Return the hot hours of a month; empty where there are none."""
    start, end = month["hot_from_h"], month["hot_to_h"]
    return "" if start is None else f"{math.floor(start)} to {math.ceil(end)} h"


def _severities(months: Sequence[dict]) -> list[str]:
    """Return a line for each month whose mean night lies beyond a limit."""
    return [
        f"{MONTHS[month['month'] - 1]}: an average dry night {month['severity']}."
        for month in months
        if month["severity"] and not month["severity"].startswith(STILL_SOUND)
    ]


def _limits(result: dict) -> Iterator[str]:
    """Yield what the answer leaves out or estimates."""
    computed, kinds = (
        "; ".join(hazard_kind(kind).title.lower() for kind in result[name])
        for name in ("computed", "not_checked")
    )
    if computed:
        yield f"Hazards told by the signs alone, observed by nobody: {computed}."
    if kinds:
        yield f"Hazards: not checked, which is not the same as none: {kinds}. Ask locally."
    if result["not_assessed"]:
        yield f"Not assessed: {', '.join(result['not_assessed'])}."
    estimated = ", ".join(result["climatology"]["estimated"])
    yield f"Estimated inputs: {estimated}." if estimated else "No input was estimated."
