"""Quiet pages: each caution once, few boxes before the charts, marks only where they tell."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import html5lib
import pytest
from sample_report import BASE_MAP, sample_report

from sheltermap.website.gaps import unchecked_sentences
from sheltermap.website.pages import site

BOXES = {"caution", "warn", "unchecked", "danger", "hazard", "here", "grave", "data"}
MOST_BOXES = 3


@cache
def tree_of(name):
    """Return a page of the sample's site, parsed."""
    page = site(sample_report(), base_map=BASE_MAP)[name]
    return html5lib.parse(page, namespaceHTMLElements=False)


def classes(element):
    """Return the classes of an element."""
    return set(element.get("class", "").split())


def words(element):
    """Return the text of an element on one line."""
    return " ".join("".join(element.itertext()).split())


def boxes_before_a_chart(element):
    """Return the outermost boxes of a page's own part before its first drawing."""
    found = []

    def walk(parent):
        for child in parent:
            drawn = child.tag.endswith("}svg") and "chip" not in classes(child)
            if drawn or child.tag == "figure":
                return True
            if child.tag == "details" or classes(child) & BOXES:
                found.append(words(child)[:60])
            elif walk(child):
                return True
        return False

    assert walk(element), "a page without a chart would prove nothing"
    return found


@pytest.mark.parametrize("region", ["lowland", "high-valley", "steppe"])
def test_region_page_has_three_boxes_at_most_before_its_charts(region):
    """What is told at length is folded; what closes, forbids or is not checked stands open."""
    (main,) = tree_of(f"region-{region}.html").iter("main")
    boxes = boxes_before_a_chart(main)
    assert (region != "lowland") <= len(boxes) <= MOST_BOXES, boxes


def test_region_page_tells_every_hazard_without_unfolding():
    """Kind, worst level and when stand in the open list; notes and sources are folded."""
    (main,) = tree_of("region-high-valley.html").iter("main")
    (lines,) = [one for one in main.iter("ul") if "lines" in classes(one)][:1]
    report = sample_report()
    place = next(one for one in report.places if one.name.startswith("High valley"))
    assert place.findings
    for finding in place.findings:
        assert finding.title in words(lines)


def plan_of(report):
    """Return the Plan of a report, parsed."""
    page = site(report, base_map=BASE_MAP)["index.html"]
    return html5lib.parse(page, namespaceHTMLElements=False)


def cautioned():
    """Return the sample with one caution on every leg and one of its own on the last."""
    report = sample_report()
    *others, last = (replace(leg, cautions=("Boil the water.",)) for leg in report.best.legs)
    last = replace(last, cautions=("Boil the water.", "Mind the tide."))
    return replace(report, best=replace(report.best, legs=(*others, last)))


def test_each_caution_stands_once_on_the_plan():
    """On the first leg that it concerns; later ones say whose it was."""
    report = cautioned()
    tree = plan_of(report)
    told = [
        words(item)
        for one in tree.iter("ul")
        if "cautions" in classes(one)
        for item in one.iter("li")
    ]
    assert len(told) == len(set(told))
    assert told.count("Boil the water.") == told.count("Mind the tide.") == 1
    first = report.best.legs[0].name
    again = [words(one) for one in tree.iter("p") if "hold here too" in words(one)]
    assert len(again) == len(report.best.legs) - 1
    assert all(first in line for line in again)


def test_not_checked_is_said_once_on_the_plan():
    """In one sentence with its legs, not leg by leg."""
    tree = plan_of(sample_report())
    (said,) = [words(one) for one in tree.iter("p") if "unchecked" in classes(one)]
    assert "not the same as safe" in said
    folded = [words(one) for one in tree.iter("details") if "legs" not in classes(one)]
    assert not any("Nobody looked" in text for text in folded)


def test_unchecked_kinds_are_told_with_their_legs():
    """Two legs alike and one apart: two sentences; all alike: one, of any leg."""
    report = sample_report()
    one, two, three = report.best.legs
    legs = (
        replace(one, not_checked=("flood",)),
        replace(two, not_checked=("flood", "security")),
        replace(three, not_checked=("flood",)),
    )
    told = unchecked_sentences(replace(report, best=replace(report.best, legs=legs)))
    assert len(told) == 2
    assert one.name in told[0] and three.name in told[0] and two.name not in told[0]
    assert two.name in told[1] and "personal security" in told[1]
    alike = tuple(replace(leg, not_checked=("flood",)) for leg in legs)
    (line,) = unchecked_sentences(replace(report, best=replace(report.best, legs=alike)))
    assert line == "on any leg: flood."
    checked = tuple(replace(leg, not_checked=()) for leg in legs)
    assert not unchecked_sentences(replace(report, best=replace(report.best, legs=checked)))


def test_remedy_is_named_once_for_the_journey():
    """Price and name in the opening; legs say only what it does there."""
    report = sample_report()
    assert report.remedy is not None
    text = words(plan_of(report).find(".//main"))
    named = re.findall(re.escape(report.remedy.title) + r", [\d\u202f ]+", text)
    assert len(named) == 1
    assert "The journey's remedy saves" in text


@pytest.mark.parametrize("title", ["Four cots under a fly", "Das Zelt", "the old tarp", "X"])
def test_any_name_of_a_kit_fits_the_opening(title):
    """It stands after a colon, as its owner wrote it, and no article of ours before it."""
    report = sample_report()
    kits = tuple(
        kit.model_copy(update={"title": title}) if kit.id == report.best.kit else kit
        for kit in report.kits
    )
    text = words(plan_of(replace(report, kits=kits)).find(".//main"))
    opening = text[text.index("Start:") : text.index("week by week")]
    assert f"Kit: {title}. " in opening
    assert not re.search(rf"\b(the|a|an) {re.escape(title)}\b", opening)
