"""Tests of what hazards mean for a leg: overlap, what binds, what nobody checked."""

import numpy as np
import pytest
import shapely

from sheltermap.hazards.findings import binding_levels, findings, not_checked
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.layers import (
    HazardFeature,
    HazardLayer,
    level_by_day,
    stated_finding,
)
from sheltermap.hazards.shapes import (
    area_km2,
    boxes,
    disc,
    length_km,
    place_extent,
    points_extent,
    region_extent,
    split_at_antimeridian,
)
from sheltermap.vocabulary import EARTH_RADIUS_KM, Level

SERIOUS, PROHIBITIVE, CLOSURE = Level.SERIOUS, Level.PROHIBITIVE, Level.CLOSURE


def layer(*shapes, kind="flood", level="prohibitive", covered=()):
    """Return a layer of all-year hazards of one kind."""
    days = level_by_day({"all year": level})
    features = tuple(HazardFeature(kind, days, days, "a note", "a source", s) for s in shapes)
    return HazardLayer("layer", "", features, tuple(covered))


REGION = region_extent(shapely.box(0, 0, 10, 1))


@pytest.mark.parametrize(("east", "binds"), [(0.95, False), (1.05, True), (10, True), (30, True)])
def test_a_tenth_of_the_area_binds(east, binds):
    """Along the equator the share of the area is the share of the longitudes."""
    (finding,) = findings([layer(shapely.box(-5, -1, east, 2))], REGION)
    assert finding.share == pytest.approx(min(east / 10, 1), abs=1e-6)
    assert (finding.part == "") is binds
    assert (finding.level_by_day == (PROHIBITIVE if binds else 1)).all()
    assert (finding.title, finding.note, finding.source) == ("Flood", "a note", "a source")


def test_small_part_is_an_advisory_that_says_so():
    """The stated level stays known."""
    (finding,) = findings([layer(shapely.box(0, 0, 0.5, 1))], REGION)
    assert finding.part == "in part of the area only (about 5 %)"
    assert (finding.stated_level_by_day == PROHIBITIVE).all()


def test_pieces_of_one_kind_count_together():
    """Three pieces of 4 % bind as one hazard of 12 %."""
    pieces = [shapely.box(x, 0, x + 0.4, 1) for x in (0, 3, 6)]
    assert {f.part for f in findings([layer(*pieces)], REGION)} == {""}
    assert "" not in {f.part for f in findings([layer(*pieces[:2])], REGION)}


def test_features_that_say_the_same_are_one_finding():
    """Two pieces of 4 % with the same words: one finding of 8 %; other words stay apart."""
    first, second, third = (shapely.box(x, 0, x + 0.4, 1) for x in (0, 3, 6))
    found = findings([layer(first), layer(second), layer(third, level="serious")], REGION)
    assert [finding.share for finding in found] == pytest.approx([0.08, 0.04])


def test_a_kilometre_of_route_binds():
    """0.02 degrees along the equator are 2.2 km, far below a tenth of the area."""
    route = shapely.LineString([(-1, 0.5), (11, 0.5)])
    extent = region_extent(shapely.box(0, 0, 10, 1), route)
    narrow = shapely.box(5, 0.4, 5.02, 0.6)
    (finding,) = findings([layer(narrow)], extent)
    assert finding.part == "" and finding.share == pytest.approx(0.002, rel=1e-3)
    (aside,) = findings([layer(shapely.box(5, 0.7, 5.02, 0.9))], extent)
    assert aside.part != ""


@pytest.mark.parametrize(("kilometres", "binds"), [(0.95, False), (1.05, True)])
def test_route_binds_from_a_kilometre_on(kilometres, binds):
    """A degree of the equator is 111.32 km; the strip is a ten-thousandth of the area."""
    extent = region_extent(shapely.box(0, 0, 10, 1), shapely.LineString([(-1, 0), (11, 0)]))
    (finding,) = findings([layer(shapely.box(5, 0, 5 + kilometres / 111.32, 0.1))], extent)
    assert (finding.part == "") is binds


