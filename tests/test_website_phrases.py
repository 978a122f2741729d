"""No page gives unqualified good news, and each says where nobody looked at hazards."""

from __future__ import annotations

import re

import html5lib
import pytest
from page_text import metric_text
from sample_report import BASE_MAP, sample_report
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.website.pages import site

UNQUALIFIED = (
    "no hazard in this kit",
    "nothing closes or forbids",
    "no danger",
    "is safe",
    "are safe",
    "safe to sleep",
    "keeps you safe",
    "no risk",
    "without risk",
    "risk-free",
    "harmless",
    "guarantee",
    "changes nothing",
    "no hazard here",
    "nothing to fear",
    "nothing to worry",
    "nothing will go wrong",
    "all clear",
    "fully protected",
    "never dangerous",
    "no layer names a hazard here",
    "always open",
)
"""What somebody could die of believing, or what was once on a page and false."""


def visible(page: bytes) -> str:
    """Return what a page shows, in lower case on one line."""
    tree = html5lib.parse(page.decode(), namespaceHTMLElements=False)
    for element in [*tree.iter("script"), *tree.iter("style")]:
        element.clear()
    return " ".join(metric_text(tree).split()).lower()


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Return the pages of a new trip without layers, in weather nobody could complain of."""
    folder = tmp_path_factory.mktemp("new")
    text = trip(leg("A"), leg("B", (41.0, 31.0)), kits="bedroll roof-tent")
    report = pipeline.plan(saved(folder, text), climate=stored(folder))
    return {
        name: visible(content)
        for name, content in site(report, base_map=BASE_MAP).items()
        if name.endswith(".html")
    }


def test_a_new_trip_has_no_unqualified_good_news(pages):
    """The weather is perfect; that is no reason to say that the country is."""
    found = [
        (name, phrase) for name, text in pages.items() for phrase in UNQUALIFIED if phrase in text
    ]
    assert found == []


def test_a_trip_with_layers_has_none_either():
    """With hazards looked at, shielded from and in part only."""
    files = site(sample_report(), base_map=BASE_MAP)
    texts = {name: visible(content) for name, content in files.items() if name.endswith(".html")}
    found = [
        (name, phrase) for name, text in texts.items() for phrase in UNQUALIFIED if phrase in text
    ]
    assert found == []


def test_every_page_of_a_trip_without_layers_says_so(pages):
    """Whoever gets one page only reads there that nobody looked."""
    assert len(pages) > 8
    assert [name for name, text in pages.items() if "not checked" not in text] == []


def test_the_plan_and_each_region_name_what_nobody_looked_at(pages):
    """Not in the footer alone: where dangers are told, by kind."""
    for name, text in pages.items():
        if name == "index.html" or re.match("region-", name):
            assert re.search(r"not checked: [^.]*(flood|animals|security)", text), name


def test_kelvins_stand_in_methods_alone(pages):
    """Pages speak of degrees colder; the one-file copy holds Methods."""
    said = {name for name, text in pages.items() if re.search(r"\d k\b(?!/w)", text)}
    assert said == {"methods.html", "one-file.html"}
