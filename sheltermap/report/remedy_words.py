"""The remedy of a plan in words: for the Plan, its legs and the ``depart`` command.

In: remedies with what they save and cost. Out: clauses and sentences, not escaped. Assumes
that the price is named once for the journey, and never where `currency` is left out.
"""

from __future__ import annotations

from sheltermap.dates import said_nights
from sheltermap.economy.prices import money
from sheltermap.shelters.fitting import TIMES
from sheltermap.suitability.candidates import LEAST_DANGER, ROOM
from sheltermap.suitability.remedy import Advice, Remedy
from sheltermap.suitability.titles import in_sentence, is_ours
from sheltermap.vocabulary import NARROW_SPACE

_UNCOUNTED = ("warm-bedding", "cot")  # remedies of ours that take no article


_BAR = f"{100 * LEAST_DANGER:g}{NARROW_SPACE}%"
"""What is left below it is counted with the dangerous nights, and not nothing."""


def remedy_clause(advice: Advice, currency: str | None) -> str:
    """
    Return what would help a plan, as a clause without a full stop.

    Parameters
    ----------
    advice : Advice
    currency : str or None
        None where neither prices nor numbers of rooms must be told.

    Returns
    -------
    str

    Examples
    --------
    >>> fan = Remedy("fan", "12 V fan", 60.0, 1.0, 3.2, False)
    >>> remedy_clause(Advice(None, fan), None)
    'no single thing lifts a grade; a 12 V fan helps a little, by about 3 nights'
    >>> warm = Remedy("warm-bedding", "Warm bedding", 300.0, 2.0, 3.2, True, ends_danger=True)
    >>> remedy_clause(Advice(warm), None).replace(NARROW_SPACE, " ")
    'what leaves no night with a danger of 2 % or more, at the least cost, is warm bedding'
    """
    remedy, little = advice.remedy, advice.little
    if remedy is None:
        if little is None:
            return "no single remedy helps noticeably"
        return (
            f"no single thing lifts a grade; {_named(little, currency)} helps a little, by "
            f"{_saved(little)}{_cost(little, currency)}"
        )
    if remedy.ends_danger:
        return (
            f"what leaves no night with a danger of {_BAR} or more, at the least cost, is "
            f"{_named(remedy, currency)}"
            f"{_cost(remedy, currency)}"
        )
    return (
        f"the cheapest remedy is {_named(remedy, currency)}, which saves {_saved(remedy)}"
        f"{_cost(remedy, currency)}"
    )


def leg_sentence(remedy: Remedy) -> str:
    """
    Return what the journey's remedy does on one leg.

    Parameters
    ----------
    remedy : Remedy

    Returns
    -------
    str

    Examples
    --------
    >>> leg_sentence(Remedy("mat", "Insulating mat", 60.0, 1.0, 3.0, True))
    'An insulating mat would save about 3 nights.'
    """
    title = remedy_title(remedy)
    danger = f"bring each night's danger under {_BAR} and " if remedy.ends_danger else ""
    return f"{title[:1].upper()}{title[1:]} would {danger}save {_saved(remedy)}."


def remedy_title(remedy: Remedy) -> str:
    """
    Return a remedy as it stands inside a sentence.

    Parameters
    ----------
    remedy : Remedy

    Returns
    -------
    str

    Examples
    --------
    >>> remedy_title(Remedy("mat", "Insulating mat", 60.0, 1.0, 3.0, True))
    'an insulating mat'
    >>> remedy_title(Remedy("room", "A room", 90.0, 0.0, 3.0, True))
    'a room on those nights'
    >>> remedy_title(Remedy("mats", "Insulating mats for four", 120.0, 2.0, 3.0, True))
    'Insulating mats for four'
    >>> remedy_title(Remedy("mat", "Insulating mat\u00a0×\u00a03", 180.0, 3.0, 3.0, True))
    'insulating mat\\xa0×\\xa03'
    """
    if remedy.id == ROOM:
        return "a room on those nights"
    title = in_sentence(remedy.title)
    several = TIMES in remedy.title  # one for each unit of a kit
    if several or remedy.id in _UNCOUNTED or not is_ours(remedy.title):
        return title
    return ("an " if title[:1] in "aeiouAEIOU" else "a ") + title


def _named(remedy: Remedy, currency: str | None) -> str:
    """Return a remedy, a room with its number of nights where they may be told."""
    if remedy.id == ROOM and currency is not None:
        return f"a room on {said_nights(round(remedy.rooms))}"
    return remedy_title(remedy)


def _saved(remedy: Remedy) -> str:
    """Return the nights that a remedy saves."""
    if remedy.nights_saved < 0.5:
        return "under 1 night"
    return f"about {said_nights(round(remedy.nights_saved))}"


def _cost(remedy: Remedy, currency: str | None) -> str:
    """Return what a remedy costs, where that may be told."""
    return "" if currency is None else f", for about {money(remedy.price, currency)}"
