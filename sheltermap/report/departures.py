"""The plan as the ``depart`` command gives it: data for programs, lines for people.

In: a Report. Out: a dict that is a contract (``best``, ``alternatives``,
``by_departure``), or lines of text.
"""

from __future__ import annotations

import math

from sheltermap.dates import said_date, said_days, said_nights
from sheltermap.hazards.kinds import hazard_kind
from sheltermap.report.remedy_words import remedy_words
from sheltermap.report.report import NOT_A_FORECAST, DatedPlan, Report
from sheltermap.suitability.remedy import Advice, Remedy
from sheltermap.trip.camps import camp_number
from sheltermap.vocabulary import Grade, Level

_DIGITS = 6


def departures(report: Report) -> dict:
    """
    Return the plan of a report as data.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict
        ``best`` is None where nothing is feasible, with the reasons in ``infeasible``.
    """
    return {
        "best": None if report.best is None else _plan(report.best),
        "alternatives": [_plan(plan) for plan in report.alternatives],
        "by_departure": [
            {
                "depart": stays.depart.isoformat(),
                "rough_nights": _number(stays.rough_nights),
                "dangerous_nights": _number(stays.dangerous_nights),
                "serious_nights": stays.serious_nights,
            }
            for stays in report.by_departure
        ],
        "good_window": window_data(report),
        "remedy": remedy_data(report.remedy),
        "helps_a_little": remedy_data(report.little),
        "infeasible": list(report.infeasible),
        "doubts": list(report.doubts),
        "not_assessed": list(report.not_assessed),
        "not_checked": list(report.not_checked),
        "caution": NOT_A_FORECAST,
    }


def departures_in_words(report: Report) -> list[str]:
    """
    Return the plan of a report as lines.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of str
    """
    if report.best is None:
        return ["No feasible plan:", *(f"  {reason}" for reason in report.infeasible)]
    lines = [*_plan_lines(report.best), ""]
    lines += filter(None, [window_words(report), window_note(report)])
    if report.best.unplanned_nights:
        lines.append(
            f"{said_nights(report.best.unplanned_nights)} between stays belong to no stay and are "
            "in no figure."
        )
    advice = Advice(report.remedy, report.little)
    lines.append(f"What helps: {remedy_words(advice, report.trip.money.currency)}")
    lines += [_alternative(*each) for each in enumerate(report.alternatives, 1)]
    return [*lines, *_open_questions(report), NOT_A_FORECAST]


def _alternative(number: int, plan: DatedPlan) -> str:
    """Return one of the next best plans in a line."""
    equal = "; as good as the best, as far as the data tell" if plan.equal_to_best else ""
    return (
        f"Alternative {number}: leave {plan.depart}, {plan.direction}, {plan.kit}: "
        f"{_rough(plan.rough_nights)} of {plan.nights} nights rough, {_dangers(plan)}, "
        f"finish {plan.finish}{equal}."
    )


def _open_questions(report: Report) -> list[str]:
    """Return what speaks against the plan, or was left out of it."""
    lines = []
    if report.load is not None and report.load.status == "over":
        lines.append(report.load.sentence)
    if report.not_assessed:
        lines.append(f"Not assessed: {', '.join(report.not_assessed)}.")
    if report.not_checked:
        titles = ", ".join(hazard_kind(kind).title.lower() for kind in report.not_checked)
        lines.append(f"Not checked on some legs: {titles}.")
    return lines


def window_words(report: Report) -> str:
    """
    Return which days of departure are nearly as good as the best.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
        Empty without a plan, and where the trip file allows one day.
    """
    if report.good_window is None or len(report.by_departure) < 2:
        return ""
    first, last = report.good_window
    if first == last:
        return (
            f"Good window: {said_date(first)} alone; a day earlier or later is worse by over a "
            "rough night, or more dangerous."
        )
    return (
        f"Good window: {said_date(first)} to {said_date(last)} "
        f"({said_days((last - first).days + 1)}). Leaving on any of them is at most a rough "
        "night, or a tenth, worse than the best, and no more dangerous."
    )


def window_data(report: Report) -> dict | None:
    """
    Return the good window as data.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict or None
        ISO dates ``first`` and ``last``; None without a plan.
    """
    if report.good_window is None:
        return None
    first, last = report.good_window
    return {"first": first.isoformat(), "last": last.isoformat()}


def window_note(report: Report) -> str:
    """
    Return what the best plan's departure day leaves open.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
        Empty without a plan, and unless that day is the first or the last of several that
        the trip file allows.
    """
    if report.best is None:
        return ""
    window, day = report.trip.departure, report.best.depart
    if window.earliest == window.latest or day not in (window.earliest, window.latest):
        return ""
    edge, beyond = ("first", "earlier") if day == window.earliest else ("last", "later")
    allowed = f"This leaves on the {edge} day that the trip file allows"
    return f"{allowed}; {beyond} ones were not compared."


