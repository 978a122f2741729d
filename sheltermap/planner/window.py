"""The good window: days of departure that are nearly as good as the best.

In: what the planner found for every day. Out: the unbroken days around the best plan's. Assumes
that whoever can leave on any day of several would rather know them all than the best alone.
"""

from __future__ import annotations

from datetime import date

from sheltermap.planner.problem import Plan, Result
from sheltermap.planner.uncertainty import DANGER_APART

NIGHTS_APART = 1.0
"""Rough nights, or what counts as them, that a good day may cost above the best. [night]
judgement"""

SHARE_APART = 0.1
"""The same as a share of what the best costs, where that is more. [1] judgement"""

_DIGITS = 6  # nights are known to a millionth


def good_window(result: Result) -> tuple[date, date] | None:
    """
    Return the first and the last day of the good window.

    Parameters
    ----------
    result : Result

    Returns
    -------
    tuple of date, or None
        Every day from the first to the last has a plan that costs at most `NIGHTS_APART` or
        `SHARE_APART` more than the best, and has at most `uncertainty.DANGER_APART` more
        dangerous nights. None where no plan is feasible.
    """
    best, plans = result.best, result.best_by_departure
    if best is None:
        return None
    days = [day for day, _ in result.by_departure]
    # By dates, not by equality: stays that are done may hold a missing figure.
    dates = [None if plan is None else [stay.arrive for stay in plan.stays] for plan in plans]
    first = last = dates.index([stay.arrive for stay in best.stays])
    while first > 0 and _good(plans[first - 1], best):
        first -= 1
    while last + 1 < len(plans) and _good(plans[last + 1], best):
        last += 1
    return days[first], days[last]


def _good(plan: Plan | None, best: Plan) -> bool:
    """Return whether a day's plan is nearly as good as the best."""
    if plan is None:
        return False
    dearer = max(NIGHTS_APART, SHARE_APART * best.objective)
    beyond = (
        plan.objective - best.objective - dearer,
        plan.dangerous_nights - best.dangerous_nights - DANGER_APART,
    )
    return all(round(excess, _DIGITS) <= 0 for excess in beyond)
