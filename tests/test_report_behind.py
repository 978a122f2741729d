"""What is left of a journey once a part of it is done, from a log of hand-made dates.

Evenings before a camp are DECISIONS 22's: `arrived` is the day of reaching it.
"""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from flat_place import flat_place
from sample_report import sample_report, sample_trip

from sheltermap.places.behind import DoneStay
from sheltermap.planner.problem import PlanningProblem, Stop, Travel
from sheltermap.report.behind import by_stop, departed, evenings_logged, likewise, under_way
from sheltermap.trip.log import DoneRow

FINISH = date(2027, 9, 1)


def stop(name, way=0, *, known=True):
    """Return a stop of nine nights, so many of them on the way to its camp."""
    return Stop(name, name, 9, 9, 9, evenings_on_the_way=way, approach_known=known)


def asked(*stops, **details):
    """Return the question of a journey that may leave in May."""
    dates = {"earliest": date(2027, 5, 1), "latest": date(2027, 5, 31), "finish_by": FINISH}
    return PlanningProblem(
        stops, ("kit",), np.full((1, len(stops), 365), 0.1), stay_weight=0.05, **dates | details
    )


def trip(names, *rows):
    """Return what is read of a trip: the names of its legs, and its log as days of May."""
    done = tuple(
        DoneRow(
            leg=name,
            arrived=date(2027, 5, arrived),
            left=None if left is None else date(2027, 5, left),
        )
        for name, arrived, left in rows
    )
    return SimpleNamespace(legs=[SimpleNamespace(name=name) for name in names], done=done)


STOPS = (stop("A", 2), stop("B", 3), stop("C", 4, known=False))


@pytest.mark.parametrize(
    ("rows", "evenings"),
    [
        ([], ()),
        ([("A", 4, None)], (2,)),
        ([("A", 4, 6), ("B", 12, None)], (2, 3)),  # six evenings were there, three were needed
        ([("A", 4, 6), ("B", 8, 11)], (2, 2)),
        ([("A", 4, 6), ("B", 6, 11)], (2, 0)),
        ([("A", 4, 6), ("B", 9, 11), ("C", 20, None)], (2, 3, 0)),  # nobody knows C's way
    ],
)
def test_evenings_on_the_way_are_those_there_were(rows, evenings):
    """As many as the way takes, and no more than since the leg before was left."""
    assert evenings_logged(asked(*STOPS), trip("ABC", *rows)) == evenings


def test_the_other_way_round_no_way_to_a_camp_is_known():
    """Who began at the last leg comes to A and B from behind; C's way was never known."""
    log = trip("ABC", ("C", 4, 6), ("B", 12, None))
    assert evenings_logged(asked(*STOPS, direction="either"), log) == (0, 0)
    forward = trip("ABC", ("A", 4, 6), ("B", 12, None))
    assert evenings_logged(asked(*STOPS, direction="either"), forward) == (2, 3)


def test_before_departure_the_question_is_the_same():
    """Nothing is done: nothing changes."""
    whole = asked(*STOPS)
    assert under_way(whole, trip("ABC"), (), ()) is whole


def test_who_is_in_camp_reached_it_that_day():
    """Reached on 12 May after three evenings on the way: set out on the 9th."""
    left = under_way(asked(*STOPS), trip("ABC", ("A", 4, 6), ("B", 12, None)), (), (2, 3))
    assert (left.earliest, left.latest) == (date(2027, 5, 9), date(2027, 5, 9))
    assert (left.on_the_way, left.under_way, left.reached) == (3, True, date(2027, 5, 12))
    assert left.first_stop is None and left.finish_by == FINISH
    there = under_way(asked(*STOPS), trip("ABC", ("A", 4, 6), ("C", 9, None)), (), (2, 0))
    assert (there.earliest, there.on_the_way) == (date(2027, 5, 9), 0)


def test_who_has_left_sets_out_that_day():
    """The last leg was left on 11 May: the way to the next begins then, of unsaid evenings."""
    log = trip("ABC", ("A", 4, 6), ("B", 8, 11))
    left = under_way(asked(*STOPS), log, (), (2, 2))
    assert (left.earliest, left.latest) == (date(2027, 5, 11), date(2027, 5, 11))
    assert left.on_the_way is None and left.under_way


