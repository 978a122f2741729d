"""Two plans side by side, and warmer bedding step by step: as two separate builds say."""

import json
import math
from dataclasses import replace
from datetime import date

import pytest
from click.testing import CliRunner
from sample_report import infeasible_report, sample_report
from small_trips import leg, saved, stored, trip

from sheltermap.cli import main
from sheltermap.economy.bedding_sweep import COMFORT_LABELS
from sheltermap.pipeline import plan
from sheltermap.report.compared import compared, compared_in_words
from sheltermap.report.departures import departures
from sheltermap.shelters.cold import CLO
from sheltermap.shelters.kit import Bedding, load_addons
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import top_resistance
from sheltermap.website.comparepage import compare_page

MEAN = [2.0, 3.0, 6.0, 9.0, 10.0, 13.0, 20.0, 20.0, 16.0, 11.0, 6.0, 3.0]
LEGS = (
    leg("Hills", nights="5", more="kilometres = 300"),
    leg("Lake", (41.0, 31.0), "6", more="kilometres = 250"),
)
FIXED = (
    ("latest = 2027-05-10", "latest = 2027-05-01"),
    ("finish_by = 2027-07-01", "finish_by = 2027-07-01\nmost_danger = 1"),
)
OPEN = (("finish_by = 2027-07-01", "finish_by = 2027-07-01\nmost_danger = 1"),)


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """Return the file of a climate with a cold spring."""
    return stored(tmp_path_factory.mktemp("world"), mean=MEAN, rain=30.0, wet=5.0, spread=3.0)


def written(folder, name, *parts, changed=OPEN, kits="ground-tent"):
    """Return a trip of two legs in a folder of its own."""
    (folder / name).mkdir()
    return saved(folder / name, trip(*LEGS, *parts, kits=kits, changed=changed))


@pytest.fixture(scope="module")
def pair(tmp_path_factory, world):
    """Return two trips, and the plan of each built alone."""
    folder = tmp_path_factory.mktemp("pair")
    files = written(folder, "a"), written(folder, "b", "\n[party]\nbedding = -5\n")
    return files, [plan(file, climate=world) for file in files]


def test_every_figure_is_that_of_a_separate_build(pair):
    """To the last digit of the ``depart`` contract, and of the kit comparison."""
    _, reports = pair
    found = compared(*reports)
    for side, report in zip(found["plans"], reports, strict=True):
        assert side["plan"] == departures(report)["best"]
        assert side["money"] == round(report.comparison.rows[0].money, 6)
        assert side["kit_mass_kg"] == report.comparison.rows[0].mass_kg
        assert side["heaviest_kg"] is None  # The vehicle was not weighed.
    one, other = (report.best for report in reports)
    less = found["difference"]
    assert less["rough_nights"] == pytest.approx(other.rough_nights - one.rough_nights, abs=1e-6)
    assert less["depart_days"] == (other.depart - one.depart).days
    for row, mine, its in zip(found["legs"], one.legs, other.legs, strict=True):
        assert (row["leg"], row["a"]["arrive"]) == (mine.name, str(mine.arrive))
        assert row["b"]["rough_nights"] == round(its.rough_nights, 6)
    cold = [sum(one.nights_by_factor["cold"] for one in plan.legs) for plan in (one, other)]
    assert found["causes"]["cold"] == pytest.approx(cold, abs=1e-6)
    assert found["causes"]["wind"] == [None, None]


def test_a_changed_key_is_another_file(pair, world):
    """One trip with ``--set`` and two files give the same answer."""
    (one, other), _ = pair
    run = CliRunner().invoke
    more = ["--climate", str(world), "--json"]
    two = run(main, ["compare", str(one), str(other), *more])
    changed = run(main, ["compare", str(one), "--set", "party.bedding=-5", *more])
    assert two.exit_code == changed.exit_code == 0, changed.output
    assert json.loads(two.stdout) == json.loads(changed.stdout)


