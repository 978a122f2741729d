"""What nights slept say of a sleeper: against draws, hand-made travellers and its own bounds."""

from itertools import product
from math import prod

import numpy as np
import pytest
from scipy.stats import norm

from sheltermap.shelters.learned import (
    LARGEST_MOVE,
    MEASURED_SPREAD,
    Offset,
    SleptStay,
    learned,
    moved_by,
)

BETWEEN = 2.0  # [K] between people
RNG = 20270704


def stay(*margins, failed=0, nearly=0, nights=None, bedding="bag"):
    """A measured stay, one margin a night or one for all."""
    count = nights or len(margins)
    return SleptStay(margins, MEASURED_SPREAD, 0.0, True, count, failed, nearly, bedding)


def of_climate(margin, nights, failed=0, nearly=0, bedding="bag", spread=3.5, error=1.9):
    """A stay of which only the climate is known."""
    return SleptStay((margin,), spread, error, False, nights, failed, nearly, bedding)


def offset(stays, bedding="bag", of_bedding=True):
    """What is learned of one bedding."""
    return learned(stays, BETWEEN, of_bedding=of_bedding).offset(bedding)


def test_without_nights_the_prior_stands_exactly():
    """No rows: nothing is moved, to the bit."""
    assert offset([]) == Offset(0.0, BETWEEN)
    assert offset([], of_bedding=False) == Offset(0.0, BETWEEN)


def by_draws(stays, asked, of_bedding):
    """Mean and spread by weighting draws from the prior: every order of answers, one by one."""
    rng = np.random.default_rng(RNG)
    count = 400_000
    person = rng.normal(0, 1.6 if of_bedding else 2.0, count)
    # A bedding that nobody slept in is drawn as well.
    beds = {
        name: rng.normal(0, 1.2, count) if of_bedding else np.zeros(count)
        for name in sorted({asked, *(one.bedding for one in stays)})
    }
    width = rng.choice(np.linspace(1, 5, 9), count, p=_widths())
    thermometer = rng.normal(0, 0.5, count)
    weight = np.ones(count)
    for one in stays:
        shift = thermometer if one.measured else rng.normal(0, one.shared_error, count)
        felt = person + beds[one.bedding] + shift
        sd = np.hypot(one.spread, 1.5)
        margins = one.margins if len(one.margins) > 1 else one.margins * one.nights
        chances = [_answers(margin + felt, width, sd) for margin in margins]
        total, orders = np.zeros(count), 0
        for answers in product(range(3), repeat=one.nights):
            if (answers.count(0), answers.count(1)) == (one.failed, one.nearly):
                orders += 1
                total += np.prod(
                    [night[kind] for night, kind in zip(chances, answers, strict=True)], axis=0
                )
        # One order's chance where all nights are alike: what a spell halves has no constant.
        power = 1.0 if one.measured else 0.5
        alike = orders if len(one.margins) == 1 else 1
        at_random = orders / alike * 3.0**-one.nights
        weight *= 0.9 * ((total / alike) / at_random) ** power + 0.1
    return _weighted(person + beds[asked], weight)


def _widths():
    """The chances of the widths of what is called cool."""
    chance = norm.pdf(np.linspace(1, 5, 9), 3.0, 1.2)
    return chance / chance.sum()


def _answers(felt, width, sd):
    """Chances of too cold, cool and fine, 4 % of them answered at random."""
    cold, cool = norm.cdf(0, felt, sd), norm.cdf(width, felt, sd)
    return [0.96 * chance + 0.04 / 3 for chance in (cold, cool - cold, 1 - cool)]


def _weighted(values, weight):
    """Weighted mean and standard deviation."""
    mean = np.average(values, weights=weight)
    return mean, np.average((values - mean) ** 2, weights=weight) ** 0.5


