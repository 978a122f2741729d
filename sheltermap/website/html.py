"""Pages as HTML: one of them alone, or all in one file.

In: a Report and pages. Out: finished files. Assumes nothing about where a page's section
will stand: its links name pages, and lead there once the copy is known. So a section that
stands in both copies is rendered once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from markupsafe import Markup

from sheltermap.economy.prices import guess_note, price_note
from sheltermap.report.report import Report
from sheltermap.website import environment, maps, words
from sheltermap.website.bothunits import in_both_units
from sheltermap.website.content import MENU
from sheltermap.website.shared import Page

SCRIPTS = {
    "words.js": None,
    "seasonplaces.js": "season-data",
    "season.js": "season-data",
    "departuretables.js": "departure-data",
    "departures.js": "departure-data",
    "log.js": "log-data",
    "tonight.js": "kit-limits",
    "display.js": None,
}
"""Scripts of the pages in their order, each with the data block without which it is left out."""

MAP_SCRIPTS = ("mapvalues.js", "maplayers.js", "map.js")
"""Scripts of a page with a map, in their order, after Leaflet."""

# Text from users has no quotation mark by now, so it cannot pass for a link of ours.
_LINK = re.compile(rf'href="{environment.PAGE_LINK}([^"]+)"')


def page_path(page: str) -> str:
    """
    Return the file of a page.

    Examples
    --------
    >>> page_path("plan"), page_path("kits")
    ('index.html', 'kits.html')
    """
    return "index.html" if page == "plan" else f"{page}.html"


class Html:
    """
    Pages of one report as HTML.

    Parameters
    ----------
    report : Report
    """

    def __init__(self, report: Report):
        self.report = report
        self._sections: dict[Page, Markup] = {}
        self._shared = {
            "trip_title": report.trip.title,
            "unchecked_somewhere": any(place.not_checked for place in report.places),
            "climate": report.climate,
            "plan": report.best,
            "price_note": price_note(report.trip.money),
            "guess_note": guess_note(report.trip.money),
            "made": None if report.made is None else words.full_date(report.made),
        }

    def alone(self, page: Page) -> bytes:
        """Return a page as a file of its own, whose scripts and styles lie beside it."""
        title = f"{page.title} · {self.report.trip.title}"
        text = self._document([page], None, title=title, current=page.id, parents=page.parents)
        return _finished(text, lambda linked: page_path(linked[1]))

    def together(self, pages: Sequence[Page], inline: Mapping) -> bytes:
        """
        Return pages as one file that needs no other.

        Parameters
        ----------
        pages : sequence of Page
        inline : mapping
            Scripts and styles to stand inside, see ``page.html.j2``.
        """
        title = self.report.trip.title
        text = self._document(pages, inline, title=title, current="", parents=())
        return _finished(text, lambda linked: f"#page-{linked[1]}")

    def _document(self, pages: Sequence[Page], inline: Mapping | None, **about: object) -> str:
        """Return an HTML file with links that name pages."""
        blocks = {name: data for page in pages for name, data in page.blocks.items()}
        has_map = any(page.map for page in pages)
        return (
            environment.environment()
            .get_template("page.html.j2")
            .render(
                **self._shared,
                **about,
                single=inline is not None,
                policy_mark=environment.POLICY_MARK,
                menu=MENU,
                sections=[(page.id, page.title, self._section(page)) for page in pages],
                blocks=[
                    (name, environment.json_block(data)) for name, data in sorted(blocks.items())
                ],
                scripts=[
                    name for name, block in SCRIPTS.items() if block is None or block in blocks
                ],
                map_scripts=MAP_SCRIPTS,
                map_parts=self._map_parts if has_map else None,
                needs_map=has_map,
                inline=inline,
            )
        )

    def _section(self, page: Page) -> Markup:
        """Return a page's own part."""
        if page not in self._sections:
            template = environment.environment().get_template(page.template)
            parts = {"map_parts": self._map_parts} if page.map else {}
            section = template.render(self._shared | page.context | parts)
            self._sections[page] = Markup(in_both_units(section))
        return self._sections[page]

    @cached_property
    def _map_parts(self) -> maps.MapParts:
        """Return the pieces of the map, as they may stand inside a page."""
        parts = maps.region_map(self.report)
        return replace(
            parts,
            html=Markup(parts.html),
            script=environment.inline_script(parts.script),
        )


def _finished(text: str, target: Callable[[re.Match[str]], str]) -> bytes:
    """Return a document with links that lead somewhere, and its content policy."""
    return environment.with_policy(_LINK.sub(lambda linked: f'href="{target(linked)}"', text))
