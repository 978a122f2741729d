"""The weeks of the season chart: each in the grade of its worst day.

In: a year of nights of the chosen kit, the place's hazards, the remedies along days.
Out: 52 Week values. Assumes the year's last week takes the odd day.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sheltermap.hazards.layers import HazardFinding
from sheltermap.journey.report import NightSeason, Week
from sheltermap.suitability.remedy import Candidate, remedy
from sheltermap.vocabulary import DAYS_IN_YEAR, FACTORS, MISSING_FACTOR, Grade

_WEEKS = 52
_MISSING = -1


def weeks(
    season: NightSeason,
    found: Sequence[HazardFinding],
    unchecked: Sequence[str],
    remedies: Sequence[Candidate],
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

    Returns
    -------
    tuple of Week
        The grade is that of the worst day, so that danger never hides in a mean; a week
        with a missing day has no grade unless a hazard forbids it.
    """
    starts = [7 * week for week in range(_WEEKS)]
    ends = [*starts[1:], DAYS_IN_YEAR]
    return tuple(
        _week(slice(start, end), season, found, unchecked, remedies)
        for start, end in zip(starts, ends, strict=True)
    )


def _week(days: slice, season, found, unchecked, remedies) -> Week:
    """Return one week."""
    grades = season.grade[days]
    worst = int(grades.max())
    if (grades == _MISSING).any() and worst < Grade.UNFIT:
        worst = _MISSING
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
        remedy=_remedy(days, season, remedies) if factor else "",
    )


def _factor(season: NightSeason, days: slice) -> str:
    """Return the cause that spoils most nights of a week; empty where none does."""
    codes = season.limiting_factor[days]
    if (codes == MISSING_FACTOR).any() or codes.max() < 0:
        return ""
    risks = [np.nan_to_num(getattr(season, name)[days], nan=-1.0).mean() for name in FACTORS]
    return FACTORS[int(np.argmax(risks))]


def _remedy(days: slice, season: NightSeason, remedies) -> str:
    """Return the title of the week's remedy; empty where nothing helps."""
    nights = np.zeros(DAYS_IN_YEAR)
    nights[days] = 1.0
    named = remedy(remedies, season.sound_share, nights)
    return named.title if named else ""
