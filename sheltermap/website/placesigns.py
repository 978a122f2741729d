"""Signs on the pages: of one place, and what every kind rests on.

In: places with their signs. Out: plain dicts for the templates, which escape. Assumes that a
sign is shown lighter than a hazard's level, and after it.
"""

from __future__ import annotations

from sheltermap.hazards.kinds import hazard_kind
from sheltermap.hazards.sign import Sign, Strength
from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.places.place import Place
from sheltermap.vocabulary import MONTHS
from sheltermap.website import words


def sign_rows(place: Place) -> list[dict]:
    """
    Return what the climate itself tells of a place: words, grounds and twelve months.

    Parameters
    ----------
    place : Place

    Returns
    -------
    list of dict
        Keys title, strength, words, months (from `sign_months`), basis, skill, caution.
    """
    met = {one.kind for one in place.findings if one.level_by_day.any()}
    rows = []
    for sign in place.signs:
        about = SIGN_KINDS[sign.kind]
        caution = sign.caution
        if about.answers in met:
            title = hazard_kind(about.answers).title
            caution = f"{caution} Somebody reports it here too: see {title} above."
        rows.append(
            {
                "title": sign.title,
                "strength": sign.strength,
                "words": sign.words,
                "months": sign_months(sign),
                "basis": sign.basis,
                "skill": about.skill,
                "caution": caution,
            }
        )
    return rows


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
        strength = Strength(int(sign.strength_by_day[words.month_days(month)].max()))
        rows.append({"month": MONTHS[month], "strength": int(strength), "word": strength.word})
    return rows
