"""Tests of reading hazard layers and regions: what works, and what is refused with words."""

import json

import numpy as np
import pytest
import shapely
from pyproj import Transformer

from sheltermap.hazards import shapes
from sheltermap.hazards.layers import level_by_day, read_layer, read_regions, stated_finding
from sheltermap.hazards.shapes import area_km2
from sheltermap.vocabulary import InputError

SQUARE = [[[8, 46], [9, 46], [9, 47], [8, 47], [8, 46]]]
FLOOD = {"kind": "flood", "level": {"June": "serious"}, "source": "river board"}


def polygon(coordinates):
    """Return a geometry member."""
    return {"type": "Polygon", "coordinates": coordinates}


def feature(properties, geometry=None):
    """Return a feature."""
    geometry = polygon(SQUARE) if geometry is None else geometry
    return {"type": "Feature", "properties": properties, "geometry": geometry}


@pytest.fixture
def written(tmp_path):
    """Return a function that writes features to a file."""

    def write(*features, **members):
        path = tmp_path / "layer.geojson"
        collection = {"type": "FeatureCollection", "features": list(features), **members}
        path.write_text(json.dumps(collection), encoding="utf-8")
        return path

    return write


def problems(read, path):
    """Return the problems of a refused file."""
    with pytest.raises(InputError) as caught:
        read(path)
    return caught.value.problems


def test_layer_is_read_with_levels_by_day(written):
    """30 days of June, the closure of ten days on top, a note and a source."""
    level = {"June": "serious", "06-10..06-19": "closure"}
    layer = read_layer(written(feature(FLOOD | {"level": level, "note": "Low bridge."})))
    (only,) = layer.features
    assert np.bincount(only.level_by_day, minlength=5).tolist() == [335, 0, 20, 0, 10]
    assert (only.kind, only.note, only.source) == ("flood", "Low bridge.", "river board")
    assert layer.title == "layer.geojson" and layer.covered == ()


def test_margin_prolongs_closures_only():
    """A closure to 31 May with ten days of margin ends on 10 June, an advisory doesn't."""
    levels = level_by_day({"05-01..05-31": "closure", "07-01..07-31": "advisory"}, 10)
    assert np.flatnonzero(levels == 4)[-1] == 160
    assert (levels == 1).sum() == 31


def test_highest_level_counts_in_whatever_order():
    """An advisory for the year doesn't undo a closure written before it."""
    levels = level_by_day({"June": "closure", "all year": "advisory"})
    assert np.bincount(levels).tolist() == [0, 335, 0, 0, 30]


def test_stated_hazard_is_a_finding():
    """A row of a trip file binds the whole leg; `none` says that somebody looked."""
    row = stated_finding("road-closed", "closure", "11-01", "04-30", 0, "Snow.", "road office")
    assert (row.level_by_day == 4).sum() == 30 + 31 + 31 + 28 + 31 + 30
    assert (row.share, row.part) == (1.0, "")
    assert not stated_finding("flood", "none", source="village").level_by_day.any()


def test_all_problems_of_a_file_come_at_once(written):
    """Unknown kind, bad level, bad span, missing source, unknown key, crossing ring."""
    bow_tie = polygon([[[8, 46], [9, 47], [9, 46], [8, 47], [8, 46]]])
    path = written(
        feature({"kind": "Flood", "level": {"June": "serious"}, "source": "x"}),
        feature({"kind": "flood", "level": {"June": "bad"}, "source": "x"}),
        feature({"kind": "flood", "level": {"Junne": "serious"}, "source": "x"}),
        feature({"kind": "flood", "level": {"June": "serious"}}),
        feature(FLOOD | {"nots": "typing error"}),
        feature(FLOOD, bow_tie),
    )
    texts = [str(problem) for problem in problems(read_layer, path)]
    assert len(texts) == 6
    for expected in (
        "features[1].properties.kind: expected one of large-animals",
        "Did you mean 'flood'?",
        "'advisory', 'serious', 'prohibitive' or 'closure', got 'bad'",
        "Write it like one of these.",
        "features[4].properties.source: expected a value, got nothing",
        "features[5].properties.nots: expected a known key",
        "features[6].geometry: expected rings that don't cross",
        "near longitude 8.5000, latitude 46.5000",
    ):
        assert any(expected in text for text in texts), expected


