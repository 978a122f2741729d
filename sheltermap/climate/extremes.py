"""The mean daily minimum and maximum of months that have only a mean.

In: a month's mean temperature and what widens or narrows the day: moisture, sun, rain, land,
height. Out: the mean daily minimum and maximum. Assumes open land. The coefficients stand in
``extremes.toml``, which ``regions/world/fit_extremes.py`` writes; its table of places left
out says how far to trust them.

Each extreme is the mean plus a sum over predictors, each held to the span that the places of
the fit had, so that nothing grows beyond what was seen:

- Moist air and wet days narrow the day from both sides: cloud and vapour keep the sun out and
  the warmth in.
- The sun's radiation widens the day where the air is moist; where it is dry, days are wide in
  every season (the product of humidity and radiation).
- Continental country (the annual range, as far as there is land around) cools further at
  night than the sea's edge.
- High ground lies under less air: wide on both sides.
- Ground that lies above its surroundings sheds its cold air (the minimum alone).
- Warm months, up to 25 °C, have longer nights' falls at equal humidity (the minimum alone);
  a larger vapour deficit goes with higher maxima.

Minimum and maximum are estimated apart, because where the mean lies between them differs:
nearer to the minimum in dry, high country.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import numpy as np
import xarray as xr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate.estimate import annual_range, monthly_radiation

LARGEST_ANNUAL_RANGE = 40.0
"""Beyond it continents differ no further. [K] As for the day-to-day spread."""

WARMEST = 25.0
"""Warmth beyond which nights fall no further below the mean. [degC] judgement: no place with
daily observations of the fit tells, and reanalyses of hot deserts say so."""

LEAST_OFFSET = 1.0
"""Least distance of either extreme from the mean. [K] judgement: oceanic islands have a
range of 3 K, polar winters 4."""

EXTREMES = ("air_temperature_min", "air_temperature_max")


@cache
def fitted() -> Mapping[str, Mapping]:
    """
    Return what ``regions/world/fit_extremes.py`` found.

    Returns
    -------
    mapping
        ``span``: lowest and highest value of each predictor. A table for each of `EXTREMES`:
        ``constant`` [K] and the coefficient of each predictor it uses [K a unit]; under
        ``error`` and an error's name its ``constant`` and coefficients.
    """
    return tomllib.loads((files("sheltermap") / "climate" / "extremes.toml").read_text("utf-8"))


def predictors(climate: xr.Dataset, latitude: xr.DataArray | float) -> dict[str, xr.DataArray]:
    """
    Return what the estimates rest on.

    Parameters
    ----------
    climate : Dataset, along ``month``
        air_temperature [degC], vapour_pressure [kPa], wet_share [1], land_fraction [1],
        elevation [m], relative_height [m]: the cell's height less the mean of the 5 x 5
        half-degree cells around it.
    latitude : DataArray or float
        [degrees_north]

    Returns
    -------
    dict of str to DataArray
        Not yet held to their spans. humidity, wet_share [1]; radiation [10 MJ m-2 day-1];
        continentality [10 K]; height, relative_height [km]; warmth [10 K]; vapour_deficit
        [kPa].
    """
    mean = climate["air_temperature"]
    saturation = saturation_vapour_pressure(mean)
    humidity = (climate["vapour_pressure"] / saturation).clip(0.05, 1.0)
    radiation = monthly_radiation(mean["month"], latitude) / 10
    return {
        "humidity": humidity,
        "radiation": radiation,
        "humid_radiation": humidity * radiation,
        "wet_share": climate["wet_share"],
        "continentality": climate["land_fraction"]
        * np.minimum(annual_range(mean), LARGEST_ANNUAL_RANGE)
        / 10,
        "height": climate["elevation"] / 1000,
        "relative_height": climate["relative_height"] / 1000,
        "warmth": np.minimum(mean, WARMEST) / 10,
        "vapour_deficit": saturation - climate["vapour_pressure"],
    }


def daily_extremes(
    climate: xr.Dataset, latitude: xr.DataArray | float
) -> tuple[xr.DataArray, xr.DataArray]:
    """
    Return the mean daily minimum and maximum.

    Parameters
    ----------
    climate, latitude
        As for `predictors`.

    Returns
    -------
    minimum, maximum : DataArray, as the mean
        [degC] At least `LEAST_OFFSET` from the mean; missing where an input is.
    """
    known, fit, mean = predictors(climate, latitude), fitted(), climate["air_temperature"]
    held = {
        name: value.clip(*fit["span"][name])
        for name, value in known.items()
        if name in fit["span"]
    }
    below, above = (weighted_sum(held, fit[name]) for name in EXTREMES)
    return mean + below.clip(max=-LEAST_OFFSET), mean + above.clip(min=LEAST_OFFSET)


def weighted_sum(
    values: Mapping[str, xr.DataArray], coefficients: Mapping[str, float]
) -> xr.DataArray:
    """
    Return a constant plus the sum of values times their coefficients.

    Parameters
    ----------
    values : mapping of str to DataArray
    coefficients : mapping of str to float
        With ``constant``.

    Returns
    -------
    DataArray

    Examples
    --------
    >>> two = {"height": xr.DataArray(2.0)}
    >>> float(weighted_sum(two, {"constant": 1.0, "height": 0.5}))
    2.0
    """
    terms = [values[name] * by for name, by in coefficients.items() if name != "constant"]
    return sum(terms, xr.DataArray(coefficients["constant"]))
