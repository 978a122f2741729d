"""What the tables of a trip file cannot know of each other, all of it at once.

In: a trip whose tables are each right by themselves, and the name of its file. Out: one
Problem for each thing wrong. Assumes nothing of other files; climate, regions and kits
are checked by the modules that read them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

from sheltermap.fuel import fuel_when_weighed
from sheltermap.hazards.altitude import (
    CLIMB_A_NIGHT_M,
    MOVES_COUNT_FROM_M,
    RULE_STARTS_M,
    ascent_problem,
    move_refused,
    nights_needed,
    rest_nights,
)
from sheltermap.planner.checks import MOST_FREE_STOPS
from sheltermap.trip.camps import fewest_nights
from sheltermap.trip.log_checks import log_problems
from sheltermap.validation import did_you_mean
from sheltermap.vocabulary import Problem

if TYPE_CHECKING:
    from sheltermap.trip.model import HazardRow, Leg, Link, Trip, Vehicle

Wrong: TypeAlias = Callable[[str, str, str, str], Problem]
"""Makes a problem of the trip's file from its key, what was expected, what came, the mending."""


def problems_between(trip: Trip, file: str, origins: Sequence[int]) -> Iterator[Problem]:
    """
    Yield what is wrong with a trip as a whole.

    Parameters
    ----------
    trip : Trip
    file : str
        Its file, for messages.
    origins : sequence of int
        Of each leg, its number in the file: the camps of one list share it.

    Yields
    ------
    Problem
    """

    def wrong(key: str, expected: str, got: str, mend: str) -> Problem:
        return Problem(file, key, expected, got, mend)

    if len(trip.party.sleepers) > trip.party.people:
        yield wrong(
            "party.sleepers",
            f"at most the {trip.party.people} of party.people",
            str(len(trip.party.sleepers)),
            "Count everybody who sleeps in party.people.",
        )
    yield from _vehicle_problems(trip.vehicle, wrong)
    if trip.money.euro not in (None, 1) and trip.money.currency == "EUR":
        yield wrong(
            "money.euro",
            "no price of a euro where the currency is EUR",
            f"{trip.money.euro:g}",
            "Write your own currency as `currency`, or remove `euro`.",
        )
    yield from _leg_problems(trip, wrong)
    yield from _row_problems(trip, wrong)
    yield from _date_problems(trip, wrong)
    yield from log_problems(trip, wrong)
    yield from _approach_problems(trip, wrong)
    if trip.departure.order == "free":
        yield from _free_order_problems(trip, wrong)
        yield from _home_height_asked(trip, trip.legs, wrong)
    else:
        yield from _fixed_order_problems(trip, wrong)
        yield from _ascent_problems(trip, origins, wrong)


def _vehicle_problems(vehicle: Vehicle, wrong: Wrong) -> Iterator[Problem]:
    """Yield weighings that no scale could show."""
    if vehicle.weighed_kg is None:
        return
    fuel = fuel_when_weighed(vehicle)
    if vehicle.weighed_kg <= fuel:
        yield wrong(
            "vehicle.weighed_kg",
            f"more than the {fuel:,.0f} kg of fuel in the tank",
            f"{vehicle.weighed_kg:g}",
            "Give kilograms, not tonnes; or state tank_l or weighed_with_fuel_l.",
        )
    rear = vehicle.weighed_rear_kg
    if rear is not None and rear > vehicle.weighed_kg:
        yield wrong(
            "vehicle.weighed_rear_kg",
            f"at most weighed_kg, {vehicle.weighed_kg:g}",
            f"{rear:g}",
            "Give both from the same weighing; they may have changed places.",
        )


