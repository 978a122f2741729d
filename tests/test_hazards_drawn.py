"""Drawn shapes: what a geometry may be, at its borders, and what is said where it isn't."""

import numpy as np
import pytest
import shapely

from sheltermap.hazards.drawn import (
    LINES,
    POLYGONS,
    _where_crossed,
    collection_shapes,
    line_shape,
)
from sheltermap.hazards.shapes import length_km

ALL = (*POLYGONS, *LINES, "Point")
WGS_84 = "Export the file again in WGS 84 (EPSG:4326), longitude first."


def drawn(*geometries, allowed=ALL, **members):
    """Return the shapes and problems of a collection."""
    features = [{"type": "Feature", "geometry": geometry} for geometry in geometries]
    return collection_shapes({"features": features, **members}, "a.geojson", allowed)


def shape_of(kind, coordinates, **members):
    """Return the shape of one geometry that has no problem."""
    (shape,), problems = drawn({"type": kind, "coordinates": coordinates}, **members)
    assert problems == []
    return shape


def problem_of(kind, coordinates, allowed=ALL, **members):
    """Return what is wrong with one geometry."""
    geometry = {"type": kind, "coordinates": coordinates}
    shapes, (problem,) = drawn(geometry, allowed=allowed, **members)
    assert shapes == []
    return problem


def triangle(longitude, latitude, size=1.0):
    """Return a ring that is not closed."""
    return [
        [longitude, latitude],
        [longitude + size, latitude],
        [longitude + size, latitude + size],
    ]


@pytest.mark.parametrize(
    ("longitude", "latitude", "east"),
    [(8.0, 89.0, 8.0), (8.0, -89.0, 8.0), (180.5, 3.0, -179.5), (-180.5, 3.0, 179.5)],
)
def test_points_lie_between_180_degrees_and_off_the_poles(longitude, latitude, east):
    """RFC 7946 counts longitudes from -180 on; 89 degrees are the border for a disc."""
    point = shape_of("Point", [longitude, latitude])
    assert (point.x, point.y) == (east, latitude)


@pytest.mark.parametrize("latitude", [89.25, -89.25])
def test_points_at_the_poles_are_refused(latitude):
    """A disc round them has no longitudes."""
    problem = problem_of("Point", [8, latitude])
    assert problem.expected == "a latitude from -89 to 89"
    assert (problem.got, problem.mend) == (f"{latitude}", "Draw a polygon instead.")


@pytest.mark.parametrize(
    ("ring", "area"),
    [
        ([[8, 89], [9, 89], [9, 90]], 0.5),
        ([[8, -89], [9, -89], [9, -90]], 0.5),
        ([[358, 1], [360, 1], [360, 2]], 1.0),
        ([[-358, 1], [-360, 1], [-360, 2]], 1.0),
        ([[8, 1, 500], [9, 1, 500], [9, 2, 500]], 0.5),
    ],
    ids=["north pole", "south pole", "360 east", "360 west", "with heights"],
)
def test_what_longitudes_and_latitudes_may_be(ring, area):
    """Up to 90 and to 360 degrees, a third number left aside; half of base times height."""
    assert shape_of("Polygon", [ring]).area == pytest.approx(area)


@pytest.mark.parametrize(
    ("ring", "got", "mend"),
    [
        # No latitude is beyond 90, so a first number of 90 may be one and of 90.5 may not.
        ([[46, 47], [90, 131], [47, 132]], "[90, 131], latitude first", "Swap"),
        ([[46, 47], [90.5, 131], [47, 132]], "[90.5, 131]", "Export"),
        ([[46, 47], [-90, 131], [47, 360]], "[-90, 131], latitude first", "Swap"),
        ([[46, 47], [47, 361], [47, 132]], "[47, 361]", "Export"),
        ([[8, 46], [9, 46], [9, 90.5]], "[9, 90.5], latitude first", "Swap"),
        ([[8, 46], [361, 46], [9, 47]], "[361, 46]", "Export"),
        ([[8, 46], [9, 46], [-361, 95]], "[-361, 95]", "Export"),
    ],
)
def test_positions_off_the_globe_are_told_from_swapped_ones(ring, got, mend):
    """The first wrong position is shown; swapping is advised where it would mend all of them."""
    problem = problem_of("Polygon", [ring])
    assert problem.expected == "[longitude, latitude], latitude from -90 to 90"
    assert problem.got == got and problem.mend.startswith(mend)


