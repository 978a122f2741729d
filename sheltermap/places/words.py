"""Words for what the mean of a place hides: depth of cold, uneven camps, dew and snow.

In: monthly figures of a place, those of one kit included. Out: sentences for its page.
Assumes nothing; no figure is changed here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import xarray as xr

from sheltermap.night.rain import snow_share
from sheltermap.places.spread import uneven_nights
from sheltermap.shelters.kit import Kit
from sheltermap.spans import months_in_words
from sheltermap.suitability.grade import margin_words
from sheltermap.vocabulary import MONTHS

_OFTEN = 0.5
"""Share of nights, or of precipitation, from which a month is named. judgement"""

_LEAST_SNOW = 10.0
"""Precipitation of a month whose snow is worth a word. [mm] judgement"""


def kit_words(
    kit: Kit,
    sound_share: xr.DataArray,
    elevation: xr.DataArray,
    weight: xr.DataArray,
    margin: Mapping[str, np.ndarray],
    danger_margin: Mapping[str, np.ndarray],
    dew: np.ndarray,
) -> Iterator[str]:
    """
    Yield what to know about a place's nights in one kit, beyond their mean.

    Parameters
    ----------
    kit : Kit
    sound_share : DataArray, dims month and cell
        [0 to 1]
    elevation, weight : DataArray, dim cell
        [m], [1]
    margin : mapping of str to array, shape (12,)
        By ``cold`` and ``heat``: what a mean dry night leaves to spare. [K]
    danger_margin : mapping of str to array, shape (12,)
        The same before it endangers. [K]
    dew : array, shape (12,)
        Probability that outside air alone wets the fabric on a dry night. [0 to 1]

    Yields
    ------
    str
        Where the good parts are, how far the worst months lie beyond a limit, and when
        dew falls.
    """
    uneven = uneven_nights(sound_share, elevation, weight)
    if uneven:
        yield f"{kit.title}: {uneven[0].lower()}{uneven[1:]}"
    for factor, monthly in margin.items():
        if (monthly < 0).any():
            worst = int(np.nanargmin(monthly))
            words = margin_words(
                float(monthly[worst]), factor, float(danger_margin[factor][worst])
            )
            yield f"An average dry night in {MONTHS[worst]} {words} ({kit.title})."
    if kit.condensation_weight > 0 and (dew >= _OFTEN).any():
        yield (
            f"{kit.title}: {months_in_words(dew >= _OFTEN)} dew or rime from the outside air "
            "alone wets it on half of the dry nights or more; what sleepers breathe out comes "
            "on top."
        )


def snow_words(air_temperature: np.ndarray, rain: np.ndarray) -> Iterator[str]:
    """
    Yield when snow falls, where it does.

    Parameters
    ----------
    air_temperature : array, shape (12,)
        Monthly mean. [degC]
    rain : array, shape (12,)
        Precipitation of the month. [mm]

    Yields
    ------
    str

    Examples
    --------
    >>> cold = np.where(np.arange(12) < 2, -8.0, 10.0)
    >>> [words[:46] for words in snow_words(cold, np.full(12, 40.0))]
    ['From January to February half or more of what ']
    """
    snowy = (snow_share(air_temperature) >= _OFTEN) & (rain >= _LEAST_SNOW)
    if snowy.any():
        when = months_in_words(snowy)
        yield (
            f"{when[0].upper()}{when[1:]} half or more of what falls is snow. It counts as rain "
            "here; its weight on cloth and on branches is not assessed."
        )
