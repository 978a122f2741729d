"""The remedy of a plan in words: for the Plan, its legs and the ``depart`` command.

In: remedies with what they save and cost. Out: sentences, not escaped. Assumes that the price
is named once for the journey.
"""

from __future__ import annotations

from sheltermap.dates import said_nights
from sheltermap.economy.prices import money
from sheltermap.suitability.candidates import LEAST_DANGER, ROOM
from sheltermap.suitability.remedy import Advice, Remedy
from sheltermap.vocabulary import NARROW_SPACE

_BAR = f"{100 * LEAST_DANGER:g}{NARROW_SPACE}%"
"""What is left below it is counted with the dangerous nights, and not nothing."""


def remedy_words(advice: Advice, currency: str) -> str:
    """
    Return what would help a plan: what it is, what it costs, what it does.

    Parameters
    ----------
    advice : Advice
    currency : str

    Returns
    -------
    str
        Sentences. The remedy comes first and its figures after a colon, so that a name of any
        number fits.

    Examples
    --------
    >>> fan = Remedy("fan", "12 V fan", 60.0, 1.0, 3.2, False)
    >>> plain = str.maketrans({NARROW_SPACE: " ", "\u00a0": " "})
    >>> remedy_words(Advice(None, fan), "EUR").translate(plain)
    '12 V fan, 60 EUR: about 3 rough nights fewer; no single thing lifts a grade.'
    >>> warm = Remedy("warm-bedding", "Warm bedding", 300.0, 2.0, 3.2, True, ends_danger=True)
    >>> remedy_words(Advice(warm), "EUR").translate(plain)
    'Warm bedding, 300 EUR: about 3 rough nights fewer, and no night at 2 % danger or more.'
    """
    remedy, little = advice.remedy, advice.little
    if remedy is None:
        if little is None:
            return "Nothing does noticeably."
        return f"{_bought(little, currency)}; no single thing lifts a grade."
    ends = f", and no night at {_BAR} danger or more" if remedy.ends_danger else ""
    return f"{_bought(remedy, currency)}{ends}."


def leg_sentence(remedy: Remedy) -> str:
    """
    Return what the journey's remedy, which is named once, does on one leg.

    Parameters
    ----------
    remedy : Remedy

    Returns
    -------
    str

    Examples
    --------
    >>> leg_sentence(Remedy("mat", "Insulating mat", 60.0, 1.0, 3.0, True))
    "The journey's remedy saves about 3 rough nights here."
    """
    ends = f", and leaves none at {_BAR} danger or more" if remedy.ends_danger else ""
    return f"The journey's remedy saves {_saved(remedy)} here{ends}."


def _bought(remedy: Remedy, currency: str) -> str:
    """Return what a remedy is, costs and saves."""
    return f"{_named(remedy)}, {money(remedy.price, currency)}: {_saved(remedy)} fewer"


def _named(remedy: Remedy) -> str:
    """Return a remedy as it is listed, a room with its number of nights."""
    if remedy.id == ROOM:
        return f"{remedy.title} on {said_nights(round(remedy.rooms))}"
    return remedy.title


def _saved(remedy: Remedy) -> str:
    """Return the rough nights that a remedy saves."""
    if remedy.nights_saved < 0.5:
        return "under 1 rough night"
    count = round(remedy.nights_saved)
    return f"about {count} rough {'night' if count == 1 else 'nights'}"
