"""A plan as files for other programs: calendar, route, table and data.

In: a plan as plain rows, with the time stamp to print. Out: ``{path: bytes}``.
Assumes text comes from users: each format escapes it by its own standard. The same plan
always gives the same bytes.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
import uuid
from datetime import UTC

import gpxpy.gpx
import icalendar

from sheltermap.report.exported import (
    ExportedPlan,
    coordinate,
    facts,
    line,
    located,
    position,
    sentences,
    warnings,
)

_PRODUCER = "sheltermap"
_ROUGH_DIGITS = 6


def exported_files(plan: ExportedPlan, stem: str = "plan") -> dict[str, bytes]:
    """
    Return a plan in every format.

    Parameters
    ----------
    plan : ExportedPlan
    stem : str
        Name of the files without their ending.

    Returns
    -------
    dict of str to bytes
        ``.ics``, ``.gpx``, ``.csv``, ``.geojson`` and ``.json``.
    """
    writers = {
        "ics": calendar,
        "gpx": route_file,
        "csv": table,
        "geojson": geojson,
        "json": data,
    }
    return {f"{stem}.{ending}": writer(plan) for ending, writer in writers.items()}


def calendar(plan: ExportedPlan) -> bytes:
    """
    Return a plan as an iCalendar file, one all-day event a leg.

    Parameters
    ----------
    plan : ExportedPlan

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
    book.add("name", line(plan.title))
    if plan.cautions:
        book.add("description", sentences(plan.cautions))
    for leg in plan.legs:
        event = icalendar.Event()
        event.add("uid", _event_id(plan, leg))
        event.add("dtstamp", _utc(plan.stamp))
        event.add("dtstart", leg.arrive)
        event.add("dtend", leg.leave)
        event.add("summary", line(leg.name))
        event.add("location", line(leg.place))
        event.add("description", "\n".join([facts(leg, plan.kit), *warnings(leg, plan)]))
        event.add("transp", "TRANSPARENT")
        if located(leg):
            event.add("geo", position(leg))
        book.add_component(event)
    return book.to_ical()


def route_file(plan: ExportedPlan) -> bytes:
    """
    Return a plan as a GPX file: a waypoint a leg, a route through them, the line as a track.

    Parameters
    ----------
    plan : ExportedPlan

    Returns
    -------
    bytes

    References
    ----------
    .. [1] GPX 1.1 schema, https://www.topografix.com/GPX/1/1/.
    """
    file = gpxpy.gpx.GPX()
    file.creator = _PRODUCER
    file.name = line(plan.title)
    file.description = sentences(plan.cautions)
    file.time = _utc(plan.stamp)
    route = gpxpy.gpx.GPXRoute(name=line(plan.title))
    for number, leg in enumerate(plan.legs, start=1):
        if not located(leg):
            continue
        latitude, longitude = position(leg)
        told = {
            "name": f"{number}. {line(leg.name)}",
            "description": " ".join([facts(leg, plan.kit), *warnings(leg, plan)]),
        }
        file.waypoints.append(gpxpy.gpx.GPXWaypoint(latitude, longitude, **told))
        route.points.append(gpxpy.gpx.GPXRoutePoint(latitude, longitude, **told))
    if route.points:
        file.routes.append(route)
    if len(plan.route) > 1:
        segment = gpxpy.gpx.GPXTrackSegment(
            [gpxpy.gpx.GPXTrackPoint(*map(coordinate, point)) for point in plan.route]
        )
        track = gpxpy.gpx.GPXTrack(name=line(plan.title))
        track.segments.append(segment)
        file.tracks.append(track)
    return file.to_xml(version="1.1").encode("utf-8")


