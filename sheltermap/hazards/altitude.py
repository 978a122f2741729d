"""The ascent rule: which climbs to a sleeping height are refused, and what others take.

In: sleeping heights and the nights planned between. Out: nights needed, and the words
for a plan that climbs too fast.
Assumes common mountain-medicine practice: above 3,000 m no single move to a camp more than
500 m higher; above 2,500 m at most 500 m a night on average, and a night of rest for each
1,000 m. It lowers the risk of altitude illness and doesn't remove it. Going down needs no
nights.
"""

from __future__ import annotations

import math

RULE_STARTS_M = 2500.0
"""Sleeping height from which the rule counts. [m] common practice"""

MOVES_COUNT_FROM_M = 3000.0
"""Height above which a single move is measured. [m] common practice"""

UNUSED_TO_M = 2800.0
"""Sleeping height whose first night calls for a caution. [m] judgement: illness is common from
2,500 to 3,000 m on"""

CLIMB_A_NIGHT_M = 500.0
"""Highest rise of the sleeping height a night, on average. [m] common practice"""

REST_EACH_M = 1000.0
"""Rise after which a night is spent without climbing. [m] common practice"""


def move_refused(from_m: float, to_m: float) -> bool:
    """
    Return whether a move from one camp to the next climbs too far, whatever the nights after.

    Parameters
    ----------
    from_m, to_m : float
        Sleeping height before and after. [m]

    Returns
    -------
    bool

    Examples
    --------
    >>> move_refused(30, 4400), move_refused(3100, 3650), move_refused(0, 3400)
    (True, True, False)
    """
    return to_m - max(from_m, MOVES_COUNT_FROM_M) > CLIMB_A_NIGHT_M


def first_high_night(from_m: float, to_m: float) -> str:
    """
    Return what to know of a first night high up, or nothing.

    Parameters
    ----------
    from_m, to_m : float
        Sleeping height before and after. [m]

    Returns
    -------
    str

    Examples
    --------
    >>> first_high_night(0, 3400)[:48]
    'The first night above 2,800 m, from 0 m to 3,400'
    >>> first_high_night(0, 2700), first_high_night(3000, 3300)
    ('', '')
    """
    if not from_m <= UNUSED_TO_M < to_m:
        return ""
    return (
        f"The first night above {UNUSED_TO_M:,.0f} m, from {from_m:,.0f} m to {to_m:,.0f} m: "
        "headache and poor sleep are common. Go no higher until they are gone, and down at "
        "once if they grow. Ask a doctor before leaving."
    )


def nights_needed(from_m: float, to_m: float) -> int:
    """
    Return the nights that a climb takes under the ascent rule.

    They count from the first night above 2,500 m, with rest nights, until the body may
    be taken further up; a plan spends them in the stay climbed to, in camps that rise.

    Parameters
    ----------
    from_m, to_m : float
        Sleeping height before and after. [m]

    Returns
    -------
    int
        0 for a climb that stays below 2,500 m and for going down.

    Raises
    ------
    ValueError
        If a height is not a number: missing heights can't be checked.

    Examples
    --------
    From 100 to 3,500 m the rule counts 1,000 m: two nights up and one of rest.

    >>> nights_needed(100, 3500), nights_needed(3500, 100), nights_needed(100, 2500)
    (3, 0, 0)
    >>> nights_needed(2400, 2600), nights_needed(3000, 4600)
    (1, 5)
    """
    if not (math.isfinite(from_m) and math.isfinite(to_m)):
        raise ValueError(f"sleeping height: expected metres, got {from_m} and {to_m}")
    rise = to_m - max(from_m, RULE_STARTS_M)
    if rise <= 0:
        return 0
    return math.ceil(rise / CLIMB_A_NIGHT_M) + math.floor(rise / REST_EACH_M)


def rest_nights(from_m: float, to_m: float) -> int:
    """
    Return how many of the nights needed are for rest.

    Parameters
    ----------
    from_m, to_m : float
        Sleeping height before and after. [m]

    Returns
    -------
    int

    Examples
    --------
    >>> rest_nights(100, 3500), rest_nights(2500, 3400)
    (1, 0)
    """
    rise = to_m - max(from_m, RULE_STARTS_M)
    return max(0, math.floor(rise / REST_EACH_M))


def ascent_problem(from_m: float, to_m: float, nights: int, on_the_way: int = 0) -> str | None:
    """
    Return why a climb is refused and what it needs, or None where it keeps the rule.

    Parameters
    ----------
    from_m, to_m : float
        Sleeping height before and after. [m]
    nights : int
        Nights of the stay climbed to, its approach included.
    on_the_way : int
        The first of them, slept before its camp: nobody gets used to a height there. [night]

    Returns
    -------
    str or None

    Examples
    --------
    >>> print(ascent_problem(100, 3500, 1))
    Sleeping height rises from 100 m to 3,500 m in 1 night: above 2,500 m the climb needs 3
    nights, 1 of them for rest. Add 2 nights in camps that rise by at most 500 m.
    >>> ascent_problem(3500, 100, 1) is None
    True
    >>> print(ascent_problem(100, 3300, 5, on_the_way=4))
    Sleeping height rises from 100 m to 3,300 m in 1 night: above 2,500 m the climb needs 2
    nights. Add 1 night in camps that rise by at most 500 m. The first 4 are on the way and
    count for nothing.
    >>> print(ascent_problem(2900, 3600, 5))
    Sleeping height rises from 2,900 m to 3,600 m in one move: at most 500 m above 3,000 m, or
    above the camp before where that is higher, are planned. Put camps between.
    """
    if move_refused(from_m, to_m):
        return (
            f"Sleeping height rises from {from_m:,.0f} m to {to_m:,.0f} m in one move: at most "
            f"{CLIMB_A_NIGHT_M:.0f} m above {MOVES_COUNT_FROM_M:,.0f} m, or above the camp before "
            "where that is higher, are planned. Put camps between."
        )
    needed, left = nights_needed(from_m, to_m), max(nights - on_the_way, 0)
    if left >= needed:
        return None
    rest = rest_nights(from_m, to_m)
    resting = f", {rest} of them for rest" if rest else ""
    uncounted = {
        0: "",
        1: " The first is on the way and counts for nothing.",
    }.get(on_the_way, f" The first {on_the_way} are on the way and count for nothing.")
    return (
        f"Sleeping height rises from {from_m:,.0f} m to {to_m:,.0f} m in {_nights(left)}: "
        f"above {RULE_STARTS_M:,.0f} m the climb needs {_nights(needed)}{resting}. "
        f"Add {_nights(needed - left)} in camps that rise by at most {CLIMB_A_NIGHT_M:.0f} m."
        f"{uncounted}"
    )


def _nights(count: int) -> str:
    return f"{count} night" if count == 1 else f"{count} nights"
