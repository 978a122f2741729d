"""The pages as bytes: what they say, what they must not say, and that nothing breaks them."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from itertools import combinations
from types import SimpleNamespace

import html5lib
import numpy as np
import pytest
from astral import Observer
from astral.sun import noon
from browsing import PAGES
from page_text import metric_text
from sample_report import BASE_MAP, HOSTILE, infeasible_report, sample_report

from sheltermap.trip.values import Span
from sheltermap.vocabulary import NARROW_SPACE
from sheltermap.website import charts, hazardstrip, kitcharts, season
from sheltermap.website.environment import isolated, json_block, with_policy
from sheltermap.website.figures import both, percent
from sheltermap.website.pages import ONE_FILE, one_file, site
from sheltermap.website.seasonaxis import WIDE, whole_years
from sheltermap.website.slider import week_data
from sheltermap.website.write import GENERATOR


@cache
def sample_site() -> dict[str, bytes]:
    """Return the sample's site with one export."""
    return site(sample_report(), base_map=BASE_MAP, exports={"plan.ics": b"BEGIN:VCALENDAR"})


def pages_of(files: dict[str, bytes]) -> dict[str, str]:
    """Return the HTML pages as text."""
    return {name: content.decode() for name, content in files.items() if name.endswith(".html")}


def visible_text(page: str) -> str:
    """Return a page's text without scripts, styles and tags."""
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    for parent in tree.iter():
        for child in list(parent):
            if child.tag in ("script", "style"):
                parent.remove(child)
    return re.sub(r"\s+", " ", metric_text(tree))


def test_two_builds_are_the_same_bytes():
    """No clock, no random id: a build can be compared with another."""
    again = site(sample_report(), base_map=BASE_MAP, exports={"plan.ics": b"BEGIN:VCALENDAR"})
    assert again == sample_site()


def test_every_page_of_the_design_is_there():
    """Plan, Calendar, Maps, regions, kits with cards, Load, Methods, Files, one file."""
    assert set(pages_of(sample_site())) == {*PAGES, ONE_FILE}


def test_html_is_valid_and_ids_are_unique():
    """A strict parser finds nothing, and no id stands twice."""
    for name, page in pages_of(sample_site()).items():
        parser = html5lib.HTMLParser()
        tree = parser.parse(page)
        assert not parser.errors, (name, parser.errors[:3])
        ids = [element.get("id") for element in tree.iter() if element.get("id")]
        assert len(ids) == len(set(ids)), (name, {i for i in ids if ids.count(i) > 1})


def test_no_page_asks_another_host():
    """Nothing but our own relative files, in any attribute, style or script of ours."""
    for name, content in sample_site().items():
        if name.startswith("vendor/") or not name.endswith((".html", ".js", ".css")):
            continue
        text = content.decode()
        if name == ONE_FILE:  # Leaflet, inside, names its home in a link it does not show.
            text = re.sub(r"<script>/\*!.*?@preserve.*?</script>", "", text, flags=re.S)
        text = re.sub(r"/\*.*?\*/", "", text, flags=re.S)
        text = text.replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"(?:https?:)?//[a-z0-9-]+\.[a-z]", text), name
        assert "@import" not in text


def test_copies_of_leaflet_carry_its_conditions():
    """Each copy reproduces the notice, the two conditions and the disclaimer.

    The holders' names are compared with those in the script of the package; the text is that of
    the file LICENSE of Leaflet 1.9.3 as published for npm, whose script is the same.
    """
    site = sample_site()
    script = site["vendor/leaflet/leaflet.js"].decode()
    holders = re.findall(r"\(c\) ([\d-]+) ([A-Z][\w ]+\w)", script[:300])
    assert [name for _, name in holders] == ["Vladimir Agafonkin", "CloudMade"]
    alone, whole = site["vendor/leaflet/LICENSE.txt"].decode(), site[ONE_FILE].decode()
    assert alone in whole
    for years, name in holders:
        assert f"Copyright (c) {years}, {name}\n" in alone
    for clause in ("1. Redistributions of source", "2. Redistributions in binary", "IS PROVIDED"):
        assert alone.count(clause) == 1


