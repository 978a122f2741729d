"""Files as mapping tools write them: made by script from the published formats, all read.

GPX 1.1 and 1.0 schemas (topografix.com), RFC 7946 (GeoJSON) and its predecessor of 2008,
simplestyle-spec 1.1.0 (keys ``title``, ``description``, ``marker-*``, ``stroke*``, ``fill*``);
the conventions beside them, such as ``fid``, ``@id`` and null properties, are common practice.
"""

import json

import pytest
from click.testing import CliRunner
from small_trips import leg, saved, trip

from sheltermap.cli import main
from sheltermap.hazards.layers import read_regions
from sheltermap.trip.inputs import read_inputs
from sheltermap.trip.route import read_route

LINE = [[28.0, 40.0], [29.0, 40.0], [30.0, 40.5]]
BOX = [[28.5, 39.5], [29.5, 39.5], [29.5, 40.5], [28.5, 40.5], [28.5, 39.5]]
STYLE = {"stroke": "#555555", "stroke-width": 2, "stroke-opacity": 1, "description": "a road"}
FILL = STYLE | {"fill": "#aabbcc", "fill-opacity": 0.5}


def feature(kind, coordinates, properties=None, **members):
    """Return a GeoJSON feature."""
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry, **members}


def features(*those, **members):
    """Return a GeoJSON file."""
    return json.dumps({"type": "FeatureCollection", **members, "features": list(those)})


def gpx(body, version="1.1", more=""):
    """Return a GPX file."""
    space = f"http://www.topografix.com/GPX/{version.replace('.', '/')}"
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<gpx version="{version}" creator="a tool" xmlns="{space}" {more}>{body}</gpx>'
    )


def gpx_points(tag, inner="<ele>{height}</ele><time>2026-05-01T08:00:00Z</time>"):
    """Return the points of the line, rising by 100 m each."""
    return "".join(
        f'<{tag} lat="{lat}" lon="{lon}">{inner.format(height=100 * n, n=n)}</{tag}>'
        for n, (lon, lat) in enumerate(LINE, 1)
    )


POINT_OF_INTEREST = feature(
    "Point", [29.0, 40.1], {"name": "Spring", "marker-symbol": "water", "marker-color": "#00f"}
)

ROUTES = {
    "recorded.gpx": gpx(
        "<metadata><name>Day</name><time>2026-05-01T08:00:00Z</time></metadata>"
        '<wpt lat="40.1" lon="29.0"><ele>250</ele><name>Spring</name><sym>Water</sym></wpt>'
        "<trk><name>Day</name><trkseg>"
        + gpx_points(
            "trkpt",
            "<ele>{height}</ele><extensions><x:TrackPointExtension><x:hr>90</x:hr>"
            "</x:TrackPointExtension></extensions>",
        )
        + "</trkseg></trk>",
        more='xmlns:x="http://www.example.org/TrackPointExtension/v1"',
    ),
    "old.gpx": gpx(
        f"<name>Day</name><trk><trkseg>{gpx_points('trkpt')}</trkseg></trk>", version="1.0"
    ),
    "planned.gpx": gpx(
        "<rte><name>Plan</name>"
        + gpx_points("rtept", "<ele>{height}</ele><name>P{n}</name>")
        + "</rte>"
    ),
    "styled.geojson": features(
        feature("LineString", LINE, STYLE | {"title": "Road"}),
        POINT_OF_INTEREST,
        feature("Polygon", [BOX], FILL),
    ),
    "single.geojson": json.dumps(feature("LineString", LINE, None)),
    "bare.json": json.dumps({"type": "MultiLineString", "coordinates": [LINE[:2], LINE[1:]]}),
    "with_heights.geojson": features(
        feature("LineString", [[*xy, 100.0 * n, 0] for n, xy in enumerate(LINE, 1)], {"fid": 1}),
        name="track_points",
        crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}},
    ),
}

REGIONS = {
    "styled.geojson": features(
        feature("Polygon", [BOX], FILL | {"name": "Hills"}),
        feature("LineString", LINE, STYLE),
        POINT_OF_INTEREST,
    ),
    "table.geojson": features(
        feature("MultiPolygon", [[BOX]], {"fid": 3, "id": 3, "NAME": "Hills", "area_ha": 9.5}),
        name="hills",
        crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}},
        xy_coordinate_resolution=1e-9,
    ),
    "mapped.geojson": features(
        feature(
            "Polygon",
            [BOX],
            {"@id": "relation/1", "name": "Hills", "name:en": "Hills", "boundary": "none"},
            id="relation/1",
        ),
        generator="a tool",
        copyright="their contributors",
        timestamp="2026-05-01T08:00:00Z",
    ),
}


