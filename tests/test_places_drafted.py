"""Routes made into legs: cut at named points, or where climate and country change."""

import tomllib
from itertools import pairwise

import numpy as np
import pytest
import shapely
import xarray as xr
from click.testing import CliRunner

from sheltermap.cli import main
from sheltermap.places import drafted
from sheltermap.places import stretches as cut
from sheltermap.places.drafted import DraftLeg, draft, trip_text
from sheltermap.places.lands import countries_at
from sheltermap.places.route import Line
from sheltermap.trip.model import read_trip
from sheltermap.trip.route import RouteFile, Waypoint

DEGREE_KM = 85.394  # Of longitude at 40 north on WGS84.


def route(*waypoints, line=((28, 40), (33, 40)), heights=()):
    """Return a route along 40 north, in Anatolia."""
    known = np.array(heights, dtype=float).reshape(-1, 3)
    return RouteFile(shapely.MultiLineString([list(line)]), known, waypoints, "")


def test_named_points_become_camps_in_the_order_of_the_line():
    """At 32, 29 and 30.5: 1 degree, 1.5, 1.5 and a degree more to the end."""
    legs = draft(
        route(Waypoint("C", 40.1, 32), Waypoint("A", 40, 29, 700), Waypoint("B", 39.9, 30.5))
    ).legs
    assert [leg.name for leg in legs] == ["A", "B", "C"]
    expected = [DEGREE_KM, 1.5 * DEGREE_KM, 2.5 * DEGREE_KM]
    assert [leg.kilometres for leg in legs] == pytest.approx(expected, abs=1)
    assert [leg.elevation_m for leg in legs] == [700, None, None]
    assert {leg.country for leg in legs} == {"Turkey"}


def test_points_far_from_the_line_are_told():
    """A sight 110 km off is no camp of this line."""
    found = draft(route(Waypoint("A", 40, 29), Waypoint("Far", 41, 29)))
    assert [leg.name for leg in found.legs] == ["A"]
    assert found.told == ("Left out 1 named point more than 50 km from the line.",)


def test_too_many_points_do_not_become_legs():
    """A log of 61 springs is no plan of a journey."""
    springs = [Waypoint(f"Spring {n}", 40, 28 + n / 13) for n in range(61)]
    found = draft(route(*springs))
    assert len(found.legs) < 20 and "61 named points are too many" in found.told[0]


def test_heights_are_the_middle_of_the_line_near_the_camp():
    """900, 1,000 and 2,000 m within 5 km: 1,000; what lies elsewhere does not count."""
    heights = [(29.0, 40, 900), (29.02, 40, 1000), (28.98, 40, 2000), (30, 40, 9)]
    (leg,) = draft(route(Waypoint("A", 40, 29), heights=heights)).legs
    assert leg.elevation_m == 1000
    (leg,) = draft(route(Waypoint("A", 40, 29), heights=[(29.0, 40, 1234)])).legs
    assert leg.elevation_m == 1230, "to tens: the file's own error is larger"


def test_nights_are_proposed_from_the_days_of_driving():
    """500 km at 200 km a day are 3 days: from 3 nights, best half as many more, at most 9."""
    assert DraftLeg("A", "", ((40.0, 29.0),), 500.0, None, None).nights == (3, 5, 9)
    assert DraftLeg("A", "", ((40.0, 29.0),), None, None, None).nights == (1, 2, 3)


def test_high_camps_are_left_for_the_traveller_to_state():
    """The ascent rule binds stated heights; the line's own may be a pass between two camps."""
    text = trip_text([DraftLeg("A", "", ((40.0, 29.0),), 90.0, 3400.0, None)], "r.gpx", 2027)
    assert "# camp_elevation_m = 3400" in text
    assert "camp_elevation_m" not in tomllib.loads(text)["legs"][0]


@pytest.mark.parametrize("name", ['Say "hi" \\ bye', "two\nlines\tand\x07bells", "Ünïted 山", " "])
def test_names_of_any_kind_give_a_trip_that_reads(tmp_path, name):
    """Names come from files; quotes and line ends in them are text."""
    legs = draft(route(Waypoint(name, 40, 29), Waypoint(name, 40, 31))).legs
    (tmp_path / "trip.toml").write_text(trip_text(legs, "r.gpx", 2027), encoding="utf-8")
    first, second = (leg.name for leg in read_trip(tmp_path).legs)
    assert second == f"{first}, 2"


@pytest.mark.parametrize(("step", "pieces"), [(1.0, [(0, 39), (40, 79)]), (0.4, [(0, 79)])])
def test_a_line_is_cut_where_the_climate_changes(step, pieces):
    """800 km, two halves alike in themselves.

    By one difference that is noticed: half of it to each side of the mean, so a cut saves 800
    x 0.25 = 200 km, more than the 100 it costs. By 0.4: 800 x 0.04 = 32, and it stays whole.
    """
    climate = np.repeat([[0.0], [step]], 40, axis=0)
    assert list(cut._alike(climate, 10.0, cut.LEG_WORTH_KM)) == pieces