@pytest.mark.parametrize(
    ("geometry", "words"),
    [
        (polygon([[[46, 131], [47, 131], [47, 132], [46, 131]]]), "Swap the two numbers"),
        (polygon([[[500000, 5200000], [510000, 5200000], [510000, 5210000]]]), "WGS 84"),
        (polygon([[[8, 46], [9, 46]]]), "a ring of at least 3 corners"),
        (polygon([[[8, 46], [9, "x"], [9, 47], [8, 46]]]), "a list of \\[longitude, latitude\\]"),
        (polygon([[[8, 46], [9, float("inf")], [9, 47], [8, 46]]]), "finite numbers"),
        (polygon([]), "a list of rings"),
        (polygon([[[x, 80] for x in (-180, -60, 60, 179)]]), "round a pole"),
        (None, "a Polygon or MultiPolygon"),
        ({"type": "Polygon"}, "a list of rings"),
        ({"type": "Circle", "coordinates": [8, 46]}, "a Polygon"),
        ({"type": "Point", "coordinates": [8, 89.9]}, "a latitude from -89 to 89"),
    ],
    ids=str,
)
def test_bad_geometry_is_refused_with_its_words(written, geometry, words):
    """Each fault says what was expected and how to mend it."""
    path = written(feature(FLOOD, geometry or {}))
    with pytest.raises(InputError, match=words):
        read_layer(path)


