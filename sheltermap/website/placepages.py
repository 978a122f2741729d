"""The pages about places: one a region, and the maps.

In: what the pages share, a place. Out: pages with template and context. Assumes the
templates escape; the map's own words travel as data and are written as text.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

import numpy as np

from sheltermap.dayside import Work, heat_advice, heat_caution, heat_index_word
from sheltermap.hazards.kinds import cautions
from sheltermap.hazards.layers import HazardFinding
from sheltermap.moon import moon_words
from sheltermap.places.place import Place
from sheltermap.shelters.kit import Kit
from sheltermap.spans import ALL_YEAR, days_in_words
from sheltermap.sun import clock_noon
from sheltermap.trip.model import Leg
from sheltermap.trip.values import Span
from sheltermap.vocabulary import DAYS_IN_YEAR, MONTHS, Grade, Level, listed, lowered
from sheltermap.website import figures, placecharts, words
from sheltermap.website.overlays import shades
from sheltermap.website.placesigns import sign_rows
from sheltermap.website.shared import Page, Shared

KIND_WORDS = MappingProxyType(
    {
        "region": "the whole region",
        "place": "25 km around the place",
        "points": "25 km around the points",
        "line": "the country along the route line",
    }
)
"""What a place's figures stand for."""

FACTOR_CHOICES = MappingProxyType(
    {
        "sound_share": "sound nights",
        "cold": "too cold",
        "heat": "too hot",
        "wet": "rained on",
        "wind": "too windy",
        "condensation": "condensation",
    }
)
"""What the map can show, in words."""

HAZARD_LINES = (
    ("advisory", "2 5"),
    ("serious", "6 4"),
    ("prohibitive", "12 3"),
    ("closure", ""),
)
"""How the map draws hazard levels: word and dash pattern, thicker from line to line."""


_NOON = 12.0  # hour at which the count of the cool hour begins
_HALF_DAY = 12.0  # [h] more light than this and no sunset: the sun stays up


def region_page(shared: Shared, place: Place) -> Page:
    """
    Return the page of one place.

    Parameters
    ----------
    shared : Shared
    place : Place

    Returns
    -------
    Page
    """
    report, slug = shared.report, shared.place_slugs[place.id]
    return Page(
        f"region-{slug}",
        place.name,
        "region.html.j2",
        {
            "place": place,
            "slug": slug,
            "stays": _stays(shared, place),
            "kind_words": KIND_WORDS.get(place.kind, place.kind),
            "forbidding": _forbidding(place),
            "closings": _closings(shared, place),
            "moved": _moved(place),
            "hazards": _hazards(place),
            "signs": sign_rows(place),
            "computed": place.computed,
            "grades": shared.grades,
            "levels": shared.levels,
            "kits": [
                _kit_year(shared, kit, place) for kit in report.kits if kit.id in place.seasons
            ],
            "brief": False,
            "not_assessed": shared.not_assessed_at(place),
            "climate_chart": placecharts.climate_chart(
                place.climate, place.seasons[shared.kit.id]
            ),
            "kit_title": shared.kit.title,
            "spread": placecharts.camp_spread(place.seasons[shared.kit.id]),
            "daily": _daily(place, report.trip.party.activity),
            "work": report.trip.party.activity,
            "noon": _noon(place),
            "heat_caution": _heat_caution(shared, place),
        },
        parents=("plan",),
    )


def _moved(place: Place) -> str:
    """Return which way the height of the camps moved the temperatures; empty if it did not."""
    if abs(place.correction_k) >= 0.05:
        return "raised" if place.correction_k > 0 else "lowered"
    return "moved" if place.correction_spread_k >= 0.05 else ""


def _kit_year(shared: Shared, kit: Kit, place: Place) -> dict:
    """Return a kit's year at a place."""
    months = placecharts.kit_rows(place.seasons[kit.id], place.findings)
    return {
        "title": kit.title,
        "slug": shared.kit_slugs[kit.id],
        "has_page": kit.id in shared.report.cards,
        "months": months,
        "areas": placecharts.strip_areas(months),
    }


