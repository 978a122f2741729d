"""Money in words: one way to write it, in sentences and in tables.

In: amounts and the trip's label for its currency. Out: plain text, not yet escaped.
Assumes that amounts are in that currency: `inputs` converts those of kit files.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from sheltermap.trip.model import Money
from sheltermap.vocabulary import grouped

_KIT_CURRENCY = "EUR"
"""What the fields of kit files state prices in."""

_KEPT_WITH = "\u00a0"  # does not break, so that an amount never leaves its currency


def money(value: float | None, currency: str) -> str:
    """
    Return an amount in whole units, or "unknown".

    Parameters
    ----------
    value : float or None
    currency : str

    Returns
    -------
    str

    Examples
    --------
    >>> money(2695.8, "EUR").split(), money(None, "EUR")
    (['2', '696', 'EUR'], 'unknown')
    """
    if value is None or math.isnan(value):
        return "unknown"
    return f"{grouped(value)}{_KEPT_WITH}{currency}"


def given_price(value: float, currency: str) -> str:
    """
    Return a price in as many digits as the user gave it.

    Parameters
    ----------
    value : float
    currency : str

    Returns
    -------
    str

    Examples
    --------
    >>> [given_price(value, "EUR").split() for value in (40.0, 12.5, 1200.0)]
    [['40', 'EUR'], ['12.5', 'EUR'], ['1', '200', 'EUR']]
    """
    return f"{grouped(value, '.10g')}{_KEPT_WITH}{currency}"


def beyond_price(value: float, direction: str, currency: str) -> str:
    """
    Return the price beyond which something holds, in two figures.

    Rounded away from the prices where it does not hold, so that the sentence stays true.

    Parameters
    ----------
    value : float
        At least 0.
    direction : {"above", "below"}
    currency : str

    Returns
    -------
    str

    Notes
    -----
    Two figures: a threshold rests on rough nights, which are not known to more.

    Examples
    --------
    >>> beyond_price(5.139, "above", "EUR").split(), beyond_price(5.139, "below", "EUR").split()
    (['5.2', 'EUR'], ['5.1', 'EUR'])
    """
    if value == 0:
        return given_price(value, currency)
    step_power = math.floor(math.log10(value)) - 1
    # A step below one is no exact binary number, so it is counted by its inverse.
    steps = value * 10.0**-step_power if step_power < 0 else value / 10.0**step_power
    whole = math.ceil(round(steps, 9)) if direction == "above" else math.floor(round(steps, 9))
    shown = whole / 10.0**-step_power if step_power < 0 else whole * 10.0**step_power
    return given_price(shown, currency)


def price_note(prices: Money) -> str:
    """
    Return what to know where prices of kits stand in the trip's currency.

    Parameters
    ----------
    prices : Money

    Returns
    -------
    str
        Empty where both are the same.

    Examples
    --------
    >>> price_note(Money())
    ''
    >>> price_note(Money(currency="USD", euro=1.1)).replace(_KEPT_WITH, " ")
    'Prices of kits and add-ons are those of the kit files, 1 EUR there counted as 1.1 USD.'
    """
    if prices.currency == _KIT_CURRENCY:
        return ""
    told = "Prices of kits and add-ons are those of the kit files"
    if prices.euro is None:
        return f"{told}, in {_KIT_CURRENCY} there; nothing is converted."
    one, counted = given_price(1, _KIT_CURRENCY), given_price(prices.euro, prices.currency)
    return f"{told}, {one} there counted as {counted}."


def price_doubts(prices: Money) -> Iterator[str]:
    """
    Yield a sentence where prices of two currencies would be added up.

    Parameters
    ----------
    prices : Money

    Yields
    ------
    str
    """
    if prices.currency != _KIT_CURRENCY and prices.euro is None:
        yield (
            f"Kit files state prices in {_KIT_CURRENCY}, and they count as so many "
            f"{prices.currency}: write what a euro costs as `euro` under [money], 1 where your "
            "kit files have your own currency."
        )


def guess_note(prices: Money) -> str:
    """
    Return which prices count though nobody stated them.

    Parameters
    ----------
    prices : Money

    Returns
    -------
    str
        Empty where all are stated.

    Examples
    --------
    >>> from sheltermap.trip.model import Money
    >>> guess_note(Money(fuel_price=1.0)).replace(_KEPT_WITH, " ")
    'No price in the trip file, so a guess counts: 30 EUR a night in a room.'
    """
    guesses = {"fuel_price": "a litre of fuel", "room_price": "a night in a room"}
    guessed = [
        f"{given_price(getattr(prices, key), prices.currency)} {what}"
        for key, what in guesses.items()
        if key not in prices.model_fields_set
    ]
    if not guessed:
        return ""
    return f"No price in the trip file, so a guess counts: {', '.join(guessed)}."
