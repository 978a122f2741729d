"""Exports read back by other means than those that wrote them."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from xml.etree import ElementTree

import geopandas
import pytest

from sheltermap.report.exported import ExportedLeg, ExportedPlan, line, plain
from sheltermap.report.exports import calendar, data, exported_files, geojson, route_file, table

NASTY = "Über; den, Pass \\n \"so\" <b>&amp;]]> 'x' " + "ß€𝄞" * 40
DAWN = datetime(2027, 1, 2, 3, 4, 5, tzinfo=UTC)


def leg(number, name, arrive, nights, **details):
    """Return a leg with plain figures unless given."""
    details = {
        "rough_nights": 1.25,
        "grade": "workable",
        "limiting_factor": "cold",
        "latitude": 45.5 + number,
        "longitude": 9.25 - number,
        "hazards": ("Flood: stay off dry river beds.",),
        "cautions": ("Check the pass before you go.",),
        **details,
    }
    leave = arrive + timedelta(days=nights)
    return ExportedLeg(f"leg-{number}", name, f"Place {number}", arrive, leave, nights, **details)


PLAN = ExportedPlan(
    title="Winter, and back",
    kit="Bedroll",
    direction="forward",
    rough_nights=2.5,
    legs=(
        leg(1, "Lake", date(2027, 12, 28), 6),
        leg(2, NASTY, date(2028, 1, 3), 1, latitude=-33.1234567, longitude=-0.0000001),
        leg(3, "Lake", date(2028, 1, 4), 60),
    ),
    stamp=DAWN,
    cautions=("A long-term average is not a forecast.",),
    route=((46.5, 8.25), (45.0, 9.0)),
)


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
    found = events(calendar(PLAN))
    assert [
        (
            text_value(event["SUMMARY"]),
            text_value(event["LOCATION"]),
            day(event["DTSTART;VALUE=DATE"]),
            day(event["DTEND;VALUE=DATE"]),
        )
        for event in found
    ] == [(line(leg.name), leg.place, leg.arrive, leg.leave) for leg in PLAN.legs]
    assert [event["GEO"] for event in found] == ["46.5;8.25", "-33.123457;0.0", "48.5;6.25"]
    for event in found:
        told = text_value(event["DESCRIPTION"]).split("\n")
        assert told[1:] == [
            "Flood: stay off dry river beds.",
            "Check the pass before you go.",
            "A long-term average is not a forecast.",
        ]
        assert "1.2 rough nights expected" in told[0] and "grade workable" in told[0]
        assert event["DTSTAMP"] == "20270102T030405Z"
        assert event["TRANSP"] == "TRANSPARENT"
    assert len({event["UID"] for event in found}) == 3


def test_calendar_has_what_the_standard_requires():
    """One calendar object with product id and version, and every component closed."""
    lines = unfolded(calendar(PLAN))
    assert lines[0] == "BEGIN:VCALENDAR" and lines[-1] == "END:VCALENDAR"
    assert "VERSION:2.0" in lines and any(part.startswith("PRODID:") for part in lines)
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 3


def test_events_keep_their_id_when_dates_change():
    """A later plan of the same trip replaces the events instead of doubling them."""
    later = replace(
        PLAN,
        legs=tuple(replace(leg, arrive=leg.arrive + timedelta(9)) for leg in PLAN.legs[::-1]),
    )
    ids = [event["UID"] for event in events(calendar(PLAN))]
    assert [event["UID"] for event in events(calendar(later))] == ids[::-1]


def test_stamp_is_utc_and_must_have_a_zone():
    """Calendars need UTC; a time without a zone would depend on the machine."""
    east = replace(PLAN, stamp=DAWN.astimezone(timezone(timedelta(hours=5))))
    assert exported_files(east) == exported_files(PLAN)
    with pytest.raises(ValueError, match="expected a time with its zone"):
        calendar(replace(PLAN, stamp=DAWN.replace(tzinfo=None)))


GPX = "{http://www.topografix.com/GPX/1/1}"


def test_gpx_read_back_is_the_same_plan():
    """Waypoints and route points carry order, names, dates and places."""
    root = ElementTree.fromstring(route_file(PLAN))
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
            for number, leg in enumerate(PLAN.legs, start=1)
        ]
        for point, leg in zip(points, PLAN.legs, strict=True):
            assert float(point.get("lat")) == pytest.approx(leg.latitude, abs=5e-7)
            assert float(point.get("lon")) == pytest.approx(leg.longitude, abs=5e-7)
            assert "e" not in point.get("lon")
            assert "is not a forecast" in point.findtext(f"{GPX}desc")
    track = root.findall(f"{GPX}trk/{GPX}trkseg/{GPX}trkpt")
    assert [(float(p.get("lat")), float(p.get("lon"))) for p in track] == list(PLAN.route)
    # GPX 1.1 is a sequence: metadata, waypoints, routes, tracks.
    order = [child.tag.removeprefix(GPX) for child in root]
    assert order == ["metadata", "wpt", "wpt", "wpt", "rte", "trk"]


def test_table_read_back_is_the_same_plan():
    """A CSV reader gets every leg, and figures as figures."""
    rows = list(csv.DictReader(io.StringIO(table(PLAN).decode("utf-8-sig"), newline="")))
    assert [
        (row["name"], row["arrive"], row["leave"], int(row["nights"]), float(row["latitude"]))
        for row in rows
    ] == [
        (line(leg.name), str(leg.arrive), str(leg.leave), leg.nights, round(leg.latitude, 6))
        for leg in PLAN.legs
    ]
    assert rows[0]["cautions"] == "Check the pass before you go."


@pytest.mark.parametrize(
    "formula",
    ["=1+1", "+1", "-1", "@SUM(1)", "\t=1", "\r\n=1", " =1", "＝1", "x;=1", "x; +1", "\x00=1"],
)
def test_table_holds_no_formula(formula):
    """No text cell, nor the text after a semicolon, starts with what a spreadsheet runs."""
    plan = replace(PLAN, legs=(leg(1, formula, date(2027, 12, 28), 6, cautions=(formula,)),))
    row = next(csv.DictReader(io.StringIO(table(plan).decode("utf-8-sig"), newline="")))
    for cell in (row["name"], row["cautions"]):
        for part in cell.split(";"):
            assert part.strip()[:1] not in set("=+-@＝＋－＠\t\r")
    # Our own figures stay figures: a southern latitude keeps its sign.
    south = replace(PLAN, legs=(leg(1, "x", date(2027, 12, 28), 6, latitude=-33.5),))
    assert b",-33.5," in table(south)


def test_geojson_read_back_is_the_same_plan(tmp_path):
    """A geographic reader finds the legs where they are, longitude first."""
    path = tmp_path / "plan.geojson"
    path.write_bytes(geojson(PLAN))
    frame = geopandas.read_file(path)
    assert frame.crs.to_epsg() == 4326
    legs = frame[frame.geometry.geom_type == "Point"]
    assert legs["name"].tolist() == [line(leg.name) for leg in PLAN.legs]
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
    features = json.loads(geojson(replace(PLAN, route=points)))["features"]
    assert features[-1]["geometry"]["coordinates"] == lines


def test_json_read_back_is_the_same_plan():
    """Dates, figures and text come back as they were."""
    read = json.loads(data(PLAN))
    assert (read["depart"], read["finish"]) == ("2027-12-28", "2028-03-04")
    assert (read["title"], read["kit"], read["rough_nights"]) == (PLAN.title, PLAN.kit, 2.5)
    assert [leg["rough_nights"] for leg in read["legs"]] == [1.25] * 3
    assert read["legs"][1]["name"] == line(NASTY)


def test_missing_figures_stay_missing():
    """Unknown rough nights and coordinates are null or absent, never zero."""
    unknown = leg(1, "x", date(2027, 12, 28), 6, rough_nights=math.nan, latitude=math.nan,
                  grade="", limiting_factor="")  # fmt: skip
    plan = replace(PLAN, legs=(unknown,), rough_nights=math.nan, route=())
    read = json.loads(data(plan))
    assert read["rough_nights"] is None
    for key in ("rough_nights", "latitude", "longitude", "grade", "limiting_factor"):
        assert read["legs"][0][key] is None
    assert json.loads(geojson(plan))["features"][0]["geometry"] is None
    assert "GEO" not in events(calendar(plan))[0]
    assert "rough nights unknown" in text_value(events(calendar(plan))[0]["DESCRIPTION"])
    root = ElementTree.fromstring(route_file(plan))
    assert root.find(f"{GPX}wpt") is None and root.find(f"{GPX}rte") is None


def test_hostile_text_breaks_no_format():
    """Control characters, lone surrogates and markup survive as harmless text or vanish."""
    hostile = "a\x00b\x1b\ud800\ufffe\r\nEND:VEVENT\r\n]]></name><wpt lat='1' lon='2'/>\u0085"
    plan = replace(
        PLAN,
        title=hostile,
        kit=hostile,
        cautions=(hostile,),
        legs=(leg(1, hostile, date(2027, 12, 28), 6, cautions=(hostile,)),),
    )
    files = exported_files(plan)
    assert sorted(files) == ["plan.csv", "plan.geojson", "plan.gpx", "plan.ics", "plan.json"]
    assert unfolded(files["plan.ics"]).count("END:VEVENT") == 1
    assert len(ElementTree.fromstring(files["plan.gpx"]).findall(f"{GPX}wpt")) == 1
    expected = "ab END:VEVENT ]]></name><wpt lat='1' lon='2'/>"
    assert json.loads(files["plan.json"])["legs"][0]["name"] == expected
    assert plain("a\tb\nc") == "a\tb\nc"


def test_same_plan_same_bytes():
    """Nothing depends on the clock or on chance."""
    assert exported_files(PLAN) == exported_files(replace(PLAN))
