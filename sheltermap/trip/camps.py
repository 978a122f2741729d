"""Legs with several camps one above the other, as one leg for each camp.

In: the tables of a trip file. Out: the same with each list of heights spread over legs of its
own, "NAME, camp 1" and so on, and where each leg came from. Assumes nothing that the model
checks: what is no list of heights is left for it to refuse.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from typing import Any

from sheltermap.vocabulary import Problem

MOST_CAMPS = 12
"""judgement: a climb of 6,000 m in steps of 500 m"""

_CAMP = re.compile(r", camp (\d+)$")
_LEG = re.compile(r"^legs\[(\d+)\]")


def one_leg_each(
    tables: dict[str, Any], file: str
) -> tuple[dict[str, Any], list[int], list[Problem]]:
    """
    Return the tables of a trip file with one leg for each camp.

    Parameters
    ----------
    tables : dict
        As TOML has them.
    file : str
        For messages.

    Returns
    -------
    tables : dict
        Unchanged where no leg has a list of heights.
    origins : list of int
        Of each leg, its number in the file, from 1.
    problems : list of Problem
        Lists that cannot be spread: in a free order, or of more camps than nights.
    """
    legs = tables.get("legs")
    if not isinstance(legs, list) or not any(map(_has_list, legs)):
        return tables, list(range(1, len(legs) + 1 if isinstance(legs, list) else 1)), []
    departure = tables.get("departure")
    free = isinstance(departure, dict) and departure.get("order") == "free"
    problems = [
        problem
        for number, leg in enumerate(legs, 1)
        if _has_list(leg)
        for problem in _list_problems(leg, number, free, file)
    ]
    camps = [_of_leg(leg, free) for leg in legs]
    origins = [number for number, of_leg in enumerate(camps, 1) for _ in of_leg]
    names = {
        leg["name"]: [camp["name"] for camp in of_leg]
        for leg, of_leg in zip(legs, camps, strict=True)
        if len(of_leg) > 1 and isinstance(leg.get("name"), str)
    }
    changed = {"legs": list(chain.from_iterable(camps))}
    if isinstance(tables.get("hazards"), list):
        changed["hazards"] = [_of_camps(row, names) for row in tables["hazards"]]
    return tables | changed, origins, problems


def _list_problems(
    leg: Mapping[str, Any], number: int, free: bool, file: str
) -> Iterator[Problem]:
    """Yield why a leg's list of heights cannot be spread."""
    heights, nights = leg["camp_elevation_m"], _three(leg.get("nights"))
    if free:
        mend = "Give one height, or the camps as legs of their own with links."
        key = f"legs[{number}].camp_elevation_m"
        yield Problem(file, key, "one height in a free order", repr(heights), mend)
    elif nights is not None and min(nights) < len(heights):
        mend = "Each camp takes a night at least: add nights or leave out camps."
        expected = f"at least {len(heights)} nights for {len(heights)} camps"
        yield Problem(file, f"legs[{number}].nights", expected, f"{min(nights)}", mend)


def _of_leg(leg: Any, free: bool) -> list[Any]:
    """Return a leg as its camps; in a free order, which takes no list, with the first height."""
    if not _has_list(leg):
        return [leg]
    heights = leg["camp_elevation_m"]
    if free:
        return [leg | {"camp_elevation_m": heights[0]}]
    return list(_camps(leg, heights, _three(leg.get("nights"))))


def camp_number(name: str) -> int | None:
    """
    Return which camp of a list of heights a leg is; None for any other leg.

    Examples
    --------
    >>> camp_number("Pass, camp 2"), camp_number("Pass")
    (2, None)
    """
    found = _CAMP.search(name)
    return int(found[1]) if found else None


def fewest_nights(heights: Sequence[float], needed: Sequence[int]) -> int:
    """
    Return the fewest nights of a list of camps that give each camp those it needs.

    Parameters
    ----------
    heights, needed : sequence
        Of each camp. [m], [nights, 1 or more]

    Returns
    -------
    int

    Examples
    --------
    Evenly split, what is left over from the lowest camp upwards:

    >>> fewest_nights([2700, 3250], [1, 2]), fewest_nights([2700, 3150], [2, 1])
    (4, 3)
    """
    totals = range(len(heights), len(heights) * max(needed) + 1)
    return next(
        total
        for total in totals
        if all(has >= needs for has, needs in zip(_shares(total, heights), needed, strict=True))
    )


def as_written(problems: Iterable[Problem], origins: Sequence[int]) -> tuple[Problem, ...]:
    """
    Return problems with the legs' numbers of the file, each once.

    Parameters
    ----------
    problems : iterable of Problem
    origins : sequence of int
        From `one_leg_each`.

    Returns
    -------
    tuple of Problem
    """

    def number(found: re.Match[str]) -> str:
        place = int(found[1])
        return f"legs[{origins[place - 1] if place <= len(origins) else place}]"

    told = (replace(one, key=_LEG.sub(number, one.key)) for one in problems)
    return tuple(dict.fromkeys(told))


def _has_list(leg: Any) -> bool:
    """Return whether a leg has a list of heights."""
    heights = leg.get("camp_elevation_m") if isinstance(leg, dict) else None
    return (
        isinstance(heights, list)
        and 2 <= len(heights) <= MOST_CAMPS
        and all(isinstance(one, int | float) and not isinstance(one, bool) for one in heights)
    )


def _three(nights: Any) -> list[int] | None:
    """Return least, preferred and most nights; None where they are written otherwise."""
    counts = [nights] * 3 if isinstance(nights, int) else nights
    if isinstance(counts, list) and len(counts) == 3 and all(type(one) is int for one in counts):
        return counts
    return None


def _camps(
    leg: dict[str, Any], heights: Sequence[float], nights: Sequence[int] | None
) -> Iterator[dict[str, Any]]:
    """Yield a leg for each camp; where nights are too few each has one, as already told."""
    highest = heights.index(max(heights))
    for place, height in enumerate(heights):
        camp = {key: value for key, value in leg.items() if key != "be_there"}
        camp["camp_elevation_m"] = height
        if isinstance(leg.get("name"), str):
            camp["name"] = f"{leg['name']}, camp {place + 1}"
        if nights is not None:
            camp["nights"] = [max(_shares(count, heights)[place], 1) for count in nights]
        if place and "kilometres" in leg:
            camp |= {"kilometres": 0}  # The way is driven to the first; between them one climbs.
        if place:
            camp.pop("approach_km", None)
        if place == highest and "be_there" in leg:
            camp["be_there"] = leg["be_there"]
        yield camp


def _shares(nights: int, heights: Sequence[float]) -> list[int]:
    """Return the nights of each camp: split evenly, what is left over from the lowest upwards.

    With more nights in all no camp has fewer, so least, preferred and most keep their order.
    """
    even, rest = divmod(nights, len(heights))
    upwards = sorted(range(len(heights)), key=lambda place: heights[place])
    return [even + (place in upwards[:rest]) for place in range(len(heights))]


def _of_camps(row: Any, names: Mapping[str, Sequence[str]]) -> Any:
    """Return a row of hazards that names every camp of the legs it names."""
    legs = row.get("legs") if isinstance(row, dict) else None
    if not isinstance(legs, list) or not all(isinstance(name, str) for name in legs):
        return row
    return row | {"legs": [camp for name in legs for camp in names.get(name, [name])]}
