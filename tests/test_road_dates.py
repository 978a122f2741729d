"""What a traveller's date means: the day of reaching a camp, not of setting out for it.

One journey by hand. A has 5 nights; 600 km at 200 km a day are three days of driving to B, of
whose 4 nights the first two are on the way; C has 2. Leaving on 1 May: A to the 6th, B to the
10th with its camp reached on the 8th, C to the 12th.
"""

from __future__ import annotations

import csv
import io
import json
from datetime import date

import pytest
from click.testing import CliRunner
from sample_report import BASE_MAP
from small_trips import leg, saved, stored, trip
from told_figures import page_text

from sheltermap import pipeline
from sheltermap.cli import main
from sheltermap.report.exports import calendar, table
from sheltermap.website.opening import headline
from sheltermap.website.pages import site
from sheltermap.website.slider import departure_data

ROAD = "kilometres = 600\napproach_km = 600"
ONE_DAY = [("latest = 2027-05-10", "latest = 2027-05-01")]
A, B, C = "A", "B", "C"
# Of each day of reaching B: stays as (first evening, day left, camp reached) in May.
BY_DAY = {
    2: [(1, 2, 1), (2, 6, 2), (6, 8, 6)],  # at once after one night at A: none on the way
    3: [(1, 2, 1), (2, 6, 3), (6, 8, 6)],  # one evening was left for the way
    7: [(1, 5, 1), (5, 9, 7), (9, 11, 9)],  # a day early: A is left a day early
    8: [(1, 6, 1), (6, 10, 8), (10, 12, 10)],  # the plan itself
    11: [(1, 6, 1), (9, 13, 11), (13, 15, 13)],  # three nights after A belong to no stay
}


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """Return the file of a climate of perfect sleep everywhere."""
    return stored(tmp_path_factory.mktemp("world"))


def journey(done=(), changed=ONE_DAY):
    """Return the text of the trip, and rows of what is done; it may leave on one day."""
    rows = [f'\n[[done]]\nleg = "{name}"\n{dates}\n' for name, dates in done]
    of_b = leg(B, (41.0, 30.0), more=ROAD)
    parts = (leg(A, nights="5"), of_b, leg(C, (40.0, 31.0), nights="2"), *rows)
    return trip(*parts, departure="daily_km = 200", changed=changed)


def departed(path, world, *more):
    """Return the best plan that the ``depart`` command prints."""
    result = CliRunner().invoke(main, ["depart", str(path), "--climate", str(world), *more])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)["best"]


def stays(plan):
    """Return the dates of a plan's legs as days of May."""
    assert all(one["arrive"].startswith("2027-05") for one in plan["legs"])
    keys = ("arrive", "leave", "camp_reached")
    return [tuple(int(one[key][-2:]) for key in keys) for one in plan["legs"]]


def test_plan_says_when_its_camps_are_reached(tmp_path, world):
    """In the plan, in lines, in the calendar file and in the table."""
    path = saved(tmp_path, journey())
    assert stays(departed(path, world, "--json")) == BY_DAY[8]
    lines = CliRunner().invoke(main, ["depart", str(path), "--climate", str(world)]).stdout
    assert "B: camp reached 2027-05-08, evenings before it on the way.\n" in lines
    assert lines.count("camp reached") == 1
    report = pipeline.plan(path, climate=world)
    rows = list(csv.DictReader(io.StringIO(table(report).decode("utf-8-sig"))))
    assert [row["camp_reached"] for row in rows] == ["2027-05-01", "2027-05-08", "2027-05-10"]
    told = calendar(report).decode().replace("\r\n ", "")
    assert told.count("camp reached") == told.count("camp reached 2027-05-08") == 1


@pytest.mark.parametrize("day", BY_DAY)
def test_on_is_the_day_of_reaching_the_camp(tmp_path, world, day):
    """`--on` puts the evenings on the way before it, as far as there were any."""
    path, on = saved(tmp_path, journey()), f"2027-05-{day:02}"
    plan = departed(path, world, "--json", "--from", B, "--on", on)
    assert stays(plan) == BY_DAY[day]
    assert plan["unplanned_nights"] == (3 if day == 11 else 0)


@pytest.mark.parametrize("left", [False, True], ids=["there now", "left"])
@pytest.mark.parametrize("day", [7, 8, 11])
def test_the_log_that_follows_a_plan_gives_that_plan(tmp_path, world, day, left):
    """`arrived` is the same day as `--on`: what was planned and done is planned again."""
    (_, a_left, _), (_, b_left, _), _ = BY_DAY[day]
    of_b = f"arrived = 2027-05-{day:02}" + (f"\nleft = 2027-05-{b_left:02}" if left else "")
    done = [(A, f"arrived = 2027-05-01\nleft = 2027-05-{a_left:02}"), (B, of_b)]
    plan = departed(saved(tmp_path, journey(done)), world, "--json")
    assert stays(plan) == BY_DAY[day]
    assert [one["done"] for one in plan["legs"]] == [True, left, False]
    assert plan["unplanned_nights"] == (3 if day == 11 else 0)


