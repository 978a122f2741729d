"""Exports read back by other means than those that wrote them."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from xml.etree import ElementTree

import geopandas
import pytest
from flat_place import flat_place
from sample_report import infeasible_report, sample_report

from sheltermap.report.exported import facts, line, plain
from sheltermap.report.exports import calendar, data, exported_files, geojson, route_file, table
from sheltermap.report.report import NOT_A_FORECAST, MetHazard, PlannedLeg
from sheltermap.vocabulary import Grade

NASTY = "Über; den, Pass \\n \"so\" <b>&amp;]]> 'x' " + "ß€𝄞" * 40
FLOOD = MetHazard("flood", "Flood", 2, 2, "", "", "stay off dry river beds", "river office")


def visit(number, name, arrive, nights, latitude, longitude, **details):
    """Return a leg with plain figures unless given, and its place."""
    figures = {
        "rough_nights": 1.25,
        "rough_bad_year": 2.5,
        "grade": int(Grade.WORKABLE),
        "limiting_factor": "cold",
        "hazards": (FLOOD,),
        "cautions": ("Check the pass before you go.",),
        **details,
    }
    place = flat_place(
        f"{number}", region=f"Place {number}", latitude=latitude, longitude=longitude
    )
    leg = PlannedLeg(
        leg=number - 1,
        name=name,
        place=place.id,
        arrive=arrive,
        leave=arrive + timedelta(days=nights),
        camp_reached=arrive,
        nights=nights,
        dangerous_nights=0.0,
        serious_nights=0,
        nights_by_factor={},
        close=False,
        not_checked=(),
        remedy=None,
        height=place.height,
        ascent="",
        **figures,
    )
    return leg, place


def told(*visits, title="Winter, and back", kit="Bedroll", route=((46.5, 8.25), (45.0, 9.0))):
    """Return the report of some visits."""
    sample = sample_report()
    legs, places = zip(*visits, strict=True)
    return replace(
        sample,
        trip=sample.trip.model_copy(update={"title": title}),
        kits=tuple(one.model_copy(update={"title": kit}) for one in sample.kits),
        best=replace(sample.best, legs=legs, rough_nights=2.5),
        places=places,
        route=route,
        made=date(2027, 1, 2),
    )


def with_legs(report, legs):
    """Return a report with other legs."""
    return replace(report, best=replace(report.best, legs=tuple(legs)))


VISITS = (
    visit(1, "Lake", date(2027, 12, 28), 6, 46.5, 8.25),
    visit(2, NASTY, date(2028, 1, 3), 1, -33.1234567, -0.0000001),
    visit(3, "Lake", date(2028, 1, 4), 60, 48.5, 6.25),
)
LEGS = tuple(leg for leg, _ in VISITS)
REPORT = told(*VISITS)


def unfolded(content):
    """Return the content lines of an iCalendar file (RFC 5545 section 3.1)."""
    assert content.endswith(b"\r\n") and b"\n" not in content.replace(b"\r\n", b"")
    for physical in content.split(b"\r\n"):
        assert len(physical) <= 75
        physical.decode("utf-8")  # No character is cut in two.
    return content.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")[:-1]


def text_value(escaped):
    """Return an iCalendar TEXT value without its escapes (RFC 5545 section 3.3.11)."""
    assert not re.search(r"(?<!\\)(?:\\\\)*[;,]", escaped), "unescaped separator"
    return re.sub(r"\\(.)", lambda m: "\n" if m[1] in "nN" else m[1], escaped)


def events(content):
    """Return the events of an iCalendar file as dictionaries of raw values."""
    found = []
    for content_line in unfolded(content):
        name, value = content_line.split(":", 1)
        if content_line == "BEGIN:VEVENT":
            found.append({})
        elif found:
            found[-1].setdefault(name, value)
    return found


def day(value):
    """Return an iCalendar date."""
    return datetime.strptime(value, "%Y%m%d").date()


def test_calendar_read_back_is_the_same_plan():
    """Names, days, places and cautions survive an independent reading of RFC 5545."""
    found = events(calendar(REPORT))
    assert [
        (
            text_value(event["SUMMARY"]),
            text_value(event["LOCATION"]),
            day(event["DTSTART;VALUE=DATE"]),
            day(event["DTEND;VALUE=DATE"]),
        )
        for event in found
    ] == [(line(leg.name), place.region, leg.arrive, leg.leave) for leg, place in VISITS]
    assert [event["GEO"] for event in found] == ["46.5;8.25", "-33.123457;0.0", "48.5;6.25"]
    for event in found:
        first, *more = text_value(event["DESCRIPTION"]).split("\n")
        assert more == [
            "Flood, serious: stay off dry river beds (river office)",
            "Check the pass before you go.",
            NOT_A_FORECAST,
        ]
        assert "1.2 rough nights expected" in first and "grade workable" in first
        assert event["DTSTAMP"] == "20270102T000000Z"
        assert event["TRANSP"] == "TRANSPARENT"
    assert len({event["UID"] for event in found}) == 3


def test_calendar_has_what_the_standard_requires():
    """One calendar object with product id and version, and every component closed."""
    lines = unfolded(calendar(REPORT))
    assert lines[0] == "BEGIN:VCALENDAR" and lines[-1] == "END:VCALENDAR"
    assert "VERSION:2.0" in lines and any(part.startswith("PRODID:") for part in lines)
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 3


def test_events_keep_their_id_when_dates_change():
    """A later plan of the same trip replaces the events instead of doubling them."""
    later = with_legs(
        REPORT, [replace(leg, arrive=leg.arrive + timedelta(9)) for leg in LEGS[::-1]]
    )
    ids = [event["UID"] for event in events(calendar(REPORT))]
    assert [event["UID"] for event in events(calendar(later))] == ids[::-1]


def test_files_are_stamped_without_a_clock():
    """The report's date; without one the day of departure, in UTC as calendars require."""
    undated = replace(REPORT, made=None, best=replace(REPORT.best, depart=date(2027, 12, 28)))
    assert events(calendar(undated))[0]["DTSTAMP"] == "20271228T000000Z"


