"""Shapes on the globe: areas and lengths by closed forms, and cuts at the antimeridian."""

import numpy as np
import pytest
import shapely

from sheltermap.hazards.shapes import (
    area_km2,
    boxes,
    disc,
    length_km,
    place_extent,
    points_extent,
    region_extent,
    split_at_antimeridian,
    surroundings,
    unwrapped,
)

RADIUS = 6371.0072
"""Of the sphere that has the surface of WGS84, in km."""

OF_A_CIRCLE = 72 / (2 * np.pi) * np.sin(2 * np.pi / 72)
"""Area of a regular polygon of 72 corners over that of the circle through them."""


def cap(radius):
    """Return the area of 72 corners so far from a place on the sphere. [km2]"""
    return OF_A_CIRCLE * 2 * np.pi * RADIUS**2 * (1 - np.cos(radius / RADIUS))


def degrees(shape):
    """Return parts of a line with their longitudes and latitudes."""
    return [[tuple(point) for point in part.coords] for part in shapely.get_parts(shape)]


@pytest.mark.parametrize(
    ("latitude", "longitude", "radius"),
    [(0.0, 8.0, 500.0), (47.0, -8.0, 25.0), (-47.0, 180.0, 100.0), (60.0, -179.9, 10.0)],
)
def test_disc_has_the_area_of_its_radius(latitude, longitude, radius):
    """Of a cap of the sphere, wherever it lies; WGS84 is flatter by a three-hundredth."""
    shape = disc(latitude, longitude, radius)
    assert area_km2(shape) == pytest.approx(cap(radius), rel=0.007)
    assert shape.bounds[0] >= -180 and shape.bounds[2] <= 180


def test_disc_has_a_corner_every_five_degrees():
    """72 of them, all as far from the place, closed by the first."""
    corners = disc(47.0, 8.0, 30.0).exterior.coords[:]
    assert len(corners) == 73 and corners[0] == corners[-1]
    ways = [length_km(shapely.LineString([(8.0, 47.0), corner])) for corner in corners]
    assert ways == pytest.approx([30.0] * 73)


@pytest.mark.parametrize("place", [(89.0, 8.0, 99.0), (-89.0, -180.0, 0.1), (8.0, 180.0, 500.0)])
def test_discs_are_drawn_up_to_their_limits(place):
    """89 degrees of latitude, 180 of longitude, 500 km."""
    assert not disc(*place).is_empty


@pytest.mark.parametrize(
    "place",
    [(89.1, 8, 25), (-89.1, 8, 25), (8, 180.1, 25), (8, -180.1, 25), (8, 8, 0), (8, 8, 500.1)],
)
def test_discs_beyond_their_limits_are_refused(place):
    """The message names the three values."""
    with pytest.raises(ValueError, match=rf"up to 500 km, got {place[0]}, {place[1]}, {place[2]}"):
        disc(*place)


def test_camps_lie_within_25_km_where_nothing_else_is_said():
    """A place is a camp itself; each of several camps has a disc, together they are one area."""
    place = place_extent(47.0, 8.0)
    assert area_km2(place.area) == pytest.approx(cap(25.0), rel=0.007)
    assert [point.coords[0] for point in place.camps.geoms] == [(8.0, 47.0)]
    assert (place.kind, place.line) == ("place", None)
    two = points_extent([(0.0, 8.0), (1.0, 9.0)])
    assert area_km2(two.area) == pytest.approx(2 * cap(25.0), rel=0.007)
    assert [point.coords[0] for point in two.camps.geoms] == [(8.0, 0.0), (9.0, 1.0)]
    assert (two.kind, two.line, len(two.parts)) == ("points", None, 2)
    near = points_extent([(0.0, 8.0), (0.0, 8.0)], 10.0)
    assert area_km2(near.area) == pytest.approx(cap(10.0), rel=0.007)
    assert area_km2(place_extent(0.0, 8.0, 10.0).area) == pytest.approx(cap(10.0), rel=0.007)


