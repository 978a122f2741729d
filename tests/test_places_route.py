"""Tests of reading the route line and cutting it by regions."""

import json

import numpy as np
import pytest
import shapely
from small_trips import climate, leg, saved, trip

from sheltermap import pipeline
from sheltermap.hazards.shapes import length_km, place_extent, points_extent, region_extent
from sheltermap.places.ground import camps, extents
from sheltermap.places.route import Line, _in_order, driven
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.route import read_route
from sheltermap.vocabulary import InputError

# A degree of the WGS84 equator: 6378.137 km x pi / 180.
DEGREE_KM = 111.319491


def gpx(body):
    """Return a GPX file's text."""
    return (
        f'<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>'
    )


def points(tag, *positions):
    """Return GPX points of (longitude, latitude)."""
    return "".join(f'<{tag} lat="{lat}" lon="{lon}"/>' for lon, lat in positions)


def along(route, *where):
    """Return the way to each leg and its kilometres; None for a leg off the line."""
    return [
        None if share is None else (share.approach_km, share.kilometres)
        for share in driven(shapely.MultiLineString([route]), where)
    ]


WEST, EAST = (region_extent(shapely.box(*box)) for box in ((1, -1, 3, 1), (3, -1, 4, 1)))
EQUATOR = [(0, 0), (5, 0)]


def degrees(*pairs):
    """Return ways and kilometres given in degrees of the equator, good to a step of 250 m."""
    return [pytest.approx([DEGREE_KM * n for n in pair], abs=0.5) for pair in pairs]


def test_route_is_cut_where_each_region_ends():
    """Along the equator from 0 to 5: west from 1 to 3, east to 4; then a degree to the end."""
    assert along(EQUATOR, WEST, EAST) == degrees((1, 3), (0, 2))


def test_route_is_cut_at_the_nearest_point_of_each_place():
    """Places at 1 and 3 degrees, beside the line; the last takes what is left."""
    places = place_extent(0.1, 1), place_extent(-0.2, 3)
    assert along(EQUATOR, *places) == degrees((1, 1), (2, 4))


def test_points_take_all_that_lies_between_them():
    """Camps at 2, 4 and 3 degrees between places at 1 and 4.5."""
    camps_there = points_extent([(0, 2), (0, 4), (0, 3)])
    cut = along(EQUATOR, place_extent(0, 1), camps_there, place_extent(0, 4.5))
    assert cut == degrees((1, 1), (1, 3), (0.5, 1))


def test_places_between_regions_take_nothing_from_them():
    """A place at 3.5, behind the west: half a degree, and the rest of the line is the last's."""
    assert along(EQUATOR, WEST, place_extent(0, 3.5)) == degrees((1, 3), (0.5, 2))


def test_a_line_drawn_the_other_way_is_read_backwards():
    """From east to west the first leg is 5 - 4.5 degrees from the start."""
    cut = along(EQUATOR, place_extent(0, 4.5), place_extent(0, 1))
    assert cut == degrees((0.5, 0.5), (3.5, 4.5))


def test_second_visit_is_cut_by_itself():
    """Out and back from 2 to 3.5: a degree; half a degree there and half back; one degree."""
    cut = along([(2, 0), (3.5, 0), (2, 0)], WEST, EAST, WEST)
    assert cut == degrees((0, 1), (0, 1), (0, 1))


def test_a_leg_off_the_line_has_no_kilometres():
    """It lies 111 km away; its neighbours' kilometres still sum to the line's."""
    cut = along(EQUATOR, place_extent(0, 1), place_extent(1, 2), place_extent(0, 4))
    assert cut == [degrees((1, 1))[0], None, degrees((3, 4))[0]]


def test_a_leg_met_in_another_order_has_no_kilometres():
    """The line goes from 0 to 5; who goes to 1, 4 and back to 2 left it."""
    cut = along(EQUATOR, *(place_extent(0, longitude) for longitude in (1, 4, 2)))
    assert cut.count(None) == 1


def test_kilometres_of_all_legs_are_those_of_the_route():
    """A zigzag across both borders, in two parts, loses nothing."""
    zigzag = [(0, 0.9), (2.9, -0.9), (3.1, 0.9), (2.8, 0.2), (3.6, 1.5), (3.9, 0)]
    route = shapely.MultiLineString([zigzag, [(3.9, 0), (0, 0)]])
    shares = driven(route, [WEST, EAST, WEST])
    assert sum(share.kilometres for share in shares) == pytest.approx(length_km(route), rel=1e-6)


# A hundred degrees of the equator in the 8,000 steps there may be are 80 to a degree: whole
# degrees lie between two steps, and n + 1/160 in the middle of one, so that cuts are exact.
FAR = [(0, 0), (100, 0)]
HALF = 1 / 160


def in_steps(*pairs):
    """Return ways and kilometres given in degrees of the equator, good to a metre."""
    return [pytest.approx([DEGREE_KM * n for n in pair], abs=1e-3) for pair in pairs]


def band(west, east):
    """Return a region across the equator."""
    return region_extent(shapely.box(west, -1, east, 1))