def test_there_are_ten():
    """As many conventions as the purpose asks for."""
    assert len(ROUTES) + len(REGIONS) == 10


@pytest.mark.parametrize("name", ROUTES)
def test_routes_are_read(tmp_path, name):
    """The line's points are those of the file, whatever stands beside them."""
    (tmp_path / name).write_text(ROUTES[name], encoding="utf-8")
    inputs = read_inputs(saved(tmp_path, trip(leg("A"), f'[files]\nroute = "{name}"\n')))
    met = [list(point) for part in inputs.route.geoms for point in part.coords]
    assert [point for n, point in enumerate(met) if point != met[n - 1]] == LINE


@pytest.mark.parametrize("name", REGIONS)
def test_regions_are_read(tmp_path, name):
    """A trip may call the region by the name it has in the file."""
    (tmp_path / name).write_text(REGIONS[name], encoding="utf-8")
    text = trip(leg("A"), f'[files]\nregions = "{name}"\n')
    text = text.replace("place = [40.0, 29.0]", 'region = "Hills"')
    inputs = read_inputs(saved(tmp_path, text))
    region = inputs.region_of(inputs.trip.legs[0])
    assert (region["id"], region["name"]) == ("hills", "Hills")
    assert region.geometry.bounds == (28.5, 39.5, 29.5, 40.5)


def test_heights_and_named_points_are_kept(tmp_path):
    """Waypoints become camps and heights theirs: 100, 200 and 300 m along the line."""
    for name in ("recorded.gpx", "planned.gpx", "with_heights.geojson"):
        (tmp_path / name).write_text(ROUTES[name], encoding="utf-8")
        assert read_route(tmp_path / name).heights[:, 2].tolist() == [100, 200, 300]
    (spring,) = read_route(tmp_path / "recorded.gpx").waypoints
    assert (spring.name, spring.latitude, spring.longitude) == ("Spring", 40.1, 29.0)
    assert spring.elevation_m == 250
    planned = read_route(tmp_path / "planned.gpx").waypoints
    assert [one.name for one in planned] == ["P1", "P2", "P3"]


def test_what_is_ignored_is_told_in_one_line(tmp_path):
    """Styles and shapes that are not asked for, counted."""
    (tmp_path / "styled.geojson").write_text(REGIONS["styled.geojson"], encoding="utf-8")
    text = trip(leg("A"), '[files]\nregions = "styled.geojson"\n')
    path = saved(tmp_path, text.replace("place = [40.0, 29.0]", 'region = "Hills"'))
    lines = CliRunner().invoke(main, ["check", str(path)]).stdout.splitlines()
    assert [line for line in lines if "ignored" in line] == [
        f"{tmp_path / 'styled.geojson'}: ignored 1 line; 1 point; the keys stroke, stroke-width, "
        "stroke-opacity, description, fill and fill-opacity."
    ]


def test_a_slip_of_a_key_is_still_refused(tmp_path):
    """A note that nobody would read is worse than a message."""
    (tmp_path / "r.geojson").write_text(
        features(feature("Polygon", [BOX], {"name": "Hills", "notes": "x"})), encoding="utf-8"
    )
    with pytest.raises(Exception, match="Did you mean 'note'"):
        read_regions(tmp_path / "r.geojson")


def test_problems_keep_the_numbers_of_the_file(tmp_path):
    """Two lines are left out before the region whose name is missing."""
    lines = [feature("LineString", LINE, STYLE)] * 2
    (tmp_path / "r.geojson").write_text(features(*lines, feature("Polygon", [BOX], {})), "utf-8")
    with pytest.raises(Exception, match=r"features\[3\]\.properties\.name"):
        read_regions(tmp_path / "r.geojson")


def test_waypoints_lie_on_the_globe(tmp_path):
    """A library that reads GPX takes any number."""
    body = f'<wpt lat="400.1" lon="29"><name>Spring</name></wpt><trk><trkseg>{gpx_points("trkpt")}'
    (tmp_path / "r.gpx").write_text(gpx(f"{body}</trkseg></trk>"), "utf-8")
    with pytest.raises(Exception, match="wpt 'Spring': expected latitude -90 to 90"):
        read_route(tmp_path / "r.gpx")