def test_terminal_and_page_say_the_same(pair, world, tmp_path):
    """Rough nights of both, on a line and in a table; the page needs no other file."""
    (one, _), reports = pair
    page = tmp_path / "two.html"
    arguments = ["compare", str(one), "--set", "party.bedding=-5", "-o", str(page)]
    result = CliRunner().invoke(main, [*arguments, "--climate", str(world)])
    assert result.exit_code == 0, result.output
    numbers = [f"{report.best.rough_nights:.1f}" for report in reports]
    (line,) = (one for one in result.stdout.splitlines() if one.startswith("rough nights"))
    assert line.split()[2:4] == numbers
    text = page.read_text(encoding="utf-8")
    assert "".join(f"<td>{number}</td>" for number in numbers) in text
    assert "http" not in text.replace("http-equiv", "").replace("http://www.w3.org", "")
    (tmp_path / "mine.html").write_text("mine", encoding="utf-8")
    refused = CliRunner().invoke(
        main, [*arguments[:-1], str(tmp_path / "mine.html"), "--climate", str(world)]
    )
    assert refused.exit_code == 2


def test_a_plan_that_is_not_feasible_is_said(pair, world):
    """No figure is made up for it, and the exit code tells."""
    (one, _), (possible, _) = pair
    never = 'legs[2].closed=[{ first = "01-01", last = "12-31" }]'
    asked = ["compare", str(one), "--set", never, "--climate", str(world)]
    result = CliRunner().invoke(main, [*asked, "--json"])
    assert result.exit_code == 1
    found = json.loads(result.stdout)
    assert found["plans"][0]["plan"] == departures(possible)["best"]
    assert found["plans"][1]["plan"] is None and found["plans"][1]["infeasible"]
    assert found["difference"]["rough_nights"] is None
    assert [row["b"] for row in found["legs"]] == [None, None]
    lines = list(compared_in_words(found))
    assert lines[1].startswith("B: Two camps: no feasible plan: ")
    page = compare_page(found).decode()
    assert "No feasible plan." in page and "not in this plan" in page


WRONG = {
    "nothing to compare": ([], "expected B or --set KEY=VALUE"),
    "no value": (["--set", "party"], "expected KEY=VALUE, as party.people=3, got 'party'"),
    "no such row": (["--set", "legs[9].nights=3"], "legs[9].nights: expected a key of the trip"),
    "no such key": (["--set", "party.beding=3"], "party.beding"),
}


@pytest.mark.parametrize("case", WRONG)
def test_wrong_arguments_are_told(pair, case):
    """Exit code 2, with what would do."""
    (one, _), _ = pair
    arguments, told = WRONG[case]
    result = CliRunner().invoke(main, ["compare", str(one), *arguments])
    assert result.exit_code == 2
    assert told in result.output


def test_each_step_of_bedding_is_what_a_separate_build_says(world, tmp_path):
    """On fixed dates a build with that bedding has the very nights of the sweep."""
    steps = plan(written(tmp_path, "x", changed=FIXED), climate=world).comparison.bedding_steps
    assert [step.comfort_c for step in steps] == list(COMFORT_LABELS)
    for number in (1, 3):
        party = f"\n[party]\nbedding = {COMFORT_LABELS[number]}\n"
        file = written(tmp_path, str(number), party, changed=FIXED)
        alone = plan(file, climate=world)
        row = alone.comparison.rows[0]
        assert steps[number].rough_nights == pytest.approx(row.rough_nights, abs=1e-12)
        assert steps[number].dangerous_nights == pytest.approx(row.dangerous_nights, abs=1e-12)
        # The planner counts whole millionths of each of the eleven nights.
        assert steps[number].rough_nights == pytest.approx(alone.best.rough_nights, abs=6e-6)
    saved_by_step = [step.saved for step in steps[1:]]
    assert all(nights >= 0 for nights in saved_by_step)
    assert sum(saved_by_step) == pytest.approx(steps[0].rough_nights - steps[-1].rough_nights)


