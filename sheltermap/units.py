"""Units people read: one table of exact factors, for showing results only.

In: a number and two unit names. Out: the number in the other unit. Assumes results are
computed in metric units and stored so; nothing converted here is ever computed with.
Money is not here: a currency is a label.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """One unit as a straight line, or a reciprocal, of its metric base unit.

    Attributes
    ----------
    name : str
        As shown; every gallon says which gallon it is.
    base : str
        Metric unit that results are stored in.
    size : float
        How much of the base unit one of this unit is; for a reciprocal unit, the
        product of the two values.
    zero : float
        Value of this unit where the base unit reads zero.
    reciprocal : bool
        Whether more of this is less of the base unit, as with mpg.
    """

    name: str
    base: str
    size: float = 1.0
    zero: float = 0.0
    reciprocal: bool = False


_POUND_KG = 0.45359237
_INCH_MM = 25.4
_FOOT_M = 0.3048
_MILE_KM = 1.609344
_US_GALLON_L = 3.785411784
_IMPERIAL_GALLON_L = 4.54609

UNITS = {
    unit.name: unit
    for unit in (
        Unit("kg", "kg"),
        Unit("lb", "kg", _POUND_KG),
        Unit("L", "L"),
        Unit("US gal", "L", _US_GALLON_L),
        Unit("imp gal", "L", _IMPERIAL_GALLON_L),
        Unit("km", "km"),
        Unit("mi", "km", _MILE_KM),
        Unit("km/h", "km/h"),
        Unit("mph", "km/h", _MILE_KM),
        Unit("m", "m"),
        Unit("ft", "m", _FOOT_M),
        Unit("m2", "m2"),
        Unit("ft2", "m2", _FOOT_M**2),
        Unit("m3", "m3"),
        Unit("ft3", "m3", _FOOT_M**3),
        Unit("mm", "mm"),
        Unit("in", "mm", _INCH_MM),
        Unit("L/100 km", "L/100 km"),
        Unit("mpg (US)", "L/100 km", 100 * _US_GALLON_L / _MILE_KM, reciprocal=True),
        Unit("mpg (imp)", "L/100 km", 100 * _IMPERIAL_GALLON_L / _MILE_KM, reciprocal=True),
        Unit("degC", "degC"),
        Unit("degF", "degC", 5 / 9, zero=32.0),
        Unit("K", "K"),
        Unit("degF difference", "K", 5 / 9),
    )
}
"""Every unit that can be shown, by name. Pound, inch, foot, mile and gallons are exact."""


def converted(value: float, source: str, target: str) -> float:
    """
    Return a value in another unit.

    Parameters
    ----------
    value : float
        Value in `source`; NaN stays NaN.
    source, target : str
        Names in `UNITS` that measure the same thing.

    Returns
    -------
    float
        Value in `target`. NaN where the other unit has no value, as mpg of nothing burnt.

    Raises
    ------
    ValueError
        If a unit is unknown or the two measure different things.

    References
    ----------
    .. [1] NIST Special Publication 811, 2008, appendix B: exact values of pound, inch,
       mile and US gallon. UK Units of Measurement Regulations 1995: imperial gallon.

    Examples
    --------
    >>> converted(100, "km", "mi")
    62.13711922373339
    >>> converted(32, "degF", "degC")
    0.0
    >>> round(converted(10, "L/100 km", "mpg (imp)"), 2)
    28.25
    """
    given, wanted = _unit(source), _unit(target)
    if given.base != wanted.base:
        raise ValueError(
            f"expected a unit of {given.base} beside {source!r}, got {target!r} "
            f"(a unit of {wanted.base})"
        )
    if given is wanted:
        return float(value)
    return _from_base(_to_base(float(value), given), wanted)


def _unit(name: str) -> Unit:
    """Return a unit by its name."""
    try:
        return UNITS[name]
    except KeyError:
        raise ValueError(f"expected one of {', '.join(UNITS)}, got {name!r}") from None


def _to_base(value: float, unit: Unit) -> float:
    """Return a value in the base unit."""
    if unit.reciprocal:
        return unit.size / value if value else math.nan
    return (value - unit.zero) * unit.size


def _from_base(value: float, unit: Unit) -> float:
    """Return a base value in a unit."""
    if unit.reciprocal:
        return unit.size / value if value else math.nan
    return value / unit.size + unit.zero
