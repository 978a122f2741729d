"""Where legs sleep: boxes, cells, heights, kilometres, and the words of caution."""

from __future__ import annotations

import json
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from small_trips import LATITUDE, LONGITUDE, climate, leg, saved, trip

from sheltermap.hazards.shapes import place_extent, region_extent
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.ground import _cautions, _short_way, camps, extents, journey_box
from sheltermap.trip.inputs import read_inputs
from sheltermap.vocabulary import InputError

SHAPE = (LATITUDE.size, LONGITUDE.size)


def slept(folder, *parts, world=None, **options):
    """Return where a trip sleeps."""
    inputs = read_inputs(saved(folder, trip(*parts, **options)))
    return camps(inputs, extents(inputs), climate() if world is None else world)


def ground(folder, *parts, **options):
    """Return the ground of each leg."""
    where = slept(folder, *parts, **options)
    return where.by_leg(where.grounds)


def drawn(folder, *rings):
    """Write a region file of boxes (west, south, east, north), named r1, r2 and so on."""
    features = [
        {
            "type": "Feature",
            "properties": {"id": f"r{number}", "name": f"Region {number}"},
            "geometry": shapely.box(*ring).__geo_interface__,
        }
        for number, ring in enumerate(rings, 1)
    ]
    collection = {"type": "FeatureCollection", "features": features}
    (folder / "regions.geojson").write_text(json.dumps(collection), encoding="utf-8")
    return '\n[files]\nregions = "regions.geojson"\n'


def region_leg(name, ident, more=""):
    """Return a leg in a region as the trip file writes it."""
    return f'\n[[legs]]\nname = "{name}"\nregion = "{ident}"\nnights = 4\n{more}\n'


def test_box_holds_all_legs_with_a_degree_around_them():
    """By hand: 25 km are 0.2 degrees of latitude, so about 38.8 to 43.2 north."""
    west, south, east, north = journey_box([place_extent(40.0, 29.0), place_extent(42.0, 33.0)])
    assert (south, north) == (pytest.approx(38.775, abs=0.005), pytest.approx(43.225, abs=0.005))
    # 25 km are 0.293 degrees of longitude at 40 north and 0.302 at 42.
    assert (west, east) == (pytest.approx(27.707, abs=0.005), pytest.approx(34.302, abs=0.005))


@pytest.mark.parametrize(
    "legs",
    [
        [place_extent(66.0, 179.9)],
        [place_extent(66.0, 179.5)],
        [place_extent(60.0, 170.0), place_extent(60.0, -170.0)],
        [region_extent(shapely.box(-180.0, 60.0, 180.0, 70.0))],
    ],
)
def test_box_across_the_180th_meridian_is_the_whole_circle(legs):
    """Cells on both sides of the meridian must stay on one regular grid."""
    box = journey_box(legs)
    assert (box[0], box[2]) == (-180.0, 180.0)


def test_box_takes_the_short_way_round():
    """Legs at 100 west and 100 east join across Greenwich or the Pacific, not the world twice."""
    box = journey_box([place_extent(0.0, -60.0), place_extent(0.0, 100.0)])
    assert (box[0], box[2]) == (pytest.approx(-61.2, abs=0.05), pytest.approx(101.2, abs=0.05))


def test_box_stays_on_the_globe():
    """Nothing lies beyond the poles."""
    assert journey_box([place_extent(88.9, 0.0)])[3] == 90.0


def test_place_takes_the_cells_around_it(tmp_path):
    """A disc of 25 km on a node of the grid lies in that cell, 55 km by 43 km."""
    (one,) = ground(tmp_path, leg("A", (40.0, 29.0)))
    heaviest = int(np.argmax(one.footprint.weight))
    assert (one.footprint.latitude[heaviest], one.footprint.longitude[heaviest]) == (40.0, 29.0)
    assert one.footprint.weight.sum() == pytest.approx(1.0)
    assert one.footprint.kind == "place"


