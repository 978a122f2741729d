"""Reports for tests of the season chart: a year made by hand, a journey with permit and dates.

In: the sample report. Out: variants of it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sample_report import sample_report

from sheltermap.places.place import Week
from sheltermap.report.report import Report
from sheltermap.trip.model import Permit
from sheltermap.vocabulary import MISSING_GRADE

GRADES = [3] * 10 + [2] * 10 + [1] * 10 + [0] * 10 + [MISSING_GRADE] * 12
"""Unfit to sound by ten weeks each, then unknown."""

LEVELS = [4, 4, 3, 3, 2, 1, 0] + [0] * 45
"""Closed, forbidden, serious, advisory; nobody looked in the week after them."""


def week(number: int, grade: int = 0, level: int = 0, checked: bool = True) -> Week:
    """Return a week of the year, the first day of which is 7 times its number."""
    return Week(
        first_day_of_year=7 * number,
        grade=grade,
        sound_share=float("nan") if grade < 0 else 0.5,
        factor="cold",
        hazard="Flood" if level else "",
        hazard_level=level,
        checked=checked,
        remedy="",
    )


def hand_made_year() -> Report:
    """Return the sample with a year made by hand on its first row, and plain years below."""
    report = sample_report()
    first, *others = report.places
    year = tuple(
        week(n, grade, level, checked=n != 6)
        for n, (grade, level) in enumerate(zip(GRADES, LEVELS, strict=True))
    )
    plain = tuple(week(n) for n in range(52))
    places = (
        replace(first, weeks=year, not_checked=("flood", "wildfire"), signs=()),
        *(replace(place, weeks=plain, not_checked=(), signs=()) for place in others),
    )
    return replace(report, places=places)


def with_marks(
    report: Report, evening: date, permit: dict | None = None, legs: tuple[int, int] = (1, 2)
) -> Report:
    """Return a report with a fixed evening on one leg and a permit on another."""
    there, inside = legs
    rows = list(report.trip.legs)
    rows[there] = rows[there].model_copy(update={"be_there": (evening,)})
    permits = {}
    if permit is not None:
        rows[inside] = rows[inside].model_copy(update={"permit": "zone"})
        permits = {"zone": Permit.model_validate({"longest_stay_days": 60, "valid": permit})}
    trip = report.trip.model_copy(update={"legs": tuple(rows), "permits": permits})
    return replace(report, trip=trip)
