"""How far the rough nights of a plan can stray, and whether two plans really differ.

In: a plan, and by day of the year what one error of each kind does to a night.
Out: the range of rough nights, and the chance that one plan beats another.
Assumes errors of different origin are independent (they add in quadrature), the error of
the climate input is one for all nights of a region, the person's is one for the whole
trip, a year's departure from the mean is one for each stay, and only the weather varies
from night to night, with spells that last.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sheltermap.dates import days_of_year
from sheltermap.planner.badyears import gamma_quantile
from sheltermap.planner.problem import Plan, PlanningProblem
from sheltermap.vocabulary import CLOSE_BELOW

PERSISTENCE = 3.0
"""judgement: weather comes in spells, so rough nights cluster and the variance of their
number is this many times that of independent nights."""

RANGE_TAIL = 0.10
"""Share of journeys beyond each end of a range: it holds four journeys in five. judgement"""


DANGER_APART = 0.05
"""Dangerous nights by which a plan may exceed another and still be its equal. [night] judgement"""


@dataclass(frozen=True, eq=False)
class NightErrors:
    """What one standard error of each kind does to the rough nights of one night.

    Attributes
    ----------
    input_change : float array, shape (kits, stops, 365)
        Change for one standard error of the climate input, signed. [night]
    person_change : float array, shape (kits, stops, 365)
        Change for one standard deviation between persons, signed. [night]
    year_change : float array, shape (kits, stops, 365), or None
        Change for one standard deviation between years; None where the data have none.
        [night]
    """

    input_change: np.ndarray
    person_change: np.ndarray
    year_change: np.ndarray | None = None


@dataclass(frozen=True)
class RoughRange:
    """Rough nights to expect, and the range that holds four journeys in five.

    Attributes
    ----------
    expected, low, high : float
        NaN where an input is missing. [night]
    weather, climate_input, person, years : float
        Standard deviation from each source; `years` is NaN where the data have none.
        [night]
    """

    expected: float
    low: float
    high: float
    weather: float
    climate_input: float
    person: float
    years: float

    @property
    def parts(self) -> dict[str, float]:
        """Return the known parts by name, the largest first; without the years if unknown."""
        sizes = {
            "weather": self.weather,
            "climate_input": self.climate_input,
            "person": self.person,
        }
        if not math.isnan(self.years):
            sizes["years"] = self.years
        return dict(sorted(sizes.items(), key=lambda part: -part[1]))


def rough_range(problem: PlanningProblem, plan: Plan, errors: NightErrors) -> RoughRange:
    """
    Return the range of the rough nights of a plan.

    Parameters
    ----------
    problem : PlanningProblem
    plan : Plan
    errors : NightErrors

    Returns
    -------
    RoughRange
    """
    weather = sum(
        np.sum(night.rough * (1 - night.rough))
        for night in _nights(problem, plan, errors).values()
    )
    shared = _shared(problem, plan, errors)
    spreads = {
        source: math.sqrt(sum(change**2 for change in changes.values()))
        for source, changes in shared.items()
    }
    spread = math.sqrt(PERSISTENCE * weather + sum(spread**2 for spread in spreads.values()))
    expected = plan.rough_nights
    low, high = _range(expected, spread, sum(stay.nights for stay in plan.stays))
    return RoughRange(
        expected=expected,
        low=low,
        high=high,
        weather=math.sqrt(PERSISTENCE * weather),
        climate_input=spreads["input"],
        person=spreads["person"],
        years=spreads["years"] if errors.year_change is not None else math.nan,
    )


def chance_of_fewer(
    problem: PlanningProblem, one: Plan, other: Plan, errors: NightErrors
) -> float:
    """
    Return the probability that one plan has fewer rough nights than another.

    Errors both plans share cancel, as do nights that both spend at the same place.

    Parameters
    ----------
    problem : PlanningProblem
    one, other : Plan
    errors : NightErrors

    Returns
    -------
    float
        0.5 for plans that cannot be told apart; NaN where an input is missing. [1]
    """
    weather = _weather_apart(_nights(problem, one, errors), _nights(problem, other, errors))
    variance = PERSISTENCE * weather
    shared_one, shared_other = _shared(problem, one, errors), _shared(problem, other, errors)
    for source, changes in shared_one.items():
        for key in changes.keys() | shared_other[source].keys():
            variance += (changes.get(key, 0.0) - shared_other[source].get(key, 0.0)) ** 2
    gain = other.rough_nights - one.rough_nights
    if math.isnan(gain) or math.isnan(variance):
        return math.nan
    if variance == 0:
        return 0.5 if gain == 0 else float(gain > 0)
    return 0.5 * (1 + math.erf(gain / math.sqrt(2 * variance)))


def equal(problem: PlanningProblem, one: Plan, other: Plan, errors: NightErrors) -> bool | None:
    """
    Return whether another plan is to be shown as equal to one.

    It is never equal with more serious nights, or with more than `DANGER_APART` more
    dangerous ones: danger is not a matter of taste.

    Parameters
    ----------
    problem : PlanningProblem
    one, other : Plan
    errors : NightErrors

    Returns
    -------
    bool or None
        None where an input is missing.
    """
    if (
        other.serious_nights > one.serious_nights
        or other.dangerous_nights > one.dangerous_nights + DANGER_APART
    ):
        return False
    chance = chance_of_fewer(problem, one, other, errors)
    return None if math.isnan(chance) else max(chance, 1 - chance) < CLOSE_BELOW


def _range(expected: float, spread: float, nights: int) -> tuple[float, float]:
    """
    Return the range that holds four journeys in five.

    Of a gamma distribution of that mean and spread.
    """
    if math.isnan(expected) or math.isnan(spread):
        return math.nan, math.nan
    low, high = (gamma_quantile(expected, spread, p) for p in (RANGE_TAIL, 1 - RANGE_TAIL))
    # A tiny mean under a large spread is so skewed that nine in ten lie below it.
    return min(low, expected), min(max(high, expected), nights)


@dataclass(frozen=True)
class _Night:
    """One planned night: what is expected, and what errors do to it."""

    stop: int
    rough: float
    input_change: float
    person_change: float
    year_change: float


def _nights(
    problem: PlanningProblem, plan: Plan, errors: NightErrors
) -> dict[tuple[str, int], _Night]:
    """Return the nights of a plan by region and date."""
    kit = problem.kits.index(plan.kit)
    nights: dict[tuple[str, int], _Night] = {}
    for stay in plan.stays:
        position = days_of_year(stay.arrive, stay.nights)
        tables = [problem.rough, errors.input_change, errors.person_change, errors.year_change]
        columns = [
            np.zeros(stay.nights) if table is None else table[kit, stay.stop, position]
            for table in tables
        ]
        for offset, values in enumerate(zip(*columns, strict=True)):
            key = (_region(problem, stay.stop), stay.arrive.toordinal() + offset)
            nights[key] = _Night(stay.stop, *map(float, values))
    return nights


def _weather_apart(
    one: Mapping[tuple[str, int], _Night], other: Mapping[tuple[str, int], _Night]
) -> float:
    """Return the variance of the rough nights that two plans do not share."""
    weather = 0.0
    for key in one.keys() | other.keys():
        if key in one and key in other:
            # One night, two kits: the same weather spoils the better kit's nights only
            # among those it spoils for the other.
            apart = abs(one[key].rough - other[key].rough)
        else:
            apart = (one.get(key) or other[key]).rough
        weather += apart * (1 - apart)
    return weather


def _shared(
    problem: PlanningProblem, plan: Plan, errors: NightErrors
) -> dict[str, dict[str | int, float]]:
    """Return the sums of signed changes that share one error, by source and by what shares."""
    sums: dict[str, dict[str | int, float]] = {"input": {}, "person": {}, "years": {}}
    for (region, _), night in _nights(problem, plan, errors).items():
        one_error: tuple[tuple[str, str | int, float], ...] = (
            ("input", region, night.input_change),
            ("person", "trip", night.person_change),
            ("years", night.stop, night.year_change),
        )
        for source, key, change in one_error:
            sums[source][key] = sums[source].get(key, 0.0) + change
    return sums


def _region(problem: PlanningProblem, stop: int) -> str:
    """Return what all nights of a stop share: its region, or the stop itself."""
    return problem.stops[stop].region or problem.stops[stop].id
