"""The limits of kits for the people of a trip.

In: a trip's inputs, a kit. Out: its limits. Assumes what its sleepers and settings say, and
the length of their nights.
"""

from __future__ import annotations

from sheltermap.night.daylight import SleepWindow
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.card import KitLimits, kit_limits
from sheltermap.trip.inputs import Inputs


def limits_for(inputs: Inputs, kit: Kit) -> KitLimits:
    """
    Return the limits of a kit for a trip's sleepers.

    Parameters
    ----------
    inputs : Inputs
    kit : Kit

    Returns
    -------
    KitLimits
    """
    trip = inputs.trip
    hours = SleepWindow(trip.party.sleep_from, trip.party.sleep_to).length
    return kit_limits(kit, inputs.sleepers, trip.settings, hours)