@pytest.mark.parametrize(
    ("kind", "coordinates", "expected", "got"),
    [
        ("LineString", [[8, 46]], "at least 2 points", "1"),
        ("LineString", [], "a list of [longitude, latitude]", "[]"),
        ("LineString", [8, 46], "a list of [longitude, latitude]", "[8, 46]"),
        ("LineString", [[8], [9]], "a list of [longitude, latitude]", "[[8], [9]]"),
        ("LineString", [[[8, 46], [9, 46]]], "a list of [longitude, latitude]", "[[[8, 46"),
        ("Polygon", [[[8, 46], [9, 46]]], "a ring of at least 3 corners", "3 points"),
        ("Polygon", [[[8, 46], [9, 46], [8, 46]]], "a ring of at least 3 corners", "3 points"),
        ("Polygon", {"a": 1}, "a list of rings", "{'a': 1}"),
        ("MultiPolygon", [], "coordinates", "[]"),
        ("MultiLineString", {}, "coordinates", "{}"),
    ],
)
def test_too_little_is_no_shape(kind, coordinates, expected, got):
    """A line has two points, a ring three corners, a collection of shapes one."""
    problem = problem_of(kind, coordinates)
    assert (problem.file, problem.key) == ("a.geojson", "features[1].geometry")
    assert problem.expected == expected and problem.got.startswith(got)


def test_two_points_make_a_line_and_three_a_ring():
    """The least there can be; a ring may be left open."""
    line, none = line_shape([[8, 46], [9, 46]], "a.gpx", "track")
    assert none is None and line.coords[:] == [(8, 46), (9, 46)]
    assert shape_of("Polygon", [triangle(8, 46)]).area == pytest.approx(0.5)


@pytest.mark.parametrize("count", [1_000_000, 1_000_001])
def test_a_million_points_are_taken(count):
    """More are refused, as one short message with its place."""
    line, problem = line_shape(np.linspace([8, 46], [9, 46], count), "a.gpx", "track 1")
    if count == 1_000_000:
        assert shapely.get_num_coordinates(line) == count
    else:
        assert (problem.file, problem.key) == ("a.gpx", "track 1")
        assert (problem.expected, problem.got) == ("at most 1000000 points", "1000001")


def test_what_makes_no_sense_here_is_refused_with_what_does():
    """Regions are areas, routes are lines; what came is named by its type."""
    line = {"type": "LineString", "coordinates": [[8, 46], [9, 46]]}
    _, (area, nothing) = drawn(line, None, allowed=POLYGONS)
    assert (area.expected, area.got) == ("a Polygon or MultiPolygon", "'LineString'")
    assert area.mend == nothing.mend == "Draw the area it touches."
    assert (nothing.key, nothing.got) == ("features[2].geometry", "None")
    _, (way,) = drawn({"type": "Point", "coordinates": [8, 46]}, allowed=LINES)
    assert (way.expected, way.mend) == ("a LineString or MultiLineString", "Draw a line.")


def test_files_that_are_no_collection_have_no_shapes():
    """The model of the file tells, so that nothing is said twice."""
    for raw in ([], 7, None, {}, {"features": {}}, {"features": None}):
        assert collection_shapes(raw, "a.geojson") == ([], [])
    shapes, (problem,) = collection_shapes({"features": ["x"]}, "a.geojson")
    assert shapes == [] and problem.key == "features[1].geometry"


def test_features_keep_their_order_and_number():
    """One shape for each feature without a problem."""
    east, west = ({"type": "Point", "coordinates": [longitude, 46]} for longitude in (20.0, 8.0))
    shapes, (problem,) = drawn(east, {"type": "Point", "coordinates": [8]}, west)
    assert [shape.x for shape in shapes] == [20.0, 8.0]
    assert problem.key == "features[2].geometry"


