"""A journey as the pages' scripts draw and tell it, asked in a browser with stays made by hand.

Every expected value is worked out beside its check; `test_scripts.py` has the nights.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from browsing import BROWSER_MARKS
from test_scripts import DATES, STAY, leg, tables_of

pytestmark = BROWSER_MARKS

THREE_ROWS = {"width": 730, "first": 0, "days": 365, "cell": 20, "year": 2027, "stair": True,
              "rows": [50, 100, 150]}  # fmt: skip
"""A year of three rows, two units a day."""


def day(number: int, year: int = 2027) -> datetime:
    """Return a day of a common year, counted from 0, as the scripts hold dates."""
    return datetime(year, 1, 1, tzinfo=UTC) + timedelta(days=number)


def stay(place: int, arrive: int, leave: int) -> dict:
    """Return a stay of 2027 by days counted from 0."""
    return {"place": place, "arrive": day(arrive), "leave": day(leave)}


DOWN = [stay(0, 50, 60), stay(2, 65, 80)]
"""The stair goes down from the first row to the third between days 60 and 65: x 120 to 130."""


def test_layout_that_a_drawing_carries(ask):
    """Attributes are texts; "1" is a stair."""
    carried = {"width": "742", "year": "2027", "first": "59", "days": "371", "cell": "20",
               "stair": "1", "rows": "50,100"}  # fmt: skip
    asked = [ask("seasonplaces.layoutOf", {"dataset": carried | {"stair": s}}) for s in "10"]
    assert asked[0] == {"width": 742, "year": 2027, "first": 59, "days": 371, "cell": 20,
                        "stair": True, "rows": [50, 100]}  # fmt: skip
    assert asked[1]["stair"] is False


def test_days_are_counted_from_the_year_of_the_chart(ask):
    """1 March is day 59 of every year of 365 days, also of 2028; the year before is negative."""
    dates = [datetime(year, 3, 1, tzinfo=UTC) for year in (2026, 2027, 2028, 2029)]
    found = [ask("seasonplaces.dayOn", THREE_ROWS, date) for date in dates]
    assert found == [59 - 365, 59, 59 + 365, 59 + 730]


def test_journey_as_a_stair_and_as_lines(ask):
    """Rows of 20 units from 50 and 150 have their middles at 60 and 160; day n stands at 2 n."""
    assert ask("seasonplaces.journeyOf", THREE_ROWS, DOWN) == {
        "line": "M100.0 60.0L120.0 60.0L130.0 160.0L160.0 160.0",
        "dots": "",
    }
    assert ask("seasonplaces.journeyOf", THREE_ROWS | {"stair": False}, DOWN) == {
        "line": "M100.0 60.0H120.0M130.0 160.0H160.0",
        "dots": "M100.0 60.0h0M130.0 160.0h0",
    }
    assert ask("seasonplaces.journeyOf", THREE_ROWS, []) == {"line": "", "dots": ""}


@pytest.mark.parametrize(
    ("row", "begin", "end", "hidden"),
    [
        (1, 122, 128, True),
        (2, 122, 128, True),
        (0, 122, 128, False),  # above the row it leaves
        (1, 134, 150, False),  # the stair's edge of 4 units ends at 134
        (1, 133.9, 150, True),
        (1, 100, 116, False),  # and begins at 116
        (1, 100, 116.1, True),
    ],
)
def test_labels_that_the_stair_crosses(ask, row, begin, end, hidden):
    """Down or up between the first and third row it crosses the lanes above the two lower."""
    for stays in (DOWN, [stay(2, 50, 60), stay(0, 65, 80)], [stay(0, 10, 50), *DOWN]):
        assert ask("seasonplaces.crossed", THREE_ROWS, stays, row, begin, end) is hidden
    lines = THREE_ROWS | {"stair": False}
    assert not ask("seasonplaces.crossed", lines, DOWN, row, begin, end)


def test_no_label_is_crossed_below_the_stair(ask):
    """From the first row to the second nothing goes through the lane above the third."""
    stays = [stay(0, 50, 60), stay(1, 65, 80)]
    assert ask("seasonplaces.crossed", THREE_ROWS, stays, 1, 122, 128)
    assert not ask("seasonplaces.crossed", THREE_ROWS, stays, 2, 122, 128)


@pytest.mark.parametrize(
    ("arrive", "leave", "shown"), [(0, 365, True), (-1, 20, False), (350, 366, False)]
)
def test_stays_that_a_drawing_shows(ask, arrive, leave, shown):
    """From 1 January to the morning of the next one, and no further."""
    assert ask("seasonplaces.shows", THREE_ROWS, [*DOWN, stay(1, arrive, leave)]) is shown


LEGS = {
    "legs": [
        {"name": name, "preferred": nights} for name, nights in (("A", 4), ("B", 6), ("C", 3))
    ]
}


@pytest.mark.parametrize(
    ("nights", "told"),
    [
        ((4, 6, 3), ""),
        ((3, 6, 3), "Shorter than you prefer: A (3 of 4 nights)."),
        ((5, 2, 1), "Shorter than you prefer: B (2 of 6 nights) and C (1 of 3 nights)."),
        (
            (1, 5, 2),
            "Shorter than you prefer: A (1 of 4 nights), B (5 of 6 nights) and C (2 of 3 nights).",
        ),
    ],
)
def test_stays_that_are_cut(ask, nights, told):
    """4, 6 and 3 nights are preferred; as many or more are not short."""
    stays = [{"leg": n, "arrive": 10 * n, "leave": 10 * n + w} for n, w in enumerate(nights)]
    assert ask("departuretables.cutIn", LEGS, stays) == told


def test_a_leg_that_no_date_names_has_no_nights(ask):
    """What is never told of a date is 0: the second leg begins where the first would."""
    dates = DATES | {"way": [0], "stays": [[2, 3, 3, 5]]}
    found = ask("departuretables.dateAt", tables_of([0] * 365) | {"sets": [dates]}, dates, 0)
    assert [(one["arrive"], one["leave"]) for one in found["stays"]] == [(0, 0), (3, 8)]


def test_figures_of_each_date_are_its_own(ask):
    """By hand from the columns: danger and a serious hazard on the first date alone."""
    tables = tables_of([0] * 365) | {"sets": [DATES | {"day": 5}]}
    first, second = (ask("departuretables.dateAt", tables, DATES | {"day": 5}, n) for n in (0, 1))
    assert (first["day"], first["dangerous"], first["serious"]) == (5, 0.26, 1)
    assert (second["day"], second["dangerous"], second["serious"]) == (6, 0, 0)


def test_legs_that_are_done_stand_first_and_as_they_were(ask):
    """Their dates become days like those of the legs to come."""
    done = {"place": 0, "leg": 0, "arrive": "2028-02-20", "leave": "2028-02-24", "nights": 4,
            "rough": 1.25, "grade": 2, "reason": "rain", "hazard": ""}  # fmt: skip
    tables = tables_of([500_000] * 365) | {"done": [done]}
    legs = ask("departuretables.legsOf", tables, {"kit": 0, "stays": [STAY | {"leg": 1}]})
    assert [(one["leg"], one["rough"], one["nights"]) for one in legs] == [(0, 1.25, 4), (1, 2, 4)]
    dates = [(one["arrive"].date().isoformat(), one["leave"].date().isoformat()) for one in legs]
    assert dates == [("2028-02-20", "2028-02-24"), ("2028-02-27", "2028-03-02")]
    assert ask("departuretables.legsOf", tables, {"kit": None, "stays": []}) == []


def test_answer_names_the_kit_where_there_are_several(ask):
    """With one kit to choose from nobody asks which; danger may be unknown."""
    tables = tables_of([250_000] * 365) | {"sets": [DATES]}
    date = ask("departuretables.dateAt", tables, DATES, 0) | {"dangerous": None}
    alone = ask("departures.answer", tables, DATES, date, [leg(ask, tables)])
    assert "an unknown number dangerous, 1 under" in alone
    assert alone.endswith("finish on 2 March 2028.")
    tables["kits"].append(tables["kits"][0] | {"title": "Bedroll"})
    several = ask("departures.answer", tables, DATES, date | {"kit": 1}, [leg(ask, tables)])
    assert several.endswith("finish on 2 March 2028, with Bedroll.")


@pytest.mark.parametrize(("first", "grade"), [(None, -1), (0, 0)])
def test_unknown_stays_unknown_though_later_nights_are_known(ask, first, grade):
    """An unknown first night and three good ones are unknown; four good ones are sound."""
    rough = [0] * 365
    rough[57] = first
    found = leg(ask, tables_of(rough))
    assert (found["rough"], found["grade"]) == (first, grade)


def test_the_factor_that_spoils_most_is_named(ask):
    """Cold spoils 0.1 and 0.2, rain 0.4 of the nights: rain, whatever comes first."""
    tables = tables_of([500_000] * 365, cold=[1_000] * 365)
    wet = [0] * 365
    wet[59] = 4_001  # of four nights: cold has 4 x 1 000
    steps = [str(now - before) for before, now in zip([0, *wet], wet, strict=False)]
    tables["kits"][0]["places"][0]["causes"]["wet"] = " ".join(steps)
    assert leg(ask, tables)["reason"] == "rain"
    wet[59] = 3_999
    steps = [str(now - before) for before, now in zip([0, *wet], wet, strict=False)]
    tables["kits"][0]["places"][0]["causes"]["wet"] = " ".join(steps)
    assert leg(ask, tables)["reason"] == "too cold"
