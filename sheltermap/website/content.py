"""The pages of the site: Plan, Calendar, Methods, Files, and the list of all.

In: a Report, its drawn map, the files to offer. Out: pages with template and context.
Assumes the templates escape every text.
"""

from __future__ import annotations

from collections.abc import Sequence

from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.report.departures import window_note, window_words
from sheltermap.vocabulary import FACTORS
from sheltermap.website import charts, figures, gaps, opening, ownnights, reasons, slider, words
from sheltermap.website.kitpages import kit_page, kits_page
from sheltermap.website.loadpage import load_page
from sheltermap.website.logpage import log_page
from sheltermap.website.placepages import region_page
from sheltermap.website.shared import Page, Shared

MENU = (
    ("plan", "Plan"),
    ("calendar", "Calendar"),
    ("maps", "Maps"),
    ("kits", "Kits"),
    ("load", "Load"),
    ("log", "Log"),
    ("methods", "Methods"),
    ("files", "Files"),
)
"""Pages of the menu, in order."""


def contents(shared: Shared, drawn_map: dict) -> list[Page]:
    """
    Return the pages that are the same in every copy, for `arranged_pages`.

    Parameters
    ----------
    shared : Shared
    drawn_map : dict
        From `drawnmap.drawn_map`.

    Returns
    -------
    list of Page
    """
    return [
        _plan(shared, drawn_map),
        _calendar(shared),
        *(region_page(shared, place) for place in shared.report.places),
        kits_page(shared),
        *(kit_page(shared, kit) for kit in shared.report.kits),
        load_page(shared),
        log_page(shared),
        _methods(shared),
    ]


def arranged_pages(pages: Sequence[Page], maps: Page, files: Page) -> list[Page]:
    """
    Return every page of a copy in order.

    Parameters
    ----------
    pages : sequence of Page
        From `contents`.
    maps, files : Page
        Those of this copy.

    Returns
    -------
    list of Page
    """
    plan, calendar, *others = pages
    return [plan, calendar, maps, *others, files]


def files_page(files: Sequence[dict] | None) -> Page:
    """
    Return the Files page.

    Parameters
    ----------
    files : sequence of dict or None
        Keys path, what, size: what it offers; None in the one-file copy, which has none.

    Returns
    -------
    Page
    """
    return Page("files", "Files", "files.html.j2", {"files": files})


def _plan(shared: Shared, drawn_map: dict) -> Page:
    """Return the Plan page."""
    report = shared.report
    titles = {kit.id: kit.title for kit in report.kits}
    people = report.trip.party.people
    return Page(
        "plan",
        "Plan",
        "plan.html.j2",
        {
            "headline": opening.headline(report),
            "facts": opening.facts(report),
            "rough_night": opening.rough_night(report),
            "people": "1 person" if people == 1 else f"{people} people",
            "unchecked": gaps.unchecked_sentences(report),
            "window_note": window_note(report) if report.best else "",
            "window_words": window_words(report),
            "own": ownnights.own_sentences(report),
            "range_reasons": reasons.range_reasons(report.best) if report.best else "",
            "main_cause": reasons.main_cause(report.best) if report.best else "",
            "infeasible": () if report.best else report.infeasible[1:],
            # They name the trip's files, dates and exact camps.
            "doubts": report.doubts,
            "season": shared.season,
            "drawn_map": drawn_map,
            "legs": shared.legs,
            "kit_title": shared.kit.title,
            "causes": charts.causes_chart(report.best, [leg["name"] for leg in shared.legs])
            if report.best
            else None,
            "cause_parts": [(words.FACTOR_WORDS[f], f"f{n}") for n, f in enumerate(FACTORS)],
            "alternatives": [
                {"plan": plan, "kit": titles.get(plan.kit, plan.kit)}
                for plan in report.alternatives
            ],
        },
        blocks={"season-data": shared.week_data},
    )


def _calendar(shared: Shared) -> Page:
    """Return the Calendar page."""
    report = shared.report
    curve = charts.departure_curve(report)
    blocks = {"season-data": shared.week_data}
    best = 0
    if curve is not None:
        blocks["departure-data"] = slider.departure_data(report)
        best = blocks["departure-data"]["sets"][0]["best"]
    return Page(
        "calendar",
        "Calendar",
        "calendar.html.j2",
        {
            "headline": opening.headline(report),
            "legs": shared.legs,
            "season": shared.season,
            "kit_title": shared.kit.title,
            "curve": curve,
            "departures": len(report.by_departure),
            "best_departure": best,
            "reached": [report.trip.legs[one.leg].name for one in report.replans],
            "on_the_road": bool(report.trip.done),
        },
        blocks=blocks,
    )


def _methods(shared: Shared) -> Page:
    """Return the page on methods and cautions."""
    party, best = shared.report.trip.party, shared.report.best
    return Page(
        "methods",
        "Methods and cautions",
        "methods.html.j2",
        {
            "grades": shared.grades,
            "levels": shared.levels,
            "warming_years": shared.report.trip.settings.warming_years,
            "sleep_from": figures.clock(party.sleep_from),
            "sleep_to": figures.clock(party.sleep_to),
            "factor_rows": [
                (words.FACTOR_WORDS[factor], words.FACTOR_REASONS[factor]) for factor in FACTORS
            ],
            "not_checked": shared.report.not_checked,
            "sign_kinds": SIGN_KINDS.values(),
            "not_assessed": shared.not_assessed,
            "partly_assessed": shared.partly_assessed,
            "person_spread": shared.report.trip.settings.person_spread,
            "range_parts": reasons.range_parts(best) if best else "",
            "own_rows": ownnights.own_rows(shared.report),
        },
    )