def test_without_a_plan_there_are_no_files():
    """Nothing is feasible: nothing is exported, and a single format is refused."""
    assert exported_files(infeasible_report()) == {}
    with pytest.raises(ValueError, match="expected one with a plan"):
        calendar(infeasible_report())


GPX = "{http://www.topografix.com/GPX/1/1}"


def test_gpx_read_back_is_the_same_plan():
    """Waypoints and route points carry order, names, dates and places."""
    root = ElementTree.fromstring(route_file(REPORT))
    assert root.tag == f"{GPX}gpx" and root.get("version") == "1.1" and root.get("creator")
    for points in (root.findall(f"{GPX}wpt"), root.findall(f"{GPX}rte/{GPX}rtept")):
        read = []
        for point in points:
            number, name = point.findtext(f"{GPX}name").split(". ", 1)
            dates = re.match(r"(\S+) to (\S+), (\d+) night", point.findtext(f"{GPX}desc"))
            read.append((int(number), name, date.fromisoformat(dates[1]),
                         date.fromisoformat(dates[2]), int(dates[3])))  # fmt: skip
        assert read == [
            (number, line(leg.name), leg.arrive, leg.leave, leg.nights)
            for number, leg in enumerate(LEGS, start=1)
        ]
        for point, (_, place) in zip(points, VISITS, strict=True):
            assert float(point.get("lat")) == pytest.approx(place.latitude, abs=5e-7)
            assert float(point.get("lon")) == pytest.approx(place.longitude, abs=5e-7)
            assert "e" not in point.get("lon")
            assert "not on a forecast" in point.findtext(f"{GPX}desc")
    track = root.findall(f"{GPX}trk/{GPX}trkseg/{GPX}trkpt")
    assert [(float(p.get("lat")), float(p.get("lon"))) for p in track] == list(REPORT.route)
    # GPX 1.1 is a sequence: metadata, waypoints, routes, tracks.
    order = [child.tag.removeprefix(GPX) for child in root]
    assert order == ["metadata", "wpt", "wpt", "wpt", "rte", "trk"]


