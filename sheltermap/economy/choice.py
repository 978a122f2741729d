"""Which kit is the better one, and which are beaten on every count.

In: kit rows and prices. Out: reasons against each row, the best row, who dominates whom.
Assumes the criterion the page states: money, plus each rough night left at its price.
Danger is no part of it: a kit of clearly more dangerous nights is never the better one.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheltermap.economy.rows import KitRow

_DANGER_MARGIN_NIGHTS = 0.5  # judgement: less than half an expected night is noise.
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
        safest of them. None when no row qualifies.
    """
    costs = [row.cost for row in rows] if costs is None else costs
    fits = [not reasons_against(row) for row in rows] if fits is None else fits
    open_rows = [
        number
        for number, row in enumerate(rows)
        if fits[number] and costs[number] is not None and row.dangerous_left is not None
    ]
    if not open_rows:
        return None
    safest = min(rows[number].dangerous_left for number in open_rows)
    return min(
        (n for n in open_rows if rows[n].dangerous_left <= safest + _DANGER_MARGIN_NIGHTS),
        key=lambda number: costs[number],
    )


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
        A row is beaten by one that can be taken, is no worse in rough nights left,
        dangerous nights left, money and mass, and better in one. A row with an unknown
        count neither beats nor is beaten.
    """
    counts = [(row.rough_left, row.dangerous_left, row.money, row.mass_kg) for row in rows]
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
    if None in left or None in right:
        return False
    gaps = [a - b for a, b in zip(left, right, strict=True)]
    return max(gaps) <= _ROUNDING and min(gaps) < -_ROUNDING