def test_every_link_leads_somewhere():
    """Relative links, images, scripts and anchors all exist in the site."""
    files = sample_site()
    for name, page in pages_of(files).items():
        tree = html5lib.parse(page, namespaceHTMLElements=False)
        ids = {element.get("id") for element in tree.iter()}
        for element in tree.iter():
            for attribute in ("href", "src"):
                target = element.get(attribute)
                if target is None or target.startswith("data:"):
                    continue
                path, _, anchor = target.partition("#")
                assert not path or path in files, (name, target)
                assert path or anchor in ids, (name, target)


def test_policy_lists_each_inline_script_by_hash():
    """Exactly the scripts that stand in the page may run, and nothing inline besides."""
    for name, page in pages_of(sample_site()).items():
        policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1]
        scripts = re.findall(r"<script>(.*?)</script>", page, re.S)
        hashes = {
            f"'sha256-{base64.b64encode(hashlib.sha256(s.encode()).digest()).decode()}'"
            for s in scripts
        }
        assert set(re.findall(r"'sha256-[^']+'", policy)) == hashes, name
        assert "unsafe-inline" not in policy.split("style-src")[0]
        assert "default-src 'none'" in policy
        assert not re.search(r"<[a-z]+[^>]* on[a-z]+=", page), name


def test_line_ends_do_not_change_the_hash():
    """Browsers hash LF; a page checked out with CRLF must still run."""
    page = "content-policy <script>a\r\nb</script>"
    digest = base64.b64encode(hashlib.sha256(b"a\nb").digest())
    assert digest in with_policy(page)


def test_the_opening_answers_in_order():
    """Where and when, with what, how many nights, what helps, danger, load, money."""
    text = visible_text(sample_site()["index.html"].decode())
    start = text.index("Start:")
    opening = text[start : text.index("week by week")]
    assert opening.startswith("Start: Lowland, 6 May 2027")
    answers = (
        "Kit: Roof tent",
        "About 9 of 60 nights",
        "What helps",
        "Warm bedding",
        "Danger",
        "High valley (road closed by snow or water, prohibitive)",
        "Load",
        "Money",
    )
    places = [opening.index(answer) for answer in answers]
    assert places == sorted(places)
    assert "Not assessed: wind" in opening
    below = text[text.index("week by week") :]
    assert re.search(r"Not checked: [^.]*flood; wildfire", below)


def test_no_plan_says_what_must_give():
    """An infeasible journey still opens, and says why first."""
    files = site(infeasible_report(), base_map=BASE_MAP)
    text = visible_text(files["index.html"].decode())
    assert "No plan fits: finish_by would have to be 9 days later." in text
    assert "nights will be rough" not in text


def test_missing_never_reads_as_good():
    """Unknown shares, loads and dangers are worded, never shown as 0 or sound."""
    report = sample_report()
    place = report.places[0]
    unknown = np.full(365, np.nan)
    season = replace(
        place.seasons["roof-tent"],
        sound_share=unknown,
        dangerous=unknown,
        low_one_in_20=unknown,
        grade=np.full(365, -1, dtype=np.int8),
        limiting_factor=np.full(365, -9, dtype=np.int8),
    )
    weeks = tuple(replace(w, grade=-1, sound_share=float("nan")) for w in place.weeks)
    place = replace(place, seasons={**place.seasons, "roof-tent": season}, weeks=weeks)
    legs = (replace(report.best.legs[0], dangerous_nights=float("nan")), *report.best.legs[1:])
    plan = replace(report.best, legs=legs, dangerous_nights=float("nan"))
    report = replace(report, places=(place, *report.places[1:]), best=plan)
    files = site(report, base_map=BASE_MAP)
    region = visible_text(files["region-lowland.html"].decode())
    assert len(re.findall(r"unknown not assessed", region)) == 12
    assert "nan" not in region.lower().replace("tian shan", "")
    opening = visible_text(files["index.html"].decode())
    assert "An unknown share of nights may be" in opening
    data = json.loads(
        re.search(r'id="season-data">(.*?)</script>', files["index.html"].decode(), re.S)[1]
    )
    assert set(data["rows"][0]["weeks"]["grade"]) == {-1}
    assert set(data["rows"][0]["weeks"]["share"]) == {None}


