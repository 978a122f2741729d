"""Biting animals by season: mosquito evenings, malaria, dengue, ticks.

In: months or days of a long-term year. Out: for each whether the climate suits it. Assumes
that rain makes the water mosquitoes breed in; rivers, lakes, irrigation and gardens breed them
in dry months too, and where a disease has been rooted out the climate suits it all the same.

References
----------
.. [1] F. C. Tanser, B. Sharp and D. le Sueur, The Lancet 362 (2003), 1792-1798, its rules as
   printed by the University of Cologne's IMPETUS project, "The MARA seasonality model", read
   2026-11-25.
.. [2] E. A. Mordecai et al., PLoS Neglected Tropical Diseases 11 (2017), e0005568: dengue is
   carried between 18 and 34 degC, best from 26 to 29; from memory.
.. [3] S. R. Christophers, Aedes aegypti, 1960: it lives where the coldest month is above
   10 degC; from memory.
.. [4] Ticks of the genus Ixodes quest where the daily maximum has reached 7 degC (Parasites and
   Vectors 2014, s13071-014-0526-2, figure 2, read 2026-11-25), in humid air; they keep to
   country with a growing season of 170 days (Lindgren et al. 2000; from memory).
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import relative_humidity, saturation_vapour_pressure
from sheltermap.vocabulary import DAYS_IN_MONTH

MALARIA_WARMTH, MALARIA_RAIN, CATALYST_RAIN, MALARIA_COLD = 19.5, 60.0, 80.0, 5.0
"""Least mean of three months [degC], to which the spread of the year's months comes; least rain
of each of three months on average, and of one [mm]; least mean minimum of the year [degC]. [1]"""

DENGUE_WARMTH = (22.0, 34.0)
"""Mean of the month in which dengue spreads. [degC] [2]; judgement: from 18 to 22 it is carried
too slowly to be told from none."""

DENGUE_WINTER = 10.0
"""Mean of the coldest month. [degC] [3]"""

LEAST_SEASON = 2
"""Months on end that must suit a disease for a season to be stated. [1] judgement: a single one
stands on a tenth of a degree."""

BITING_FROM = 10.0
"""Air at bedtime from which insects bite. [degC] Common practice: northern mosquitoes, midges
and blackflies do from 8 to 10, and at dusk it is warmer."""

BITING_HUMIDITY = 40.0
"""Relative humidity at bedtime below which they stay away. [%] judgement"""

BITING_WIND = 2.0
"""Wind at 1 m above which few fly. [m s-1] Their flight tops out at 1.4 to 1.8 (Gillies and
Wilkes 1981)."""

BREEDING_WETNESS, BREEDING_RAIN, BREEDING_DAYS = 0.5, 2.5, 180
"""Pools hold water where the ground's store was so full [1], or so much rain fell [mm day-1],
within so many days [day]. judgement: dry steppe and salt flats never reach either."""

TICK_WARMTH, TICK_DRYNESS = 7.0, 1.1
"""Mean daily maximum from which ticks quest [degC] [4], and mean vapour deficit up to which they
do. [kPa] judgement"""

TICK_LATITUDE = 30.0
"""North of which their season is known. [degrees]"""

TICK_SEASON, TICK_SUMMER, TICK_WINTER, TICK_MOISTURE = 170, 12.5, 10.0, 0.5
"""Where they live: days above 5 degC a year [4], mean of the warmest day at least and of the
coldest at most [degC], rain of the year over evapotranspiration [1]. The last three are
judgement: no ticks of Iceland, of the Gulf of Mexico's winters, of steppes."""


def malaria_suits(season: xr.Dataset) -> xr.DataArray:
    """
    Return in which months the climate suits the spread of malaria. [1]

    Parameters
    ----------
    season : xarray.Dataset, dim ``month`` (12) and any others
        air_temperature, air_temperature_min [degC], rain_per_day [mm day-1].

    Returns
    -------
    xarray.DataArray, same dims
        1 where it does, 0 where not; missing where an input of any month is. Means of three
        months count the month and the two before; one month between two that suit, suits.
    """
    mean, rain, low = (
        season["air_temperature"],
        _monthly_rain(season),
        season["air_temperature_min"],
    )
    warm = _of_three(mean) >= MALARIA_WARMTH + mean.std("month")
    wet = (_of_three(rain) >= MALARIA_RAIN) & (rain.max("month") >= CATALYST_RAIN)
    mild = low.min("month") >= MALARIA_COLD
    suits = warm & wet & mild
    suits = suits | (suits.roll(month=1) & suits.roll(month=-1))
    return (_seasons(suits) * 1.0).where((mean + rain + low).notnull().all("month"))