def _stays(shared: Shared, place: Place) -> list[str]:
    """Return a sentence for each leg of the plan in a place."""
    if shared.report.best is None:
        return []
    sentences = []
    for leg in shared.report.best.legs:
        if leg.place != place.id:
            continue
        when = f"{leg.name}: {words.full_date(leg.arrive)} to {words.full_date(leg.leave)}"
        when += words.first_camp(leg)
        rough = "unknown" if not figures.is_known(leg.rough_nights) else f"{leg.rough_nights:.1f}"
        # A leg that is done has no other year to come.
        if figures.is_known(leg.rough_bad_year) and leg.rough_bad_year > leg.rough_nights:
            rough += f" ({leg.rough_bad_year:.1f} or more in one year of ten)"
        sentences.append(
            f"{when}, {figures.nights(leg.nights)}, about {rough} of them rough; "
            f"sleep {words.grade_word(leg.grade)}." + f" {moon_words(leg.arrive, leg.nights)}"
        )
    return sentences


def _forbidding(place: Place) -> list[tuple[str, str]]:
    """Return what closes or forbids at a place, when, and on whose word: mark and sentence."""
    rows = []
    for finding in place.findings:
        for level, when in words.level_sentences(finding.level_by_day):
            if level in ("closure", "prohibitive"):
                mark, verb = (
                    ("closed", "Closed") if level == "closure" else ("danger", "Forbidden")
                )
                what = f"{lowered(finding.title)} (source: {finding.source})"
                rows.append((mark, f"{verb} {when}: {what}."))
    return rows


def _closings(shared: Shared, place: Place) -> list[str]:
    """
    Return what the trip file itself closes at a place, and when a permit lets one in.

    """
    best = shared.report.best
    legs_here = {leg.name for leg in best.legs if leg.place == place.id} if best else {place.name}
    sentences: list[str] = []
    for leg in shared.report.trip.legs:
        if leg.name not in legs_here:
            continue
        sentences += _closed_words(leg)
        permit = shared.report.trip.permits.get(leg.permit) if leg.permit else None
        if permit:
            open_ = _span_words(permit.valid) if permit.valid else ""
            sentences.append(
                f"{leg.name} needs the permit {leg.permit}: at most {permit.longest_stay_days} "
                f"days{f', valid {open_}' if open_ else ''} (trip file)."
            )
    return list(dict.fromkeys(sentences))


def _closed_words(leg: Leg) -> Iterator[str]:
    """Yield when the trip file closes a leg."""
    for span in leg.closed:
        why = f": {span.note}" if span.note else ""
        late = f", and kept free for {span.margin_days} days more" * bool(span.margin_days)
        yield f"{leg.name} is closed {_span_words(span)}{late} (trip file){why}."


def _span_words(span: Span) -> str:
    """Return a span of a trip file in words."""
    if span.dates is None:
        when = days_in_words(span.days())
        return when if when == ALL_YEAR else f"{when} every year"
    first, last = span.dates
    return f"from {words.full_date(first)} to {words.full_date(last)}"


def _hazards(place: Place) -> list[dict]:
    """Return what is known of each hazard of a place, and its cautions where they come first."""
    # Advice on what nobody meets here in any month would hide the advice that counts.
    met = [one.kind for one in place.findings if one.level_by_day.any() or _worst_in_part(one)]
    told, rows = cautions(met), []
    for finding in place.findings:
        caution = ""
        if finding.kind in met:
            caution = told.pop(finding.kind, "") or "Cautions: as above."
        rows.append(_hazard(finding) | {"caution": caution})
    return rows


