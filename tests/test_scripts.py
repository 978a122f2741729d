"""The arithmetic of the site's scripts, asked in a browser with inputs made by hand.

A bare page loads the scripts without starting them; every expected value is worked out
beside its check. `test_drawn_weeks.py` compares the pages with the data they carry.
"""

from __future__ import annotations

import base64
from datetime import date, timedelta

import pytest
from browsing import BROWSER_MARKS

from sheltermap.website.figures import percent

pytestmark = BROWSER_MARKS

SPACE = "\u202f"  # narrow, between a number and its sign


def chart_of(**columns) -> dict:
    """Return a chart of one place whose year has three spans: days 0 to 6, 7 to 58, the rest."""
    weeks = {
        "grade": [0, 2, 3],
        "share": [0.95, 0.7, 0.3],
        "factor": [0, 1, 1],
        "hazard": [2, 2, 2],
        "level": [0, 0, 0],
        "checked": [1, 1, 1],
        "remedy": [2, 3, 3],
        **columns,
    }
    return {
        "words": ["nothing", "too cold", "", "Warm bedding", "Flood"],
        "first": [0, 7, 59],
        "days": [7, 52, 306],
        "rows": [{"name": "Steppe", "weeks": weeks}],
    }


def told(ask, week: int, year: int = 0, **columns) -> str:
    """Return what the season chart says of a week of `chart_of`."""
    return ask(
        "season.sentence", "Steppe", ask("season.weekOf", chart_of(**columns), 0, week), year
    )


def test_unknown_is_never_zero(ask):
    """A missing share is said to be missing; only a share of 0 is 0 %, a whole one 100 %."""
    assert ask("words.percent", None) == "not assessed"
    assert [ask("words.percent", share) for share in (0, 0.004, 0.005, 0.01, 0.99, 0.996, 1)] == [
        f"0{SPACE}%",
        f"under 1{SPACE}%",
        f"under 1{SPACE}%",
        f"1{SPACE}%",
        f"99{SPACE}%",
        f"over 99{SPACE}%",
        f"100{SPACE}%",
    ]
    halves = [0.125, 0.245, 0.375, 0.5, 0.625, 0.745, 0.865]
    shown = [f"{whole}{SPACE}%" for whole in (13, 25, 38, 50, 63, 75, 87)]
    assert [ask("words.percent", share) for share in halves] == shown
    assert [percent(share) for share in halves] == shown  # the page's words are the script's
    text = told(ask, 1, share=[None] * 3, grade=[-1] * 3)
    assert text == (
        "Steppe, 8 January to 28 February. Sleep: unknown, the share of sound nights is not "
        "assessed. "
        "What would help: Warm bedding."
    )


def test_week_in_words(ask):
    """The cause is named unless nothing limits; the year only where it is given."""
    assert told(ask, 0) == f"Steppe, 1 January to 7 January. Sleep: sound, 95{SPACE}% of nights."
    assert told(ask, 2, 2028) == (
        "Steppe, 1 March to 31 December 2028. "
        f"Sleep: unfit, 30{SPACE}% of nights, limited by too cold. What would help: Warm bedding."
    )
    assert told(ask, 0, checked=[0, 1, 1]).endswith("Not every hazard was checked here.")


@pytest.mark.parametrize(
    ("level", "word", "helped"),
    [
        (1, "advisory", True),
        (2, "serious", True),
        (3, "don't sleep here", False),
        (4, "closed", False),
    ],
)
def test_no_remedy_against_what_forbids(ask, level, word, helped):
    """In a week with a prohibitive hazard or a closure no kit would help."""
    text = told(ask, 1, hazard=[2, 4, 2], level=[0, level, 0])
    assert f"Hazard: Flood, {word}." in text
    assert ("What would help" in text) is helped


LAYOUT = {
    "width": 730,
    "first": 0,
    "days": 730,
    "cell": 20,
    "year": 2027,
    "stair": True,
    "rows": [50, 100],
}
"""Two years of two rows, one unit a day."""

PART = LAYOUT | {"first": 59, "days": 371, "width": 742}
"""From 1 March of the first year to 6 March of the second but one day, two units a day."""


