"""Tests of reading the route line and cutting it by regions."""

import json

import pytest
import shapely
from small_trips import climate, leg, saved, trip

from sheltermap import pipeline
from sheltermap.hazards.shapes import length_km, place_extent, points_extent, region_extent
from sheltermap.places.ground import camps, extents
from sheltermap.places.route import driven
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
