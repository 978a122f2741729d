"""Numbers as the pages print them: rounded, with a unit, metric and imperial side by side.

In: a number and what it measures. Out: escaped markup that holds both systems of units;
the style sheet shows the one the reader chose, so no page needs a script to be right.
Assumes SI-like input: degC, m, km, mm, kg, L, m/s, L/100 km.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeGuard

from markupsafe import Markup

from sheltermap.units import converted
from sheltermap.vocabulary import NARROW_SPACE, grouped

MINUS = "\u2212"

_RAREST_DANGER = 1000  # judgement: nobody knows odds longer than that
_OFTEN = 1.5  # nights to each dangerous one, below which one in so many tells nothing
_ROUND_ODDS = (10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100)


@dataclass(frozen=True)
class Measure:
    """How one kind of quantity is written in both systems.

    Attributes
    ----------
    metric, imperial : str
        Units as shown.
    source, target : str
        The same two in `sheltermap.units.UNITS`.
    digits, imperial_digits : int
        Decimals shown; -1 is whole tens. A figure that would read 0 gets as many as it needs.
    scale : float
        What turns the figure into `source`.
    """

    metric: str
    imperial: str
    source: str
    target: str
    digits: int = 0
    imperial_digits: int = 0
    scale: float = 1.0


MEASURES = {
    "temperature": Measure("°C", "°F", "degC", "degF"),
    "step": Measure("°C", "°F", "K", "degF difference", 1, 1),
    "difference": Measure("K", "°F", "K", "degF difference", 1, 1),
    "height": Measure("m", "ft", "m", "ft", 0, -1),
    "length": Measure("m", "ft", "m", "ft", 1, 1),
    "distance": Measure("km", "mi", "km", "mi"),
    "rain": Measure("mm", "in", "mm", "in", 0, 1),
    "mass": Measure("kg", "lb", "kg", "lb"),
    "volume": Measure("L", "US\u00a0gal", "L", "US gal", 0, 1),
    "drink": Measure("L", "US\u00a0gal", "L", "US gal", 1, 1),
    "area": Measure("m²", "sq\u00a0ft", "m2", "ft2"),
    "space": Measure("m³", "cu\u00a0ft", "m3", "ft3"),
    "speed": Measure("km/h", "mph", "km/h", "mph"),
    "wind": Measure("m/s", "mph", "km/h", "mph", scale=3.6),
    "consumption": Measure("L/100\u00a0km", "mpg\u00a0(US)", "L/100 km", "mpg (US)", 1, 1),
}
"""Kinds of quantity that `quantity` can write."""


def is_known(value: float | None) -> TypeGuard[float]:
    """
    Return whether a value is a number; None and NaN say "not assessed".

    Parameters
    ----------
    value : float or None

    Returns
    -------
    bool

    Examples
    --------
    >>> is_known(None), is_known(float("nan")), is_known(0.0)
    (False, False, True)
    """
    return value is not None and not math.isnan(value)


def number(value: float | None, digits: int = 0) -> str:
    """
    Return a plain number with thousands set apart, or "unknown".

    Parameters
    ----------
    value : float or None
    digits : int
        Decimals to print.

    Returns
    -------
    str

    Examples
    --------
    >>> number(-0.2), number(12345.678, 1) == f"12{NARROW_SPACE}345.7", number(None)
    ('0', True, 'unknown')
    """
    if not is_known(value):
        return "unknown"
    if math.isinf(value):
        return "no limit"
    text = grouped(abs(value), f".{digits}f")
    zero = not any(c in "123456789" for c in text)
    return text if value >= 0 or zero else MINUS + text


def both(value: float | None, kind: str, digits: int | None = None) -> tuple[str, str]:
    """
    Return a quantity as text in metric and imperial units.

    Parameters
    ----------
    value : float or None
        In the metric unit of its kind.
    kind : str
        A key of `MEASURES`.
    digits : int, optional
        Decimals of the metric figure, instead of the kind's.

    Returns
    -------
    tuple of two str

    Examples
    --------
    >>> [text.replace(NARROW_SPACE, " ") for text in both(-40, "temperature")]
    ['−40 °C', '−40 °F']
    """
    if not is_known(value):
        return "unknown", "unknown"
    measure = MEASURES[kind]
    shown = measure.digits if digits is None else digits
    if math.isinf(value):
        return "no limit", "no limit"
    return (
        f"{number(value, shown)}{NARROW_SPACE}{measure.metric}",
        f"{imperial_number(value, kind, shown)}{NARROW_SPACE}{measure.imperial}",
    )


def imperial_number(value: float, kind: str, digits: int) -> str:
    """
    Return the number of a quantity in its imperial unit.

    Parameters
    ----------
    value : float
        In the metric unit of its kind.
    kind : str
        A key of `MEASURES`.
    digits : int
        Decimals of the metric figure.

    Returns
    -------
    str

    Examples
    --------
    >>> imperial_number(3150, "height", 0).replace(NARROW_SPACE, " ")
    '10 330'
    >>> imperial_number(1, "rain", 0)
    '0.04'
    """
    measure = MEASURES[kind]
    told = converted(value * measure.scale, measure.source, measure.target)
    decimals = measure.imperial_digits + digits - measure.digits
    if told and abs(told) < 0.5 * 10.0**-decimals and value:
        decimals = -math.floor(math.log10(abs(told)))
    return number(round(told, decimals), max(0, decimals))


def quantity(
    value: float | None,
    kind: str,
    digits: int | None = None,
    tag: Literal["span", "tspan"] = "span",
) -> Markup:
    """
    Return a quantity as markup in both systems.

    Parameters
    ----------
    value : float or None
        In the metric unit of its kind; None or NaN prints "unknown".
    kind : str
        A key of `MEASURES`.
    digits : int, optional
        Decimals of the metric figure, instead of the kind's.
    tag : {"span", "tspan"}
        Element to use: "tspan" inside SVG text.

    Returns
    -------
    markupsafe.Markup
    """
    metric, imperial = both(value, kind, digits)
    if metric == imperial:
        return Markup("<{0}>{1}</{0}>").format(Markup(tag), metric)
    return Markup('<{0} class="metric">{1}</{0}><{0} class="imperial">{2}</{0}>').format(
        Markup(tag), metric, imperial
    )


def percent(share: float | None) -> str:
    """
    Return a share in percent, never rounded up to certainty.

    Parameters
    ----------
    share : float or None
        [0 to 1]

    Returns
    -------
    str

    Examples
    --------
    >>> [percent(share).replace(NARROW_SPACE, " ") for share in (0.904, 0.9999, 0.002, 0, None)]
    ['90 %', 'over 99 %', 'under 1 %', '0 %', 'not assessed']
    """
    if not is_known(share):
        return "not assessed"
    if 0 < share < 0.01:
        return f"under 1{NARROW_SPACE}%"
    if 0.99 < share < 1:
        return f"over 99{NARROW_SPACE}%"
    # Halves go up, as in the site's scripts: Python alone would round them to even numbers.
    return f"{math.floor(share * 100 + 0.5)}{NARROW_SPACE}%"


def nights(value: float | None) -> str:
    """
    Return a number of nights as people say it.

    Parameters
    ----------
    value : float or None
        Expected number of nights.

    Returns
    -------
    str

    Examples
    --------
    >>> nights(0.3), nights(1.2), nights(41.6), nights(float("nan"))
    ('under 1 night', '1 night', '42 nights', 'an unknown number of nights')
    """
    if not is_known(value):
        return "an unknown number of nights"
    if 0 < value <= 0.5:  # A half would be rounded to none.
        return "under 1 night"
    whole = round(value)
    return f"{whole} night" if whole == 1 else f"{whole} nights"


def danger_odds(expected: float | None, count: int) -> str:
    """
    Return how likely a night is dangerous, in no more digits than its error allows.

    Parameters
    ----------
    expected : float or None
        Dangerous nights to expect.
    count : int
        Of so many.

    Returns
    -------
    str
        Inside a sentence.

    Examples
    --------
    >>> danger_odds(0.5, 107), danger_odds(1.2, 90), danger_odds(2.5, 10)
    ('about 1 night in 200', 'about 1 night in 80', 'about 1 night in 4')
    >>> danger_odds(0.0, 90), danger_odds(None, 90), danger_odds(7.0, 9)
    ('under 1 night in 1000', 'an unknown share of nights', 'about 7 of 9 nights')
    """
    if not is_known(expected):
        return "an unknown share of nights"
    if expected < count / _RAREST_DANGER:
        return f"under 1 night in {_RAREST_DANGER}"
    each = count / expected
    if each < _OFTEN:
        return f"about {round(expected)} of {nights(count)}"
    if each >= 10:
        step = 10 ** (math.floor(math.log10(each)) - 1)
        each = min(_ROUND_ODDS, key=lambda odds: abs(math.log(odds * step / each))) * step
    return f"about 1 night in {round(each)}"


def clock(hour: float | None) -> str:
    """
    Return an hour of local solar time as a clock shows it.

    Parameters
    ----------
    hour : float or None
        Hours after midnight. [0 to 24]

    Returns
    -------
    str

    Examples
    --------
    >>> clock(19.51), clock(23.999)
    ('19:31', '00:00')
    """
    if not is_known(hour):
        return "unknown"
    minutes = round(hour * 60) % (24 * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