def two_rows() -> dict:
    """Return the chart of `chart_of` with its place on two rows."""
    chart = chart_of()
    return {**chart, "rows": chart["rows"] * 2}


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [
        (0, 60, (0, 0, 0)),  # 1 January of the first year
        (6.9, 60, (0, 0, 0)),  # 7 January, the last day of the first span
        (7, 60, (0, 1, 0)),
        (58.9, 60, (0, 1, 0)),  # day 58, 28 February
        (59, 60, (0, 2, 0)),
        (364.9, 60, (0, 2, 0)),  # day 364, 31 December
        (365, 60, (0, 0, 1)),  # 1 January of the second year
        (729.9, 60, (0, 2, 1)),
        (0, 32, (0, 0, 0)),  # the label, 18 units above the cells
        (0, 81.9, (0, 0, 0)),
        (0, 82, (1, 0, 0)),
        (0, 300, (1, 0, 0)),
        (-0.1, 60, None),
        (730, 60, None),
        (0, 31.9, None),
    ],
)
def test_each_day_reads_its_own_week(ask, x, y, expected):
    """Pointed at, a day gives the week that holds it, in its own row and year."""
    spot = ask("seasonplaces.spotAt", two_rows(), LAYOUT, x, y)
    assert (spot and (spot["row"], spot["week"], spot["year"])) == expected


@pytest.mark.parametrize(
    ("x", "expected"),
    [
        (0, (0, 2, 0)),  # 1 March of the first year, day 59
        (611.9, (0, 2, 0)),  # 305 days later, day 364
        (612, (0, 0, 1)),
        (625.9, (0, 0, 1)),  # day 365 + 6
        (626, (0, 1, 1)),
        (729.9, (0, 1, 1)),  # day 423, 28 February
        (730, (0, 2, 1)),
    ],
)
def test_a_part_of_the_year_reads_its_own_weeks(ask, x, expected):
    """A drawing that begins on day 59 at two units a day: day d stands at 2 x (d - 59)."""
    spot = ask("seasonplaces.spotAt", two_rows(), PART, x, 60)
    assert (spot["row"], spot["week"], spot["year"]) == expected


@pytest.mark.parametrize(
    ("key", "start", "end"),
    [
        ("ArrowRight", (0, 1, 0), (0, 2, 0)),
        ("ArrowRight", (0, 2, 0), (0, 0, 1)),
        ("ArrowRight", (0, 2, 1), (0, 2, 1)),
        ("ArrowLeft", (0, 1, 1), (0, 0, 1)),
        ("ArrowLeft", (0, 0, 1), (0, 2, 0)),
        ("ArrowLeft", (0, 0, 0), (0, 0, 0)),
        ("ArrowDown", (0, 1, 1), (1, 1, 1)),
        ("ArrowDown", (1, 1, 1), (1, 1, 1)),
        ("ArrowUp", (1, 1, 1), (0, 1, 1)),
        ("ArrowUp", (0, 1, 1), (0, 1, 1)),
        ("Home", (1, 2, 1), (1, 0, 0)),
        ("End", (1, 0, 0), (1, 2, 1)),
        ("Tab", (1, 0, 0), None),
    ],
)
def test_keys_lead_from_week_to_week(ask, key, start, end):
    """Arrows cross New Year and stop at the chart's ends; other keys lead nowhere."""
    spot = dict(zip(("row", "week", "year"), start, strict=True))
    after = ask("seasonplaces.spotAfter", two_rows(), LAYOUT, spot, key)
    assert (after and (after["row"], after["week"], after["year"])) == end


@pytest.mark.parametrize(
    ("key", "start", "end"),
    [
        ("ArrowLeft", (0, 2, 0), (0, 2, 0)),  # the first week shown
        ("Home", (0, 0, 1), (0, 2, 0)),
        ("End", (0, 2, 0), (0, 2, 1)),  # day 59 + 370 = 429 is day 64 of the second year
        ("ArrowDown", (0, 0, 0), (1, 2, 0)),  # from outside, as after the whole year was shown
    ],
)
def test_keys_stay_in_the_part_that_is_drawn(ask, key, start, end):
    """No key leads to a week that the drawing does not show."""
    spot = dict(zip(("row", "week", "year"), start, strict=True))
    after = ask("seasonplaces.spotAfter", two_rows(), PART, spot, key)
    assert (after["row"], after["week"], after["year"]) == end