def test_declared_coordinate_system_is_reprojected(written):
    """A square drawn in UTM zone 32 lands where pyproj puts its corners."""
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}}
    corners = [[500000, 5200000], [510000, 5200000], [510000, 5210000], [500000, 5210000]]
    layer = read_layer(written(feature(FLOOD, polygon([corners])), crs=crs))
    to_degrees = Transformer.from_crs(32632, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(510000, 5210000)
    west, _, east, north = layer.features[0].shape.bounds
    # Zone 32 has its middle at 9 degrees east, where x is 500,000 m.
    assert west == pytest.approx(9.0) and east == pytest.approx(longitude, abs=0.01)
    assert north == pytest.approx(latitude, abs=0.01)
    assert area_km2(layer.features[0].shape) == pytest.approx(100.0, rel=0.01)


def test_unknown_coordinate_system_is_refused(written):
    """The message asks for WGS 84."""
    crs = {"type": "name", "properties": {"name": "EPSG:999999"}}
    (problem,) = problems(read_layer, written(feature(FLOOD), crs=crs))
    assert problem.key == "crs" and "WGS 84" in problem.mend


def test_ring_over_the_antimeridian_is_split(written):
    """A jump over 180 degrees is a crossing: 10 degrees on each side, with a hole."""
    outer = [[170, -20], [-170, -20], [-170, -10], [170, -10], [170, -20]]
    hole = [[-176, -16], [-174, -16], [-174, -14], [-176, -14], [-176, -16]]
    shape = read_layer(written(feature(FLOOD, polygon([outer, hole])))).features[0].shape
    assert shape.bounds == (-180, -20, 180, -10)
    assert shape.area == pytest.approx(200 - 4)
    assert shapely.contains_xy(shape, [175, -172, -175, 0], [-15, -15, -15, -15]).tolist() == [
        True,
        True,
        False,
        False,
    ]


def test_points_and_lines_reach_their_radius(written):
    """A point is a disc; a line of 1 degree of latitude (111 km) is a strip with round ends."""
    point = feature(FLOOD | {"radius_km": 10}, {"type": "Point", "coordinates": [8, 46]})
    line = feature(
        FLOOD | {"radius_km": 10}, {"type": "LineString", "coordinates": [[8, 46], [8, 47]]}
    )
    areas = [area_km2(f.shape) for f in read_layer(written(point, line)).features]
    assert areas[0] == pytest.approx(314, rel=0.01)
    assert areas[1] == pytest.approx(111.2 * 20 + 314, rel=0.01)


def test_a_point_reaches_five_kilometres_where_nothing_is_said(written):
    """A disc of 78.5 km2, less the corners of its 72 edges."""
    point = feature(FLOOD, {"type": "Point", "coordinates": [8, 46]})
    (only,) = read_layer(written(point)).features
    assert area_km2(only.shape) == pytest.approx(78.5, rel=0.01)


@pytest.mark.parametrize(
    ("said", "refused"),
    [
        ({"margin_days": 0}, ""),
        ({"margin_days": 90}, ""),
        ({"margin_days": -1}, "margin_days"),
        ({"margin_days": 91}, "margin_days"),
        ({"radius_km": 0.1}, ""),
        ({"radius_km": 500}, ""),
        ({"radius_km": 0}, "radius_km"),
        ({"radius_km": 501}, "radius_km"),
        ({"source": "x" * 200}, ""),
        ({"source": "x" * 201}, "source"),
        ({"source": ""}, "source"),
        ({"note": "x" * 20_000}, ""),
        ({"note": None}, ""),
        ({"level": {}}, "level"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_what_a_feature_may_say(written, said, refused):
    """Margins to 90 days, a reach to 500 km, one line of 200 letters on whose word it is."""
    path = written(feature(FLOOD | said))
    if not refused:
        assert len(read_layer(path).features) == 1
        return
    (problem,) = problems(read_layer, path)
    assert problem.key == f"features[1].properties.{refused}"


def test_margins_of_a_file_count_29_february_in_leap_years_only(written):
    """Closed to 20 February with 15 days of margin: to 7 March, in leap years to 6 March."""
    said = FLOOD | {"level": {"02-01..02-20": "closure"}, "margin_days": 15}
    (only,) = read_layer(written(feature(said))).features
    last = [np.flatnonzero(days)[-1] for days in (only.level_by_day, only.level_in_leap_years)]
    # 31 + 28 days come before 1 March.
    assert last == [59 + 6, 59 + 5]


@pytest.mark.parametrize(
    ("level", "margin", "leap", "days"),
    [("closure", 15, False, 35), ("closure", 15, True, 34), ("serious", 15, False, 20)],
)
def test_stated_closures_last_longer_by_their_margin(level, margin, leap, days):
    """20 days of February and 15 more, one of which is 29 February; other levels end on time."""
    row = stated_finding("road-closed", level, "02-01", "02-20", margin, leap=leap)
    assert np.count_nonzero(row.level_by_day) == days
    assert np.count_nonzero(stated_finding("road-closed", level).level_by_day) == 365
    by_span = level_by_day({"02-01..02-20": level}, margin, leap=leap)
    np.testing.assert_array_equal(by_span, row.level_by_day)
    # Where nothing is said there is no margin, and no 29 February in it.
    assert np.count_nonzero(level_by_day({"02-01..02-20": level})) == 20
    if not leap:
        usual = level_by_day({"02-01..02-20": level}, margin)
        np.testing.assert_array_equal(usual, row.level_by_day)


def test_line_of_10_000_vertices_is_thinned_before_it_is_widened(written, monkeypatch):
    """A recorded track along a closed road: each piece costs a projection of its own."""
    steps = np.random.default_rng(2).normal(0, 1e-4, (10_000, 2)).cumsum(axis=0)
    line = {"type": "LineString", "coordinates": np.add([8, 46], steps).tolist()}
    path = written(feature(FLOOD, line))
    widened, honest = [], shapes._widened
    monkeypatch.setattr(shapes, "_widened", lambda *piece: widened.append(piece) or honest(*piece))
    (only,) = read_layer(path).features
    assert 0 < len(widened) <= 500  # Of 9,999 pieces: a twentieth of the work at most.
    # What is left lies within half a radius of the track, so all of it is still inside.
    track = np.add([8, 46], steps)
    assert shapely.contains_xy(only.shape, track[:, 0], track[:, 1]).all()


def test_layer_says_where_it_looked(written):
    """With a box, or in the box round its features."""
    covers = [{"kinds": ["flood"], "bbox": [170, -20, -170, 0]}, {"kinds": ["wildfire"]}]
    layer = read_layer(written(feature(FLOOD), covers=covers))
    assert [kinds for kinds, _ in layer.covered] == [("flood",), ("wildfire",)]
    assert layer.covered[0][1].area == pytest.approx(400)
    assert layer.covered[1][1].bounds == (8, 46, 9, 47)
    # Without features there is no box round them, and a single table is a list of one.
    none = read_layer(written(covers={"kinds": ["wildfire"]}, title="Looked", source="Us"))
    assert (none.covered, none.title, none.source) == ((), "Looked", "Us")
    (all_of_it,) = read_layer(
        written(covers={"kinds": ["flood"], "bbox": [-180, -90, 180, 90]})
    ).covered
    assert all_of_it[1].area == pytest.approx(360 * 180)


@pytest.mark.parametrize(
    ("bbox", "said"),
    [
        ([8, 47, 9, 46], "south below north"),
        ([8, 46, 9, 46], "south below north"),
        ([8, -91, 9, 46], "south below north"),
        ([8, 46, 9, 91], "south below north"),
        ([9, 46, 8, 47], "west before east"),
        ([9, 46, 9, 47], "west before east"),
        ([180, 46, -180, 47], "west before east"),
    ],
)
def test_box_with_swapped_edges_or_without_area_is_refused(written, bbox, said):
    """A hazard that nobody looked at must not read as looked at and absent, there or in all the
    world."""
    covers = {"kinds": ["flood"], "bbox": bbox}
    (problem,) = problems(read_layer, written(feature(FLOOD), covers=covers))
    assert said in problem.expected


@pytest.mark.parametrize("bbox", [[-181, 46, 9, 47], [8, 46, 181, 47]])
def test_box_off_the_map_is_refused_at_its_edge(written, bbox):
    """Longitudes are from -180 to 180; over the antimeridian east is less than west."""
    (problem,) = problems(
        read_layer, written(feature(FLOOD), covers={"kinds": ["flood"], "bbox": bbox})
    )
    assert problem.key.startswith("covers[1].bbox") and "180" in problem.expected


def test_regions_keep_their_words_as_written(written):
    """Markup, quotes, templates and right-to-left marks are text; the pages escape them."""
    name = "<script>alert('x')</script> ${y} \u202eabc\u200f \"q\""
    note = "&" * 10_000
    regions = read_regions(written(feature({"id": "alps", "name": name, "note": note})))
    assert regions.loc[0, "name"] == name and regions.loc[0, "note"] == note
    assert regions.crs.to_epsg() == 4326


@pytest.mark.parametrize(
    ("properties", "words"),
    [
        ({"id": "../etc", "name": "x"}, "id"),
        ({"id": "", "name": "x"}, "id"),
        ({"id": "a", "name": "x" * 10_000}, "at most 200"),
        ({"id": "a", "name": "x\u0000y"}, "control characters"),
        ({"id": "a", "name": "x\ud800y"}, "name"),
        ({"id": "a", "name": ""}, "name"),
        ({"id": "a", "name": "x", "note": "y" * 20_001}, "at most 20000"),
    ],
)
def test_region_words_that_cannot_be_shown_are_refused(written, properties, words):
    """Ids become file names, so only letters, digits and hyphens."""
    (problem,) = problems(read_regions, written(feature(properties)))
    assert words in str(problem)
    assert len(problem.got) < 100


@pytest.mark.parametrize("given", [{}, {"id": 7}, {"id": None}])
def test_a_region_without_an_id_gets_it_from_its_name(written, given):
    """Drawing tools number shapes, or leave the id out."""
    regions = read_regions(written(feature(given | {"name": "Südliche Kette"})))
    assert list(regions["id"]) == ["sudliche-kette"]


def test_a_name_of_another_alphabet_gives_a_number(written):
    """An id becomes a file name, so it holds Latin letters only; the trip may say the name."""
    named = [feature({"name": name}) for name in ("Steppe", "Степь")]
    assert list(read_regions(written(*named))["id"]) == ["steppe", "region-2"]


def test_region_ids_are_unique(written):
    """Trip files name them."""
    same, other = (feature({"id": name, "name": "A"}) for name in "ab")
    (problem,) = problems(read_regions, written(same, other, same))
    assert (problem.key, problem.got) == ("features[3].properties.id", "'a'")


def test_polygon_of_100_000_vertices_keeps_them_all(written):
    """A detailed coast is neither refused nor thinned."""
    angle = np.linspace(0, 2 * np.pi, 100_000, endpoint=False)
    radius = 1 + 0.1 * np.sin(40 * angle)
    ring = np.column_stack([8 + radius * np.cos(angle), 46 + radius * np.sin(angle)])
    path = written(feature({"id": "a", "name": "A"}, polygon([ring.tolist()])))
    regions = read_regions(path)
    assert shapely.get_num_coordinates(regions.geometry[0]) == 100_001


def test_scribble_of_10_000_vertices_is_refused(written):
    """A ring that crosses itself everywhere gets one message, with one of the places."""
    ring = np.random.default_rng(1).uniform([5, 45], [10, 50], (10_000, 2)).tolist()
    (problem,) = problems(
        read_regions, written(feature({"id": "a", "name": "A"}, polygon([ring])))
    )
    assert "cross" in problem.expected
    assert problem.got.count("near longitude") == 1 and len(problem.got) < 100


@pytest.mark.parametrize(
    ("other", "keys"),
    [
        ("x", {"features[2]", "features[2].geometry"}),
        (
            {"type": "Feature", "properties": 7, "geometry": polygon(SQUARE)},
            {"features[2].properties"},
        ),
        (feature({"name": "A"}) | {"type": "feature"}, {"features[2].type"}),
    ],
    ids=["text", "numbers for properties", "small letters"],
)
def test_what_is_no_feature_is_refused_at_its_number(written, other, keys):
    """Behind one that is right."""
    found = problems(read_regions, written(feature({"name": "A"}), other))
    assert {problem.key for problem in found} == keys


@pytest.mark.parametrize(
    "text", ["[]", "{}", "1", '"x"', "{", '{"type": "FeatureCollection", "features": 3}', ""]
)
def test_other_files_are_refused(tmp_path, text):
    """Whatever the file holds, the answer is a message."""
    path = tmp_path / "x.geojson"
    path.write_text(text)
    for read in (read_layer, read_regions):
        assert problems(read, path)