def test_a_step_weighs_and_costs_what_its_insulation_does(world, tmp_path):
    """For two people as much as the shipped warm bedding, clo for clo."""
    steps = plan(written(tmp_path, "x", changed=FIXED), climate=world).comparison.bedding_steps
    warm = load_addons()["warm-bedding"]
    clo = [top_resistance(Bedding(comfort_c=c), Settings()) / CLO for c in COMFORT_LABELS[:2]]
    assert steps[1].mass_kg == pytest.approx((clo[1] - clo[0]) / 2.0 * warm.mass_kg)
    assert steps[1].price == pytest.approx((clo[1] - clo[0]) / 2.0 * warm.price)
    assert steps[0].mass_kg is None


def with_plan(title, currency="EUR", **changed):
    """Return the sample, its plan changed, under a title of its own and without prices."""
    report = sample_report()
    money = report.trip.money.model_copy(update={"currency": currency})
    trip = report.trip.model_copy(update={"title": title, "money": money})
    return replace(report, trip=trip, best=replace(report.best, **changed))


def legs_of(report, *names, **changed):
    """Return the first leg of the sample under names, with other figures."""
    first = report.best.legs[0]
    return tuple(replace(first, name=name, **changed) for name in names)


SAMPLE = sample_report()
HALVES = {"cold": 0.25, "heat": None, "wet": 0.5, "wind": None, "condensation": 0.1234567}
MINE = with_plan(
    "Mine",
    depart=date(2027, 5, 6),
    finish=date(2027, 7, 9),
    nights=60,
    rough_nights=10.25,
    dangerous_nights=0.5,
    serious_nights=7,
    legs=legs_of(SAMPLE, "Hills", "Lake", nights_by_factor=HALVES, rough_nights=1.23456789),
)
ITS = with_plan(
    "Its",
    depart=date(2027, 5, 3),
    finish=date(2027, 7, 20),
    nights=75,
    rough_nights=8.0,
    dangerous_nights=0.75,
    serious_nights=9,
    legs=legs_of(
        SAMPLE, "Lake", "Coast", nights_by_factor=HALVES | {"heat": 2.0}, rough_nights=math.nan
    ),
)


def test_differences_are_the_second_less_the_first():
    """By hand: 8 - 10.25 rough nights, 3 May is 3 days before 6 May, 20 July 11 after the 9th."""
    less = compared(MINE, ITS)["difference"]
    assert less["nights"] == 15 and less["serious_nights"] == 2
    assert (less["rough_nights"], less["dangerous_nights"]) == (-2.25, 0.25)
    assert (less["depart_days"], less["finish_days"]) == (-3, 11)
    assert less["money"] == 0.0 and less["kit_mass_kg"] == 0.0


def test_money_of_two_currencies_is_not_subtracted():
    """Each side keeps its own."""
    found = compared(MINE, with_plan("Its", currency="CHF"))
    assert found["difference"]["money"] is None
    assert [side["currency"] for side in found["plans"]] == ["EUR", "CHF"]
    assert None not in [side["money"] for side in found["plans"]]


def test_legs_of_either_plan_are_told_and_causes_summed():
    """Two legs of 0.5 wet nights are 1; heat was not looked at on the first plan's."""
    found = compared(MINE, ITS)
    assert [row["leg"] for row in found["legs"]] == ["Hills", "Lake", "Coast"]
    assert [row["a"] is None for row in found["legs"]] == [False, False, True]
    assert [row["b"] is None for row in found["legs"]] == [True, False, False]
    hills, lake = found["legs"][0]["a"], found["legs"][1]["b"]
    assert (hills["rough_nights"], lake["rough_nights"]) == (1.234568, None)
    assert hills["nights_by_factor"]["condensation"] == 0.123457
    assert hills["nights_by_factor"]["wind"] is None
    assert found["causes"]["wet"] == [1.0, 1.0] and found["causes"]["heat"] == [None, 4.0]
    assert found["causes"]["cold"] == [0.5, 0.5]


