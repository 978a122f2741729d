"""What the log of a trip must fit: its legs, their order, its sleepers.

In: a trip whose rows are each right by themselves. Out: one Problem for each thing wrong.
Assumes that kits are checked where kit files are read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from sheltermap.trip.log import DoneRow, SleptRow
from sheltermap.validation import did_you_mean
from sheltermap.vocabulary import Problem

if TYPE_CHECKING:
    from sheltermap.trip.checks import Wrong
    from sheltermap.trip.model import Trip


def log_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """
    Yield what in the log does not fit the trip.

    Parameters
    ----------
    trip : Trip
    wrong : callable
        Makes a problem from its key, what was expected, what came, the mending.

    Yields
    ------
    Problem
    """
    names = [leg.name for leg in trip.legs]
    logs: dict[str, Sequence[DoneRow | SleptRow]] = {"done": trip.done, "slept": trip.slept}
    strange = [
        (f"{table}[{number}].leg", row.leg)
        for table, rows in logs.items()
        for number, row in enumerate(rows, 1)
        if row.leg is not None and row.leg not in names
    ]
    for key, name in strange:
        yield wrong(key, "the name of a leg", repr(name), did_you_mean(name, names))
    if not any(key.startswith("done") for key, _ in strange):
        yield from _order_problems(trip, names, wrong)
    yield from _date_problems(trip, wrong)
    for number, row in enumerate(trip.slept, 1):
        yield from _sleeper_problems(trip, number, row, wrong)
        if row.leg in names and first_night(trip, row) is None:
            yield wrong(
                f"slept[{number}].first",
                "the evening of the first night, of a leg that is not under [[done]] once",
                "none",
                "Write for example first = 2027-05-02.",
            )


def first_night(trip: Trip, row: SleptRow) -> date | None:
    """Return the first evening of a row, its own or the leg's; None where neither is known."""
    if row.first is not None:
        return row.first
    arrivals = [done.arrived for done in trip.done if done.leg == row.leg]
    return arrivals[0] if len(arrivals) == 1 else None


def _order_problems(trip: Trip, names: Sequence[str], wrong: Wrong) -> Iterator[Problem]:
    """Yield rows that repeat a leg, or are no way through the trip."""
    done = [row.leg for row in trip.done]
    for number, name in enumerate(done, 1):
        if name in done[: number - 1]:
            yield wrong(
                f"done[{number}].leg",
                "a leg that is not done already",
                repr(name),
                "Log a leg once; a second visit is a leg of its own, as 'Steppe, return'.",
            )
            return
    if trip.departure.order == "free":
        return
    ways = {
        "forward": [names],
        "reverse": [names[::-1]],
        "either": [names, names[::-1]],
    }[trip.departure.direction]
    if not any(way[: len(done)] == done for way in ways):
        way = max(ways, key=lambda one: _alike(one, done))
        number = _alike(way, done)
        yield wrong(
            f"done[{number + 1}].leg",
            f"{way[number]!r}, the next leg of the trip",
            repr(done[number]),
            "Put the rows and the legs in the order you travelled, and remove legs left out.",
        )


def _alike(way: Sequence[str], done: Sequence[str]) -> int:
    """Return how many of the first legs of a way are done in its order."""
    pairs = zip(way, done, strict=False)
    return next((number for number, (one, other) in enumerate(pairs) if one != other), len(done))


def _date_problems(trip: Trip, wrong: Wrong) -> Iterator[Problem]:
    """Yield stays that overlap, and stays without an end before others."""
    for number, (row, after) in enumerate(pairwise(trip.done), 1):
        if row.left is None:
            yield wrong(
                f"done[{number}].left",
                "the day you left; only the last row may lack it",
                "none",
                "Write for example left = 2027-05-12.",
            )
        elif after.arrived < row.left:
            yield wrong(
                f"done[{number + 1}].arrived",
                f"{row.left} or later, when the stay before it ends",
                str(after.arrived),
                "Correct one of the two dates.",
            )


def _sleeper_problems(trip: Trip, number: int, row: SleptRow, wrong: Wrong) -> Iterator[Problem]:
    """Yield a row whose sleeper is not known."""
    names = [sleeper.name for sleeper in trip.party.sleepers]
    alone = trip.party.people == 1
    if row.who is None and not alone:
        yield wrong(
            f"slept[{number}].who",
            "the name of one of [[party.sleepers]], since more than one sleeps",
            "none",
            f"Write who = {names[0]!r}."
            if names
            else 'Give each sleeper a name: [[party.sleepers]] name = "A"; then who = "A".',
        )
    elif row.who is not None and row.who not in names:
        yield wrong(
            f"slept[{number}].who",
            "the name of one of [[party.sleepers]]",
            repr(row.who),
            did_you_mean(row.who, names, "Give the sleeper a row with that name."),
        )