def test_points_count_the_same(tmp_path):
    """Two camps far apart: half the weight each."""
    both = "[[legs]]\nname = 'P'\npoints = [[39.0, 28.0], [42.0, 31.0]]\nnights = 4\n"
    (one,) = ground(tmp_path, both)
    south = one.footprint.weight[one.footprint.latitude < 40.5].sum()
    assert south == pytest.approx(0.5, abs=1e-6)


def test_missing_climate_at_part_of_a_place_is_dropped_and_said(tmp_path):
    """The south of a region without data: the north stands for it, and a caution says so."""
    mean = np.full((12, *SHAPE), 18.0)
    mean[:, LATITUDE < 40.0] = np.nan
    files = drawn(tmp_path, (28.25, 39.25, 30.25, 40.75))
    (one,) = ground(tmp_path, region_leg("R", "r1"), files, world=climate(mean=mean))
    assert (one.footprint.latitude >= 40.0).all()
    # By hand, rows of cells as wide as the cosine of 39.5, 40.0 and 40.5 degrees, the first of
    # which is dropped: 0.7716 / (0.7716 + 0.7660 + 0.7604) = 0.3358.
    assert one.footprint.dropped_share == pytest.approx(0.3358, abs=0.0001)
    assert any("34 % of the area has no climate data" in words for words in one.cautions)


def test_leg_without_any_climate_is_refused_by_its_place(tmp_path):
    """The key of the leg and its coordinates stand in the message."""
    with pytest.raises(InputError) as caught:
        ground(tmp_path, leg("A", (40.0, 29.0)), leg("B", (10.07, -10.13)))
    (problem,) = caught.value.problems
    assert problem.key == "legs[2]"
    assert problem.got == "none at latitude 10.07, longitude -10.13"


def test_camp_above_its_cells_is_colder_and_its_error_is_told(tmp_path):
    """By hand: 1,000 m above, inland, at 5.5 K/km: 5.5 K, error 1.5 K."""
    where = slept(tmp_path, leg("A", more="camp_elevation_m = 1100"))
    np.testing.assert_allclose(where.climate["air_temperature"], 18.0 - 5.5)
    np.testing.assert_allclose(where.climate["temperature_correction_error"], 1.5)
    cautions = where.ground(0).cautions
    assert any("1,000 m above the mean of the climate cells" in words for words in cautions)


def test_one_camp_of_known_height_leaves_the_others_alone(tmp_path):
    """Legs share one dataset, but not their heights: A is corrected by 5.5 K, B by nothing."""
    high = leg("A", more="camp_elevation_m = 1100")
    low = leg("B", (42.0, 33.0), more="camp_elevation_m = 100")
    where = slept(tmp_path, high, low)
    for name, expected in (("A", 18.0 - 5.5), ("B", 18.0)):
        (one,) = (ground for ground in where.grounds if ground.leg.name == name)
        found = where.climate["air_temperature"].isel(cell=one.cells)
        np.testing.assert_allclose(found, expected)


def test_camp_inside_the_dead_band_of_a_coast_is_left_alone(tmp_path):
    """Sea air evens heights out: 340 m are less than the band of 350 m."""
    coast = climate()
    coast["land_fraction"] = coast["elevation"] * 0 + 0.5
    where = slept(tmp_path, leg("A", more="camp_elevation_m = 440"), world=coast)
    np.testing.assert_allclose(where.climate["air_temperature"], 18.0)
    np.testing.assert_allclose(where.climate["temperature_correction"], 0.0)


def test_heights_unknown_leave_the_camp_uncorrected_and_say_so(tmp_path):
    """A stated height that cannot be used must not look used."""
    where = slept(tmp_path, leg("A", more="camp_elevation_m = 2000"), world=climate(height=np.nan))
    np.testing.assert_allclose(where.climate["air_temperature"], 18.0)
    assert any("could not correct them" in words for words in where.ground(0).cautions)


def test_steep_country_without_a_height_is_uncertain(tmp_path):
    """Cells at 200 and 2,200 m make a mean of valleys and peaks."""
    height = np.full(SHAPE, 200.0)
    height[LATITUDE >= 40.0] = 2200.0
    files = drawn(tmp_path, (28.25, 39.25, 30.25, 40.75))
    for more, steep in (("", True), ("camp_elevation_m = 900", False)):
        (one,) = ground(tmp_path, region_leg("R", "r1", more), files, world=climate(height=height))
        assert one.cell_elevation[::2] == (200.0, 2200.0)
        assert any(words.startswith("Steep country") for words in one.cautions) == steep