def test_an_extent_has_the_route_inside_it():
    """A road that leaves a region and comes back leaves two parts of 2 and 3 degrees."""
    road = shapely.LineString([(2, 1), (2, -1), (7, -1), (7, 1), (15, 1)])
    region = region_extent(shapely.box(0, 0, 10, 3), road)
    assert (region.kind, region.camps, region.line.length) == ("region", None, 1 + 1 + 3)
    assert len(region.line.geoms) == 2
    place = place_extent(0.0, 5.0, 25.0, shapely.LineString([(0, 0), (5, 0)]))
    assert length_km(place.line) == pytest.approx(25.0, rel=1e-3)


def test_areas_are_areas_already():
    """A radius is for points and lines."""
    square = shapely.box(8, 46, 9, 47)
    assert surroundings(square, 5.0) is square
    point = surroundings(shapely.Point(8.0, 46.0), 5.0)
    assert area_km2(point) == pytest.approx(cap(5.0), rel=0.007)
    assert shapely.contains_xy(point, 8.0, 46.0)


def test_roads_reach_their_radius_to_either_side():
    """An L of two degrees at 60 north, 10 km wide each side: length x 20 and two half discs.

    At its corner the strips overlap by a square of 10 km and lack a quarter disc. The sphere has
    0.6 % less there than WGS84, whose kilometres lengths are.
    """
    road = shapely.LineString([(10, 60), (12, 60), (12, 61)])
    around = surroundings(road, 10.0)
    expected = length_km(road) * 20 + np.pi * 100 - 100 + np.pi / 4 * 100
    assert area_km2(around) == pytest.approx(0.994 * expected, rel=0.003)
    reach = 10.0 / (60 * 1.852 * np.cos(np.radians(60)))
    inside = shapely.contains_xy(around, [12 + 0.97 * reach, 12 + 1.04 * reach], [60.5, 60.5])
    assert inside.tolist() == [True, False]


def test_each_part_of_a_road_is_widened():
    """Two pieces far apart, one of them over the antimeridian."""
    parts = shapely.MultiLineString(
        [[(10, 5), (11, 5)], [(179.5, 5), (180, 5)], [(-180, 5), (-179.5, 5)]]
    )
    around = surroundings(parts, 5.0)
    expected = length_km(parts) * 10 + 2 * np.pi * 25
    assert area_km2(around) == pytest.approx(expected, rel=0.01)
    assert shapely.contains_xy(around, [10.5, 179.99, -179.99, 0], [5] * 4).tolist() == [
        True,
        True,
        True,
        False,
    ]


@pytest.mark.parametrize(
    ("bounds", "area", "held"),
    [
        ((8, 46, 10, 47), 2.0, (9, 46.5)),
        ((170, -20, -175, -10), 150.0, (-178, -15)),
        ((-180, 1, 180, 2), 360.0, (0, 1.5)),
        ((100, 1, 99, 2), 359.0, (0, 1.5)),
    ],
)
def test_boxes_go_round_where_east_is_less_than_west(bounds, area, held):
    """Width times height, in degrees."""
    shape = boxes(bounds)
    assert shape.area == pytest.approx(area)
    assert shapely.contains_xy(shape, *held)
    assert shape.bounds[0] >= -180 and shape.bounds[2] <= 180


@pytest.mark.parametrize(("south", "north"), [(46, 49), (-61, -60), (-1, 2), (80, 90)])
def test_area_between_parallels(south, north):
    """R² times the longitudes in radians times the difference of the sines of the latitudes."""
    expected = RADIUS**2 * np.radians(7) * np.diff(np.sin(np.radians([south, north])))[0]
    assert area_km2(shapely.box(3, south, 10, north)) == pytest.approx(expected, rel=1e-6)


