"""Condensation: when breath or outside air leaves water on a shelter's fabric.

In: what the sleepers give off, how often the air changes, and the wall. Out: the vapour
inside and how far the fabric's face stands from the outside air. Assumes well-mixed air
and a steady night.
"""

from __future__ import annotations

import numpy as np

from sheltermap.shelters.cold import FABRIC_U

_INSIDE_FILM = 0.13  # [m2 K W-1], ISO 6946 from memory
_GAS = 2166.8  # [g K m-3 kPa-1], vapour density from pressure
_ROOM = 293.15  # [K] at which gains of density are turned into pressure; 7 % over 0 to 40 degC
_STEFAN_BOLTZMANN = 5.670374e-8
_EMISSIVITY = 0.9
_KELVIN = 273.15


def vapour_gain(vapour, volume, air_changes):
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


def face_warming(warming, fabric):
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


def face_sky_share(fabric):
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


def sky_temperature(air_temperature, dewpoint, hour=0.0):
    """
    Return the temperature that a clear sky shows to a roof.

    Parameters
    ----------
    air_temperature, dewpoint : float or array
        [degC]
    hour : float
        Solar time. [h]

    Returns
    -------
    float or array
        [degC]

    References
    ----------
    .. [1] P. Berdahl and M. Martin, Solar Energy 32, 1984.

    Examples
    --------
    >>> round(float(sky_temperature(20.0, 5.0)), 1)
    0.0
    """
    t = np.asarray(dewpoint) / 100
    emissivity = 0.711 + 0.56 * t + 0.73 * t**2 + 0.013 * np.cos(2 * np.pi * hour / 24)
    return emissivity**0.25 * (air_temperature + _KELVIN) - _KELVIN


def sky_depression(air_temperature, sky, outside_film, inside_film):
    """
    Return how far below the air a roof cools under a clear sky.

    Parameters
    ----------
    air_temperature, sky : float
        [degC]
    outside_film : float
        5 in calm, 10 in light air, 15 in a breeze. [W m-2 K-1]
    inside_film : float
        8 for fabric with air on both sides, 0 for an insulated back. [W m-2 K-1]

    Returns
    -------
    float
        [K]

    References
    ----------
    .. [1] Balance of radiation to the sky and heat from the air, with radiation made
       linear about the mean of roof and sky.

    Examples
    --------
    >>> round(sky_depression(20.0, 0.0, 10.0, 8.0), 1)
    4.0
    """
    roof = air_temperature
    for _ in range(20):  # contracts by a factor of about 50 a step
        middle = (roof + sky) / 2 + _KELVIN
        radiation = 4 * _EMISSIVITY * _STEFAN_BOLTZMANN * middle**3
        loss = radiation * (air_temperature - sky)
        roof = air_temperature - loss / (radiation + outside_film + inside_film)
    return air_temperature - roof