def test_pieces_are_the_best_of_all(monkeypatch):
    """Every way to cut nine steps, tried one by one."""
    monkeypatch.setattr(cut, "SHORTEST_KM", 20.0)
    climate = np.random.default_rng(3).normal(size=(9, 2)) * 3

    def cost(bounds):
        parts = [climate[a:b] for a, b in pairwise(bounds)]
        return sum(10 * ((part - part.mean(axis=0)) ** 2).sum() + 60 for part in parts)

    ways = [[0, *(n for n in range(1, 9) if chosen >> (n - 1) & 1), 9] for chosen in range(2**8)]
    allowed = [way for way in ways if min(np.diff(way)) >= 2]
    ours = [first for first, _ in cut._alike(climate, 10.0, 60.0)]
    assert [*ours, 9] == min(allowed, key=cost)


def test_countries_are_those_of_the_map():
    """Istanbul, Kabul, the middle of the Pacific."""
    longitude, latitude = np.array([28.95, 69.2, -150.0]), np.array([41.0, 34.5, 10.0])
    assert countries_at(longitude, latitude) == ["Turkey", "Afghanistan", ""]


def test_a_road_along_a_border_is_not_cut_at_each_crossing(monkeypatch):
    """Stretches under 40 km, and water, belong to the country before."""
    lands = ["A"] * 5 + ["B"] * 2 + ["A"] * 3 + [""] * 9 + ["B"] * 5
    monkeypatch.setattr(cut, "countries_at", lambda *_: lands)
    line = Line(np.zeros(24), np.zeros(24), 15.0)
    found = [(one.country, one.first, one.last) for one in cut._lands(line)]
    assert found == [("A", 0, 18), ("B", 19, 23)]


def test_a_route_and_an_example_are_two_starts(tmp_path):
    """One of them would be dropped in silence."""
    arguments = ["new", str(tmp_path / "x"), "--route", "r.gpx", "--example", "starter"]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2 and "Leave one out" in result.output


def test_a_wrong_route_writes_nothing(tmp_path):
    """No half trip stays behind."""
    (tmp_path / "r.gpx").write_text("<gpx", encoding="utf-8")
    result = CliRunner().invoke(
        main, ["new", str(tmp_path / "x"), "--route", str(tmp_path / "r.gpx")]
    )
    assert result.exit_code == 2 and "valid GPX" in result.stderr
    assert not (tmp_path / "x").exists()


def leg(**changes):
    """Return a proposed leg of one camp, changed."""
    usual = {
        "name": "A to B",
        "country": "Turkey",
        "points": ((40.0, 29.0),),
        "kilometres": 90.4,
        "elevation_m": None,
        "site": None,
    }
    return DraftLeg(**usual | changes)


@pytest.mark.parametrize(
    ("kilometres", "nights"),
    [(0.0, (1, 2, 3)), (200.0, (1, 2, 3)), (201.0, (2, 3, 6)), (1000.0, (5, 8, 15))],
)
def test_nights_go_with_whole_days_of_driving(kilometres, nights):
    """200 km a day; half as many more are preferred, rounded up."""
    assert leg(kilometres=kilometres).nights == nights


def test_a_leg_is_written_with_what_is_known_of_it():
    """A place or points, kilometres where the line has them, a word for the lie of the camp."""
    one = leg(elevation_m=1230.0, site="valley")
    several = leg(country="", points=((40.0, 29.0), (40.5, 30.25)), kilometres=None)
    written = tomllib.loads(trip_text([one, several], "r.gpx", 2027))["legs"]
    assert written == [
        {
            "name": "A to B",
            "note": "Turkey.",
            "place": [40.0, 29.0],
            "nights": [1, 2, 3],
            "kilometres": 90,
            "camp_elevation_m": 1230,
            "site": "valley",
        },
        {"name": "A to B", "points": [[40.0, 29.0], [40.5, 30.25]], "nights": [1, 2, 3]},
    ]


@pytest.mark.parametrize(("height", "stated"), [(2499.0, True), (2500.0, False)])
def test_heights_from_2500_m_on_are_left_to_the_traveller(height, stated):
    """There the ascent rule begins (Wilderness Medical Society)."""
    text = trip_text([leg(elevation_m=height)], "r.gpx", 2027)
    assert ("camp_elevation_m" in tomllib.loads(text)["legs"][0]) is stated
    assert ("state where you will sleep" in text) is not stated


def test_a_trip_has_a_year_to_leave_in_and_all_nights_to_finish():
    """Most nights 6 and 3: nine days after the last day of the year."""
    legs = [leg(name="Osh to Naryn", kilometres=250.0), leg(name="Naryn to Karakol")]
    trip = tomllib.loads(trip_text(legs, "r.gpx", 2027))
    departure = trip["departure"]
    assert [str(departure[key]) for key in ("earliest", "latest", "finish_by")] == [
        "2027-01-01", "2027-12-31", "2028-01-09",
    ]  # fmt: skip
    assert (trip["title"], trip["files"]["route"]) == ("Osh to Karakol", "r.gpx")
    there_and_back = [leg(name="Osh to Naryn"), leg(name="Naryn to Osh")]
    assert tomllib.loads(trip_text(there_and_back, "r", 2027))["title"] == "Osh"