def row_of(lines, words):
    """Return the columns after the words of a row."""
    (line,) = [line for line in lines if line.startswith(words)]
    return line.removeprefix(words).split()


def test_lines_hold_both_sides_and_the_difference():
    """Counts whole, else one digit; the difference with its sign, a dash for what is not known."""
    lines = list(compared_in_words(compared(MINE, ITS)))
    assert lines[0] == "A: Mine: leave 2027-05-06, forward, with roof-tent, finish 2027-07-09."
    assert lines[1].startswith("B: Its: leave 2027-05-03")
    assert row_of(lines, "rough nights ") == ["10.2", "8.0", "-2.2"]
    assert row_of(lines, "dangerous nights") == ["0.5", "0.8", "+0.2"]
    assert row_of(lines, "under a serious hazard") == ["7", "9", "+2"]
    assert row_of(lines, "nights ") == ["60", "75", "+15"]
    assert row_of(lines, "rough from wet") == ["1.0", "1.0", "+0.0"]
    assert row_of(lines, "rough from heat") == ["-", "4.0", "-"]
    arrive, n = str(MINE.best.legs[0].arrive)[5:], str(MINE.best.legs[0].nights)
    assert row_of(lines, "Hills") == [arrive, n, "n", "-", "rough", "1.2", "-"]
    assert row_of(lines, "Coast") == ["-", arrive, n, "n", "rough", "-", "-"]


def test_columns_of_the_lines_stand_under_their_letters():
    """Figures end where A and B stand, the difference where its head ends."""
    lines = list(compared_in_words(compared(MINE, ITS)))
    (head,) = [line for line in lines if line.endswith("B less A")]
    (row,) = [line for line in lines if line.startswith("rough nights ")]
    assert [head.index(" A") + 2, head.index(" B") + 2, len(head)] == [42, 56, 68]
    assert (row[:42].endswith("10.2"), row[:56].endswith("8.0"), len(row)) == (True, True, 68)
    (coast,) = [line for line in lines if line.startswith("Coast")]
    assert coast[:42].endswith(" -") and coast[:56].endswith(" n")


def test_what_was_not_weighed_is_unknown():
    """Without a comparison there is no money; without a load no mass at the start."""
    bare = replace(MINE, comparison=None, load=None)
    found = compared(bare, ITS)
    side, other = found["plans"]
    assert (side["money"], side["kit_mass_kg"], side["heaviest_kg"]) == (None, None, None)
    assert None not in (other["money"], other["kit_mass_kg"], other["heaviest_kg"])
    less = found["difference"]
    assert (less["money"], less["kit_mass_kg"], less["heaviest_kg"]) == (None, None, None)
    words = row_of(list(compared_in_words(found)), "kit, freight, added fuel")
    assert words[0] == "unknown" and words[-1] == "-" and words[-2] == "EUR"
    assert compared(MINE, ITS)["plans"][0]["heaviest_kg"] == pytest.approx(
        SAMPLE.load.needed_rating_kg, abs=1e-6
    )


def test_money_and_mass_are_those_of_the_kit_planned_with():
    """It is the first row of the comparison; the second kit's are others."""
    first, second = SAMPLE.comparison.rows
    (side, _) = compared(MINE, ITS)["plans"]
    assert side["money"] == pytest.approx(first.money, abs=1e-6)
    assert side["kit_mass_kg"] == pytest.approx(first.mass_kg, abs=1e-6)
    assert first.money != second.money and first.mass_kg != second.mass_kg


def test_dates_of_a_plan_that_is_missing_have_no_difference():
    """On either side."""
    none = infeasible_report()
    for pair in ((MINE, none), (none, MINE)):
        less = compared(*pair)["difference"]
        assert (less["depart_days"], less["finish_days"], less["nights"]) == (None, None, None)
