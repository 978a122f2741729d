"""The day around a night: heat index, heat category, wind chill.

In: midday temperature and humidity, wind, the kind of work. Out: indices, and a heat
category with its work, rest and litres of water an hour. Assumes full sun and light wind
where it says so. None of it applies to sleep, and none of it replaces a look at the
people: illness, age, drugs and clothing change every limit.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal, NamedTuple, get_args

import numpy as np

from sheltermap.air import SEA_LEVEL_PRESSURE, wet_bulb_temperature
from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import Floats, Values

HEAT_INDEX_BANDS = (
    (26.7, "caution"),
    (32.2, "extreme caution"),
    (39.4, "danger"),
    (51.7, "extreme danger"),
)
"""Heat index from which a word applies. [degC] US National Weather Service, 80, 90, 103, 125 F."""

CATEGORY_FLOORS = tuple((fahrenheit - 32.0) / 1.8 for fahrenheit in (78, 82, 85, 88, 90))
"""Wet-bulb globe temperature from which each heat category counts. [degC] US Army card."""

Work = Literal["easy", "moderate", "hard"]
"""Kinds of work the heat categories tell apart."""

WORK: tuple[Work, ...] = get_args(Work)


class HeatAdvice(NamedTuple):
    """
    What one heat category asks for.

    Attributes
    ----------
    water : float
        Drinking water while working. [L h-1]
    work, rest : int or None
        Minutes of each hour; None where there is no limit.
    """

    water: float
    work: int | None
    rest: int | None


HEAT_ADVICE = MappingProxyType(
    {
        "easy": (
            HeatAdvice(0.47, None, None),
            HeatAdvice(0.47, None, None),
            HeatAdvice(0.71, None, None),  # one print says half a quart: the larger is taken.
            HeatAdvice(0.71, None, None),
            HeatAdvice(0.95, 50, 10),
        ),
        "moderate": (
            HeatAdvice(0.71, None, None),
            HeatAdvice(0.71, 50, 10),
            HeatAdvice(0.71, 40, 20),
            HeatAdvice(0.71, 30, 30),
            HeatAdvice(0.95, 20, 40),
        ),
        "hard": (
            HeatAdvice(0.71, 40, 20),
            HeatAdvice(0.95, 30, 30),
            HeatAdvice(0.95, 30, 30),
            HeatAdvice(0.95, 20, 40),
            HeatAdvice(0.95, 10, 50),
        ),
    }
)
"""Water, work and rest for heat categories 1 to 5, for acclimatised people. US Army card."""

MOST_WATER_AN_HOUR = 1.42
"""More than this is dangerous: it thins the blood's salt. [L] US Army card."""

COOL_WATER_AN_HOUR = 0.25
"""Of a cool active hour. [L] Common practice."""

_NATURAL_SHARE = 0.96  # what is left of the fall where no fan draws air over a wet bulb, at 1 m/s

_CAUTIONS = (
    "No heat category at midday. Carry water all the same.",
    "Drink before you are thirsty; rest in shade at midday if you are not used to heat.",
    "Drink every half hour, eat salty food, keep heavy work for the morning and evening.",
    "Work only in the cool hours; watch each other for headache, dizziness and confusion.",
    "Rest in shade through midday; nobody works or walks alone; never leave people or "
    "animals in a closed vehicle.",
    "Stop all but urgent work by day. Confusion or collapse in heat is an emergency: "
    "cool the person with water and air at once and call for help.",
)

_UNACCLIMATISED = " The first two weeks in heat count one category higher."


def heat_index(air_temperature: Values | float, relative_humidity: Values | float) -> Values:
    """
    Return the temperature that humid air feels like in the shade.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC]
    relative_humidity : any shape that broadcasts
        Relative humidity. [%, 0 to 100]

    Returns
    -------
    broadcast shape
        Heat index. [degC] Missing where the humidity is not between 0 and 100.

    References
    ----------
    .. [1] US National Weather Service, Weather Prediction Center, "The heat index
       equation", with both adjustments.

    Examples
    --------
    >>> round(float(heat_index(30.0, 70.0)), 1)
    35.0
    """
    return elementwise(_heat_index, air_temperature, relative_humidity, units="degC")


