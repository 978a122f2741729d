"""The drawn season chart, and what its script tells, against the data that the page carries."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from browsing import BROWSER_MARKS, opened

pytestmark = BROWSER_MARKS

SPACE = "\u202f"  # narrow, between a number and its sign


# For every week of every row and year: the classes of the filled paths under its middle.
_PATTERNS = """given => { const svg = document.querySelector(given.svg);
  const first = +svg.dataset.first, scale = svg.dataset.width / svg.dataset.days;
  const tops = svg.dataset.rows.split(',').map(Number);
  const paths = [...svg.querySelectorAll('path[fill], path.h1, path.h2, path.h3, path.h4')];
  return given.places.map(([row, day, below]) => { const spot = svg.createSVGPoint();
    spot.x = (day - first) * scale; spot.y = tops[row] + below;
    return paths.filter(p => p.isPointInFill(spot))
      .map(p => p.hasAttribute('fill') ? p.getAttribute('fill').slice(5, -1)
        : p.getAttribute('class')); }); }"""


def data_of(page: Path, block: str) -> dict:
    """Return a JSON block of a written page."""
    text = page.read_text("utf-8")
    return json.loads(re.search(rf'id="{block}">(.*?)</script>', text, re.S)[1])


@pytest.mark.parametrize("drawing", ["wide", "narrow"])
@pytest.mark.parametrize("span", ["part", "whole"])
def test_drawn_weeks_are_those_of_the_data(browser, sample_site, drawing, span):
    """The middle of each week has the pattern of its grade, its strip the level's thickness.

    A unit below the cells an advisory is 2 units thick, a serious hazard 5, what forbids or
    closes 7; where nobody looked and nothing is known, a band of 3.
    """
    data = data_of(sample_site / "index.html", "season-data")
    rows = data["rows"]
    with opened(browser, 1280 if drawing == "wide" else 360) as visit:
        page = visit(sample_site / "index.html")
        page.set_checked(".season-all", span == "whole")
        svg = page.locator(f"svg.season-{drawing}:visible")
        cell, begin, days_shown = (
            float(svg.get_attribute(f"data-{name}")) for name in ("cell", "first", "days")
        )
        assert days_shown == 365 if span == "whole" else days_shown < 200
        places, expected = [], []
        for number, row in enumerate(rows):
            weeks = row["weeks"]
            columns = (data["first"], data["days"], *map(weeks.get, ("grade", "level", "checked")))
            for first, days, grade, level, checked in zip(*columns, strict=True):
                strip = [f"h{level}"] if level else [] if checked else ["nc"]
                thick = {0: 3, 1: 2, 2: 5, 3: 7, 4: 7}[level]
                day = first + days / 2
                if not begin < day < begin + days_shown:
                    continue
                places += [(number, day, cell / 2)]
                places += [(number, day, cell + below) for below in (0.5, 1.5, 3.5, 5, 7)]
                expected += [[f"g{grade}"], []]
                expected += [strip if below < 1 + thick else [] for below in (1.5, 3.5, 5, 7)]
        given = {"svg": f".season-{span} .season-{drawing}", "places": places}
        found = page.evaluate(_PATTERNS, given)
        assert {one[0] for one in expected if one} >= {"g0", "g1", "h3", "h4", "nc"}
        assert found == expected


def test_every_week_is_told_as_the_data_say(browser, sample_site):
    """Going through all weeks by key, grade, share and frame are those of the page's data."""
    data = data_of(sample_site / "index.html", "season-data")
    grades = ("sound", "workable", "hard", "unfit")
    with opened(browser, 1280) as visit:
        page = visit(sample_site / "index.html")
        page.check(".season-all")
        page.locator(".season-touch").focus()
        seen = page.evaluate(
            """({rows, first}) => { const out = [];
            const touch = document.querySelector('.season-touch');
            const press = key => touch.dispatchEvent(new KeyboardEvent('keydown', {key}));
            const box = document.querySelector('.season-whole .season-wide .pointed');
            rows.forEach((row, number) => { press('Home');
              first.forEach((_, week) => { if (week) press('ArrowRight');
                out.push([document.querySelector('.tell').textContent,
                          +box.getAttribute('x'), +box.getAttribute('width')]); });
              press('ArrowDown'); });
            return out; }""",
            data,
        )
        svg = page.locator(".season-whole .season-wide")
        across, shown = (float(svg.get_attribute(f"data-{name}")) for name in ("width", "days"))
    pieces = iter(seen)
    for row in data["rows"]:
        weeks = row["weeks"]
        for number, first in enumerate(data["first"]):
            text, x, width = next(pieces)
            begin = date(2027, 1, 1) + timedelta(days=first)
            assert text.startswith(f"{row['name']}, {begin.day} {begin:%B} to ")
            assert f". Sleep: {grades[weeks['grade'][number]]}, " in text
            assert f"{int(100 * weeks['share'][number] + 0.5)}{SPACE}% of nights" in text
            assert x == pytest.approx(first * across / shown, abs=0.051)
            assert width == pytest.approx(data["days"][number] * across / shown, abs=0.051)
    assert next(pieces, None) is None