def test_parts_of_areas_are_joined_and_of_lines_kept():
    """Two triangles that overlap by half of one; a road driven twice is twice as long."""
    both = [[triangle(8, 46)], [[[8, 46], [9, 46], [9, 46.5]]]]
    assert shape_of("MultiPolygon", both).area == pytest.approx(0.5)
    apart = [[triangle(8, 46)], [triangle(20, 46, 2.0)]]
    assert shape_of("MultiPolygon", apart).area == pytest.approx(0.5 + 2.0)
    road, back = [[8.0, 46.0], [9.0, 46.0]], [[9.0, 46.0], [8.0, 46.0]]
    twice, once = (shape_of("MultiLineString", lines) for lines in ([road, back], [road]))
    assert length_km(twice) == pytest.approx(2 * length_km(once))
    assert [part.coords[0][0] for part in twice.geoms] == [8.0, 9.0]


def test_holes_are_taken_out_wherever_they_lie_in_a_wide_ring():
    """350 degrees wide, from -170 to 180, with a hole of 1 square degree near either end."""
    north = [[x, 20.0] for x in (180, 90, 0, -90, -170)]
    outer = [[x, 10.0] for x in (-170, -90, 0, 90, 180)] + north
    holes = [[[x, 14], [x + 1, 14], [x + 1, 15], [x, 15]] for x in (-168, 177)]
    assert shape_of("Polygon", [outer, *holes]).area == pytest.approx(350 * 10 - 2)


def test_a_ring_round_the_globe_is_told_from_one_over_the_antimeridian():
    """Corners 120 degrees apart close round a pole; 20 degrees at 180 are an area."""
    problem = problem_of("Polygon", [[[x, 70] for x in (-120, 0, 120)]])
    assert "round a pole" in problem.got
    ring = [[170, 10], [-170, 10], [-170, 15], [170, 15]]
    assert shape_of("Polygon", [ring]).area == pytest.approx(20 * 5)


def test_a_crossing_is_told_with_its_place():
    """The sides of a bow tie cross in the middle of its box."""
    problem = problem_of("Polygon", [[[8, 46], [10, 47], [10, 46], [8, 47]]])
    assert problem.got == "self-intersection near longitude 9.0000, latitude 46.5000"
    assert _where_crossed("Hole lies outside shell[8.5 -46]").endswith("8.5000, latitude -46.0000")
    assert _where_crossed("Nested shells") == "nested shells"


@pytest.mark.parametrize(
    "name", ["urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:EPSG::4326", "EPSG:4326"]
)
def test_degrees_by_any_name_are_taken_as_they_are(name):
    """Longitude first, as RFC 7946 has it, though EPSG lists latitude first."""
    crs = {"type": "name", "properties": {"name": name}}
    assert shape_of("Point", [8.0, 46.0], crs=crs).coords[:] == [(8.0, 46.0)]


def test_metres_are_turned_into_degrees():
    """Web Mercator: a longitude of 9 degrees is 9 / 180 x pi x 6,378,137 m; the equator is 0."""
    crs = {"properties": {"name": "EPSG:3857"}}
    point = shape_of("Point", [9 / 180 * np.pi * 6_378_137, 0.0], crs=crs)
    assert point.x == pytest.approx(9.0) and point.y == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("crs", "expected"),
    [
        ({"properties": {"name": "x" * 200}}, "a known coordinate system"),
        ({"properties": {"name": "x" * 201}}, "a named coordinate system"),
        ({"properties": {"name": 4326}}, "a named coordinate system"),
        ({"properties": ["EPSG:4326"]}, "a named coordinate system"),
        ("EPSG:4326", "a named coordinate system"),
    ],
)
def test_coordinate_systems_nobody_knows_are_refused(crs, expected):
    """Once for the file, whatever its features are."""
    problem = problem_of("Point", ["x"], crs=crs)
    assert (problem.key, problem.expected, problem.mend) == ("crs", expected, WGS_84)
    assert len(problem.got) <= 62