@pytest.mark.parametrize(("height", "said"), [(2400.0, False), (2600.0, True), (np.nan, True)])
def test_high_cells_without_a_stated_height_say_that_no_ascent_rule_holds(tmp_path, height, said):
    """People must know on which height the plan does not climb slowly."""
    files = drawn(tmp_path, (28.25, 39.25, 30.25, 40.75))
    (one,) = ground(tmp_path, region_leg("R", "r1"), files, world=climate(height=height))
    assert one.height.basis == "cells"
    assert any("ascent rule" in words for words in one.cautions) == said


def test_kilometres_come_from_the_leg_else_from_the_line(tmp_path):
    """A degree of longitude at 40 north is 85.4 km (WGS84); the only leg takes all five."""
    line = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {},
                "geometry": {"type": "LineString", "coordinates": [[27.0, 40.0], [32.0, 40.0]]},
            }
        ],
    }
    (tmp_path / "route.geojson").write_text(json.dumps(line), encoding="utf-8")
    files = drawn(tmp_path, (28.0, 39.25, 30.0, 40.75)) + 'route = "route.geojson"\n'
    drawn_km = slept(tmp_path, region_leg("R", "r1"), files)
    stated_km = slept(tmp_path, region_leg("R", "r1", "kilometres = 300"), files)
    assert drawn_km.legs[0].kilometres == pytest.approx(5 * 85.4, abs=1)
    assert stated_km.legs[0].kilometres == 300
    # The line enters the region one degree from its start.
    assert {drawn_km.legs[0].approach_km, stated_km.legs[0].approach_km} == {85.0}
    assert drawn_km.ground(0).footprint.kind == "line"
    assert set(drawn_km.ground(0).footprint.latitude) == {40.0}


def test_drive_longer_than_the_longest_stay_is_refused(tmp_path):
    """900 km at 200 km a day are five days, and four nights are the most."""
    with pytest.raises(InputError) as caught:
        ground(tmp_path, leg("A", nights="[2, 3, 4]", more="kilometres = 900"))
    (problem,) = caught.value.problems
    assert (problem.key, problem.got) == ("legs[1].nights", "at most 4")
    assert problem.expected == "at least 5 nights for 900 km at 200 km a day"


def test_second_visit_shares_the_ground(tmp_path):
    """The same place twice is one page."""
    one, other, last = ground(tmp_path, leg("A"), leg("B", (41.0, 31.0)), leg("A, return"))
    assert one.id == last.id != other.id


FLOOD = """
[[hazards]]
legs = ["A, return"]
kind = "flood"
level = "prohibitive"
source = "river office"
"""


@pytest.mark.parametrize(
    ("more", "rows"), [('note = "by the mill"', ""), ("room_price = 9", ""), ("", FLOOD)]
)
def test_second_visit_with_words_of_its_own_has_ground_of_its_own(tmp_path, more, rows):
    """A hazard row, a note or a price of the second visit must not be lost in the first's."""
    one, _, last = ground(
        tmp_path, leg("A"), leg("B", (41.0, 31.0)), leg("A, return", more=more), rows
    )
    assert one.id != last.id


@pytest.mark.parametrize(
    ("more", "settings", "measured", "said"),
    [
        ('site = "slope"', "", False, "a mean of 3.5 m/s over open land"),
        ('site = "slope"', "\n[settings]\nopen_land_wind = 8\n", False, "a mean of 8 m/s"),
        ('site = "slope"', "", True, ""),
        ("", "", False, ""),
    ],
)
def test_wind_from_a_site_word_alone_is_said_to_be_assumed(
    tmp_path, more, settings, measured, said
):
    """No night spoiled by an assumed breeze is no promise, least of all in Patagonia."""
    world = climate()
    if measured:
        world["wind_speed"] = world["air_temperature"].copy().assign_attrs(units="m s-1")
    (one,) = ground(tmp_path, leg("A", more=more), settings, world=world)
    told = [words for words in one.cautions if words.startswith("Wind is assumed, not known")]
    assert len(told) == bool(said) and said in "".join(told)