def test_pages_say_when_the_first_camp_is_reached(tmp_path, world):
    """Beside the dates of B on the Plan and on its own page; A and C begin in camp."""
    files = site(pipeline.plan(saved(tmp_path, journey()), climate=world), base_map=BASE_MAP)
    plan = page_text(files["index.html"])
    assert "6 May to 10 May, first camp on 8 May" in plan
    assert plan.count("first camp on") == 1
    assert plan.count("Its first 2 nights are on the way to that camp.") == 1
    regions = {name: page_text(page) for name, page in files.items() if "region-" in name}
    assert [name for name, text in regions.items() if "first camp" in text] == ["region-b.html"]
    assert (
        "B: 6 May 2027 to 10 May 2027, first camp on 8 May, 4 nights," in regions["region-b.html"]
    )


def test_one_night_on_the_way_is_told_as_one(tmp_path, world):
    """300 km at 200 km a day are two days: one evening on the way, the camp on the 7th."""
    near = journey().replace("= 600", "= 300")
    files = site(pipeline.plan(saved(tmp_path, near), climate=world), base_map=BASE_MAP)
    plan = page_text(files["index.html"])
    assert "6 May to 10 May, first camp on 7 May" in plan
    assert "Its first night is on the way to that camp." in plan


@pytest.mark.parametrize(
    ("done", "said"),
    [
        ((), "Start: A, 1 May 2027. Kit:"),
        ([(A, 6, None)], "Now: A, since 6 May, until 11 May."),
        ([(A, 1, 6)], "Next: B, from 6 May, first camp on 8 May, until 10 May."),
        ([(A, 1, 6), (B, 8, None)], "Now: B, since 8 May, until 10 May."),
        ([(A, 1, 6), (B, 8, 10)], "Next: C, from 10 May until 12 May."),
    ],
)
def test_the_plan_opens_with_the_camp_that_was_logged(tmp_path, world, done, said):
    """Who wrote that B was reached on the 8th is there since the 8th, not since the 6th."""
    rows = [
        (name, f"arrived = 2027-05-{there:02}" + (f"\nleft = 2027-05-{left:02}" if left else ""))
        for name, there, left in done
    ]
    report = pipeline.plan(saved(tmp_path, journey(rows)), climate=world)
    assert said in "".join(headline(report))


def test_the_start_says_when_the_first_camp_is_reached(tmp_path, world):
    """Home is left on 1 May, the first camp reached on the 3rd."""
    first = leg(A, nights="5", more=ROAD)
    text = trip(first, leg(B, (41.0, 30.0)), departure="daily_km = 200", changed=ONE_DAY)
    start, more = headline(pipeline.plan(saved(tmp_path, text), climate=world))
    assert start == "Start: A, 1 May 2027" and more.startswith(", first camp on 3 May. Kit: ")


def test_way_to_the_first_camp_lies_before_it(tmp_path, world):
    """Home is left two evenings before the first camp is reached, in the plan and in the log."""
    first = leg(A, nights="5", more=ROAD)
    parts = (first, leg(B, (41.0, 30.0)))
    text = trip(*parts, departure="daily_km = 200", changed=ONE_DAY)
    assert stays(departed(saved(tmp_path, text), world, "--json")) == [(1, 6, 3), (6, 10, 6)]
    on = ("--json", "--from", A, "--on", "2027-05-05")
    assert stays(departed(saved(tmp_path, text), world, *on)) == [(3, 8, 5), (8, 12, 8)]
    row = '\n[[done]]\nleg = "A"\narrived = 2027-05-05\n'
    text = trip(*parts, row, departure="daily_km = 200", changed=ONE_DAY)
    assert stays(departed(saved(tmp_path, text), world, "--json")) == [(3, 8, 5), (8, 12, 8)]


def test_unknown_way_to_a_camp_moves_no_date(tmp_path, world):
    """Without `approach_km` or a route line nobody knows which evenings are on the way."""
    text = journey().replace("approach_km = 600", "")
    on = ("--json", "--from", B, "--on", "2027-05-08")
    plan = departed(saved(tmp_path, text), world, *on)
    assert stays(plan) == [(1, 6, 1), (8, 12, 8), (12, 14, 12)]


def test_slider_counts_days_of_reaching_the_camp(tmp_path, world):
    """From after a night at A to four weeks late; the plan's own day is the camp's, the 8th."""
    data = departure_data(pipeline.plan(saved(tmp_path, journey()), climate=world))
    of_b = next(one for one in data["sets"] if one["reached"] == 1)
    assert data["first"] == "2027-05-01"
    assert (of_b["day"], of_b["best"], len(of_b["way"])) == (1, 6, 6 + 28 + 1)
    # Of each date what differs: (place, days or nights); B begins that many days from the date.
    begins, held = [], {}
    for row in of_b["stays"]:
        held |= dict(zip(row[::2], row[1::2], strict=True))
        begins.append(held.get(0, 0))
    assert begins == [0, -1] + [-2] * 33
    assert held[1] == 4


def test_slider_on_the_road_starts_at_the_next_camp(tmp_path, world):
    """A was left on the 6th; B is reached on the 8th."""
    done = [(A, "arrived = 2027-05-01\nleft = 2027-05-06")]
    data = departure_data(pipeline.plan(saved(tmp_path, journey(done)), climate=world))
    now = data["sets"][0]
    assert (now["reached"], now["stays"]) == (1, [[0, -2, 1, 4, 3, 2]])
    assert date.fromordinal(date.fromisoformat(data["first"]).toordinal() + now["day"]) == date(
        2027, 5, 8
    )
