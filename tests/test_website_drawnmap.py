"""The drawn map: whole discs, months beside them, texts that touch nothing, a shape that fits."""

from __future__ import annotations

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
