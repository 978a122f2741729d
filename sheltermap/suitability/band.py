"""The band of a share: how far the inputs' errors and the person move it.

In: the same night, kits and sleepers as a score. Out: the standard error of the share of
sound nights. Assumes the errors are independent, and that each moves all nights of a
place together; they are combined in quadrature.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypedDict

import numpy as np
import xarray as xr

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate.error import error_of, stated_error
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.score import TEMPERATURE_ERROR, in_quadrature, scores

DAYS_A_MONTH = 30.4
"""Length of a mean month, for errors stated in days a month. [day]"""

DEWPOINT_ERROR = 2.0
"""Error of its dewpoint. [K] 49 sites, left out in turn."""

WET_SHARE_ERROR = 2.0 / DAYS_A_MONTH
"""Error of its share of wet days. [1] 2.0 days a month, eleven stations."""

_VAPOUR_PER_KELVIN = 0.065  # [K-1] relative change of saturation pressure at 10 to 20 degC
_MOVE = "move"  # dimension along which the night is moved by one error after another
_TEMPERATURES = (
    "bedtime_temperature",
    "coldest_hours_temperature",
    "night_low",
    "ground_temperature",
)


class StatedErrors(TypedDict, total=False):
    """Errors by the names under which `share_error` takes them."""

    temperature_error: float | xr.DataArray
    dewpoint_error: float | xr.DataArray
    wet_share_error: float


def share_error(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    temperature_error: float | xr.DataArray = TEMPERATURE_ERROR,
    dewpoint_error: float | xr.DataArray = DEWPOINT_ERROR,
    wet_share_error: float = WET_SHARE_ERROR,
) -> xr.DataArray:
    """
    Return the standard error of the share of sound nights.

    Parameters
    ----------
    night : Dataset
        From ``night.conditions``.
    kits : sequence of Kit
        At least one.
    sleepers : sequence of Sleeper
    settings : Settings, optional
        Its `person_spread` counts as an error of the temperature felt.
    temperature_error : float or DataArray
        [K] Larger where a camp's altitude was corrected.
    dewpoint_error : float or DataArray
        [K]
    wet_share_error : float
        [1]

    Returns
    -------
    DataArray, first dimension kit
        What each error, up and down, does to the share, in quadrature. [0 to 1]
    """
    settings = settings or Settings()
    warmth = in_quadrature(settings.person_spread, temperature_error)
    growth = _VAPOUR_PER_KELVIN * dewpoint_error
    moves: list[Mapping[str, xr.DataArray]] = [{}]
    for sign in (1, -1):
        moves.append(_warmer(night, sign * warmth))
        if np.any(dewpoint_error):
            moves.append(_moister(night, sign * growth))
        if wet_share_error:
            moves.append(_wetter(night, sign * wet_share_error))
    # One pass over all of them: xarray takes longer to hand nights over than they to score.
    moved = night.assign(
        {
            name: xr.concat([move.get(name, night[name]) for move in moves], _MOVE)
            for name in {name for move in moves for name in move}
        }
    )
    share = scores(
        moved, kits, sleepers, settings=settings, details=False, keep=["sound_share"]
    ).sound_share
    change = share.isel({_MOVE: slice(1, None)}) - share.isel({_MOVE: 0})
    return np.sqrt((change**2).sum(_MOVE, skipna=False) / 2).assign_attrs(
        units="1", long_name="standard error of the share of sound nights"
    )


def stated_errors(climate: xr.Dataset) -> StatedErrors:
    """
    Return the errors that a climate states about itself, as `share_error` takes them.

    Parameters
    ----------
    climate : Dataset
        A climatology with any dimensions, corrected for height or not.

    Returns
    -------
    StatedErrors
        ``temperature_error`` [K] with the error of the correction, ``dewpoint_error`` [K]
        and ``wet_share_error`` [1].
    """
    return {
        "temperature_error": error_of(climate, "air_temperature_min"),
        "dewpoint_error": error_of(climate, "vapour_pressure"),
        "wet_share_error": stated_error(climate["wet_days"]) / DAYS_A_MONTH,
    }


def _warmer(night: xr.Dataset, shift: float | xr.DataArray) -> dict[str, xr.DataArray]:
    """Return the night's temperatures moved together."""
    return {name: night[name] + shift for name in _TEMPERATURES}


def _moister(night: xr.Dataset, growth: float | xr.DataArray) -> dict[str, xr.DataArray]:
    """Return the night's vapour pressures grown, still at most saturation."""
    factor = np.exp(growth)
    return {
        name: (night[name] * factor).clip(max=saturation_vapour_pressure(night[temperature]))
        for name, temperature in (
            ("vapour_pressure", "coldest_hours_temperature"),
            ("bedtime_vapour_pressure", "bedtime_temperature"),
        )
    }


def _wetter(night: xr.Dataset, shift: float) -> dict[str, xr.DataArray]:
    """Return the share of wet days moved, still a share, and none where it never rains."""
    wet = night["wet_share"]
    return {"wet_share": xr.where(wet > 0, np.clip(wet + shift, 0.0, 1.0), wet)}
