"""How far the rough nights of a plan can stray, and whether two plans really differ.

In: a plan, and by day of the year what one error of each kind does to a night.
Out: the range of rough nights, how many a bad year has, and the chance that one plan beats
another. Assumes errors of different origin are independent (they add in quadrature), an
error of the climate data is one for all nights of a region, the person's is one for the
whole trip, a year's departure from the mean is shared by stays near in time and place, and
only the weather varies from night to night, with spells that last.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sheltermap.dates import days_of_year
from sheltermap.planner.badyears import (
    bad_year,
    gamma_quantile,
    weather_variance,
    year_likeness,
    years_variance,
)
from sheltermap.planner.problem import Plan, PlanningProblem
from sheltermap.vocabulary import CLOSE_BELOW

PERSISTENCE = 3.0
"""judgement: weather comes in spells, so rough nights cluster and the variance of their
number is this many times that of independent nights."""

RANGE_TAIL = 0.10
"""Share of journeys beyond each end of a range: it holds four journeys in five. judgement"""

LEAST_CHANCE = 0.01
"""Chance of any rough night from which a range has one at its upper end. judgement: below it
"none" may be said."""

DANGER_APART = 0.05
"""Dangerous nights by which a plan may exceed another and still be its equal. [night] judgement"""

_DAYS_A_MONTH = 365.25 / 12


@dataclass(frozen=True, eq=False)
class NightErrors:
    """What one standard error of each kind does to the rough nights of one night, signed.

    Attributes
    ----------
    climate : float array, shape (errors, kits, stops, 365)
        Change for each error of the climate data, which are independent of each other.
        [night]
    person : float array, shape (errors, kits, stops, 365)
        Change for one standard deviation between persons: in cold, in heat. [night]
    years : float array, shape (errors, kits, stops, 365)
        Change for one standard deviation between years: of warmth, of rain. [night]
    kilometres : float array, shape (stops, stops)
        Distances between the stops. [km]
    """

    climate: np.ndarray
    person: np.ndarray
    years: np.ndarray
    kilometres: np.ndarray


@dataclass(frozen=True)
class RoughRange:
    """Rough nights to expect, and the range that holds four journeys in five.

    Attributes
    ----------
    expected, low, high : float
        NaN where an input is missing. [night]
    bad_year : float
        Expected in the year that nine years in ten stay below. [night]
    weather, climate, person, years : float
        Standard deviation from each source. [night]
    """

    expected: float
    low: float
    high: float
    bad_year: float
    weather: float
    climate: float
    person: float
    years: float

    @property
    def parts(self) -> dict[str, float]:
        """Return the sources by name, the largest first."""
        names = ("weather", "climate", "person", "years")
        return dict(sorted(((name, getattr(self, name)) for name in names), key=lambda p: -p[1]))


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
    behind = math.fsum(stay.rough_nights for stay in plan.stays[: plan.done])
    nights = _nights(problem, plan, errors)
    weather = math.sqrt(PERSISTENCE * weather_variance(nights.rough, nights.years))
    climate = math.sqrt(float((nights.climate_by_region**2).sum()))
    person = math.sqrt(float((nights.person.sum(axis=1) ** 2).sum()))
    years = math.sqrt(_years_variance(nights, errors))
    expected = max(plan.rough_nights - behind, 0.0)
    count = nights.rough.size
    low, high = _range(expected, math.hypot(weather, climate, person, years), count)
    any_rough = 1 - float(np.prod(1 - nights.rough))
    if any_rough >= LEAST_CHANCE:
        high = max(high, 1.0)
    return RoughRange(
        expected=plan.rough_nights,
        low=behind + low,
        high=behind + high,
        bad_year=behind + bad_year(expected, years, count),
        weather=weather,
        climate=climate,
        person=person,
        years=years,
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
    nights, others = (_nights(problem, plan, errors) for plan in (one, other))
    variance = (
        PERSISTENCE * _weather_apart(nights, others)
        + float(((nights.climate_by_region - others.climate_by_region) ** 2).sum())
        + float(((nights.person.sum(axis=1) - others.person.sum(axis=1)) ** 2).sum())
        + _years_variance(nights, errors, others)
    )
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


@dataclass(frozen=True, eq=False)
class _Nights:
    """The planned nights one after the other: what is expected, and what errors do to them.

    Arrays of changes have shape (errors, nights), but for sums over a region or a stay.
    """

    rough: np.ndarray
    person: np.ndarray
    years: np.ndarray
    climate_by_region: np.ndarray
    years_by_stay: np.ndarray
    middles: np.ndarray  # of the stays [month]
    stops: np.ndarray  # of the stays
    spots: list[tuple[str, int]]  # region and date of each night


def _nights(problem: PlanningProblem, plan: Plan, errors: NightErrors) -> _Nights:
    """Return the nights of a plan."""
    kit = problem.kits.index(plan.kit)
    counts = [stay.nights for stay in plan.ahead]
    stop = np.repeat(np.array([stay.stop for stay in plan.ahead], dtype=int), counts)
    days = [days_of_year(stay.arrive, stay.nights) for stay in plan.ahead]
    day = np.concatenate(days) if days else np.zeros(0, dtype=int)
    years = errors.years[:, kit, stop, day]
    names = [stop.region or stop.id for stop in problem.stops]
    regions = np.array([names.index(name) for name in names])
    stay = np.repeat(np.arange(len(counts)), counts)
    return _Nights(
        rough=problem.rough[kit, stop, day],
        person=errors.person[:, kit, stop, day],
        years=years,
        climate_by_region=_sums(errors.climate[:, kit, stop, day], regions[stop], len(names)),
        years_by_stay=_sums(years, stay, len(counts)),
        middles=np.array([stay.arrive.toordinal() + stay.nights / 2 for stay in plan.ahead])
        / _DAYS_A_MONTH,
        stops=np.array([stay.stop for stay in plan.ahead], dtype=int),
        spots=[
            (names[stay.stop], stay.arrive.toordinal() + night)
            for stay in plan.ahead
            for night in range(stay.nights)
        ],
    )


def _sums(changes: np.ndarray, groups: np.ndarray, count: int) -> np.ndarray:
    """Return sums of changes, shape (errors, nights), by group, shape (errors, groups)."""
    return np.array([np.bincount(groups, row, minlength=count) for row in changes])


def _years_variance(nights: _Nights, errors: NightErrors, others: _Nights | None = None) -> float:
    """Return the variance between years of rough nights, or of those of two plans apart."""
    both = [nights] if others is None else [nights, others]
    stops = np.concatenate([one.stops for one in both])
    likeness = year_likeness(
        np.concatenate([one.middles for one in both]), errors.kilometres[np.ix_(stops, stops)]
    )
    swings = [sign * one.years_by_stay for sign, one in zip((1, -1), both, strict=False)]
    return sum(years_variance(swing, likeness) for swing in np.concatenate(swings, axis=1))


def _weather_apart(nights: _Nights, others: _Nights) -> float:
    """Return the variance of the rough nights that two plans do not share."""
    here, there = (
        {spot: (one.rough[row], one.years[:, row]) for row, spot in enumerate(one.spots)}
        for one in (nights, others)
    )
    nothing = 0.0, np.zeros(nights.years.shape[0])
    apart = [
        # One night, two kits: the same weather spoils the better kit's nights only among
        # those it spoils for the other.
        tuple(
            np.subtract(a, b)
            for a, b in zip(here.get(spot, nothing), there.get(spot, nothing), strict=True)
        )
        for spot in here.keys() | there.keys()
    ]
    if not apart:
        return 0.0
    chances, swings = zip(*apart, strict=True)
    return weather_variance(np.abs(chances), np.transpose(swings))
