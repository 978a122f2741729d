"""Two plans side by side: what differs in dates, nights, money and mass.

In: two Reports. Out: the ``compare`` contract, and its lines. Assumes that legs of one name are
the same leg.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from sheltermap.economy.prices import money
from sheltermap.report.departures import departures
from sheltermap.report.report import NOT_A_FORECAST, DatedPlan, PlannedLeg, Report
from sheltermap.vocabulary import FACTORS

_FIGURES = ("nights", "rough_nights", "dangerous_nights", "serious_nights")
_DIGITS = 6


def compared(one: Report, other: Report) -> dict:
    """
    Return two plans as data.

    Parameters
    ----------
    one, other : Report

    Returns
    -------
    dict
        ``plans``: for each its ``title``, ``plan`` (as ``depart`` has ``best``), ``money``,
        ``currency``, ``kit_mass_kg``, ``heaviest_kg`` and ``infeasible``. ``difference``: the
        second less the first, None where either is not known. ``legs`` and ``causes``: a pair
        each; None for a leg that one of them does not have.
    """
    pair = one, other
    sides = [_side(report) for report in pair]
    return {
        "plans": sides,
        "difference": _difference(pair, sides),
        "legs": list(_legs(pair)),
        "causes": {
            factor: [None if plan is None else _spoilt(plan, factor) for plan in _bests(pair)]
            for factor in FACTORS
        },
        "caution": NOT_A_FORECAST,
    }


def compared_in_words(result: dict) -> Iterator[str]:
    """
    Yield the lines that the ``compare`` command prints.

    Parameters
    ----------
    result : dict
        From `compared`.

    Yields
    ------
    str
    """
    for letter, side in zip("AB", result["plans"], strict=True):
        yield f"{letter}: {side['title']}: {_in_words(side)}"
    yield ""
    yield f"{'':28}{'A':>14}{'B':>14}{'B less A':>12}"
    yield from _figures_in_words(result["plans"], result["difference"])
    yield ""
    for factor, values in result["causes"].items():
        yield _row(f"rough from {factor}", values, _less(*values))
    yield ""
    for leg in result["legs"]:
        yield _leg_in_words(leg)
    yield ""
    yield result["caution"]


def _figures_in_words(plans: Sequence[dict], difference: dict) -> Iterator[str]:
    """Yield the rows of nights, masses and money."""
    for name, words in (
        ("rough_nights", "rough nights"),
        ("dangerous_nights", "dangerous nights"),
        ("serious_nights", "under a serious hazard"),
        ("nights", "nights"),
    ):
        values = [None if side["plan"] is None else side["plan"][name] for side in plans]
        yield _row(words, values, difference[name])
    for name, words in (("kit_mass_kg", "kit [kg]"), ("heaviest_kg", "heaviest start [kg]")):
        yield _row(words, [side[name] for side in plans], difference[name])
    costs = [
        "unknown" if side["money"] is None else money(side["money"], side["currency"])
        for side in plans
    ]
    less = difference["money"]
    told = "-" if less is None else money(less, plans[0]["currency"])
    yield f"{'kit, freight, added fuel':28}{costs[0]:>14}{costs[1]:>14}{told:>12}"


def _leg_in_words(leg: dict) -> str:
    """Return the row of one leg."""
    sides = (leg["a"], leg["b"])
    dates = [
        "-" if side is None else f"{side['arrive'][5:]} {side['nights']:>3} n" for side in sides
    ]
    rough = [None if side is None else side["rough_nights"] for side in sides]
    numbers = "  ".join(map(_number_words, rough))
    return f"{leg['leg'][:27]:28}{dates[0]:>14}{dates[1]:>14}  rough {numbers}"


def _side(report: Report) -> dict:
    """Return one plan with what it costs and weighs."""
    told = departures(report)
    row = None if report.comparison is None else report.comparison.rows[0]
    return {
        "title": report.trip.title,
        "plan": told["best"],
        "money": None if row is None else _rounded(row.money),
        "currency": report.trip.money.currency,
        "kit_mass_kg": None if row is None else _rounded(row.mass_kg),
        "heaviest_kg": None if report.load is None else _rounded(report.load.needed_rating_kg),
        "infeasible": told["infeasible"],
    }


def _difference(pair: tuple[Report, Report], sides: list[dict]) -> dict[str, float | None]:
    """Return the second side's figures less the first's."""
    one, other = sides
    plans = [side["plan"] or {} for side in sides]
    found = {name: _less(*(plan.get(name) for plan in plans)) for name in _FIGURES}
    found |= {name: _less(one[name], other[name]) for name in ("kit_mass_kg", "heaviest_kg")}
    alike = one["currency"] == other["currency"]
    found["money"] = _less(one["money"], other["money"]) if alike else None
    mine, its = _bests(pair)
    if mine is None or its is None:
        return found | {"depart_days": None, "finish_days": None}
    found["depart_days"] = (its.depart - mine.depart).days
    found["finish_days"] = (its.finish - mine.finish).days
    return found


def _legs(pair: tuple[Report, Report]) -> Iterator[dict]:
    """Yield each leg that either plan has, the first plan's first."""
    each = [{leg.name: leg for leg in plan.legs} if plan else {} for plan in _bests(pair)]
    for name in dict.fromkeys([*each[0], *each[1]]):
        yield {"leg": name, "a": _leg(each[0].get(name)), "b": _leg(each[1].get(name))}


def _leg(leg: PlannedLeg | None) -> dict | None:
    """Return one leg of one plan; None where it has none of that name."""
    if leg is None:
        return None
    return {
        "arrive": leg.arrive.isoformat(),
        "leave": leg.leave.isoformat(),
        "nights": leg.nights,
        "rough_nights": _rounded(leg.rough_nights),
        "dangerous_nights": _rounded(leg.dangerous_nights),
        "limiting_factor": leg.limiting_factor or "none",
        "grade": leg.grade,
        "nights_by_factor": {
            name: _rounded(value) for name, value in leg.nights_by_factor.items()
        },
    }


def _bests(pair: tuple[Report, Report]) -> tuple[DatedPlan | None, DatedPlan | None]:
    """Return both plans."""
    return pair[0].best, pair[1].best


def _spoilt(plan: DatedPlan, factor: str) -> float | None:
    """Return how many nights a factor spoils; None where a leg was not assessed for it."""
    values = [leg.nights_by_factor.get(factor) for leg in plan.legs]
    known = [value for value in values if value is not None]
    return _rounded(math.fsum(known)) if len(known) == len(values) else None


def _less(one: float | None, other: float | None) -> float | None:
    """Return a figure less another; None where either is unknown."""
    return None if one is None or other is None else _rounded(other - one)


def _rounded(value: float | None) -> float | None:
    """Return a number for JSON; None for a missing one."""
    return None if value is None or math.isnan(value) else round(value, _DIGITS)


def _in_words(side: dict) -> str:
    """Return a plan in a line."""
    plan = side["plan"]
    if plan is None:
        return f"no feasible plan: {side['infeasible'][0]}"
    return (
        f"leave {plan['depart']}, {plan['direction']}, with {plan['kit']}, finish "
        f"{plan['finish']}."
    )


def _row(words: str, values: list[float | None], less: float | None) -> str:
    """Return a line of the table."""
    one, other = (_number_words(value) for value in values)
    return f"{words:28}{one:>14}{other:>14}{_number_words(less, '+'):>12}"


def _number_words(value: float | None, sign: str = "") -> str:
    """Return a count as it is, a figure with one digit; a dash for an unknown one."""
    if value is None:
        return "-"
    return format(value, f"{sign}d" if isinstance(value, int) else f"{sign}.1f")