def test_names_are_written_as_people_read_them():
    """Letters stay letters, not numbers of them."""
    assert 'name = "Ünïted 山"' in trip_text([leg(name="Ünïted 山")], "r.gpx", 2027)


def test_sixty_points_are_sixty_legs():
    """As many as a trip may have."""
    found = draft(route(*[Waypoint(f"Camp {n}", 40, 28 + n / 13) for n in range(60)]))
    assert len(found.legs) == 60 and found.told == ()


def test_points_left_out_are_counted():
    """Two of three; a line that the reader left out is told before."""
    far = [Waypoint("Far", 41, 29), Waypoint("Off", 42, 29), Waypoint("A", 40, 29)]
    found = draft(RouteFile(route().line, np.empty((0, 3)), tuple(far), "Left out one line."))
    assert found.told == (
        "Left out one line.", "Left out 2 named points more than 50 km from the line.",
    )  # fmt: skip


def steps(count, step_km=15.0):
    """Return a line along a parallel, a hundredth of a degree a step."""
    return Line(28 + 0.01 * np.arange(count), np.full(count, 40.0), step_km)


@pytest.mark.parametrize(
    ("first", "last", "at"),
    [
        (0, 39, [3, 10, 16, 23, 30, 36]),  # 600 km, but six points at most
        (10, 13, [12]),  # 60 km: the middle of four steps
        (10, 15, [11, 14]),  # 90 km: the middles of both halves
        (7, 7, [7]),
    ],
)
def test_camps_lie_evenly_along_a_stretch(first, last, at):
    """One every 60 km, a step is 15 km; whole steps, by hand."""
    found = drafted._points(steps(40), cut.Stretch("Turkey", first, last))
    assert found == tuple((40.0, pytest.approx(28 + 0.01 * n)) for n in at)


def test_legs_between_are_named_by_the_towns_at_their_ends(monkeypatch):
    """Three stretches of two, three and one steps of 15 km; the last ends where it began."""
    found = [cut.Stretch("A", 0, 1), cut.Stretch("A", 2, 4), cut.Stretch("B", 5, 5)]
    towns = {0: "Osh", 1: "Naryn", 4: "Karakol", 5: "Karakol"}

    class Towns:
        def town(self, latitude, longitude):
            return Waypoint(towns[round((longitude - 28) * 100)], latitude, longitude)

    monkeypatch.setattr(drafted, "stretches", lambda *_: found)
    monkeypatch.setattr(drafted, "gazetteer", Towns)
    legs = list(drafted._legs_between(route(), steps(6)))
    assert [(one.name, one.country, one.kilometres) for one in legs] == [
        ("Osh to Naryn", "A", 30.0),
        ("Naryn to Karakol", "A", 45.0),
        ("Around Karakol", "B", 15.0),
    ]


@pytest.mark.parametrize(
    ("relief", "map_m", "height", "site"),
    [
        ((10.0, 24.0), (500.0, 500.0), None, "plain"),
        ((10.0, 25.0), (500.0, 500.0), None, None),
        ((90.0, 90.0), (900.0, 1000.0), 799.0, "valley"),
        ((90.0, 90.0), (900.0, 1000.0), 800.0, None),
        ((90.0, 90.0), (900.0, 1000.0), None, None),
        ((10.0, np.nan), (500.0, 500.0), 100.0, None),
    ],
)
def test_lie_of_camps_by_the_map(monkeypatch, relief, map_m, height, site):
    """Plain below 25 m of relief at every camp; a valley more than 150 m below their mean."""
    ground = xr.Dataset({"relief": ("place", list(relief)), "elevation": ("place", list(map_m))})
    monkeypatch.setattr(drafted, "heights_at", lambda *_: ground)
    assert drafted._site(((40.0, 29.0), (40.0, 30.0)), height) == site


@pytest.mark.parametrize(("north", "height"), [(0.044, 1200.0), (0.046, None)])
def test_heights_within_5_km_are_a_camps(north, height):
    """A degree of latitude is 111.2 km: 4.9 km and 5.1 km; elsewhere nothing is known."""
    known = route(heights=[(29.0, 40 + north, 1204), (33.0, 40.0, 9)])
    assert drafted._height(known, ((40.0, 29.0),)) == height


def test_heights_of_several_camps_are_counted_together():
    """700, 800 and 1,500 m: the one in the middle."""
    known = route(heights=[(29.0, 40.0, 700), (30.0, 40.0, 800), (30.0, 40.01, 1500)])
    assert drafted._height(known, ((40.0, 29.0), (40.0, 30.0))) == 800.0


def test_names_are_numbered_from_two_and_cut():
    """A trip may not hold two legs of one name, or a name of more than 100 letters."""
    assert drafted._each_its_own(["A", "A", "\t", "A", "", "B\nC"]) == [
        "A", "A, 2", "Camp", "A, 3", "Camp, 2", "B C",
    ]  # fmt: skip
    assert drafted._each_its_own(["x" * 101]) == ["x" * 100]
