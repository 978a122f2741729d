"""Every kit's nights through the year at a place, reduced from its camps.

In: nights of all camps in one dataset, the hazards of each place. Out: a NightSeason for
each place and kit. Assumes that a camp is as likely in one cell as its weight says.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from sheltermap.dates import FIRST_DAYS
from sheltermap.hazards.findings import binding_levels
from sheltermap.hazards.kinds import NET
from sheltermap.hazards.layers import HazardFinding
from sheltermap.places.cells import grade_shares, weighted_mean, weighted_quantile
from sheltermap.places.errors import ShareErrors, errors_of_camps, errors_of_place
from sheltermap.places.place import NightSeason
from sheltermap.remembered import remembered
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.grade import close_call, grade, grade_probability
from sheltermap.suitability.kernel import limiting_factor
from sheltermap.suitability.score import scores
from sheltermap.vocabulary import DAYS_IN_MONTH, FACTORS

_SCORES = (
    *FACTORS,
    "sound_share",
    "dangerous",
    "cold_margin",
    "heat_margin",
    "cold_danger_margin",
    "heat_danger_margin",
    "dew_outside",
)
_MEANS = (*_SCORES, "low_one_in_20")
"""Of a kit's scores, those whose mean over a place is shown."""

_MOST_SCORES = 400
"""Cells times kits whose scores are held at once, 35 kB each, before they are reduced."""


def protections(kit: Kit) -> tuple[str, ...]:
    """
    Return what a kit has that may shield from hazards.

    Parameters
    ----------
    kit : Kit

    Returns
    -------
    tuple of str
        Its exposure, and ``net`` where it keeps insects off the sleepers.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> protections(load_kits()["ground-tent"])
    ('ground', 'net')
    """
    return (kit.exposure, NET) if kit.mesh else (kit.exposure,)


@remembered(size=8)
def seasons_of(
    night: xr.Dataset,
    night_of_month: xr.Dataset,
    climate: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    settings: Settings,
    found: Sequence[tuple[HazardFinding, ...]],
    where: Sequence[slice],
) -> list[dict[str, NightSeason]]:
    """
    Return every kit's nights at each place.

    Parameters
    ----------
    night, night_of_month : Dataset, dims day or month, and cell
        Of all camps.
    climate : Dataset, dims month and cell
        What the nights were made of, with ``weight``.
    kits : sequence of Kit
    sleepers : sequence of Sleeper
    settings : Settings
    found : sequence of tuple of HazardFinding
        Of each place.
    where : sequence of slice
        The cells of each place.

    Returns
    -------
    list of dict of str to NightSeason
        One each a place, by the kits' ids.
    """
    errors = errors_of_camps(night_of_month, kits, sleepers, settings, climate)
    weight = climate["weight"].values
    result: list[dict[str, NightSeason]] = [{} for _ in where]
    step = max(1, _MOST_SCORES // weight.size)
    for first in range(0, len(kits), step):
        some = kits[first : first + step]
        of_some = {
            source: values.isel(kit=slice(first, first + step))
            for source, values in errors.items()
        }
        # A call of its own, after which nothing holds the scores of every camp.
        reduced = _reduced(night, some, sleepers, settings, found, where, weight, of_some)
        for seasons, more in zip(result, reduced, strict=True):
            seasons.update(more)
    return result


def _reduced(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    settings: Settings,
    found: Sequence[tuple[HazardFinding, ...]],
    where: Sequence[slice],
    weight: np.ndarray,
    errors: dict[str, xr.DataArray],
) -> list[dict[str, NightSeason]]:
    """Return the nights of kits that are scored together, at each place."""
    scored = scores(night, kits, sleepers, settings=settings, keep=_SCORES)
    scored = scored.transpose("kit", "day", "cell")
    result = []
    for hazards, cells in zip(found, where, strict=True):
        mean = {
            name: weighted_mean(scored[name].values[..., cells], weight[cells]) for name in _MEANS
        }
        result.append(
            {
                kit.id: _season(
                    {name: values[row] for name, values in mean.items()},
                    scored["sound_share"].isel(kit=row, cell=cells, drop=True),
                    weight[cells],
                    errors_of_place(errors, row, cells, weight[cells]),
                    *binding_levels(hazards, protections(kit)),
                )
                for row, kit in enumerate(kits)
            }
        )
    return result


def _season(
    mean: dict[str, np.ndarray],
    share: xr.DataArray,
    weight: np.ndarray,
    errors: ShareErrors,
    level: np.ndarray,
    hazard: np.ndarray,
) -> NightSeason:
    """Return one kit's nights at a place, reduced from its cells."""
    camp_shares = means_of_months(share.values)
    return NightSeason(
        **mean,
        sound_share_median=weighted_quantile(share.values, weight, 0.5),
        sound_share_worst_tenth=weighted_quantile(share.values, weight, 0.1),
        limiting_factor=limiting_factor([mean[name] for name in FACTORS], mean["sound_share"]),
        grade=grade(mean["sound_share"]),
        grade_probability=grade_probability(mean["sound_share"], errors.grade),
        close=close_call(mean["sound_share"], errors.grade),
        hazard_level=level,
        hazard=hazard,
        grade_shares=grade_shares(camp_shares, weight),
        camp_shares=xr.DataArray(
            camp_shares,
            {name: share[name] for name in ("latitude", "longitude")},
            ("month", "cell"),
        ),
        errors=errors,
    )


def means_of_months(daily: np.ndarray) -> np.ndarray:
    """
    Return the means of the months of daily values.

    Parameters
    ----------
    daily : array, shape (365, ...)

    Returns
    -------
    array, shape (12, ...)

    Examples
    --------
    >>> float(means_of_months(np.arange(365.0))[0])
    15.0
    """
    lengths = np.reshape(DAYS_IN_MONTH, (-1, *[1] * (np.ndim(daily) - 1)))
    return np.add.reduceat(daily, FIRST_DAYS, axis=0) / lengths