@pytest.mark.parametrize(("most", "told"), [(0.1, False), (1.0, True)])
def test_plan_says_where_nothing_bars_dangerous_dates(most, told):
    """Who switched the bar off must read it beside the plan."""
    report = sample_report()
    departure = report.trip.departure.model_copy(update={"most_danger": most})
    report = replace(report, trip=report.trip.model_copy(update={"departure": departure}))
    page = site(report, base_map=BASE_MAP)["index.html"].decode()
    assert ("most_danger = 1" in visible_text(page)) is told


def test_pointed_week_is_never_rounded_to_certainty():
    """A share a hair from 0 or 1 stays apart from it in the chart's table; 0 and 1 stay."""
    shares = (0.0, 0.00001, 0.99999, 1.0)
    report = sample_report()
    place = report.places[0]
    weeks = tuple(
        replace(week, sound_share=share) for week, share in zip(place.weeks, shares, strict=False)
    )
    data = week_data(replace(report, places=(replace(place, weeks=weeks),)))
    assert data["rows"][0]["weeks"]["share"] == [0, 0.0001, 0.9999, 1]


def test_range_that_nobody_knows_is_said_once_and_in_words():
    """Imported data may state no errors."""
    report = sample_report()

    def unranged(plan):
        return replace(plan, rough_low=float("nan"), rough_high=float("nan"))

    others = tuple(unranged(plan) for plan in report.alternatives)
    assert others
    report = replace(report, best=unranged(report.best), alternatives=others)
    text = visible_text(site(report, base_map=BASE_MAP)["index.html"].decode())
    assert "how far that may stray is unknown" in text
    assert "unknown to unknown" not in text and "The range holds" not in text
    assert text.count("unknown range") == len(others)


def test_first_page_says_that_days_beyond_the_window_were_not_compared():
    """The window's first day is the best one here."""
    report = sample_report()
    early = replace(report.best, depart=report.trip.departure.earliest)
    said = "This leaves on the first day that the trip file allows"
    files = site(replace(report, best=early), base_map=BASE_MAP)
    assert said in visible_text(files["index.html"].decode())
    assert said not in visible_text(site(report, base_map=BASE_MAP)["index.html"].decode())


def test_a_leg_without_rough_nights_names_no_reason():
    """0.04 of ten nights is no night, and what would spoil it no news."""
    report = sample_report()
    first, *others = report.best.legs
    calm = replace(first, rough_nights=0.04, nights=10, limiting_factor="wet")
    report = replace(report, best=replace(report.best, legs=(calm, *others)))
    text = visible_text(site(report, base_map=BASE_MAP)["index.html"].decode())
    assert "None of 10 nights is expected to be rough (under 1 in 20)." in text
    assert "0.0 of 10 nights rough" not in text


def test_full_copy_says_that_it_shows_where_people_sleep():
    """Every page asks robots to stay away and says what it gives away."""
    for name, page in pages_of(sample_site()).items():
        assert '<meta name="robots" content="noindex, nofollow">' in page, name
        assert "shows where and when people sleep" in page, name


def test_cautions_stand_on_every_page():
    """Climate is not a forecast, and authorities come first, wherever a result shows."""
    for name, page in pages_of(sample_site()).items():
        text = visible_text(page)
        assert "Climate is not a forecast" in text, name
        assert "Local authorities" in text, name
        assert "2000 to 2025" in text, name