def test_in_a_free_order_the_camp_one_is_in_comes_first():
    """Which of the stops comes next is known only while one is at it."""
    free = asked(*STOPS, order="free", travel=Travel(np.zeros((3, 3)), 300.0))
    there = under_way(free, trip("ABC", ("C", 4, 6), ("B", 7, None)), (), (0, 1))
    assert there.first_stop == 1
    gone = under_way(free, trip("ABC", ("C", 4, 6), ("B", 7, 9)), (), (0, 1))
    assert gone.first_stop is None


@pytest.mark.parametrize(
    ("names", "direction", "first", "kept"),
    [
        ("ABC", "either", "A", "forward"),
        ("ABC", "either", "C", "reverse"),
        ("AB", "either", "B", "reverse"),
        ("AB", "either", "A", "forward"),
        ("A", "either", "A", "either"),  # one leg has no other way round
        ("ABC", "forward", "A", "forward"),
        ("ABC", "reverse", "C", "reverse"),
    ],
)
def test_the_way_round_is_the_one_that_was_begun(names, direction, first, kept):
    """Which leg came first tells it, where both ways were allowed."""
    question = asked(*(stop(name) for name in names), direction=direction)
    assert under_way(question, trip(names, (first, 4, None)), (), (0,)).direction == kept


def done_stay(shares, dangerous, level):
    """Return a leg that was left on 8 May, in a year of which a season gives hazards by day."""
    by_day = np.zeros(365, np.uint8)
    by_day[120:128] = level  # 1 May is the 121st day: position 120.
    place = flat_place("A")
    place.seasons["kit"] = SimpleNamespace(hazard_level=by_day)
    told = {"sound_share": np.array(shares), "dangerous": np.array(dangerous)}
    dates = date(2027, 5, 1), date(2027, 5, 1 + len(shares))
    return DoneStay(1, *dates, 2, SimpleNamespace(id="kit"), place, told)


def test_a_done_leg_keeps_its_nights_as_they_were():
    """By hand: 0.1 + 0.35 + 0.6 rough; 0.02 + 0.03 dangerous; serious and closed are two nights.

    A night of which nothing is known adds nothing.
    """
    stay = done_stay([0.9, 0.65, 0.4, np.nan], [0.02, 0.03, np.nan, 0.0], [1, 2, 4, 0, 3, 3, 3, 3])
    log = trip("ABC", ("B", 3, 5))
    (found,) = under_way(asked(*STOPS), log, (stay,), (2,)).finished
    assert (found.rough_nights, found.dangerous_nights) == (1.05, 0.05)
    assert (found.serious_nights, found.nights, found.kit) == (2, 4, "kit")
    assert (found.stop, found.on_the_way) == (1, 2)
    assert (found.arrive, found.leave) == (date(2027, 5, 1), date(2027, 5, 5))
    assert found.reached == date(2027, 5, 3)
    assert by_stop([stay]) == {1: stay}


def test_nights_are_summed_in_millionths():
    """As of a plan ahead: 0.3333333 and 0.3333333 are 0.333333 each."""
    stay = done_stay([1 - 0.3333333, 1 - 0.3333333], [0.0, 0.0], [0] * 8)
    (found,) = under_way(asked(*STOPS), trip("ABC", ("A", 1, 3)), (stay,), (0,)).finished
    assert found.rough_nights == 0.666666


def test_another_question_is_asked_from_the_same_place():
    """Of other nights, and no other dates, way, log or first stop."""
    free = asked(*STOPS, order="free", travel=Travel(np.zeros((3, 3)), 300.0))
    mine = under_way(free, trip("ABC", ("C", 4, 6), ("B", 9, None)), (), (0, 3))
    other = likewise(asked(*STOPS, direction="either", order="free"), mine)
    for name in ("earliest", "latest", "direction", "finished", "under_way", "on_the_way"):
        assert getattr(other, name) == getattr(mine, name), name
    assert other.first_stop == 1 and other.travel is None


def test_a_trip_on_the_road_left_on_the_day_it_left():
    """The window closes to the first day logged; before departure it stays as written."""
    before = sample_trip()
    assert departed(before) is before
    rows = tuple(
        DoneRow(leg=leg.name, arrived=date(2027, 4, day), left=date(2027, 4, day + 4))
        for leg, day in zip(before.legs[:2], (7, 12), strict=True)
    )
    window = departed(sample_report().trip.model_copy(update={"done": rows})).departure
    assert (window.earliest, window.latest) == (date(2027, 4, 7), date(2027, 4, 7))
    assert window.finish_by == before.departure.finish_by
