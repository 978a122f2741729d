"""A plan as files for other programs: calendar, route, table and data.

In: a report with a plan. Out: ``{path: bytes}``. Assumes text comes from users: each
format escapes it by its own standard. No clock is read, so the same plan always gives the
same bytes.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
import uuid
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, time
from typing import Any

import gpxpy.gpx
import icalendar

from sheltermap.places.place import Place
from sheltermap.report.departures import remedy_data, window_data
from sheltermap.report.exported import (
    coordinate,
    facts,
    grade_word,
    hazard_words,
    line,
    position,
    sentences,
    warnings,
)
from sheltermap.report.report import NOT_A_FORECAST, DatedPlan, PlannedLeg, Report

_PRODUCER = "sheltermap"
_ROUGH_DIGITS = 6


def exported_files(report: Report, stem: str = "plan") -> dict[str, bytes]:
    """
    Return the best plan in every format.

    Parameters
    ----------
    report : Report
    stem : str
        Name of the files without their ending.

    Returns
    -------
    dict of str to bytes
        ``.ics``, ``.gpx``, ``.csv``, ``.geojson`` and ``.json``; none without a plan.
    """
    if report.best is None:
        return {}
    writers: dict[str, Callable[[Report], bytes]] = {
        "ics": calendar,
        "gpx": route_file,
        "csv": table,
        "geojson": geojson,
        "json": data,
    }
    return {f"{stem}.{ending}": writer(report) for ending, writer in writers.items()}


def calendar(report: Report) -> bytes:
    """
    Return the best plan as an iCalendar file, one all-day event a leg.

    Parameters
    ----------
    report : Report
        With a plan.

    Returns
    -------
    bytes

    References
    ----------
    .. [1] RFC 5545, iCalendar: the end date of an all-day event is the first day after it.
    .. [2] RFC 7986, new properties for iCalendar: NAME and DESCRIPTION of a calendar.
    """
    book = icalendar.Calendar()
    book.add("prodid", f"-//{_PRODUCER}//journey plan//EN")
    book.add("version", "2.0")
    book.add("calscale", "GREGORIAN")
    book.add("name", line(report.trip.title))
    book.add("description", NOT_A_FORECAST)
    for leg, place in _visits(report):
        event = icalendar.Event()
        event.add("uid", _event_id(report, leg))
        event.add("dtstamp", _stamp(report))
        event.add("dtstart", leg.arrive)
        event.add("dtend", leg.leave)
        event.add("summary", line(leg.name))
        event.add("location", _location(leg, place))
        event.add("description", "\n".join([facts(leg, _kit_title(report)), *warnings(leg)]))
        event.add("transp", "TRANSPARENT")
        event.add("geo", position(place))
        book.add_component(event)
    return book.to_ical()


def route_file(report: Report) -> bytes:
    """
    Return the best plan as a GPX file: waypoints, a route through them, the line as a track.

    Parameters
    ----------
    report : Report
        With a plan.

    Returns
    -------
    bytes

    References
    ----------
    .. [1] GPX 1.1 schema, https://www.topografix.com/GPX/1/1/.
    """
    file = gpxpy.gpx.GPX()
    file.creator = _PRODUCER
    file.name = line(report.trip.title)
    file.description = NOT_A_FORECAST
    file.time = _stamp(report)
    route = gpxpy.gpx.GPXRoute(name=line(report.trip.title))
    for number, (leg, place) in enumerate(_visits(report), start=1):
        latitude, longitude = position(place)
        name = f"{number}. {line(leg.name)}"
        told = " ".join([facts(leg, _kit_title(report)), *warnings(leg)])
        file.waypoints.append(
            gpxpy.gpx.GPXWaypoint(latitude, longitude, name=name, description=told)
        )
        route.points.append(
            gpxpy.gpx.GPXRoutePoint(latitude, longitude, name=name, description=told)
        )
    file.routes.append(route)
    if len(report.route) > 1:
        segment = gpxpy.gpx.GPXTrackSegment(
            [
                gpxpy.gpx.GPXTrackPoint(coordinate(latitude), coordinate(longitude))
                for latitude, longitude in report.route
            ]
        )
        track = gpxpy.gpx.GPXTrack(name=line(report.trip.title))
        track.segments.append(segment)
        file.tracks.append(track)
    return file.to_xml(version="1.1").encode("utf-8")


def table(report: Report) -> bytes:
    """
    Return the best plan as a CSV table, a row a leg.

    Text that a spreadsheet would take for a formula gets an apostrophe in front. The file
    starts with a byte-order mark, without which spreadsheets misread names.

    Parameters
    ----------
    report : Report
        With a plan.

    Returns
    -------
    bytes

    References
    ----------
    .. [1] RFC 4180, comma-separated values.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(_RECORD_KEYS)
    for row in _records(report):
        writer.writerow([_cell(row[key]) for key in _RECORD_KEYS])
    return text.getvalue().encode("utf-8-sig")