@pytest.mark.parametrize("text", HOSTILE, ids=["tags", "script-ends", "long"])
def test_hostile_text_stays_text(text):
    """Markup, template code and script ends in every field come out as plain text."""
    files = site(sample_report(text), base_map=BASE_MAP)
    for name, page in pages_of(files).items():
        tree = html5lib.parse(page, namespaceHTMLElements=False)
        for element in tree.iter():
            assert element.get("onerror") is None and element.get("onload") is None, name
            if element.tag == "script" and element.get("src") is None:
                assert element.get("type") == "application/json" or "window.hit" not in (
                    element.text or ""
                )
        assert "49" not in re.findall(r"Three valleys (\d+)", page), name
        assert "\u202e" not in page, name
        policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1]
        scripts = re.findall(r"<script>(.*?)</script>", page, re.S)
        assert len(re.findall(r"'sha256-", policy)) == len(scripts), name


@pytest.mark.parametrize(
    "text, expected",
    [
        ("\u05d4\u05e8, 2 July", "[\u05d4\u05e8], 2 July"),
        (
            "9. \u05d4\u05e8 12 (\u05e7\u05d8\u05df): 5",
            "9. [\u05d4\u05e8 12 (\u05e7\u05d8\u05df)]: 5",
        ),
        (
            "\u05d4\u05e8 (2027) and \u0646\u0647\u0631",
            "[\u05d4\u05e8 (2027)] and [\u0646\u0647\u0631]",
        ),
        ("\u05d4\u05e8 (by road)", "[\u05d4\u05e8] (by road)"),
        ("\u202e\u05d4\u05e8\u2069", "[\u05d4\u05e8]"),
        ("Ala-Too, 天山", "Ala-Too, 天山"),
    ],
)
def test_right_to_left_names_are_isolated(text, expected):
    """Whole names stand between isolates, their brackets with them, in pages and in data."""
    expected = expected.replace("[", "\u2068").replace("]", "\u2069")
    assert isolated(text) == expected
    assert json.loads(str(json_block({"a": [text]}))) == {"a": [expected]}


def test_many_brackets_do_not_slow_the_isolating():
    """A text made to make the search try every way takes no time worth measuring."""
    text = "(" + "\u05e9(" * 20_000
    assert isolated(text) == text.replace("\u05e9", "\u2068\u05e9\u2069")


def test_json_blocks_cannot_end_early():
    """Data inside a script element holds no sequence that HTML reads."""
    block = str(json_block({"a": "</script><!--<script>&"}))
    assert "<" not in block and ">" not in block and "&" not in block
    assert json.loads(block) == {"a": "</script><!--<script>&"}


def test_not_checked_and_unassessed_are_worded_on_the_region_page():
    """A hatched mark alone would not do."""
    text = visible_text(sample_site()["region-steppe.html"].decode())
    assert "Not checked: flood; wildfire and fire ban." in text
    assert "Not assessed, so left out of every share: wind" in text


def test_hazards_say_what_when_and_on_whose_word():
    """The high valley's closure has its level, its dates, its source and its caution."""
    text = visible_text(sample_site()["region-high-valley.html"].decode())
    assert "closure from 17 November to 30 April" in text
    assert "prohibitive from 1 to 14 May" in text
    assert "Closed from 17 November to 30 April: road closed by snow or water (source:" in text
    assert "Forbidden from 1 to 14 May: road closed by snow or water (source: road a" in text
    assert "Source: road authority" in text
    assert "Opening dates change from year to year" in text


