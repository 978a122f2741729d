"""Hours too hot to work: on a day of one temperature the sun alone decides, by its arc."""

import numpy as np
import pytest

from sheltermap.dayside import wbgt_in_shade, wbgt_in_sun
from sheltermap.places.hot_hours import hot_hours

TWO = (82 - 32) / 1.8
"""Wet-bulb globe temperature of category 2: 82 degrees Fahrenheit (US Army card). [degC]"""


def hours(temperature, vapour, light):
    """Return when a day of one temperature is too hot. [h]"""
    found = hot_hours(*(np.array([each]) for each in (temperature, temperature, vapour, light)))
    return tuple(float(each[0]) for each in found)


@pytest.mark.parametrize(("vapour", "light"), [(2.2, 12.0), (2.6, 12.0), (2.4, 9.5), (2.5, 15.0)])
def test_the_sun_is_too_hot_while_it_stands_high_enough(vapour, light):
    """What it adds follows the cosine of its way from noon: reached within light / pi acos(r)."""
    shade, sun = (float(heat(30.0, vapour)) for heat in (wbgt_in_shade, wbgt_in_sun))
    assert shade < TWO < sun
    away = light / np.pi * np.arccos((TWO - shade) / (sun - shade))
    assert 1 < away < light / 2
    # From the first quarter of an hour to the last.
    expected = np.ceil(4 * (12 - away)) / 4, np.floor(4 * (12 + away)) / 4
    assert hours(30.0, vapour, light) == expected


def test_days_that_are_never_or_always_too_hot():
    """A cool day; a night as hot as its day, with a sun and without; an unknown one."""
    assert np.isnan(hours(18.0, 1.0, 12.0)).all()
    assert wbgt_in_shade(34.0, 4.2) > TWO
    assert hours(34.0, 4.2, 12.0) == hours(34.0, 4.2, 0.0) == (0.0, 23.75)
    assert np.isnan(hours(30.0, np.nan, 12.0)).all()


def test_a_short_day_has_no_sun_at_midnight():
    """Of six hours of light: its arc would come round again twelve hours later."""
    start, end = hours(30.0, 2.4, 6.0)
    assert 9.0 < start < end < 15.0


def test_the_afternoon_is_hotter_than_the_morning():
    """A night's air is coldest at dawn, so the heat of 22 to 34 degrees leans to the evening."""
    found = hot_hours(*(np.array([each]) for each in (22.0, 34.0, 2.2, 12.0)))
    start, end = (float(each[0]) for each in found)
    assert 12.0 - start < end - 12.0 - 1.0