def _dangers(plan: DatedPlan) -> str:
    """Return the dangerous nights of a plan, and those under serious hazards."""
    return (
        f"{_rough(plan.dangerous_nights)} dangerous, {plan.serious_nights} under a serious hazard"
    )


def _plan_lines(plan: DatedPlan) -> list[str]:
    """Return one plan with its legs."""
    lines = [
        f"Leave {plan.depart}, {plan.direction}, with {plan.kit}: "
        f"{_rough(plan.rough_nights)} of {plan.nights} nights rough "
        f"({_range(plan)}), "
        f"{_dangers(plan)}. Finish {plan.finish}.",
        "",
        f"{'arrive':12}{'leave':12}{'nights':>6}{'rough':>7}  {'grade':10}{'limit':14}leg",
    ]
    for leg in plan.legs:
        grade = Grade(leg.grade).word if leg.grade >= 0 else "-"
        warning = next((h.title for h in leg.hazards if h.level >= Level.SERIOUS), "")
        lines.append(
            f"{leg.arrive!s:12}{leg.leave!s:12}{leg.nights:6}{_rough(leg.rough_nights):>7}  "
            f"{grade:10}{leg.limiting_factor or '-':14}{leg.name}"
            f"{f' ({warning})' if warning else ''}"
        )
    lines += [
        f"{leg.name}: camp reached {leg.camp_reached}, evenings before it on the way."
        for leg in plan.legs
        if leg.camp_reached != leg.arrive
    ]
    return [*lines, *(f"{leg.name}: {leg.ascent}" for leg in plan.legs if leg.ascent)]


def _plan(plan: DatedPlan) -> dict:
    """Return one plan as data."""
    return {
        "depart": plan.depart.isoformat(),
        "finish": plan.finish.isoformat(),
        "direction": plan.direction,
        "kit": plan.kit,
        "nights": plan.nights,
        "rough_nights": _number(plan.rough_nights),
        "rough_nights_range": [_number(plan.rough_low), _number(plan.rough_high)],
        "rough_nights_bad_year": _number(plan.rough_bad_year),
        "dangerous_nights": _number(plan.dangerous_nights),
        "serious_nights": plan.serious_nights,
        "unplanned_nights": plan.unplanned_nights,
        "equal_to_best": plan.equal_to_best,
        "legs": [
            {
                "region": leg.name,
                "camp": camp_number(leg.name),
                "arrive": leg.arrive.isoformat(),
                "leave": leg.leave.isoformat(),
                "camp_reached": leg.camp_reached.isoformat(),
                "nights": leg.nights,
                "kit": leg.kit or plan.kit,
                "done": leg.done,
                "rough_nights": _number(leg.rough_nights),
                "rough_nights_bad_year": _number(leg.rough_bad_year),
                "dangerous_nights": _number(leg.dangerous_nights),
                "serious_nights": leg.serious_nights,
                "grade": Grade(leg.grade).word if leg.grade >= 0 else None,
                "limiting_factor": leg.limiting_factor or "none",
                "close": leg.close,
                "hazards": [
                    {
                        "kind": hazard.kind,
                        "level": Level(hazard.level).word,
                        "stated_level": Level(hazard.stated_level).word,
                    }
                    for hazard in leg.hazards
                    if hazard.level
                ],
                "signs": [sign.record for sign in leg.signs],
                "not_checked": list(leg.not_checked),
                "remedy": leg.remedy.id if leg.remedy else None,
                "camp_elevation_m": _number(leg.height.elevation_m),
                "camp_elevation_error_m": leg.height.error_m,
                "camp_elevation_basis": leg.height.basis,
                "cautions": list(leg.cautions),
            }
            for leg in plan.legs
        ],
    }


def remedy_data(remedy: Remedy | None) -> dict | None:
    """
    Return a remedy over the best plan as data.

    Parameters
    ----------
    remedy : Remedy or None

    Returns
    -------
    dict or None
    """
    if remedy is None:
        return None
    return {
        "id": remedy.id,
        "price": _number(remedy.price),
        "nights_saved": _number(remedy.nights_saved),
        "ends_danger": remedy.ends_danger,
    }


def _number(value: float | None) -> float | None:
    """Return a number for JSON; None for a missing one."""
    return None if value is None or math.isnan(value) else round(value, _DIGITS)


def _range(plan: DatedPlan) -> str:
    """Return the range of rough nights in words."""
    if math.isnan(plan.rough_low) or math.isnan(plan.rough_high):
        return "range unknown, since errors of the climate data are not stated"
    return (
        f"four journeys in five: {_rough(plan.rough_low)} to {_rough(plan.rough_high)}; "
        f"one year in ten: {_rough(plan.rough_bad_year)} or more"
    )


def _rough(value: float) -> str:
    """Return nights with one digit; a dash for a missing count."""
    return "-" if math.isnan(value) else f"{value:.1f}"