def test_slider_tables_hold_millionths():
    """Each day's roughness is stored to 1e-6 and the best departure is marked."""
    page = sample_site()["calendar.html"].decode()
    data = json.loads(re.search(r'id="departure-data">(.*?)</script>', page, re.S)[1])
    report = sample_report()
    for table, place in zip(data["kits"][0]["places"], report.places, strict=True):
        exact = 1 - place.seasons["roof-tent"].sound_share
        steps = [part.split("x") for part in table["rough"].split()]
        held = np.cumsum([int(step) for step, *days in steps for _ in range(int(*days or (1,)))])
        np.testing.assert_allclose(held / 1e6, exact, rtol=0, atol=5.1e-7)
    departures = data["sets"][0]
    assert departures["best"] == 35
    assert departures["way"][0] is None and data["ways"][departures["way"][35]]["kit"] == 0


def test_sizes_stay_within_the_goals():
    """A page with what it loads at first stays under 400 kB, the one file under 3 MB."""
    files = sample_site()
    for name, content in files.items():
        if name.endswith(".html") and name != ONE_FILE:
            asked = re.findall(
                r'<(?:script src|link rel="stylesheet" href)="(.+?)"', content.decode()
            )
            assert len(content) + sum(len(files[path]) for path in asked) < 400_000, name
    assert len(files[ONE_FILE]) < 3_000_000


def test_one_file_needs_no_other_file():
    """Every image, style and script is inside."""
    page = one_file(sample_report(), base_map=BASE_MAP).decode()
    assert page.encode() == sample_site()[ONE_FILE]
    assert GENERATOR.decode() in page[:500]  # by which the writer knows it again
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    for element in tree.iter():
        assert element.tag != "link"
        source = element.get("src")
        assert source is None or source.startswith("data:image/png;base64,")
        target = element.get("href") or "#"
        assert target.startswith("#"), target


@pytest.mark.parametrize(
    ("value", "kind", "metric", "imperial"),
    [
        # By hand: 25.4 mm to the inch, 1.609344 km to the mile, 0.45359237 kg to the pound,
        # 3.785411784 L to the US gallon, 0.3048 m to the foot.
        (-40, "temperature", "−40 °C", "−40 °F"),
        (10, "difference", "10.0 K", "18.0 °F"),
        (1000, "height", "1 000 m", "3 280 ft"),
        (1, "rain", "1 mm", "0.04 in"),
        (100, "distance", "100 km", "62 mi"),
        (50.8, "rain", "51 mm", "2.0 in"),
        (100, "mass", "100 kg", "220 lb"),
        (10, "wind", "10 m/s", "22 mph"),
        (75.7, "volume", "76 L", "20.0 US\u00a0gal"),
        (None, "mass", "unknown", "unknown"),
        (float("nan"), "temperature", "unknown", "unknown"),
    ],
)
def test_quantities_in_both_systems(value, kind, metric, imperial):
    """Figures a reader can check by hand, with their units."""
    shown = tuple(text.replace(NARROW_SPACE, " ") for text in both(value, kind))
    assert shown == (metric, imperial)


def test_percent_never_claims_certainty():
    """0.996 is not 100 %, and 0.004 is not 0 %."""
    assert percent(0.996).startswith("over 99")
    assert percent(0.004).startswith("under 1")


def test_what_the_trip_file_closes_stands_on_its_regions_page():
    """A road closed by the traveller is no layer's, and still closes."""
    report = sample_report()
    winter = Span(first="11-15", last="05-10", margin_days=10, note="snow on the upper road")
    once = Span(first=date(2027, 6, 1), last=date(2027, 6, 4))
    always = Span(first="01-01", last="12-31")
    name = next(leg.name for leg in report.best.legs if leg.place == "lowland")
    legs = tuple(
        leg.model_copy(update={"closed": (winter, once, always)}) if leg.name == name else leg
        for leg in report.trip.legs
    )
    report = replace(report, trip=report.trip.model_copy(update={"legs": legs}))

    pages = pages_of(site(report, base_map=BASE_MAP, exports={}))
    page = visible_text(pages["region-lowland.html"])
    said = "is closed from 15 November to 10 May every year, and kept free for 10 days more"
    assert f"{said} (trip file): snow on the upper road." in page
    assert "is closed from 1 June 2027 to 4 June 2027 (trip file)." in page
    assert "is closed all year (trip file)." in page