def test_frame_around_a_week(ask):
    """Drawn at 2 units a day, the second year's day 7 stands at 2 x 372, less 2 x 59 in part."""
    layout = {"width": 1460, "first": 0, "days": 730, "cell": 20, "year": 2027, "rows": [50]}
    week, spot = {"first": 7, "days": 52}, {"row": 0, "week": 1, "year": 1}
    frame = ask("seasonplaces.frameOf", layout, spot, week)
    assert frame == {"x": "744.0", "y": 48, "width": "104.0", "height": 24}
    assert ask("seasonplaces.frameOf", PART, spot, week)["x"] == "626.0"
    narrow = ask("seasonplaces.frameOf", {**layout, "width": 73}, spot, week)
    assert narrow["width"] == "5.2"  # 52 days at a tenth of a unit
    least = ask("seasonplaces.frameOf", {**layout, "width": 7.3}, spot, week)
    assert least["width"] == "4.0"


def test_february_29_stands_on_the_28th(ask):
    """Days are counted in years of 365: 28 and 29 February are 58, 1 March is 59 in any year."""
    first = "2028-02-27"
    days = [ask("words.dayOfYear", ask("words.dateOf", first, number)) for number in range(4)]
    assert days == [57, 58, 58, 59]
    assert ask("words.longDate", ask("words.dateOf", first, 2)) == "29 February 2028"
    assert ask("words.shortDate", ask("words.dateOf", first, 2)) == "29 Feb"
    assert ask("words.dayOfYear", ask("words.dateOf", "2028-12-31", 0)) == 364
    assert ask("words.dayOfYear", ask("words.dateOf", "2027-01-01", 0)) == 0


def test_every_day_of_the_year_by_name(ask):
    """The names run through a common year as the calendar does."""
    starts = [date(2027, month, 1) for month in range(1, 13)]
    for first in starts:
        for day in (first, first + timedelta(days=27), first - timedelta(days=1)):
            assert ask("words.yearlyDate", day.timetuple().tm_yday - 1) == f"{day.day} {day:%B}"


def packed(values) -> str:
    """Return a year as its changes, each day's spelt out; a missing day leaves no trace."""
    steps, last = [], 0
    for value in values:
        steps.append("?" if value is None else str(value - last))
        last = last if value is None else value
    return " ".join(steps)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("4 0x2 5 -2", [4, 4, 4, 9, 7]),
        ("5x3 0", [5, 10, 15, 15]),
        ("?x2 2 ? 1", [None, None, 2, None, 3]),  # 3 is 1 more than 2, the last known
        ("0x3", [0, 0, 0]),
        ("-7", [-7]),
    ],
)
def test_years_are_unfolded_from_their_changes(ask, text, values):
    """What is repeated counts as often as it says; unknown is never 0."""
    assert ask("departuretables.unfolded", text) == values


def tables_of(rough, level=(0,) * 365, cold=None) -> dict:
    """Return departure tables of one kit at one place, from 27 February 2028."""
    return {
        "first": "2028-02-27",
        "done": [],
        "legs": [
            {"name": "Steppe", "place": 0, "preferred": 4},
            {"name": "Valley", "place": 0, "preferred": 6},
        ],
        "ways": [
            {"kit": 0, "legs": [0, 1]},
            {"kit": 0, "legs": [1, 0]},
            {"kit": 0, "legs": [1]},
        ],
        "factors": [{"name": "cold", "word": "too cold"}, {"name": "wet", "word": "rain"}],
        "floors": [
            {"grade": 0, "floor": 0.9},
            {"grade": 1, "floor": 0.75},
            {"grade": 2, "floor": 0.5},
            {"grade": 3, "floor": 0},
        ],
        "kits": [
            {
                "title": "Roof tent",
                "places": [
                    {
                        "rough": packed(rough),
                        "level": packed(level),
                        "causes": {"cold": packed(cold or [0] * 365), "wet": None},
                    }
                ],
            }
        ],
        "sets": [],
        "reasons": ["", "The journey gets no further than Steppe."],
    }


STAY = {"place": 0, "leg": 0, "arrive": 0, "leave": 4}
"""The nights of 27, 28, 29 February and 1 March: days 57, 58, 58 and 59."""


