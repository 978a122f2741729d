"""The opening of the Plan page: the answer in a sentence, then what could be dangerous.

In: a Report. Out: plain text, not yet escaped (the templates escape it). Assumes nothing
that the Report does not state; sums over legs are the only arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta

import numpy as np

from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.places.place import Place
from sheltermap.report.remedy_words import remedy_clause
from sheltermap.report.report import DatedPlan, PlannedLeg, Report
from sheltermap.suitability.remedy import Advice
from sheltermap.vocabulary import FACTORS, MONTHS, Level, listed, lowered
from sheltermap.website.figures import is_known, nights, number
from sheltermap.website.words import (
    FACTOR_REASONS,
    FACTOR_WORDS,
    LEVEL_WORDS,
    full_date,
    kind_title,
)

_FEW_KINDS = 5  # judgement: a longer list would push the season chart off a phone
_FORBIDDING = (Level.CLOSURE, Level.PROHIBITIVE)
_SOURCES = {
    "weather": "the weather from night to night",
    "climate": "errors of the climate data",
    "person": "differences between people",
    "years": "differences between years",
}
_MOST = {
    "weather": "the weather from night to night counts most",
    "climate": "errors of the climate data count most",
    "person": "people differ most",
    "years": "years differ most",
}


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
        counts = [leg.nights_by_factor.get(factor) for leg in plan.legs]
        known = [count for count in counts if is_known(count)]
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
    totals = {f: n for f, n in nights_by_factor(plan).items() if is_known(n) and n > 0}
    if not totals:
        return None
    factor = max(totals, key=totals.__getitem__)
    leg = max(plan.legs, key=lambda one: one.nights_by_factor.get(factor) or 0)
    middle = leg.arrive + timedelta(days=(leg.leave - leg.arrive).days // 2)
    return factor, leg.name, MONTHS[middle.month - 1]


def headline(report: Report) -> tuple[str, str]:
    """
    Return the first sentence of the Plan page.

    Parameters
    ----------
    report : Report

    Returns
    -------
    tuple of two str
        The sentence in two parts: how many nights, then where, why and what helps.
    """
    plan = report.best
    if plan is None:
        return "No plan fits", f": {report.infeasible[0].removesuffix('.')}."
    start = f"Leave around {full_date(plan.depart)}: about "
    opening = start + f"{round(plan.rough_nights)} of {nights(plan.nights)} will be rough"
    text = ""
    cause = main_cause(plan)
    if cause is not None and plan.rough_nights > 0:
        factor, place, month = cause
        text = (
            f", most of them from {FACTOR_WORDS[factor]}, above all in {place} in {month}, "
            f"because {FACTOR_REASONS[factor]}"
        )
    helps = remedy_clause(Advice(report.remedy, report.little), report.trip.money.currency)
    return opening, f"{text}; {helps}."


def range_reasons(plan: DatedPlan) -> str:
    """
    Return why the range of rough nights is wide, the largest part first.

    Parameters
    ----------
    plan : DatedPlan

    Returns
    -------
    str
        Empty where a part is unknown.
    """
    if not all(map(is_known, plan.rough_parts.values())):
        return ""
    first, *others = plan.rough_parts
    reasons = [_MOST[first], *(_SOURCES[source] for source in others)]
    return f"Why the range is wide: {', then '.join(reasons)}."


def range_parts(plan: DatedPlan) -> str:
    """
    Return what the range of rough nights is made of, the largest part first.

    Parameters
    ----------
    plan : DatedPlan

    Returns
    -------
    str
        In nights of standard deviation; empty where a part is unknown.
    """
    if not all(map(is_known, plan.rough_parts.values())):
        return ""
    return listed(
        f"{_SOURCES[source]} {number(spread, 1)}" for source, spread in plan.rough_parts.items()
    )


_UNBARRED = (
    "the trip file sets most_danger = 1, so dates are planned however likely their nights are to "
    "be dangerous."
)


def warnings(report: Report) -> list[tuple[str, str]]:
    """
    Return what stands in the opening beside the first sentence: danger before comfort.

    Parameters
    ----------
    report : Report
        Whether leg names must give way to place names, and the load stays out.

    Returns
    -------
    list of (label, sentence)
        Labels: Danger, Serious, Dangerous nights, No bar on danger, Overload (of the planned
        kit), Load (of another), Not checked, Not assessed.
    """
    return [
        *(_of_the_plan(report, report.best) if report.best is not None else ()),
        *([("Not checked", _unchecked(report.not_checked))] if report.not_checked else ()),
        *_of_the_data(report),
    ]


def _of_the_plan(report: Report, plan: DatedPlan) -> Iterator[tuple[str, str]]:
    """Yield the dangers of the planned legs and nights, and a load that is too heavy."""
    for label, codes in (("Danger", _FORBIDDING), ("Serious", (Level.SERIOUS,))):
        named = [
            f"{leg.name} ({listed(titles)})"
            for leg in plan.legs
            if (titles := _titles(leg, codes))
        ]
        if named:
            yield label, "; ".join(named) + "."
    yield "Dangerous nights", _dangerous_words(plan.dangerous_nights)
    if report.trip.departure.most_danger >= 1:
        yield "No bar on danger", _UNBARRED
    load, comparison = report.load, report.comparison
    overload = load.sentence if load is not None and load.status == "over" else None
    sentence = (comparison.load_sentence if comparison is not None else "") or overload
    if sentence is not None:
        # A kit that was not chosen may be too heavy without any danger to this plan.
        yield "Load" if overload is None else "Overload", sentence


def _dangerous_words(dangerous: float) -> str:
    """Return how many dangerous nights to expect, in words."""
    if not is_known(dangerous):
        return "how many is unknown."
    if dangerous < 0.05:
        return "none expected (under 1 in 20)."
    return f"about {dangerous:.1f}, counted apart from rough ones."


def _of_the_data(report: Report) -> Iterator[tuple[str, str]]:
    """Yield the factors that figures leave out."""
    nowhere, partly = unassessed(report)
    sentences = [f"{listed(nowhere)}, so left out of every figure."] if nowhere else []
    if partly:
        sentences.append(f"{listed(partly)} on one leg at least, so left out of its figures.")
    if sentences:
        yield "Not assessed", " ".join(sentences)


def assessed(place: Place, factor: str) -> bool:
    """
    Return whether any night of a place was assessed for a factor, in any kit.

    Parameters
    ----------
    place : Place
    factor : str
        One of `vocabulary.FACTORS`.

    Returns
    -------
    bool
    """
    return any(not np.isnan(getattr(season, factor)).all() for season in place.seasons.values())


def unassessed(report: Report) -> tuple[list[str], list[str]]:
    """
    Return the factors that the figures leave out, in words.

    Parameters
    ----------
    report : Report

    Returns
    -------
    tuple of two lists of str
        Those assessed nowhere, and those assessed at some places only.
    """
    nowhere: list[str] = []
    partly: list[str] = []
    for factor in report.not_assessed:
        some = any(assessed(place, factor) for place in report.places)
        (partly if some else nowhere).append(FACTOR_WORDS.get(factor, factor))
    return nowhere, partly


def _unchecked(kinds: Sequence[str]) -> str:
    """Return the hazards nobody looked at: by name where they are few, else how many."""
    if len(kinds) <= _FEW_KINDS:
        # Some kinds have an "and" of their own, so commas would not tell them apart.
        named = "; ".join(map(kind_title, kinds))
        return f"{named}. Nobody looked at these on one leg at least: ask locally."
    return (
        f"{len(kinds)} of {len(HAZARD_KINDS)} kinds of hazard, on one leg at least; each leg "
        "below lists its own. That is not the same as safe: ask locally."
    )


def _titles(leg: PlannedLeg, codes: Iterable[int]) -> list[str]:
    """Return the hazards of a leg that have one of the levels, in words, each once."""
    found = [
        lowered(hazard.title)
        + (f", {LEVEL_WORDS[hazard.level]}" if hazard.level != Level.SERIOUS else "")
        for hazard in leg.hazards
        if hazard.level in codes and not hazard.part
    ]
    return list(dict.fromkeys(found))
