"""The first screen of the Plan: the answer in a sentence, then a line each on what decides it.

In: a Report. Out: text and markup with quantities in both systems; plain text is not yet
escaped (the templates escape it). Assumes nothing that the Report does not state; sums over
legs are the only arithmetic. Names of kits stand after a colon, where any name fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from sheltermap.economy.choice import DANGER_MARGIN_NIGHTS
from sheltermap.economy.load import LoadReport
from sheltermap.economy.prices import given_price, money
from sheltermap.economy.ratings import OVER, UNKNOWN, rounded_down, rounded_up
from sheltermap.economy.rows import KitRow, rough_night_price
from sheltermap.economy.unknown import difference
from sheltermap.report.remedy_words import remedy_words
from sheltermap.report.report import DatedPlan, PlannedLeg, Report
from sheltermap.suitability.remedy import Advice
from sheltermap.vocabulary import FACTORS, Level, listed, lowered
from sheltermap.website.figures import danger_odds, is_known, nights, number, quantity
from sheltermap.website.gaps import unassessed
from sheltermap.website.words import (
    FACTOR_WORDS,
    LEVEL_WORDS,
    day_and_month,
    first_camp,
    full_date,
)

_FEW_LEGS = 3  # judgement: more names would push the season chart off a phone


@dataclass(frozen=True)
class Fact:
    """A line of the first screen.

    Attributes
    ----------
    label : str
    parts : tuple of str or Markup
        What it says, one after the other.
    grave : bool
        Whether it can hurt people or stops the journey.
    """

    label: str
    parts: tuple[str | Markup, ...]
    grave: bool = False


def headline(report: Report) -> tuple[str, str]:
    """
    Return the first sentences of the Plan page.

    Parameters
    ----------
    report : Report

    Returns
    -------
    tuple of two str
        Where and when to start, or how far one is on the road, or that no plan fits; then with
        which kit, and how many nights go wrong.
    """
    plan = report.best
    if plan is None:
        return "No plan fits", f": {report.infeasible[0].removesuffix('.')}."
    kit = next(kit.title for kit in report.kits if kit.id == plan.kit)
    ahead = _ahead(plan)
    if not ahead:
        told = f"The journey is over: {nights(plan.nights)} on {len(plan.legs)} legs."
        return told, f" {_rough(plan.rough_nights, plan.nights)} were rough, by the climate."
    if report.trip.done:
        start, where = _under_way(report, plan, ahead)
    else:
        start = f"Start: {ahead[0].name}, {full_date(plan.depart)}"
        where = f"{_window(report, plan)}{first_camp(ahead[0])}."
    return start, f"{where} Kit: {kit}. {_expected(plan, ahead)}"


def facts(report: Report) -> list[Fact]:
    """
    Return what stands under the headline, in the order in which it decides.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of Fact
        Empty without a plan.
    """
    plan = report.best
    if plan is None:
        return []
    ahead = _ahead(plan)
    if not ahead:
        return []
    return [
        _helps(report),
        *_better_kit(report),
        *_danger(report, ahead),
        *_load(report.load, {leg.name for leg in ahead}),
        *_money(report),
    ]


def rough_night(report: Report) -> str:
    """
    Return what a rough night is, and what nobody looked at in telling one.

    Parameters
    ----------
    report : Report

    Returns
    -------
    str
    """
    nowhere, partly = unassessed(report)
    known = [FACTOR_WORDS[factor] for factor in FACTORS if FACTOR_WORDS[factor] not in nowhere]
    told = f"A rough night is one whose sleep is spoilt by {listed(known, 'or')}."
    if nowhere:
        told += f" Not assessed: {listed(nowhere)}, so left out of every figure."
    if partly:
        told += f" Not assessed on every leg: {listed(partly)}."
    return told


def _ahead(plan: DatedPlan) -> list[PlannedLeg]:
    """Return the legs that are not done."""
    return [leg for leg in plan.legs if not leg.done]


def _window(report: Report, plan: DatedPlan) -> str:
    """Return how wide the good window is; nothing where the trip allows one day."""
    if report.good_window is None or len(report.by_departure) < 2:
        return ""
    first, last = report.good_window
    if first == last:
        return " (no day beside it is as good)"
    said = day_and_month if first.year == last.year == plan.depart.year else full_date
    start = str(first.day) if (first.month, first.year) == (last.month, last.year) else said(first)
    return f" (good from {start} to {said(last)})"


def _under_way(report: Report, plan: DatedPlan, ahead: Sequence[PlannedLeg]) -> tuple[str, str]:
    """Return how much is done and left, and where one is today."""
    slept = plan.nights - sum(leg.nights for leg in ahead)
    start = f"On the road: {nights(slept)} behind you, {sum(leg.nights for leg in ahead)} ahead"
    now = ahead[0]
    until = f"until {day_and_month(now.leave)}"
    if report.trip.done[-1].left is None:
        return start, f". Now: {now.name}, since {day_and_month(now.camp_reached)}, {until}."
    camp = f"{first_camp(now)}," if first_camp(now) else ""
    return start, f". Next: {now.name}, from {day_and_month(now.arrive)}{camp} {until}."


def _rough(rough: float, count: int) -> str:
    """Return how many of some nights are rough, as a sentence begins."""
    if not is_known(rough):
        return f"An unknown number of {nights(count)}"
    if rough < 0.05:
        return f"Hardly any of {nights(count)}"
    if rough <= 0.5:  # A half would be rounded to none.
        return f"Under 1 of {nights(count)}"
    return f"About {number(rough)} of {nights(count)}"


def _expected(plan: DatedPlan, ahead: Sequence[PlannedLeg]) -> str:
    """Return how many nights ahead will be rough, and the range in words."""
    behind = sum(leg.rough_nights for leg in plan.legs if leg.done)
    rough, count = plan.rough_nights - behind, sum(leg.nights for leg in ahead)
    told = f"{_rough(rough, count)} will be rough"
    low, high = plan.rough_low - behind, plan.rough_high - behind
    if not is_known(low) or not is_known(high):
        return f"{told}; how far that may stray is unknown, for want of stated errors."
    if number(low) == number(high):
        return f"{told}, and four journeys of five are like that."
    return f"{told}, in four journeys of five between {number(low)} and {number(high)}."


def _helps(report: Report) -> Fact:
    """Return the one remedy of the journey, with what it saves and costs."""
    advice = Advice(report.remedy, report.little)
    return Fact("What helps", (remedy_words(advice, report.trip.money.currency),))


def _better_kit(report: Report) -> Iterator[Fact]:
    """Yield the kit that is better than the plan's, with the figures of both."""
    comparison = report.comparison
    if comparison is None or not comparison.better:
        return
    chosen, best = comparison.rows[0], comparison.rows[comparison.better]
    # A variant of the choice is what the remedy above speaks of.
    if best.remedy:
        return
    rough = (
        f"{number(best.rough_nights, 1)} rough nights instead of {number(chosen.rough_nights, 1)}"
    )
    told = [rough, *_dearer(chosen, best, comparison.currency)]
    less = difference(chosen.dangerous_nights, best.dangerous_nights)
    if comparison.reasons_against[0]:
        label, more = "Kit that can go", ""
    elif less is not None and less > DANGER_MARGIN_NIGHTS:
        odds = [danger_odds(row.dangerous_nights, row.nights) for row in (best, chosen)]
        label, more = "Safer kit", f"; dangerous is {odds[0]} instead of {odds[1]}"
    else:
        price = given_price(rough_night_price(report.trip.money), comparison.currency)
        label, more = "Better kit", f", if a rough night less is worth {price} to you"
    yield Fact(label, (f"{best.title}: {', '.join(told)}{more}.",))