def leg(ask, tables: dict, stay: dict = STAY) -> dict:
    """Return the leg that the departure slider makes of a stay."""
    return ask("departuretables.legOf", tables, tables["kits"][0], stay)


def year_of(value, **days) -> list:
    """Return 365 times a value, other values given as ``day57=...``."""
    year = [value] * 365
    for name, other in days.items():
        year[int(name.removeprefix("day"))] = other
    return year


def test_leg_sums_its_own_nights(ask):
    """0.1 + 0.2 + 0.2 + 0.4 = 0.9 rough of four nights: 0.775 sound, which is workable."""
    rough = year_of(1_000_000, day57=100_000, day58=200_000, day59=400_000)
    cold = year_of(0, day58=2_000)
    found = leg(ask, tables_of(rough, cold=cold))
    assert found["rough"] == pytest.approx(0.9, abs=1e-12)
    assert (found["nights"], found["grade"], found["reason"]) == (4, 1, "too cold")
    assert leg(ask, tables_of(rough))["reason"] == "nothing"


@pytest.mark.parametrize(
    ("each", "grade"),
    [
        (0, 0),
        (100_000, 0),
        (100_001, 1),
        (250_000, 1),
        (250_001, 2),
        (500_000, 2),
        (500_001, 3),
        (1_000_000, 3),
    ],
)
def test_leg_is_graded_by_its_share(ask, each, grade):
    """A share that meets a floor has its grade: 0.9 is sound, a millionth less is not."""
    assert leg(ask, tables_of([each] * 365))["grade"] == grade


def test_one_unknown_night_makes_a_leg_unknown(ask):
    """Neither rough nor sound: no number, no grade, and none for the whole journey."""
    missing = leg(ask, tables_of(year_of(100_000, day59=None)))
    assert (missing["rough"], missing["grade"]) == (None, -1)
    whole = leg(ask, tables_of([100_000] * 365))
    assert ask("departuretables.roughOf", [whole, missing]) is None
    assert ask("departuretables.roughOf", [whole, whole]) == pytest.approx(0.8, abs=1e-12)


@pytest.mark.parametrize(
    ("level", "words"),
    [
        (0, ""),
        (1, ""),
        (2, "serious hazard"),
        (3, "prohibitive hazard"),
        (4, "closure"),
    ],
)
def test_one_night_of_hazard_holds_for_the_leg(ask, level, words):
    """The worst night's level stands beside the grade, which speaks of sleep alone."""
    for night in ("day57", "day59"):
        levels = year_of(0, **{night: level})
        for rough, grade in (([0] * 365, 0), ([None] * 365, -1)):
            found = leg(ask, tables_of(rough, levels))
            assert (found["grade"], found["reason"], found["hazard"]) == (grade, "nothing", words)


def test_nights_outside_the_stay_do_not_count(ask):
    """Neither the night before arriving nor that of leaving."""
    levels = year_of(4, day57=0, day58=0, day59=0)
    rough = year_of(1_000_000, day57=0, day58=0, day59=0)
    found = leg(ask, tables_of(rough, levels))
    assert (found["rough"], found["grade"], found["hazard"]) == (0, 0, "")


DATES = {
    "reached": None,
    "best": 0,
    "day": 0,
    "way": [0, 0, None, 1],
    "dangerous": [0.26, 0, None, 0],
    "serious": [1, 0, None, 0],
    "stays": [[1, 4, 3, 5], [2, 1, 3, 6], [], [1, 2]],
    "why": [0, 0, 1, 0],
}
"""Of four dates what changes: two numbers a leg, days before it and nights."""


@pytest.mark.parametrize(
    ("number", "stays"),
    [
        (0, [(0, 0, 4), (1, 4, 9)]),  # 4 nights, at once 5 more
        (1, [(0, 1, 5), (1, 6, 12)]),  # a day later; one day apart, 6 nights
        (3, [(1, 3, 5), (0, 6, 12)]),  # the other way round, 2 nights; the rest as it was
    ],
)
def test_stays_of_a_date_from_what_changes(ask, number, stays):
    """What a date does not name is as on the last one that has a plan."""
    found = ask("departuretables.dateAt", tables_of([0] * 365) | {"sets": [DATES]}, DATES, number)
    assert [(one["leg"], one["arrive"], one["leave"]) for one in found["stays"]] == stays
    assert found["kit"] == 0