def test_table_read_back_is_the_same_plan():
    """A CSV reader gets every leg, and figures as figures."""
    rows = list(csv.DictReader(io.StringIO(table(REPORT).decode("utf-8-sig"), newline="")))
    assert [
        (row["name"], row["arrive"], row["leave"], int(row["nights"]), float(row["latitude"]))
        for row in rows
    ] == [
        (line(leg.name), str(leg.arrive), str(leg.leave), leg.nights, round(place.latitude, 6))
        for leg, place in VISITS
    ]
    assert rows[0]["cautions"] == "Check the pass before you go."


def test_table_says_what_was_not_checked():
    """An empty hazards cell alone would read as safe."""
    leg = replace(REPORT.best.legs[0], not_checked=("flood", "wildfire"))
    report = replace(REPORT, best=replace(REPORT.best, legs=(leg, *REPORT.best.legs[1:])))
    rows = list(csv.DictReader(io.StringIO(table(report).decode("utf-8-sig"), newline="")))
    assert rows[0]["not_checked"] == "flood wildfire"
    assert [row["not_checked"] for row in rows[1:]] == ["", ""]


@pytest.mark.parametrize(
    "formula",
    ["=1+1", "+1", "-1", "@SUM(1)", "\t=1", "\r\n=1", " =1", "＝1", "x;=1", "x; +1", "\x00=1"],
)
def test_table_holds_no_formula(formula):
    """No text cell, nor the text after a semicolon, starts with what a spreadsheet runs."""
    report = told(visit(1, formula, date(2027, 12, 28), 6, -33.5, 9.0, cautions=(formula,)))
    row = next(csv.DictReader(io.StringIO(table(report).decode("utf-8-sig"), newline="")))
    for cell in (row["name"], row["cautions"]):
        for part in cell.split(";"):
            assert part.strip()[:1] not in set("=+-@＝＋－＠\t\r")
    # Our own figures stay figures: a southern latitude keeps its sign.
    assert b",-33.5," in table(report)


def test_geojson_read_back_is_the_same_plan(tmp_path):
    """A geographic reader finds the legs where they are, longitude first."""
    path = tmp_path / "plan.geojson"
    path.write_bytes(geojson(REPORT))
    frame = geopandas.read_file(path)
    assert frame.crs.to_epsg() == 4326
    legs = frame[frame.geometry.geom_type == "Point"]
    assert legs["name"].tolist() == [line(leg.name) for leg in LEGS]
    assert legs.geometry.y.tolist() == pytest.approx([46.5, -33.123457, 48.5])
    assert legs.geometry.x.tolist() == pytest.approx([8.25, 0.0, 6.25])
    drawn = frame[frame.geometry.geom_type == "MultiLineString"].geometry.iloc[0]
    assert [list(part.coords) for part in drawn.geoms] == [[(8.25, 46.5), (9.0, 45.0)]]


@pytest.mark.parametrize(
    ("points", "lines"),
    [
        # From 179 E to 179 W is 2 degrees; the line is cut half way, at latitude 61.
        (((60, 179), (62, -179)), [[[179, 60], [180, 61]], [[-180, 61], [-179, 62]]]),
        (((60, -179), (62, 179)), [[[-179, 60], [-180, 61]], [[180, 61], [179, 62]]]),
        (((60, 90), (62, -89)), [[[90, 60], [-89, 62]]]),
    ],
)
def test_line_is_cut_at_180_degrees(points, lines):
    """RFC 7946 section 3.1.9: no line jumps around the world."""
    features = json.loads(geojson(replace(REPORT, route=points)))["features"]
    assert features[-1]["geometry"]["coordinates"] == lines


