"""What a finished computation hands to the pages: plain, frozen results.

In: nothing. Out: the types the pipeline fills and the website shows. Shares are 0 to 1,
temperatures degC, masses kg, distances km, volumes L; NaN or None is "not assessed",
never "fine". Text from users is kept as written: whoever shows it escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from sheltermap.hazards.layers import HazardFinding
from sheltermap.journey.cost import KitComparison
from sheltermap.journey.load import LoadReport
from sheltermap.journey.trip import Trip
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.card import KitLimits
from sheltermap.suitability.remedy import Remedy


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
class NightSeason:
    """Nights of one kit at one place through the year.

    Every array has shape (365,), one value a day of the year; `monthly` values in
    `PlaceClimate` have shape (12,).

    Attributes
    ----------
    sound_share : float array
        Probability that a night is sound, mean over the place's camps. [0 to 1]
    sound_share_median, sound_share_worst_tenth : float array
        The same for the median camp and for the worst tenth of camps. [0 to 1]
    cold, heat, wet, wind, condensation : float array
        Probability that each factor spoils the night; NaN where not assessed. [0 to 1]
    dangerous : float array
        Probability of a dangerous night. [0 to 1]
    low_one_in_20 : float array
        Outdoor low that one night in 20 goes below. [degC]
    limiting_factor : int8 array
        Position in `vocabulary.FACTORS`; NO_FACTOR or MISSING_FACTOR.
    climate_grade : int8 array
        Grade of the share alone, a `vocabulary.Grade`; -1 missing.
    grade : int8 array
        The same after hazards put their ceilings on it.
    grade_probability : float array
        Probability that the climate grade is right under the inputs' stated errors.
    close : bool array
        Whether that probability is below 60 %.
    hazard_level : uint8 array
        Binding hazard level for this kit's exposure: 0 none, else position in LEVELS + 1.
    hazard : int16 array
        Position of the binding finding in `Place.findings`; -1 none.
    grade_shares : float array, shape (12, 4)
        Share of the place's area in each climate grade, by month.
    """

    sound_share: np.ndarray
    sound_share_median: np.ndarray
    sound_share_worst_tenth: np.ndarray
    cold: np.ndarray
    heat: np.ndarray
    wet: np.ndarray
    wind: np.ndarray
    condensation: np.ndarray
    dangerous: np.ndarray
    low_one_in_20: np.ndarray
    limiting_factor: np.ndarray
    climate_grade: np.ndarray
    grade: np.ndarray
    grade_probability: np.ndarray
    close: np.ndarray
    hazard_level: np.ndarray
    hazard: np.ndarray
    grade_shares: np.ndarray


@dataclass(frozen=True)
class Week:
    """One cell of the season chart: seven days of the year at one place, chosen kit.

    The grade is the worst of its days, so that danger never hides in a mean.
    """

    first_day_of_year: int
    grade: int
    sound_share: float
    factor: str
    hazard: str
    hazard_level: int
    checked: bool
    remedy: str


@dataclass(frozen=True)
class PlaceClimate:
    """Monthly climate of a place, mean over its camps, at the camps' elevation.

    Every array has shape (12,). Temperatures [degC], vapour as dewpoint [degC], rain
    [mm a month], wet days [days of at least 1 mm], spread [K], hours in local solar time.
    `cool_hour` is when the mean night falls below 26 degC, the lower end of bedroom
    criteria, counted on from noon: 12 where it is never warmer, infinite where it stays
    warmer until dawn. `wet_spell` is the chance of
    three wet days on end in a week. `heat_index` [degC] is at midday in shade, `wind_chill`
    [degC] at dawn, NaN without wind data.
    """

    temperature_mean: np.ndarray
    temperature_min: np.ndarray
    temperature_max: np.ndarray
    night_low_spread: np.ndarray
    dewpoint: np.ndarray
    rain: np.ndarray
    wet_days: np.ndarray
    bedtime_temperature: np.ndarray
    dawn_temperature: np.ndarray
    sunset_hour: np.ndarray
    daylight_hours: np.ndarray
    heat_category: np.ndarray
    heat_index: np.ndarray
    drinking_water_l: np.ndarray
    cool_hour: np.ndarray
    wet_spell: np.ndarray
    wind_chill: np.ndarray


@dataclass(frozen=True)
class Place:
    """One distinct stretch of country where legs sleep.

    Attributes
    ----------
    id, name, note : str
        `id` is safe in a file name; the others are the user's words.
    region : str
        The region's name in its file; empty for a place or points.
    kind : {"region", "place", "points", "line"}
        What the figures stand for.
    geometry : dict
        GeoJSON geometry, WGS84.
    latitude, longitude : float
        A point inside, for maps and exports.
    elevation_m : tuple of float
        Lowest, mean and highest cell [m].
    camp_elevation_m : float or None
        What the figures were corrected to.
    correction_k : float
        Mean temperature correction that took, and its spread. [K]
    correction_spread_k : float
    dropped_share : float
        Share of the area without climate (sea, mostly). [0 to 1]
    cautions : tuple of str
        Sentences on the figure itself: several climates, steep country, few cells.
    climate : PlaceClimate
    seasons : dict of str to NightSeason
        By kit id.
    weeks : tuple of Week
        52 cells for the chosen kit.
    findings : tuple of HazardFinding
        Observed and user-given hazards; computed ones have `computed` set.
    not_checked : tuple of str
        Hazard kinds that no layer covers here.
    """

    id: str
    name: str
    note: str
    kind: str
    geometry: dict
    latitude: float
    longitude: float
    elevation_m: tuple[float, float, float]
    camp_elevation_m: float | None
    correction_k: float
    correction_spread_k: float
    dropped_share: float
    cautions: tuple[str, ...]
    climate: PlaceClimate
    seasons: dict[str, NightSeason]
    weeks: tuple[Week, ...]
    findings: tuple[HazardFinding, ...]
    not_checked: tuple[str, ...]
    region: str = ""


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
        Highest that binds on these nights, after the kit's shield: position in LEVELS + 1;
        0 where the shield takes an advisory away.
    stated_level : int
        The same as stated, before any shield; in its part, where it has one.
    shield : str
        What shields from it; empty where nothing does.
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
    """One dated leg. Nights are those of `arrive` up to the day before `leave`."""

    leg: int
    name: str
    place: str
    arrive: date
    leave: date
    nights: int
    rough_nights: float
    dangerous_nights: float
    nights_by_factor: dict[str, float | None]
    grade: int
    limiting_factor: str
    close: bool
    hazards: tuple[MetHazard, ...]
    cautions: tuple[str, ...]
    not_checked: tuple[str, ...]
    remedy: Remedy | None


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
        Standard deviation of the rough nights by its source (weather, climate_input, person,
        years), the largest first; without years where the data have none. [night]
    dangerous_nights : float
    nights : int
        That stays cover.
    unplanned_nights : int
        Nights between the last finished stay and the day of replanning; in no figure.
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
    dangerous_nights: float
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
    direction : str
    kit : str
        Id of the kit it is planned with; empty without a plan.
    places : tuple of str
    legs : tuple of int
    arrive, leave : tuple of date
        One each a stay, finished ones first.
    """

    depart: date
    rough_nights: float | None
    direction: str
    kit: str
    places: tuple[str, ...]
    legs: tuple[int, ...]
    arrive: tuple[date, ...]
    leave: tuple[date, ...]


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
    refused : dict of str to RefusedKit
        Kits that do not fit the sleepers or the vehicle, by id; none of them is in `kits`.
    places : tuple of Place
        In travel order, each once.
    best : DatedPlan or None
    alternatives : tuple of DatedPlan
    by_departure : tuple of Stays
        For every day of the departure window.
    replans : tuple of tuple of Stays
        For each leg of the best plan after the first, in travel order: what is left to do
        when it is reached on its day, or up to four weeks late.
    infeasible : tuple of str
        What must give when there is no plan.
    doubts : tuple of str
        What looks like a slip in the inputs.
    remedy : Remedy or None
        The cheapest remedy for the whole plan.
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
    replans: tuple[tuple[Stays, ...], ...]
    infeasible: tuple[str, ...]
    doubts: tuple[str, ...]
    remedy: Remedy | None
    load: LoadReport | None
    comparison: KitComparison | None
    grid: MapGrid
    route: tuple[tuple[float, float], ...]
    not_assessed: tuple[str, ...]
    not_checked: tuple[str, ...]
