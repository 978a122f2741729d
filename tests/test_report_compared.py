"""Two plans side by side, and warmer bedding step by step: as two separate builds say."""

import json

import pytest
from click.testing import CliRunner
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
