"""Odds: how far a plan's rough nights may stray, and how many a bad year has.

In: places with what moves their shares, a planning problem. Out: the planner's errors by
night, and the bad year of a single leg. Assumes that the worst year of ten for one leg is not
that of the journey: bad years of legs do not add up.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sheltermap.dates import MONTH_OF_DAY, days_of_year
from sheltermap.distance import great_circle
from sheltermap.places.errors import ShareErrors
from sheltermap.places.place import Place
from sheltermap.planner.problem import Stay
from sheltermap.planner.uncertainty import NightErrors


def night_errors(places: Sequence[Place], kits: Sequence[str]) -> NightErrors:
    """
    Return what one standard error of each kind does to a night.

    Parameters
    ----------
    places : sequence of Place
        One each a leg.
    kits : sequence of str
        Ids, in the order of the planning problem.

    Returns
    -------
    NightErrors
    """

    def changes(source: str) -> np.ndarray:
        by_month = np.array(
            [[getattr(place.seasons[kit].errors, source) for place in places] for kit in kits]
        )
        # A larger share of sound nights is fewer rough ones.
        return -np.moveaxis(by_month, 2, 0)[..., MONTH_OF_DAY]

    latitude, longitude = (
        np.array([getattr(place, name) for place in places]) for name in ("latitude", "longitude")
    )
    return NightErrors(
        climate=changes("climate"),
        person=changes("person"),
        years=changes("years"),
        kilometres=great_circle(
            latitude[:, np.newaxis], longitude[:, np.newaxis], latitude, longitude
        ),
    )


def bad_year_of_leg(errors: ShareErrors, stay: Stay) -> float:
    """
    Return the rough nights of a stay in its own worst year of ten.

    Parameters
    ----------
    errors : ShareErrors
        Of its place, in the kit.
    stay : Stay

    Returns
    -------
    float
        Missing where an input is. [night]

    Notes
    -----
    The stay in a year that departs so far to its bad side in warmth, and in one that does in
    rain; what either adds is combined in quadrature, since they seldom come together.
    """
    months = MONTH_OF_DAY[days_of_year(stay.arrive, stay.nights)]
    more = -errors.bad_years[..., months].sum(axis=-1)  # (departures, sides)
    added = np.sqrt((np.maximum(more.max(axis=-1), 0.0) ** 2).sum())
    return float(np.minimum(stay.rough_nights + added, stay.nights))
