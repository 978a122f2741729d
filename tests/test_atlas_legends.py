"""Legends of the atlas: words that agree with floors, and colours that a reader can tell apart."""

from __future__ import annotations

import re
from itertools import combinations, pairwise

import numpy as np
import pytest

from sheltermap.atlas import legends
from sheltermap.shelters.kit import load_kits
from sheltermap.vocabulary import MONTHS
from sheltermap.website.environment import asset


def legend(name: str) -> legends.Legend:
    """Return a legend by its name; that of kits for all that ship."""
    if name == "cheapest":
        return legends.cheapest_legend(tuple(load_kits().values()))
    return getattr(legends, f"{name}_legend")()


def greys(entries) -> list[float]:
    """Return what a greyscale print makes of classes: ITU-R BT.601's luma. [0 to 255]"""
    return [0.299 * red + 0.587 * green + 0.114 * blue for red, green, blue in colours(entries)]


def colours(entries) -> np.ndarray:
    """Return the colours of classes, shape (classes, 3)."""
    return np.array([entry.colour for entry in entries])


def apart(one, other) -> float:
    """Return how far two colours lie from each other, in steps of a channel."""
    return float(np.abs(np.subtract(one, other)).max())


@pytest.mark.parametrize("name", ["factor", "danger", "best", "cheapest", "saved", "level"])
def test_no_two_classes_look_alike(name):
    """Fifteen of 255 in some channel at least; classes of a gradient are looked at below."""
    pairs = combinations(colours(legend(name)), 2)
    assert min(apart(*pair) for pair in pairs) >= 15


def test_a_colour_between_two_is_their_weighted_mean():
    """By hand: a quarter of the way from 10 to 210, from 200 to 100, from 7 to 9 (7.5 is 8)."""
    assert legends.between(((10, 200, 7), (210, 100, 9)), 0.25) == (60, 175, 8)


def test_words_of_shares_are_their_floors():
    """Steps of 5 %, by the grades' floors of 50, 75 and 90 % (README)."""
    words = [entry.words for entry in legend("share")]
    grades = ["unfit"] * 10 + ["hard"] * 5 + ["workable"] * 3 + ["sound"] * 2
    assert words == [
        f"{grade}, {low} to {low + 5} %"
        for grade, low in zip(grades, range(0, 100, 5), strict=True)
    ]
    assert [round(100 * entry.floor) for entry in legend("share")] == list(range(0, 100, 5))


@pytest.mark.parametrize(("first", "last"), [(0, 9), (10, 14), (15, 17), (18, 19)])
def test_shades_of_a_grade_rise_evenly(first, last):
    """From the grade's lowest share to its highest, to the rounding of a channel."""
    grade = colours(legend("share"))[first : last + 1]
    even = np.linspace(grade[0], grade[-1], len(grade))
    np.testing.assert_allclose(grade, even, rtol=0, atol=0.5)
    assert apart(grade[0], grade[-1]) > 20


def test_months_run_evenly_from_none_to_twelve():
    """Six lies half way; words and floors count."""
    entries = legend("months")
    assert [entry.words for entry in entries] == [f"{count} months" for count in range(13)]
    assert [entry.floor for entry in entries] == list(range(13))
    even = np.linspace(colours(entries)[0], colours(entries)[12], 13)
    np.testing.assert_allclose(colours(entries), even, rtol=0, atol=0.5)
    assert greys(entries) == sorted(greys(entries))


def test_words_of_nights_saved_are_their_floors():
    """From 31 rough nights more to 31 fewer, a month's; a night either way is no difference."""
    rough, same, *saved = legend("saved")
    assert (rough.words, same.words) == ("more rough nights", "no difference to speak of")
    assert (rough.floor, same.floor) == (-31, -1)
    limits = [*map(int, re.findall(r"\d+", " ".join(one.words for one in saved)))]
    assert limits == [1, 2, 2, 5, 5, 10, 10, 20, 20, 31]
    assert [one.floor for one in saved] == limits[::2]


def test_words_of_danger_are_its_floors():
    """A class's words begin with its floor in percent; the first says the floor of the next."""
    first, *others = legend("danger")
    assert first.floor == 0 and first.words == "under 2 %"
    assert [int(re.search(r"\d+", one.words)[0]) for one in others] == [
        round(100 * one.floor) for one in others
    ]


def test_best_months_are_a_ring():
    """January comes first, no month last; neighbours, December and January too, are alike."""
    *months, none = legend("best")
    assert [entry.words for entry in months] == list(MONTHS)
    assert none.words == "no workable month"
    ring = colours(months)
    near = max(apart(ring[month], ring[month - 1]) for month in range(12))
    assert near < min(apart(ring[month], ring[month - 6]) for month in range(12))


@pytest.mark.parametrize("name", ["level", "saved"])
def test_a_greyscale_print_keeps_the_order(name):
    """A higher level is darker, and so is a kit that saves more; an advisory is not none."""
    entries = legend(name)[1:] if name == "saved" else legend(name)
    steps = [before - after for before, after in pairwise(greys(entries))]
    assert min(steps) > (2 if name == "saved" else 15)


def test_levels_have_their_numbers():
    """As tiles store them: none is 0, closure 4."""
    assert [(entry.words, entry.floor) for entry in legend("level")] == [
        ("none", 0), ("advisory", 1), ("serious", 2), ("prohibitive", 3), ("closure", 4),
    ]  # fmt: skip


def test_factors_have_the_colours_of_the_season_chart():
    """Cold, heat and wet, as the style sheet has them by day."""
    day = asset("site.css").decode().split("@media")[0]
    for entry, name in zip(legend("factor"), ("cold", "heat", "wet"), strict=False):
        assert re.search(rf"--{name}: (#\w+);", day)[1] == entry.as_data["colour"]


def test_kits_beyond_the_colours_begin_anew():
    """There are ten; the eleventh kit has the first one's, and none its own."""
    many = [*load_kits().values()] * 2
    *kits, none = legends.cheapest_legend(many[:11])
    assert kits[10].colour == kits[0].colour
    assert len({entry.colour for entry in (*kits, none)}) == 11
    assert [entry.words for entry in kits] == [kit.title for kit in many[:11]]


def test_every_grade_begins_with_a_class_of_its_own():
    """90, 75 and 50 %: words and floors agree, and twenty colours differ."""
    entries = legends.share_legend()
    first = {entry.words.split(",")[0]: entry.floor for entry in reversed(entries)}
    assert first == {"sound": 0.9, "workable": 0.75, "hard": 0.5, "unfit": 0.0}
    assert len({entry.colour for entry in entries}) == 20
    assert entries[0].as_data == {"words": "unfit, 0 to 5 %", "colour": "#160c12", "floor": 0.0}


def test_the_worst_is_the_darkest():
    """A greyscale print keeps the order of grades that matters: unfit is darker than all."""
    grey = {
        entry.words: 0.299 * red + 0.587 * green + 0.114 * blue
        for entry in legends.share_legend()
        for red, green, blue in [entry.colour]
    }
    unfit = [value for words, value in grey.items() if words.startswith("unfit")]
    assert max(unfit) < min(
        value for words, value in grey.items() if not words.startswith("unfit")
    )
