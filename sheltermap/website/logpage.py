"""The Log page: a form that makes rows for the trip file, on the reader's own device.

In: what the pages share. Out: the page, with what its script needs. Assumes the templates
escape; the script writes text as text.
"""

from __future__ import annotations

from sheltermap.website import ownnights
from sheltermap.website.shared import Page, Shared

_COUNTS = (
    ("cold", "Cold woke you or kept you awake"),
    ("cool", "Slept, and felt cool"),
    ("warm", "Slept, and felt warm"),
    ("hot", "Heat kept you awake"),
    ("rain", "Rain while you lay"),
    ("wet", "of these, water came in"),
    ("damp", "Dripping fabric woke you"),
)
"""Counts of a row, as the form asks for them."""


def log_page(shared: Shared) -> Page:
    """
    Return the page that makes rows of the log.

    Parameters
    ----------
    shared : Shared

    Returns
    -------
    Page
    """
    report = shared.report
    party, plan = report.trip.party, report.best
    names = [sleeper.name for sleeper in party.sleepers]
    legs = (
        [(leg.name, leg.camp_reached.isoformat(), leg.leave.isoformat()) for leg in plan.legs]
        if plan
        else [(leg.name, "", "") for leg in report.trip.legs]
    )
    return Page(
        "log",
        "Log",
        "log.html.j2",
        {
            "sleepers": names if party.people > 1 else [],
            "people": party.people,
            "counts": _COUNTS,
            "kit_title": shared.kit.title,
            "kit_slug": shared.kit_slugs[shared.kit.id],
            "teaching": ownnights.teaching_sentences(report),
            "kits": [
                {"title": kit.title, "slug": shared.kit_slugs[kit.id]} for kit in report.kits
            ],
        },
        blocks={
            "kit-limits": shared.kit_limits,
            "log-data": {
                "legs": [
                    {"name": name, "arrive": arrive, "leave": leave}
                    for name, arrive, leave in legs
                ],
                "kits": [[kit.id, kit.title] for kit in report.kits],
                "kit": shared.kit.id,
                "sleepers": names,
            },
        },
    )