def test_json_read_back_is_the_same_plan():
    """Dates, figures and text come back as they were."""
    read = json.loads(data(REPORT))
    assert (read["depart"], read["finish"]) == ("2027-12-28", "2028-03-04")
    assert (read["title"], read["kit"], read["rough_nights"]) == (
        "Winter, and back",
        "Bedroll",
        2.5,
    )
    assert [leg["rough_nights"] for leg in read["legs"]] == [1.25] * 3
    assert read["legs"][1]["name"] == line(NASTY)


def test_missing_figures_stay_missing():
    """Unknown rough nights and grades are null or absent, never zero."""
    unknown = visit(1, "x", date(2027, 12, 28), 6, 46.5, 8.25, rough_nights=math.nan, grade=-1,
                    limiting_factor="")  # fmt: skip
    report = told(unknown, route=())
    report = replace(report, best=replace(report.best, rough_nights=math.nan))
    read = json.loads(data(report))
    assert read["rough_nights"] is None
    for key in ("rough_nights", "grade", "limiting_factor"):
        assert read["legs"][0][key] is None
    assert "rough nights unknown" in text_value(events(calendar(report))[0]["DESCRIPTION"])
    assert [
        feature["geometry"]["type"] for feature in json.loads(geojson(report))["features"]
    ] == ["Point"]


def test_hostile_text_breaks_no_format():
    """Control characters, lone surrogates and markup survive as harmless text or vanish."""
    hostile = "a\x00b\x1b\ud800\ufffe\r\nEND:VEVENT\r\n]]></name><wpt lat='1' lon='2'/>\u0085"
    flood = replace(FLOOD, note=hostile, source=hostile)
    details = {"cautions": (hostile,), "hazards": (flood,)}
    one = visit(1, hostile, date(2027, 12, 28), 6, 46.5, 8.25, **details)
    files = exported_files(told(one, title=hostile, kit=hostile))
    assert sorted(files) == ["plan.csv", "plan.geojson", "plan.gpx", "plan.ics", "plan.json"]
    assert unfolded(files["plan.ics"]).count("END:VEVENT") == 1
    assert len(ElementTree.fromstring(files["plan.gpx"]).findall(f"{GPX}wpt")) == 1
    expected = "ab END:VEVENT ]]></name><wpt lat='1' lon='2'/>"
    assert json.loads(files["plan.json"])["legs"][0]["name"] == expected
    assert plain("a\tb\nc") == "a\tb\nc"


def test_same_plan_same_bytes():
    """Nothing depends on the clock or on chance."""
    assert exported_files(REPORT) == exported_files(told(*VISITS))


@pytest.mark.parametrize(
    ("details", "words"),
    [
        ({}, "2027-12-28 to 2028-01-03, 6 nights, 1.2 rough nights expected, grade workable"),
        ({"grade": int(Grade.SOUND)}, "grade sound"),
        ({"grade": -1, "limiting_factor": ""}, "rough nights expected, with bedroll."),
    ],
)
def test_facts_of_a_leg_are_one_sentence(details, words):
    """The best grade has code nought; an unknown one and no cause are left out."""
    leg, _ = visit(1, "Lake", date(2027, 12, 28), 6, 46.5, 8.25, **details)
    assert words in facts(leg, "bedroll")


def test_one_night_is_no_nights():
    """By its number alone."""
    leg, _ = visit(1, "Lake", date(2027, 12, 28), 1, 46.5, 8.25)
    assert ", 1 night, " in facts(leg, "bedroll")


@pytest.mark.parametrize(
    ("route", "tracks"), [((), 0), (((46.5, 8.25),), 0), (((46.5, 8.25), (45.0, 9.0)), 1)]
)
def test_a_track_has_two_points_at_least(route, tracks):
    """Where nothing is known of the way but one point, there is none."""
    root = ElementTree.fromstring(route_file(replace(REPORT, route=route)))
    assert len(root.findall(f"{GPX}trk")) == tracks