def geojson(report: Report) -> bytes:
    """
    Return the best plan as GeoJSON: a point a leg, and the line of the journey.

    Parameters
    ----------
    report : Report
        With a plan.

    Returns
    -------
    bytes

    References
    ----------
    .. [1] RFC 7946, GeoJSON: longitude first; lines are cut where they cross 180 degrees.
    """
    positions = [position(place) for _, place in _visits(report)]
    features: list[dict[str, Any]] = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [longitude, latitude]},
            "properties": record,
        }
        for (latitude, longitude), record in zip(positions, _records(report), strict=True)
    ]
    points = report.route or positions
    if len(points) > 1:
        features.append(
            {
                "type": "Feature",
                "geometry": {"type": "MultiLineString", "coordinates": _cut_lines(points)},
                "properties": {"name": line(report.trip.title)},
            }
        )
    return _json({"type": "FeatureCollection", "features": features}, indent=None)


def data(report: Report) -> bytes:
    """
    Return the best plan as JSON.

    Parameters
    ----------
    report : Report
        With a plan.

    Returns
    -------
    bytes
        Missing figures are null.
    """
    plan = _plan(report)
    return _json(
        {
            "title": line(report.trip.title),
            "kit": line(_kit_title(report)),
            "direction": plan.direction,
            "depart": plan.legs[0].arrive.isoformat(),
            "finish": plan.legs[-1].leave.isoformat(),
            "good_window": window_data(report),
            "nights": plan.nights,
            "rough_nights": _rough(plan.rough_nights),
            "rough_nights_range": [_rough(plan.rough_low), _rough(plan.rough_high)],
            "rough_nights_bad_year": _rough(plan.rough_bad_year),
            "dangerous_nights": _rough(plan.dangerous_nights),
            "serious_nights": plan.serious_nights,
            "remedy": remedy_data(report.remedy),
            "helps_a_little": remedy_data(report.little),
            "money": _money(report),
            "load_margin_kg": None if report.load is None else report.load.margin_kg,
            "cautions": [NOT_A_FORECAST],
            "legs": _records(report),
        }
    )


_RECORD_KEYS = (
    "leg",
    "id",
    "name",
    "place",
    "arrive",
    "leave",
    "camp_reached",
    "nights",
    "rough_nights",
    "rough_nights_bad_year",
    "dangerous_nights",
    "serious_nights",
    "grade",
    "limiting_factor",
    "latitude",
    "longitude",
    "hazards",
    "not_checked",
    "signs",
    "cautions",
)


def _records(report: Report) -> list[dict[str, Any]]:
    """Return legs as plain values, missing ones None."""
    return [
        {
            "leg": number,
            "id": _leg_id(leg),
            "name": line(leg.name),
            "place": _location(leg, place),
            "arrive": leg.arrive.isoformat(),
            "leave": leg.leave.isoformat(),
            "camp_reached": leg.camp_reached.isoformat(),
            "nights": leg.nights,
            "rough_nights": _rough(leg.rough_nights),
            "rough_nights_bad_year": _rough(leg.rough_bad_year),
            "dangerous_nights": _rough(leg.dangerous_nights),
            "serious_nights": leg.serious_nights,
            "grade": grade_word(leg) or None,
            "limiting_factor": leg.limiting_factor or None,
            "latitude": coordinate(place.latitude),
            "longitude": coordinate(place.longitude),
            "hazards": list(map(hazard_words, leg.hazards)),
            "not_checked": list(leg.not_checked),
            "signs": [f"{sign.title}, {sign.strength}: {sign.words}" for sign in leg.signs],
            "cautions": list(map(line, leg.cautions)),
        }
        for number, (leg, place) in enumerate(_visits(report), start=1)
    ]


