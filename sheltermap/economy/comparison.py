"""Choosing the kit for the whole journey: rows, what is beaten, what would change it.

In: kits with their nights, a planned journey. Out: a KitComparison, sentence first.
Assumes the first kit is the traveller's choice, and judges by a stated criterion: money
plus rough nights at their price.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sheltermap.economy.bedding_sweep import BeddingStep
from sheltermap.economy.changes import Change, changes
from sheltermap.economy.choice import DANGER_MARGIN_NIGHTS, better_kit, dominators, reasons_against
from sheltermap.economy.journey import Journey
from sheltermap.economy.prices import given_price
from sheltermap.economy.prices import money as money_words
from sheltermap.economy.rows import ComparedKit, KitNights, KitRow, kit_row, rough_night_price
from sheltermap.economy.tradeoff import Traded, landing_known, open_questions, traded
from sheltermap.economy.unknown import difference
from sheltermap.vocabulary import listed


@dataclass(frozen=True)
class KitComparison:
    """Every kit over the journey, and which is the better one.

    Attributes
    ----------
    sentence : str
        The answer, for the top of a page. User text in it is as written.
    criterion : str
        What "better" means here, in words with the price used.
    rows : tuple of KitRow
        The choice first, then in the order given.
    reasons_against : tuple of tuple of str
        Row by row: every reason why the kit cannot be taken; empty when it can.
    dominated_by : tuple of tuple of int
        Row by row: positions of the rows that are better on every count.
    better : int or None
        Position of the better kit; None when no row can be judged.
    changes : tuple of Change
        Settings at which another kit becomes the better one.
    currency : str
        A label.
    traded : tuple of Traded
        The same kits in one table, the barest first.
    open_questions : tuple of str
        What is unknown there, each with the key that would tell it.
    landing_known : bool
        Whether freight and duty are stated.
    bedding_steps : tuple of BeddingStep
        What each warmer bedding would do in the choice; empty where it was not asked.
    """

    sentence: str
    criterion: str
    rows: tuple[KitRow, ...]
    reasons_against: tuple[tuple[str, ...], ...]
    dominated_by: tuple[tuple[int, ...], ...]
    better: int | None
    changes: tuple[Change, ...]
    currency: str
    traded: tuple[Traded, ...]
    open_questions: tuple[str, ...]
    landing_known: bool
    bedding_steps: tuple[BeddingStep, ...] = ()

    @property
    def trade_off(self) -> tuple[int, ...]:
        """Return positions of the rows that can be taken and that no other row beats."""
        return tuple(
            number
            for number in range(len(self.rows))
            if not self.dominated_by[number] and not self.reasons_against[number]
        )


def kit_comparison(
    compared: Sequence[ComparedKit],
    journey: Journey,
    bedding: Mapping[str | float, Sequence[KitNights]] | None = None,
) -> KitComparison:
    """
    Return every kit over the journey, judged.

    Parameters
    ----------
    compared : sequence of ComparedKit
        The traveller's choice first, at least one.
    journey : Journey
    bedding : mapping, optional
        By bedding (a word, or a comfort temperature [degC]): the nights of every kit with
        that bedding, in their order. Left out, bedding is not swept.

    Returns
    -------
    KitComparison

    Raises
    ------
    ValueError
        If there is no kit.
    """
    if not compared:
        raise ValueError("expected at least one kit, got none")
    money = journey.trip.money
    rows = tuple(kit_row(one, journey) for one in compared)
    better = better_kit(rows)
    table = traded(compared, rows)
    price = given_price(rough_night_price(money), money.currency)
    no_fuel = journey.without_kilometres
    fuel = (
        f" Added fuel is left out, since it needs kilometres of {listed(no_fuel)}."
        if no_fuel
        else ""
    )
    return KitComparison(
        sentence=_sentence(rows, better, money.currency, price),
        criterion=(
            "The better kit is the one of least cost: purchase, freight, duty and added "
            f"fuel, plus {price} for each rough night. Kits that cannot be taken, and kits with "
            f"clearly more dangerous nights than the safest, are never better.{fuel}"
        ),
        rows=rows,
        reasons_against=tuple(reasons_against(row) for row in rows),
        dominated_by=dominators(rows),
        better=better,
        changes=changes(compared, rows, journey, bedding),
        currency=money.currency,
        traded=table,
        open_questions=tuple(open_questions(journey.trip, table)),
        landing_known=landing_known(money),
    )


def _sentence(rows: Sequence[KitRow], better: int | None, currency: str, price: str) -> str:
    """Return the answer for the top of a page; titles stand so that a name of any form fits."""
    chosen = rows[0]
    if chosen.rough_nights is None:
        opening = f"{chosen.title}: cannot be judged, since not all nights are known."
    else:
        opening = (
            f"{chosen.title}: {chosen.rough_nights:.1f} of {chosen.nights} nights are rough, for "
            f"{_costing(chosen, currency)} over the journey."
        )
    reasons = reasons_against(chosen)
    if reasons:
        opening += f" This kit cannot be taken: {' '.join(reasons)}"
    if better is None:
        return f"{opening} No kit compared can be taken and judged."
    if better == 0:
        return f"{opening} No kit compared is better if avoiding one is worth {price} to you."
    best = rows[better]
    less = difference(chosen.dangerous_nights, best.dangerous_nights)
    if reasons:
        why = "Kit that can be taken"
    elif less is not None and less > DANGER_MARGIN_NIGHTS:
        why = f"Safer kit, {best.dangerous_nights:.1f} dangerous nights instead of "
        why += f"{chosen.dangerous_nights:.1f}"
    else:
        why = f"Better kit, if avoiding a rough night is worth {price} to you"
    return (
        f"{opening} {why}: {best.title}, {best.rough_nights:.1f} rough nights for "
        f"{_costing(best, currency)}."
    )


def _costing(row: KitRow, currency: str) -> str:
    """Return what a kit costs, and over which part where its fuel is not known."""
    if row.money is None:
        return f"{money_words(row.purchase + row.freight + row.duty, currency)} before fuel"
    return money_words(row.money, currency)
