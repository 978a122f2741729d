"""The atlas's headline: how much of the land a kit suits in a month, in a sentence.

In: shares of the land, and regions. Out: plain text, not yet escaped. Assumes that shares are of
the assessed area, and that a region's danger is the mean over its area.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sheltermap.atlas.land import LandShares
from sheltermap.atlas.regions import RegionRow
from sheltermap.suitability.candidates import LEAST_DANGER
from sheltermap.suitability.titles import in_sentence
from sheltermap.vocabulary import MONTHS, listed
from sheltermap.website.figures import is_known, percent

_NAMED = 3


def headlines(
    land: LandShares,
    titles: Mapping[str, str],
    regions: Sequence[RegionRow],
) -> dict[str, list[str]]:
    """
    Return what the page says first, for every kit and month.

    Parameters
    ----------
    land : LandShares
    titles : mapping
        Of the kits.
    regions : sequence of RegionRow

    Returns
    -------
    dict of str to list of str
        Twelve for each kit.
    """
    return {
        kit: [
            _sentence(
                MONTHS[month],
                in_sentence(title),
                {name: shares[month] for name, shares in land[kit].items()},
                _worst(regions, kit, month),
            )
            for month in range(12)
        ]
        for kit, title in titles.items()
    }


def _sentence(month: str, kit: str, share: Mapping[str, Any], worst: Sequence[str]) -> str:
    """Return one kit's month."""
    if not is_known(share["workable"]):
        return f"In {month} no land of this atlas could be assessed for the {kit}."
    text = (
        f"In {month} the {kit} is workable or better on {percent(share['workable'])} of the land"
    )
    if share["workable"] > 0:
        text += f", sound on {percent(share['sound'])}"
    bar = f"1 night in {1 / LEAST_DANGER:.0f}"
    if not is_known(share["dangerous"]):
        return f"{text}. Danger was not assessed."
    if share["dangerous"] == 0:
        return f"{text}. In no cell, at its mean height, would {bar} be dangerous."
    where = f", above all in {listed(worst)}" if worst else ""
    part = percent(share["dangerous"])
    return f"{text}. At least {bar} could be dangerous on {part}{where}."


def _worst(regions: Sequence[RegionRow], kit: str, month: int) -> list[str]:
    """Return the regions with the most dangerous nights, by their area; none below the bar."""
    danger = {row.name: float(row.kits[kit].dangerous[month]) for row in regions}
    area = {row.name: row.area_km2 for row in regions}
    # An unknown danger reaches no bar.
    names = [name for name, chance in danger.items() if chance >= LEAST_DANGER]
    return sorted(names, key=lambda name: (-danger[name] * area[name], name))[:_NAMED]
