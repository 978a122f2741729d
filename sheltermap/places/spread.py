"""A region of several climates: whether it is one, and where its good parts are.

In: the cells of a leg and how sound their nights are. Out: words for the reader.
Assumes cells are close enough together for a flat map, on which east and north are each
measured by their own spread; nothing here changes a figure.
"""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.places.cells import weighted_mean, weighted_quantile
from sheltermap.spans import months_in_words
from sheltermap.vocabulary import GRADE_FLOORS, MONTHS, Flags, Floats, Grade

_COMPASS = (
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
)
_WIDE_TEMPERATURES = 6.0  # [K] judgement: as much as a month of spring, or 1,000 m.
_WIDE_RAIN_RATIO = 3.0  # judgement: a dry and a wet country.
_WIDE_RAIN = 300.0  # [mm year-1] judgement: below it both are dry.
_CLEAR_SIDE = 0.5  # judgement: standard deviations by which the good parts lie off the middle.
_CLEAR_HEIGHT = 200.0  # [m] judgement
_TAIL = 0.05
_FEW = 0.05  # judgement: a share of the camps too small to seek out or to avoid.
_EVERYWHERE, _NOWHERE = "everywhere", "nowhere"


def several_climates(climate: xr.Dataset) -> str:
    """
    Return the words for a leg whose cells differ much, or an empty text.

    Parameters
    ----------
    climate : xarray.Dataset
        From `cells.cells`: along ``month`` and ``cell``, with ``weight``.

    Returns
    -------
    str
        Compares the cells between which nine tenths of the leg lie.
    """
    weight = climate["weight"].values
    temperature, rain = (
        climate[name].transpose("month", "cell").values for name in ("air_temperature", "rainfall")
    )
    low, high = (weighted_quantile(temperature, weight, q) for q in (_TAIL, 1 - _TAIL))
    width = np.max(high - low)
    dry, wet = (float(weighted_quantile(rain.sum(axis=0), weight, q)) for q in (_TAIL, 1 - _TAIL))
    words = []
    if width >= _WIDE_TEMPERATURES:
        month = MONTHS[int(climate["month"].values[int(np.argmax(high - low))]) - 1]
        words.append(f"mean temperatures differ by {width:.0f} °C across it in {month}")
    if wet - dry >= _WIDE_RAIN and wet >= _WIDE_RAIN_RATIO * dry:
        words.append(f"rain ranges from {dry:.0f} to {wet:.0f} mm a year")
    return f"Several climates: {' and '.join(words)}." if words else ""


def good_parts(sound_share: xr.DataArray, elevation: xr.DataArray, weight: xr.DataArray) -> str:
    """
    Return where in a leg the nights are workable or better.

    Parameters
    ----------
    sound_share : xarray.DataArray, dim cell
        Of one month or day, with coordinates latitude and longitude. [0 to 1]
    elevation : xarray.DataArray, dim cell
        [m]
    weight : xarray.DataArray, dim cell

    Returns
    -------
    str
        For example "in the north-east, on higher ground"; "everywhere" and "nowhere" but for
        a twentieth; "here and there"; empty where the shares are missing.
    """
    known = sound_share.notnull().values
    if not known.any():
        return ""
    share = sound_share.values[known]
    good = share >= _floor(Grade.WORKABLE)
    weights = weight.values[known]
    good_share = weights[good].sum() / weights.sum()
    if good_share >= 1 - _FEW:
        return _EVERYWHERE
    if good_share <= _FEW:
        return _NOWHERE
    east, north = _plane(sound_share, known)
    side = _side(_offset(east, good, weights), _offset(north, good, weights))
    height = elevation.values[known]
    step = np.average(height[good], weights=weights[good]) - np.average(
        height[~good], weights=weights[~good]
    )
    ground = ""
    if abs(step) >= _CLEAR_HEIGHT:
        ground = "on higher ground" if step > 0 else "on lower ground"
    return ", ".join(word for word in (side, ground) if word) or "here and there"


def uneven_nights(sound_share: xr.DataArray, elevation: xr.DataArray, weight: xr.DataArray) -> str:
    """
    Return where and when the nights of a leg differ from camp to camp, or an empty text.

    Parameters
    ----------
    sound_share : xarray.DataArray, dims month and cell
        Of one kit, with coordinates latitude and longitude. [0 to 1]
    elevation : xarray.DataArray, dim cell
        [m]
    weight : xarray.DataArray, dim cell

    Returns
    -------
    str
        The months in which only parts are workable or better, where those lie, and which
        share of the leg they are. It says "by the climate alone", since a hazard can leave
        a month that is workable everywhere with a lower grade.
    """
    by_month = [good_parts(month, elevation, weight) for month in sound_share]
    workable = (sound_share >= _floor(Grade.WORKABLE)).where(sound_share.notnull())
    good = weighted_mean(workable.transpose("month", "cell").values, weight.values)
    partial = [
        words for words in dict.fromkeys(by_month) if words not in (_EVERYWHERE, _NOWHERE, "")
    ]
    if not partial:
        return ""
    parts = []
    for words in partial:
        months = np.array([found == words for found in by_month])
        least, most = 100 * good[months].min(), 100 * good[months].max()
        span = f"{least:.0f}" if f"{least:.0f}" == f"{most:.0f}" else f"{least:.0f} to {most:.0f}"
        parts.append(f"{months_in_words(months)} {words} ({span} % of it)")
    whole = np.array([found == _EVERYWHERE for found in by_month])
    if whole.any():
        parts.append(f"everywhere {months_in_words(whole)}")
    return f"By the climate alone, nights are workable or better {'; '.join(parts)}."


def _floor(grade: Grade) -> float:
    return next(floor for known, floor in GRADE_FLOORS if known is grade)


def _plane(cells: xr.DataArray, known: Flags) -> tuple[np.ndarray, np.ndarray]:
    """Return how far east and north each cell lies. [degrees]"""
    longitude = np.unwrap(cells["longitude"].values[known], period=360.0)
    return longitude, cells["latitude"].values[known]


def _offset(position: Floats, good: Flags, weights: Floats) -> float:
    """Return how far the good cells lie off the middle, in standard deviations of all."""
    middle = np.average(position, weights=weights)
    spread = np.sqrt(np.average((position - middle) ** 2, weights=weights))
    if spread == 0:
        return 0.0
    return float((np.average(position[good], weights=weights[good]) - middle) / spread)


def _side(east: float, north: float) -> str:
    """Return a direction of the compass, or nothing for the middle."""
    if np.hypot(east, north) < _CLEAR_SIDE:
        return ""
    octant = round(np.degrees(np.arctan2(east, north)) / 45.0) % 8
    return f"in the {_COMPASS[octant]}"