CASES = {
    "measured": [stay(2.0, 1.0, -1.0, failed=1, nearly=1)],
    "climate": [of_climate(1.0, 5, failed=3, nearly=1)],
    "both": [stay(0.5, failed=1), of_climate(2.0, 4), stay(3.0, nights=3, nearly=1)],
    "two bags": [stay(1.0, 2.0, failed=2), of_climate(4.0, 3, failed=1, bedding="quilt")],
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("asked", ["bag", "new"])
def test_posterior_agrees_with_weighted_draws(case, asked):
    """Four hundred thousand draws: a hundredth of a kelvin or two of noise."""
    found, drawn = offset(CASES[case], asked), by_draws(CASES[case], asked, of_bedding=True)
    np.testing.assert_allclose(found, drawn, atol=0.03)


def integrated(stays):
    """Mean and spread in the bedding of all stays, summed over every unknown on fine grids.

    Of one bedding only the sum of person and bedding counts, which is normal with 2 K.
    """
    own, nodes = np.arange(-9.0, 9.0, 0.05), np.linspace(-4.5, 4.5, 61)[:, None, None]
    normal = norm.pdf(nodes) / norm.pdf(nodes).sum()
    weight = norm.pdf(own, 0.0, BETWEEN) * _widths()[:, None] * normal
    for one in stays:
        # A thermometer's error is shared by all measured stays, a climate's by its own nights.
        shift = (0.5 if one.measured else one.shared_error) * nodes
        felt = [margin + own + shift for margin in np.resize(one.margins, one.nights)]
        width, sd = np.linspace(1, 5, 9)[:, None], np.hypot(one.spread, 1.5)
        nights = [_answers(each, width, sd) for each in felt]
        orders = [
            prod(3 * night[kind] for night, kind in zip(nights, answers, strict=True))
            for answers in product(range(3), repeat=one.nights)
            if (answers.count(0), answers.count(1)) == (one.failed, one.nearly)
        ]
        # Over answers at random, for which every order is as likely; a spell counts half.
        likelihood = sum(orders) / len(orders)
        if not one.measured:
            likelihood = (likelihood**0.5 * normal).sum(axis=0)
        weight = weight * (0.9 * likelihood + 0.1)
    return _weighted(own, weight.sum(axis=(0, 1)))


EXACT = {
    "one cold night": [stay(1.5, failed=1)],
    "three nights": [stay(2.0, 1.0, -1.0, failed=1, nearly=1)],
    "far from what was expected": [stay(3.0, 4.0, failed=2)],
    "a climate": [of_climate(1.0, 5, failed=3, nearly=1)],
    "a climate that errs much": [of_climate(3.0, 4, failed=1, spread=2.0, error=4.0)],
    "both": [stay(0.5, failed=1), of_climate(2.0, 4), stay(3.0, nights=3, nearly=1)],
}


@pytest.mark.parametrize("case", EXACT)
def test_posterior_agrees_with_an_integral(case):
    """Every order of answers on fine grids: to some thousandths of a kelvin."""
    np.testing.assert_allclose(offset(EXACT[case]), integrated(EXACT[case]), atol=0.004)


def test_heat_belongs_to_the_person_alone():
    """What was felt in one bedding then holds in any."""
    stays = [stay(0.5, failed=1), of_climate(2.0, 4, nearly=2)]
    found = offset(stays, "another", of_bedding=False)
    np.testing.assert_allclose(found, by_draws(stays, "bag", of_bedding=False), atol=0.03)
    assert found == offset(stays, "bag", of_bedding=False)


def traveller(rng, nights, measured, longest=5):
    """One traveller drawn from the prior, who tells stays of some nights each."""
    own = rng.normal(0, BETWEEN)
    width, thermometer = np.clip(rng.normal(3, 1.2), 1, 5), rng.normal(0, 0.5)
    stays = []
    while nights:
        count = min(longest, nights)
        nights -= count
        margin = rng.uniform(-3, 9)
        if measured:
            margins = margin + rng.normal(0, 2, count)
            felt = margins + thermometer + rng.normal(0, 1, count)
        else:
            felt = margin + rng.normal(0, 1.9) + rng.normal(0, 3.5, count)
        felt = felt + own + rng.normal(0, 1.5, count)
        failed, nearly = int((felt < 0).sum()), int(((felt >= 0) & (felt < width)).sum())
        if measured:
            stays.append(stay(*margins, failed=failed, nearly=nearly))
        else:
            stays.append(of_climate(margin, count, failed, nearly))
    return own, stays


# Bias, spread and cover of the four-in-five range by 400 travellers of another program.
PROTOTYPE = [(True, 3, 0.05, 1.56), (True, 20, 0.08, 0.93), (False, 20, 0.28, 1.62)]


@pytest.mark.parametrize(("measured", "nights", "bias", "spread"), PROTOTYPE)
def test_travellers_are_found_as_well_as_the_spread_says(measured, nights, bias, spread):
    """A hundred travellers: their mean to two tenths, four ranges in five hold the truth."""
    rng, number = np.random.default_rng(RNG), 100
    wrong, held = [], []
    for _ in range(number):
        own, stays = traveller(rng, nights, measured)
        found = offset(stays)
        wrong.append(found.mean - own)
        held.append(abs(found.mean - own) < 1.2816 * found.spread)
    # Three standard errors of a mean of so many; the prototype's own bias is in it.
    assert abs(np.mean(wrong)) < abs(bias) + 3 * spread / number**0.5
    assert np.std(wrong) < 1.2 * spread
    assert 0.8 - 3 * (0.16 / number) ** 0.5 < np.mean(held)


def test_twenty_measured_nights_halve_the_spread():
    """2 K before, about 0.9 K after, where the nights lie near the limit."""
    rng = np.random.default_rng(RNG)
    spreads = [offset(traveller(rng, 20, measured=True)[1]).spread for _ in range(40)]
    assert 0.8 < np.mean(spreads) < 1.05


def test_contradictory_stays_move_little():
    """Three cold nights with 8 K to spare against twenty that fit: slips, not a cold sleeper."""
    fits = [stay(m, failed=int(m < 0), nearly=int(0 <= m < 3)) for m in np.linspace(-3, 9, 20)]
    slips = [stay(8.0, failed=1)] * 3
    assert abs(offset(fits + slips).mean - offset(fits).mean) < 0.1


@pytest.mark.parametrize("margin", range(-6, 10, 3))
@pytest.mark.parametrize("felt", [{"failed": 1}, {"nearly": 1}, {}])
def test_no_stay_of_many_moves_the_offset_far(margin, felt):
    """Ten nights that teach nothing, and one that alone would say it all."""
    stays = [stay(9.0)] * 9 + [stay(float(margin), **felt)]
    assert max(map(abs, moved_by(stays, BETWEEN, of_bedding=True))) <= LARGEST_MOVE
    assert abs(offset(stays).mean - offset(stays[:-1]).mean) <= LARGEST_MOVE + 0.05


def test_leaving_out_one_of_twenty_moves_about_four_tenths():
    """The largest of twenty moves, in the median of travellers: 0.4 K by the prototype."""
    rng = np.random.default_rng(RNG)
    largest = [
        max(map(abs, moved_by(traveller(rng, 20, True, 1)[1], BETWEEN, of_bedding=True)))
        for _ in range(8)
    ]
    assert 0.2 < np.median(largest) < 0.45


def test_a_new_bedding_keeps_what_is_the_persons():
    """Of the offset in one bag the person has 1.6 squared over 2 squared: 64 %."""
    stays = [stay(m, failed=int(m < 3)) for m in np.linspace(-3, 9, 9)] * 3
    bag, new = offset(stays, "bag"), offset(stays, "new")
    assert bag.mean < -1
    assert new.mean == pytest.approx(0.64 * bag.mean, abs=0.02)
    # The person's share of what is left open, and the new bag's own 1.2 K.
    left = 0.64**2 * bag.spread**2 + 1.6**2 * (1 - 0.64) + 1.2**2
    assert new.spread == pytest.approx(left**0.5, abs=0.02)


def test_nights_with_much_to_spare_teach_nothing():
    """13 K above the limit everybody sleeps; near it one night decides a quarter."""
    nothing = learned([], BETWEEN, of_bedding=True)
    assert nothing.spread_after(13.0, 1.0) == pytest.approx(2.0, abs=0.01)
    assert nothing.spread_after(0.5, 1.0) < 1.75
    # The three answers that one night can give, each with its chance: what is left on average.
    rng, number = np.random.default_rng(RNG), 20_000
    felt = 0.5 + rng.normal(0, np.hypot(BETWEEN, np.hypot(1.5, np.hypot(1.0, 0.5))), number)
    width = rng.choice(np.linspace(1, 5, 9), number, p=_widths())
    chance = np.array([np.mean(felt < 0), np.mean((felt >= 0) & (felt < width))])
    chance = 0.864 * np.append(chance, 1 - chance.sum()) + 0.136 / 3
    answers = ({"failed": 1}, {"nearly": 1}, {})
    variances = [offset([stay(0.5, **answer)]).spread ** 2 for answer in answers]
    left = (chance @ variances) ** 0.5
    assert nothing.spread_after(0.5, 1.0) == pytest.approx(left, abs=0.02)


def test_a_good_sleeper_counts_for_nothing_in_danger_a_cold_one_in_full():
    """What is learned can only add to a danger."""
    assert Offset(1.5, 0.9).in_danger == 0.0
    assert Offset(-1.5, 0.9).in_danger == -1.5


def test_people_who_do_not_differ_teach_nothing():
    """A spread between people of 0 leaves nothing to learn."""
    found = learned([stay(0.0, failed=1)], 0.0, of_bedding=True)
    assert found.offset("bag") == Offset(0.0, 0.0)
    assert found.spread_after(0.0, 1.0) == 0.0


def test_counts_must_fit_the_nights():
    """More cold nights than nights, or three margins for two nights, are no stay."""
    with pytest.raises(ValueError, match="at most as many"):
        stay(1.0, failed=1, nearly=1)
    with pytest.raises(ValueError, match="expected 1 or 2 margins, got 3"):
        stay(1.0, 2.0, 3.0, nights=2)
