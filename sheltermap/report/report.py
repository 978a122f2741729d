"""What a finished computation hands to the pages: plain, frozen results.

In: nothing. Out: the types the pipeline fills and the website shows. Shares are 0 to 1,
temperatures degC, masses kg, distances km, volumes L; NaN or None is "not assessed",
never "fine". Text from users is kept as written: whoever shows it escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np

from sheltermap.economy.comparison import KitComparison
from sheltermap.economy.load import LoadReport
from sheltermap.hazards.sign import Sign
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.place import Place
from sheltermap.report.own_nights import OwnNights
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.card import KitLimits
from sheltermap.suitability.remedy import Remedy
from sheltermap.trip.model import Trip

NOT_A_FORECAST = (
    "Rests on long-term climate averages, not on a forecast. Local authorities, park rules, "
    "warnings and licensed guides come first."
)
"""Said wherever a plan leaves the site."""


@dataclass(frozen=True)
class Estimate:
    """One variable of the climatology that was estimated, not measured."""

    variable: str
    how: str
    uncertainty: str


@dataclass(frozen=True)
class ClimateSource:
    """Where the climatology comes from."""

    title: str
    source: str
    period: str
    licence: str
    estimates: tuple[Estimate, ...]


@dataclass(frozen=True)
class RefusedKit:
    """A kit that does not fit the sleepers or the vehicle.

    Attributes
    ----------
    title : str
    reasons : tuple of str
    """

    title: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class MetHazard:
    """A hazard met on the nights of a leg.

    Attributes
    ----------
    kind, title : str
    level : int
        Highest that binds on these nights, after the kit's shield, a `vocabulary.Level`;
        never none, since a shield leaves an advisory.
    stated_level : int
        The same as stated, before any shield; in its part, where it has one.
    shield : str
        When something shields from it and what remains; empty where nothing does.
    part : str
        Empty where it holds for the whole leg; else the words for where.
    note, source : str
        The user's or the layer's words.
    """

    kind: str
    title: str
    level: int
    stated_level: int
    shield: str
    part: str
    note: str
    source: str


@dataclass(frozen=True)
class PlannedLeg:
    """One dated leg. Nights are those of `arrive` up to the day before `leave`; its first
    camp is reached on `camp_reached`, those before it are on the way.

    `done` says that it is over: then `kit` is what it was slept in, and all figures are as they
    were. `rough_bad_year` is expected in the leg's own worst year of ten; those of the legs do
    not add up. `ascent` says that the climb to it breaks the ascent rule by heights that nobody
    stated; empty where not. It stands among the `cautions` too. `signs` are those of its nights.
    """

    leg: int
    name: str
    place: str
    arrive: date
    leave: date
    camp_reached: date
    nights: int
    rough_nights: float
    rough_bad_year: float
    dangerous_nights: float
    serious_nights: int
    nights_by_factor: dict[str, float | None]
    grade: int
    limiting_factor: str
    close: bool
    hazards: tuple[MetHazard, ...]
    cautions: tuple[str, ...]
    not_checked: tuple[str, ...]
    remedy: Remedy | None
    height: CampHeight
    ascent: str
    signs: tuple[Sign, ...] = ()
    kit: str = ""
    done: bool = False


@dataclass(frozen=True)
class DatedPlan:
    """A whole journey with dates.

    Attributes
    ----------
    depart, finish : date
    direction, kit : str
    rough_nights, rough_low, rough_high : float
        Expected, and the range that holds four journeys in five.
    rough_parts : dict of str to float
        Standard deviation of the rough nights by its source (weather, climate, person,
        years), the largest first. [night]
    rough_bad_year : float
        Expected in the year that nine years in ten stay below. [night]
    dangerous_nights : float
    serious_nights : int
        Nights under a hazard that is serious or worse, accepted ones included.
    nights : int
        That stays cover.
    unplanned_nights : int
        Nights between stays, as where somebody was late; in no figure.
    equal_to_best : bool
        Whether the inputs cannot tell it from the best plan.
    legs : tuple of PlannedLeg
        In travel order.
    """

    depart: date
    finish: date
    direction: str
    kit: str
    rough_nights: float
    rough_low: float
    rough_high: float
    rough_parts: dict[str, float]
    rough_bad_year: float
    dangerous_nights: float
    serious_nights: int
    nights: int
    unplanned_nights: int
    equal_to_best: bool
    legs: tuple[PlannedLeg, ...]


@dataclass(frozen=True)
class Stays:
    """Where each night is spent for one date: what the date slider looks up.

    Attributes
    ----------
    depart : date
        Day of departure; on the road, the day a leg is reached.
    rough_nights : float or None
        Over the whole journey; None where no plan keeps every rule.
    dangerous_nights : float or None
    serious_nights : int or None
        As of `DatedPlan`.
    direction : str
    kit : str
        Id of the kit it is planned with; empty without a plan.
    places : tuple of str
    legs : tuple of int
    arrive, leave : tuple of date
        One each a stay, finished ones first.
    why_none : str
        Why no plan leaves on that day, in a sentence; empty where there is one, or it is not
        known.
    """

    depart: date
    rough_nights: float | None
    dangerous_nights: float | None
    serious_nights: int | None
    direction: str
    kit: str
    places: tuple[str, ...]
    legs: tuple[int, ...]
    arrive: tuple[date, ...]
    leave: tuple[date, ...]
    why_none: str = ""


class Reached(NamedTuple):
    """
    What is left to do when the camp of a leg is reached on one day or another.

    Attributes
    ----------
    leg : int
        Position in the trip.
    planned : int
        Position of the plan's own day among the dates.
    dates : tuple of Stays
        One each a day.
    """

    leg: int
    planned: int
    dates: tuple[Stays, ...]


@dataclass(frozen=True)
class MapGrid:
    """Monthly scores over the journey's box for the overlays.

    Attributes
    ----------
    south, west, north, east : float
        Outer edges of the cells [degrees].
    latitude, longitude : float array
        Cell centres, ascending [degrees].
    factors : dict of str to dict of str to array
        By kit id, then by "sound_share" or a factor: shape (12, latitude, longitude),
        NaN where there is no climate or no assessment. [0 to 1]
    """

    south: float
    west: float
    north: float
    east: float
    latitude: np.ndarray
    longitude: np.ndarray
    factors: dict[str, dict[str, np.ndarray]]


@dataclass(frozen=True)
class Report:
    """Everything the pages show.

    Attributes
    ----------
    trip : Trip
    made : date or None
        Date printed on the pages; None prints none.
    climate : ClimateSource
    kits : tuple of Kit
        As compared; the first is the choice.
    cards : dict of str to KitLimits
        For the sleepers as their nights have shown them to be.
    own : OwnNights or None
        What own nights did to the plan; None where nobody wrote one down.
    refused : dict of str to RefusedKit
        Kits that do not fit the sleepers or the vehicle, by id; none of them is in `kits`.
    places : tuple of Place
        In travel order, each once.
    best : DatedPlan or None
    alternatives : tuple of DatedPlan
    by_departure : tuple of Stays
        For every day of the departure window.
    good_window : tuple of date, or None
        First and last of the unbroken days around the best plan's that are nearly as good, see
        `planner.window`; None without a plan.
    replans : tuple of Reached
        For each leg of the best plan ahead but the next, in travel order: what is left to do
        when it is reached on its day, or up to four weeks early or late.
    infeasible : tuple of str
        What must give when there is no plan.
    doubts : tuple of str
        What looks like a slip in the inputs.
    remedy : Remedy or None
        The cheapest for the whole plan that ends danger, or where there is none lifts a grade.
    little : Remedy or None
        Where there is none to name, what gains most nights for its price.
    load : LoadReport or None
    comparison : KitComparison or None
    grid : MapGrid
    route : tuple of (latitude, longitude)
    not_assessed : tuple of str
        Factors left out of every share.
    not_checked : tuple of str
        Hazard kinds unchecked on at least one leg of the plan.
    """

    trip: Trip
    made: date | None
    climate: ClimateSource
    kits: tuple[Kit, ...]
    cards: dict[str, KitLimits]
    refused: dict[str, RefusedKit]
    places: tuple[Place, ...]
    best: DatedPlan | None
    alternatives: tuple[DatedPlan, ...]
    by_departure: tuple[Stays, ...]
    good_window: tuple[date, date] | None
    replans: tuple[Reached, ...]
    infeasible: tuple[str, ...]
    doubts: tuple[str, ...]
    remedy: Remedy | None
    little: Remedy | None
    load: LoadReport | None
    comparison: KitComparison | None
    grid: MapGrid
    route: tuple[tuple[float, float], ...]
    not_assessed: tuple[str, ...]
    not_checked: tuple[str, ...]
    own: OwnNights | None = None