def heat_index_word(heat_index: float) -> str | None:
    """
    Return the word for one heat index.

    Parameters
    ----------
    heat_index : float
        Heat index. [degC]

    Returns
    -------
    str or None
        Word of the highest band reached, "" below the first, None if missing.

    Examples
    --------
    >>> heat_index_word(41.0)
    'danger'
    """
    if np.isnan(heat_index):
        return None
    return next((word for floor, word in reversed(HEAT_INDEX_BANDS) if heat_index >= floor), "")


def wbgt_in_sun(air_temperature: Values | float, vapour_pressure: Values | float) -> Values:
    """
    Return the wet-bulb globe temperature of a sunny day with light wind.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature by day. [degC]
    vapour_pressure : any shape that broadcasts
        Vapour pressure. [kPa]

    Returns
    -------
    broadcast shape
        Wet-bulb globe temperature. [degC] About 3 K too high under cloud; wrong by night.

    References
    ----------
    .. [1] Australian Bureau of Meteorology, approximation to the WBGT.

    Examples
    --------
    >>> round(float(wbgt_in_sun(30.0, 2.12)), 1)
    29.3
    """
    return elementwise(
        lambda t, e: 0.567 * t + 3.93 * e + 3.94, air_temperature, vapour_pressure, units="degC"
    )


def wbgt_in_shade(
    air_temperature: Values | float,
    vapour_pressure: Values | float,
    pressure: Values | float = SEA_LEVEL_PRESSURE,
) -> Values:
    """
    Return the wet-bulb globe temperature in shade, where the globe has air temperature.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC]
    vapour_pressure : any shape that broadcasts
        Vapour pressure. [kPa]
    pressure : any shape that broadcasts
        Air pressure; at sea level unless given. [kPa]

    Returns
    -------
    broadcast shape
        Wet-bulb globe temperature. [degC]

    References
    ----------
    .. [1] Definition without sun, ISO 7243 from memory: 0.7 of the natural wet bulb and 0.3 of
       the globe, which here has the temperature of the air.
    .. [2] T. E. Bernard and M. Pourmoghani, Applied Occupational and Environmental Hygiene 14
       (1999), 126-134, as coded in public: without radiant heat a natural wet bulb falls
       0.96 + 0.069 log10(v) times as far below the air as a ventilated one, v from 0.03 to
       3 m/s. B. Lemke and T. Kjellstrom, Industrial Health 50 (2012), 267-278, recommend it
       for places out of the sun, with 1 m/s.

    Examples
    --------
    >>> round(float(wbgt_in_shade(30.0, 2.12)), 1)
    24.7
    """
    wet_bulb = wet_bulb_temperature(air_temperature, vapour_pressure, pressure)
    return elementwise(
        lambda wet, dry: dry - 0.7 * _NATURAL_SHARE * (dry - wet),
        wet_bulb,
        air_temperature,
        units="degC",
    )


def heat_category(wbgt: Values | float, acclimatised: bool = True) -> Values:
    """
    Return the heat category of a wet-bulb globe temperature.

    Parameters
    ----------
    wbgt : any shape
        Wet-bulb globe temperature. [degC]
    acclimatised : bool
        Whether people have worked in such heat for two weeks. If not, one
        category higher, from the first on; common practice.

    Returns
    -------
    same shape, float
        0 (none) to 5. [1] Missing stays missing.

    References
    ----------
    .. [1] US Army, work/rest and water consumption table.

    Examples
    --------
    >>> heat_category(30.0), heat_category(30.0, acclimatised=False)
    (np.float64(3.0), np.float64(4.0))
    """
    return elementwise(_category, wbgt, units="1", acclimatised=bool(acclimatised))


def heat_caution(category: float, acclimatised: bool = True) -> str | None:
    """
    Return the caution that goes with one heat category.

    Parameters
    ----------
    category : float
        Heat category, 0 to 5.
    acclimatised : bool
        Whether the category is for people used to heat; if so, the text says what
        changes for others.

    Returns
    -------
    str or None
        Plain sentences; None if the category is missing.

    Examples
    --------
    >>> heat_caution(0)
    'No heat category at midday. Carry water all the same.'
    """
    if np.isnan(category):
        return None
    text = _CAUTIONS[int(category)]
    return text + _UNACCLIMATISED if acclimatised and category >= 1 else text