@pytest.mark.parametrize(("north", "share"), [(0.2, 0.3), (1.0, 0.3), (0.0, 0.0)])
def test_share_is_the_larger_one_of_area_and_route(north, share):
    """3 of 10 degrees of the route and north x 0.3 of the area; beside the route 0.21 of it."""
    route = shapely.LineString([(0, 0.1), (10, 0.1)])
    extent = region_extent(shapely.box(0, 0, 10, 1), route)
    strip = shapely.box(2, 0, 5, north) if north else shapely.box(2, 0.3, 5, 1)
    (finding,) = findings([layer(strip)], extent)
    assert finding.share == pytest.approx(share or 0.21, rel=1e-3)
    (area,) = findings([layer(shapely.box(0, 0, 9, 0.05), shapely.box(0, 0.2, 9, 1))], extent)
    assert area.share == pytest.approx(0.9 * 0.85, rel=1e-3)
    (whole,) = findings([layer(shapely.box(-5, -1, 15, 2))], extent)
    assert whole.share == 1.0


@pytest.mark.parametrize(
    ("east", "said"), [(0.09, "less than 1 %"), (0.11, "about 1 %"), (0.87, "about 9 %")]
)
def test_part_of_an_area_is_told_in_whole_percents(east, said):
    """Of ten degrees along the equator 0.09 are 0.9 %."""
    (finding,) = findings([layer(shapely.box(-5, -1, east, 2))], REGION)
    assert finding.part == f"in part of the area only ({said})"


def test_margins_count_29_february_where_asked():
    """Each year has its own levels; nothing else of the finding differs."""
    usual, leap = (level_by_day({"06-01..06-20": word}) for word in ("serious", "closure"))
    feature = HazardFeature("flood", usual, leap, "", "", shapely.box(0, 0, 10, 1))
    both = [HazardLayer("layer", "", (feature,), ())]
    for asked, expected in (({}, usual), ({"leap": False}, usual), ({"leap": True}, leap)):
        (finding,) = findings(both, REGION, **asked)
        np.testing.assert_array_equal(finding.level_by_day, expected)


@pytest.mark.parametrize(
    "line",
    [[(20, 5), (21, 6)], [(10, 1), (11, 2)]],
    ids=["far away", "touching a corner"],
)
def test_a_route_that_stays_outside_leaves_the_region_as_it_is(line):
    """A journey's one line need not enter all of its regions."""
    route = shapely.LineString(line)
    for whole in (route, shapely.MultiLineString([route, [(30, 5), (31, 6)]])):
        assert region_extent(shapely.box(0, 0, 10, 1), whole).line is None


def test_camp_inside_binds():
    """However small the hazard, the known camp lies in it."""
    (finding,) = findings([layer(disc(47, 8, 1))], place_extent(47, 8))
    assert (finding.share, finding.part) == (1.0, "")
    (aside,) = findings([layer(disc(47.1, 8, 1))], place_extent(47, 8))
    assert aside.part != ""
    (second,) = findings([layer(disc(46, 9, 1))], points_extent([(47, 8), (46, 9)]))
    assert second.part == ""


def test_hazards_elsewhere_are_not_findings():
    """Neither far away nor touching at the border only."""
    assert findings([layer(shapely.box(20, 0, 21, 1), shapely.box(10, 0, 11, 1))], REGION) == ()


def test_antimeridian_is_no_border():
    """A region and a hazard on both sides of 180 degrees overlap by half."""
    extent = region_extent(boxes((175, -1, -175, 1)))
    (finding,) = findings([layer(boxes((-180, -1, -170, 1)))], extent)
    assert finding.share == pytest.approx(0.5)


def test_binding_level_is_the_highest_after_shields():
    """A shielded prohibitive hazard ties with a serious one; the first named stays."""
    animals = stated_finding("large-animals", "prohibitive", source="ranger")
    flood = stated_finding("flood", "serious", "06-01", "06-30", source="river board")
    closed = stated_finding("permit", "closure", "12-01", "01-31", source="park")
    found = (animals, flood, closed)
    level, binding = binding_levels(found, ["ground"])
    assert level[180] == PROHIBITIVE and binding[180] == 0
    level, binding = binding_levels(found, ["hard", "net"])
    assert level[180] == SERIOUS and binding[180] == 0
    assert level[0] == CLOSURE and binding[0] == 2
    assert (level[152], binding[152]) == (SERIOUS, 0)