def table(plan: ExportedPlan) -> bytes:
    """
    Return a plan as a CSV table, a row a leg.

    Text that a spreadsheet would take for a formula gets an apostrophe in front. The file
    starts with a byte-order mark, without which spreadsheets misread names.

    Parameters
    ----------
    plan : ExportedPlan

    Returns
    -------
    bytes

    References
    ----------
    .. [1] RFC 4180, comma-separated values.
    """
    text = io.StringIO()
    rows = [_record(leg, number) for number, leg in enumerate(plan.legs, start=1)]
    writer = csv.writer(text, lineterminator="\r\n", quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(_RECORD_KEYS)
    for row in rows:
        writer.writerow([_cell(row[key]) for key in _RECORD_KEYS])
    return text.getvalue().encode("utf-8-sig")


def geojson(plan: ExportedPlan) -> bytes:
    """
    Return a plan as GeoJSON: a point a leg, and the line of the journey.

    Parameters
    ----------
    plan : ExportedPlan

    Returns
    -------
    bytes

    References
    ----------
    .. [1] RFC 7946, GeoJSON: longitude first; lines are cut where they cross 180 degrees.
    """
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": list(position(leg))[::-1]}
            if located(leg)
            else None,
            "properties": _record(leg, number),
        }
        for number, leg in enumerate(plan.legs, start=1)
    ]
    points = plan.route or tuple(position(leg) for leg in plan.legs if located(leg))
    if len(points) > 1:
        features.append(
            {
                "type": "Feature",
                "geometry": {"type": "MultiLineString", "coordinates": _cut_lines(points)},
                "properties": {"name": line(plan.title)},
            }
        )
    return _json({"type": "FeatureCollection", "features": features}, indent=None)


def data(plan: ExportedPlan) -> bytes:
    """
    Return a plan as JSON.

    Parameters
    ----------
    plan : ExportedPlan

    Returns
    -------
    bytes
        Missing figures are null.
    """
    return _json(
        {
            "title": line(plan.title),
            "kit": line(plan.kit),
            "direction": plan.direction,
            "depart": plan.legs[0].arrive.isoformat() if plan.legs else None,
            "finish": plan.legs[-1].leave.isoformat() if plan.legs else None,
            "rough_nights": _rough(plan.rough_nights),
            "cautions": list(map(line, plan.cautions)),
            "legs": [_record(leg, number) for number, leg in enumerate(plan.legs, start=1)],
        }
    )


_RECORD_KEYS = (
    "leg",
    "id",
    "name",
    "place",
    "arrive",
    "leave",
    "nights",
    "rough_nights",
    "grade",
    "limiting_factor",
    "latitude",
    "longitude",
    "hazards",
    "cautions",
)


def _record(leg, number):
    """Return a leg as plain values, missing ones None."""
    return {
        "leg": number,
        "id": line(leg.id),
        "name": line(leg.name),
        "place": line(leg.place),
        "arrive": leg.arrive.isoformat(),
        "leave": leg.leave.isoformat(),
        "nights": leg.nights,
        "rough_nights": _rough(leg.rough_nights),
        "grade": leg.grade or None,
        "limiting_factor": leg.limiting_factor or None,
        "latitude": _place(leg)[0],
        "longitude": _place(leg)[1],
        "hazards": list(map(line, leg.hazards)),
        "cautions": list(map(line, leg.cautions)),
    }


def _event_id(plan, leg):
    """Return an id that a later plan of the same trip repeats, so that it replaces events."""
    name = "\n".join([_PRODUCER, line(plan.title), line(leg.id)])
    return str(uuid.uuid5(uuid.NAMESPACE_OID, name))


def _place(leg):
    """Return the coordinates of a leg, both None when one is missing. [degree]"""
    return position(leg) if located(leg) else (None, None)


def _rough(nights):
    """Return rough nights to the step scores are stored in, None when missing. [night]"""
    return round(float(nights), _ROUGH_DIGITS) if math.isfinite(nights) else None


def _cell(value):
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


def _cut_lines(points):
    """Return lines of [longitude, latitude], cut where they cross 180 degrees."""
    lines = [[]]
    previous = None
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


def _utc(stamp):
    """Return a time stamp in UTC, as calendars require; one without a zone is refused."""
    if stamp.tzinfo is None:
        raise ValueError(f"stamp: expected a time with its zone, got {stamp.isoformat()}")
    return stamp.astimezone(UTC)


def _json(content, indent=2):
    """Return JSON text; a missing figure that was not made null is an error."""
    text = json.dumps(content, ensure_ascii=False, allow_nan=False, indent=indent)
    return f"{text}\n".encode()