def heat_advice(category: float, work: Work = "easy") -> HeatAdvice | None:
    """
    Return water, work and rest for one heat category.

    Parameters
    ----------
    category : float
        Heat category, 0 to 5.
    work : {"easy", "moderate", "hard"}
        Kind of work.

    Returns
    -------
    HeatAdvice or None
        None if the category is missing.

    Raises
    ------
    ValueError
        If the work is not one of the kinds.

    Examples
    --------
    >>> heat_advice(4, "hard")
    HeatAdvice(water=0.95, work=20, rest=40)
    """
    table = HEAT_ADVICE[known_work(work)]
    if np.isnan(category):
        return None
    if category < 1:
        return HeatAdvice(COOL_WATER_AN_HOUR, None, None)
    return table[int(category) - 1]


def wind_chill(air_temperature: Values | float, wind_speed: Values | float) -> Values:
    """
    Return the wind chill temperature of bare skin.

    Parameters
    ----------
    air_temperature : any shape
        Air temperature. [degC, at most 10]
    wind_speed : any shape that broadcasts
        Wind speed at 10 m. [m s-1, at least 1.4]

    Returns
    -------
    broadcast shape
        Wind chill. [degC] Missing in warmer air and calmer wind, where it has no meaning.

    References
    ----------
    .. [1] R. Osczevski and M. Bluestein, Bulletin of the American Meteorological
       Society 86 (2005), 1453-1458.

    Examples
    --------
    >>> round(float(wind_chill(-10.0, 20.0 / 3.6)), 1)
    -17.9
    """
    return elementwise(_wind_chill, air_temperature, wind_speed, units="degC")


def known_work(work: Work) -> Work:
    """
    Return the kind of work, if it is one.

    Parameters
    ----------
    work : str

    Returns
    -------
    str

    Raises
    ------
    ValueError
        If the work is not one of the kinds.
    """
    if work not in WORK:
        raise ValueError(f"one of {', '.join(WORK)} | Choose the heaviest that lasts for hours.")
    return work


def _heat_index(celsius: Floats, humidity: Floats) -> Floats:
    t, r = 1.8 * celsius + 32.0, np.where((humidity >= 0) & (humidity <= 100), humidity, np.nan)
    simple = 0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * r)
    full = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 0.00683783 * t * t
        - 0.05481717 * r * r
        + 0.00122874 * t * t * r
        + 0.00085282 * t * r * r
        - 0.00000199 * t * t * r * r
    )
    dry = (r < 13.0) & (t >= 80.0) & (t <= 112.0)
    less = (13.0 - r) / 4.0 * np.sqrt(np.maximum(17.0 - np.abs(t - 95.0), 0.0) / 17.0)
    humid = (r > 85.0) & (t >= 80.0) & (t <= 87.0)
    more = (r - 85.0) / 10.0 * (87.0 - t) / 5.0
    full = full - np.where(dry, less, 0.0) + np.where(humid, more, 0.0)
    return (np.where((simple + t) / 2.0 >= 80.0, full, simple) - 32.0) / 1.8


def _category(wbgt: Floats, acclimatised: bool) -> Floats:
    # Floors are compared in the input's own precision, so that a floor counts as reached.
    floors = np.asarray(CATEGORY_FLOORS, dtype=np.result_type(wbgt))
    reached = np.searchsorted(floors, wbgt, side="right")
    if not acclimatised:
        reached = np.where(reached > 0, np.minimum(reached + 1, len(CATEGORY_FLOORS)), 0)
    return np.where(np.isnan(wbgt), np.nan, reached).astype(floors.dtype)


def _wind_chill(celsius: Floats, metres_a_second: Floats) -> Floats:
    valid = (celsius <= 10.0) & (metres_a_second >= 5.0 / 3.6)
    power = (3.6 * metres_a_second) ** 0.16
    chill = 13.12 + 0.6215 * celsius + (0.3965 * celsius - 11.37) * power
    return np.where(valid, chill, np.nan)
