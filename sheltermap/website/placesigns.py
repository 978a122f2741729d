"""Signs on the pages: of one place, and what every kind rests on.

In: places with their signs. Out: plain dicts for the templates, which escape. Assumes that a
sign is shown lighter than a hazard's level, and after it.
"""

from __future__ import annotations

import numpy as np

from sheltermap.hazards.kinds import hazard_kind
from sheltermap.hazards.sign import Sign, Strength
from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.places.months import month_days
from sheltermap.places.place import Place
from sheltermap.spans import about_days
from sheltermap.vocabulary import DAYS_IN_YEAR, MONTHS, Flags, lowered

CLOSE_DAYS = 30
"""Days in a year by which a sign and a layer may differ and still agree. [day] judgement"""


def sign_rows(place: Place) -> list[dict]:
    """
    Return what the climate itself tells of a place: words, grounds and twelve months.

    Parameters
    ----------
    place : Place

    Returns
    -------
    list of dict
        Keys title, strength, words, beside (how it agrees with layers), months (from
        `sign_months`), basis, skill, caution.
    """
    rows, compared = [], set()
    for sign in place.signs:
        about = SIGN_KINDS[sign.kind]
        # The pass comes before the camp, which a closed road need not concern.
        first = about.answers not in compared
        compared.add(about.answers)
        rows.append(
            {
                "title": sign.title,
                "strength": sign.strength,
                "words": sign.words,
                "beside": _beside_layers(sign, place) if first else "",
                "months": sign_months(sign),
                "basis": sign.basis,
                "skill": about.skill,
                "caution": sign.caution,
            }
        )
    return rows


def marked_days(place: Place) -> Flags:
    """
    Return the days that the season chart marks: strong signs, and snow that closes a road.

    Parameters
    ----------
    place : Place

    Returns
    -------
    numpy.ndarray of bool, shape (365,)
        Weaker signs stand on the region's page alone: a mark on every row says nothing.
    """
    days = np.zeros(DAYS_IN_YEAR, dtype=bool)
    for sign in place.signs:
        least = (
            Strength.SIGN if SIGN_KINDS[sign.kind].answers == "road-closed" else Strength.STRONG
        )
        days |= sign.strength_by_day >= least
    return days


def _beside_layers(sign: Sign, place: Place) -> str:
    """Return how a sign agrees with what layers say of its kind here; empty where none does."""
    kind = SIGN_KINDS[sign.kind].answers
    reported = [finding.level_by_day > 0 for finding in place.findings if finding.kind == kind]
    if not reported:
        return ""
    told = np.logical_or.reduce(reported)
    title = lowered(hazard_kind(kind).title)
    differ = told != (sign.strength_by_day > 0)
    if not told.any():
        return f"Somebody looked at {title} here and found nothing, which counts more."
    if differ.sum() <= CLOSE_DAYS:
        return f"What is reported here as {title} agrees to within a month."
    return (
        f"What is reported here as {title} holds {about_days(told)}, which counts more; the two "
        f"differ {about_days(differ)}."
    )


def sign_months(sign: Sign) -> list[dict]:
    """
    Return a sign's twelve months, each as strong as its strongest day.

    Parameters
    ----------
    sign : Sign

    Returns
    -------
    list of dict
        Keys month, strength (a `Strength` as number), word.
    """
    rows = []
    for month in range(12):
        strength = Strength(int(sign.strength_by_day[month_days(month)].max()))
        rows.append({"month": MONTHS[month], "strength": int(strength), "word": strength.word})
    return rows
