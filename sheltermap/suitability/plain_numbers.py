"""Plain numbers: a kit, its sleepers and the settings as the kernel's arithmetic takes them.

In: what ``suitability.combination`` works out. Out: nested tuples of numbers, which numpy
and compiled code take alike, and what the arithmetic may leave out. Assumes nothing.
"""

from __future__ import annotations

from typing import NamedTuple


class ColdNumbers(NamedTuple):
    """A cold limit over the weight of the air: cold below base + sky s - ground g."""

    base: float
    ground: float
    sky: float


class HotNumbers(NamedTuple):
    """A heat limit, the lesser of dry - slope e and cap; a careful margin is taken off both."""

    dry: float
    slope: float
    cap: float


class ModeNumbers(NamedTuple):
    """A mode's limits, and what it adds to warmth, vapour and fabric."""

    cold: tuple[ColdNumbers, ...]
    hot: tuple[HotNumbers, ...]
    heating: float
    vapour: float
    face: float
    face_sky: float


class KitNumbers(NamedTuple):
    """A kit, its sleepers and the settings, as the arithmetic uses them."""

    zero: float
    one: float
    dry: ModeNumbers
    closed: ModeNumbers
    wet: ModeNumbers
    asleep: float
    at_work: float
    leak: float
    leak_in_wind: float
    pitching: float
    ponding: float
    undried: float
    per_soaked: float
    wind_limit: float
    awning_limit: float
    weight: float
    per_condensation: float


class Choices(NamedTuple):
    """
    What `kit_risks` need not work out, as None.

    Attributes
    ----------
    open_cold : tuple of ColdNumbers or None
        The dry mode's own cold limits; None where they are the closed one's.
    wet : ModeNumbers or None
        The mode that counts against heat on wet nights; None where it is the dry one.
    awning : float or None
        1 with an awning to take in.
    dry_cold : float or None
        1 where dry nights are colder than wet ones to the sleepers.
    dry_face : float or None
        1 where they are to the fabric.
    """

    open_cold: tuple[ColdNumbers, ...] | None
    wet: ModeNumbers | None
    awning: float | None
    dry_cold: float | None
    dry_face: float | None


class NightNumbers(NamedTuple):
    """
    What the settings say about nights, whatever the kit.

    Attributes
    ----------
    one : float
    clear_sky : float
        Share of a clear sky's cooling on a dry night. [0 to 1]
    heat_variance : float
        Square of the spread of the heat limit. [K2]
    drying : float
        Share of daylight times vapour deficit that dries canvas on a wet day. [0 to 1]
    """

    one: float
    clear_sky: float
    heat_variance: float
    drying: float


def choices(kit: KitNumbers, drops: bool) -> Choices:
    """
    Return what of a kit need not be worked out.

    Parameters
    ----------
    kit : KitNumbers
    drops : bool
        Whether air is anywhere colder on dry nights than on wet ones.

    Returns
    -------
    Choices
    """
    dry, closed, wet = kit.dry, kit.closed, kit.wet
    same_heat = (dry.hot, dry.heating, dry.vapour) == (wet.hot, wet.heating, wet.vapour)
    sees_sky = any(limit.sky for limit in closed.cold)
    has_awning = wet != closed or kit.leak_in_wind != 0
    changes_face = drops or dry.face_sky or closed.face_sky
    if has_awning:
        changes_face = changes_face or wet.face != dry.face
    return Choices(
        open_cold=None if dry.cold == closed.cold else dry.cold,
        wet=None if same_heat else wet,
        awning=kit.one if has_awning else None,
        dry_cold=kit.one if drops or sees_sky else None,
        dry_face=kit.one if changes_face else None,
    )
