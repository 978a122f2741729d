"""A journey in five stages: before, early, late, another kit, back to plan."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pytest
from sample_report import BASE_MAP
from small_trips import leg, saved, stored, trip
from told_figures import assert_figures_agree, assert_legs_agree, page_text

from sheltermap.pipeline import plan
from sheltermap.report.departures import departures, departures_in_words
from sheltermap.report.exports import exported_files
from sheltermap.report.report import Report
from sheltermap.website.pages import site

# May is cold and wet, June warm: every leg, kit and date has nights of its own.
MEAN = [2.0, 3.0, 6.0, 9.0, 12.0, 17.0, 20.0, 20.0, 16.0, 11.0, 6.0, 3.0]
LEGS = (
    leg("Hills", (40.0, 29.0), "[3, 6, 9]"),
    leg("Lake", (39.0, 30.0), "[3, 5, 9]"),
    leg("Coast", (41.0, 31.0), "[2, 4, 9]"),
    leg("Plain", (40.0, 31.5), "[3, 5, 9]"),
)


def row(name, arrived, left=None, kit=None):
    """Return a row of the log."""
    lines = [f'leg = "{name}"', f"arrived = 2027-{arrived}"]
    lines += [f"left = 2027-{left}"] if left else []
    lines += [f'kit = "{kit}"'] if kit else []
    return "\n[[done]]\n" + "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Stage:
    """One day on the road: the log so far, and the kits."""

    log: tuple[str, ...]
    kits: str = "ground-tent bedroll"


BEFORE = Stage(())
EARLY = Stage((row("Hills", "05-01", "05-05"), row("Lake", "05-05")))
LATE = Stage(
    (row("Hills", "05-01", "05-05"), row("Lake", "05-05", "05-12"), row("Coast", "05-15"))
)
CHANGED = Stage(
    (
        row("Hills", "05-01", "05-05", "ground-tent"),
        row("Lake", "05-05", "05-12", "ground-tent"),
        row("Coast", "05-15"),
    ),
    "bedroll ground-tent",
)
BACK = Stage(
    (
        row("Hills", "05-01", "05-05", "ground-tent"),
        row("Lake", "05-05", "05-12", "ground-tent"),
        row("Coast", "05-15", "05-17", "bedroll"),
        row("Plain", "05-17", "05-21", "bedroll"),
    ),
    "bedroll ground-tent",
)


@pytest.fixture(scope="module")
def told(tmp_path_factory) -> dict[str, Report]:
    """Return the report of every stage."""
    folder = tmp_path_factory.mktemp("road")
    world = stored(folder, mean=MEAN, rain=40.0, wet=6.0, spread=3.0)
    stages = {"before": BEFORE, "early": EARLY, "late": LATE, "changed": CHANGED, "back": BACK}
    head = (
        ("latest = 2027-05-10", "latest = 2027-05-01"),
        ("finish_by = 2027-07-01", "finish_by = 2027-06-15\nmost_danger = 1"),
    )
    return {
        name: plan(
            saved(folder, trip(*LEGS, *stage.log, kits=stage.kits, changed=head)), climate=world
        )
        for name, stage in stages.items()
    }


def stays(report):
    """Return the dated legs of a plan."""
    return [(leg.name, leg.arrive, leg.leave, leg.done) for leg in report.best.legs]


def test_before_nothing_is_done(told):
    """The plan of anybody who stays at home."""
    best = told["before"].best
    assert not any(leg.done for leg in best.legs)
    assert (best.depart, best.unplanned_nights) == (date(2027, 5, 1), 0)


def test_early_the_leg_behind_is_as_long_as_it_was(told):
    """Two days before the plan; its days are told, the rest has them."""
    hills, lake, *_ = stays(told["early"])
    assert hills == ("Hills", date(2027, 5, 1), date(2027, 5, 5), True)
    assert lake[:2] == ("Lake", date(2027, 5, 5)) and not lake[3]
    assert told["early"].best.unplanned_nights == 0
    assert told["early"].best.depart == date(2027, 5, 1)


def test_late_days_that_belong_to_no_stay_are_told(told):
    """Left on the 12th, arrived on the 15th."""
    report = told["late"]
    assert report.best.unplanned_nights == 3
    assert [leg.done for leg in report.best.legs] == [True, True, False, False]
    assert report.best.legs[2].arrive == date(2027, 5, 15)
    (line,) = (line for line in departures_in_words(report) if "belong to no stay" in line)
    assert line.startswith("3 nights")


@pytest.mark.parametrize("stage", ["early", "late", "changed", "back"])
def test_done_legs_are_as_they_were_planned_for_those_dates(told, stage):
    """The nights of the usual sleeper in the kit slept in, summed by hand from the year."""
    season = {place.name: place.seasons for place in told["before"].places}
    for one in told[stage].best.legs:
        if one.done:
            first = one.arrive.timetuple().tm_yday - 1
            share = season[one.name][one.kit].sound_share[first : first + one.nights]
            assert one.rough_nights == pytest.approx(float(np.sum(1 - share)), abs=1e-5)


def test_another_kit_from_a_leg_on_leaves_what_is_done(told):
    """The same dates and nights behind, another kit ahead."""
    late, changed = told["late"].best, told["changed"].best
    for before, after in zip(late.legs[:2], changed.legs[:2], strict=True):
        assert replace(before, signs=()) == replace(after, signs=())
    assert changed.kit == "bedroll"
    assert [leg.kit for leg in changed.legs] == ["ground-tent"] * 2 + ["bedroll"] * 2
    loads = told["changed"].load.legs
    tent, roll = (told["late"].load.legs[0], loads[3])
    assert loads[0].parts_kg["kit"] == tent.parts_kg["kit"]
    assert loads[0].parts_kg["kit"] != roll.parts_kg["kit"]


def test_back_to_plan_and_home(told):
    """All legs are done: a plan without a choice, and without a range."""
    best = told["back"].best
    assert all(leg.done for leg in best.legs)
    assert best.finish == date(2027, 5, 21)
    assert best.rough_low == best.rough_nights == pytest.approx(best.rough_high)
    assert told["back"].infeasible == ()


def test_the_range_narrows_as_legs_are_done(told):
    """What is behind has no doubt left."""
    widths = [
        report.best.rough_high - report.best.rough_low
        for report in (told["before"], told["early"], told["late"], told["back"])
    ]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] == pytest.approx(0.0, abs=1e-9)


def test_json_tells_what_is_done(told):
    """Programs see the same."""
    legs = departures(told["late"])["best"]["legs"]
    assert [leg["done"] for leg in legs] == [True, True, False, False]
    assert [leg["kit"] for leg in departures(told["changed"])["best"]["legs"]] == [
        "ground-tent", "ground-tent", "bedroll", "bedroll"
    ]  # fmt: skip


@pytest.fixture(scope="module")
def built(told) -> dict[str, dict[str, bytes]]:
    """Return the files of the site of every stage."""
    return {
        stage: site(report, base_map=BASE_MAP, exports=exported_files(report))
        for stage, report in told.items()
    }


# Hills 1 to 5 May, Lake 5 to 12 May, Coast 15 to 17 May, Plain 17 to 21 May: 4, 7, 2, 4 nights.
OPENINGS = {
    "before": "Start: Hills, 1 May 2027",
    "early": "On the road: 4 nights behind you, {ahead} ahead. Now: Lake, since 5 May,",
    "late": "On the road: 11 nights behind you, {ahead} ahead. Now: Coast, since 15 May,",
    "changed": "On the road: 11 nights behind you, {ahead} ahead. Now: Coast, since 15 May,",
    "back": "The journey is over: 17 nights on 4 legs.",
}


@pytest.mark.parametrize("stage", OPENINGS)
def test_plan_opens_with_where_one_is(told, built, stage):
    """Days done, what is left, today's leg and the kit from here; no advice to leave any more."""
    best = told[stage].best
    ahead = sum(one.nights for one in best.legs if not one.done)
    text = page_text(built[stage]["index.html"])
    assert OPENINGS[stage].format(ahead=ahead) in text
    assert ("Start:" in text) is (stage == "before")
    title = {kit.id: kit.title for kit in told[stage].kits}[best.kit]
    assert (f"Kit: {title}." in text) is (stage != "back")
    if stage not in ("before", "back"):
        rough = sum(one.rough_nights for one in best.legs if not one.done)
        assert f"About {round(rough)} of {ahead} nights will be rough" in text
    between = "3 nights between stays belong to no stay" in text
    assert between is (best.unplanned_nights == 3)


