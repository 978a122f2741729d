"""How far the share of sound nights at a place can be trusted, by the source of doubt.

In: the monthly nights of a place, its climate, kits. Out: what one standard error of the
climate, one spread between persons and, where the data have it, one spread between years
does to the share of each day. Assumes an error holds for a whole month at a place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from sheltermap.places.cells import weighted_mean
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.band import share_error, stated_errors
from sheltermap.trip.inputs import Inputs
from sheltermap.vocabulary import DAYS_IN_MONTH

_NO_ERROR = {"temperature_error": 0.0, "dewpoint_error": 0.0, "wet_share_error": 0.0}


@dataclass(frozen=True, eq=False)
class Doubts:
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


def doubts(
    night: xr.Dataset,
    kits: Sequence[Kit],
    inputs: Inputs,
    climate: xr.Dataset,
    weight: xr.DataArray,
) -> dict[str, Doubts]:
    """
    Return how far each kit's share at a place can be trusted.

    Parameters
    ----------
    night : Dataset, dims month and cell
    kits : sequence of Kit
        At least one.
    inputs : Inputs
    climate : Dataset, dims month and cell
        The variables state their errors; ``yearly_spread`` [K] is optional.
    weight : DataArray, dim cell

    Returns
    -------
    dict of str to Doubts
        By the kits' ids.
    """
    settings = inputs.trip.settings
    of_nobody = settings.model_copy(update={"person_spread": 0.0})

    def daily(by, **errors) -> np.ndarray:
        error = share_error(night, kits, inputs.sleepers, settings=by, **(_NO_ERROR | errors))
        mean = weighted_mean(error, weight).transpose("kit", "month")
        return np.repeat(mean.values, DAYS_IN_MONTH, axis=1)

    climates, persons = daily(of_nobody, **stated_errors(climate)), daily(settings)
    years = (
        daily(of_nobody, temperature_error=climate["yearly_spread"])
        if "yearly_spread" in climate
        else len(kits) * [None]
    )
    return {
        kit.id: Doubts(*errors)
        for kit, *errors in zip(kits, climates, persons, years, strict=True)
    }
