"""Tests of signs on the pages: beside what layers say, with their grounds, never in public."""

import re
from dataclasses import replace

import html5lib
import numpy as np
import pytest
from page_text import metric_text
from sample_report import BASE_MAP, sample_report

from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.website.pages import site
from sheltermap.website.placesigns import marked_days, sign_months, sign_rows

PAGE = "region-high-valley.html"


def text_of(report, page):
    """Return what a page says, on one line."""
    files = site(report, base_map=BASE_MAP)
    tree = html5lib.parse(files[page].decode(), namespaceHTMLElements=False)
    text = metric_text(tree.find("body").find("main"))
    return re.sub(r"[\s\u202f\u00a0]+", " ", text).replace("\u00ad", "")


def test_sign_stands_on_its_region_with_words_and_grounds():
    """Word of strength, sentence, rule, how well it did, and that nobody saw it."""
    text = text_of(sample_report(), PAGE)
    assert "Snow on the ground: strong sign" in text
    assert "an uncleared road at 2,100 m from December to March (computed)." in text
    assert "Rests on: twenty winters." in text
    assert SIGN_KINDS["snow-on-the-road"].skill in text
    assert "No layer looked at biting insects and the diseases they carry and altitude" in text


def test_plan_names_the_signs_of_each_leg():
    """On the leg that meets them, with the caution of a strong one."""
    report = sample_report()
    sign = report.places[1].signs[0]
    legs = (replace(report.best.legs[0], signs=(sign,)), *report.best.legs[1:])
    report = replace(report, best=replace(report.best, legs=legs))
    text = text_of(report, "index.html")
    assert "What the climate tells, computed: snow on the ground (strong sign)." in text
    assert "Ask the road authority." in text


def test_months_are_as_strong_as_their_strongest_day():
    """Snow from December to March, deep in February."""
    months = sign_months(sample_report().places[1].signs[0])
    assert [month["strength"] for month in months] == [1, 2, 1, 0, 0, 0, 0, 0, 0, 0, 0, 1]


@pytest.mark.parametrize(
    ("reported", "words"),
    [
        (np.r_[0:90, 330:365], "agrees to within a month"),
        (np.r_[150:200], "the two differ"),
        (np.r_[0:0], "found nothing, which counts more"),
    ],
)
def test_sign_and_layer_are_compared(reported, words):
    """Days that both name, days that one names, a look that found nothing."""
    place = sample_report().places[1]
    days = np.zeros(365, np.uint8)
    days[reported] = 4
    place = replace(place, findings=(replace(place.findings[0], level_by_day=days),))
    (row,) = sign_rows(place)
    assert words in row["beside"]


def test_methods_tell_what_every_sign_rests_on():
    """A row for each kind."""
    text = text_of(sample_report(), "methods.html")
    for kind in SIGN_KINDS.values():
        assert re.sub(r"\s+", " ", f"{kind.title}{kind.basis}{kind.skill}") in text


def test_chart_marks_snow_and_strong_signs_alone():
    """Snow counts from its first day; frost only where it is strong."""
    report = sample_report()
    place = report.places[1]
    snow = place.signs[0]
    assert np.flatnonzero(marked_days(place)).tolist() == [*range(90), *range(334, 365)]
    frost = replace(place, signs=(replace(snow, kind="frost"),))
    assert np.flatnonzero(marked_days(frost)).tolist() == [*range(31, 59)]
    page = site(report, base_map=BASE_MAP)["index.html"].decode()
    drawn = re.findall(r'<path class="sg" d="(M[^"]*)"/>\s*<path class="dot-case"', page)
    # In the weeks that matter the winter's end alone, in the whole year both of its ends.
    assert [(path.count("M"), path.count("h")) for path in drawn] == [(1, 1)] * 2 + [(2, 2)] * 2
