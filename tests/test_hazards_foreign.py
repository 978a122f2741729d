"""What drawing tools add to a file: set aside and told, and what is a slip of a key of ours."""

import pytest

from sheltermap.files import Record
from sheltermap.hazards.drawn import LINES, POLYGONS
from sheltermap.hazards.foreign import Ignored, as_numbered, collection, own, shapes_of
from sheltermap.vocabulary import Problem

POINT = {"type": "Point", "coordinates": [8, 46]}


class Ours(Record):
    """A table of ours, with short and long keys."""

    id: str = ""
    note: str = ""
    source: str = ""


def feature(kind):
    """Return a feature with a shape of a kind."""
    return {"type": "Feature", "geometry": {"type": kind}}


@pytest.mark.parametrize(
    ("table", "kept", "ignored"),
    [
        ({"note": 1, "id": 2}, {"note": 1, "id": 2}, []),
        ({"stroke": 1, "note": 2}, {"note": 2}, ["stroke"]),
        # Capitals are ours, unless the key is there as well.
        ({"Note": 1}, {"note": 1}, []),
        ({"Note": 1, "note": 2}, {"note": 2}, ["Note"]),
        # One letter wrong, missing or too many of four and more: refused by the model.
        ({"nate": 1}, {"nate": 1}, []),
        ({"not": 1}, {"not": 1}, []),
        ({"notes": 1}, {"notes": 1}, []),
        ({"sorce": 1}, {"sorce": 1}, []),
        # Two of four, two too many, two too few, and what resembles a key of two letters.
        ({"nato": 1}, {}, ["nato"]),
        ({"notees": 1}, {}, ["notees"]),
        ({"sour": 1}, {}, ["sour"]),
        ({"fid": 1, "idx": 2}, {}, ["fid", "idx"]),
        ({7: 1}, {}, ["7"]),
    ],
)
def test_keys_are_ours_a_slip_of_ours_or_somebody_else_s(table, kept, ignored):
    """RFC 7946, 6.1 lets files hold members of anyone's; a misspelt key must not vanish."""
    left_out = Ignored()
    assert own(table, Ours, left_out) == kept
    assert list(left_out.keys) == ignored


def test_what_is_no_table_stays_as_it_is():
    """The model refuses it in its own words."""
    left_out = Ignored()
    for value in ([1], "note", None, 7):
        assert own(value, Ours, left_out) is value
    assert left_out.words("a.geojson") == ""


@pytest.mark.parametrize(
    ("count", "told"),
    [
        (1, "the keys k0"),
        (8, "the keys k0, k1, k2, k3, k4, k5, k6 and k7"),
        (9, "the keys k0, k1, k2, k3, k4, k5, k6, k7 and 1 more"),
        (11, "the keys k0, k1, k2, k3, k4, k5, k6, k7 and 3 more"),
    ],
)
def test_eight_keys_are_named_and_the_others_counted(count, told):
    """Once each, however many features have them."""
    left_out = Ignored()
    for _ in range(3):
        own({f"k{number}": 1 for number in range(count)}, Ours, left_out)
    assert left_out.words("a.geojson") == f"a.geojson: ignored {told}."


def test_shapes_that_make_no_sense_here_are_counted():
    """One line and three points beside two areas, which keep their numbers in the file."""
    kinds = ["Point", "Polygon", "LineString", "Point", "MultiPolygon", "MultiPoint"]
    left_out = Ignored()
    kept, numbers = shapes_of(map(feature, kinds), POLYGONS, left_out)
    assert [one["geometry"]["type"] for one in kept] == ["Polygon", "MultiPolygon"]
    assert numbers == [2, 5]
    assert left_out.words("a.geojson") == "a.geojson: ignored 3 points; 1 line."


def test_what_is_no_shape_at_all_is_kept_to_be_refused():
    """Nothing is lost without a word; a collection of shapes is refused too."""
    strange = [None, "x", {"geometry": 3}, {"geometry": {"type": 3}}, feature("Circle")]
    strange.append(feature("GeometryCollection"))
    left_out = Ignored()
    assert shapes_of(strange, LINES, left_out) == (strange, [1, 2, 3, 4, 5, 6])
    assert not left_out.shapes


def test_problems_have_the_numbers_of_the_file():
    """The second feature that was kept is the file's fifth; other keys stay."""
    keys = ["features[2].geometry", "features[1].properties.note", "crs", "covers[1].kinds"]
    problems = as_numbered([Problem("f", key, "", "", "") for key in keys], [2, 5])
    assert [problem.key for problem in problems] == [
        "features[5].geometry",
        "features[2].properties.note",
        "crs",
        "covers[1].kinds",
    ]


def test_a_feature_or_a_bare_shape_is_a_file_of_one():
    """And whatever else there is stays as it is."""
    one = {"type": "Feature", "properties": {}, "geometry": POINT}
    whole = {"type": "FeatureCollection", "features": [one]}
    assert collection(POINT) == collection(one) == whole
    for raw in (whole, {"type": "Topology"}, {}, [POINT], None):
        assert collection(raw) is raw
