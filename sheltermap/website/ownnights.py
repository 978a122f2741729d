"""What own nights taught, in sentences for the pages.

In: a Report's own nights. Out: markup, with quantities in both systems. Names of sleepers are
escaped here, since sentences hold quantities as markup.
"""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from sheltermap.report.own_nights import OwnNights, OwnSleeper
from sheltermap.report.report import DatedPlan, Report
from sheltermap.shelters.learned import Offset
from sheltermap.website.figures import is_known, number, quantity
from sheltermap.website.words import short_date

_ALIKE = 0.25  # [K] judgement: less is no difference that a person notices


def own_sentences(report: Report) -> list[Markup]:
    """
    Return what own nights did to the plan, and which ahead would teach most.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of Markup
        A paragraph each; empty where nobody wrote a night down.
    """
    if report.own is None or report.best is None:
        return []
    each = [
        _sleeper(sleeper, report.trip.settings.person_spread) for sleeper in report.own.sleepers
    ]
    return [*each, _moved(report.own, report.best), *teaching_sentences(report)]


def teaching_sentences(report: Report) -> list[Markup]:
    """
    Return which nights ahead would teach most of each sleeper.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of Markup
        Empty where nobody wrote a night down.
    """
    return [] if report.own is None else [_teaching(one) for one in report.own.sleepers]


def own_rows(report: Report) -> list[dict]:
    """
    Return each row of nights with what it moves.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of dict
        Keys number, who, where, nights, moved [K].
    """
    if report.own is None:
        return []
    rows = report.trip.slept
    return [
        {
            "number": row,
            "who": sleeper.who,
            "where": rows[row - 1].leg or "another journey",
            "nights": rows[row - 1].nights,
            "moved": moved,
        }
        for sleeper in report.own.sleepers
        for row, moved in sleeper.moved
    ]


def _sleeper(sleeper: OwnSleeper, between: float) -> Markup:
    """Return how far a sleeper is from the usual one."""
    name = sleeper.who or "You"
    bears, needs, is_cold = ("bear", "need", "are") if name == "You" else ("bears", "needs", "is")
    told = f"{sleeper.nights} nights"
    if sleeper.measured:
        told += f", {sleeper.measured} of them measured"
    open_to = quantity(sleeper.cold.spread, "step")
    if abs(sleeper.cold.mean) < _ALIKE:
        text = Markup("<b>{}</b> {} cold about where the usual sleeper is, give or take {} ({}).")
        text = text.format(name, is_cold, open_to, told)
    else:
        verb, than = (bears, "colder") if sleeper.cold.mean > 0 else (needs, "warmer")
        text = Markup(
            "<b>{}</b> {} nights about {} {} than the usual sleeper, give or take {} ({})."
        )
        text = text.format(name, verb, _size(sleeper.cold), than, open_to, told)
    if not sleeper.slept_in:
        text += " Not in this kit's bedding yet, so only what is the person's counts."
    # A spread that is as wide as before has learned nothing of heat.
    if sleeper.heat.spread < 0.95 * between and abs(sleeper.heat.mean) >= _ALIKE:
        verb, than = (bears, "warmer") if sleeper.heat.mean > 0 else (needs, "cooler")
        heat = Markup(" In heat {} {} bedtimes about {} {}, give or take {}.")
        who = "you" if name == "You" else name
        text += heat.format(
            who, verb, _size(sleeper.heat), than, quantity(sleeper.heat.spread, "step")
        )
    return text


def _size(offset: Offset) -> Markup:
    """Return how large an offset is, without its sign."""
    return quantity(abs(offset.mean), "step")


def _moved(own: OwnNights, plan: DatedPlan) -> Markup:
    """Return what that does to the plan's rough nights and their range."""
    ends = own.rough_low, own.rough_high, plan.rough_low, plan.rough_high
    usual, mine = number(own.rough_nights, 1), number(plan.rough_nights, 1)
    if all(map(is_known, ends)):
        low, high, own_low, own_high = (number(end, 1) for end in ends)
        text = Markup(
            "On the same dates usual sleepers would have {} rough nights, in four journeys of "
            "five {} to {}; with what your nights taught there are {}, {} to {}."
        ).format(usual, low, high, mine, own_low, own_high)
    else:
        text = Markup(
            "On the same dates usual sleepers would have {} rough nights; with what your nights "
            "taught there are {}."
        ).format(usual, mine)
    return text + " What was learned never makes a night less dangerous."


def _teaching(sleeper: OwnSleeper) -> Markup:
    """Return which nights ahead would teach most of a sleeper."""
    who = f" of {sleeper.who}" if sleeper.who else ""
    if not sleeper.teaching:
        return Markup("No night ahead is near enough to a limit to teach much{}.").format(who)
    return Markup("Nights that would teach most{}: {}. Hang a thermometer outside.").format(
        who, Markup("; ").join(_named(sleeper))
    )


def _named(sleeper: OwnSleeper) -> Iterator[Markup]:
    """Yield the legs that teach most, with what one measured night would settle."""
    for one in sleeper.teaching:
        spare = "to spare" if one.margin >= 0 else "too little"
        yield Markup(
            "{}, {} to {}, where the usual sleeper has about {} {} (give or take {} after one)"
        ).format(
            one.leg,
            short_date(one.arrive),
            short_date(one.leave),
            quantity(abs(one.margin), "step"),
            spare,
            quantity(one.after, "step"),
        )
