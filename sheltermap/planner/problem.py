"""The planner's question and answer: stops, rules and kits in, dated plans out.

In: what a trip and its scores say, as plain values and numpy arrays.
Out: frozen records that the planner, the exports and the site share.
Assumes a night is named by the date of its evening: a stay that arrives on day a with
n nights sleeps on the evenings a to a + n - 1 and leaves on day a + n, when the next
stay arrives.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final, Literal

import numpy as np

from sheltermap.planner.checks import require_usable

Direction = Literal["forward", "reverse", "either"]
WayRound = Literal["forward", "reverse", "free"]
Order = Literal["fixed", "free"]

NEVER = 1 << 20
"""Nights that stand for what no number of them allows, as a move without a road. [night]"""

FREE: Final = "free"
"""Direction of a plan whose order the planner chose."""


@dataclass(frozen=True)
class Closure:
    """Dated nights that may not be spent at a stop.

    Attributes
    ----------
    reason : str
        What closes it, as shown to people.
    first, last : date
        First and last evening that is closed, margins included.
    kits : tuple of str or None
        Kits it concerns; None for every kit.
    danger : bool
        Whether it is a danger rather than a rule.
    """

    reason: str
    first: date
    last: date
    kits: tuple[str, ...] | None = None
    danger: bool = False


@dataclass(frozen=True, eq=False)
class Barrier:
    """Nights of every year that may not be spent at a stop.

    Attributes
    ----------
    reason : str
        What bars them, as shown to people.
    by_day : bool array, shape (365,)
        True on the days of the year that are barred; 29 February follows 28 February.
    kits : tuple of str or None
        Kits it concerns; None for every kit.
    danger : bool
        Whether it is a danger rather than a rule.
    of_kit : bool
        Whether the danger lies in the kit and its bedding, so that these must change: no
        shift of the days is asked of it.
    """

    reason: str
    by_day: np.ndarray
    kits: tuple[str, ...] | None = None
    danger: bool = True
    of_kit: bool = False


@dataclass(frozen=True)
class PermitRule:
    """How long, and between which dates, one may stay in a country or an area.

    Attributes
    ----------
    name : str
        What stops refer to.
    longest_stay_days : int or None
        Days from entry to leaving, both counted, as border offices count them. [day]
    valid_from, valid_until : date or None
        First day one may be inside and last day one may still be inside.
    """

    name: str
    longest_stay_days: int | None = None
    valid_from: date | None = None
    valid_until: date | None = None


@dataclass(frozen=True, eq=False)
class Travel:
    """Distances between stops whose order is free; the journey may start at any of them.

    The nights on the road to a stop count among the nights of that stop, so a long
    drive raises its fewest nights.

    Attributes
    ----------
    km : float array, shape (stops, stops)
        Distance from the row's stop to the column's; infinite or missing where one does
        not lead to the other. [km]
    daily_km : float
        Distance driven on a travel day. [km]
    """

    km: np.ndarray
    daily_km: float


@dataclass(frozen=True)
class Stop:
    """One place of the journey and how long one may stay.

    Attributes
    ----------
    id, name : str
        Unique key, and the name people read.
    nights_min, nights_preferred, nights_max : int
        Fewest (already raised to the days of driving inside the stop), preferred and most
        nights. [night]
    region : str or None
        Where it lies; two stops in one region share it. None: the stop's own id.
    sleeping_elevation_m : float
        Height of the camp; NaN when unknown. [m]
    travel_days : int
        Days of driving inside the stop, below which a stay cannot be cut. [day]
    be_there : tuple of date
        Evenings that must be slept here.
    be_there_slack_days : int
        How far the stay may miss those evenings. [day]
    evenings_on_the_way, evenings_on_the_way_back : int
        First evenings of a stay that are slept before its camp, with the stops in the
        problem's order and in reverse: no fixed evening is met on them. Fewer than
        `nights_min`. In a free order the travel says it. [night]
    approach_known : bool
        Whether the first of these is the way to the camp itself, and not all that is driven in
        the stop for lack of it: then a date of reaching the camp counts from it.
    closures : tuple of Closure
    barriers : tuple of Barrier
    permit : str or None
        Name of the permit it falls under.
    """

    id: str
    name: str
    nights_min: int
    nights_preferred: int
    nights_max: int
    region: str | None = None
    sleeping_elevation_m: float = math.nan
    travel_days: int = 0
    be_there: tuple[date, ...] = ()
    be_there_slack_days: int = 0
    evenings_on_the_way: int = 0
    evenings_on_the_way_back: int = 0
    approach_known: bool = False
    closures: tuple[Closure, ...] = ()
    barriers: tuple[Barrier, ...] = ()
    permit: str | None = None


@dataclass(frozen=True)
class Stay:
    """One dated stay.

    Attributes
    ----------
    stop : int
        Position in the problem's stops.
    arrive, leave : date
        The first evening slept here, and the day after the last.
    nights : int
        Evenings on the way included.
    rough_nights : float
        Expected rough nights; NaN when unknown. [night]
    dangerous_nights : float
        Expected dangerous nights. [night]
    serious_nights : int
        Nights under a hazard that is serious or worse. [night]
    kit : str
        Id of the kit slept in where it is behind; empty for the plan's.
    on_the_way : int
        First evenings before the camp, as far as the way to it is known. [night]
    """

    stop: int
    arrive: date
    leave: date
    nights: int
    rough_nights: float
    dangerous_nights: float = 0.0
    serious_nights: int = 0
    kit: str = ""
    on_the_way: int = 0

    @property
    def reached(self) -> date:
        """Return the day on which the camp is reached."""
        return self.arrive + timedelta(days=self.on_the_way)


@dataclass(frozen=True)
class Plan:
    """A dated journey with one kit.

    Attributes
    ----------
    depart, finish : date
        Arrival at the first stop, and the day the last one is left.
    direction : str
        ``forward``, ``reverse`` or ``free``.
    kit : str
    stays : tuple of Stay
        In travel order, finished ones first.
    rough_nights : float
        Expected rough nights of all stays, without any weight. [night]
    objective : float
        Rough nights, and the weighted dangerous nights, serious nights and nights off the
        preferred stays.
    unplanned_nights : int
        Nights between stays, as where somebody is late; no stay covers them and no
        figure includes them.
    done : int
        How many of the stays, the first ones, are behind.
    """

    depart: date
    finish: date
    direction: WayRound
    kit: str
    stays: tuple[Stay, ...]
    rough_nights: float
    objective: float
    unplanned_nights: int = 0
    done: int = 0

    @property
    def ahead(self) -> tuple[Stay, ...]:
        """Return the stays that are not behind."""
        return self.stays[self.done :]

    @property
    def order(self) -> tuple[int, ...]:
        """Return the stops in travel order."""
        return tuple(stay.stop for stay in self.stays)

    @property
    def dangerous_nights(self) -> float:
        """Return the expected dangerous nights of all stays. [night]"""
        return sum(stay.dangerous_nights for stay in self.stays)

    @property
    def serious_nights(self) -> int:
        """Return the nights of all stays under a hazard that is serious or worse. [night]"""
        return sum(stay.serious_nights for stay in self.stays)


@dataclass(frozen=True)
class Relaxation:
    """One constraint that, eased alone, makes a journey possible.

    Attributes
    ----------
    constraint : str
        Kind: ``finish_by``, ``earliest``, ``latest``, ``nights_min``, ``nights_max``,
        ``be_there``, ``missed`` (fixed evenings that are over), ``closure``, ``barrier``,
        ``permit_stay``, ``permit_from`` or ``permit_until``.
    stop : str
        Id of the stop concerned; empty when it concerns the whole journey.
    days : int
        The least that it must give. [day]
    message : str
        The same in a sentence.
    danger : bool
        Whether it would mean sleeping in a danger.
    plan : Plan
        The best plan once it gives.
    """

    constraint: str
    stop: str
    days: int
    message: str
    danger: bool
    plan: Plan


@dataclass(frozen=True)
class Result:
    """What the planner found.

    Attributes
    ----------
    best : Plan or None
        None when no plan keeps every constraint.
    alternatives : tuple of Plan
        Next best plans that differ from the best and from each other in direction, order
        or kit, or by at least two weeks of departure.
    by_departure : tuple of (date, float or None)
        Rough nights of the best plan of every departure day; None where there is none.
    best_by_departure : tuple of Plan or None
        That plan, for the same days.
    message : str
        Empty, or why there is no plan and what must give.
    relaxations : tuple of Relaxation
        Single changes that would allow a plan; the first is the smallest.
    """

    best: Plan | None
    alternatives: tuple[Plan, ...]
    by_departure: tuple[tuple[date, float | None], ...]
    best_by_departure: tuple[Plan | None, ...]
    message: str = ""
    relaxations: tuple[Relaxation, ...] = ()


@dataclass(frozen=True, eq=False)
class PlanningProblem:
    """All that a plan depends on.

    Attributes
    ----------
    stops : tuple of Stop
        In the order of a forward journey.
    kits : tuple of str
        Kit ids; the first is the traveller's choice.
    rough : float array, shape (kits, stops, 365)
        Expected rough nights per night by day of the year, 0 to 1. A missing value bars
        that night, since nothing is known of it. [night]
    earliest, latest : date
        First and last day of departure.
    stay_weight : float
        Rough nights that one night off the preferred stay counts as. [night]
    dangerous : float array, shape (kits, stops, 365), or None
        Expected dangerous nights per night, 0 to 1; None counts none. [night]
    danger_weight : float
        Rough nights that one dangerous night counts as, beside its own. [night]
    serious : bool array, shape (kits, stops, 365), or None
        Whether a hazard that is serious or worse holds; None counts none.
    serious_weight : float
        Rough nights that one such night counts as. [night]
    permits : tuple of PermitRule
    climb_nights : callable or None
        Nights that a climb from one sleeping height to another needs, as
        ``climb_nights(from_m, to_m)``; `NEVER` where the climb is refused. They are spent in
        the stay climbed to. None: not checked.
    home_elevation_m : float
        Sleeping height before the first stop. [m]
    finished : tuple of Stay
        Stays already made; the rest is planned from their end state.
    under_way : bool
        Whether somebody is on the road: the way to the next stop begins on `earliest`, and
        what lies before its camp is over.
    on_the_way : int or None
        Evenings from `earliest` to the camp of the next stop where somebody says when it is
        reached; None: as many as its way usually takes. [night]
    order : str
        ``fixed`` or ``free``.
    travel : Travel or None
        Distances for a free order; None when all stops adjoin.
    first_stop : int or None
        In a free order, the stop that must come first after the finished ones.
    most_alternatives : int
    """

    stops: tuple[Stop, ...]
    kits: tuple[str, ...]
    rough: np.ndarray
    earliest: date
    latest: date
    stay_weight: float
    finish_by: date | None = None
    direction: Direction = "forward"
    choose_kit: bool = False
    permits: tuple[PermitRule, ...] = ()
    climb_nights: Callable[[float, float], int] | None = None
    home_elevation_m: float = 0.0
    finished: tuple[Stay, ...] = ()
    under_way: bool = False
    on_the_way: int | None = None
    order: Order = "fixed"
    travel: Travel | None = None
    first_stop: int | None = None
    most_alternatives: int = 3
    dangerous: np.ndarray | None = None
    danger_weight: float = 0.0
    serious: np.ndarray | None = None
    serious_weight: float = 0.0

    def __post_init__(self) -> None:
        require_usable(self)

    @property
    def reached(self) -> date:
        """Return the day on which the next camp is reached, for all that is said of it."""
        return self.earliest + timedelta(days=self.on_the_way or 0)

    @property
    def remaining(self) -> tuple[int, ...]:
        """Return the stops still to be planned, in the problem's order."""
        done = {stay.stop for stay in self.finished}
        return tuple(i for i in range(len(self.stops)) if i not in done)

    def with_kit(self, kit: str) -> PlanningProblem:
        """Return the problem for one kit alone, which is then the traveller's choice."""
        row = self.kits.index(kit)
        kept = slice(row, row + 1)
        return replace(
            self,
            kits=(kit,),
            rough=self.rough[kept],
            dangerous=None if self.dangerous is None else self.dangerous[kept],
            serious=None if self.serious is None else self.serious[kept],
            choose_kit=False,
        )

    def permit(self, stop: int) -> PermitRule | None:
        """Return the rule of the permit that a stop falls under, if any."""
        name = self.stops[stop].permit
        return next((permit for permit in self.permits if permit.name == name), None)