def test_ids_keep_the_letters_under_accents(tmp_path):
    """Page names are read by people; one letter in two code points is the same."""
    names = ("Chaltén", "Uyuni y Li\u0301pez", "Łódź")
    found = ground(tmp_path, *(leg(name, (40.0, 29.0 + n)) for n, name in enumerate(names)))
    # The stroke of Ł is no accent: Unicode gives it no base letter.
    assert [one.id for one in found] == ["chalten", "uyuni-y-lipez", "odz"]


@pytest.mark.parametrize("name", ["../../x", "Шёлковый путь", "<b>", "CON", "a" * 200, "."])
def test_ids_are_safe_in_file_names(tmp_path, name):
    """Names are anything; file names are small letters, digits and hyphens."""
    found = ground(tmp_path, leg(name), leg(f"{name}!"[-200:], (41.0, 31.0)))
    ids = [one.id for one in found]
    assert len(set(ids)) == 2
    for ident in ids:
        assert 1 <= len(ident) <= 43
        assert set(ident) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


LINE = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {},
            "geometry": {"type": "LineString", "coordinates": [[27.0, 40.0], [32.0, 40.0]]},
        }
    ],
}


@pytest.mark.parametrize(
    ("more", "kilometres", "approach"),
    [
        ("", 427.0, 85.0),
        ("kilometres = 60", 60.0, 60.0),  # No longer way to it than all of it.
        ("approach_km = 30", 427.0, 30.0),
    ],
)
def test_what_a_leg_states_of_its_drive_wins_over_the_line(tmp_path, more, kilometres, approach):
    """The line is 5 degrees of 85.39 km, the region begins after one; told in whole kilometres."""
    (tmp_path / "route.geojson").write_text(json.dumps(LINE), encoding="utf-8")
    files = drawn(tmp_path, (28.0, 39.25, 30.0, 40.75)) + 'route = "route.geojson"\n'
    (one,) = slept(tmp_path, region_leg("R", "r1", more), files).legs
    assert (one.kilometres, one.approach_km) == (kilometres, approach)


def test_in_a_free_order_a_leg_drives_what_lies_in_its_region(tmp_path):
    """Who comes before is not known: 2 of 5 degrees, and no way to it; a place has none."""
    (tmp_path / "route.geojson").write_text(json.dumps(LINE), encoding="utf-8")
    files = drawn(tmp_path, (28.0, 39.25, 30.0, 40.75)) + 'route = "route.geojson"\n'
    legs = region_leg("R", "r1"), leg("A", (40.0, 31.0))
    where = slept(tmp_path, *legs, files, departure='order = "free"')
    assert [(one.kilometres, one.approach_km) for one in where.legs] == [(171.0, 0), (None, None)]


@pytest.mark.parametrize(("kilometres", "refused"), [(800, False), (801, True)])
def test_a_drive_may_take_all_of_the_longest_stay(tmp_path, kilometres, refused):
    """Four nights at 200 km a day."""
    text = leg("A", nights="[2, 3, 4]", more=f"kilometres = {kilometres}")
    if refused:
        with pytest.raises(InputError, match="at least 5 nights for 801 km at 200 km a day"):
            ground(tmp_path, text)
    else:
        ground(tmp_path, text)


def cautions(height=None, cells=3, dropped=0.0, low=100.0, mean=100.0, high=100.0):
    """Return what is said of a place of that many cells and heights."""
    footprint = SimpleNamespace(weight=np.full(cells, 1 / cells), dropped_share=dropped)
    height = CampHeight(100.0, None, "cells") if height is None else height
    return " ".join(_cautions(height, footprint, low, mean, high))


