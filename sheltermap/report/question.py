"""From a trip and its places to the planner's question.

In: the trip's legs and their places. Out: a PlanningProblem. Assumes that hazards of a level
that forbids are constraints, never weights, and bind only through the kit's own protections.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import numpy as np

from sheltermap.dates import dated
from sheltermap.hazards.altitude import move_refused, nights_needed
from sheltermap.hazards.kinds import hazard_kind, shielded_level
from sheltermap.places.ground import Camps, driving_days
from sheltermap.places.place import Place
from sheltermap.places.seasons import protections
from sheltermap.planner.problem import (
    NEVER,
    Barrier,
    Closure,
    PermitRule,
    PlanningProblem,
    Stop,
    Travel,
)
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.titles import in_sentence
from sheltermap.trip.model import Leg, Shelter, Trip
from sheltermap.trip.values import Span
from sheltermap.vocabulary import Level

# What must give in an infeasible trip is searched up to a year beyond its dates.
_LOOKED_AT = timedelta(days=366)


def planning_problem(
    trip: Trip, kits: Sequence[Kit], camps: Camps, places: Sequence[Place]
) -> PlanningProblem:
    """
    Return the planner's question for a trip.

    Parameters
    ----------
    trip : Trip
    kits : sequence of Kit
        The choice first.
    camps : Camps
    places : sequence of Place
        One each a leg, in the order of the trip.

    Returns
    -------
    PlanningProblem
    """
    departure = trip.departure
    rough = np.array(
        [[1.0 - place.seasons[kit.id].sound_share for place in places] for kit in kits]
    )
    dangerous, level = (
        np.array([[getattr(place.seasons[kit.id], name) for place in places] for kit in kits])
        for name in ("dangerous", "hazard_level")
    )
    home = departure.from_elevation_m
    return PlanningProblem(
        stops=tuple(
            _stop(number, leg, place, kits, trip)
            for number, (leg, place) in enumerate(zip(camps.legs, places, strict=True), 1)
        ),
        kits=tuple(kit.id for kit in kits),
        rough=rough,
        earliest=departure.earliest,
        latest=departure.latest,
        finish_by=departure.finish_by,
        direction=departure.direction,
        choose_kit=trip.shelter.choose == "best",
        stay_weight=departure.stay_weight,
        dangerous=dangerous,
        danger_weight=departure.danger_weight,
        serious=level >= Level.SERIOUS,
        serious_weight=departure.serious_weight,
        permits=tuple(_permit(name, trip) for name in trip.permits),
        climb_nights=_climb_nights,
        home_elevation_m=0.0 if home is None else home,
        order=departure.order,
        travel=_travel(trip) if departure.order == "free" else None,
    )


def _climb_nights(from_m: float, to_m: float) -> int:
    """Return the nights that a climb takes, `NEVER` where it is refused."""
    return NEVER if move_refused(from_m, to_m) else nights_needed(from_m, to_m)


def span_closures(span: Span, reason: str, first: date, last: date) -> tuple[Closure, ...]:
    """
    Return the closed nights of a span between two dates.

    Parameters
    ----------
    span : Span
        Yearly, or with full dates.
    reason : str
        As people read it.
    first, last : date
        The years looked at.

    Returns
    -------
    tuple of Closure
        With the opening margin added.

    Examples
    --------
    >>> winter = Span(first="11-01", last="03-31", margin_days=7)
    >>> found = span_closures(winter, "snow", date(2027, 3, 1), date(2027, 12, 1))
    >>> [(str(closure.first), str(closure.last)) for closure in found]
    [('2026-11-01', '2027-04-07'), ('2027-11-01', '2028-04-07')]
    """
    margin = timedelta(days=span.margin_days)
    return tuple(
        Closure(reason, begin, end + margin)
        for begin, end in _runs(span, range(first.year - 1, last.year + 1))
        if begin <= last and end + margin >= first
    )


def _runs(span: Span, years: range) -> list[tuple[date, date]]:
    """Return the first and last dates of a span, for each year in which a yearly one begins."""
    match span.first, span.last:
        case str(begin), str(end):
            over = begin > end
            starts, ends = ([int(part) for part in day.split("-")] for day in (begin, end))
            return [(dated(year, *starts), dated(year + over, *ends)) for year in years]
        case date() as begin, date() as end:
            return [(begin, end)]
    raise ValueError(f"expected a span of one form, got {span.first} to {span.last}")


def _stop(number: int, leg: Leg, place: Place, kits: Sequence[Kit], trip: Trip) -> Stop:
    """Return one leg as the planner sees it."""
    departure = trip.departure
    driving = driving_days(leg.kilometres, departure.daily_km)
    least = max(leg.nights.least, driving, driving_days(leg.approach_km, departure.daily_km))
    approach = leg.kilometres if leg.approach_km is None else leg.approach_km
    # Only a stated height binds the ascent rule; on a default the dated leg is cautioned.
    height = place.height.elevation_m if place.height.basis == "stated" else np.nan
    closures = [
        closure
        for span in leg.closed
        for closure in span_closures(
            span,
            span.note or "closed",
            departure.earliest - _LOOKED_AT,
            departure.finish_by + _LOOKED_AT,
        )
    ]
    return Stop(
        id=str(number),
        name=leg.name,
        nights_min=least,
        nights_preferred=max(least, leg.nights.preferred),
        nights_max=max(least, leg.nights.most),
        region=place.id,
        sleeping_elevation_m=height,
        travel_days=driving,
        be_there=leg.be_there,
        evenings_on_the_way=max(driving_days(approach, departure.daily_km) - 1, 0),
        evenings_on_the_way_back=max(driving - 1, 0),
        approach_known=leg.approach_km is not None,
        closures=tuple(closures),
        barriers=(
            *_barriers(leg, place, kits),
            *_too_dangerous(place, kits, trip.danger_barred_from(leg)),
            *_outside_permit(leg, trip),
        ),
        permit=leg.permit,
    )


def _barriers(leg: Leg, place: Place, kits: Sequence[Kit]) -> Iterator[Barrier]:
    """Yield the nights that hazards forbid to each kit, unless the trip accepts the kind."""
    for finding in place.findings:
        if finding.kind in leg.accept:
            continue
        by_kit: dict[bytes, list[str]] = {}
        for kit in kits:
            met = shielded_level(finding.level_by_day, finding.kind, protections(kit))
            barred = met >= Level.PROHIBITIVE
            if barred.any():
                by_kit.setdefault(barred.tobytes(), []).append(kit.id)
        for days, concerned in by_kit.items():
            yield Barrier(
                reason=f"{hazard_kind(finding.kind).title.lower()} ({finding.source})",
                by_day=np.frombuffer(days, dtype=bool),
                kits=None if len(concerned) == len(kits) else tuple(concerned),
            )


def _too_dangerous(place: Place, kits: Sequence[Kit], most: float) -> Iterator[Barrier]:
    """Yield the nights that are too likely to be dangerous in each kit."""
    for kit in kits:
        days = place.seasons[kit.id].dangerous >= most
        if days.any():
            title = in_sentence(kit.title)
            reason = f"a night in the {title} has a chance of danger of {100 * most:g} % or more"
            yield Barrier(reason, days, kits=(kit.id,), of_kit=True)


def _permit(name: str, trip: Trip) -> PermitRule:
    """Return a permit; validity that repeats each year bars nights instead."""
    permit = trip.permits[name]
    once = None if permit.valid is None else permit.valid.dates
    return PermitRule(name, permit.longest_stay_days, *(once or ()))


def _outside_permit(leg: Leg, trip: Trip) -> Iterator[Barrier]:
    """Yield the nights of every year on which a leg's permit is not valid."""
    valid = trip.permits[leg.permit].valid if leg.permit is not None else None
    if valid is not None and valid.yearly:
        inside = valid.days()
        # The last day inside is the day of leaving, so its evening is slept elsewhere.
        days = ~(inside & np.roll(inside, -1))
        if days.any():
            yield Barrier(f"permit {leg.permit} not valid", days, danger=False)


def _travel(trip: Trip) -> Travel | None:
    """Return the distances between legs; all adjoin where the trip gives no links."""
    if not trip.links:
        return None
    names = [leg.name for leg in trip.legs]
    km = np.full((len(names),) * 2, np.inf)
    np.fill_diagonal(km, 0.0)
    for link in trip.links:
        one, other = (names.index(name) for name in link.legs)
        km[one, other] = km[other, one] = link.kilometres
    return Travel(km, trip.departure.daily_km)


def kit_in_words(shelter: Shelter, kit: str) -> Iterator[str]:
    """
    Yield how the trip file keeps the kit that is on the road, where it may choose another.

    Parameters
    ----------
    shelter : Shelter
    kit : str
        Its id.

    Yields
    ------
    str
        One sentence, or none.
    """
    if shelter.choose == "first":
        return
    kits = json.dumps([kit, *(other for other in shelter.kits if other != kit)])
    # Add-ons are the first kit's: another must not come by them.
    bare = ", addons = []" if shelter.addons and kit != shelter.kits[0] else ""
    yield (
        "The kit that is on the road stays, else another may be chosen: write under [shelter] "
        f'kits = {kits}, choose = "first"{bare}.'
    )
