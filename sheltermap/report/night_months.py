"""The twelve months of the ``night`` contract: numbers and codes in, plain values out.

In: arrays over months, from a point's own climate or from a trip's place. Out: a dict for each
month, and sentences on what the figures hide. Assumes nothing of where they come from, so that
a place reads alike from either.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import SupportsFloat

import numpy as np
import xarray as xr

from sheltermap.dayside import heat_caution
from sheltermap.spans import months_in_words
from sheltermap.suitability.grade import margin_words
from sheltermap.vocabulary import FACTORS, NO_FACTOR, VARIABLES, Codes, Flags, Floats, Grade

UNSURE_LOW = 2.0
"""Standard error of the mean low from which `night` says to carry warmer bedding. [K]
judgement: a word on a bag's label is 5 to 7 K wide, and two such errors are 4."""

HEATED_BELOW = 5.0
"""Mean night low below which people are tempted to heat a shelter. [degC] judgement"""

CARBON_MONOXIDE = (
    "never heat a closed shelter with a flame or a stove. Carbon monoxide has no smell and kills "
    "sleepers without warning"
)

CAUTION = (
    "Long-term averages of a cell tens of kilometres wide, not a forecast. Local warnings, "
    "authorities and guides come first."
)
"""Said with every answer."""

_DIGITS = 6


@dataclass(frozen=True, eq=False)
class NightMonths:
    """
    Twelve months of nights in one kit; arrays have shape (12,), NaN is unknown.

    Attributes
    ----------
    figures : mapping of str to array
        By their names of the contract, in its order.
    risks : mapping of str to array
        Of `vocabulary.FACTORS`; a factor left out was not assessed. [0 to 1]
    sound_share, dangerous : array
        [0 to 1]
    heat_category : array
        Of midday in full sun, 0 to 5.
    limiting_factor, grade : array of int
        Codes, as in a `places.months.KitMonth`.
    close : array of bool
    margins : mapping of str to (array, array)
        For cold and heat, what a mean dry night leaves to spare, and before it endangers. [K]
    remedy : sequence of str or None
        Ids.
    """

    figures: Mapping[str, Floats]
    risks: Mapping[str, Floats]
    sound_share: Floats
    dangerous: Floats
    heat_category: Floats
    limiting_factor: Codes
    grade: Codes
    close: Flags
    margins: Mapping[str, tuple[Floats, Floats]]
    remedy: Sequence[str | None]


def months(nights: NightMonths) -> list[dict]:
    """
    Return the months of the contract.

    Parameters
    ----------
    nights : NightMonths

    Returns
    -------
    list of dict
        As DEVELOPERS.md lists it, from January on.
    """
    return [_month(nights, position) for position in range(12)]


def _month(nights: NightMonths, position: int) -> dict:
    """Return one month."""
    factor = _factor(int(nights.limiting_factor[position]))
    code, heat = int(nights.grade[position]), nights.heat_category[position]
    return {
        "month": position + 1,
        **{name: number(values[position]) for name, values in nights.figures.items()},
        **{
            name: number(nights.risks[name][position]) if name in nights.risks else None
            for name in FACTORS
        },
        "sound_share": number(nights.sound_share[position]),
        "limiting_factor": factor,
        "grade": Grade(code).word if code >= 0 else None,
        "close": bool(nights.close[position]),
        "dangerous": number(nights.dangerous[position]),
        "severity": _severity(nights, position, factor),
        "heat_by_day": None if np.isnan(heat) else int(heat),
        "remedy": nights.remedy[position],
    }


def _severity(nights: NightMonths, position: int, factor: str | None) -> str | None:
    """Return how far a mean dry night is from the limit that decides, in words."""
    if factor is None or factor not in nights.margins:
        return None
    margin, endangering = (float(values[position]) for values in nights.margins[factor])
    return margin_words(margin, factor, endangering) or None


def _factor(code: int) -> str | None:
    """Return a limiting factor as its word; "none" where nothing spoils the night."""
    if code == NO_FACTOR:
        return "none"
    return FACTORS[code] if code >= 0 else None


def number(value: SupportsFloat) -> float | None:
    """
    Return a number for JSON; None for a missing one.

    Examples
    --------
    >>> number(-1e-9), number(float("nan"))
    (0.0, None)
    """
    plain = float(value)
    return None if np.isnan(plain) else round(plain, _DIGITS) + 0.0  # No minus nought.


def estimated(climate: xr.Dataset) -> Iterator[str]:
    """
    Yield the variables of the contract that were estimated.

    Parameters
    ----------
    climate : Dataset

    Yields
    ------
    str
    """
    for name in VARIABLES:
        if name in climate and "estimated" in climate[name].attrs:
            yield name


def night_cautions(nights: NightMonths) -> Iterator[str]:
    """
    Yield what the figures of twelve months hide.

    Parameters
    ----------
    nights : NightMonths

    Yields
    ------
    str
    """
    low, error = (nights.figures[name] for name in ("night_low_c", "temperature_min_error_k"))
    unsure = error >= UNSURE_LOW
    if unsure.any():
        worst = round(float(error[unsure].max()), 1)
        reach = f" to {worst:.1f}" if worst > UNSURE_LOW else ""
        yield (
            f"Lows are estimated here, and the mean low is uncertain by {UNSURE_LOW:g}{reach} "
            f"\u00b0C (one standard error) {months_in_words(unsure)}: carry bedding for colder "
            "nights than shown."
        )
    cold = low < HEATED_BELOW
    if cold.any():
        yield f"Nights are cold {months_in_words(cold)}: {CARBON_MONOXIDE}."
    if (nights.heat_category >= 1).any():
        yield _heat_words(nights.heat_category)


def _heat_words(category: Floats) -> str:
    """Return when midday has a heat category, and what people do by day in the worst."""
    worst = int(np.nanmax(category))
    said = f"Midday has a heat category {months_in_words(category >= 1)}, up to {worst} of 5"
    if (category < worst).any():
        said += f" {months_in_words(category == worst)}"
    return f"{said}. {heat_caution(worst)}"
