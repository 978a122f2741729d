"""Tables that travel with the season chart: what a week tells, what a date costs.

In: a Report. Out: JSON-ready data from which the page's script answers without Python.
Assumes 365-day years, in which 29 February stands on 28 February, and that the script
writes texts as text.
"""

from __future__ import annotations

import numpy as np

from sheltermap.places.place import NightSeason
from sheltermap.report.report import Report
from sheltermap.suitability.grade import under_hazard
from sheltermap.vocabulary import DAYS_IN_YEAR, GRADE_FLOORS, LEVELS
from sheltermap.website import words
from sheltermap.website.season import week_starts

MICRO = 1_000_000
"""Steps in which the slider's tables hold one rough night."""


def week_data(report: Report, slugs: dict[str, str]) -> dict:
    """
    Return what the page tells when a week is pointed at.

    Parameters
    ----------
    report : Report
    slugs : dict of str to str
        File-name pieces by place id.

    Returns
    -------
    dict
        JSON-ready: `words` (each text once), `rows` of [name, slug, weeks], each week
        [first day, days, grade, share, factor, hazard, level, checked, remedy], texts as
        positions in `words`; a missing share is null.
    """
    texts: list[str] = []

    def position(text: str) -> int:
        if text not in texts:
            texts.append(text)
        return texts.index(text)

    rows = []
    for place in report.places:
        starts = week_starts(place.weeks)
        ends = [*starts[1:], DAYS_IN_YEAR]
        weeks = [
            [
                start,
                end - start,
                int(week.grade),
                None if np.isnan(week.sound_share) else round(float(week.sound_share), 4),
                position(words.named_factor(week.factor)),
                position(week.hazard or ""),
                int(week.hazard_level),
                int(week.checked),
                position(week.remedy or ""),
            ]
            for week, start, end in zip(place.weeks, starts, ends, strict=True)
        ]
        rows.append([place.name, slugs[place.id], weeks])
    return {"words": texts, "rows": rows}


def departure_data(report: Report) -> dict:
    """
    Return the tables from which the departure slider sums each plan.

    Parameters
    ----------
    report : Report

    Returns
    -------
    dict
        JSON-ready: `first` (ISO date of day 0), `best` (position of the plan's date),
        `legs` (names), `kits` (those that a date is planned with: `title`, and by place
        and day of year `rough` in millionths of a night, null where missing, `level` of
        hazards, `causes` by factor in ten-thousandths, null where not assessed), `floors`
        and `ceilings` of the grades, and `sets` of [leg number or null, dates]: first the
        departures, then one set for each later leg reached late; each date [day, position
        of its kit or null where no plan fits, direction in words, [[place, leg, arrive, leave],
        ...]], days from day 0.
    """
    plan = report.best
    first = report.trip.departure.earliest
    order = {place.id: number for number, place in enumerate(report.places)}
    dates = (*report.by_departure, *(one for late in report.replans for one in late))
    kits = list(dict.fromkeys(one.kit for one in dates if one.rough_nights is not None))
    titles = {kit.id: kit.title for kit in report.kits}

    def dated(some) -> list[list]:
        return [
            [
                (one.depart - first).days,
                None if one.rough_nights is None else kits.index(one.kit),
                words.DIRECTION_WORDS.get(one.direction, ""),
                [
                    [order[place], leg, (arrive - first).days, (leave - first).days]
                    for place, leg, arrive, leave in zip(
                        one.places, one.legs, one.arrive, one.leave, strict=True
                    )
                ],
            ]
            for one in some
        ]

    best = [n for n, one in enumerate(report.by_departure) if plan and one.depart == plan.depart]
    return {
        "first": first.isoformat(),
        "best": best[0] if best else 0,
        "legs": [leg.name for leg in report.trip.legs],
        "kits": [
            {"title": titles[kit], **_tables([place.seasons[kit] for place in report.places])}
            for kit in kits
        ],
        "floors": [[int(grade), floor] for grade, floor in GRADE_FLOORS],
        "ceilings": [int(under_hazard(np.int8(0), level)) for level in range(len(LEVELS) + 1)],
        "factors": [words.FACTOR_WORDS[name] for name in words.FACTORS],
        "sets": [
            [None, dated(report.by_departure)],
            *(
                [leg.leg, dated(late)]
                for leg, late in zip(plan.legs[1:] if plan else (), report.replans, strict=True)
            ),
        ],
    }


def _tables(seasons: list[NightSeason]) -> dict:
    """Return one kit's tables, place by place."""
    return {
        "rough": [_micro(1 - season.sound_share) for season in seasons],
        "level": ["".join(str(int(code)) for code in season.hazard_level) for season in seasons],
        "causes": [
            [_small(getattr(season, name)) for name in words.FACTORS] for season in seasons
        ],
    }


def _small(values) -> list[int] | None:
    """Return values in ten-thousandths; None where any is missing."""
    values = np.asarray(values, dtype=float)
    if np.isnan(values).any():
        return None
    return [round(float(value) * 10_000) for value in values]


def _micro(values) -> list[int | None]:
    """Return values in millionths, None where missing."""
    return [None if np.isnan(value) else round(float(value) * MICRO) for value in values]
