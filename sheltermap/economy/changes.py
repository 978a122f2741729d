"""What would change the answer: settings at which another kit becomes the better one.

In: kit rows, and what they were made of. Out: one Change for each setting and direction,
or one that says nothing changes. Assumes all else stays as it is, so another party sleeps
as this one does. Money is a straight line in each price, so those thresholds are exact,
not searched for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from sheltermap.economy.choice import better_kit
from sheltermap.economy.journey import Journey
from sheltermap.economy.prices import beyond_price
from sheltermap.economy.ratings import missing_masses, rounded_up
from sheltermap.economy.rows import ComparedKit, KitNights, KitRow, kit_row, rough_night_price
from sheltermap.economy.unknown import all_known
from sheltermap.shelters.fitting import carried
from sheltermap.suitability.titles import in_sentence
from sheltermap.trip.model import Money, Vehicle
from sheltermap.vocabulary import grouped, listed

_Setting = tuple[str, str, str]
"""A setting's key, what it is for people, and its unit."""

_Line = tuple[float, float]
"""A straight line: its height at zero, and its slope."""

_LARGEST_PARTY = 8  # judgement: more people take more than one vehicle.

_NONE_LEFT = {
    "money.fuel_price": "no kit compared stays inside the budget",
    "money.freight_per_kg": "no kit compared stays inside the budget",
    "vehicle.rated_kg": "the vehicle carries no kit compared",
    "party.people": "no kit compared can be taken",
    "party.bedding": "no kit compared can be taken and judged",
}
"""What it means when no kit is left, by setting; a rough night's price excludes none."""


@dataclass(frozen=True)
class Change:
    """A setting that decides between kits, or one that does not.

    Attributes
    ----------
    setting : str
        Key of the trip file, for example "money.fuel_price".
    words : str
        What it is, for people.
    unit : str
        Unit of `now` and `threshold`; empty for words.
    now : float or str or None
        As the trip has it; None is not given.
    direction : {"above", "below", "with", ""}
        On which side of the threshold the other kit is better; empty when none is.
    threshold : float or str or None
        None when nothing changes the answer.
    kit, title : str or None
        The kit that becomes the better one; None when none can be taken there.
    sentence : str
        The same for people. User text in it is as written.
    """

    setting: str
    words: str
    unit: str
    now: float | str | None
    direction: str
    threshold: float | str | None
    kit: str | None
    title: str | None
    sentence: str


@dataclass(frozen=True)
class _Price:
    """A price that money is a straight line in."""

    setting: str
    words: str
    per: str
    now: float
    cost_slope: Callable[[KitRow], float | None]
    journey_slope: Callable[[KitRow], float | None]


def changes(
    compared: Sequence[ComparedKit],
    rows: Sequence[KitRow],
    journey: Journey,
    bedding: Mapping[str | float, Sequence[KitNights]] | None = None,
) -> tuple[Change, ...]:
    """
    Return what would make another kit the better one.

    Parameters
    ----------
    compared, rows : sequence of ComparedKit, sequence of KitRow
        The same kits in the same order.
    journey : Journey
    bedding : mapping, optional
        By bedding (a word, or a comfort temperature [degC]): the nights of every kit with
        that bedding, in their order.

    Returns
    -------
    tuple of Change
        Fuel price, freight, a rough night's price, rated mass, party, bedding: for each
        the nearest threshold either way, or one entry that says there is none.
    """
    found: list[Change] = []
    if all(row.cost is None for row in rows):
        return ()  # Nothing was judged, so nothing can change it.
    for price in _prices(journey.trip.money):
        found += _price_changes(price, rows, journey.trip.money, journey.without_kilometres)
    found += _rated_mass_changes(rows, journey.trip.vehicle)
    found += _party_changes(compared, rows, journey)
    if bedding:
        found += _bedding_changes(compared, rows, journey, bedding)
    return tuple(found)


