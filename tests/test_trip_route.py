"""What is read of a route's file, and where in the file a wrong point is said to stand."""

from __future__ import annotations

import json

import pytest

from sheltermap.trip.route import read_route
from sheltermap.vocabulary import InputError

TRACK = "<trk><trkseg>{}</trkseg><trkseg>{}</trkseg></trk>"


def point(tag, latitude, longitude, inner=""):
    """Return a point of a GPX file."""
    return f'<{tag} lat="{latitude}" lon="{longitude}">{inner}</{tag}>'


def line(tag, last=4, height=""):
    """Return two points, the latitude of the last one as wanted."""
    return point(tag, 3, 7, height) + point(tag, last, 8)


def gpx(folder, body):
    """Return the path of a GPX file."""
    path = folder / "way.gpx"
    head = '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
    path.write_text(f"{head}{body}</gpx>")
    return path


@pytest.mark.parametrize(
    ("body", "key"),
    [
        (
            TRACK.format(line("trkpt"), line("trkpt"))
            + TRACK.format(line("trkpt"), line("trkpt", 95)),
            "trk[2].trkseg[2]",
        ),
        (TRACK.format(line("trkpt", 95), line("trkpt")), "trk[1].trkseg[1]"),
        (f"<rte>{line('rtept', 95)}</rte>", "rte[1]"),
        (f"<rte>{line('rtept')}</rte><rte>{line('rtept', 95)}</rte>", "rte[2]"),
    ],
)
def test_a_wrong_point_is_told_with_its_place_in_the_file(tmp_path, body, key):
    """Tracks, segments and routes count from 1, as people count them."""
    with pytest.raises(InputError) as caught:
        read_route(gpx(tmp_path, body))
    (problem,) = caught.value.problems
    assert problem.key.startswith(key)


ROUTE = f"<rte>{line('rtept')}</rte>"


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (ROUTE, ""),
        (TRACK.format(line("trkpt"), line("trkpt")), ""),
        (TRACK.format(line("trkpt"), line("trkpt")) + ROUTE * 2, "ignored 2 routes."),
        (ROUTE + point("wpt", 5, 6), "ignored 1 unnamed waypoint."),
        (ROUTE + point("wpt", 5, 6, "<name> </name>") * 2, "ignored 2 unnamed waypoints."),
        (ROUTE + point("wpt", 5, 6, "<name>Well</name>"), ""),
    ],
)
def test_what_is_left_out_is_counted(tmp_path, body, told):
    """A route beside a track, points without a name; nothing else."""
    path = gpx(tmp_path, body)
    assert read_route(path).ignored == (told and f"{path}: {told}")


@pytest.mark.parametrize(
    ("latitude", "longitude", "stands"),
    [
        (90, 180, True),
        (-90, -180, True),
        (90.5, 7, False),
        (-90.5, 7, False),
        (7, 180.5, False),
        (7, -180.5, False),
    ],
)
def test_a_waypoint_lies_on_the_globe(tmp_path, latitude, longitude, stands):
    """The poles and the 180th meridian are on it, half a degree further nothing is."""
    path = gpx(tmp_path, ROUTE + point("wpt", latitude, longitude, "<name> Far </name>"))
    if stands:
        (far,) = read_route(path).waypoints
        assert (far.name, far.latitude, far.longitude) == ("Far", latitude, longitude)
        return
    with pytest.raises(InputError, match=f"wpt 'Far': .*got {latitude:g}, {longitude:g}"):
        read_route(path)


def test_points_without_a_height_have_none(tmp_path):
    """One of two points has a height: longitude, latitude, metres."""
    path = gpx(tmp_path, f"<rte>{line('rtept', height='<ele>1234</ele>')}</rte>")
    assert read_route(path).heights.tolist() == [[7.0, 3.0, 1234.0]]


def test_points_of_geojson_are_named_or_counted(tmp_path):
    """A name or a title makes a waypoint, with its height; two have neither."""

    def feature(kind, coordinates, **properties):
        geometry = {"type": kind, "coordinates": coordinates}
        return {"type": "Feature", "properties": properties, "geometry": geometry}

    features = [
        feature("LineString", [[7, 3, 50], [8, 4, 60]]),
        feature("Point", [6, 5, 90], title=" Well "),
        feature("Point", [6, 4]),
        feature("Point", [6, 3], name="  "),
    ]
    path = tmp_path / "way.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    route = read_route(path)
    (well,) = route.waypoints
    assert (well.name, well.latitude, well.longitude, well.elevation_m) == ("Well", 5, 6, 90)
    assert route.heights.tolist() == [[7.0, 3.0, 50.0], [8.0, 4.0, 60.0]]
    assert "2 unnamed points" in route.ignored
