"""The pages about kits: their comparison, and one printable card each.

In: what the pages share, a kit. Out: pages with template and context. Assumes the
templates escape.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from markupsafe import Markup

from sheltermap.economy.comparison import KitComparison
from sheltermap.economy.prices import money
from sheltermap.economy.tradeoff import Traded
from sheltermap.places.place import NightSeason
from sheltermap.shelters.kit import Kit, load_addons
from sheltermap.spans import days_in_words
from sheltermap.suitability.titles import in_sentence
from sheltermap.vocabulary import FACTORS, Grade, listed
from sheltermap.website import charts, figures, words
from sheltermap.website.kitcharts import trade_off
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
    sentence = f"{shared.kit.title}: the plan is made with this kit."
    if comparison is not None:
        sentence = comparison.sentence
    return Page(
        "kits",
        "Kits",
        "kits.html.j2",
        {
            "sentence": sentence,
            "sleepers": "you"
            if report.trip.party.people == 1
            else "your coldest and your most heat-sensitive sleeper",
            "kits": [
                {
                    "title": kit.title,
                    "slug": shared.kit_slugs[kit.id],
                    "card": report.cards[kit.id],
                    "mass_kg": kit.mass_kg,
                    "packed_litres": kit.packed_litres,
                }
                for kit in report.kits
            ],
            "refused": [
                {"title": refused.title, "reasons": refused.reasons}
                for refused in report.refused.values()
            ],
            "comparison": None if comparison is None else _comparison(shared, comparison),
        },
    )


def _comparison(shared: Shared, comparison: KitComparison) -> dict[str, Any]:
    """Return the table of the trade-off, what is said below it, and the charts."""
    own = shared.report.own
    order = [one.number for one in comparison.traded]
    rows = [one.row for one in comparison.traded]
    names = [_name(one) for one in comparison.traded]
    worth = {order.index(number) for number in comparison.trade_off}
    better = None if comparison.better is None else order.index(comparison.better)
    causes = [
        {
            "name": name,
            "total": row.rough_nights,
            "parts": [
                (words.FACTOR_WORDS[f], row.nights_by_factor.get(f), f"f{n}")
                for n, f in enumerate(FACTORS)
            ],
        }
        for name, row in zip(names, rows, strict=True)
    ]
    drawn = [replace(row, title=name) for name, row in zip(names, rows, strict=True)]
    return {
        "rows": [
            {
                "name": name,
                "slug": shared.kit_slugs.get(one.kit.id, ""),
                "notes": list(_notes(shared, comparison, one)),
                "better": n == better,
                "against": comparison.reasons_against[one.number],
                "beaten": listed(
                    [comparison.rows[by].title for by in comparison.dominated_by[one.number]]
                ),
                "one": one,
                "stand": _answer(one.kit.standing_room),
                "lock": _answer(one.kit.lockable),
                "usual": None if own is None else own.cards.get(one.kit.id),
                "raised": one.kit.exposure != "ground",
            }
            for n, (name, one) in enumerate(zip(names, comparison.traded, strict=True))
        ],
        "nights": rows[0].nights,
        "landed": comparison.landing_known,
        "open": comparison.open_questions,
        "criterion": comparison.criterion,
        "currency": comparison.currency,
        "causes": charts.stacked_bars(causes, charts.bar_ticks(causes)),
        "cause_parts": [(words.FACTOR_WORDS[f], f"f{n}") for n, f in enumerate(FACTORS)],
        "against_money": trade_off(drawn, "money", better, worth),
        "against_mass": trade_off(drawn, "mass_kg", better, worth),
        "bedding": comparison.bedding_steps,
        "changes": [change.sentence for change in comparison.changes],
    }


def _name(one: Traded) -> str:
    """Return what tells a kit from the others at its start: a variant by what it adds."""
    if not one.row.remedy:
        return one.row.title
    return f"With {listed([in_sentence(addon.title) for addon in one.added])}"


def _notes(shared: Shared, comparison: KitComparison, one: Traded) -> Iterator[str]:
    """Yield what a kit's name leaves out: the kit of a variant, add-ons, whose plan it is."""
    chosen = comparison.rows[0]
    if one.row.remedy:
        yield f"added to: {chosen.title}"
    elif one.number == 0:
        carried = shared.report.trip.shelter.addons
        if carried:
            yield f"with {listed([_addon_name(identity) for identity in carried])}"
        yield "planned with"


def _addon_name(identity: str) -> str:
    """Return an add-on's name inside a sentence; one of a user's own by its id."""
    ours = load_addons().get(identity)
    return identity.replace("-", " ") if ours is None else in_sentence(ours.title)


def _answer(known: bool | None) -> str:
    """Return yes, no or unknown."""
    return "unknown" if known is None else "yes" if known else "no"


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
            "slug": shared.kit_slugs[kit.id],
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
        blocks={"kit-limits": shared.kit_limits},
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