def dengue_suits(season: xr.Dataset) -> xr.DataArray:
    """
    Return in which months the climate suits the spread of dengue. [2], [3]

    Parameters
    ----------
    season : xarray.Dataset
        As for `malaria_suits`.

    Returns
    -------
    xarray.DataArray, same dims
        As from `malaria_suits`; rain as [1] asks of malaria, since both breed in standing
        water and follow it by weeks.
    """
    mean, rain = season["air_temperature"], _monthly_rain(season)
    low, high = DENGUE_WARMTH
    suits = (mean >= low) & (mean <= high) & (_of_three(rain) >= MALARIA_RAIN)
    suits = suits & (mean.min("month") >= DENGUE_WINTER)
    return (_seasons(suits) * 1.0).where((mean + rain).notnull().all("month"))


def biting_evenings(night: xr.Dataset, wetness: xr.DataArray) -> xr.DataArray:
    """
    Return on which evenings mosquitoes, midges or blackflies are about.

    Parameters
    ----------
    night : xarray.Dataset, dim ``day`` and any others
        bedtime_temperature [degC], bedtime_vapour_pressure [kPa], rain_per_day [mm day-1],
        optional wind_speed at 2 m [m s-1], whose absence counts as calm.
    wetness : xarray.DataArray, same dims
        From ``soil.wetness``. [1]

    Returns
    -------
    xarray.DataArray, same dims
        1 where they are, 0 where not; missing where an input is.
    """
    bedtime = night["bedtime_temperature"]
    humid = relative_humidity(bedtime, night["bedtime_vapour_pressure"]) >= BITING_HUMIDITY
    filled = (wetness >= BREEDING_WETNESS) | (night["rain_per_day"] >= BREEDING_RAIN)
    pools = _within_days(filled, BREEDING_DAYS)
    about = (bedtime >= BITING_FROM) & humid & pools
    if "wind_speed" in night:
        wind = night["wind_speed"]
        about = about & ((wind * _WIND_1M_FROM_2M <= BITING_WIND) | wind.isnull())
    return (about * 1.0).where(bedtime.notnull() & wetness.notnull())


def tick_days(season: xr.Dataset, evapotranspiration: xr.DataArray) -> xr.DataArray:
    """
    Return on which days ticks of northern woods and meadows quest. [4]

    Parameters
    ----------
    season : xarray.Dataset, dim ``day`` and any others
        air_temperature, air_temperature_max [degC], vapour_pressure [kPa], rain_per_day
        [mm day-1]; coordinate latitude.
    evapotranspiration : xarray.DataArray, same dims
        From ``soil.evapotranspiration``. [mm day-1]

    Returns
    -------
    xarray.DataArray, same dims
        1 where they do, 0 where not; missing where an input is. Nothing is said south of
        30 degrees north, where other ticks have other seasons.
    """
    mean = season["air_temperature"]
    deficit = saturation_vapour_pressure(mean) - season["vapour_pressure"]
    questing = (season["air_temperature_max"] >= TICK_WARMTH) & (deficit <= TICK_DRYNESS)
    moist = season["rain_per_day"].mean("day") >= TICK_MOISTURE * evapotranspiration.mean("day")
    lives = (
        moist & ((mean > 5.0).sum("day") >= TICK_SEASON) & (season["latitude"] >= TICK_LATITUDE)
    )
    lives = lives & (mean.max("day") >= TICK_SUMMER) & (mean.min("day") <= TICK_WINTER)
    return ((questing & lives) * 1.0).where(mean.notnull() & deficit.notnull())


def _monthly_rain(season: xr.Dataset) -> xr.DataArray:
    lengths = xr.DataArray(np.array(DAYS_IN_MONTH), dims="month")
    return season["rain_per_day"] * lengths


def _of_three(monthly: xr.DataArray) -> xr.DataArray:
    """Return the mean of each month and the two before it."""
    return (monthly + monthly.roll(month=1) + monthly.roll(month=2)) / 3.0


def _seasons(suits: xr.DataArray) -> xr.DataArray:
    """Return months that suit and have a neighbour that does."""
    reach = range(1, LEAST_SEASON)
    return suits & sum(
        (suits.roll(month=step) | suits.roll(month=-step) for step in reach), xr.zeros_like(suits)
    )


def _within_days(days: xr.DataArray, reach: int) -> xr.DataArray:
    """Return whether one of so many days is set that end with each, round New Year."""
    ordered = days.transpose("day", ...)
    values = ordered.values
    count = np.cumsum(np.concatenate([values[-reach:], values]), axis=0)
    return ordered.copy(data=count[reach:] > count[:-reach])


_WIND_1M_FROM_2M = np.log(67.8 - 5.42) / np.log(2 * 67.8 - 5.42)  # FAO-56 eq. 47.