def _dearer(chosen: KitRow, best: KitRow, currency: str) -> Iterator[str]:
    """Yield how much dearer or cheaper another kit is than the chosen one."""
    apart = difference(best.money, chosen.money)
    if apart is not None:
        yield f"{money(abs(apart), currency)} {'dearer' if apart > 0 else 'cheaper'}"


def _danger(report: Report, ahead: Sequence[PlannedLeg]) -> Iterator[Fact]:
    """Yield how likely a dangerous night is, and the nights under hazards."""
    count = sum(leg.nights for leg in ahead)
    odds = danger_odds(sum(leg.dangerous_nights for leg in ahead), count)
    told = f"{odds[:1].upper()}{odds[1:]} may be cold or hot enough to harm."
    if report.trip.departure.most_danger >= 1:
        told += " The trip file lets no date be barred for that (most_danger = 1)."
    gaps = " Not every kind was checked: see below." if report.not_checked else ""
    hazards = _hazards(ahead)
    if hazards:
        yield Fact("Danger", (told,), grave=True)
        yield Fact("Hazards", (f"{hazards}{gaps}",), grave=True)
    else:
        yield Fact("Danger", (f"{told} {_none_serious(ahead)}{gaps}",))


def _none_serious(ahead: Sequence[PlannedLeg]) -> str:
    """Return that no hazard binds as serious, and where some are all the same."""
    held_off = [
        hazard for leg in ahead for hazard in leg.hazards if hazard.stated_level >= Level.SERIOUS
    ]
    if not held_off:
        return "No hazard known is serious then."
    places = {
        "in part of an area" if hazard.part else "outside the shelter" for hazard in held_off
    }
    where = listed(sorted(places, reverse=True))
    return f"No hazard known is serious where you lie; {where} some are: see the legs."


