"""Charts by hand: where bars, points and marks stand, in drawings 344 units wide."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from test_website_load import load

from sheltermap.website import charts
from sheltermap.website.axes import axis
from sheltermap.website.kitcharts import trade_off
from sheltermap.website.loadpage import load_chart
from sheltermap.website.placecharts import camp_spread, climate_chart, strip_areas


@pytest.mark.parametrize(
    ("lowest", "highest", "about", "marks"),
    [
        (0, 8, 4, [0, 2, 4, 6, 8]),
        (0, 8.1, 4, [0, 5, 10]),
        (3, 17, 4, [0, 5, 10, 15, 20]),
        (0, 40, 4, [0, 10, 20, 30, 40]),
        (0, 40, 8, [0, 5, 10, 15, 20, 25, 30, 35, 40]),
        (0, 0.3, 4, [0, 0.1, 0.2, 0.3]),
        (5, 5, 4, [5, 6]),
        (-3, -1, 4, [-3, -2.5, -2, -1.5, -1]),
    ],
)
def test_marks_are_round_and_no_more_than_wanted(lowest, highest, about, marks):
    """Steps of 1, 2 or 5 times a power of ten, the least that are few enough, by hand."""
    assert charts.ticks(lowest, highest, about) == pytest.approx(marks)


def test_a_mark_has_the_decimals_it_needs():
    """Three at most."""
    shown = [charts.tick_text(value) for value in (2.0, 0.5, 0.25, 0.125, 0.12345)]
    assert shown == ["2", "0.5", "0.25", "0.125", "0.123"]


def departures(first: date, costs: list, best: int | None = None) -> SimpleNamespace:
    """Return what the curve takes of a report: a date a day from the first."""
    dates = [
        SimpleNamespace(depart=first + timedelta(days=n), rough_nights=cost)
        for n, cost in enumerate(costs)
    ]
    plan = None if best is None else SimpleNamespace(depart=dates[best].depart)
    return SimpleNamespace(by_departure=dates, best=plan)


COSTS = [8.0, 7.0, 6.0, None, None, 5.0, 4.0, 3.0, 2.0, 3.0, *[4.0] * 10]


def test_curve_of_rough_nights():
    """Twenty dates on 344 - 30 - 10 = 304 units, 16 apart; 0 to 8 nights from 150 up to 16."""
    curve = charts.departure_curve(departures(date(2027, 4, 29), COSTS, best=8))
    assert (curve["step"], curve["left"], curve["width"], curve["height"]) == (16, 30, 344, 176)
    assert [(mark["text"], mark["y"]) for mark in curve["ticks"]] == [
        (text, pytest.approx(y))
        for text, y in (("0", 150), ("2", 116.5), ("4", 83), ("6", 49.5), ("8", 16))
    ]
    assert curve["line"].startswith("M30.0 16.0L46.0 32.8L62.0 49.5M110.0 66.2L126.0 83.0")
    assert curve["best"] == {"x": 158, "y": pytest.approx(116.5)}
    # Dates 3 and 4 have no plan: from half a day before the one to half a day after the other.
    assert curve["gaps"] == [{"x": 70, "width": 32}]
    assert curve["months"] == [{"x": 30, "name": "Apr"}, {"x": 62, "name": "May"}]
    days = [("29 April 2027", "8.0"), ("6 May 2027", "3.0"), ("7 May 2027", "2.0"),
            ("13 May 2027", "4.0")]  # fmt: skip
    assert curve["rows"] == days


def test_dates_without_a_plan_at_the_ends():
    """A gap ends with the curve on the left; half a day after the last date on the right."""
    costs = [None, None, *[4.0] * 16, None, None]
    curve = charts.departure_curve(departures(date(2027, 5, 5), costs))
    assert curve["gaps"] == [{"x": 30, "width": 24}, {"x": 310, "width": 32}]
    assert curve["best"] is None
    assert curve["rows"][0] == ("5 May 2027", "no plan")


@pytest.mark.parametrize(
    ("costs", "there"), [([4.0], False), ([None] * 3, False), ([4.0] * 2, True)]
)
def test_a_curve_needs_two_dates_and_a_plan(costs, there):
    """One date is no choice, and no plan no curve."""
    assert (charts.departure_curve(departures(date(2027, 5, 1), costs)) is not None) is there


@pytest.mark.parametrize(("count", "names"), [(28, ["Apr", "May"]), (29, ["Apr"])])
def test_months_have_room_for_their_names(count, names):
    """More than 22 units: two days are 2 x 304 / 27 = 22.5 of them, or 2 x 304 / 28 = 21.7."""
    curve = charts.departure_curve(departures(date(2027, 4, 29), [4.0] * count))
    assert [month["name"] for month in curve["months"]] == names


def test_stacked_bars():
    """344 - 4 - 34 = 306 units are 6 nights, 51 each; rows of 40 from 8 on; nothing is no part."""
    rows = [
        {"name": "A", "total": 2.5, "parts": [("cold", 1.5, "f0"), ("wet", 0.0, "f1"),
                                              ("heat", None, "f2"), ("wind", 1.0, "f3")]},
        {"name": "B", "total": 6.0, "parts": [("cold", 6.0, "f0")]},
    ]  # fmt: skip
    marks = charts.bar_ticks(rows)
    assert marks == [0, 2, 4, 6]
    chart = charts.stacked_bars(rows, marks)
    first, second = chart["bars"]
    assert [(part["x"], part["width"], part["style"]) for part in first["parts"]] == [
        (4, 76.5, "f0"),
        (80.5, 51, "f3"),
    ]
    assert (first["y"], second["y"], chart["bottom"], chart["height"]) == (8, 48, 88, 110)
    assert [mark["x"] for mark in chart["ticks"]] == [4, 106, 208, 310]


def test_bars_have_an_axis_of_a_night_at_least():
    """Half a night of one cause and nothing at all are drawn on an axis to 1."""
    assert charts.bar_ticks([]) == [0, 0.5, 1]
    assert charts.bar_ticks([{"parts": [("cold", 0.3, ""), ("wet", 0.2, "")]}]) == [0, 0.5, 1]


def test_grades_in_words():
    """0.90, 0.75 and 0.50 begin a grade."""
    told = [(one["meaning"], one["short"]) for one in charts.grade_legend()]
    assert [tuple(text.replace("\u202f", " ") for text in one) for one in told] == [
        ("90 % or more of nights sound", "90 %+"),
        ("75 to 90 % of nights sound", "75–90 %"),
        ("50 to 75 % of nights sound", "50–75 %"),
        ("under 50 % of nights sound", "under 50 %"),
    ]


def test_axis_of_both_systems():
    """-10 to 10 degC are 14 to 50 degF: 20 degF lies at -6.67 degC, 50 at the end."""
    shared = axis(-10, 10, "temperature")
    assert [mark.text for mark in shared.metric] == ["−10", "−5", "0", "5", "10"]
    assert [mark.text for mark in shared.imperial] == ["20", "30", "40", "50"]
    places = [mark.at for mark in shared.imperial]
    assert places == pytest.approx([-6.6667, -1.1111, 4.4444, 10], abs=1e-4)
    metric, imperial = shared.placed(lambda at: 100 - at)
    assert (metric["system"], metric["marks"][0]) == ("metric", {"at": 110, "text": "−10"})
    assert imperial["marks"][-1]["at"] == pytest.approx(90)


def kit(money, mass, rough, title="Kit") -> SimpleNamespace:
    """Return what the chart takes of a row of kits."""
    return SimpleNamespace(money=money, mass_kg=mass, rough_nights=rough, title=title)


def test_kits_against_money():
    """2000 on 344 - 12 - 34 = 298 units from 34, 30 nights on 180 - 18 = 162 up from 180."""
    rows = [kit(500, 10, 30), kit(None, 20, 5), kit(2000, 60, 0), kit(1000, None, 12)]
    chart = trade_off(rows, "money", better=3, worth={0, 2})
    points = [(one["number"], one["x"], one["y"], one["better"], one["worth"])
              for one in chart["points"]]  # fmt: skip
    assert points == [
        (1, 108.5, 18, False, True),
        (3, 332, 180, False, True),
        (4, 183, pytest.approx(115.2), True, False),
    ]
    assert [mark["y"] for mark in chart["y_ticks"]] == pytest.approx([180, 126, 72, 18])
    (only,) = chart["across"]
    assert [mark["at"] for mark in only["marks"]] == pytest.approx([34, 108.5, 183, 257.5, 332])
    assert not chart["moved"]
    assert [one["system"] for one in trade_off(rows, "mass_kg", None, set())["across"]] == [
        "metric",
        "imperial",
    ]


@pytest.mark.parametrize(
    ("money", "places"),
    [
        (1000, [183, 200, 217]),  # to the right, by a disc of 17 each
        (1600, [272.4, 289.4, 306.4]),
        (1700, [287.3, 270.3, 253.3]),  # within 3 discs of the right end, from 281 on
    ],
)
def test_points_that_would_cover_each_other(money, places):
    """The first stays where it is; x is 34 + money x 298 / 2000."""
    rows = [*(kit(money, 1, 12) for _ in range(3)), kit(2000, 1, 30)]
    chart = trade_off(rows, "money", None, set())
    assert [one["x"] for one in chart["points"]][:3] == pytest.approx(places)
    assert chart["moved"]


def test_one_kit_is_no_trade_off():
    """Two are needed with both figures."""
    rows = [kit(500, 10, 30), kit(None, 20, 5), kit(700, 20, None)]
    assert trade_off(rows, "money", None, set()) is None
    assert trade_off([*rows, kit(900, 1, 1)], "money", None, set()) is not None


NAN = float("nan")


def year_at(rain: list[float]) -> dict:
    """Return the chart of a place at -10 to 40 degC, from the hand-made climate below."""
    warmest = np.array([40.0, *[15.0] * 10, NAN])
    climate = SimpleNamespace(
        temperature_min=np.array([-10.0, *[5.0] * 11]), temperature_max=warmest,
        dewpoint=np.array([0.0, *[10.0] * 11]), rain_per_month=np.array(rain),
        wet_days=np.arange(12) + 3.0,
    )  # fmt: skip
    season = SimpleNamespace(low_one_in_20=np.where(np.arange(365) < 31, -5.0, 2.5))
    return climate_chart(climate, season)


def test_year_of_a_place():
    """344 - 46 - 30 = 268 units are twelve months; 50 K are 160 - 14 = 146 units."""
    chart = year_at([100.0, 50.0, NAN, *[20.0] * 9])
    month = 268 / 12
    assert [one["x"] for one in chart["months"]] == pytest.approx(
        [46 + (n + 0.5) * month for n in range(12)]
    )
    (january, february, *_), ranges = chart["range"], chart["range"]
    assert len(ranges) == 11  # December's high is missing.
    assert (january["x"], january["width"]) == pytest.approx((46 + 0.2 * month, 0.6 * month))
    assert (january["y"], january["y2"]) == pytest.approx((14, 160))
    assert (february["y"], february["y2"]) == pytest.approx((160 - 73, 160 - 43.8))
    low, dew = chart["lines"]["low20"], chart["lines"]["dewpoint"]
    assert low.startswith("M57.2 145.4L79.5 123.5")  # 5 and 12.5 K above the bottom, 2.92 each
    assert dew.startswith("M57.2 130.8L79.5 101.6")
    assert (chart["left"], chart["right"], chart["top"], chart["bottom"]) == (46, 314, 14, 160)
    metric, _ = chart["axis"]
    assert [mark["text"] for mark in metric["marks"]] == ["−10", "0", "10", "20", "30", "40"]
    assert [mark["at"] for mark in metric["marks"]] == pytest.approx(
        [160, 130.8, 101.6, 72.4, 43.2, 14]
    )
    assert [row["low20"] for row in chart["rows"]] == [-5, *[2.5] * 11]


def test_rain_of_a_place():
    """236 - 182 = 54 units are 100 mm; a month without a figure has no bar."""
    chart = year_at([100.0, 50.0, NAN, *[20.0] * 9])
    month = 268 / 12
    bars = [(bar["y"], bar["height"]) for bar in chart["rain"]]
    assert bars == [pytest.approx(bar) for bar in
                    [(182, 54), (209, 27), (236, 0), *[(225.2, 10.8)] * 9]]  # fmt: skip
    second = chart["rain"][1]
    assert (second["x"], second["width"], second["middle"]) == pytest.approx(
        (46 + 1.14 * month, 0.72 * month, 46 + 1.5 * month)
    )
    metric, _ = chart["rain_axis"]
    assert [(mark["at"], mark["text"]) for mark in metric["marks"]] == [
        (236, "0"),
        (209, "50"),
        (182, "100"),
    ]
    # A desert's axis goes to 10 mm, so that 1 mm is not drawn as a wet month.
    dry = year_at([1.0, *[0.0] * 11])
    assert dry["rain"][0]["height"] == pytest.approx(5.4)


def test_months_of_a_kit_as_areas():
    """Months of 27 by 22 units every 28.4 from 2 on; unknown has its own pattern."""
    months = [{"grade": 0, "level_code": 0}, {"grade": -1, "level_code": 0},
              {"grade": 0, "level_code": 2}]  # fmt: skip
    areas = {one["pattern"]: one["path"] for one in strip_areas(months)}
    assert areas["g0"] == "M2 0h27v22h-27zM58.8 0h27v22h-27z"
    assert areas["gx"] == "M30.4 0h27v22h-27z"
    assert areas["h2"] == "M58.8 23h27v5h-27z"  # a unit below, 5 thick as in the season chart
    assert set(areas) == {"g0", "gx", "h2"}


def test_camps_of_a_place_differ():
    """Good is sound and workable; a month's figure is the mean of its days."""
    shares = np.full((12, 4), [0.5, 0.25, 0.15, 0.1])
    days = np.arange(365, dtype=float)
    season = SimpleNamespace(
        grade_shares=shares, sound_share_median=days, sound_share_worst_tenth=np.full(365, NAN)
    )
    rows = camp_spread(season)
    assert [row["median"] for row in rows[:2]] == [15, 44.5]  # days 0 to 30 and 31 to 58
    assert np.isnan(rows[0]["worst"])
    assert {(row["good"], row["rough"], row["unfit"]) for row in rows} == {(0.75, 0.15, 0.1)}