def test_without_a_route_the_line_joins_the_legs():
    """From leg to leg in travel order; a leg alone draws none."""
    drawn = json.loads(geojson(replace(REPORT, route=())))["features"][-1]["geometry"]
    assert drawn["coordinates"] == [[[8.25, 46.5], [0.0, -33.123457], [6.25, 48.5]]]


@pytest.mark.parametrize(
    ("points", "lines"),
    [
        # Half round the world is as far one way as the other: it is not cut.
        (((60, 90), (62, -90)), [[[90, 60], [-90, 62]]]),
        (((60, 90), (60, -90.5)), [[[90, 60], [180, 60]], [[-180, 60], [-90.5, 60]]]),
        # 170 E to 170 W is 20 degrees, cut half way; 175 to 170 W 15, cut a third of the way.
        (((60, 170), (62, -170)), [[[170, 60], [180, 61]], [[-180, 61], [-170, 62]]]),
        (((60, 175), (63, -170)), [[[175, 60], [180, 61]], [[-180, 61], [-170, 63]]]),
        (((63, -170), (60, 175)), [[[-170, 63], [-180, 61]], [[180, 61], [175, 60]]]),
    ],
)
def test_line_is_cut_where_it_meets_180_degrees(points, lines):
    """At the latitude that it has there, going straight on the map."""
    features = json.loads(geojson(replace(REPORT, route=points)))["features"]
    assert features[-1]["geometry"]["coordinates"] == lines


def test_json_has_the_figures_of_the_whole_plan():
    """Each under its own name, to the step that scores are stored in."""
    figures = {
        "rough_nights": 10.12345678, "rough_low": 6.25, "rough_high": 15.5,
        "rough_bad_year": 14.125, "dangerous_nights": 0.75, "serious_nights": 7, "nights": 67,
    }  # fmt: skip
    report = replace(REPORT, best=replace(REPORT.best, **figures))
    read = json.loads(data(report))
    assert read["rough_nights"] == 10.123457
    assert read["rough_nights_range"] == [6.25, 15.5]
    assert (read["rough_nights_bad_year"], read["dangerous_nights"]) == (14.125, 0.75)
    assert (read["serious_nights"], read["nights"]) == (7, 67)
    assert [leg["leg"] for leg in read["legs"]] == [1, 2, 3]
    assert [leg["id"] for leg in read["legs"]] == ["leg-1", "leg-2", "leg-3"]
    assert [leg["rough_nights_bad_year"] for leg in read["legs"]] == [2.5] * 3
    assert read["cautions"] == [NOT_A_FORECAST]


def test_json_tells_load_and_money_where_they_are_known():
    """The chosen kit's row, the margin of the load; null where nothing was weighed."""
    sample = sample_report()
    read = json.loads(data(sample))
    assert read["load_margin_kg"] == sample.load.margin_kg
    assert read["money"] == {
        "kit_and_fuel": sample.comparison.rows[0].journey_money,
        "budget": sample.trip.money.budget,
        "currency": "EUR",
    }
    bare = json.loads(data(replace(sample, load=None, comparison=None)))
    assert bare["load_margin_kg"] is None and bare["money"] is None


def test_table_has_a_column_for_each_key_of_a_leg():
    """A CSV reader finds the keys that JSON has, signs and hazards as words."""
    rows = list(csv.DictReader(io.StringIO(table(REPORT).decode("utf-8-sig"), newline="")))
    first = json.loads(data(REPORT))["legs"][0]
    assert list(rows[0]) == list(first)
    assert rows[0]["hazards"] == "Flood, serious: stay off dry river beds (river office)"
    assert (rows[1]["leg"], rows[1]["longitude"], rows[1]["nights"]) == ("2", "0.0", "1")


@pytest.mark.parametrize("grade", list(Grade))
def test_every_grade_has_its_word_in_files(grade):
    """From sound, whose code is nought, to unfit."""
    report = told(visit(1, "x", date(2027, 12, 28), 6, 46.5, 8.25, grade=int(grade)))
    assert json.loads(data(report))["legs"][0]["grade"] == grade.word