def test_nothing_is_said_of_a_plain_place():
    """Three cells of one height, all with data."""
    assert cautions() == ""


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"low": 100.0, "high": 901.0},
            "Steep country: its climate cells lie between 100 and 901",
        ),
        ({"height": CampHeight(901.0, None, "stated")}, "The camps lie 801 m above the mean"),
        ({"height": CampHeight(-701.0, None, "stated")}, "The camps lie 801 m below the mean"),
        ({"height": CampHeight(2501.0, 100.0, "map"), "mean": 2501.0}, "2,501 m is read from a"),
        ({"height": CampHeight(np.nan, None, "cells")}, "No height is known here"),
        ({"mean": np.nan, "height": CampHeight(9.0, None, "stated")}, "could not correct them"),
        ({"cells": 2}, "Rests on one or two climate cells"),
        ({"dropped": 0.01}, "1 % of the area has no climate data"),
        ({"dropped": 0.75}, "75 % of the area has no climate data"),
    ],
)
def test_what_to_know_of_a_figure(changes, words):
    """Just beyond its border each is said, and nothing else."""
    said = cautions(**changes)
    assert words in said and said.count(". ") <= 1


@pytest.mark.parametrize(
    "changes",
    [
        {"low": 100.0, "high": 900.0},
        {"height": CampHeight(900.0, None, "stated")},
        {"height": CampHeight(-700.0, None, "stated")},
        {"height": CampHeight(2500.0, 100.0, "map"), "mean": 2500.0},
        {"height": CampHeight(2501.0, None, "stated"), "mean": 2501.0},
        {"height": CampHeight(500.0, None, "stated"), "low": 0.0, "high": 900.0},
        {"dropped": 0.0099},
        {"mean": np.nan},
    ],
)
def test_up_to_its_border_nothing_is_said(changes):
    """800 m of relief, 2,500 m where the ascent rule starts, a hundredth of the area."""
    assert cautions(**changes) == ""


def test_heights_of_cells_are_told_as_lowest_mean_and_highest(tmp_path):
    """Two camps in cells of 200 and 800 m: half of each is 500 m."""
    height = np.full(SHAPE, 200.0)
    height[LATITUDE >= 41.0] = 800.0
    both = "[[legs]]\nname = 'P'\npoints = [[39.0, 28.0], [42.0, 31.0]]\nnights = 4\n"
    (one,) = ground(tmp_path, both, world=climate(height=height))
    assert one.cell_elevation == pytest.approx((200.0, 500.0, 800.0))


def test_boxes_join_over_the_narrowest_span():
    """Parts at 10-20, 12-14 and 100-110 degrees; over 180 the way round Greenwich is longer."""
    assert _short_way(np.array([100.0, 10, 12]), np.array([110.0, 20, 14])) == (10.0, 110.0)
    assert _short_way(np.array([170.0, -175]), np.array([175.0, -170])) == (170.0, -170.0)
    assert _short_way(np.array([-30.0]), np.array([40.0])) == (-30.0, 40.0)


def test_box_near_a_pole_and_the_meridian():
    """A degree of margin, cut at 90 degrees south; at 178.9 east it does not reach 180."""
    box = journey_box([region_extent(shapely.box(178.0, -89.5, 178.9, -80.0))])
    assert box == pytest.approx((177.0, -90.0, 179.9, -79.0))
    assert journey_box([region_extent(shapely.box(178.0, 0.0, 179.0, 1.0))])[2] == 180.0
    assert journey_box([region_extent(shapely.box(178.0, 0, 179.1, 1))])[:3] == (-180, -1, 180)


def test_places_of_like_names_are_numbered_from_two(tmp_path):
    """Names without letters for a file are legs."""
    names = ["A b", "A-b", "a_b", "山", "水"]
    legs = [leg(name, (40.0, 28.0 + n)) for n, name in enumerate(names)]
    assert [one.id for one in ground(tmp_path, *legs)] == ["a-b", "a-b-2", "a-b-3", "leg", "leg-2"]


def test_a_place_knows_the_legs_that_sleep_there(tmp_path):
    """Out, elsewhere, and back."""
    where = slept(tmp_path, leg("A"), leg("B", (41.0, 31.0)), leg("A, return"))
    first, other = where.grounds
    assert [one.name for one in where.visits(first)] == ["A", "A, return"]
    assert [one.name for one in where.visits(other)] == ["B"]
    assert where.by_leg(["x", "y"]) == ("x", "y", "x")