def _leg_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield names used twice and names of nothing."""
    names = [leg.name for leg in trip.legs]
    for number, leg in enumerate(trip.legs, 1):
        if names.index(leg.name) != number - 1:
            yield wrong(
                f"legs[{number}].name",
                "a name of its own",
                repr(leg.name),
                "Number repeated visits, for example 'Steppe, return'.",
            )
        if leg.permit is not None and leg.permit not in trip.permits:
            yield wrong(
                f"legs[{number}].permit",
                "one of [permits]: " + (", ".join(trip.permits) or "there are none"),
                repr(leg.permit),
                did_you_mean(leg.permit, trip.permits, "Add the permit or correct its name."),
            )
        if leg.region is not None and trip.files.regions is None:
            yield wrong(
                f"legs[{number}].region",
                "a region file under [files]",
                "none",
                'Add regions = "regions.geojson", or give the leg a place.',
            )


def _row_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield rows of hazards and links that name no leg, or no pair of legs."""
    names = [leg.name for leg in trip.legs]
    tables: dict[str, Sequence[HazardRow | Link]] = {"hazards": trip.hazards, "links": trip.links}
    for key, rows in tables.items():
        for number, row in enumerate(rows, 1):
            for name in row.legs:
                if name not in names:
                    yield wrong(
                        f"{key}[{number}].legs",
                        "the name of a leg",
                        repr(name),
                        did_you_mean(name, names),
                    )
    pairs = [frozenset(link.legs) for link in trip.links]
    for number, pair in enumerate(pairs, 1):
        if len(pair) == 1 or pairs.index(pair) != number - 1:
            yield wrong(
                f"links[{number}].legs",
                "two different legs that no other link joins",
                repr(list(trip.links[number - 1].legs)),
                "Give one link for each pair of legs.",
            )


def _approach_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield ways to a first camp that are longer than the leg, or that links state already."""
    for number, leg in enumerate(trip.legs, 1):
        if leg.approach_km is None:
            continue
        if trip.departure.order == "free":
            yield wrong(
                f"legs[{number}].approach_km",
                "none in a free order",
                f"{leg.approach_km:g}",
                "Leave it out: the kilometres of [[links]] are the way there.",
            )
        elif leg.kilometres is not None and leg.approach_km > leg.kilometres:
            yield wrong(
                f"legs[{number}].approach_km",
                f"at most the leg's kilometres, {leg.kilometres:g}",
                f"{leg.approach_km:g}",
                "The way to the first camp is part of the leg's kilometres.",
            )


def _date_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield evenings that cannot be kept, and stays longer than the journey."""
    first, finish = trip.departure.earliest, trip.departure.finish_by
    claimed: dict[date, str] = {}
    for number, leg in enumerate(trip.legs, 1):
        for day in dict.fromkeys(leg.be_there):
            if not first <= day < finish:
                yield wrong(
                    f"legs[{number}].be_there",
                    f"an evening from {first} to the one before {finish}",
                    str(day),
                    "Correct the date or widen the journey.",
                )
            elif claimed.setdefault(day, leg.name) != leg.name:
                yield wrong(
                    f"legs[{number}].be_there",
                    "an evening that no other leg claims",
                    f"{day}, as for {claimed[day]!r}",
                    "Keep it for one of them.",
                )
    least = sum(leg.nights.least for leg in trip.legs)
    if least > (finish - first).days:
        yield wrong(
            "departure.finish_by",
            f"at least {least} days after {first}",
            str(finish),
            "Shorten stays or finish later.",
        )


def _free_order_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield why legs cannot be put in a free order."""
    apart = _apart(trip)
    if apart:
        yield wrong(
            "links",
            f"ways that join every leg to {trip.legs[0].name!r}, over others too",
            f"none to {', '.join(map(repr, apart))}",
            "Add links, or remove all: then any leg may follow any other.",
        )
    if len(trip.legs) > MOST_FREE_STOPS:
        yield wrong(
            "departure.order",
            f"at most {MOST_FREE_STOPS} legs in a free order",
            f"{len(trip.legs)} legs",
            "Fix the order, or join legs.",
        )
    for number, leg in enumerate(trip.legs, 1):
        if leg.permit is not None:
            yield wrong(
                f"legs[{number}].permit",
                "no permit in a free order",
                repr(leg.permit),
                'Set order = "fixed", since the days since entry depend on it.',
            )


def _apart(trip: Trip) -> list[str]:
    """Return the legs that no links lead to from the first one; none without any link."""
    names = {leg.name for leg in trip.legs}
    if not trip.links or any(not names.issuperset(link.legs) for link in trip.links):
        return []
    reached, waiting = set(), [trip.legs[0].name]
    while waiting:
        name = waiting.pop()
        reached.add(name)
        joined = {one for link in trip.links if name in link.legs for one in link.legs}
        waiting += joined - reached
    return [leg.name for leg in trip.legs if leg.name not in reached]


def _fixed_order_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield what only a free order can use, and permits that are left and entered again."""
    if trip.links:
        yield wrong(
            "links",
            'departure.order = "free"',
            '"fixed"',
            "Free the order, or remove the links: a fixed order does not use them.",
        )
    for name in trip.permits:
        inside = [i for i, leg in enumerate(trip.legs) if leg.permit == name]
        if inside and inside[-1] - inside[0] + 1 != len(inside):
            outside = next(leg.name for leg in trip.legs[inside[0] :] if leg.permit != name)
            yield wrong(
                f"permits.{name}",
                "legs that follow each other",
                f"{outside!r} between them",
                "Name a second permit for the second entry.",
            )


