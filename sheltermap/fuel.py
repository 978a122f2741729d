"""Fuel that a kit costs on the move: drag, mass, heat in a litre.

In: drag area, mass, speed, air density, kind of fuel. Out: litres on 100 km. Assumes
steady driving; hills, stops and head wind come on top.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

_GRAVITY = 9.80665
_ROLLING_RESISTANCE = 0.012  # common practice: road tyres on tarmac; tracks by ground factor.
_METRES_IN_100_KM = 1e5


@dataclass(frozen=True)
class Fuel:
    """What a litre of fuel weighs and moves.

    Attributes
    ----------
    heat_j_l : float
        Lower heating value. [J L-1] From memory of the EU renewable energy directive.
    marginal_efficiency : float
        Share of added heat that becomes added work at the wheels. Common practice.
    mass_kg_l : float
        Mass of a litre. [kg L-1] From memory, inside the ranges of EN 228 and EN 590.
    """

    heat_j_l: float
    marginal_efficiency: float
    mass_kg_l: float


FUELS = {"petrol": Fuel(32e6, 0.28, 0.75), "diesel": Fuel(36e6, 0.35, 0.83)}


class Weighed(Protocol):
    """What a vehicle says of its fuel, as the trip file's model does."""

    @property
    def fuel(self) -> str: ...

    @property
    def tank_l(self) -> float: ...

    @property
    def weighed_with_fuel_l(self) -> float | None: ...


def fuel_when_weighed(vehicle: Weighed) -> float:
    """
    Return the mass of the fuel that was on board when the vehicle was weighed.

    Parameters
    ----------
    vehicle : Weighed

    Returns
    -------
    float
        Of a full tank where nothing else is stated. [kg]

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> car = SimpleNamespace(fuel="petrol", tank_l=60, weighed_with_fuel_l=None)
    >>> fuel_when_weighed(car)
    45.0
    """
    given = vehicle.weighed_with_fuel_l
    return (vehicle.tank_l if given is None else given) * FUELS[vehicle.fuel].mass_kg_l


def added_drag_consumption(
    drag_area: float, speed: float, density: float, fuel: str = "diesel"
) -> float:
    """
    Return the fuel that more air drag costs.

    Parameters
    ----------
    drag_area : float
        Added product of drag coefficient and frontal area. [m2]
    speed : float
        Speed through the air. [km/h]
    density : float
        Air density. [kg m-3]
    fuel : {"petrol", "diesel"}

    Returns
    -------
    float
        Added consumption. [L per 100 km]

    References
    ----------
    .. [1] Drag equation; heating values from memory of the EU renewable energy
       directive, marginal efficiencies common practice.

    Examples
    --------
    >>> round(added_drag_consumption(0.3, 100, 1.2, "petrol"), 2)
    1.55
    """
    force = 0.5 * density * drag_area * (speed / 3.6) ** 2
    return _consumption_of(force, FUELS[fuel])


def added_mass_consumption(mass: float, fuel: str = "diesel") -> float:
    """
    Return the fuel that more mass costs on level tarmac: rolling only.

    Parameters
    ----------
    mass : float
        Added mass. [kg]
    fuel : {"petrol", "diesel"}

    Returns
    -------
    float
        Added consumption. [L per 100 km] Hills and stops come on top.

    Examples
    --------
    >>> round(added_mass_consumption(100, "petrol"), 2)
    0.13
    """
    return _consumption_of(_ROLLING_RESISTANCE * mass * _GRAVITY, FUELS[fuel])


def _consumption_of(force: float, fuel: Fuel) -> float:
    """Return the consumption [L per 100 km] that holds against a force [N]."""
    return force * _METRES_IN_100_KM / (fuel.marginal_efficiency * fuel.heat_j_l)
