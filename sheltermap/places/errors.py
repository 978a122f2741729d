"""How far the share of sound nights at a place can be trusted, by the source of doubt.

In: the monthly nights of a place, its climate, kits. Out: what one standard error of the
climate, one spread between persons and one spread between years do to the share of each day.
Assumes that what moves a share holds for a whole month at a place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.dates import MONTH_OF_DAY
from sheltermap.places.cells import weighted_mean
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.band import (
    BAD_SIDE,
    CLIMATE,
    PERSON,
    YEARS,
    share_changes,
    share_error,
    signed,
    stated_errors,
    year_changes,
)
from sheltermap.vocabulary import Floats


@dataclass(frozen=True, eq=False)
class ShareErrors:
    """How far the share of sound nights can be trusted.

    Attributes
    ----------
    grade : float array, shape (365,)
        Standard error that decides on a day whether a grade is close: of the climate data,
        with the correction for height, and between persons. [1]
    climate : float array, shape (3, 12)
        Change of the share for one standard error of each of `band.CLIMATE`, signed. [1]
    person : float array, shape (2, 12)
        The same for people who need it warmer at night, or cooler at bedtime. [1]
    years : float array, shape (2, 12)
        The same between years, for each of `band.YEARS`. [1]
    bad_years : float array, shape (2, 2, 12)
        Change of the share in years `band.BAD_SIDE` spreads to either side, for each of
        `band.YEARS`. [1]
    """

    grade: Floats
    climate: Floats
    person: Floats
    years: Floats
    bad_years: Floats


def errors_of_camps(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    settings: Settings,
    climate: xr.Dataset,
) -> dict[str, xr.DataArray]:
    """
    Return how far each kit's share in each camp can be trusted.

    Parameters
    ----------
    night : Dataset, dims month and cell
    kits : sequence of Kit
        At least one.
    sleepers : sequence of Sleeper
    settings : Settings
    climate : Dataset, dims month and cell
        The variables state their errors; ``yearly_spread`` [K] is optional.

    Returns
    -------
    dict of str to DataArray, last dims kit, month and cell
        By the names of `ShareErrors`. [1]
    """
    asked = night, kits, sleepers
    changes = share_changes(*asked, settings=settings, **stated_errors(climate))
    years = year_changes(*asked, settings=settings, between_years=climate.get("yearly_spread"))
    found = {
        "grade": share_error(changes),
        "climate": signed(changes, CLIMATE),
        "person": signed(changes, PERSON),
        "years": signed(years, YEARS, BAD_SIDE),
        "bad_years": years,
    }
    return {name: each.transpose(..., "kit", "month", "cell") for name, each in found.items()}


def errors_of_place(
    errors: dict[str, xr.DataArray], kit: int, where: slice, weight: np.ndarray
) -> ShareErrors:
    """
    Return how far a kit's share at one place can be trusted.

    Parameters
    ----------
    errors : dict of str to DataArray
        From `errors_of_camps`.
    kit : int
        Its position among the kits.
    where : slice
        The place's cells.
    weight : array, shape (cells,)

    Returns
    -------
    ShareErrors
    """
    by_month = {
        name: weighted_mean(each.values[..., kit, :, where], weight)
        for name, each in errors.items()
    }
    return ShareErrors(**by_month | {"grade": by_month["grade"][MONTH_OF_DAY]})