def test_loads_on_an_axis_of_800_kg():
    """344 - 6 - 10 = 328 units are 800 kg: the line at 750 kg, 400 kg on board."""
    chart = load_chart(load())
    assert chart["limit"] == pytest.approx(6 + 750 * 0.41)
    (bar,) = chart["bars"]
    assert (bar["y"], bar["end"]) == (26, pytest.approx(6 + 400 * 0.41))
    assert [part["x"] for part in bar["parts"]] == pytest.approx(
        [6 + kg * 0.41 for kg in (0, 160, 210, 274, 314)]
    )
    assert (chart["bottom"], chart["height"]) == (70, 104)
    assert (chart["empty_kg"], chart["rated_kg"]) == (2300, 3050)


@pytest.mark.parametrize(("rated", "limit"), [(2300.0, None), (2200.0, None), (2400.0, 88)])
def test_a_vehicle_too_heavy_when_empty_has_no_line(rated, limit):
    """An axis to 400 kg has 328 units, 0.82 a kg: room for 100 kg ends at 6 + 82."""
    chart = load_chart(load(rated=rated))
    (bar,) = chart["bars"]
    assert chart["limit"] == (None if limit is None else pytest.approx(limit))
    assert bar["excess"] == pytest.approx(limit or 6)
    assert bar["over"] == 2700 - rated and bar["margin"] < 0