def test_only_lines_have_a_length():
    """A degree of the equator and two of them, a point and a square between."""
    lines = [shapely.LineString([(x, 0), (x + width, 0)]) for x, width in ((3, 1), (20, 2))]
    mixed = shapely.GeometryCollection(
        [lines[0], shapely.Point(1, 1), shapely.box(4, 4, 5, 5), lines[1]]
    )
    assert length_km(mixed) == pytest.approx(3 * np.radians(1) * 6378.137)
    assert length_km(shapely.box(0, 0, 1, 1)) == 0


@pytest.mark.parametrize(
    ("west", "east", "expected"),
    [
        (170, 180, [(170, 180)]),
        (-180, -170, [(-180, -170)]),
        (175, 195, [(-180, -165), (175, 180)]),
        (-195, -175, [(-180, -175), (165, 180)]),
        (190, 200, [(-170, -160)]),
        (-200, -190, [(160, 170)]),
        (530, 560, [(-180, -160), (170, 180)]),
        (-190, 190, [(-180, 180)]),
    ],
)
def test_areas_are_cut_at_the_antimeridian(west, east, expected):
    """Whatever turns they run on; between them nothing is lost."""
    shape = split_at_antimeridian(shapely.box(west, 1, east, 4))
    found = sorted((part.bounds[0], part.bounds[2]) for part in shapely.get_parts(shape))
    np.testing.assert_allclose(found, expected)
    assert shape.area == pytest.approx(3 * sum(b - a for a, b in expected))
    assert (shape.bounds[1], shape.bounds[3]) == (1, 4)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ([(170, 0), (180, 1), (175, 2)], [[(170, 0), (180, 1), (175, 2)]]),
        ([(170, 0), (190, 4)], [[(170, 0), (180, 2)], [(-180, 2), (-170, 4)]]),
        (
            [(150, 0), (171, 1), (189, 4), (203, 3)],
            [[(150, 0), (171, 1), (180, 2.5)], [(-180, 2.5), (-171, 4), (-157, 3)]],
        ),
        ([(-175, 0), (-190, 3)], [[(-175, 0), (-180, 1)], [(180, 1), (170, 3)]]),
        ([(170, 0), (180, 1), (190, 2)], [[(170, 0), (180, 1)], [(-180, 1), (-170, 2)]]),
        ([(180, 0), (190, 1)], [[(-180, 0), (-170, 1)]]),
        ([(190, 0), (200, 1), (195, 3)], [[(-170, 0), (-160, 1), (-165, 3)]]),
        (
            [(170, 0), (190, 2), (175, 5)],
            [[(170, 0), (180, 1)], [(-180, 1), (-170, 2), (-180, 4)], [(180, 4), (175, 5)]],
        ),
        (
            [(0, 0), (720, 8)],
            [[(0, 0), (180, 2)], [(-180, 2), (180, 6)], [(-180, 6), (0, 8)]],
        ),
    ],
)
def test_lines_are_cut_at_the_antimeridian_in_their_order(line, expected):
    """Heights of the cuts by proportion; a touch is no crossing."""
    found = degrees(split_at_antimeridian(shapely.LineString(line)))
    assert len(found) == len(expected)
    for part, by_hand in zip(found, expected, strict=True):
        np.testing.assert_allclose(part, by_hand, atol=1e-9)


def test_shapes_that_cross_nothing_stay_as_they_are():
    """To the last corner, with both edges of the map in them."""
    for shape in (shapely.box(-180, 1, 180, 4), shapely.LineString([(-180, 0), (180, 1)])):
        assert split_at_antimeridian(shape) is shape


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ([10, 180, 200], [10, 180, 200]),
        ([0, 179.9], [0, 179.9]),
        ([0, 180.1], [0, -179.9]),
        ([-170, 170, -170], [-170, -190, -170]),
        ([170, -170, 20], [170, 190, 20]),
        ([170, -170, -90, 10, 120], [170, 190, 270, 370, 480]),
    ],
)
def test_jumps_over_180_degrees_are_crossings(given, expected):
    """Each point is less than half a turn from the one before."""
    assert unwrapped(given).tolist() == pytest.approx(expected)
