"""By how much an answer moves where the height of a camp is in doubt.

In: the height that was used, the map's, and the nights at other heights. Out: which heights to
score again, and a sentence. Assumes that the map errs as its standard error says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sheltermap.places.camp_height import CampHeight
from sheltermap.report.night_months import NightMonths, number
from sheltermap.vocabulary import MONTHS, Floats

LEAST_DIFFERENCE_M = 150.0
"""Difference of height from which the answer at the other one is told. [m] judgement: less moves
lows by under 0.7 K, half the error of an estimated low."""


@dataclass(frozen=True, eq=False)
class OtherHeight:
    """
    Nights of the same camp at another height; arrays have shape (12,).

    Attributes
    ----------
    elevation_m : float
    night_low : array
        [degC]
    sound_share : array
        [0 to 1]
    """

    elevation_m: float
    night_low: Floats
    sound_share: Floats

    @property
    def as_data(self) -> dict:
        """Return it as the ``night`` contract has it."""
        return {
            "elevation_m": number(self.elevation_m),
            "night_low_c": [number(value) for value in self.night_low],
            "sound_share": [number(value) for value in self.sound_share],
        }


def other_heights(used: CampHeight, mapped: CampHeight | None) -> Iterator[CampHeight]:
    """
    Yield the heights at which to score again.

    Parameters
    ----------
    used : CampHeight
    mapped : CampHeight or None
        As the embedded map has it; None where it knows no height.

    Yields
    ------
    CampHeight
        The map's, where a stated height differs from it by more than its error; where the map's
        was used, one standard error below and above it. None within `LEAST_DIFFERENCE_M`.
    """
    if mapped is None or mapped.error_m is None:
        return
    if used.basis == "stated":
        apart = abs(used.elevation_m - mapped.elevation_m)
        if apart >= max(LEAST_DIFFERENCE_M, mapped.error_m):
            yield mapped
    elif used.basis == "map" and mapped.error_m >= LEAST_DIFFERENCE_M:
        for step in (-mapped.error_m, mapped.error_m):
            yield CampHeight(used.elevation_m + step, None, "stated")


def height_cautions(
    used: CampHeight,
    mapped: CampHeight | None,
    nights: NightMonths,
    others: Sequence[OtherHeight],
) -> Iterator[str]:
    """
    Yield by how much the answer moves at other heights; nothing where there are none.

    Parameters
    ----------
    used : CampHeight
    mapped : CampHeight or None
    nights : NightMonths
        At the height used.
    others : sequence of OtherHeight
        Of `other_heights`.

    Yields
    ------
    str
    """
    if not others or mapped is None:
        return
    opening = f"No height is stated, and {used.elevation_m:,.0f} m is {used.words}"
    if used.basis == "stated":
        opening = (
            f"The ground around lies at about {mapped.elevation_m:,.0f} m, {mapped.words}, not at "
            f"{used.elevation_m:,.0f} m"
        )
    told = "; ".join(_moved(nights, other) for other in others)
    mend = "" if used.basis == "stated" else " State --elevation if you know it."
    yield f"{opening}. {told[:1].upper()}{told[1:]}.{mend}"


def _moved(nights: NightMonths, other: OtherHeight) -> str:
    """Return how the nights of another height differ: lows all year, shares where most."""
    drop = float(np.nanmean(other.night_low - nights.figures["night_low_c"]))
    word = "warmer" if drop > 0 else "colder"
    said = f"at {other.elevation_m:,.0f} m lows are {abs(drop):.1f} \u00b0C {word}"
    change = np.abs(other.sound_share - nights.sound_share)
    if np.isnan(change).all() or np.nanmax(change) < 0.01:
        return f"{said} and as many nights are sound"
    month = int(np.nanargmax(change))
    there, here = (100 * float(each.sound_share[month]) for each in (other, nights))
    return f"{said}, and in {MONTHS[month]} {there:.0f} % of nights are sound, not {here:.0f} %"
