"""What several pages share: a page before rendering, legs in words, the season chart.

In: a Report. Out: contexts for the templates. Assumes the templates escape.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from sheltermap.hazards.sign import Strength
from sheltermap.places.place import Place
from sheltermap.report.remedy_words import leg_sentence
from sheltermap.report.report import MetHazard, PlannedLeg, Report
from sheltermap.shelters.kit import Kit
from sheltermap.spans import days_in_words
from sheltermap.suitability.titles import in_sentence
from sheltermap.trip.camps import camp_number
from sheltermap.vocabulary import DAYS_IN_YEAR, Level
from sheltermap.website import (
    charts,
    figures,
    gaps,
    hazardstrip,
    season,
    seasonmarks,
    slider,
    words,
)
from sheltermap.website.environment import slugs
from sheltermap.website.seasonaxis import (
    NARROW,
    WIDE,
    week_starts,
    weeks_that_matter,
    whole_years,
)

_NONE_EXPECTED = 0.05
"""Nights of a leg below which the pages speak of none. [night] It would read 0.0. judgement"""


@dataclass(frozen=True, eq=False)
class Page:
    """One page before it is rendered."""

    id: str
    title: str
    template: str
    context: dict
    parents: tuple[str, ...] = ()
    map: bool = False
    blocks: dict = field(default_factory=dict)


def chosen_kit(report: Report) -> Kit:
    """
    Return the kit that the plan uses, or the first where there is no plan.

    Raises
    ------
    StopIteration
        If the plan names a kit that the report does not hold.
    """
    if report.best is None:
        return report.kits[0]
    return next(kit for kit in report.kits if kit.id == report.best.kit)


def arranged(report: Report) -> Report:
    """
    Return a report as the pages show it: places as the plan meets them, maps by need.

    Parameters
    ----------
    report : Report

    Returns
    -------
    Report
        Its map keeps single causes for the chosen kit only, and none that is missing
        everywhere.
    """
    met = [leg.place for leg in report.best.legs] if report.best else []
    order = {identity: number for number, identity in reversed(list(enumerate(met)))}
    places = sorted(report.places, key=lambda place: order.get(place.id, len(met)))
    chosen = chosen_kit(report).id
    factors = {
        kit: {
            name: cube
            for name, cube in cubes.items()
            if name == "sound_share" or (kit == chosen and not np.isnan(cube).all())
        }
        for kit, cubes in report.grid.factors.items()
    }
    return replace(report, places=tuple(places), grid=replace(report.grid, factors=factors))


class Shared:
    """What several pages need, worked out once."""

    def __init__(self, report: Report):
        self.report = report
        self.kit = chosen_kit(report)
        self.place_slugs = slugs(place.id for place in report.places)
        self.kit_slugs = slugs(kit.id for kit in report.kits)
        self.not_assessed, self.partly_assessed = gaps.unassessed(report)
        self.grades = charts.grade_legend()
        self.levels = hazardstrip.legend()

    def leg(self, leg: PlannedLeg) -> dict:
        """Return a planned leg as the pages show it."""
        place = words.place_of(self.report, leg.place)
        hazards = [_met(hazard) for hazard in leg.hazards]
        notes = {one.name: one.note for one in self.report.trip.legs}
        return {
            "name": leg.name,
            "slug": self.place_slugs[leg.place],
            "arrive": leg.arrive,
            "leave": leg.leave,
            "first_camp": words.first_camp(leg),
            "nights": leg.nights,
            "camp_m": None if camp_number(leg.name) is None else leg.height.elevation_m,
            "rough_nights": leg.rough_nights,
            "grade": int(leg.grade),
            "close": leg.close,
            "reason": words.named_factor(leg.limiting_factor),
            "hazard": _grave(leg),
            "sentence": " ".join(filter(None, self._expected(leg))),
            "hazards": hazards,
            "grave": [hazard for hazard in hazards if hazard["grave"]],
            "place": place.name,
            "cautions": [
                *leg.cautions,
                *(() if leg.done else _strong_cautions(leg)),
            ],
            "done": leg.done,
            "signs": leg.signs,
            "note": notes.get(leg.name, ""),
        }

    def _expected(self, leg: PlannedLeg) -> Iterator[str]:
        """Yield what to expect of a leg's nights, and what would help most."""
        yield _rough_sentence(leg)
        yield _way_sentence((leg.camp_reached - leg.arrive).days)
        if figures.is_known(leg.dangerous_nights) and leg.dangerous_nights >= _NONE_EXPECTED:
            odds = figures.danger_odds(leg.dangerous_nights, leg.nights)
            yield f"{odds[:1].upper()}{odds[1:]} could be dangerous."
        if leg.remedy is not None:
            yield leg_sentence(leg.remedy)

    def not_assessed_at(self, place: Place) -> list[str]:
        """Return the factors that no night of a place was assessed for, in words."""
        return [
            words.FACTOR_WORDS.get(factor, factor)
            for factor in self.report.not_assessed
            if not gaps.assessed(place, factor)
        ]

    @cached_property
    def legs(self) -> list[dict]:
        """Return the plan's legs, each caution on the first that it concerns."""
        legs = [self.leg(leg) for leg in self.report.best.legs] if self.report.best else []
        told: dict[str, str] = {}
        for leg in legs:
            given = dict.fromkeys(filter(None, leg["cautions"]))
            again = dict.fromkeys(told[caution] for caution in given if caution in told)
            fresh = [caution for caution in given if caution not in told]
            leg |= {"cautions": fresh, "cautions_of": list(again)}
            told |= dict.fromkeys(fresh, leg["name"])
        return legs

    @cached_property
    def kit_limits(self) -> dict[str, dict]:
        """Return the cold limits of each kit by its slug, None for unknown ones. [degC]"""

        def shown(limit: float) -> float | None:
            return round(limit, 1) if np.isfinite(limit) else None

        return {
            self.kit_slugs[name]: {
                "coldest": [shown(limit) for limit in card.coldest],
                "dangerous": shown(card.dangerous_below),
            }
            for name, card in self.report.cards.items()
        }

    @cached_property
    def week_data(self) -> dict:
        """Return what the slider of the season chart tells of each week."""
        return slider.week_data(self.report)

    @cached_property
    def season(self) -> dict:
        """Return the drawings of the season chart, its table and its words."""
        report = self.report
        shown = {"part": weeks_that_matter(report), "whole": whole_years(report)}
        if shown["part"] == shown["whole"]:
            del shown["whole"]
        drawn = {
            name: [season.drawing(report, layout, span) for layout in (WIDE, NARROW)]
            for name, span in shown.items()
        }
        unchecked = seasonmarks.unchecked(report.places)
        widest = list(drawn.values())[-1][0]
        return {
            "names": [season.names(report, layout) for layout in (WIDE, NARROW)],
            "drawings": drawn,
            "legend": self.grades,
            "hazard_legend": self.levels,
            "signs": bool(widest["signs"]),
            "unchecked_band": any(area["pattern"] == "nc" for area in widest["areas"]),
            "marks": dict.fromkeys(mark["kind"] for mark in widest["marks"]),
            "unchecked": unchecked.everywhere,
            "cut": seasonmarks.cut_stays(report),
            "table": self._season_table(unchecked.notes),
            "kit": self.kit.title,
            "description": f"{len(report.places)} regions in travel order, one row each, the "
            f"weeks across, each in its grade of sleep with the "
            f"{in_sentence(self.kit.title)}; under it a strip of hazards. The table after the "
            "chart on the Plan has the whole year in words.",
        }

    def _season_table(self, notes: dict[str, str]) -> list[dict]:
        """Return the season chart in words, a place after the other."""
        marks = seasonmarks.in_words(self.report)
        return [
            {
                "name": place.name,
                "slug": self.place_slugs[place.id],
                "notes": [
                    *filter(None, (marks.get(place.id), notes.get(place.id))),
                    *_helped(place),
                ],
                "runs": [
                    {
                        "when": run["when"],
                        "grade": run["grade"],
                        "share": _share_range(run["lowest"], run["highest"]),
                        "why": words.named_factor(run["factor"]),
                        "hazard": _hazard(run),
                    }
                    for run in season.week_runs(place.weeks)
                ],
            }
            for place in self.report.places
        ]


