"""A kit's months from its days: means, the worst grade, the reason of most days."""

import numpy as np
import pytest
from test_places_weeks import season, values

from sheltermap.places.months import kit_months, month_days
from sheltermap.vocabulary import MISSING_GRADE, Grade

FEBRUARY, DECEMBER = slice(31, 59), slice(334, 365)


def test_months_hold_the_year():
    """By the calendar of a common year, without a gap."""
    assert (month_days(1), month_days(11)) == (FEBRUARY, DECEMBER)
    days = np.concatenate([np.arange(365)[month_days(month)] for month in range(12)])
    assert days.tolist() == list(range(365))


def test_shares_are_means_and_the_grade_the_worst_days():
    """Seven of the 28 days of February at 0.6 and 0.2 of danger, one of them unfit and close."""
    share, danger = np.ones(365), np.zeros(365)
    share[31:38], danger[31:38] = 0.6, 0.2
    year = season(
        sound_share=share,
        dangerous=danger,
        grade=values(0, np.int8, d32=1, d33=3, d34=2),
        close=values(False, bool, d59=True),
    )
    january, february, march, *_ = kit_months(year)
    assert (february.sound_share, february.dangerous) == pytest.approx((0.9, 0.05))
    assert (february.grade, february.close) == (Grade.UNFIT, True)
    for month in (january, march):
        assert (month.sound_share, month.grade, month.close) == (1.0, Grade.SOUND, False)


def test_a_day_without_a_grade_leaves_its_month_without():
    """31 December missing, the day before unfit: nobody knows."""
    december = kit_months(season(grade=values(0, np.int8, d364=3, d365=-1)))[11]
    assert december.grade == MISSING_GRADE
    first = kit_months(season(grade=values(0, np.int8, d1=-1)))
    assert [month.grade for month in first[:2]] == [MISSING_GRADE, Grade.SOUND]


def test_the_reason_is_that_of_most_days():
    """Of January 16 days against 15, whichever code is larger."""
    for most, other in ((1, 4), (4, 1)):
        codes = np.full(365, -1, np.int8)
        codes[:31] = [most] * 16 + [other] * 15
        assert kit_months(season(limiting_factor=codes))[0].limiting_factor == most