def test_axis_of_few_nights_repeats_no_figure():
    """Half nights between 0 and 2 print their half, else an axis reads 0, 0, 1, 2, 2."""
    row = {"name": "A", "total": 1.6, "parts": [("heat", 1.6, "f1")]}
    chart = charts.stacked_bars([row], charts.bar_ticks([row]))
    assert [tick["text"] for tick in chart["ticks"]] == ["0", "0.5", "1", "1.5", "2"]


@pytest.mark.parametrize(
    ("days", "said"),
    [(0.0, None), (2.5, "a full tank lasts 2.5 days"), (None, "lasts unknown days")],
)
def test_no_tank_lasts_no_days(days, said):
    """A vehicle without a water tank is not told that it lasts 0.0 days."""
    report = sample_report()
    legs = tuple(replace(leg, water_tank_days=days) for leg in report.load.legs)
    report = replace(report, load=replace(report.load, legs=legs))
    page = pages_of(site(report, base_map=BASE_MAP, exports={}))["load.html"]
    assert ("a full tank lasts" in visible_text(page)) is (said is not None)
    assert said is None or said in visible_text(page)


def test_solar_hours_can_be_read_on_a_clock():
    """An almanac library has the same earliest and latest noon at 33 degrees east, to 80 s."""
    text = visible_text(pages_of(sample_site())["region-high-valley.html"])
    found = re.search(r"between (\d\d):(\d\d) and (\d\d):(\d\d) UTC", text)
    hours = [int(part) for part in found.groups()]
    days = (date(2027, 1, 1) + timedelta(days=n) for n in range(365))
    noons = [noon(Observer(41.0, 33.0), date=day) for day in days]
    minutes = [one.hour * 60 + one.minute + one.second / 60 for one in noons]
    assert abs(hours[0] * 60 + hours[1] - min(minutes)) < 80 / 60
    assert abs(hours[2] * 60 + hours[3] - max(minutes)) < 80 / 60


def test_heat_category_says_how_long_to_work():
    """The US Army card for moderate work: 30 minutes of rest in category 4, none in 1."""
    report = sample_report()
    place = report.places[0]
    category = np.zeros(12)
    category[5:8] = 1, 4, np.nan
    warm = replace(place, climate=replace(place.climate, heat_category=category))
    party = report.trip.party.model_copy(update={"activity": "moderate"})
    report = replace(
        report,
        places=(warm, *report.places[1:]),
        trip=report.trip.model_copy(update={"party": party}),
    )
    text = visible_text(site(report, base_map=BASE_MAP)["region-lowland.html"].decode())
    assert "one day of moderate work" in text
    assert "4 of 5 work 30 min, rest 30" in text
    assert text.count(" min, rest") == 1
    assert "unknown" in text


def test_base_map_is_cut_once():
    """The folder and its one-file copy share what lies in the journey's box."""
    boxes = []

    def counted(bounds):
        boxes.append(bounds)
        return BASE_MAP(bounds)

    site(sample_report(), base_map=counted)
    assert len(boxes) == 1


def test_points_of_a_chart_never_cover_each_other():
    """Kits of nearly the same cost and nights stand side by side, in the drawing still."""
    rows = [
        SimpleNamespace(title=title, money=money, rough_nights=rough)
        for title, money, rough in [
            ("a", 2696, 10.5),
            ("b", 2684, 9.8),
            ("c", 2690, 10.2),
            ("d", 14074, 9.5),
            ("e", 14100, 9.6),
        ]
    ]
    chart = kitcharts.trade_off(rows, "money", 0, {0})
    places = [(point["x"], point["y"]) for point in chart["points"]]
    for (x, y), (other_x, other_y) in combinations(places, 2):
        assert abs(x - other_x) >= 17 or abs(y - other_y) >= 17
    assert all(chart["left"] <= x <= charts.WIDTH - 8 for x, _ in places)
    assert chart["moved"]
    assert not kitcharts.trade_off([rows[0], rows[3]], "money", 0, {0})["moved"]


