"""Which kit is the better one, and which are beaten on every count.

In: kit rows and prices. Out: reasons against each row, the best row, who dominates whom.
Assumes the criterion the page states: money, plus each rough night at its price.
Danger is no part of it: a kit of clearly more dangerous nights is never the better one.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheltermap.economy.rows import KitRow
from sheltermap.economy.unknown import difference

DANGER_MARGIN_NIGHTS = 0.5
"""Dangerous nights by which a kit is clearly less safe than another. [night] judgement: less
than half an expected night is noise"""

_ROUNDING = 1e-9


def better_kit(
    rows: Sequence[KitRow],
    costs: Sequence[float | None] | None = None,
    fits: Sequence[bool] | None = None,
) -> int | None:
    """
    Return the position of the best kit.

    Parameters
    ----------
    rows : sequence of KitRow
    costs : sequence of float or None, optional
        Cost of each row; its own cost when left out.
    fits : sequence of bool, optional
        Whether each row can be taken; by `reasons_against` when left out.

    Returns
    -------
    int or None
        The first of the cheapest rows that can be taken and are about as safe as the
        safest kit named. None when no row qualifies.
    """
    judged = _judged(
        rows,
        [row.cost for row in rows] if costs is None else costs,
        [not reasons_against(row) for row in rows] if fits is None else fits,
    )
    if not judged:
        return None
    # A kit that nobody asked for, the choice with more bought to it, makes no other unsafe.
    asked = [row for row in judged if not rows[row[1]].remedy]
    safest = min(dangerous for _, _, dangerous in asked or judged)
    # Among equal costs the first row wins.
    return min(row[:2] for row in judged if row[2] <= safest + DANGER_MARGIN_NIGHTS)[1]


def _judged(
    rows: Sequence[KitRow], costs: Sequence[float | None], fits: Sequence[bool]
) -> list[tuple[float, int, float]]:
    """Return cost, position and dangerous nights of each row that can be taken and judged."""
    return [
        (cost, number, row.dangerous_nights)
        for number, (row, cost, fit) in enumerate(zip(rows, costs, fits, strict=True))
        if fit and cost is not None and row.dangerous_nights is not None
    ]


def reasons_against(row: KitRow) -> tuple[str, ...]:
    """Return every reason why a kit cannot be taken."""
    budget = ("The journey costs more than the budget.",) if row.over_budget else ()
    return row.refused + row.load.breaks + budget


def dominators(rows: Sequence[KitRow]) -> tuple[tuple[int, ...], ...]:
    """
    Return for each row the positions of the rows that beat it on every count.

    Parameters
    ----------
    rows : sequence of KitRow

    Returns
    -------
    tuple of tuple of int
        A row is beaten by one that can be taken, is no worse in rough nights,
        dangerous nights, money and mass, and better in one. A row with an unknown
        count neither beats nor is beaten.
    """
    counts = [(row.rough_nights, row.dangerous_nights, row.money, row.mass_kg) for row in rows]
    takeable = [not reasons_against(row) for row in rows]
    return tuple(
        tuple(
            other
            for other in range(len(rows))
            if other != number and takeable[other] and _beats(counts[other], counts[number])
        )
        for number in range(len(rows))
    )


def _beats(left: Sequence[float | None], right: Sequence[float | None]) -> bool:
    """Return whether counts are all no higher and one is lower."""
    gaps = [difference(a, b) for a, b in zip(left, right, strict=True)]
    known = [gap for gap in gaps if gap is not None]
    return len(known) == len(gaps) and max(known) <= _ROUNDING and min(known) < -_ROUNDING
