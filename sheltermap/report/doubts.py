"""What looks like a slip in a trip's files that can be planned all the same.

In: a trip's inputs, where its legs sleep, a climatology. Out: sentences for the traveller,
never a refusal. Assumes that whoever shows them says "Look again".
"""

from __future__ import annotations

import xarray as xr

from sheltermap.economy.prices import price_doubts
from sheltermap.economy.ratings import rating_doubts
from sheltermap.places.doubts import (
    namesake_doubts,
    off_route_doubts,
    surrounding_doubts,
    swapped_doubts,
)
from sheltermap.places.ground import Camps
from sheltermap.trip.doubts import permit_doubts, short_ways, unit_doubts, written_doubts
from sheltermap.trip.inputs import Inputs


def input_doubts(inputs: Inputs, camps: Camps, climatology: xr.Dataset) -> tuple[str, ...]:
    """
    Return what looks like a slip in the inputs of a trip.

    Parameters
    ----------
    inputs : Inputs
    camps : Camps
    climatology : Dataset, month x latitude x longitude
        On whose grid the camps are.

    Returns
    -------
    tuple of str
        Each once: of the trip file, of drawn files, then leg by leg of the country around.
    """
    doubts = [
        *written_doubts(inputs.path),
        *namesake_doubts(inputs.path),
        *unit_doubts(inputs.trip),
        *short_ways(inputs.trip),
        *off_route_doubts(inputs, camps.legs),
        *permit_doubts(inputs.trip),
        *rating_doubts(inputs.trip.vehicle),
        *price_doubts(inputs.trip.money),
        *swapped_doubts(inputs, [camps.ground(leg).extent for leg in range(len(camps.legs))]),
    ]
    for number, leg in enumerate(camps.legs):
        one = camps.ground(number)
        doubts += surrounding_doubts(leg, one.extent, one.footprint, climatology)
    return tuple(dict.fromkeys(doubts))