def _prices(money: Money) -> tuple[_Price, ...]:
    """Return the prices to sweep, with the slope of cost and of the journey's money."""
    return (
        _Price(
            "money.fuel_price",
            "fuel price",
            "a litre",
            money.fuel_price,
            lambda row: row.added_fuel_l,
            lambda row: row.fuel_l,
        ),
        _Price(
            "money.freight_per_kg",
            "freight rate",
            "a kilogram",
            money.freight_per_kg,
            lambda row: row.freight_kg,
            lambda row: row.freight_kg,
        ),
        _Price(
            "money.rough_night_price",
            "price of a rough night",
            "",
            rough_night_price(money),
            lambda row: row.rough_nights,
            lambda row: 0.0,
        ),
    )


def _price_changes(
    price: _Price, rows: Sequence[KitRow], money: Money, without_kilometres: Sequence[str]
) -> list[Change]:
    """Return the nearest price either way at which another kit is better."""
    label = (price.setting, price.words, f"{money.currency} {price.per}".rstrip())
    if without_kilometres and any(price.cost_slope(row) is None for row in rows):
        return [_unknown(label, price.now, f"kilometres of {listed(without_kilometres)}")]
    lines = [_line(row.cost, price.cost_slope(row), price.now) for row in rows]
    budgets = [_line(row.journey_money, price.journey_slope(row), price.now) for row in rows]
    loadable = [not (row.refused or row.load.breaks) for row in rows]

    def best(value: float) -> int | None:
        costs = [_height(line, value) for line in lines]
        affordable = [_within(money.budget, _height(line, value)) for line in budgets]
        fits = [load and pay for load, pay in zip(loadable, affordable, strict=True)]
        return better_kit(rows, costs, fits)

    return _changes_along(
        rows,
        best,
        _crossings(lines, budgets, money.budget),
        price.now,
        label,
    )


def _within(budget: float | None, spent: float | None) -> bool:
    """Return whether money is inside a budget, as far as both are known."""
    return budget is None or spent is None or spent <= budget


def _crossings(
    lines: Sequence[_Line | None], budgets: Sequence[_Line | None], budget: float | None
) -> list[float]:
    """Return where costs meet one another, and where what is spent meets the budget."""
    found = [_crossing(a, b) for a, b in combinations(filter(None, lines), 2)]
    if budget is not None:
        found += [_crossing(line, (budget, 0.0)) for line in filter(None, budgets)]
    return [value for value in found if value is not None]


def _line(value: float | None, slope: float | None, now: float) -> _Line | None:
    """Return (value at zero, slope) of a straight line known at `now`."""
    return None if value is None or slope is None else (value - slope * now, slope)


def _height(line: _Line | None, value: float) -> float | None:
    """Return a straight line's height at a value; unknown where the line is."""
    return None if line is None else line[0] + line[1] * value


def _crossing(left: _Line, right: _Line) -> float | None:
    """Return where two straight lines meet; None for parallel ones."""
    return None if left[1] == right[1] else (right[0] - left[0]) / (left[1] - right[1])


def _rated_mass_changes(rows: Sequence[KitRow], vehicle: Vehicle) -> list[Change]:
    """Return the nearest rated mass either way at which another kit is better."""
    label = ("vehicle.rated_kg", "rated mass", "kg")
    needed = all_known(row.load.needed_rating_kg for row in rows)
    if vehicle.rated_kg is None or needed is None:
        keys = listed(f"vehicle.{key}" for key in missing_masses(vehicle))
        return [_unknown(label, vehicle.rated_kg, keys or "water and fuel of every leg")]
    others = [
        bool(row.refused or row.over_budget) or row.load.exceeds_other_than("rated mass")
        for row in rows
    ]

    def best(value: float) -> int | None:
        fits = [not bad and need <= value for bad, need in zip(others, needed, strict=True)]
        return better_kit(rows, None, fits)

    return _changes_along(rows, best, needed, vehicle.rated_kg, label)


