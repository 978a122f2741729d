"""What the load comes to, in sentences.

In: loads and limits of ``economy.load``. Out: the answer first, then what is exceeded,
unknown or assumed. User text in the sentences is as written: whoever shows it escapes it.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheltermap.economy.load import LegLoad
from sheltermap.economy.ratings import OVER, UNKNOWN, Limit, rounded_down, rounded_up
from sheltermap.economy.unknown import all_known, total
from sheltermap.shelters.kit import Kit
from sheltermap.trip.model import Leg, Vehicle
from sheltermap.vocabulary import grouped, listed

NamedLimit = tuple[str, Limit]
"""The name of a leg, empty for the whole journey, and one of its limits."""


def excess_sentence(leg: str, limit: Limit) -> str:
    """Return an exceeded rating as a sentence, the leg's name first."""
    where = f"{leg}: " if leg else ""
    load, rating = _exceeded(limit)
    return (
        f"{where}{limit.name} exceeded by {rounded_up(load - rating)} {limit.unit} "
        f"({grouped(rounded_up(load))} of {grouped(rating)} {limit.unit})."
    )


def _exceeded(limit: Limit) -> tuple[float, float]:
    """Return the load and the rating of a limit that is exceeded."""
    if limit.load is None or limit.rating is None:
        raise ValueError(f"{limit.name}: expected a known load and rating, got {limit}")
    return limit.load, limit.rating


def supplies_missing(leg: str, water: float | None, fuel: float | None) -> str:
    """Return which supplies of a leg are unknown; empty when none is."""
    missing = [
        words
        for words, litres in (("the drinking water", water), ("the air density", fuel))
        if litres is None
    ]
    return f"{' and '.join(missing)} of {leg}" if missing else ""


def unknowns(
    loads: Sequence[LegLoad], limits: Sequence[NamedLimit], without_kilometres: Sequence[str]
) -> tuple[str, ...]:
    """Return what is not known and what would tell it, once each, in the order it comes up."""
    rows = [f"{limit.name}: needs {limit.missing}" for _, limit in limits if limit.margin is None]
    if without_kilometres:
        rows.append(f"fuel: needs kilometres of {listed(without_kilometres)}")
    no_air = [
        load.name
        for load in loads
        if load.fuel_leg_l is None and load.name not in without_kilometres
    ]
    if no_air:
        rows.append(f"fuel: needs the climate of {listed(no_air)}")
    return tuple(dict.fromkeys(rows))


def assumptions(legs: Sequence[Leg], vehicle: Vehicle) -> tuple[str, ...]:
    """Return what stands in for figures the trip does not give."""
    rows = []
    no_water = [leg.name for leg in legs if leg.water_gap_days is None]
    no_fuel = [leg.name for leg in legs if leg.fuel_gap_km is None]
    if no_water:
        rows.append(
            f"Days between water points not given for {', '.join(no_water)}: "
            f"a full tank of {vehicle.water_tank_l:.0f} L is counted; "
            "whether it lasts is not checked."
        )
    if no_fuel:
        rows.append(
            f"Distance between fuel stops not given for {', '.join(no_fuel)}: "
            f"a full tank of {vehicle.tank_l:.0f} L is counted; whether it lasts is not checked."
        )
    return tuple(rows)


def load_sentence(
    answer: str,
    kit: Kit,
    loads: Sequence[LegLoad],
    worst: LegLoad | None,
    limits: Sequence[NamedLimit],
    unknown: Sequence[str],
    assumed: Sequence[str],
) -> str:
    """Return the answer for the top of a page."""
    if answer == UNKNOWN:
        return (
            f"{kit.title}: whether the vehicle carries it is unknown: "
            f"{'; '.join(unknown)}.{_heaviest_supplies(loads)}"
        )
    if answer == OVER:
        return _over_sentence(kit, worst, [pair for pair in limits if pair[1].exceeded])
    # Nothing fits while a mass is unknown, so the tightest leg is known here.
    assert worst is not None and worst.aboard_kg is not None and worst.margin_kg is not None
    return (
        f"{kit.title}: the heaviest start is {worst.name}, with "
        f"{grouped(rounded_up(worst.aboard_kg))} kg on board, "
        f"{grouped(rounded_down(worst.margin_kg))} kg under the rated mass."
        f"{_unchecked(assumed)}"
    )


def _over_sentence(kit: Kit, worst: LegLoad | None, exceeded: Sequence[NamedLimit]) -> str:
    """Return what is exceeded, the rated mass first."""
    leg, limit = exceeded[0]
    if worst is not None and worst.margin_kg is not None and worst.margin_kg < 0:
        leg, limit = worst.name, worst.limits[0]
    load, rating = _exceeded(limit)
    others = dict.fromkeys(other.name for _, other in exceeded if other.name != limit.name)
    where = f"starts {leg}" if leg else "is"
    more = f" Also exceeded: {'; '.join(others)}." if others else ""
    excess = f"{rounded_up(load - rating)} {limit.unit}"
    return (
        f"{kit.title}: the vehicle {where} {excess} over the {limit.name} of "
        f"{grouped(rating)} {limit.unit}.{more}"
    )


def _unchecked(assumed: Sequence[str]) -> str:
    """Return that a fit rests on assumptions, where it does."""
    return " Whether full tanks last is not checked on every leg." if assumed else ""


def _heaviest_supplies(loads: Sequence[LegLoad]) -> str:
    """Return a sentence on the leg that starts with most water and fuel, if all are known."""
    masses = all_known(total((load.parts_kg["water"], load.parts_kg["fuel"])) for load in loads)
    if masses is None:
        return ""
    most = loads[masses.index(max(masses))]
    return (
        f" The heaviest supplies are {most.water_aboard_l:.0f} L of water and "
        f"{most.fuel_aboard_l:.0f} L of fuel, on {most.name}."
    )