@pytest.mark.parametrize("stage", OPENINGS)
def test_every_page_is_right_at_every_stage(told, built, stage):
    """Each leg's nights alike on every page and file; nothing unknown printed as a number."""
    files = built[stage]
    assert_legs_agree(files)
    if stage == "before":
        assert_figures_agree(files)
    for name in (name for name in files if name.endswith(".html")):
        text = page_text(files[name])
        for wrong in (" nan", "None ", "Leave around", "Undefined"):
            assert wrong not in text, (stage, name, wrong)
    load = page_text(files["load.html"])
    assert all(one.name in load for one in told[stage].best.legs)


@pytest.mark.parametrize("stage", ["early", "late", "changed", "back"])
def test_nothing_is_advised_where_one_has_been(told, built, stage):
    """No remedy for done legs, neither on the leg nor in the weeks of its place."""
    before = {place.name: place for place in told["before"].places}
    assert any(week.remedy for week in before["Hills"].weeks)  # Else this would prove nothing.
    places = {place.id: place for place in told[stage].places}
    plan = built[stage]["index.html"].decode()
    for one in told[stage].best.legs:
        if one.done:
            assert one.remedy is None and not one.close
            assert not any(week.remedy for week in places[one.place].weeks)
    assert plan.count('<span class="tag">done</span>') == sum(
        one.done for one in told[stage].best.legs
    )
