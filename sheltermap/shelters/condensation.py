"""Condensation: when breath or outside air leaves water on a shelter's fabric.

In: what the sleepers give off, how often the air changes, and the wall. Out: the vapour
inside and how far the fabric's face stands from the outside air. Assumes well-mixed air
and a steady night.
"""

from __future__ import annotations

from sheltermap.shelters.cold import FABRIC_U

_INSIDE_FILM = 0.13  # [m2 K W-1], ISO 6946 from memory
_GAS = 2166.8  # [g K m-3 kPa-1], vapour density from pressure
_ROOM = 293.15  # [K] at which gains of density are turned into pressure; 7 % over 0 to 40 degC


def vapour_gain(vapour: float, volume: float, air_changes: float) -> float:
    """
    Return how much the sleepers raise the vapour pressure inside.

    Parameters
    ----------
    vapour : float
        All sleepers together. [g h-1]
    volume : float
        Air inside. [m3]
    air_changes : float
        Exchanges with the outside. [h-1]

    Returns
    -------
    float
        [kPa]

    Examples
    --------
    >>> round(vapour_gain(80, 4, 5), 3)
    0.541
    """
    return vapour / (air_changes * volume) * _ROOM / _GAS


def face_warming(warming: float, fabric: str) -> float:
    """
    Return how far warm air inside lifts the fabric's inner face above the outside air.

    Parameters
    ----------
    warming : float
        Air inside above air outside. [K]
    fabric : {"none", "single", "insulated"}

    Returns
    -------
    float
        [K]

    Examples
    --------
    >>> round(face_warming(2.0, "insulated"), 2)
    1.48
    """
    if fabric == "none":
        return 0.0
    return (1 - _INSIDE_FILM * FABRIC_U[fabric]) * warming


def face_sky_share(fabric: str) -> float:
    """
    Return how much of the sky's cooling reaches the face on which water would show.

    Parameters
    ----------
    fabric : {"none", "single", "insulated"}

    Returns
    -------
    float
        1 for thin fabric; an insulated wall passes on what its insulation lets through. [1]

    Examples
    --------
    >>> round(face_sky_share("insulated"), 2)
    0.34
    """
    return 1.0 if fabric == "none" else FABRIC_U[fabric] / FABRIC_U["single"]
