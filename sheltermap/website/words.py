"""The pages' sentences: what the plan says first, and hazards and spans in plain words.

In: a Report and its parts. Out: plain text, not yet escaped (the templates escape it).
Assumes nothing that the Report does not state; sums over legs are the only arithmetic.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from sheltermap.hazards.kinds import hazard_kind
from sheltermap.journey.report import DatedPlan, Place, PlannedLeg, Report
from sheltermap.suitability.remedy import ROOM, Remedy
from sheltermap.vocabulary import (
    DAYS_IN_MONTH,
    FACTORS,
    LEVELS,
    MISSING_FACTOR,
    MONTHS,
    Grade,
)
from sheltermap.website.figures import missing, nights

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
    "wind": "wind is more than the shelter stands",
    "condensation": "moisture collects inside the shelter",
}
"""Why, in one clause."""

_UNCOUNTED = ("warm-bedding", "cot")  # remedies that take no article

LEVEL_WORDS = ("none", *LEVELS)

_SERIOUS = LEVELS.index("serious") + 1
_FORBIDDING = (LEVELS.index("closure") + 1, LEVELS.index("prohibitive") + 1)
_MONTH_STARTS = tuple(int(sum(DAYS_IN_MONTH[:month])) for month in range(12))


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


def yearly_date(day_of_year: int) -> str:
    """
    Return a day of the 365-day year as words.

    Parameters
    ----------
    day_of_year : int
        Position from 0.

    Examples
    --------
    >>> yearly_date(0), yearly_date(59), yearly_date(364)
    ('1 January', '1 March', '31 December')
    """
    month = max(m for m in range(12) if _MONTH_STARTS[m] <= day_of_year)
    return f"{day_of_year - _MONTH_STARTS[month] + 1} {MONTHS[month]}"


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
    return slice(_MONTH_STARTS[month], _MONTH_STARTS[month] + DAYS_IN_MONTH[month])


def listed(items, last: str = "and") -> str:
    """
    Return items joined as a sentence does it.

    Examples
    --------
    >>> listed(["cold"]), listed(["cold", "heat", "rain"])
    ('cold', 'cold, heat and rain')
    """
    items = [str(item) for item in items]
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def spans(days) -> list[str]:
    """
    Return when a yearly condition holds, as spans of dates that may cross New Year.

    Parameters
    ----------
    days : bool array, shape (365,)
        Where it holds.

    Returns
    -------
    list of str

    Examples
    --------
    >>> closed = np.zeros(365, bool)
    >>> closed[:120] = closed[334:] = True
    >>> spans(closed), spans(np.ones(365, bool)), spans(np.zeros(365, bool))
    (['1 December to 30 April'], ['all year'], [])
    """
    days = np.asarray(days, dtype=bool)
    if days.all():
        return ["all year"]
    if not days.any():
        return []
    starts = np.flatnonzero(days & ~np.roll(days, 1))
    ends = np.flatnonzero(days & ~np.roll(days, -1))
    if ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    return [
        yearly_date(int(a)) if a == b else f"{yearly_date(int(a))} to {yearly_date(int(b))}"
        for a, b in zip(starts, ends, strict=True)
    ]


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
    return FACTOR_WORDS.get(name, "nothing" if name in ("none", "", None) else str(name))


def level_sentences(finding) -> list[tuple[str, str]]:
    """
    Return a hazard's levels and when they hold, the worst first.

    Parameters
    ----------
    finding : HazardFinding

    Returns
    -------
    list of (level, spans)
    """
    levels = np.asarray(finding.level_by_day)
    return [
        (LEVEL_WORDS[code], listed(spans(levels == code)))
        for code in range(len(LEVELS), 0, -1)
        if (levels == code).any()
    ]


def nights_by_factor(plan: DatedPlan) -> dict[str, float | None]:
    """
    Return the plan's nights spoiled by each factor; None where no leg assessed it.

    Parameters
    ----------
    plan : DatedPlan

    Returns
    -------
    dict of str to float or None
    """
    totals: dict[str, float | None] = {}
    for factor in FACTORS:
        known = [
            leg.nights_by_factor.get(factor)
            for leg in plan.legs
            if not missing(leg.nights_by_factor.get(factor))
        ]
        totals[factor] = sum(known) if known else None
    return totals


def main_cause(plan: DatedPlan) -> tuple[str, str, str] | None:
    """
    Return factor, leg and month that cost most rough nights, or None if nothing does.

    Parameters
    ----------
    plan : DatedPlan

    Returns
    -------
    tuple of (factor, leg name, month name), or None
    """
    totals = {f: n for f, n in nights_by_factor(plan).items() if not missing(n) and n > 0}
    if not totals:
        return None
    factor = max(totals, key=totals.get)
    leg = max(plan.legs, key=lambda one: one.nights_by_factor.get(factor) or 0)
    middle = leg.arrive + timedelta(days=(leg.leave - leg.arrive).days // 2)
    return factor, leg.name, MONTHS[middle.month - 1]


def headline(report: Report, public: bool) -> tuple[str, str]:
    """
    Return the first sentence of the Plan page.

    Parameters
    ----------
    report : Report
    public : bool
        Whether dates and prices must not be told.

    Returns
    -------
    tuple of two str
        The sentence in two parts: how many nights, then where, why and what helps.
    """
    plan = report.best
    if plan is None:
        return "No plan fits", ": " + listed(report.infeasible, "and") + "."
    start = (
        "On this journey about " if public else f"Leave around {full_date(plan.depart)}: about "
    )
    opening = start + f"{round(plan.rough_nights)} of {nights(plan.nights)} will be rough"
    text = ""
    cause = main_cause(plan)
    if cause is not None and plan.rough_nights > 0:
        factor, place, month = cause
        when = "" if public else f" in {month}"
        text = (
            f", most of them from {FACTOR_WORDS[factor]}, above all in {place}{when}, "
            f"because {FACTOR_REASONS[factor]}"
        )
    return opening, text + "; " + remedy_clause(report, public) + "."


def remedy_clause(report: Report, public: bool) -> str:
    """
    Return the clause on the cheapest remedy.

    Parameters
    ----------
    report : Report
    public : bool
        Whether its price must not be told.

    Returns
    -------
    str
    """
    remedy = report.remedy
    if remedy is None:
        return "no single remedy helps noticeably"
    text = (
        f"the cheapest remedy is {remedy_title(remedy)}, "
        f"which saves about {nights(remedy.nights_saved)}"
    )
    if not public and not missing(remedy.price):
        text += f" for about {round(remedy.price)} {report.trip.money.currency}"
    return text


def remedy_title(remedy: Remedy) -> str:
    """
    Return a remedy as it stands inside a sentence.

    Parameters
    ----------
    remedy : Remedy

    Returns
    -------
    str

    Examples
    --------
    >>> remedy_title(Remedy("mat", "Insulating mat", 60.0, 1.0, 3.0, True))
    'an insulating mat'
    >>> remedy_title(Remedy("room", "A room", 30.0, 0.0, 3.0, True))
    'a room on those nights'
    """
    if remedy.id == ROOM:
        return "a room on those nights"
    title = remedy.title[:1].lower() + remedy.title[1:]
    if remedy.id in _UNCOUNTED:
        return title
    return ("an " if title[:1] in "aeiou" else "a ") + title


def warnings(report: Report, public: bool) -> list[tuple[str, str]]:
    """
    Return what stands in the opening beside the first sentence: danger before comfort.

    Parameters
    ----------
    report : Report
    public : bool
        Whether leg names must give way to place names, and the load stays out.

    Returns
    -------
    list of (label, sentence)
        Labels: Danger, Serious, Dangerous nights, Load, Not checked, Not assessed.
    """
    plan, rows = report.best, []
    if plan is not None:
        for label, codes in (("Danger", _FORBIDDING), ("Serious", (_SERIOUS,))):
            named = [
                f"{_leg_name(report, leg, public)} ({listed(titles)})"
                for leg in plan.legs
                if (titles := _titles(leg, codes))
            ]
            if named:
                rows.append((label, "; ".join(named) + "."))
        dangerous = plan.dangerous_nights
        if missing(dangerous):
            sentence = "how many is unknown."
        elif dangerous < 0.05:
            sentence = "none expected (under 1 in 20)."
        else:
            sentence = f"about {dangerous:.1f}, counted apart from rough ones."
        rows.append(("Dangerous nights", sentence))
        if not public and report.comparison is not None and report.comparison.load_sentence:
            rows.append(("Load", report.comparison.load_sentence))
        elif not public and report.load is not None and report.load.status == "over":
            rows.append(("Load", report.load.sentence))
    if report.not_checked:
        kinds = [kind_title(kind) for kind in report.not_checked]
        rows.append(("Not checked", f"{listed(kinds)}, on one leg at least: ask locally."))
    if report.not_assessed:
        words = [FACTOR_WORDS.get(factor, factor) for factor in report.not_assessed]
        rows.append(("Not assessed", f"{listed(words)}, so left out of every figure."))
    return rows


def kind_title(kind: str) -> str:
    """
    Return a hazard kind as people read it, inside a sentence.

    Examples
    --------
    >>> kind_title("flood")
    'flood'
    """
    title = hazard_kind(kind).title
    return title[:1].lower() + title[1:]


def _titles(leg: PlannedLeg, codes) -> list[str]:
    """Return the hazards of a leg that have one of the levels, in words, each once."""
    found = [
        f"{hazard.title[:1].lower()}{hazard.title[1:]}"
        + (f", {LEVEL_WORDS[hazard.level]}" if hazard.level != _SERIOUS else "")
        for hazard in leg.hazards
        if hazard.level in codes and not hazard.part
    ]
    return list(dict.fromkeys(found))


def _leg_name(report: Report, leg: PlannedLeg, public: bool) -> str:
    """Return how a leg is called in this copy."""
    return place_of(report, leg.place).name if public else leg.name


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