def _hazards(ahead: Sequence[PlannedLeg]) -> str:
    """Return the nights under hazards that are serious or worse, and where; empty without."""
    named = [f"{leg.name} ({listed(titles)})" for leg in ahead if (titles := _grave(leg))]
    if not named:
        return ""
    if len(named) > _FEW_LEGS + 1:
        named[_FEW_LEGS:] = [f"{len(named) - _FEW_LEGS} legs more"]
    serious = sum(leg.serious_nights for leg in ahead)
    return f"{nights(serious)} under serious ones or worse: {listed(named)}."


def _grave(leg: PlannedLeg) -> list[str]:
    """Return the hazards of a leg that are serious or worse, in words, each once."""
    found = [
        lowered(hazard.title)
        + (f", {LEVEL_WORDS[hazard.level]}" if hazard.level > Level.SERIOUS else "")
        for hazard in leg.hazards
        if hazard.level >= Level.SERIOUS and not hazard.part
    ]
    return list(dict.fromkeys(found))


def _load(load: LoadReport | None, ahead: set[str]) -> Iterator[Fact]:
    """Yield the least margin under the rated mass, or which rating is broken or unknown."""
    if load is None:
        return
    margins = [
        (leg.margin_kg, leg.name)
        for leg in load.legs
        if leg.margin_kg is not None and leg.name in ahead
    ]
    margin, name = min(margins, key=lambda one: one[0], default=(math.nan, ""))
    if margin < 0:
        over = quantity(rounded_up(-margin), "mass")
        yield Fact("Overload", (over, f" over the rated mass on {name}."), grave=True)
    elif load.status == OVER and load.breaks:
        yield Fact("Overload", (load.breaks[0],), grave=True)
    elif load.status == UNKNOWN or math.isnan(margin):
        yield Fact("Load", ("; ".join(["Unknown", *load.unknown[:1]]) + ".",))
    else:
        spare = quantity(rounded_down(margin), "mass")
        yield Fact("Load", (spare, f" under the rated mass at the heaviest start, {name}."))


def _money(report: Report) -> Iterator[Fact]:
    """Yield what kit and fuel cost, against the budget."""
    if report.comparison is None:
        return
    row, prices = report.comparison.rows[0], report.trip.money
    told = f"{money(row.journey_money, prices.currency)} for the kit and all fuel"
    if prices.budget is None:
        yield Fact("Money", (f"{told}; no budget was given.",))
    else:
        budget = money(prices.budget, prices.currency)
        over = bool(row.over_budget)
        yield Fact("Money", (f"{told}, {'over' if over else 'of'} a budget of {budget}.",), over)