def _helped(place: Place) -> Iterator[str]:
    """Yield what helps at a place, and in which weeks, each once."""
    lengths = np.diff([*week_starts(place.weeks), DAYS_IN_YEAR])
    # Nothing makes a place fit to sleep in that a hazard forbids.
    remedies = [
        "" if week.hazard_level >= Level.PROHIBITIVE else week.remedy for week in place.weeks
    ]
    for remedy in filter(None, dict.fromkeys(remedies)):
        days = np.repeat([one == remedy for one in remedies], lengths)
        yield f"helps {days_in_words(days)}: {in_sentence(remedy)}"


def _strong_cautions(leg: PlannedLeg) -> Iterator[str]:
    """Yield the cautions of the strong signs of a leg's nights."""
    for sign in leg.signs:
        if sign.strength == Strength.STRONG.word:
            yield sign.caution


def _way_sentence(evenings: int) -> str:
    """Return how many of a leg's nights are on the way to its first camp; empty for none."""
    first = "night is" if evenings == 1 else f"{evenings} nights are"
    return f"Its first {first} on the way to that camp." if evenings else ""


def _rough_sentence(leg: PlannedLeg) -> str:
    """Return how many nights of a leg will be rough, and from what."""
    stay = figures.nights(leg.nights)
    if not figures.is_known(leg.rough_nights):
        text = "An unknown number of nights rough"
    elif leg.rough_nights < _NONE_EXPECTED:
        # What spoils a night in a thousand is no reason worth a word.
        return f"None of {stay} is expected to be rough (under 1 in 20)."
    else:
        # As many decimals as the line above it, so that both say the same.
        text = f"About {figures.number(leg.rough_nights, 1)} of {stay} rough"
    if words.named_factor(leg.limiting_factor) != "nothing":
        text += f", mostly from {words.named_factor(leg.limiting_factor)}"
    return text + "."


