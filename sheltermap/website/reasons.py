"""Why nights of a plan go wrong, and why nobody can say exactly how many.

In: a dated plan. Out: plain text, not yet escaped (the templates escape it). Sums over legs are
the only arithmetic.
"""

from __future__ import annotations

from datetime import timedelta

from sheltermap.report.report import DatedPlan
from sheltermap.vocabulary import FACTORS, MONTHS, listed
from sheltermap.website.figures import is_known, number
from sheltermap.website.words import FACTOR_REASONS, FACTOR_WORDS

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


_NO_CAUSE = 0.05  # [night] judgement: the pages speak of none below it


def main_cause(plan: DatedPlan) -> str:
    """
    Return what costs most rough nights, where, when and why; on the road, of those ahead.

    Parameters
    ----------
    plan : DatedPlan

    Returns
    -------
    str
        Empty where nothing does.
    """
    legs = [leg for leg in plan.legs if not leg.done]
    spoilt = {f: sum(leg.nights_by_factor.get(f) or 0.0 for leg in legs) for f in FACTORS}
    factor = max(spoilt, key=spoilt.__getitem__)
    if spoilt[factor] < _NO_CAUSE:
        return ""
    worst = max(legs, key=lambda leg: leg.nights_by_factor.get(factor) or 0.0)
    middle = worst.arrive + timedelta(days=(worst.leave - worst.arrive).days // 2)
    return (
        f"Most of what goes wrong is {FACTOR_WORDS[factor]}, above all on {worst.name} in "
        f"{MONTHS[middle.month - 1]}: {FACTOR_REASONS[factor]}."
    )


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
