"""Tests of reading the route line and cutting it by regions."""

import json

import geopandas
import pytest
import shapely
from small_trips import climate, saved, trip

from sheltermap.hazards.shapes import length_km
from sheltermap.places.ground import camps, extents
from sheltermap.places.route import route_pieces
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.route import read_route
from sheltermap.vocabulary import InputError

# A degree of the WGS84 equator: 6378.137 km x pi / 180.
DEGREE_KM = 111.319491

REGIONS = geopandas.GeoDataFrame(
    {"id": ["west", "east"]},
    geometry=[shapely.box(1, -1, 3, 1), shapely.box(3, -1, 4, 1)],
    crs=4326,
)


def gpx(body):
    """Return a GPX file's text."""
    return (
        f'<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>'
    )


def points(tag, *positions):
    """Return GPX points of (longitude, latitude)."""
    return "".join(f'<{tag} lat="{lat}" lon="{lon}"/>' for lon, lat in positions)


def region_kilometres(pieces):
    """Return the kilometres in each region, all visits together."""
    total = {}
    for piece in pieces:
        if piece.region is not None:
            total[piece.region] = total.get(piece.region, 0.0) + piece.kilometres
    return total


def test_route_is_cut_in_the_order_it_is_driven():
    """Along the equator from 0 to 5: outside, west, east, outside; 1, 2, 1 and 1 degrees."""
    pieces = route_pieces(shapely.MultiLineString([[(0, 0), (5, 0)]]), REGIONS)
    assert [piece.region for piece in pieces] == [None, "west", "east", None]
    assert [p.kilometres for p in pieces] == pytest.approx([DEGREE_KM * n for n in (1, 2, 1, 1)])
    assert [p.start_km for p in pieces] == pytest.approx([DEGREE_KM * n for n in (0, 1, 3, 4)])


def test_second_visit_is_a_piece_of_its_own():
    """Out and back: each region twice, the turn inside the east in one piece."""
    route = shapely.MultiLineString([[(2, 0), (3.5, 0), (2, 0)]])
    pieces = route_pieces(route, REGIONS)
    assert [piece.region for piece in pieces] == ["west", "east", "west"]
    totals = region_kilometres(pieces)
    assert totals == pytest.approx({"west": 2 * DEGREE_KM, "east": DEGREE_KM})


def test_first_of_overlapping_regions_takes_the_piece():
    """From 3 to 4 lies in both; the file's order decides."""
    both = geopandas.GeoDataFrame(
        {"id": ["first", "second"]},
        geometry=[shapely.box(1, -1, 4, 1), shapely.box(3, -1, 5, 1)],
        crs=4326,
    )
    pieces = route_pieces(shapely.MultiLineString([[(1, 0), (5, 0)]]), both)
    assert region_kilometres(pieces) == pytest.approx(
        {"first": 3 * DEGREE_KM, "second": DEGREE_KM}
    )


def test_kilometres_of_all_pieces_are_those_of_the_route():
    """A zigzag across both borders loses nothing."""
    route = shapely.MultiLineString(
        [[(0, 0.9), (2.9, -0.9), (3.1, 0.9), (2.8, 0.2), (3.6, 1.5), (3.9, 0)], [(3.9, 0), (0, 0)]]
    )
    pieces = route_pieces(route, REGIONS)
    assert sum(piece.kilometres for piece in pieces) == pytest.approx(length_km(route), rel=1e-6)
    for piece in pieces:
        middle = piece.line.interpolate(0.5, normalized=True)
        inside = [name for name, shape in REGIONS.values if shape.contains(middle)]
        assert piece.region == (inside[0] if inside else None)


def test_gpx_tracks_come_before_routes(tmp_path):
    """Segments follow each other."""
    path = tmp_path / "r.gpx"
    segments = "".join(
        f"<trkseg>{points('trkpt', *line)}</trkseg>"
        for line in ([(0, 0), (1, 0)], [(1, 0), (2, 0)])
    )
    other = f"<rte>{points('rtept', (5, 5), (6, 6))}</rte>"
    path.write_text(gpx(f"{other}<trk>{segments}</trk>"))
    route = read_route(path)
    assert [list(line.coords) for line in route.geoms] == [[(0, 0), (1, 0)], [(1, 0), (2, 0)]]
    assert len(route_pieces(route, REGIONS)) == 2


def test_gpx_route_without_track(tmp_path):
    """A planned route serves as well."""
    path = tmp_path / "r.gpx"
    path.write_text(gpx(f"<rte>{points('rtept', (5, 5), (6, 6))}</rte>"))
    assert read_route(path).bounds == (5, 5, 6, 6)


def test_geojson_route_over_the_antimeridian(tmp_path):
    """From 179 to -179 is two degrees, not 358."""
    path = tmp_path / "r.geojson"
    line = {"type": "LineString", "coordinates": [[179, 0], [-179, 0]]}
    feature = {"type": "Feature", "properties": {"anything": 1}, "geometry": line}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    assert length_km(read_route(path)) == pytest.approx(2 * DEGREE_KM)


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
    """1 degree in the west; 1 between and 1 in the east; what lies outside counts nowhere."""
    ours = legs_along(tmp_path, [(27, 40), (32, 40)], "west", "east")
    assert ours == pytest.approx([PARALLEL_40, 2 * PARALLEL_40], abs=1)


def test_second_visit_takes_the_second_stretch(tmp_path):
    """Out and back: 1 degree; 1 between and 2 there and back; 1 between and half of the west."""
    line = [(28, 40), (31, 40), (28.5, 40)]
    ours = legs_along(tmp_path, line, "west", "east", "west")
    expected = [PARALLEL_40, 3 * PARALLEL_40, 1.5 * PARALLEL_40]
    assert ours == pytest.approx(expected, abs=1.5)


def test_legs_without_a_stretch_each_share_the_region(tmp_path):
    """Two legs in a region that the route crosses once: half of it each."""
    ours = legs_along(tmp_path, [(27, 40), (32, 40)], "west", "west", "east")
    assert ours[:2] == pytest.approx([PARALLEL_40 / 2] * 2, abs=1)