def test_a_date_without_a_plan_has_no_stays(ask):
    """It has no kit either, and its day is still known."""
    found = ask("departuretables.dateAt", tables_of([0] * 365) | {"sets": [DATES]}, DATES, 2)
    assert (found["kit"], found["stays"], found["day"]) == (None, [], 2)


@pytest.mark.parametrize(
    ("number", "first_leaves"),
    [(0, 3), (1, 4), (2, 4)],  # reached a day early, on its day, a day late
)
def test_a_leg_reached_early_cuts_the_one_before(ask, number, first_leaves):
    """The plan's stay before it ends when it is reached, and no later than planned."""
    late = {"reached": 1, "best": 1, "day": 3, "way": [2] * 3, "dangerous": [0] * 3}
    late |= {"serious": [0] * 3, "stays": [[1, 5], [], []]}
    tables = tables_of([0] * 365) | {"sets": [DATES, late]}
    found = ask("departuretables.dateAt", tables, late, number)["stays"]
    assert [(one["leg"], one["arrive"], one["leave"]) for one in found] == [
        (0, 0, first_leaves),
        (1, 3 + number, 8 + number),
    ]


def test_answer_for_a_date(ask):
    """What is unknown is not summed, what is impossible is said."""
    tables = tables_of([250_000] * 365) | {"sets": [DATES]}
    dated = ask("departuretables.dateAt", tables, DATES, 0) | {"stays": [STAY]}
    legs, late = [leg(ask, tables)], {"reached": 1}
    assert ask("departures.answer", tables, DATES, dated, legs) == (
        "Leave on 27 February 2028: about 1.0 of 4 nights will be rough, "
        "0.3 dangerous, 1 under a serious hazard; finish on 2 March 2028."
    )
    assert ask("departures.answer", tables, late, dated, legs).startswith(
        "Reach Valley on 27 February 2028: about 1.0 of 4"
    )
    ends = [{**legs[0], "leg": number} for number in (1, 0)]
    assert ask("departures.answer", tables, DATES, dated, ends).startswith(
        "Leave on 27 February 2028, from Valley to Steppe: about 2.0 of 8"
    )
    unknown = [leg(ask, tables_of([None] * 365))]
    assert "about an unknown number of 4 nights" in ask(
        "departures.answer", tables, DATES, dated, unknown
    )
    none = ask("departuretables.dateAt", tables, DATES, 2)
    assert ask("departures.answer", tables, DATES, none, []) == (
        "No plan fits a departure on 29 February 2028. The journey gets no further than Steppe."
    )
    assert ask("departures.answer", tables, late, none, []) == (
        "No plan fits when Valley is reached on 29 February 2028."
    )


def test_cursor_stands_on_its_date(ask):
    """The fifth date of a curve that begins at 30 with 2.5 a day stands at 30 + 4 x 2.5."""
    curve = {"left": "30", "step": "2.5", "top": "12", "bottom": "160"}
    assert ask("departures.cursorAt", curve, 4) == "M40.0 12V160"
    assert ask("departures.cursorAt", curve, 0) == "M30.0 12V160"


def grid_entry() -> dict:
    """Return two months of two rows and three columns, south-west first."""
    codes = [0, 1, 2, 3, 255, 200, 10, 20, 30, 40, 50, 60]
    return {
        "rows": 2,
        "columns": 3,
        "box": {"south": -1, "west": 10, "north": 1, "east": 13},
        "data": base64.b64encode(bytes(codes)).decode(),
    }


@pytest.mark.parametrize(
    ("month", "latitude", "longitude", "expected"),
    [
        (1, -0.9, 10.1, 0.0),  # code 0 is a share of 0, known
        (1, -0.1, 12.9, 0.01),  # 2 / 200
        (1, 0.1, 10.1, 0.015),
        (1, 0.5, 11.5, None),  # code 255: no data, not 127.5 %
        (1, 0.9, 12.5, 1.0),
        (2, -0.5, 11.5, 0.1),
        (2, 0.5, 12.5, 0.3),
        (1, 1.01, 11, None),
        (1, -1.01, 11, None),
        (1, 0, 9.99, None),
        (1, 0, 13.01, None),
    ],
)
def test_value_of_a_cell(ask, month, latitude, longitude, expected):
    """Rows run north, columns east; what is missing or outside has no value."""
    point = {"lat": latitude, "lng": longitude}
    assert ask("mapvalues.valueAt", grid_entry(), month, point) == expected


