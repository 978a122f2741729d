"""How far the share of sound nights at a place can be trusted, by the source of doubt.

In: the monthly nights of a place, its climate, kits. Out: what one standard error of the
climate, one spread between persons and, where the data have it, one spread between years
does to the share of each day. Assumes an error holds for a whole month at a place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Unpack

import numpy as np
import xarray as xr

from sheltermap.places.cells import weighted_mean
from sheltermap.shelters.kit import Kit
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.band import StatedErrors, share_error, stated_errors
from sheltermap.trip.inputs import Inputs
from sheltermap.vocabulary import DAYS_IN_MONTH

_NO_ERROR: StatedErrors = {
    "temperature_error": 0.0,
    "dewpoint_error": 0.0,
    "wet_share_error": 0.0,
}


@dataclass(frozen=True, eq=False)
class ShareErrors:
    """Standard errors of the share of sound nights, one value a day of the year.

    Attributes
    ----------
    climate, person : float array, shape (365,)
        From the climate data with the correction for height, and between persons. [1]
    year : float array, shape (365,), or None
        Between years; None where the data do not have it. [1]
    """

    climate: np.ndarray
    person: np.ndarray
    year: np.ndarray | None

    @property
    def grade(self) -> np.ndarray:
        """Return the error that decides whether a grade is close."""
        return np.hypot(self.climate, self.person)


def errors_of_camps(
    night: xr.Dataset, kits: Sequence[Kit], inputs: Inputs, climate: xr.Dataset
) -> dict[str, xr.DataArray]:
    """
    Return how far each kit's share in each camp can be trusted.

    Parameters
    ----------
    night : Dataset, dims month and cell
    kits : sequence of Kit
        At least one.
    inputs : Inputs
    climate : Dataset, dims month and cell
        The variables state their errors; ``yearly_spread`` [K] is optional.

    Returns
    -------
    dict of str to DataArray, dims kit, month and cell
        By the names of `ShareErrors`, without those of which the data have nothing. [1]
    """
    settings = inputs.trip.settings
    of_nobody = settings.model_copy(update={"person_spread": 0.0})

    def error(by: Settings, **errors: Unpack[StatedErrors]) -> xr.DataArray:
        found = share_error(night, kits, inputs.sleepers, settings=by, **(_NO_ERROR | errors))
        return found.transpose("kit", "month", "cell")

    result = {"climate": error(of_nobody, **stated_errors(climate)), "person": error(settings)}
    if "yearly_spread" in climate:
        result["year"] = error(of_nobody, temperature_error=climate["yearly_spread"])
    return result


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

    def daily(source: str) -> np.ndarray:
        mean = weighted_mean(errors[source].values[kit, :, where], weight)
        return np.repeat(mean, DAYS_IN_MONTH)

    return ShareErrors(
        climate=daily("climate"),
        person=daily("person"),
        year=daily("year") if "year" in errors else None,
    )
