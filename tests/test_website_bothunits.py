"""Every quantity in a sentence is told in both systems; names and markup stay."""

from __future__ import annotations

import html5lib
import pytest
from page_text import metric_text

from sheltermap.website.bothunits import in_both_units


def imperial(sentence: str) -> str:
    """Return what a reader in imperial units sees of a sentence, spaces plain."""
    told = in_both_units(f"<p>{sentence}</p>").replace('class="metric"', 'class="imperial-not"')
    told = told.replace('class="imperial"', "").replace("imperial-not", "imperial")
    tree = html5lib.parseFragment(told, namespaceHTMLElements=False)
    return metric_text(tree).replace("\u202f", " ").replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("metric", "expected"),
    [
        # By hand: 0.45359237 kg to the pound, 0.3048 m to the foot, 1.609344 km to the mile,
        # 25.4 mm to the inch, 3.785411784 L to the US gallon, 1.8 degF to the kelvin.
        ("3\u202f071 of 3\u202f050 kg", "6 770 of 6 724 lb"),
        ("between 3,000 and 3,300 m.", "between 9 840 and 10 830 ft."),
        ("from 2,700 m to 3,150 m", "from 8 860 ft to 10 330 ft"),
        ("Its bed is 1.90 m long", "Its bed is 6.23 ft long"),
        ("Rain of 20 mm in a day", "Rain of 0.8 in in a day"),
        ("a mean of 3.5 m/s over", "a mean of 7.8 mph over"),
        ("nights below 5 °C at", "nights below 41 °F at"),
        ("from −2 to 8 °C and", "from 28 to 46 °F and"),
        ("about 12 °C colder than", "about 22 °F colder than"),
        ("by 2 K as a rule", "by 4 °F as a rule"),
        ("1,500&nbsp;km apart", "932 mi apart"),
        ("a full tank of 60 L is", "a full tank of 15.9 US gal is"),
        ("11.5 L/100 km more", "20.5 mpg (US) more"),
        ("walls 18 m2, 9 m3", "walls 194 sq ft, 318 cu ft"),
    ],
)
def test_quantity_is_told_in_imperial_units(metric, expected):
    """In the digits of the metric figure, or of its kind."""
    assert imperial(metric) == expected


@pytest.mark.parametrize(
    "text",
    [
        "so 0.9 m2 K/W",
        "foam of 0.04 W/(m K)",
        "12 kits, 3 Kelvin bridges",
        "K2 and M41",
        "3 lakes, 2 men, 5 Lira",
        "in 2027",
    ],
)
def test_what_is_no_quantity_stays(text):
    """Thermal resistances have one unit everywhere; words that begin like a unit are words."""
    assert in_both_units(f"<p>{text}</p>") == f"<p>{text}</p>"


@pytest.mark.parametrize(
    "html",
    [
        '<a title="5 km" href="x">there</a>',
        "<svg><title>5 km</title><desc>5 km</desc></svg>",
        "<textarea>5 km</textarea><option>5 km</option><code>5 km</code>",
        '<span class="metric">5 km</span><span class="imperial">3 mi</span>',
        '<g class="metric"><text>5 km</text><text>6 km</text></g>',
    ],
)
def test_markup_and_what_has_both_already_stays(html):
    """Nothing inside a tag, no text that may hold no element, nothing told twice."""
    assert in_both_units(html) == html


def test_drawings_get_elements_of_their_own():
    """Inside a drawing text is cut by tspan, outside by span; after what is skipped too."""
    told = in_both_units("<svg><title>1 km</title><text>5 km</text></svg><p>5 km</p>")
    assert told.count("<tspan class=") == 2 and told.count("<span class=") == 2


def test_metric_readers_see_what_was_written():
    """To the letter."""
    sentence = "<p>With 93 kg left, 3,000 and 3,300 m, <b>5 °C</b> and 3 K.</p>"
    told = html5lib.parseFragment(in_both_units(sentence), namespaceHTMLElements=False)
    assert metric_text(told) == "With 93 kg left, 3,000 and 3,300 m, 5 °C and 3 K."