def test_value_in_words(ask):
    """Loading, missing and known are three different answers."""
    assert ask("mapvalues.valueWords") == "loading"
    assert ask("mapvalues.valueWords", None, "sound") == "no climate data, or not assessed"
    assert ask("mapvalues.valueWords", 0, "sound") == f"about 0{SPACE}% of nights sound"


@pytest.mark.parametrize(
    ("latitude", "longitude", "words"),
    [
        (41.26, 69.24, "41.3° N 69.2° E"),
        (-33.4, -70.6, "33.4° S 70.6° W"),
        (12.0, -61.5, "12.0° N 61.5° W"),
        (-4.3, 15.3, "4.3° S 15.3° E"),
    ],
)
def test_hemispheres(ask, latitude, longitude, words):
    """North and south, east and west."""
    assert ask("mapvalues.placeWords", {"lat": latitude, "lng": longitude}) == words


def test_each_hazard_level_has_its_line(ask):
    """From level to level an outline is a pixel thicker, with its own dashes; none has none."""
    lines = ["1", "2", "3", ""]
    found = [ask("mapvalues.regionLine", level, lines) for level in range(5)]
    assert [line["dashArray"] for line in found] == ["", *lines]
    assert [line["weight"] for line in found] == [1.5, 2.5, 3.5, 4.5, 5.5]


LOG_LEGS = [
    {"name": "A", "arrive": "2027-05-01", "leave": "2027-05-06"},
    {"name": "B", "arrive": "2027-05-08", "leave": "2027-05-12"},
]
NIGHT = {
    "who": "",
    "leg": "A",
    "place": "",
    "first": "2027-05-01",
    "kit": "bedroll",
    "nights": "3",
    "low_c": "",
    "bedtime_c": "",
    "measured": "outside",
    **dict.fromkeys(("cold", "cool", "warm", "hot", "rain", "wet", "damp"), "0"),
}


@pytest.mark.parametrize(
    ("day", "leg"),
    [
        ("2027-04-01", 0),
        ("2027-05-05", 0),
        ("2027-05-07", 0),
        ("2027-05-08", 1),
        ("2027-06-01", 1),
    ],
)
def test_the_log_begins_with_the_leg_of_the_day(ask, day, leg):
    """The planned one, between legs the one just left, afterwards the last."""
    assert ask("log.legOn", LOG_LEGS, day) == leg


def test_rows_leave_out_what_is_nought_or_not_told(ask):
    """Only what differs from a fine night is written."""
    told = NIGHT | {"cold": "1", "low_c": "\u22121.5; 2 3", "measured": "inside"}
    assert ask("log.sleptRow", told) == (
        '[[slept]]\nleg = "A"\nfirst = 2027-05-01\nnights = 3\nkit = "bedroll"\ncold = 1\n'
        'low_c = [-1.5, 2, 3]\nmeasured = "inside"\n'
    )
    place = NIGHT | {"place": "Osh, Kyrgyzstan", "measured": "inside"}
    assert 'place = "Osh, Kyrgyzstan"\n' in ask("log.sleptRow", place)
    assert "measured" not in ask("log.sleptRow", place)
    stay = {"leg": 'A "b"', "arrived": "2027-05-01", "left": "", "kit": "bedroll"}
    assert ask("log.doneRow", stay) == (
        '[[done]]\nleg = "A \\"b\\""\narrived = 2027-05-01\nkit = "bedroll"\n'
    )


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, ""),
        ({"first": ""}, "Give the evening"),
        ({"nights": "0"}, "Give how many"),
        ({"cold": "2", "hot": "2"}, "count each night once"),
        ({"wet": "1"}, "count the rain too"),
        ({"rain": "4"}, "There were 3 nights in all."),
        ({"low_c": "3,5"}, "numbers with a point"),
        ({"low_c": "3 5"}, "Give one temperature, or 3."),
    ],
)
def test_nights_that_cannot_be_are_told(ask, changed, told):
    """As the trip file would, before the row is made."""
    found = ask("log.wrongWith", NIGHT | changed)
    assert (told in found) if told else found == ""