def _money(report: Report) -> dict[str, Any] | None:
    """Return what kit and fuel cost, and the budget; None where nothing was weighed."""
    if report.comparison is None:
        return None
    prices = report.trip.money
    return {
        "kit_and_fuel": report.comparison.rows[0].journey_money,
        "budget": prices.budget,
        "currency": prices.currency,
    }


def _plan(report: Report) -> DatedPlan:
    """Return the best plan; a report without one is a mistake of the caller."""
    if report.best is None:
        raise ValueError("report: expected one with a plan, got one without")
    return report.best


def _visits(report: Report) -> list[tuple[PlannedLeg, Place]]:
    """Return the legs of the best plan with their places, in travel order."""
    places = {place.id: place for place in report.places}
    return [(leg, places[leg.place]) for leg in _plan(report).legs]


def _kit_title(report: Report) -> str:
    """Return the title of the kit planned with."""
    return next(kit.title for kit in report.kits if kit.id == _plan(report).kit)


def _location(leg: PlannedLeg, place: Place) -> str:
    """Return where a leg is: a region may be visited twice, under a name for each visit."""
    return line(place.region or leg.name)


def _leg_id(leg: PlannedLeg) -> str:
    """Return the key of a leg, unique in the plan and the same in every plan of the trip."""
    return f"leg-{leg.leg + 1}"


def _event_id(report: Report, leg: PlannedLeg) -> str:
    """Return an id that a later plan of the same trip repeats, so that it replaces events."""
    name = "\n".join([_PRODUCER, line(report.trip.title), _leg_id(leg)])
    return str(uuid.uuid5(uuid.NAMESPACE_OID, name))


def _stamp(report: Report) -> datetime:
    """Return the time files carry: the report's date, else the day of departure."""
    return datetime.combine(report.made or _plan(report).depart, time(), UTC)


def _rough(nights: float) -> float | None:
    """Return rough nights to the step scores are stored in, None when missing. [night]"""
    return round(float(nights), _ROUGH_DIGITS) if math.isfinite(nights) else None


def _cell(value: Any) -> str | float:
    """
    Return a value as a spreadsheet cell that cannot run.

    Some programs cut at semicolons whatever the file says, so text after one is guarded too.
    """
    if value is None:
        return ""
    if isinstance(value, int | float):
        return value
    text = sentences(value) if isinstance(value, list) else value
    return re.sub(r"(^|;)(\s*)(?=[=+\-@＝＋－＠])", r"\1\2'", text)


def _cut_lines(points: Iterable[tuple[float, float]]) -> list[list[list[float]]]:
    """Return lines of [longitude, latitude], cut where they cross 180 degrees."""
    lines: list[list[list[float]]] = [[]]
    previous: tuple[float, float] | None = None
    for latitude, longitude in (tuple(map(coordinate, point)) for point in points):
        if previous is not None and abs(longitude - previous[1]) > 180:
            side = math.copysign(180.0, previous[1])
            span = longitude + 2 * side - previous[1]
            share = (side - previous[1]) / span if span else 0.0
            crossing = coordinate(previous[0] + share * (latitude - previous[0]))
            lines[-1].append([side, crossing])
            lines.append([[-side, crossing]])
        lines[-1].append([longitude, latitude])
        previous = latitude, longitude
    return lines


def _json(content: dict[str, Any], indent: int | None = 2) -> bytes:
    """Return JSON text; a missing figure that was not made null is an error."""
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, indent=indent)
    return f"{text}\n".encode()
