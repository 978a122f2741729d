"""Odds of a plan: signs and months of errors, and the bad year of a leg, by hand arithmetic."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from flat_place import flat_place

from sheltermap.places.errors import ShareErrors
from sheltermap.planner.problem import Stay
from sheltermap.report.odds import bad_year_of_leg, night_errors

MONTHS = np.arange(1.0, 13.0)


def errors(scale=1.0, warmth=(0.0, 0.0), rain=(0.0, 0.0)):
    """Return errors that grow by month, and bad years either side, of warmth and of rain."""
    return ShareErrors(
        grade=np.zeros(365),
        climate=scale * np.array([MONTHS / 100, MONTHS / 200, -MONTHS / 400]),
        person=scale * np.array([MONTHS / 50, -MONTHS / 80]),
        years=scale * np.array([-MONTHS / 40, MONTHS / 60]),
        bad_years=np.array([[np.full(12, side) for side in one] for one in (warmth, rain)]),
    )


def place(latitude, longitude, **kits):
    """Return a place with errors of shares in each kit."""
    found = flat_place(f"{latitude}", latitude=latitude, longitude=longitude)
    return replace(found, seasons={kit: SimpleNamespace(errors=one) for kit, one in kits.items()})


def test_errors_of_shares_are_those_of_rough_nights_turned_round():
    """A share that rises by 0.02 in February is 0.02 rough nights fewer on 1 to 28 February."""
    places = (
        place(10.0, 20.0, tent=errors(), roll=errors(3.0)),
        place(12.0, 20.0, tent=errors(2.0), roll=errors(5.0)),
    )
    found = night_errors(places, ("roll", "tent"))
    assert found.climate.shape == (3, 2, 2, 365)
    assert found.person.shape == found.years.shape == (2, 2, 2, 365)
    february, march = slice(31, 59), 59
    np.testing.assert_allclose(found.climate[0, 1, 0, february], -0.02)
    assert found.climate[0, 1, 0, march] == pytest.approx(-0.03)
    assert found.climate[2, 0, 1, 31] == pytest.approx(5 * 0.02 / 4)
    assert found.person[1, 1, 1, 364] == pytest.approx(2 * 12 / 80)
    assert found.years[0, 0, 0, 0] == pytest.approx(3 / 40)


def test_distances_are_between_all_stops():
    """Two degrees of latitude are 222.4 km (of 111.2 each); nothing to itself."""
    found = night_errors((place(10.0, 20.0, a=errors()), place(12.0, 20.0, a=errors())), ("a",))
    np.testing.assert_allclose(found.kilometres, [[0, 222.4], [222.4, 0]], atol=0.1)
    east = night_errors((place(0.0, 20.0, a=errors()), place(0.0, 23.0, a=errors())), ("a",))
    assert east.kilometres[0, 1] == pytest.approx(333.6, abs=0.1)


def stay(nights, rough):
    """Return a stay from 29 April on."""
    arrive = date(2027, 4, 29)
    return Stay(0, arrive, arrive + timedelta(days=nights), nights, rough)


@pytest.mark.parametrize(
    ("warmth", "rain", "expected"),
    [
        # The worse side of each over 10 nights: 0.3 and 0.4 nights, 0.5 in quadrature.
        ((-0.03, 0.05), (0.02, -0.04), 2.5),
        ((-0.03, -0.01), (0.0, 0.0), 2.3),
        # Years that are good on either side take nothing away.
        ((0.05, 0.02), (0.01, 0.03), 2.0),
        # No more than all nights are rough.
        ((-0.9, 0.0), (-0.9, 0.0), 10.0),
    ],
)
def test_a_bad_year_of_a_leg_adds_its_worse_sides(warmth, rain, expected):
    """Of warmth and of rain, each the worse of its two sides, combined in quadrature."""
    found = bad_year_of_leg(errors(warmth=warmth, rain=rain), stay(10, 2.0))
    assert found == pytest.approx(expected)


def test_each_night_has_the_bad_year_of_its_month():
    """29 and 30 April count April's 0.4 nights each, 1 to 3 May those of May: 0.1."""
    bad = np.zeros((2, 2, 12))
    bad[0, 1, 3], bad[0, 1, 4] = -0.4, -0.1
    told = replace(errors(), bad_years=bad)
    assert bad_year_of_leg(told, stay(5, 1.0)) == pytest.approx(1 + 2 * 0.4 + 3 * 0.1)


def test_a_bad_year_of_unknown_nights_is_unknown():
    """Missing in, missing out."""
    assert np.isnan(bad_year_of_leg(errors(warmth=(-0.1, 0.1)), stay(5, float("nan"))))
    assert np.isnan(bad_year_of_leg(errors(warmth=(np.nan, 0.1)), stay(5, 1.0)))