def at(longitude, latitude=0.0):
    """Return a place in the middle of the step that begins at a degree."""
    return place_extent(latitude, longitude + HALF)


def test_cuts_fall_on_the_step():
    """A region takes all of its steps and no other, a place its step to the middle."""
    assert along(FAR, band(10, 30), at(40), band(50, 55)) == in_steps(
        (10, 30), (10 + HALF, 10 + HALF), (10 - HALF, 60 - HALF)
    )


def test_each_visit_of_a_region_has_its_own_part_of_the_way():
    """Out to 50 and back: into the east at 40, out of it at 60, in the west from 70 to 90."""
    cut = along([(0, 0), (50, 0), (0, 0)], band(10, 30), band(40, 45), band(10, 30))
    assert cut == in_steps((10, 30), (10, 30), (10, 40))


def test_points_take_the_line_from_the_first_to_the_last_of_them_on_it():
    """Camps at 20, 35 and 30; another, 110 km beside 38, is not on the line."""
    camps_there = points_extent([(0, n + HALF) for n in (20, 35, 30)] + [(1, 38)])
    cut = along(FAR, at(10), camps_there, at(45))
    assert cut == in_steps((10 + HALF,) * 2, (10, 25), (10, 65 - HALF))


def test_points_end_where_the_next_leg_lies():
    """A camp at 30.3 is reached at 30, where the next leg's place is."""
    camps_there = points_extent([(0, 20 + HALF), (0, 30.3)])
    assert along(FAR, camps_there, at(30)) == in_steps((20 + HALF, 30 + HALF), (0, 70 - HALF))


def test_legs_that_follow_each_other_share_their_region_evenly():
    """Three in 10 to 40, 10 degrees each, and a fourth elsewhere."""
    west = [band(10, 40)] * 3
    cut = along(FAR, *west, band(60, 70))
    assert cut == in_steps((10, 20), (0, 10), (0, 10), (20, 60))
    assert along(FAR, *west[:2], band(60, 70))[:2] == in_steps((10, 25), (0, 15))


def test_one_place_alone_is_reached_as_the_line_is_drawn():
    """Both directions fit it as well; the whole line is its."""
    assert along(FAR, at(10)) == in_steps((10 + HALF, 100))


@pytest.mark.parametrize(("beside", "met"), [(0.44, True), (0.46, False)])
def test_a_place_more_than_50_km_beside_the_line_is_passed_by(beside, met):
    """A degree of latitude is 111.2 km of a sphere: 48.9 km and 51.1 km."""
    (share,) = along(FAR, at(10, latitude=beside))
    assert (share is not None) is met


def test_the_order_of_legs_is_kept_at_the_least_cost():
    """By hand: both at step 1; the first not after the second; the last of equal steps."""
    assert _in_order(np.array([[1.0, 0, 2], [2, 0, 1]])) == (0.0, [1, 1])
    assert _in_order(np.array([[5.0, 1, 0], [9, 0, 9]])) == (1.0, [1, 1])
    assert _in_order(np.array([[0.0, 0, 0, 1]])) == (0.0, [2])
    assert _in_order(np.empty((0, 3))) == (0.0, [])


def test_steps_of_a_line_are_even_and_leave_gaps_out():
    """Two degrees in two parts: four steps of half a degree, none in the gap from 1 to 2."""
    route = shapely.MultiLineString([[(0, 0), (1, 0)], [(2, 0), (3, 0)]])
    line = Line.of(route, step_km=60.0)
    assert line.longitude.tolist() == pytest.approx([0.25, 0.75, 2.25, 2.75])
    assert line.step_km == pytest.approx(DEGREE_KM / 2)
    assert line.kilometres == pytest.approx(2 * DEGREE_KM)
    assert line.reversed().longitude.tolist() == line.longitude.tolist()[::-1]
    # 222.6 km in steps of 15 km at most are 15; no more than may be; a line of 0.5 m is one.
    assert Line.of(route, step_km=15.0).longitude.size == 15
    assert Line.of(route, step_km=15.0, most=4).longitude.tolist() == line.longitude.tolist()
    assert Line.of(shapely.MultiLineString([[(0, 0), (5e-6, 0)]])).longitude.size == 1
    # 1.05 km are four steps of 250 m and a part of another.
    short = shapely.MultiLineString([[(0, 0), (1.05 / DEGREE_KM, 0)]])
    assert Line.of(short).longitude.size == 5


def test_gpx_tracks_come_before_routes(tmp_path):
    """Segments follow each other."""
    path = tmp_path / "r.gpx"
    segments = "".join(
        f"<trkseg>{points('trkpt', *line)}</trkseg>"
        for line in ([(0, 0), (1, 0)], [(1, 0), (2, 0)])
    )
    other = f"<rte>{points('rtept', (5, 5), (6, 6))}</rte>"
    path.write_text(gpx(f"{other}<trk>{segments}</trk>"))
    route = read_route(path).line
    assert [list(line.coords) for line in route.geoms] == [[(0, 0), (1, 0)], [(1, 0), (2, 0)]]


