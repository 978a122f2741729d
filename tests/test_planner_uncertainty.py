"""Ranges of rough nights, worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import norm

from sheltermap.planner.problem import Plan, PlanningProblem, Stay, Stop
from sheltermap.planner.uncertainty import (
    NightErrors,
    RoughRange,
    chance_of_fewer,
    equal,
    rough_range,
)

ASKED = PlanningProblem(
    stops=(
        Stop("out", "Out", 1, 1, 99, region="A"),
        Stop("there", "There", 1, 1, 99),
        Stop("back", "Back", 1, 1, 99, region="A"),
    ),
    kits=("a", "b"),
    rough=np.stack([np.full((3, 365), 0.2), np.full((3, 365), 0.5)]),
    earliest=date(2027, 5, 1),
    latest=date(2027, 5, 1),
    stay_weight=0.05,
)


def errors(climate=0.0, person=0.0, years=0.0, kilometres=1e9):
    """Return the same changes for every night: one number, or one for each error of a kind."""
    shape = ASKED.rough.shape
    changes = [
        np.stack([np.full(shape, change) for change in np.atleast_1d(kind)])
        for kind in (climate, person, years)
    ]
    return NightErrors(*changes, kilometres * (1 - np.eye(3)))


def plan(*nights, kit="a", depart=date(2027, 5, 1)):
    """Return a plan of the stops in order with these nights."""
    rough, stays, arrive = {"a": 0.2, "b": 0.5}[kit], [], depart
    for stop, count in enumerate(nights):
        leave = arrive + timedelta(days=count)
        stays.append(Stay(stop, arrive, leave, count, rough * count))
        arrive = leave
    total = rough * sum(nights)
    return Plan(depart, arrive, "forward", kit, tuple(stays), total, total)


def test_weather_alone():
    """25 nights of 0.2: variance 25 x 0.2 x 0.8 x 3 = 12, around an expected 5."""
    found = rough_range(ASKED, plan(10, 5, 10), errors())
    assert found.expected == pytest.approx(5.0)
    assert found.weather == pytest.approx(math.sqrt(12))
    assert found.low < 5.0 < found.high
    assert (found.climate, found.person, found.years) == (0.0, 0.0, 0.0)
    assert found.bad_year == 5.0


def test_shared_errors_add_before_they_are_squared():
    """Input: 20 nights in region A and 5 elsewhere at 0.1 give sqrt(2^2 + 0.5^2)."""
    found = rough_range(ASKED, plan(10, 5, 10), errors(0.1, 0.04, 0.1))
    assert found.climate == pytest.approx(math.sqrt(2.0**2 + 0.5**2))
    # One person makes the whole trip: 25 x 0.04 = 1.
    assert found.person == pytest.approx(1.0)
    # Stays far from each other have years of their own: 1, 0.5 and 1.
    assert found.years == pytest.approx(math.sqrt(1 + 0.25 + 1))


def test_cold_and_heat_of_a_person_are_apart():
    """12 nights cold by 0.1 and 12 hot: sqrt(1.2^2 + 1.2^2), not 2.4."""
    change = np.zeros((2, *ASKED.rough.shape))
    change[0, :, 0], change[1, :, 2] = 0.1, 0.1
    nothing = np.zeros((1, *ASKED.rough.shape))
    split = NightErrors(nothing, change, nothing, np.zeros((3, 3)))
    found = rough_range(ASKED, plan(12, 1, 12), split)
    assert found.person == pytest.approx(1.2 * math.sqrt(2))


def test_independent_errors_of_the_climate_are_squared_apart():
    """Warmth 0.1 and moisture 0.2 on 10 nights of one region: sqrt(1 + 4)."""
    found = rough_range(ASKED, plan(10), errors([0.1, 0.2]))
    assert found.climate == pytest.approx(math.sqrt(5))


def test_stays_near_in_time_and_place_share_their_year():
    """Stays of 10 and 20 nights: middles 15 days apart; 1500 km: likeness 0.3^(15/30.4375) / e."""
    found = rough_range(ASKED, plan(10, 20), errors(years=0.1, kilometres=1500.0))
    likeness = 0.3 ** (15 / 30.4375) / math.e
    assert found.years == pytest.approx(math.sqrt(1 + 4 + 2 * likeness * 1 * 2))
    # Rain departs from its mean apart from warmth.
    both = rough_range(ASKED, plan(10), errors(years=[0.1, 0.2]))
    assert both.years == pytest.approx(math.sqrt(1 + 4))


def test_bad_year_and_weather_counted_once():
    """A hand-worked gamma: spread equal to the mean of 5 has a bad year of 5 x 2.302585.

    25 nights at 0.2 a night by the year are 5 nights; the weather within a year keeps
    25 x (0.2 x 0.8 - 0.04) x 3 = 9 of variance.
    """
    found = rough_range(ASKED, plan(25), errors(years=0.2))
    assert found.bad_year == pytest.approx(5 * 2.302585)
    assert found.weather == pytest.approx(3.0)


def test_range_is_never_nought_to_nought():
    """24 nights of 1 in 1000 are 2.4 % that one goes wrong: "0 to 1"; 1 in 10,000 is 0.24 %."""
    for chance, high in ((1e-3, 1.0), (1e-4, 0.0)):
        rare = replace(ASKED, rough=np.full(ASKED.rough.shape, chance))
        found = rough_range(rare, replace(plan(24), rough_nights=24 * chance), errors())
        assert (round(found.low), round(found.high)) == (0, high)


def test_range_of_an_exponential_count():
    """Spread equal to the mean: quantiles are -ln(0.9) and -ln(0.1) times the mean.

    5 expected; weather 12 and a shared error of 0.1442 a night (20 nights in one region, 5
    in another: variance 425 x 0.1442^2 = 8.84) leave 25 - 12 - 8.84 = 4.16 for the person,
    0.0816 a night: the spread is 5.
    """
    by_input, by_person = 0.1442, math.sqrt(25 - 12 - 425 * 0.1442**2) / 25
    found = rough_range(ASKED, plan(10, 5, 10), errors(by_input, by_person))
    assert found.low == pytest.approx(-5 * math.log(0.9))
    assert found.high == pytest.approx(-5 * math.log(0.1))


def test_range_holds_what_is_expected():
    """A tenth of a night expected under a spread of three nights lies in its range."""
    rare = replace(ASKED, rough=np.full(ASKED.rough.shape, 0.004))
    found = rough_range(rare, replace(plan(10, 5, 10), rough_nights=0.1), errors(0.15, 0.0))
    assert found.low <= 0.1 <= found.high


def test_opposite_changes_cancel():
    """A warmer world helps cold nights and harms hot ones: signed changes sum to none."""
    change = np.full((1, *ASKED.rough.shape), 0.1)
    change[:, :, 2] = -0.1
    signed = NightErrors(change, change, 0 * change, np.zeros((3, 3)))
    found = rough_range(ASKED, plan(10, 5, 10), signed)
    assert (found.climate, found.person) == pytest.approx((0.5, 0.5))


def test_range_stays_between_none_and_all():
    """Rough nights cannot be fewer than none nor more than the nights."""
    found = rough_range(ASKED, plan(1, 1, 1, kit="b"), errors(0.5, 0.5))
    assert 0.0 <= found.low < 1.5
    assert found.high == 3.0


def test_missing_stays_missing():
    """An unknown error gives an unknown range, not a narrow one."""
    found = rough_range(ASKED, plan(10, 5, 10), errors(math.nan))
    assert math.isnan(found.low) and math.isnan(found.high)
    assert math.isnan(chance_of_fewer(ASKED, plan(9, 5), plan(5, 9), errors(math.nan)))
    assert equal(ASKED, plan(9, 5), plan(5, 9), errors(math.nan)) is None


def test_the_same_plan_is_equal_to_itself():
    """All errors are shared, so nothing tells the two apart."""
    assert chance_of_fewer(ASKED, plan(10, 5, 10), plan(10, 5, 10), errors(0.1, 0.1)) == 0.5
    assert equal(ASKED, plan(10, 5, 10), plan(10, 5, 10), errors(0.1, 0.1))


def test_chance_by_hand():
    """20 against 24 nights of other dates: gain 0.8, variance 3 x 44 x 0.16 = 21.12."""
    one, other = plan(10, 5, 5), plan(12, 6, 6, depart=date(2027, 9, 1))
    expected = norm.cdf(0.8 / math.sqrt(21.12))
    assert chance_of_fewer(ASKED, one, other, errors()) == pytest.approx(expected)
    assert chance_of_fewer(ASKED, other, one, errors()) == pytest.approx(1 - expected)
    # 0.569 is below 0.60: the two are shown as equal.
    assert equal(ASKED, one, other, errors())
    # 20 against 34 nights: gain 2.8, variance 3 x 54 x 0.16 = 25.92, chance 0.709.
    longer = plan(17, 10, 7, depart=date(2027, 9, 1))
    assert not equal(ASKED, one, longer, errors())


def test_shared_nights_and_shared_errors_cancel():
    """10 nights in common: only the 4 others vary, and region and person errors by 4 nights."""
    one, other = plan(10), plan(14)
    variance = 3 * 4 * 0.16 + (4 * 0.1) ** 2 + (4 * 0.05) ** 2
    expected = norm.cdf(0.8 / math.sqrt(variance))
    assert chance_of_fewer(ASKED, one, other, errors(0.1, 0.05)) == pytest.approx(expected)


def test_the_same_year_cancels():
    """The same stay 14 nights later: what both share of their year counts for neither.

    Middles 14 days apart: likeness 0.3^(14 / 30.4375) = 0.5748, so 2 x (1 - 0.5748) x 1^2.
    """
    one, other = plan(10), plan(10, depart=date(2027, 5, 15))
    weather = 3 * 20 * (0.16 - 0.01)
    expected = 2 * (1 - 0.3 ** (14 / 30.4375))
    later = replace(other, rough_nights=3.0)
    found = chance_of_fewer(ASKED, one, later, errors(years=0.1))
    assert found == pytest.approx(norm.cdf(1.0 / math.sqrt(weather + expected)))


def test_two_kits_on_the_same_nights():
    """0.5 against 0.2 on 10 shared nights: they differ on 0.3, variance 3 x 10 x 0.21."""
    expected = norm.cdf(3.0 / math.sqrt(3 * 10 * 0.3 * 0.7))
    found = chance_of_fewer(ASKED, plan(10, kit="a"), plan(10, kit="b"), errors())
    assert found == pytest.approx(expected)


def test_certain_nights():
    """Without any spread the better plan is better for certain."""
    sure = replace(ASKED, rough=np.zeros(ASKED.rough.shape))
    one = replace(plan(3), rough_nights=0.0)
    other = replace(plan(3), rough_nights=1.0)
    assert chance_of_fewer(sure, one, other, errors()) == 1.0
    assert chance_of_fewer(sure, other, one, errors()) == 0.0


def test_parts_of_a_range_by_size():
    """By hand: the weather 3 nights, the data 4, people 1, years 2."""
    spread = RoughRange(
        10.0, 5.0, 15.0, bad_year=12.0, weather=3.0, climate=4.0, person=1.0, years=2.0
    )
    assert list(spread.parts.items()) == [
        ("climate", 4.0),
        ("weather", 3.0),
        ("years", 2.0),
        ("person", 1.0),
    ]


@pytest.mark.parametrize(("chance", "same"), [(0.599, True), (0.601, False)])
def test_the_border_of_equal_to_best(chance, same):
    """Three times in five, either way round; 20 nights of other dates vary by 3 x 20 x 0.16."""
    gain = norm.ppf(chance) * math.sqrt(3 * 20 * 0.16)
    best, other = plan(10), plan(10, depart=date(2027, 9, 1))
    for apart in (gain, -gain):
        found = replace(other, rough_nights=best.rough_nights + apart)
        assert chance_of_fewer(ASKED, best, found, errors()) == pytest.approx(
            chance if apart > 0 else 1 - chance
        )
        assert equal(ASKED, best, found, errors()) is same


def test_more_danger_is_never_equal():
    """A twentieth of a dangerous night may be; more, or one serious night more, may not."""
    best, other = plan(10), plan(10, depart=date(2027, 9, 1))
    for more, same in (
        ({"dangerous_nights": 0.05}, True),
        ({"dangerous_nights": 0.06}, False),
        ({"serious_nights": 1}, False),
    ):
        assert equal(ASKED, best, _with(other, **more), errors()) is same
    # Less of either leaves the two alike.
    risky = _with(best, dangerous_nights=1.0, serious_nights=3)
    assert equal(ASKED, risky, other, errors())


def _with(changed, **more):
    """Return a plan whose first stay has other figures."""
    first, *others = changed.stays
    return replace(changed, stays=(replace(first, **more), *others))


def of_stops(first, second, *, later=1):
    """Return two independent errors of the climate by stop, `later` times as large from September.

    The same in both kits; nobody else errs, and the stops lie far apart.
    """
    climate = np.zeros((2, *ASKED.rough.shape))
    for number, by_stop in enumerate((first, second)):
        climate[number] = np.array(by_stop)[np.newaxis, :, np.newaxis]
    climate[..., 243:] *= later  # Day 244 of a common year is 1 September.
    return replace(errors(), climate=climate)


def test_errors_that_legs_of_one_region_share_by_hand():
    """6 nights out and 4 back in region A, 2 there: legs of A add up, all else is squared apart.

    A: 6 x 0.1 + 4 x 0.3 = 1.8 and -6 x 0.2 + 4 x 0.1 = -0.8; there: 0.2 and 0.4.
    """
    shared = of_stops((0.1, 0.1, 0.3), (-0.2, 0.2, 0.1))
    found = rough_range(ASKED, plan(6, 2, 4), shared)
    assert found.climate == pytest.approx(math.sqrt(1.8**2 + 0.8**2 + 0.2**2 + 0.4**2))


def test_two_plans_share_the_errors_of_each_region_by_hand():
    """Against 3, 5 and 6 nights in September, where each night errs twice as much.

    A: 2 x (0.3 + 1.8) = 4.2 against 1.8, and 2 x (-0.6 + 0.6) = 0 against -0.8. There: 1 against
    0.2, and 2 against 0.4. So 2.4^2 + 0.8^2 + 0.8^2 + 1.6^2 = 9.6 beside the weather of all
    26 nights, 3 x 26 x 0.16 = 12.48; 14 x 0.2 - 12 x 0.2 = 0.4 nights are gained.
    """
    shared = of_stops((0.1, 0.1, 0.3), (-0.2, 0.2, 0.1), later=2)
    one, other = plan(6, 2, 4), plan(3, 5, 6, depart=date(2027, 9, 1))
    expected = norm.cdf(0.4 / math.sqrt(12.48 + 9.6))
    assert chance_of_fewer(ASKED, one, other, shared) == pytest.approx(expected)
    assert chance_of_fewer(ASKED, other, one, shared) == pytest.approx(1 - expected)


def test_two_legs_of_one_region_share_the_night_and_its_error():
    """Ten nights of one date out, or back in the same region: the same weather on both.

    What is left is 10 x 0.3 - 10 x 0.1 = 2 of one error of the climate; a night is gained.
    """
    shared = of_stops((0.1, 0.0, 0.3), (0.0, 0.0, 0.0))
    one = plan(10)
    back = replace(one, stays=(replace(one.stays[0], stop=2),))
    behind = replace(back, rough_nights=3.0)
    assert chance_of_fewer(ASKED, one, behind, shared) == pytest.approx(norm.cdf(1 / 2))


def test_nights_of_either_plan_alone_vary():
    """5 of 10 nights in common: the 5 before and the 5 after vary, 3 x 10 x 0.16 = 4.8."""
    one, other = plan(10), replace(plan(10, depart=date(2027, 5, 6)), rough_nights=3.0)
    expected = norm.cdf(1 / math.sqrt(4.8))
    assert chance_of_fewer(ASKED, one, other, errors()) == pytest.approx(expected)
