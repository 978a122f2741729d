"""What nobody looked at, in words: factors that no night was assessed for, hazards unchecked.

In: a Report. Out: plain text, not yet escaped (the templates escape it). Assumes that what a
journey has in common is said once on the Plan, and by a leg only where it differs.
"""

from __future__ import annotations

import numpy as np

from sheltermap.places.place import Place
from sheltermap.report.report import Report
from sheltermap.vocabulary import listed
from sheltermap.website.words import FACTOR_WORDS, kind_title


def assessed(place: Place, factor: str) -> bool:
    """
    Return whether any night of a place was assessed for a factor, in any kit.

    Parameters
    ----------
    place : Place
    factor : str
        One of `vocabulary.FACTORS`.

    Returns
    -------
    bool
    """
    return any(not np.isnan(getattr(season, factor)).all() for season in place.seasons.values())


def unassessed(report: Report) -> tuple[list[str], list[str]]:
    """
    Return the factors that the figures leave out, in words.

    Parameters
    ----------
    report : Report

    Returns
    -------
    tuple of two lists of str
        Those assessed nowhere, and those assessed at some places only.
    """
    nowhere: list[str] = []
    partly: list[str] = []
    for factor in report.not_assessed:
        some = any(assessed(place, factor) for place in report.places)
        (partly if some else nowhere).append(FACTOR_WORDS.get(factor, factor))
    return nowhere, partly


def unchecked_sentences(report: Report) -> list[str]:
    """
    Return which kinds of hazard nobody looked at, and on which legs.

    Parameters
    ----------
    report : Report

    Returns
    -------
    list of str
        One for each set of kinds that legs have in common; empty where all were looked at.
    """
    where: dict[tuple[str, ...], list[str]] = {}
    legs = report.best.legs if report.best else ()
    met = [(leg.name, leg.not_checked) for leg in legs if not leg.done]
    for name, kinds in met or [(place.name, place.not_checked) for place in report.places]:
        where.setdefault(kinds, []).append(name)
    everywhere = len(where) == 1
    return [
        f"{'on any leg' if everywhere else f'on {listed(names)}'}: "
        # Some kinds have an "and" of their own, so commas would not tell them apart.
        f"{'; '.join(map(kind_title, kinds))}."
        for kinds, names in where.items()
        if kinds
    ]