def test_gpx_route_without_track(tmp_path):
    """A planned route serves as well."""
    path = tmp_path / "r.gpx"
    path.write_text(gpx(f"<rte>{points('rtept', (5, 5), (6, 6))}</rte>"))
    assert read_route(path).line.bounds == (5, 5, 6, 6)


def test_geojson_route_over_the_antimeridian(tmp_path):
    """From 179 to -179 is two degrees, not 358."""
    path = tmp_path / "r.geojson"
    line = {"type": "LineString", "coordinates": [[179, 0], [-179, 0]]}
    feature = {"type": "Feature", "properties": {"anything": 1}, "geometry": line}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    assert length_km(read_route(path).line) == pytest.approx(2 * DEGREE_KM)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        (
            "r.gpx",
            gpx(f"<trk><trkseg>{points('trkpt', (0, 0), (1, 95))}</trkseg></trk>"),
            "latitude",
        ),
        (
            "r.gpx",
            gpx(f"<trk><trkseg>{points('trkpt', (0, 0))}</trkseg></trk>"),
            "a line, got none",
        ),
        ("r.gpx", "<gpx", "valid GPX"),
        ("r.gpx", "<!DOCTYPE x [<!ENTITY a 'b'>]>" + gpx("&a;"), "entities"),
        ("r.gpx", "", "valid GPX"),
        ("r.kml", "<kml/>", "a .gpx or .geojson file"),
        ("r.geojson", '{"type": "FeatureCollection", "features": []}', "a line, got none"),
        (
            "r.geojson",
            '{"features": [{"geometry": {"type": "Polygon", "coordinates": []}}]}',
            "a line, got none",
        ),
        (
            "r.geojson",
            '{"features": [{"geometry": {"type": "Arc", "coordinates": []}}]}',
            "a LineString or MultiLineString",
        ),
    ],
)
def test_bad_route_is_refused(tmp_path, name, text, words):
    """The message says what was expected."""
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        read_route(path)


def legs_along(folder, line, *names):
    """Return the kilometres of legs in the regions of a route on a hand-made climate."""
    course = shapely.LineString(line).__geo_interface__
    feature = {"type": "Feature", "properties": {}, "geometry": course}
    route = {"type": "FeatureCollection", "features": [feature]}
    (folder / "route.geojson").write_text(json.dumps(route), encoding="utf-8")
    boxes = {"west": (28.0, 39.5, 29.0, 40.5), "east": (30.0, 39.5, 31.0, 40.5)}
    regions = [
        {
            "type": "Feature",
            "properties": {"id": name, "name": name},
            "geometry": shapely.box(*box).__geo_interface__,
        }
        for name, box in boxes.items()
    ]
    collection = {"type": "FeatureCollection", "features": regions}
    (folder / "regions.geojson").write_text(json.dumps(collection), encoding="utf-8")
    legs = [
        f'\n[[legs]]\nname = "{number} {name}"\nregion = "{name}"\nnights = 9\n'
        for number, name in enumerate(names)
    ]
    files = '\n[files]\nregions = "regions.geojson"\nroute = "route.geojson"\n'
    inputs = read_inputs(saved(folder, trip(*legs, files)))
    return [leg.kilometres for leg in camps(inputs, extents(inputs), climate()).legs]


PARALLEL_40 = 85.394  # km in a degree of longitude at 40 north on WGS84


def test_legs_take_the_way_from_the_region_before(tmp_path):
    """1 degree to the west and 1 in it; 1 between, 1 in the east and 1 from it to the end."""
    ours = legs_along(tmp_path, [(27, 40), (32, 40)], "west", "east")
    assert ours == pytest.approx([2 * PARALLEL_40, 3 * PARALLEL_40], abs=1)


def test_second_visit_takes_the_second_stretch(tmp_path):
    """Out and back: 1 degree; 1 between and 2 there and back; 1 between and half of the west."""
    line = [(28, 40), (31, 40), (28.5, 40)]
    ours = legs_along(tmp_path, line, "west", "east", "west")
    expected = [PARALLEL_40, 3 * PARALLEL_40, 1.5 * PARALLEL_40]
    assert ours == pytest.approx(expected, abs=1.5)


def test_legs_without_a_stretch_each_share_the_region(tmp_path):
    """Two legs in a region that the route crosses once: half of it each, the way to it before."""
    ours = legs_along(tmp_path, [(27, 40), (32, 40)], "west", "west", "east")
    assert ours[:2] == pytest.approx([1.5 * PARALLEL_40, PARALLEL_40 / 2], abs=1)


def test_a_leg_that_the_line_passes_by_is_told(tmp_path):
    """Kilometres that nobody knows are asked for by the leg's name."""
    line = {"type": "LineString", "coordinates": [[28, 40], [30, 40]]}
    route = {"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": line}]}
    (tmp_path / "r.geojson").write_text(json.dumps(route), encoding="utf-8")
    text = trip(leg("On", (40, 29)), leg("Off", (41, 29)), '[files]\nroute = "r.geojson"\n')
    _, doubts = pipeline.read(saved(tmp_path, text))
    (told,) = (one for one in doubts if "route line" in one)
    assert told.startswith("Off: ") and "state its kilometres" in told
