"""The planner's plans as dated legs: each with its reason, its hazards and its remedy.

In: a planning problem, its plans, the places in the order of the legs. Out:
DatedPlan and Stays for the report. Assumes a night is named by the date of its evening.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property

import numpy as np

from sheltermap.dates import days_of_year
from sheltermap.hazards.altitude import ascent_problem, first_high_night
from sheltermap.hazards.kinds import cautions, shield, shielded_level
from sheltermap.places.behind import DoneStay
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.place import NightSeason, Place
from sheltermap.places.remedies import stretch
from sheltermap.places.seasons import protections
from sheltermap.planner.costs import evenings_before_camp
from sheltermap.planner.problem import Plan, PlanningProblem, Result, Stay
from sheltermap.planner.search import replanned
from sheltermap.planner.stranded import why_stranded
from sheltermap.planner.uncertainty import NightErrors, equal, rough_range
from sheltermap.planner.underway import earliest_after
from sheltermap.report.odds import bad_year_of_leg, night_errors
from sheltermap.report.report import DatedPlan, MetHazard, PlannedLeg, Reached, Stays
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.grade import grade, margin_words
from sheltermap.suitability.remedy import Advice, Remedy, remedy_at
from sheltermap.trip.model import Trip
from sheltermap.vocabulary import FACTORS

FARTHEST_OFF = timedelta(days=28)
"""judgement: whoever is earlier or later than four weeks writes a new trip."""


@dataclass(frozen=True, eq=False)
class Dater:
    """Everything that turns plans into dated legs.

    Attributes
    ----------
    trip : Trip
    kits : tuple of Kit
        The chosen one first; remedies are known for it alone.
    problem : PlanningProblem
    places : tuple of Place
        One each a leg.
    advice : Advice
        What helps over the best plan.
    behind : mapping of int to DoneStay
        Legs that are done, by their position.
    """

    trip: Trip
    kits: tuple[Kit, ...]
    problem: PlanningProblem
    places: tuple[Place, ...]
    advice: Advice
    behind: Mapping[int, DoneStay] = field(default_factory=dict)

    @cached_property
    def errors(self) -> NightErrors:
        """Return what one standard error of each kind does to a night."""
        return night_errors(self.places, self.problem.kits)

    def dated(self, plan: Plan, best: Plan | None = None) -> DatedPlan:
        """
        Return a plan with everything the pages say of it.

        Parameters
        ----------
        plan : Plan
        best : Plan, optional
            The best plan, where this is another.

        Returns
        -------
        DatedPlan
        """
        before = (None, *plan.stays)
        legs = tuple(
            self._done(stay, self.behind[stay.stop]) if stay.kit else self._leg(left, stay, plan)
            for left, stay in zip(before, plan.stays, strict=False)
        )
        spread = rough_range(self.problem, plan, self.errors)
        return DatedPlan(
            depart=plan.depart,
            finish=plan.finish,
            direction=plan.direction,
            kit=plan.kit,
            rough_nights=plan.rough_nights,
            rough_low=spread.low,
            rough_high=spread.high,
            rough_parts=spread.parts,
            rough_bad_year=spread.bad_year,
            dangerous_nights=plan.dangerous_nights,
            serious_nights=plan.serious_nights,
            nights=sum(leg.nights for leg in legs),
            unplanned_nights=plan.unplanned_nights,
            equal_to_best=best is None or bool(equal(self.problem, best, plan, self.errors)),
            legs=legs,
        )

    def stays(self, result: Result) -> tuple[Stays, ...]:
        """
        Return where each night is spent, for every departure day.

        Parameters
        ----------
        result : Result

        Returns
        -------
        tuple of Stays
        """
        return tuple(
            self._stays(depart, rough, plan)
            for (depart, rough), plan in zip(
                result.by_departure, result.best_by_departure, strict=True
            )
        )

    def departures(self, result: Result) -> tuple[Stays, ...]:
        """
        Return the same, and for days without a plan what stands in the way.

        Parameters
        ----------
        result : Result
            With a plan for some day: where none has one, the trip's reasons say more.

        Returns
        -------
        tuple of Stays
        """
        stays = self.stays(result)
        without = [one.depart for one in stays if one.rough_nights is None]
        if result.best is None or self.trip.done:
            return stays
        why = dict(zip(without, why_stranded(self.problem, without), strict=True))
        return tuple(replace(one, why_none=why.get(one.depart, "")) for one in stays)

    def _stays(self, depart: date, rough: float | None, plan: Plan | None) -> Stays:
        """Return where each night is spent after one departure; nowhere without a plan."""
        stays = plan.stays if plan else ()
        return Stays(
            depart=depart,
            rough_nights=rough,
            dangerous_nights=plan.dangerous_nights if plan else None,
            serious_nights=plan.serious_nights if plan else None,
            direction=plan.direction if plan else "",
            kit=plan.kit if plan else "",
            places=tuple(self.places[stay.stop].id for stay in stays),
            legs=tuple(stay.stop for stay in stays),
            arrive=tuple(stay.arrive for stay in stays),
            leave=tuple(stay.leave for stay in stays),
        )

    def replans(self, plan: Plan) -> tuple[Reached, ...]:
        """
        Return what is left to do when a leg is reached early, on its day or late.

        Parameters
        ----------
        plan : Plan

        Returns
        -------
        tuple of Reached
            For each leg ahead but the one that starts the plan, every day up to
            `FARTHEST_OFF` early, after a night at the leg before, to as late.
        """
        there = self.trip.done and self.trip.done[-1].left is None
        begun = plan.done + 1 if there or not plan.done else plan.done
        reached = []
        for number, stay in enumerate(plan.stays[begun:], begun):
            left = earliest_after(self.problem, plan.stays[:number])
            first = max(left or date.min, stay.reached - FARTHEST_OFF)
            last = stay.reached + FARTHEST_OFF
            dates = self.stays(replanned(self.problem, plan, stay.stop, first, last))
            reached.append(Reached(stay.stop, (stay.reached - first).days, dates))
        return tuple(reached)

    def _kit(self, name: str) -> Kit:
        """Return a kit by its id."""
        return next(kit for kit in self.kits if kit.id == name)

    def _leg(self, left: Stay | None, stay: Stay, plan: Plan) -> PlannedLeg:
        """Return one stay with its reason and its risks."""
        place, leg, days = self.places[stay.stop], self.trip.legs[stay.stop], _days(stay)
        kit = plan.kit
        season = place.seasons[kit]
        by_factor = {name: _known(float(getattr(season, name)[days].sum())) for name in FACTORS}
        share, ascent = season.sound_share[days], self._ascent(left, stay, plan.direction)
        return PlannedLeg(
            leg=stay.stop,
            name=leg.name,
            place=place.id,
            arrive=stay.arrive,
            leave=stay.leave,
            camp_reached=stay.reached,
            nights=stay.nights,
            kit=kit,
            done=False,
            rough_nights=stay.rough_nights,
            rough_bad_year=bad_year_of_leg(season.errors, stay),
            dangerous_nights=stay.dangerous_nights,
            serious_nights=stay.serious_nights,
            nights_by_factor=by_factor,
            grade=int(grade(float(share.mean()))),
            limiting_factor=_largest(by_factor),
            close=bool(season.close[days].mean() > 0.5),
            hazards=_met(place, days, protections(self._kit(kit))),
            cautions=(
                *filter(None, [ascent, self._first_high_night(left, stay)]),
                *self._driving(stay),
                *_depth(season, _largest(by_factor), days),
                *cautions(
                    finding.kind
                    for finding in place.findings
                    if finding.level_by_day[days].max() > 0
                ).values(),
            ),
            not_checked=place.not_checked,
            remedy=self._remedy(place, days, kit),
            height=place.height,
            ascent=ascent,
            signs=tuple(filter(None, (sign.on(days) for sign in place.signs))),
        )

    def _done(self, stay: Stay, done: DoneStay) -> PlannedLeg:
        """Return one stay that is over as it was; nothing is advised of it any more."""
        by_factor = {name: _known(float(done.shares[name].sum())) for name in FACTORS}
        return PlannedLeg(
            leg=stay.stop,
            name=self.trip.legs[stay.stop].name,
            place=self.places[stay.stop].id,
            arrive=stay.arrive,
            leave=stay.leave,
            camp_reached=stay.reached,
            nights=stay.nights,
            kit=stay.kit,
            done=True,
            rough_nights=stay.rough_nights,
            rough_bad_year=stay.rough_nights,
            dangerous_nights=stay.dangerous_nights,
            serious_nights=stay.serious_nights,
            nights_by_factor=by_factor,
            grade=int(grade(float(done.shares["sound_share"].mean()))),
            limiting_factor=_largest(by_factor),
            close=False,
            hazards=_met(done.place, done.days, protections(done.kit)),
            cautions=(),
            not_checked=done.place.not_checked,
            remedy=None,
            height=done.place.height,
            ascent="",
            signs=tuple(filter(None, (sign.on(done.days) for sign in done.place.signs))),
        )

    def _ascent(self, left: Stay | None, stay: Stay, direction: str) -> str:
        """Return that a climb by heights that nobody stated is too fast, or nothing.

        A climb between stated heights is kept by the planner.
        """
        below, above = self._heights(left, stay)
        unstated = next((height for height in (above, below) if height.basis != "stated"), None)
        heights = (below.elevation_m, above.elevation_m)
        if unstated is None or not np.isfinite(heights).all():
            return ""
        before_camp = evenings_before_camp(
            self.problem,
            None if left is None else left.stop,
            stay.stop,
            reverse=direction == "reverse",
        )
        slow = ascent_problem(*heights, stay.nights, before_camp)
        if slow is None:
            return ""
        return (
            f"{slow} The plan does not keep to that, since {unstated.elevation_m:,.0f} m is "
            f"{unstated.words}: state camp_elevation_m, and it does."
        )

    def _first_high_night(self, left: Stay | None, stay: Stay) -> str:
        """Return what to know of a first night high up, or nothing."""
        below, above = (height.elevation_m for height in self._heights(left, stay))
        return first_high_night(below, above)

    def _heights(self, left: Stay | None, stay: Stay) -> tuple[CampHeight, CampHeight]:
        """Return the sleeping heights before a stay and of it."""
        home = CampHeight(self.trip.departure.from_elevation_m or 0.0, None, "stated")
        below = home if left is None else self.places[left.stop].height
        return below, self.places[stay.stop].height

    def _driving(self, stay: Stay) -> tuple[str, ...]:
        """Return that the way forces more nights than were preferred, where it does."""
        days, preferred = (
            self.problem.stops[stay.stop].travel_days,
            self.trip.legs[stay.stop].nights.preferred,
        )
        if days <= preferred:
            return ()
        return (
            f"Its kilometres take {days} driving days, more than the {preferred} nights "
            "preferred; nights on the way are counted as nights here.",
        )

    def _remedy(self, place: Place, days: np.ndarray, kit: str) -> Remedy | None:
        """Return what the plan's remedy does on one leg; it is known for the chosen kit alone."""
        if kit != self.kits[0].id:
            return None
        named = self.advice.remedy
        nights = stretch(place.seasons[kit], place.remedies, days)
        return remedy_at(nights, named.id if named else None)