def _hazard(finding: HazardFinding) -> dict:
    """Return a hazard in words: what, when, how much of the place, on whose word."""
    levels = words.level_sentences(finding.level_by_day)
    share = finding.share
    nothing = ("none", "looked at, nothing found")
    in_part = _worst_in_part(finding)
    worst = in_part or (levels or [nothing])[0]
    return {
        "title": finding.title,
        "forbids": finding.level_by_day.max() >= Level.PROHIBITIVE,
        "worst": worst,
        "levels": [] if in_part else [row for row in levels if row != worst],
        "part": _part(finding),
        "note": finding.note,
        "share_words": ""
        if finding.part or not figures.is_known(share) or share >= 0.995
        else f"Concerns {figures.percent(share)} of the area.",
        "source": finding.source,
    }


def _worst_in_part(finding: HazardFinding) -> tuple[str, str] | None:
    """Return the worst level of a hazard in the part where it holds, and when; else None."""
    if not finding.part or finding.stated_level_by_day is None:
        return None
    level, when = words.level_sentences(finding.stated_level_by_day)[0]
    return f"{'closed' if level == 'closure' else level} in part", when


def _part(finding: HazardFinding) -> str:
    """Return where a hazard holds that binds nobody elsewhere, and how much it is there."""
    if not finding.part:
        return ""
    stated = finding.stated_level_by_day
    levels = [] if stated is None else words.level_sentences(stated)
    there = listed(f"{'closed' if level == 'closure' else level} {when}" for level, when in levels)
    if not there:
        return f"It holds {finding.part}."
    return (
        f"It holds {finding.part}; there it is {there}. For the whole area it counts "
        "as an advisory."
    )


def _daily(place: Place, work: Work) -> list[dict]:
    """Return what a camp needs to know each day, month by month, at the party's work."""
    climate = place.climate
    rows = []
    for month in range(12):
        category = climate.heat_category[month]
        advice = heat_advice(category, work)
        rows.append(
            {
                "month": MONTHS[month],
                "sunset": _sunset(climate.sunset_hour[month], climate.daylight_hours[month]),
                "daylight": climate.daylight_hours[month],
                "evening": climate.bedtime_temperature[month],
                "dawn": climate.dawn_temperature[month],
                "water": climate.drinking_water_l[month],
                "cool": _cool(climate.cool_hour[month]),
                "wet_spell": climate.wet_spell[month],
                "wind_chill": climate.wind_chill[month],
                "felt": climate.heat_index[month],
                "felt_word": heat_index_word(climate.heat_index[month]),
                "heat": "unknown" if advice is None else f"{int(category)} of 5",
                "hot": _hours(climate.hot_from[month], climate.hot_to[month]),
                "rest": f"work {advice.work} min, rest {advice.rest}"
                if advice is not None and advice.rest
                else "",
            }
        )
    return rows


def _hours(start: float, end: float) -> str:
    """Return from when to when; empty where it never is."""
    if not figures.is_known(start):
        return ""
    return f"{figures.clock(start)} to {figures.clock(end)}"


def _sunset(hour: float, daylight: float) -> str:
    """Return when the sun sets, in words; why it does not where the year has no such hour."""
    if figures.is_known(hour) or not figures.is_known(daylight):
        return figures.clock(hour)
    return "none (midnight sun)" if daylight > _HALF_DAY else "none (polar night)"


def _noon(place: Place) -> tuple[str, str]:
    """Return the earliest and the latest solar noon of a year at a place, as UTC."""
    noons = clock_noon(place.longitude, np.arange(1.0, DAYS_IN_YEAR + 1), 0.0)
    return figures.clock(noons.min()), figures.clock(noons.max())


def _heat_caution(shared: Shared, place: Place) -> str:
    """Return the caution of the hottest month's midday, or nothing where it is unknown."""
    categories = [c for c in place.climate.heat_category if figures.is_known(c)]
    if not categories:
        return ""
    return heat_caution(max(categories), shared.report.trip.party.acclimatised) or ""


