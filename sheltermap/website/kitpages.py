"""The pages about kits: their comparison, and one printable card each.

In: what the pages share, a kit. Out: pages with template and context. Assumes the
templates escape.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from markupsafe import Markup

from sheltermap.economy.comparison import KitComparison
from sheltermap.economy.prices import money
from sheltermap.places.place import NightSeason
from sheltermap.shelters.kit import Kit
from sheltermap.spans import days_in_words
from sheltermap.suitability.titles import in_sentence
from sheltermap.vocabulary import FACTORS, Grade, listed
from sheltermap.website import charts, figures, words
from sheltermap.website.shared import Page, Shared

EXPOSURE_WORDS = {
    "ground": "on the ground",
    "raised": "off the ground on a cot",
    "roof": "high up on the vehicle",
    "hard": "in a hard body",
}
"""How a sleeper lies, in words."""


def kits_page(shared: Shared) -> Page:
    """
    Return the comparison of all kits.

    Parameters
    ----------
    shared : Shared

    Returns
    -------
    Page
    """
    report = shared.report
    comparison = report.comparison
    sentence = f"The plan is made with the {in_sentence(shared.kit.title)}."
    if comparison is not None:
        sentence = comparison.sentence
    return Page(
        "kits",
        "Kits",
        "kits.html.j2",
        {
            "sentence": sentence,
            "kits": [
                {
                    "title": kit.title,
                    "slug": shared.kit_slugs[kit.id],
                    "what": kit.what,
                    "chosen": kit.id == shared.kit.id,
                    "card": report.cards[kit.id],
                    "usual": None if report.own is None else report.own.cards[kit.id],
                    "mass_kg": kit.mass_kg,
                    "packed_litres": kit.packed_litres,
                }
                for kit in report.kits
            ],
            "refused": [
                {"title": refused.title, "reasons": refused.reasons}
                for refused in report.refused.values()
            ],
            "comparison": None if comparison is None else _comparison(comparison),
        },
    )


def _comparison(comparison: KitComparison) -> dict[str, Any]:
    """Return the rows of the comparison and its charts."""
    trade_off = set(comparison.trade_off)
    rows = []
    for number, row in enumerate(comparison.rows):
        beaten = [comparison.rows[n].title for n in comparison.dominated_by[number]]
        against = comparison.reasons_against[number]
        rows.append(
            {
                "title": row.title,
                "remedy": row.remedy,
                "better": number == comparison.better,
                "against": against,
                "cannot": bool(against),
                "beaten": listed(beaten),
                "worth": number in trade_off,
                "row": row,
            }
        )
    causes = [
        {
            "name": row.title,
            "total": row.rough_nights,
            "parts": [
                (words.FACTOR_WORDS[f], row.nights_by_factor.get(f), f"f{n}")
                for n, f in enumerate(FACTORS)
            ],
        }
        for row in comparison.rows
    ]
    return {
        "rows": rows,
        "criterion": comparison.criterion,
        "currency": comparison.currency,
        "causes": charts.stacked_bars(causes, charts.bar_ticks(causes)),
        "cause_parts": [(words.FACTOR_WORDS[f], f"f{n}") for n, f in enumerate(FACTORS)],
        "against_money": charts.trade_off(comparison.rows, "money", comparison.better, trade_off),
        "against_mass": charts.trade_off(comparison.rows, "mass_kg", comparison.better, trade_off),
        "bedding": comparison.bedding_steps,
        "changes": [change.sentence for change in comparison.changes],
    }


def kit_page(shared: Shared, kit: Kit) -> Page:
    """
    Return one kit's card.

    Parameters
    ----------
    shared : Shared
    kit : Kit

    Returns
    -------
    Page
    """
    report = shared.report
    return Page(
        f"kit-{shared.kit_slugs[kit.id]}",
        kit.title,
        "kit.html.j2",
        {
            "kit": kit,
            "card": report.cards[kit.id],
            "usual": None if report.own is None else report.own.cards[kit.id],
            "details": _details(shared, kit),
            "places": [
                {
                    "name": place.name,
                    "slug": shared.place_slugs[place.id],
                    "sentence": _good_months(place.seasons[kit.id]),
                }
                for place in report.places
                if kit.id in place.seasons
            ],
        },
        parents=("kits",),
    )


def _details(shared: Shared, kit: Kit) -> list[tuple[str, str]]:
    """Return what a kit is, as rows of name and value."""
    quantity = figures.quantity
    bed = quantity(kit.bed_length_m, "length", 2)
    beds = "a bed" if kit.units == 1 else "beds"
    rows = [
        ("How you lie", EXPOSURE_WORDS[kit.exposure]),
        ("Sleeper above the ground", quantity(kit.sleeper_height_m, "length")),
        ("Sleeps", Markup("{} in {} of {}").format(kit.places, beds, bed)),
        ("Rain in a night that it keeps out", quantity(kit.rain_threshold_mm, "rain", 1)),
        ("Rainy nights on which it leaks, closed", figures.percent(kit.leak)),
        ("Mass with bedding", quantity(kit.mass_kg, "mass")),
        ("Packed inside the vehicle", quantity(kit.packed_litres, "volume")),
        ("To pitch and strike", f"{kit.pitch_minutes:.0f} and {kit.strike_minutes:.0f} minutes"),
    ]
    if kit.awning is not None:
        rows.append(
            ("Awning is taken in above gusts of", quantity(kit.awning.wind_limit_m_s, "wind"))
        )
    if kit.canvas:
        rows.append(("Canvas", f"needs about {kit.dry_hours:.0f} dry hours after soaking"))
    currency = shared.report.trip.money.currency
    return [*rows, ("Price, new", f"about {money(kit.price, currency)}")]


def _good_months(season: NightSeason) -> str:
    """Return the spans in which a kit's nights are sound or workable."""
    grade = np.asarray(season.grade)
    if (grade < 0).all():
        return "unknown"
    good = days_in_words((grade >= 0) & (grade <= Grade.WORKABLE))
    return f"sound or workable {good}" if good else "never better than hard"
