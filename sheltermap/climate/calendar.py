"""From monthly climatology to a season: rates along twelve months or 365 days.

In: a climatology along ``month``. Out: the same quantities as rates, along ``month`` or
``day``, with the day of the year beside them. Assumes a 365-day year that repeats; the
days of a month average to its value exactly, and bounded quantities stay in bounds.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import xarray as xr

from sheltermap.climate.contract import ERRORS
from sheltermap.dates import MONTH_OF_DAY
from sheltermap.vocabulary import DAYS_IN_MONTH, DAYS_IN_YEAR, Floats

MID_MONTH_DAYS = (16, 45, 75, 105, 136, 166, 197, 228, 258, 289, 319, 350)
"""Day of the year in the middle of each month, 1 January being 1."""

_RATES = {
    "rainfall": ("rain_per_day", {"long_name": "precipitation a day", "units": "mm day-1"}),
    "wet_days": ("wet_share", {"long_name": "share of days with at least 1 mm", "units": "1"}),
}
_LENGTHS = np.asarray(DAYS_IN_MONTH)
_EDGES = np.concatenate([[0], np.cumsum(_LENGTHS)])  # days before each month, and all

# Quantities that cannot be negative, and the share of the smallest neighbouring month
# below which no day falls. judgement: half, where nought would leave a formula without
# an answer (the dewpoint of dry air, a distribution without spread).
_FLOORS = {
    "rain_per_day": 0.0,
    "wet_share": 0.0,
    "wind_speed": 0.0,
    "vapour_pressure": 0.5,
    "night_low_spread": 0.5,
}
_CEILINGS = {"wet_share": 1.0}


def by_month(climatology: xr.Dataset) -> xr.Dataset:
    """
    Return the season along ``month``.

    Parameters
    ----------
    climatology : Dataset, along ``month`` and any other dimensions
        In the names of the contract.

    Returns
    -------
    Dataset, same dimensions
        Rain as ``rain_per_day`` [mm day-1], wet days as ``wet_share`` [1], the other
        variables unchanged, the errors left behind; ``day_of_year`` is the middle of each
        month. Missing values stay missing.

    Examples
    --------
    >>> rain = xr.Dataset({"rainfall": ("month", [62.0, 56.0])}, {"month": [1, 2]})
    >>> by_month(rain).rain_per_day.values
    array([2., 2.])
    """
    # Errors hold for a place's whole months: they are read where the climatology stands.
    season = climatology.drop_vars(["rainfall", "wet_days", *ERRORS], errors="ignore")
    lengths = month_lengths(climatology["month"])
    rates = {
        rate: (climatology[name] / lengths)
        .clip(max=_CEILINGS.get(rate, np.inf))  # A source may count the 29th of February.
        .assign_attrs(attributes | _marks(climatology[name]))
        for name, (rate, attributes) in _RATES.items()
        if name in climatology
    }
    days = np.asarray(MID_MONTH_DAYS)[climatology["month"].values - 1]
    return season.assign(rates).assign_coords(day_of_year=("month", days))


def by_day(climatology: xr.Dataset) -> xr.Dataset:
    """
    Return the season along ``day``.

    Parameters
    ----------
    climatology : Dataset, along ``month`` and any other dimensions
        In the names of the contract, all twelve months.

    Returns
    -------
    Dataset, along ``day`` (1 to 365) and the other dimensions
        As `by_month`; each month's days average to the month's value. Missing wherever a
        month is.

    Examples
    --------
    >>> wind = np.linspace(2.0, 4.0, 12)
    >>> year = {"air_temperature": ("month", np.zeros(12)), "wind_speed": ("month", wind)}
    >>> days = by_day(xr.Dataset(year, {"month": np.arange(1, 13)}))
    >>> days.sizes["day"], float(days.wind_speed[:31].mean().round(9))
    (365, 2.0)
    """
    monthly = by_month(climatology).drop_vars("day_of_year").sel(month=np.arange(1, 13))
    variables = {}
    for key, array in monthly.items():
        name = str(key)
        if "month" not in array.dims:
            variables[name] = array
        elif name not in ("air_temperature_min", "air_temperature_max"):
            variables[name] = _daily(array, _FLOORS.get(name), _CEILINGS.get(name))
    mean, daily_mean = monthly["air_temperature"], variables["air_temperature"]
    # The distances from the mean are interpolated, so that the order always holds.
    for name, sign in (("air_temperature_min", -1), ("air_temperature_max", 1)):
        if name in monthly:
            distance = _daily(abs(monthly[name] - mean), 0.0, None)
            variables[name] = daily_mean + sign * distance
    season = xr.Dataset(variables, attrs=monthly.attrs)
    for key, array in monthly.items():
        season[key].attrs = dict(array.attrs)
    days = np.arange(1, DAYS_IN_YEAR + 1)
    other = {name: coordinate for name, coordinate in monthly.coords.items() if name != "month"}
    return season.assign_coords(other | {"day": days, "day_of_year": ("day", days)})


def month_lengths(months: xr.DataArray) -> xr.DataArray:
    """
    Return the days of each month of a 365-day year.

    Parameters
    ----------
    months : DataArray, along ``month``
        Anything with a coordinate ``month``. [1 to 12]

    Returns
    -------
    DataArray, along ``month``
        [day]
    """
    numbers = months["month"].values
    return xr.DataArray(_LENGTHS[numbers - 1], {"month": numbers}, ["month"])


def _marks(array: xr.DataArray) -> dict[str, str]:
    """Return the attributes that every later step keeps."""
    kept = ("estimated", "uncertainty")
    return {key: array.attrs[key] for key in kept if key in array.attrs}


def _daily(monthly: xr.DataArray, floor: float | None, ceiling: float | None) -> xr.DataArray:
    """Return days that average to the months, inside bounds where there are any."""
    if monthly.chunks is not None:
        monthly = monthly.chunk(month=-1)
    daily = xr.apply_ufunc(
        _days,
        monthly,
        kwargs={"floor": floor, "ceiling": ceiling},
        input_core_dims=[["month"]],
        output_core_dims=[["day"]],
        dask="parallelized",
        dask_gufunc_kwargs={"output_sizes": {"day": DAYS_IN_YEAR}},
        output_dtypes=[monthly.dtype],
    )
    return daily.transpose("day", *(dim for dim in monthly.dims if dim != "month"))


def _days(monthly: Floats, floor: float | None, ceiling: float | None) -> Floats:
    """Return days along the last axis from months along the last axis."""
    monthly = np.moveaxis(monthly, -1, 0)
    days = np.tensordot(_interpolation().astype(monthly.dtype), monthly, 1)
    if floor is not None:
        neighbours = [np.roll(monthly, shift, axis=0) for shift in (1, -1)]
        lowest = np.minimum.reduce([monthly, *neighbours])
        days = _within(days, monthly, monthly.dtype.type(floor) * lowest, np.maximum)
    if ceiling is not None:
        days = _within(days, monthly, np.full_like(monthly, ceiling), np.minimum)
        # Rounding may have crossed the floor again.
        days = np.clip(days, 0.0, ceiling)
    return np.moveaxis(days, 0, -1)


def _within(days: Floats, monthly: Floats, bound: Floats, clip: np.ufunc) -> Floats:
    """
    Return days clipped at a bound of each month, the month's mean then restored.

    What clipping added is taken back from every day in proportion to its distance from the
    bound, so none crosses it again.
    """
    limit = bound[MONTH_OF_DAY]
    beyond = clip(days, limit) - limit
    lengths = _LENGTHS.reshape(-1, *[1] * (monthly.ndim - 1)).astype(monthly.dtype)
    room = np.add.reduceat(beyond, _EDGES[:-1], axis=0) / lengths
    with np.errstate(all="ignore"):
        share = np.where(np.abs(room) > 0, (monthly - bound) / room, monthly.dtype.type(1))
    return limit + beyond * share[MONTH_OF_DAY]


@cache
def _interpolation() -> Floats:
    """Return the matrix that turns months into days, shape (day, month).

    The running sum of a unit month, less its share of the year, is drawn through the
    month's edges by a periodic cubic spline; its daily steps sum to the month exactly.
    """
    unit_sums = np.concatenate([np.zeros((1, 12)), np.cumsum(np.diag(_LENGTHS), axis=0)])
    trend = _EDGES[:, np.newaxis] * _LENGTHS / DAYS_IN_YEAR
    periodic = unit_sums - trend
    periodic[-1] = periodic[0]
    sums = _periodic_spline(_EDGES, periodic, np.arange(DAYS_IN_YEAR + 1))
    return np.diff(sums, axis=0) + _LENGTHS / DAYS_IN_YEAR


def _periodic_spline(knots: np.ndarray, values: np.ndarray, where: np.ndarray) -> np.ndarray:
    """
    Return the cubic spline through values at knots, the last value being the first again.

    Parameters
    ----------
    knots : array, shape (n + 1,)
        Ascending.
    values : array, shape (n + 1, columns)
    where : array, shape (m,)
        Between the first knot and the last.

    Returns
    -------
    array, shape (m, columns)

    Notes
    -----
    Cubic pieces in Hermite's form whose slopes make the second derivative continuous. Here,
    since scipy.interpolate takes longer to import than a year takes to interpolate.

    References
    ----------
    .. [1] C. de Boor, A Practical Guide to Splines, revised edition, 2001, chapter IV.
    """
    widths = np.diff(knots)
    chords = np.diff(values, axis=0) / widths[:, np.newaxis]
    # Row by row, with s the slopes, h the widths and d the chords of pieces around a knot:
    # s[i-1] / h[i-1] + 2 s[i] (1 / h[i-1] + 1 / h[i]) + s[i+1] / h[i]
    #     = 3 (d[i-1] / h[i-1] + d[i] / h[i])
    following = np.roll(np.diag(1 / widths), 1, axis=1)
    own = np.diag(1 / widths + 1 / np.roll(widths, 1))
    bends = chords / widths[:, np.newaxis]
    slopes = np.linalg.solve(
        following.T + 2 * own + following, 3 * (np.roll(bends, 1, axis=0) + bends)
    )
    slopes = np.concatenate([slopes, slopes[:1]])
    piece = np.clip(np.searchsorted(knots, where, side="right") - 1, 0, widths.size - 1)
    width = widths[piece]
    t = ((where - knots[piece]) / width)[:, np.newaxis]
    rise = values[piece] * (1 + 2 * t) + width[:, np.newaxis] * t * slopes[piece]
    fall = values[piece + 1] * (3 - 2 * t) - width[:, np.newaxis] * (1 - t) * slopes[piece + 1]
    return (1 - t) ** 2 * rise + t**2 * fall
