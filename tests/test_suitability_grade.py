"""Grades by their definition, close calls and words."""

import math

import numpy as np
import pytest
import xarray as xr
from numpy.testing import assert_allclose
from scipy import stats

from sheltermap.suitability.grade import (
    close_call,
    grade,
    grade_probability,
    margin_words,
)
from sheltermap.vocabulary import MISSING_GRADE, Grade


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        (1.0, Grade.SOUND),
        (0.90, Grade.SOUND),
        (0.8999, Grade.WORKABLE),
        (0.75, Grade.WORKABLE),
        (0.7499, Grade.HARD),
        (0.50, Grade.HARD),
        (0.4999, Grade.UNFIT),
        (0.0, Grade.UNFIT),
        (math.nan, MISSING_GRADE),
    ],
)
def test_borders(share, expected):
    """Each floor belongs to its grade; nothing is no grade."""
    assert int(grade(share)) == expected


def test_grade_keeps_names():
    """A DataArray keeps its dimensions and becomes small integers."""
    share = xr.DataArray([[0.95, 0.2]], dims=("month", "cell"))
    codes = grade(share)
    assert codes.dims == ("month", "cell")
    assert codes.dtype == np.int8


def test_probability_by_hand():
    """At 0.85 with an error of 0.05: Phi(1) - Phi(-2) = 0.8413 - 0.0228 = 0.8186."""
    assert_allclose(grade_probability(0.85, 0.05), 0.8186, rtol=0, atol=5e-5)


def test_probability_of_the_best_and_the_worst_grade_by_hand():
    """Beyond them is no border: at 0.95 with 0.05 Phi(1), at 0.30 with 0.10 Phi(2).

    A share on a border has the better grade: at 0.50 with 0.20 Phi(1.25) - 0.5.
    """
    found = grade_probability(np.array([0.95, 0.30, 0.50]), np.array([0.05, 0.10, 0.20]))
    assert_allclose(found, [0.8413, 0.9772, 0.3944], rtol=0, atol=5e-5)


def test_probabilities_of_all_grades_add_to_one():
    """The bands of neighbouring grades, weighed by an independent normal, leave no gap."""
    share, error = 0.72, 0.08
    draws = stats.norm(share, error).ppf((np.arange(20_000) + 0.5) / 20_000)
    hits = (grade(draws) == grade(share)).mean()
    assert_allclose(grade_probability(share, error), hits, rtol=0, atol=1e-4)


def test_close_calls():
    """A share on a border is close, one amid its grade is not, a missing one is neither."""
    assert close_call(np.array([0.90, 0.825, np.nan]), 0.03).tolist() == [True, False, False]
    assert np.isnan(grade_probability(np.nan, 0.03))
    assert np.isnan(grade_probability(0.9, np.nan))


def test_no_error_is_certain():
    """Without error the grade is certain."""
    assert grade_probability(0.8, 0.0) == 1


def test_words_tell_depth_apart():
    """1 K and 15 K below the limit read differently, as do their sides."""
    near, far = margin_words(-1.0, "cold", 5.0), margin_words(-15.0, "cold", -9.0)
    assert "1 °C colder" in near and "dangerous" not in near
    assert "15 °C colder" in far and "dangerous" in far
    assert "4 °C hotter" in margin_words(-4.0, "heat", 2.0)
    assert margin_words(5.0, "cold", 11.0) == "would still be sound about 5 °C colder"
    assert margin_words(math.nan, "heat", math.nan) == ""


def test_dangerous_is_what_endangers_not_a_flat_depth():
    """5 K below thin bedding endangers, 7 K below thick bedding is bitterly cold."""
    assert margin_words(-5.0, "cold", -0.7).endswith("dangerous")
    assert margin_words(-7.0, "cold", 0.5).endswith("bitterly cold")


@pytest.mark.parametrize(
    ("depth", "cold", "heat"),
    [
        (0.5, "chilly", "warm"),
        (3.0, "chilly", "warm"),
        (3.1, "cold", "hot"),
        (6.0, "cold", "hot"),
        (6.1, "bitterly cold", "oppressive"),
    ],
)
def test_depths_below_danger_have_three_words_a_side(depth, cold, heat):
    """Up to 3 K, up to 6 K, beyond; what is on the border takes the milder word."""
    for factor, word in (("cold", cold), ("heat", heat)):
        assert margin_words(-depth, factor, 0.0).endswith(f": {word}")
        assert margin_words(-depth, factor, -0.1).endswith(": dangerous")


def test_half_a_degree_to_either_side_is_at_the_limit():
    """A sign apart, and the same words; from half a degree on the side is told."""
    for margin in (-0.4, 0.4):
        assert margin_words(margin, "cold", 5.0) == "is right at the limit of the bedding"
        assert margin_words(margin, "heat", 5.0) == "is right at the limit of sleep"
    assert margin_words(0.6, "heat", 5.0) == "would still be sound about 1 °C hotter"
