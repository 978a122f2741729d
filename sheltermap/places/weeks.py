"""The weeks of the season chart: each in the grade and the hazard level of its worst day.

In: a year of nights of the chosen kit, the place's hazards, the remedies along days, the
days that the trip file closes.
Out: 52 Week values. Assumes the year's last week takes the odd day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sheltermap.hazards.layers import HazardFinding
from sheltermap.places.place import NightSeason, Week
from sheltermap.places.remedies import stretch
from sheltermap.suitability.candidates import Candidate
from sheltermap.suitability.remedy import Advice, advice, remedy_at
from sheltermap.vocabulary import (
    DAYS_IN_YEAR,
    FACTORS,
    MISSING_FACTOR,
    MISSING_GRADE,
    Level,
)

CLOSED_BY_TRIP = "Closed in the trip file"
"""What a week is closed by where no hazard but the traveller closes it."""

_WEEKS = 52


def weeks(
    season: NightSeason,
    found: Sequence[HazardFinding],
    unchecked: Sequence[str],
    remedies: Sequence[Candidate],
    closed: np.ndarray | None = None,
    plan: Advice | None = None,
) -> tuple[Week, ...]:
    """
    Return the weeks of one place.

    Parameters
    ----------
    season : NightSeason
        Of the chosen kit.
    found : sequence of HazardFinding
        Of the place.
    unchecked : sequence of str
        Hazard kinds nobody looked at.
    remedies : sequence of Candidate
        Along ``day``.
    closed : bool array, shape (365,), optional
        Days that the trip file closes; they are no hazard's, and change no score.
    plan : Advice, optional
        What helps over the plan; without a plan each week has a remedy of its own.

    Returns
    -------
    tuple of Week
        Grade and level are those of the worst day, so that nothing bad hides in a mean; a
        week with a missing day has no grade.
    """
    starts = [7 * week for week in range(_WEEKS)]
    ends = [*starts[1:], DAYS_IN_YEAR]
    spans = [slice(start, end) for start, end in zip(starts, ends, strict=True)]
    found_weeks = (_week(days, season, found, unchecked, remedies, plan) for days in spans)
    if closed is None:
        return tuple(found_weeks)
    return tuple(
        _shut(week) if closed[days].any() else week
        for days, week in zip(spans, found_weeks, strict=True)
    )


def _shut(week: Week) -> Week:
    """Return a week that the trip file closes; a hazard that closes it too keeps its name."""
    if week.hazard_level >= Level.CLOSURE:
        return week
    return replace(
        week,
        hazard=CLOSED_BY_TRIP,
        hazard_level=int(Level.CLOSURE),
    )


def _week(
    days: slice,
    season: NightSeason,
    found: Sequence[HazardFinding],
    unchecked: Sequence[str],
    remedies: Sequence[Candidate],
    plan: Advice | None,
) -> Week:
    """Return one week."""
    grades = season.grade[days]
    worst = int(grades.max())
    if (grades == MISSING_GRADE).any():
        worst = MISSING_GRADE
    level = int(season.hazard_level[days].max())
    binding = season.hazard[days][int(season.hazard_level[days].argmax())]
    factor = _factor(season, days)
    return Week(
        first_day_of_year=days.start + 1,
        grade=worst,
        sound_share=float(season.sound_share[days].mean()),
        factor=factor,
        hazard=found[binding].title if level else "",
        hazard_level=level,
        checked=not unchecked,
        remedy=_remedy(days, season, remedies, plan) if factor else "",
    )


def _factor(season: NightSeason, days: slice) -> str:
    """Return the cause that spoils most nights of a week; empty where none does."""
    codes = season.limiting_factor[days]
    if (codes == MISSING_FACTOR).any() or codes.max() < 0:
        return ""
    risks = np.array([getattr(season, name)[days] for name in FACTORS])
    return FACTORS[int(np.nan_to_num(risks, nan=-1.0).mean(axis=1).argmax())]


def _remedy(
    days: slice, season: NightSeason, remedies: Sequence[Candidate], plan: Advice | None
) -> str:
    """
    Return the title of what helps in a week; empty where nothing does.

    It is the plan's remedy wherever that helps, so that weeks do not flip between several.
    """
    nights = stretch(season, remedies, days)
    if plan is None:
        named = advice([nights]).remedy
    else:
        named = remedy_at(nights, plan.remedy.id if plan.remedy else None)
    return named.title if named else ""