def _cool(hour: float) -> str:
    """Return when it becomes cool enough to sleep, in words."""
    if np.isposinf(hour):
        return "not before dawn"
    if not figures.is_known(hour):
        return "unknown"
    return "all night" if hour <= _NOON else f"from {figures.clock(hour)}"


def maps_page(shared: Shared, month_pictures: list[dict], month_frame: dict) -> Page:
    """
    Return the page of maps.

    Parameters
    ----------
    shared : Shared
    month_pictures : list of dict
        Keys src and month: the overlays to print.
    month_frame : dict
        From `maps.month_frame`: what is drawn over each of them.

    Returns
    -------
    Page
    """
    report, kit = shared.report, shared.kit
    month = report.best.depart.month if report.best else 6
    shown = report.grid.factors
    months = [
        placecharts.kit_rows(place.seasons[kit.id], place.findings) for place in report.places
    ]
    return Page(
        "maps",
        "Maps",
        "maps.html.j2",
        {
            "month": month,
            "month_name": MONTHS[month - 1],
            "kit_title": kit.title,
            "kits": [
                {"slug": shared.kit_slugs[one.id], "title": one.title}
                for one in sorted(report.kits, key=lambda one: one.id != kit.id)
                if one.id in shown
            ],
            "factors": [
                (key, word) for key, word in FACTOR_CHOICES.items() if key in shown[kit.id]
            ],
            "shade_legends": [_legend("sound_share"), _legend("risk")],
            "hazard_lines": HAZARD_LINES,
            "region_rows": [
                {
                    "number": number,
                    "name": place.name,
                    "slug": shared.place_slugs[place.id],
                    "when": words.months_visited(report, place.id),
                    "grade": rows[month - 1]["grade"],
                    "note": _month_note(rows[month - 1]),
                }
                for number, (place, rows) in enumerate(zip(report.places, months, strict=True), 1)
            ],
            "prints": month_pictures,
            "frame": month_frame,
        },
        map=True,
        blocks={"map-data": _map_data(shared, months)},
    )


def _map_data(shared: Shared, months: list[list[dict]]) -> dict:
    """Return what the map's script shows: factors by kit, places with grade and hazard."""
    report = shared.report
    return {
        "months": MONTHS,
        "chosen": shared.kit_slugs[shared.kit.id],
        "kits": {
            shared.kit_slugs[kit.id]: list(report.grid.factors[kit.id])
            for kit in report.kits
            if kit.id in report.grid.factors
        },
        "hazard_lines": [dash for _, dash in HAZARD_LINES],
        "places": [
            {
                "name": place.name,
                "when": words.months_visited(report, place.id),
                "point": [round(place.latitude, 4), round(place.longitude, 4)],
                "months": {
                    "grade": [row["grade"] for row in rows],
                    "level": [row["level_code"] for row in rows],
                    "note": [_month_note(row) for row in rows],
                },
            }
            for place, rows in zip(report.places, months, strict=True)
        ],
    }


def _month_note(row: dict) -> str:
    """Return why a month is not sound, and apart from it which hazard it has."""
    parts = []
    if row["reason"] != "nothing" and row["grade"] != Grade.SOUND:
        parts.append(row["reason"])
    if row["hazard"]:
        parts.append(f"hazard: {lowered(row['hazard'])}, {row['level']}")
    return "; ".join(parts)


def _legend(key: str) -> tuple[str, str, list[dict]]:
    """Return the legend of one kind of overlay: key, title, rows."""
    share = key == "sound_share"
    rows = [
        {
            "word": shade.word,
            "colour": "#{:02x}{:02x}{:02x}".format(*shade.colour),
            "mark": "#{:02x}{:02x}{:02x}".format(*shade.mark_colour),
            "texture": shade.texture,
            "untinted": shade.clear,
        }
        # The best first, as in every other legend.
        for shade in (reversed(shades("sound_share")) if share else shades("cold"))
    ]
    return key, "Share of sound nights" if share else "Chance that this spoils a night", rows