NEAR = next(x / 10 for x in range(340, 5000) if x / 10 + 17.0 - x / 10 < 17.0)


@pytest.mark.parametrize("kits", [(40, 30, 35), (550, 540, 545, 547), (NEAR, NEAR)])
def test_points_that_cover_others_find_room(kits):
    """Also where rounding puts a disc's width beside another a hair short of that width."""
    points = [{"x": float(x), "y": 50.0} for x in kits]
    assert kitcharts._spread(points, 560.0)
    for one, other in combinations(points, 2):
        assert abs(one["x"] - other["x"]) >= 17 - 1e-5


def test_strip_of_hazards_by_hand():
    """A closed stretch of 56 units has two crosses; what is known to be free has no strip."""
    paths: dict[str, str] = {}
    stretches = [(100, 56, 4, True), (156, 20, 2, False), (176, 10, 0, False), (186, 9, 0, True)]
    hazardstrip.strip(stretches, 50, paths)
    assert sorted(paths) == ["h2", "h4", "hx", "nc"]
    boxes = {name: [float(n) for n in re.findall(r"-?[\d.]+", paths[name])] for name in paths}
    # Drawn as M x y h width v height h -width z: closures fill the strip's 7 units.
    assert boxes["h4"] == [100, 50, 56, 7, -56]
    assert boxes["h2"] == [156, 50, 20, 5, -20]
    assert boxes["nc"] == [176, 50, 10, 3, -10]
    # The crosses stand at a quarter and three quarters of 56 units, 4 units wide and high.
    assert re.findall(r"M([\d.]+) ([\d.]+)", paths["hx"]) == [("112.0", "51.5"), ("140.0", "51.5")]


def test_what_limits_a_week_does_not_break_its_strip():
    """Weeks that differ only in what else limits them are one closed stretch."""
    report = sample_report()
    valley = report.places[1]
    weeks = tuple(
        replace(week, factor="cold" if number % 3 else "wet")
        for number, week in enumerate(valley.weeks)
    )
    drawn = []
    for told in (valley.weeks, weeks):
        places = (report.places[0], replace(valley, weeks=told), report.places[2])
        changed = replace(report, places=places)
        areas = season.drawing(changed, WIDE, whole_years(changed))["areas"]
        drawn.append({one["pattern"]: one["path"] for one in areas if one["pattern"][0] == "h"})
    assert drawn[0] == drawn[1]
    assert set(drawn[0]) >= {"h3", "h4", "hx"}


def test_hazard_of_a_part_keeps_its_level_there():
    """A closure of a twentieth of the area binds nobody elsewhere, and is told as a closure."""
    report = sample_report()
    place = report.places[1]
    stated = place.findings[0].level_by_day
    part = replace(
        place.findings[0],
        level_by_day=np.minimum(stated, 1),
        share=0.05,
        part="in part of the area only (about 5 %)",
        stated_level_by_day=stated,
    )
    places = (report.places[0], replace(place, findings=(part,)), report.places[2])
    files = site(replace(report, places=places), base_map=BASE_MAP)
    text = visible_text(files["region-high-valley.html"].decode())
    assert "It holds in part of the area only (about 5 %); there it is closed" in text
    assert "closed from 17 November to 30 April and prohibitive from 1 to 14 May." in text
    assert "For the whole area it counts as an advisory." in text
    assert "advisory: 17 November" not in text
    assert "Concerns" not in text


def test_what_humid_air_feels_like_is_said_where_it_calls_for_caution():
    """A month of extreme caution says so beside the heat category; a mild one says nothing."""
    regions = [page for name, page in pages_of(sample_site()).items() if "region" in name]
    text = visible_text(regions[0])
    assert re.search(r"feels like 34.{0,30}: extreme caution", text)
    assert not re.search(r"feels like 20", text)