def _grave(leg: PlannedLeg) -> str:
    """Return the worst hazard level of a leg's nights where it is serious or worse."""
    level = max((hazard.level for hazard in leg.hazards if not hazard.part), default=0)
    return words.level_phrase(level) if level >= Level.SERIOUS else ""


def _met(hazard: MetHazard) -> dict:
    """Return a hazard met on a leg, in words."""
    return {
        "title": hazard.title,
        "level": words.LEVEL_WORDS[hazard.level],
        "stated": words.LEVEL_WORDS[hazard.stated_level],
        # In a part, the lower level comes from staying out of it and not from the kit.
        "shield": hazard.shield if hazard.level < hazard.stated_level and not hazard.part else "",
        "forbids": hazard.level >= Level.PROHIBITIVE,
        "grave": hazard.level >= Level.SERIOUS and not hazard.part,
        "part": hazard.part,
        "note": hazard.note,
        "source": hazard.source,
    }


def _share_range(lowest: float, highest: float) -> str:
    """Return a range of shares in words."""
    if not figures.is_known(lowest) or not figures.is_known(highest):
        return "unknown"
    low, high = figures.percent(lowest), figures.percent(highest)
    return low if low == high else f"{low} to {high}"


def _hazard(run: dict) -> str:
    """Return the hazard of a run of weeks and its level."""
    if not run["hazard"]:
        return ""
    return f"{run['hazard']}, {words.LEVEL_WORDS[run['hazard_level']]}"
