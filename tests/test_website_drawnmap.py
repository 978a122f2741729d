"""The drawn map: whole discs, months beside them, texts that touch nothing, a shape that fits."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from sample_report import BASE_MAP, infeasible_report, sample_report

from sheltermap.website import drawnmap
from sheltermap.website.drawnmap import DrawnPlace
from sheltermap.website.words import months_visited


def spots(*where: tuple[float, float], when: str = "") -> list[DrawnPlace]:
    """Return places that are points: latitude, longitude."""
    return [
        DrawnPlace(number, f"Place {number}", latitude, longitude, point, when)
        for number, (latitude, longitude) in enumerate(where, 1)
        for point in [{"type": "Point", "coordinates": [longitude, latitude]}]
    ]


def town_base(latitude: float, longitude: float) -> dict:
    """Return a base map of one town."""
    town = {
        "type": "Feature",
        "properties": {"name": "Springfield"},
        "geometry": {"type": "Point", "coordinates": [longitude, latitude]},
    }
    return {"places": {"type": "FeatureCollection", "features": [town]}}


@pytest.mark.parametrize(("longitude", "edge"), [(179.9, 3), (-179.9, 1)])
def test_a_drawing_ends_at_the_date_line(longitude, edge):
    """East of 180 degrees the base map has no land to draw."""
    bounds = drawnmap.drawn_bounds(spots((-17.0, longitude), (-18.0, longitude)))
    assert bounds[edge] == math.copysign(180.0, longitude)


@pytest.mark.parametrize("apart", [4.0, 40.0, 100.0])
def test_numbered_stops_are_whole(apart):
    """A stop in the corner of the journey is not cut by the edge of the drawing."""
    places = spots((40.0, 30.0), (44.0, 30.0 + apart), (42.0, 30.0 + apart / 2))
    drawn = drawnmap.drawn_map(places, (), BASE_MAP((39.0, 29.0, 45.0, 31.0 + apart)))
    for stop in drawn["stops"]:
        assert 8.5 <= stop["x"] <= 344 - 8.5
        assert 8.5 <= stop["y"] <= drawn["height"] - 8.5


@pytest.mark.parametrize(
    ("end", "shape"), [((-20.0, 31.0), 1.3), ((40.5, 90.0), 0.45), ((35.0, 35.0), None)]
)
def test_a_journey_along_a_line_is_drawn_with_its_surroundings(end, shape):
    """From north to south no taller than 1.3 of its width, from east to west at least 0.45."""
    drawn = drawnmap.drawn_map(spots((40.0, 30.0), end), (), {})
    ratio = drawn["height"] / drawn["width"]
    assert ratio == pytest.approx(shape, abs=0.01) if shape else 0.45 < ratio < 1.3


def test_town_names_keep_clear_of_stops_and_months():
    """A name runs to the right of its dot: a stop or its month there hides the town.

    The drawing is 11.2 degrees wide, 344 units: 0.9 degrees are 28 units, and the name takes
    4 + 11 * 5.6 = 66. A month of three letters ends 12 + 21 units from the stop, 1.07 degrees.
    """
    places = spots((40.0, 30.0), (42.0, 35.0), (44.0, 40.0), when="Jul")

    def towns(offset):
        drawn = drawnmap.drawn_map(places, (), town_base(42.0, 35.0 + offset))
        return [town["name"] for town in drawn["towns"]]

    assert towns(-0.9) == []
    assert towns(0.6) == []
    assert towns(1.3) == ["Springfield"]


def mercator(latitude: float) -> float:
    """Return the height of a latitude on a map whose degrees of longitude are 1 wide."""
    return math.degrees(math.log(math.tan(math.radians(45 + latitude / 2))))


SCALE = 344 / 11.2  # units to a degree of longitude, from 29.4 to 40.6
HEIGHT = SCALE * (mercator(44.6) - mercator(39.4))


def at(x: float, y: float) -> tuple[float, float]:
    """Return where a point of the drawing lies: latitude, longitude. [degrees]"""
    height = math.radians(mercator(44.6) - y / SCALE)
    return math.degrees(2 * math.atan(math.exp(height))) - 90, 29.4 + x / SCALE


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        ((5.6, 60.0), (4.4, 60.0)),
        ((275.8, 150.0), (277.0, 150.0)),
        ((100.0, 8.1), (100.0, 6.9)),
        ((150.0, HEIGHT - 8.1), (150.0, HEIGHT - 6.9)),
    ],
)
def test_towns_stay_2_units_from_the_edges(inside, outside):
    """By hand: 3 units left of the dot, half a line of 11 above and below, 65.6 to its right.

    Places come in hundredths of a degree, a third of a unit: so half a unit to each side.
    """
    places = spots((40.0, 30.0), (42.0, 35.0), (44.0, 40.0))
    assert drawnmap.drawn_map(places, (), town_base(*at(*inside)))["towns"]
    assert not drawnmap.drawn_map(places, (), town_base(*at(*outside)))["towns"]


def test_towns_are_drawn_where_they_lie():
    """The dot on its place, and what is no point is no town."""
    places = spots((40.0, 30.0), (42.0, 35.0), (44.0, 40.0))
    base = town_base(*at(100.0, 60.0))
    (town,) = drawnmap.drawn_map(places, (), base)["towns"]
    assert (town["x"], town["y"]) == pytest.approx((100.0, 60.0), abs=0.25)
    line = {"type": "LineString", "coordinates": [[33.0, 42.0], [33.5, 42.5]]}
    base["places"]["features"].insert(
        0, {"type": "Feature", "properties": {"name": "a line"}, "geometry": line}
    )
    assert [one["name"] for one in drawnmap.drawn_map(places, (), base)["towns"]] == [
        "Springfield"
    ]


def test_town_names_keep_clear_of_each_other():
    """The first of two lines that overlap stands; 11 units lower there is room again."""
    places = spots((40.0, 30.0), (42.0, 35.0), (44.0, 40.0))

    def towns(y):
        base = town_base(*at(60.0, 60.0))
        base["places"]["features"] += town_base(*at(60.0, y))["places"]["features"]
        return len(drawnmap.drawn_map(places, (), base)["towns"])

    assert (towns(60.0 + 10.3), towns(60.0 + 11.7)) == (1, 2)
    assert (towns(60.0 - 10.3), towns(60.0 - 11.7)) == (1, 2)


def test_a_month_stands_beside_its_stop_and_covers_none():
    """Where another stop lies to the right of it, a month moves to the left."""
    places = spots((40.0, 34.0), (40.0, 34.5), (40.0, 40.0), (40.0, 30.0), when="Jul")
    drawn = drawnmap.drawn_map(places, (), {})
    first, second, *_ = drawn["stops"]
    assert first["label"]["x"] < first["x"] and first["label"]["anchor"] == "end"
    assert second["label"]["x"] > second["x"] and second["label"]["anchor"] == "start"
    assert drawn["dated"]


def test_months_are_those_of_the_nights():
    """A leg left on 1 July has its last night in June; two stays are told one after the other."""
    report = sample_report()
    legs = report.best.legs
    here = legs[0].place
    stays = (
        replace(legs[0], arrive=date(2027, 6, 3), leave=date(2027, 7, 1)),
        *legs[1:],
        replace(legs[0], arrive=date(2027, 9, 28), leave=date(2027, 10, 2)),
    )
    visited = replace(report, best=replace(report.best, legs=stays))
    assert months_visited(visited, here) == "Jun, Sep–Oct"
    assert months_visited(infeasible_report(), here) == ""
