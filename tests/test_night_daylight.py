"""Sleep windows and the edges of the night."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheltermap.night.daylight import SleepWindow, dawn, daylight_hours, dusk


def test_default_window_is_eight_hours():
    """22 to 6 crosses midnight."""
    assert SleepWindow().bounds == (22.0, 30.0)
    assert SleepWindow().length == 8.0


@pytest.mark.parametrize(
    ("start", "end", "bounds"),
    [
        (20, 4, (20, 28)),
        (0, 8, (24, 32)),
        (24, 8, (24, 32)),
        (1.5, 9, (25.5, 33)),
        (21, 24, (21, 24)),
    ],
)
def test_windows_on_either_side_of_midnight(start, end, bounds):
    """Hours of day become hours of one night."""
    assert SleepWindow(start, end).bounds == bounds


@pytest.mark.parametrize(
    "hours", [(6, 22), (12, 14), (22, 22), (22, 13), (-1, 6), (22, 25), ("22", 6)]
)
def test_hours_that_make_no_night_are_refused(hours):
    """Swapped, empty, impossible or daytime hours name what is expected."""
    with pytest.raises(ValueError, match=r"night|hours of day"):
        SleepWindow(*hours)


def test_missing_hours_are_refused():
    """Not a number is not an hour."""
    with pytest.raises(ValueError, match="hours of day"):
        SleepWindow(np.nan, 6)


@given(st.floats(0, 24))
def test_dusk_comes_before_dawn(daylight):
    """Whatever the day length, the night branch has a length."""
    assert 15.5 <= dusk(daylight) < dawn(daylight) <= 36


def test_polar_days_keep_their_hours():
    """The curve is held within what was fitted; the hours of light are not."""
    assert daylight_hours(80.0, 172) == 24.0
    assert daylight_hours(80.0, 355) == 0.0
    assert dusk(24.0) == dusk(17.5)
    assert dawn(0.0) == dawn(7.0)


@pytest.mark.parametrize(
    ("start", "end", "bounds"), [(15, 12, (15, 36)), (22, 23, (22, 23)), (24, 1, (24, 25))]
)
def test_the_longest_and_the_shortest_night_are_nights(start, end, bounds):
    """From three in the afternoon to the next noon; an hour."""
    assert SleepWindow(start, end).bounds == bounds


@pytest.mark.parametrize("hours", [(14.9, 6), (22, 12.1), (22, 22.9), (24.1, 6), (22, -0.1)])
def test_hours_just_beyond_a_night_are_refused(hours):
    """A little before three, a little after noon, less than an hour, no hour of a day."""
    with pytest.raises(ValueError, match=r"night|hours of day"):
        SleepWindow(*hours)


@pytest.mark.parametrize(
    ("daylight", "evening", "morning"),
    [(6.0, 15.5, 32.99), (7.0, 15.5, 32.99), (10.0, 17.0, 31.49), (17.5, 20.75, 27.74),
     (20.0, 20.75, 27.74)],
)  # fmt: skip
def test_edges_of_the_night_by_hand(daylight, evening, morning):
    """Half the day from noon, and 0.49 h after sunrise; the day held within 7 to 17.5 h."""
    assert dusk(daylight) == pytest.approx(evening)
    assert dawn(daylight) == pytest.approx(morning)
