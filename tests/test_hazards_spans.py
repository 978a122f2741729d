"""Tests of spans of the year."""

import numpy as np
import pytest

from sheltermap.hazards.spans import day_word, prolonged, run_words, span_days


@pytest.mark.parametrize(
    ("span", "first", "last", "count"),
    [
        ("January", 0, 30, 31),
        ("december", 334, 364, 31),
        ("02-29..03-01", 58, 59, 2),  # A leap day reads as the 28th.
        ("June..August", 151, 242, 92),
        ("05-15", 134, 134, 1),
        ("all year", 0, 364, 365),
    ],
)
def test_span_holds_both_ends(span, first, last, count):
    """Counted by hand from the lengths of months."""
    days = np.flatnonzero(span_days(span))
    assert (days[0], days[-1], days.size) == (first, last, count)


def test_span_crosses_new_year():
    """16 November to 14 January: 15 + 31 + 14 days."""
    days = span_days("11-16..01-14")
    assert days.sum() == 60 and days[0] and days[364] and not days[14] and not days[318]


@pytest.mark.parametrize(
    "span", ["", "Junne", "13-01", "02-30", "6-1", "June-August", "06-01..", "1"]
)
def test_unreadable_span_is_refused(span):
    """The message shows the forms."""
    with pytest.raises(ValueError, match=r"a month \('June'\)"):
        span_days(span)


def test_margin_prolongs_the_end_only_and_round_new_year():
    """A road that opens late stays shut ten days longer, not ten days earlier."""
    longer = prolonged(span_days("12-20..12-27"), 10)
    assert np.flatnonzero(longer).tolist() == [*range(6), *range(353, 365)]


def test_runs_read_as_people_write_them():
    """Whole months, parts of months, single days and New Year."""
    assert run_words(span_days("June")) == "June"
    assert run_words(span_days("11-01..02-28")) == "November to February"
    assert run_words(span_days("12-17..01-31")) == "17 December to 31 January"
    assert run_words(span_days("03-05..03-09")) == "5 to 9 March"
    assert run_words(span_days("03-05")) == "5 March"
    assert run_words(np.zeros(365, bool)) == ""
    assert run_words(span_days("June") | span_days("August")) == "June and August"
    three = span_days("January") | span_days("03-05") | span_days("June..August")
    assert run_words(three) == "January, 5 March and June to August"
    assert day_word(59) == "1 March"