def _changes_along(
    rows: Sequence[KitRow],
    best: Callable[[float], int | None],
    crossings: Sequence[float],
    now: float,
    label: _Setting,
) -> list[Change]:
    """Return the nearest threshold above and below `now`, or one Change that says none."""
    current = best(now)
    found = []
    above = sorted({value for value in crossings if value >= now})
    below = sorted({value for value in crossings if 0 < value <= now}, reverse=True)
    for direction, marks, end in (
        ("below", below, 0.0),
        ("above", above, 2 * max([now, *above]) + 1),
    ):
        for mark, beyond in pairwise([*marks, end]):
            # Between two marks the answer cannot change, so the middle stands for all.
            winner = best((mark + beyond) / 2)
            if winner != current:
                found.append(_change(rows, label, now, direction, mark, winner))
                break
    return found or [_no_change(label, now)]


def _change(
    rows: Sequence[KitRow],
    label: _Setting,
    now: float | str | None,
    direction: str,
    threshold: float | str,
    winner: int | None,
) -> Change:
    """Return one threshold."""
    setting, words, _ = label
    row = None if winner is None else rows[winner]
    what = f"the better choice is the {in_sentence(row.title)}" if row else _NONE_LEFT[setting]
    if isinstance(threshold, str):
        sentence = f"With {threshold} {words} {what}."
    else:
        mark = _shown(label, direction, threshold)
        sentence = f"With a {words} {direction} {mark} {what}."
    return Change(
        *label,
        now,
        direction,
        threshold,
        row.kit if row else None,
        row.title if row else None,
        sentence,
    )


def _shown(label: _Setting, direction: str, threshold: float) -> str:
    """Return a threshold with its unit; a mass is rounded up, so that it is never too low."""
    setting, _, unit = label
    if setting.startswith("money."):
        return beyond_price(threshold, direction, unit)
    return f"{grouped(rounded_up(threshold))} {unit}"


def _no_change(label: _Setting, now: float | str | None) -> Change:
    """Return that a setting does not decide."""
    return Change(*label, now, "", None, None, None, f"No {label[1]} changes the answer.")


def _unknown(label: _Setting, now: float | str | None, needs: str) -> Change:
    """Return that nobody can say whether a setting decides, and what would tell."""
    sentence = f"Whether another {label[1]} would change the answer is unknown: it needs {needs}."
    return Change(*label, now, "", None, None, None, sentence)


def _party_changes(
    compared: Sequence[ComparedKit], rows: Sequence[KitRow], journey: Journey
) -> list[Change]:
    """Return the nearest party either way for which another kit is better."""
    party = journey.trip.party
    label = ("party.people", "party", "people")
    current = better_kit(rows)
    found = []
    for direction, numbers in (
        ("below", range(party.people - 1, 0, -1)),
        ("above", range(party.people + 1, _LARGEST_PARTY + 1)),
    ):
        for people in numbers:
            other = journey.with_tables(party=party.model_copy(update={"people": people}))
            taken = [replace(one, kit=carried(one.kit, people)) for one in compared]
            winner = better_kit([kit_row(one, other) for one in taken])
            if winner != current:
                # "below 3" and "above 1" both mean 2 people.
                mark = people + 1 if direction == "below" else people - 1
                found.append(_change(rows, label, party.people, direction, mark, winner))
                break
    return found or [_no_change(label, party.people)]


def _bedding_changes(
    compared: Sequence[ComparedKit],
    rows: Sequence[KitRow],
    journey: Journey,
    bedding: Mapping[str | float, Sequence[KitNights]],
) -> list[Change]:
    """Return every bedding with which another kit is better."""
    label, worn = ("party.bedding", "bedding", ""), journey.trip.party.bedding
    now = None if worn is None else worn.stated
    current = better_kit(rows)
    found = []
    for name, nights in bedding.items():
        others = [
            kit_row(replace(one, nights=own), journey)
            for one, own in zip(compared, nights, strict=True)
        ]
        winner = better_kit(others)
        if winner != current:
            shown = name if isinstance(name, str) else f"comfort {name:g} degC"
            found.append(_change(rows, label, now, "with", shown, winner))
    return found or [_no_change(label, now)]
