"""What is known of a place through the year: plain, frozen results.

In: nothing. Out: the types that `places.scored` fills and the pages show. Shares are 0 to
1, temperatures degC; NaN or None is "not assessed", never "fine". Text from users is kept
as written: whoever shows it escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.hazards.layers import HazardFinding
from sheltermap.hazards.sign import Sign
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.errors import ShareErrors
from sheltermap.suitability.candidates import Candidate


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
    grade : int8 array
        Of the share, a `vocabulary.Grade` or `MISSING_GRADE`.
    grade_probability : float array
        Probability that the grade is right under the inputs' stated errors.
    close : bool array
        Whether that probability is below 60 %.
    hazard_level : uint8 array
        Binding hazard level for this kit's exposure, a `vocabulary.Level`.
    hazard : int16 array
        Position of the binding finding in `Place.findings`; -1 none.
    grade_shares : float array, shape (12, 4)
        Share of the place's area in each grade, by month.
    camp_shares : DataArray, dims month and cell
        Probability that a night is sound in each camp. [0 to 1]
    cold_margin, heat_margin, cold_danger_margin, heat_danger_margin : float array
        What a mean dry night leaves to spare before it is too cold or too hot, and before it
        endangers; negative is beyond the limit. [K]
    dew_outside : float array
        Probability that outside air alone wets the fabric on a dry night. [0 to 1]
    errors : ShareErrors
        How far the share can be trusted.
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
    grade: np.ndarray
    grade_probability: np.ndarray
    close: np.ndarray
    hazard_level: np.ndarray
    hazard: np.ndarray
    grade_shares: np.ndarray
    camp_shares: xr.DataArray
    cold_margin: np.ndarray
    heat_margin: np.ndarray
    cold_danger_margin: np.ndarray
    heat_danger_margin: np.ndarray
    dew_outside: np.ndarray
    errors: ShareErrors


@dataclass(frozen=True)
class Week:
    """One cell of the season chart: seven days of the year at one place, chosen kit.

    The grade is the worst of its days, so that bad nights never hide in a mean, and so is the
    level of hazard.
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
    three wet days on end in a week. `hot_from` and `hot_to` are when the sun brings heat
    category 2, NaN where it never does. `heat_index` [degC] is at midday in shade, `wind_chill`
    [degC] at dawn, NaN without wind data.
    """

    temperature_mean: np.ndarray
    temperature_min: np.ndarray
    temperature_max: np.ndarray
    night_low_spread: np.ndarray
    dewpoint: np.ndarray
    rain_per_month: np.ndarray
    wet_days: np.ndarray
    bedtime_temperature: np.ndarray
    dawn_temperature: np.ndarray
    sunset_hour: np.ndarray
    daylight_hours: np.ndarray
    heat_category: np.ndarray
    hot_from: np.ndarray
    hot_to: np.ndarray
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
    height : CampHeight
        Of the camps: what the figures were corrected to, where it isn't the cells' own.
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
        Of layers and of the trip file.
    not_checked : tuple of str
        Hazard kinds that no layer covers here, and that the climate tells nothing of.
    not_assessed : tuple of str
        Factors left out of every share.
    remedies : tuple of Candidate
        For the chosen kit, along the days of the year; empty before the choice.
    signs : tuple of Sign
        What the climate itself tells, in the order of their kinds.
    computed : tuple of str
        Hazard kinds that no layer covers here, but that signs look at.
    """

    id: str
    name: str
    note: str
    kind: str
    geometry: dict
    latitude: float
    longitude: float
    elevation_m: tuple[float, float, float]
    height: CampHeight
    correction_k: float
    correction_spread_k: float
    dropped_share: float
    cautions: tuple[str, ...]
    climate: PlaceClimate
    seasons: dict[str, NightSeason]
    weeks: tuple[Week, ...]
    findings: tuple[HazardFinding, ...]
    not_checked: tuple[str, ...]
    not_assessed: tuple[str, ...] = ()
    remedies: tuple[Candidate, ...] = ()
    region: str = ""
    signs: tuple[Sign, ...] = ()
    computed: tuple[str, ...] = ()