def test_perfect_sleep_does_not_outweigh_a_flood():
    """Nothing about nights enters the binding level."""
    level, _ = binding_levels((stated_finding("flood", "prohibitive", source="x"),), ["hard"])
    assert (level == PROHIBITIVE).all()


def test_days_without_a_hazard_have_no_finding():
    """Level 0 is nobody's; a hazard stands at its place among the findings on its days."""
    looked = stated_finding("security", "none", source="embassy")
    flood = stated_finding("flood", "advisory", "06-01", "06-30", source="river board")
    level, binding = binding_levels((looked, flood), [])
    june = slice(151, 181)
    assert binding[june].tolist() == [1] * 30 and level[june].tolist() == [1] * 30
    assert (np.delete(binding, np.arange(151, 181)) == -1).all() and level.sum() == 30


@pytest.mark.parametrize(("east", "checked"), [(9.995, True), (9.985, False)])
def test_drawing_errors_of_a_thousandth_leave_a_leg_looked_at(east, checked):
    """Of ten degrees along the equator 0.005 lack, or 0.015."""
    looked = layer(covered=[(("flood",), shapely.box(-1, -1, east, 2))])
    assert ("flood" not in not_checked([looked], REGION)) is checked


def test_without_layers_everything_is_not_checked():
    """No layer is not no hazard."""
    assert not_checked((), REGION) == tuple(HAZARD_KINDS)


def test_kind_is_checked_where_a_layer_looked_at_all_of_the_leg():
    """Two boxes together, not one; a finding that binds; a row that found nothing."""
    west, east = shapely.box(-1, -1, 5, 2), shapely.box(5, -1, 11, 2)
    half = layer(covered=[(("flood", "wildfire"), west)])
    other = layer(covered=[(("flood",), east)])
    assert "flood" in not_checked([half], REGION)
    assert "flood" not in not_checked([half, other], REGION)
    assert "wildfire" in not_checked([half, other], REGION)
    looked = (stated_finding("security", "none", source="embassy"),)
    assert "security" not in not_checked((), REGION, looked)


def test_small_part_does_not_count_as_having_looked():
    """A hazard that touches a corner says nothing of the rest."""
    corner = findings([layer(shapely.box(0, 0, 0.1, 1))], REGION)
    assert "flood" in not_checked((), REGION, corner)


def test_sphere_has_the_area_of_the_ellipsoid():
    """The closed form of the ellipsoid's surface, with the axis and flattening of WGS84."""
    axis, flattening = 6378.137, 1 / 298.257223563
    square = flattening * (2 - flattening)
    eccentricity = np.sqrt(square)
    surface = 2 * np.pi * axis**2 * (1 + (1 - square) / eccentricity * np.arctanh(eccentricity))
    assert abs(EARTH_RADIUS_KM - np.sqrt(surface / (4 * np.pi))) < 0.00005


def test_area_of_a_band_on_the_sphere():
    """From the equator to 30 degrees north lies a quarter of the surface of 510,065,622 km2."""
    band = shapely.box(-180, 0, 180, 30)
    assert area_km2(band) == pytest.approx(510_065_622 / 4, rel=1e-6)


def test_length_of_a_degree():
    """A degree of the WGS84 equator is a / 57.29578, with a = 6378.137 km."""
    line = shapely.LineString([(0, 0), (1, 0)])
    assert length_km(line) == pytest.approx(6378.137 * np.pi / 180, rel=1e-9)


def test_line_over_the_antimeridian_keeps_its_order_and_length():
    """Out and back stays twice as long as out."""
    out = split_at_antimeridian(shapely.LineString([(179, 0), (181, 0)]))
    both = split_at_antimeridian(shapely.LineString([(179, 0), (181, 0), (179, 0)]))
    assert [part.coords[0][0] for part in both.geoms] == [179, -180, 180]
    assert length_km(both) == pytest.approx(2 * length_km(out))