def _ascent_problems(trip: Trip, origins: Sequence[int], wrong: Wrong) -> Iterator[Problem]:
    """Yield climbs that no allowed stay is long enough for, whichever way round is best."""
    ways = {"forward": [1], "reverse": [-1], "either": [1, -1]}[trip.departure.direction]
    yield from _home_height_asked(trip, [trip.legs[0 if step > 0 else -1] for step in ways], wrong)
    found = [list(_climbs(trip, step, origins, wrong)) for step in ways]
    if all(found):
        yield from found[0]


def _home_height_asked(trip: Trip, first: Iterable[Leg], wrong: Wrong) -> Iterator[Problem]:
    """Yield that the height before the first leg is not stated where the ascent rule needs it.

    `first` are the legs that may be the first.
    """
    if trip.departure.from_elevation_m is not None:
        return
    for leg in first:
        if leg.camp_elevation_m is not None and leg.camp_elevation_m > RULE_STARTS_M:
            yield wrong(
                "departure.from_elevation_m",
                "the height at which you sleep before the first leg",
                "nothing",
                f"The first camp may be {leg.name!r} at {leg.camp_elevation_m:,.0f} m: whether "
                "the climb there is slow enough depends on it.",
            )
            return


def _climbs(trip: Trip, step: int, origins: Sequence[int], wrong: Wrong) -> Iterator[Problem]:
    """Yield the climbs that are too fast one way round."""
    legs = list(enumerate(trip.legs, 1))[::step]
    home = trip.departure.from_elevation_m or 0.0
    heights = [home, *(leg.camp_elevation_m for _, leg in legs)]
    climbs = [
        (number, leg, below, above)
        for (number, leg), (below, above) in zip(legs, pairwise(heights), strict=True)
        if below is not None and above is not None
    ]
    needed = {
        number: nights_needed(below, above) + _evenings_on_the_way(trip, leg, step)
        for number, leg, below, above in climbs
    }
    for number, leg, below, above in climbs:
        why = ascent_problem(below, above, leg.nights.most, _evenings_on_the_way(trip, leg, step))
        if not why:
            continue
        if move_refused(below, above):
            most = max(below, MOVES_COUNT_FROM_M) + CLIMB_A_NIGHT_M
            expected = f"at most {most:,.0f} m after a camp at {below:,.0f} m"
            yield wrong(f"legs[{number}].camp_elevation_m", expected, f"{above:,.0f} m", why)
            continue
        camps = [n for n, origin in enumerate(origins, 1) if origin == origins[number - 1]]
        if len(camps) > 1:
            expected, got = _of_a_list(trip, camps, needed), "fewer"
        else:
            rest = rest_nights(below, above)
            of_rest = f", {rest} of them for rest" if rest > 0 else ""
            expected, got = (
                f"{needed[number]} nights or more{of_rest}",
                f"at most {leg.nights.most}",
            )
        yield wrong(f"legs[{number}].nights", expected, got, why)


def _of_a_list(trip: Trip, camps: Sequence[int], needed: Mapping[int, int]) -> str:
    """Return how many nights a list of camps needs in all, for the climb to each of them."""
    heights = [trip.legs[number - 1].camp_elevation_m or 0.0 for number in camps]
    fewest = fewest_nights(heights, [max(needed.get(number, 1), 1) for number in camps])
    return f"{fewest} nights or more for its {len(camps)} camps"


def _evenings_on_the_way(trip: Trip, leg: Leg, step: int) -> int:
    """Return the first evenings of a leg that are slept before its camp, as far as written."""
    driven = leg.kilometres if step < 0 or leg.approach_km is None else leg.approach_km
    return max(math.ceil((driven or 0.0) / trip.departure.daily_km) - 1, 0)