def _days(stay: Stay) -> np.ndarray:
    """Return the positions in the year of a stay's nights."""
    return days_of_year(stay.arrive, stay.nights)


def _known(value: float) -> float | None:
    """Return a number, or None for a missing one."""
    return None if np.isnan(value) else value


def _largest(by_factor: Mapping[str, float | None]) -> str:
    """Return the cause that spoils most nights; empty where none does."""
    known = {name: value for name, value in by_factor.items() if value is not None}
    name = max(known, key=known.__getitem__, default="")
    return name if name and known[name] >= 1e-6 else ""


def _met(place: Place, days: np.ndarray, shields: Sequence[str]) -> tuple[MetHazard, ...]:
    """Return each hazard that somebody reports on these nights, the worst first."""
    met = []
    for finding in place.findings:
        # Where it holds in part, an advisory binds; what is told is how bad it is there.
        as_stated = finding.stated_level_by_day
        if not finding.part or as_stated is None:
            as_stated = finding.level_by_day
        stated = int(as_stated[days].max())
        if stated:
            level = shielded_level(finding.level_by_day[days], finding.kind, shields).max()
            met.append(
                MetHazard(
                    kind=finding.kind,
                    title=finding.title,
                    level=int(level),
                    stated_level=stated,
                    shield=shield(finding.kind, shields) or "",
                    part=finding.part,
                    note=finding.note,
                    source=finding.source,
                )
            )
    return tuple(sorted(met, key=lambda hazard: -hazard.level))


def _depth(season: NightSeason, factor: str, days: np.ndarray) -> Iterator[str]:
    """Yield how far a mean night of a stay is from the limit, where a limit decides."""
    if factor not in ("cold", "heat"):
        return
    margin, endangering = (
        float(getattr(season, f"{factor}_{name}")[days].mean())
        for name in ("margin", "danger_margin")
    )
    words = margin_words(margin, factor, endangering)
    if words:
        yield f"An average dry night {words}."
