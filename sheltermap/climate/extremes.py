"""The mean daily minimum and maximum of months that have only a mean.

In: a month's mean temperature and what widens or narrows the day: moisture, sun, rain, land,
height. Out: the mean daily minimum and maximum. Assumes open land. The coefficients stand in
``extremes.toml``, which ``regions/world/fit_extremes.py`` writes; its table of places left
out says how far to trust them.

Each extreme is the mean plus a sum over predictors, each held to the span that the places of
the fit had, so that nothing grows beyond what was seen:

- Wet days narrow the day from both sides; moist air keeps the night warm.
- Under a low sun moist air lowers the maximum too; under a high one the sun raises it the more
  the moister the air is: dry days are wide in every season, moist ones in summer (the product
  of humidity and radiation).
- Continental country (the annual range, as far as there is land around) cools further at
  night than the sea's edge.
- High ground lies under less air: wide on both sides.
- Ground that lies above its surroundings sheds its cold air (the minimum alone).
- At equal humidity warm months, up to 25 °C, fall further below the mean (the minimum alone);
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


def predictors(climate: xr.Dataset, latitude: xr.DataArray | float) -> dict[str, np.ndarray]:
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
    dict of str to array, as the air temperature
        Not yet held to their spans. humidity, wet_share, land [1]; radiation
        [10 MJ m-2 day-1]; continentality [10 K]; height, relative_height [km]; warmth
        [10 K]; vapour_deficit [kPa]. Plain arrays: each sum of labelled ones takes
        milliseconds to align what is aligned.
    """
    temperature = climate["air_temperature"]
    sun = monthly_radiation(temperature["month"], latitude) / 10
    if temperature.chunks:  # Else it would fill every cell at once.
        sun = sun.chunk({axis: temperature.chunksizes[axis] for axis in sun.dims})
    mean, saturation, vapour, radiation, yearly, wet, land, height, relative = (
        array.data
        for array in xr.broadcast(
            temperature,
            saturation_vapour_pressure(temperature),
            climate["vapour_pressure"],
            sun,
            annual_range(temperature),
            climate["wet_share"],
            climate["land_fraction"],
            climate["elevation"],
            climate["relative_height"],
        )
    )
    humidity = (vapour / saturation).clip(0.05, 1.0)
    return {
        "humidity": humidity,
        "radiation": radiation,
        "humid_radiation": humidity * radiation,
        "wet_share": wet,
        "land": land,
        "continentality": land * np.minimum(yearly, LARGEST_ANNUAL_RANGE) / 10,
        "height": height / 1000,
        "relative_height": relative / 1000,
        "warmth": np.minimum(mean, WARMEST) / 10,
        "vapour_deficit": saturation - vapour,
    }


def daily_extremes(
    air_temperature: xr.DataArray, known: Mapping[str, np.ndarray]
) -> tuple[xr.DataArray, xr.DataArray]:
    """
    Return the mean daily minimum and maximum.

    Parameters
    ----------
    air_temperature : DataArray
        Monthly means. [degC]
    known : mapping of str to array
        From `predictors`.

    Returns
    -------
    minimum, maximum : DataArray, as the mean
        [degC] At least `LEAST_OFFSET` from the mean; missing where an input is.
    """
    fit = fitted()
    below, above = (weighted_sum(known, fit[name], fit["span"]) for name in EXTREMES)
    return (
        air_temperature + below.clip(max=-LEAST_OFFSET),
        air_temperature + above.clip(min=LEAST_OFFSET),
    )


def weighted_sum(
    values: Mapping[str, np.ndarray],
    coefficients: Mapping[str, float],
    span: Mapping[str, tuple[float, float]],
) -> np.ndarray:
    """
    Return a constant plus the sum of values, held to their spans, times their coefficients.

    Parameters
    ----------
    values : mapping of str to array
    coefficients : mapping of str to float
        With ``constant``.
    span : mapping of str to pair of float
        Lowest and highest of each value.

    Returns
    -------
    array

    Examples
    --------
    >>> two = {"height": np.array([2.0, 9.0])}
    >>> weighted_sum(two, {"constant": 1.0, "height": 0.5}, {"height": (0.0, 3.0)})
    array([2. , 2.5])
    """
    total = np.asarray(coefficients["constant"])
    for name, by in coefficients.items():
        if name != "constant" and by:
            total = total + by * values[name].clip(*span[name])
    return total
