"""Where a line is cut: lengths of a leg, borders, and what makes another climate; by hand."""

from itertools import pairwise

import numpy as np
import pytest
import xarray as xr

from sheltermap.places import stretches as cut
from sheltermap.places.route import Line
from sheltermap.places.stretches import Stretch


def pieces(climate, step_km, worth=100.0):
    """Return how many steps each piece of a climate along a line has."""
    found = cut._alike(np.asarray(climate, float).reshape(-1, 1), step_km, worth)
    assert found[0][0] == 0 and found[-1][1] == len(climate) - 1
    assert all(end + 1 == start for (_, end), (start, _) in pairwise(found))
    return [last - first + 1 for first, last in found]


@pytest.mark.parametrize(("steps", "legs"), [(100, 1), (101, 2), (200, 2), (201, 3)])
def test_no_leg_is_longer_than_a_thousand_kilometres(steps, legs):
    """Steps of 10 km of one climate: 1,000 km are one leg, 1,010 two, 2,010 three."""
    found = pieces(np.zeros(steps), 10.0)
    assert len(found) == legs and max(found) <= 100


@pytest.mark.parametrize(("steps", "found"), [(11, [11]), (12, [6, 6]), (3, [3])])
def test_no_leg_is_shorter_than_60_kilometres(steps, found):
    """Steps of 10 km, a climate that changes a lot in the middle: two legs need 120 km."""
    climate = np.where(np.arange(steps) < steps / 2, 0.0, 50.0)
    assert pieces(climate, 10.0) == found


def test_steps_longer_than_a_leg_may_be_are_legs_of_two_at_most():
    """1,200 km a step: more than one leg may have, and still every step is in one."""
    assert max(pieces(np.zeros(5), 1200.0)) == 2


def test_a_cut_is_worth_its_kilometres():
    """Eight steps of 50 km, halves one difference apart, a quarter of it off their mean in
    square: a cut saves 400 x 0.25 = 100 km."""
    climate = np.repeat([0.0, 1.0], 4)
    assert pieces(climate, 50.0, worth=99.0) == [4, 4]
    assert pieces(climate, 50.0, worth=101.0) == [8]


def lands(monkeypatch, countries, step_km):
    """Return the stretches of countries along a line, as (country, first, last)."""
    monkeypatch.setattr(cut, "countries_at", lambda *_: countries)
    size = len(countries)
    found = cut._lands(Line(np.zeros(size), np.zeros(size), step_km))
    return [(one.country, one.first, one.last) for one in found]


@pytest.mark.parametrize(
    ("countries", "found"),
    [
        # 40 km in a country are a stretch, 30 km are the border's windings.
        ("AAAAABBBBAAAAA", [("A", 0, 4), ("B", 5, 8), ("A", 9, 13)]),
        ("AAAAABBBAAAAAA", [("A", 0, 13)]),
        # Water at the start belongs to the land behind it, elsewhere to the land before.
        ("     AAAA", [("A", 0, 8)]),
        ("AAAA     BBBB     ", [("A", 0, 8), ("B", 9, 17)]),
        # A short start is kept: no country lies before it.
        ("AABBBBB", [("A", 0, 1), ("B", 2, 6)]),
        ("    ", [("", 0, 3)]),
    ],
)
def test_countries_are_stretches_from_40_kilometres_on(monkeypatch, countries, found):
    """Steps of 10 km, a letter each."""
    assert lands(monkeypatch, [one.strip() for one in countries], 10.0) == found


@pytest.fixture
def two_climates(monkeypatch):
    """Put two climates 4 K and 120 mm apart at 29 and 31 east, and return the boxes asked for."""
    shape, boxes = (12, 1, 2), []
    dims = ("month", "latitude", "longitude")
    lows = [8.0, 12.0]
    values = {"air_temperature": lows, "air_temperature_min": lows, "rainfall": [30.0, 150.0]}

    def world(box):
        boxes.append(box)
        return xr.Dataset(
            {name: (dims, np.broadcast_to(each, shape)) for name, each in values.items()},
            {"month": range(1, 13), "latitude": [40.0], "longitude": [29.0, 31.0]},
        )

    monkeypatch.setattr(cut, "world_climatology", world)
    flat = xr.Dataset({"camp_elevation": ("cell", [0.0])})
    monkeypatch.setattr(cut, "heights_at", lambda where, _: flat.isel(cell=where.size * [0]))
    monkeypatch.setattr(cut, "at_elevation", lambda months, height: months)
    return boxes


def test_climates_are_told_apart_by_4_kelvins_or_60_millimetres(two_climates):
    """Over the months' mean square: 4 K are one difference that is noticed, 120 mm are two."""
    line = Line(np.array([28.9, 29.2, 30.8, 31.1]), np.full(4, 40.1), 15.0)
    climate = cut._climate(line)
    assert climate.shape == (4, 24)
    assert (climate[0] == climate[1]).all() and (climate[2] == climate[3]).all()
    between = (climate[2] - climate[0]) ** 2
    assert between[:12].sum() == pytest.approx(1.0)
    assert between[12:].sum() == pytest.approx(4.0)
    # The box holds cells 1.5 degrees beyond the line.
    assert two_climates == [pytest.approx((27.4, 38.6, 32.6, 41.6))]


def test_climate_of_a_line_at_the_edge_of_the_map_stays_on_it(two_climates):
    """No box reaches beyond 180 degrees or a pole."""
    cut._climate(Line(np.array([-179.0, 179.0]), np.array([-89.0, 89.0]), 15.0))
    assert two_climates == [(-180.0, -90.0, 180.0, 90.0)]


def laid(monkeypatch, climate, countries):
    """Return a line of 50 km steps through a climate and countries."""
    climate = np.asarray(climate, float).reshape(-1, 1)
    monkeypatch.setattr(cut, "_climate", lambda line: climate)
    monkeypatch.setattr(cut, "countries_at", lambda *_: list(countries))
    return Line(np.zeros(len(climate)), np.zeros(len(climate)), 50.0)


def test_a_line_is_cut_at_borders_and_where_the_climate_changes(monkeypatch):
    """Country B has two climates three differences apart, 400 km each."""
    line = laid(monkeypatch, [0] * 6 + [0] * 8 + [3] * 8, "A" * 6 + "B" * 16)
    expected = [Stretch("A", 0, 5), Stretch("B", 6, 13), Stretch("B", 14, 21)]
    assert cut.stretches(line, 10) == expected
    assert cut.stretches(line, 3) == expected


def test_too_many_stretches_are_joined_by_climate_first_and_then_left_out(monkeypatch):
    """A cut saves 800 x 2.25 = 1,800 km of climate: at 3,200 km a cut it is not worth it."""
    line = laid(monkeypatch, [0] * 6 + [0] * 8 + [3] * 8, "A" * 6 + "B" * 16)
    assert cut.stretches(line, 2) == [Stretch("A", 0, 5), Stretch("B", 6, 21)]
    assert cut.stretches(line, 1) == [Stretch("A", 0, 5)]
