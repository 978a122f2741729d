"""Tests of spans of the year."""

from datetime import date

import numpy as np
import pytest

from sheltermap.spans import (
    about_days,
    day_word,
    days_between,
    days_in_words,
    months_in_words,
    runs,
    span_days,
)


@pytest.mark.parametrize(
    ("span", "first", "last", "count"),
    [
        ("January", 0, 30, 31),
        ("december", 334, 364, 31),
        ("02-29..03-01", 58, 59, 2),  # A leap day reads as the 28th.
        ("June..August", 151, 242, 92),
        ("05-15", 134, 134, 1),
        ("all year", 0, 364, 365),
        ("June to August", 151, 242, 92),
        ("from june until aug", 151, 242, 92),
        ("Jun-Aug", 151, 242, 92),
        ("June \u2013 August", 151, 242, 92),
        ("06..08", 151, 242, 92),
        ("06", 151, 180, 30),
        ("6", 151, 180, 30),
        ("in June", 151, 180, 30),
        ("15 May", 134, 134, 1),
        ("May 15th", 134, 134, 1),
        ("15. May", 134, 134, 1),
        ("2027-05-15", 134, 134, 1),
        ("15 May to 30 September", 134, 272, 139),
        ("15 May-30 Sept", 134, 272, 139),
        ("2027-06-01..2027-08-31", 151, 242, 92),
        ("Year-round", 0, 364, 365),
    ],
)
def test_span_holds_both_ends(span, first, last, count):
    """Counted by hand from the lengths of months."""
    days = np.flatnonzero(span_days(span))
    assert (days[0], days[-1], days.size) == (first, last, count)


def test_dates_far_apart_and_the_last_day_there_is():
    """One line of a hazard file took nine seconds, and the last day there is ended the count."""
    assert days_between(date(1, 1, 1), date(9999, 12, 31)).all()
    assert days_between(date(9999, 12, 31), date(9999, 12, 31)).sum() == 1
    # With a margin past the last day there is: 31 December and two in January.
    assert np.flatnonzero(days_between(date(9999, 12, 31), date(9999, 12, 31), 2)).tolist() == [
        0,
        1,
        364,
    ]


def test_a_year_less_a_day_is_no_whole_year():
    """By hand: 1 March 2027 to 28 February 2028 is, to 27 February lacks a day."""
    assert days_between(date(2027, 3, 1), date(2028, 2, 28)).all()
    assert days_between(date(2027, 3, 1), date(2028, 2, 27)).sum() == 364


def test_span_crosses_new_year():
    """16 November to 14 January: 15 + 31 + 14 days."""
    days = span_days("11-16..01-14")
    assert days.sum() == 60 and days[0] and days[364] and not days[14] and not days[318]


@pytest.mark.parametrize(
    "span",
    ["", "Junne", "13-01", "6-1", "Ju", "06-01..", "13", "June to July to May", "06-08-09"],
)
def test_unreadable_span_is_refused(span):
    """The message shows the forms."""
    with pytest.raises(ValueError, match=r"a month \('June'\), a span \('June to August'"):
        span_days(span)


@pytest.mark.parametrize(("span", "most"), [("02-30", 29), ("31 June", 30), ("May 32", 31)])
def test_a_day_that_no_month_has_is_told_so(span, most):
    """The form is right; the number is not."""
    with pytest.raises(ValueError, match=f"a day from 1 to {most} in that month"):
        span_days(span)


def test_margin_prolongs_the_end_only_and_round_new_year():
    """A road that opens late stays shut ten days longer, not ten days earlier."""
    longer = span_days("12-20..12-27", 10)
    assert np.flatnonzero(longer).tolist() == [*range(6), *range(353, 365)]


def test_runs_read_as_people_write_them():
    """Whole months, parts of months, single days and New Year."""
    assert days_in_words(span_days("June")) == "in June"
    assert days_in_words(span_days("11-01..02-28")) == "from November to February"
    assert days_in_words(span_days("12-17..01-31")) == "from 17 December to 31 January"
    assert days_in_words(span_days("03-05..03-09")) == "from 5 to 9 March"
    assert days_in_words(span_days("03-05")) == "on 5 March"
    assert days_in_words(np.zeros(365, bool)) == ""
    assert days_in_words(span_days("June") | span_days("August")) == "in June and August"
    three = span_days("January") | span_days("03-05") | span_days("June..August")
    assert days_in_words(three) == "in January, on 5 March and from June to August"
    assert day_word(59) == "1 March"


@pytest.mark.parametrize(
    ("months", "words"),
    [
        ([], ""),
        ([6], "in June"),
        ([6, 8], "in June and August"),
        ([11, 12, 1, 2], "from November to February"),
        ([1, 3, 6, 7, 8], "in January, in March and from June to August"),
        ([12, 1, 6], "in June and from December to January"),
        (range(1, 13), "all year"),
    ],
)
def test_months_read_as_people_write_them(months, words):
    """Single months, runs, and New Year, each with the word that belongs before it."""
    assert months_in_words(np.isin(np.arange(1, 13), list(months))) == words


def test_runs_keep_the_year_whole_and_the_order_of_their_first_days():
    """By hand: 0 to 3, 10, and 364 with 0: a run over New Year stands last."""
    assert runs(np.ones(365, bool)) == [(0, 364)]
    days = np.zeros(365, bool)
    days[[0, 1, 2, 3, 10, 363, 364]] = True
    assert runs(days) == [(10, 10), (363, 3)]
    days[0] = False
    assert runs(days) == [(1, 3), (10, 10), (363, 364)]


@pytest.mark.parametrize(
    ("span", "words"),
    [
        ("06-01..06-10", "in early June"),
        ("06-11..06-20", "in mid-June"),
        ("06-10..06-11", "from early June to mid-June"),
        ("06-20..06-21", "from mid-June to late June"),
        ("07-21..07-31", "in late July"),  # The 31st is no fourth third.
        ("06-02..06-30", "from early June to late June"),
        ("06-01..06-30", "in June"),
    ],
)
def test_days_are_told_to_a_third_of_a_month(span, words):
    """Ten days each, the last of ten or eleven."""
    assert about_days(span_days(span)) == words
