"""From a trip to the planner's question: closures, hazards, permits, heights, drives."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from small_trips import leg, saved, trip

from sheltermap.hazards.layers import stated_finding
from sheltermap.places.camp_height import CampHeight
from sheltermap.planner.problem import NEVER
from sheltermap.planner.search import best_plans
from sheltermap.report.question import kit_in_words, planning_problem, span_closures
from sheltermap.shelters.kit import load_kits
from sheltermap.trip.model import Shelter, read_trip
from sheltermap.trip.values import Span

SHARE = 0.8
FLOOD = stated_finding("flood", "prohibitive", "06-01", "06-30", source="river office")
BEAR = stated_finding("large-animals", "prohibitive", "06-01", "06-30", source="ranger")


def question(folder, text, findings=(), kilometres=None, height=100.0, dangerous=0.0, level=0):
    """Return the planner's question for a trip whose nights are all alike."""
    read = read_trip(saved(folder, text))
    kits = [load_kits()[name] for name in read.shelter.kits]
    nights = SimpleNamespace(
        sound_share=np.full(365, SHARE),
        dangerous=np.broadcast_to(dangerous, 365),
        hazard_level=np.broadcast_to(level, 365),
    )
    legs = [
        one if one.kilometres is not None else one.model_copy(update={"kilometres": kilometres})
        for one in read.legs
    ]
    places = [
        SimpleNamespace(
            id=f"ground-{one.name}",
            height=CampHeight(height, None, "cells")
            if one.camp_elevation_m is None
            else CampHeight(one.camp_elevation_m, None, "stated"),
            seasons={kit.id: nights for kit in kits},
            findings=tuple(findings),
        )
        for one in legs
    ]
    return planning_problem(read, kits, SimpleNamespace(legs=legs), places)


def test_rough_nights_are_what_is_left_of_sound_ones(tmp_path):
    """A night of share 0.8 counts as 0.2 rough nights, for every kit and leg."""
    found = question(tmp_path, trip(leg("A"), leg("B"), kits="bedroll ground-tent"))
    assert found.kits == ("bedroll", "ground-tent")
    np.testing.assert_allclose(found.rough, np.full((2, 2, 365), 0.2))


def test_yearly_closure_keeps_its_margin_across_new_year():
    """Closed to 28 December and ten days more: open again from 8 January."""
    span = Span(first="12-01", last="12-28", margin_days=10)
    found = span_closures(span, "ice", date(2028, 1, 1), date(2028, 2, 1))
    assert [(one.first, one.last) for one in found] == [(date(2027, 12, 1), date(2028, 1, 7))]


def test_closure_over_new_year_is_found_from_either_side():
    """A journey in January meets the closure that began in November."""
    span = Span(first="11-15", last="03-01")
    found = span_closures(span, "snow", date(2028, 1, 10), date(2028, 1, 20))
    assert [(one.first, one.last) for one in found] == [(date(2027, 11, 15), date(2028, 3, 1))]


@pytest.mark.parametrize(("year", "last"), [(2027, 28), (2028, 29)])
def test_closure_to_the_leap_day_lasts_to_the_end_of_february(year, last):
    """29 February is closed in years that have one."""
    found = span_closures(
        Span(first="01-15", last="02-29"), "snow", date(year, 2, 1), date(year, 2, 2)
    )
    assert [one.last for one in found] == [date(year, 2, last)]


def test_a_day_of_every_year_is_one_day():
    """First and last alike is no year from one to the other."""
    found = span_closures(
        Span(first="06-01", last="06-01"), "fair", date(2027, 5, 1), date(2027, 7, 1)
    )
    assert [(one.first, one.last) for one in found] == [(date(2027, 6, 1), date(2027, 6, 1))]


def test_dated_closure_happens_once():
    """Full dates hold in their year alone, margin added."""
    span = Span(first=date(2027, 6, 1), last=date(2027, 6, 3), margin_days=2)
    (once,) = span_closures(span, "festival", date(2027, 1, 1), date(2029, 1, 1))
    assert (once.first, once.last) == (date(2027, 6, 1), date(2027, 6, 5))
    assert span_closures(span, "festival", date(2028, 1, 1), date(2029, 1, 1)) == ()


def test_prohibitive_hazard_bars_its_nights(tmp_path):
    """By every kit where nothing shields, in the words of who says so."""
    (stop,) = question(tmp_path, trip(leg("A"), kits="bedroll pop-up-body"), [FLOOD]).stops
    (barrier,) = stop.barriers
    assert barrier.reason == "flood (river office)"
    assert barrier.danger and barrier.kits is None
    june = np.zeros(365, bool)
    june[151:181] = True  # Day 152 of the year is 1 June.
    np.testing.assert_array_equal(barrier.by_day, june)


def test_shielded_kit_is_not_barred(tmp_path):
    """A hard body lowers large animals by one level, which no longer forbids."""
    (stop,) = question(tmp_path, trip(leg("A"), kits="bedroll pop-up-body"), [BEAR]).stops
    (barrier,) = stop.barriers
    assert barrier.kits == ("bedroll",)


def test_accepted_hazard_bars_nothing_and_others_still_do(tmp_path):
    """Acceptance is by kind and by leg."""
    text = trip(leg("A", more='accept = ["flood"]'), leg("B", (41.0, 30.0)))
    one, other = question(tmp_path, text, [FLOOD, BEAR]).stops
    assert [barrier.reason for barrier in one.barriers] == ["large animals on the ground (ranger)"]
    assert len(other.barriers) == 2


@pytest.mark.parametrize("level", ["none", "advisory", "serious"])
def test_lower_levels_constrain_nothing(tmp_path, level):
    """They lower the grade and are told; the nights may be planned."""
    (stop,) = question(tmp_path, trip(leg("A")), [stated_finding("flood", level)]).stops
    assert stop.barriers == ()


def test_closure_of_a_hazard_row_is_never_shielded(tmp_path):
    """An order to stay away binds in a hard body too, its margin included."""
    shut = stated_finding("permit", "closure", "12-20", "12-28", 10, source="park")
    (stop,) = question(tmp_path, trip(leg("A"), kits="pop-up-body"), [shut]).stops
    (barrier,) = stop.barriers
    barred = np.flatnonzero(barrier.by_day)
    assert (barred < 7).sum() == 7 and barred.size == 9 + 10


def test_drive_raises_the_shortest_stay(tmp_path):
    """900 km at 200 km a day are five days, which the preferred stay must hold too."""
    text = trip(leg("A", nights="[2, 3, 9]", more="kilometres = 900"))
    (stop,) = question(tmp_path, text).stops
    assert (stop.nights_min, stop.nights_preferred, stop.nights_max) == (5, 5, 9)
    assert stop.travel_days == 5


@pytest.mark.parametrize(("more", "nights"), [("", 2), ("camp_elevation_m = 3500", 3)])
def test_only_a_stated_height_is_climbed_slowly(tmp_path, more, nights):
    """By hand: from home at sea level to 3,500 m, 1,000 m count: 2 nights and 1 to rest.

    A default may be hundreds of metres off, so it cautions and forbids nothing.
    """
    text = trip(leg("A", nights="[2, 2, 9]", more=more), departure="from_elevation_m = 0")
    assert best_plans(question(tmp_path, text, height=3500.0)).best.stays[0].nights == nights


VALID = "\n[permits.East]\nlongest_stay_days = 90\nvalid = {{ first = {}, last = {} }}\n"


def nights_inside(folder, first, last, earliest, latest, finish):
    """Return every evening that some plan of some departure spends under the permit."""
    text = trip(
        leg("A", nights="2"),
        leg("B", (41.0, 30.0), nights="3", more='permit = "East"'),
        VALID.format(first, last),
        changed=[
            ("earliest = 2027-05-01", f"earliest = {earliest}"),
            ("latest = 2027-05-10", f"latest = {latest}"),
            ("finish_by = 2027-07-01", f"finish_by = {finish}"),
        ],
    )
    result = best_plans(question(folder, text))
    return {
        stay.arrive + timedelta(days=night)
        for plan in result.best_by_departure
        if plan is not None
        for stay in plan.stays
        if stay.stop == 1
        for night in range(stay.nights)
    }


def test_yearly_permit_holds_in_both_years(tmp_path):
    """Valid 1 March to 31 May: the last evening inside is 30 May, since one leaves on the 31st."""
    inside = nights_inside(
        tmp_path, '"03-01"', '"05-31"', "2027-04-01", "2028-06-30", "2028-12-31"
    )
    for year, opens in ((2027, date(2027, 4, 3)), (2028, date(2028, 3, 1))):
        of_year = sorted(day for day in inside if day.year == year)
        assert (of_year[0], of_year[-1]) == (opens, date(year, 5, 30))


def test_dated_permit_and_yearly_permit_mean_the_same_days(tmp_path):
    """The form in which a validity is written changes nothing within one year."""
    window = ("2027-02-01", "2027-07-01", "2027-12-31")
    assert nights_inside(tmp_path, '"03-01"', '"05-31"', *window) == nights_inside(
        tmp_path, "2027-03-01", "2027-05-31", *window
    )


def test_permit_valid_all_year_bars_nothing(tmp_path):
    """1 January to 31 December joins the next year without a gap."""
    text = trip(leg("A", more='permit = "East"'), VALID.format('"01-01"', '"12-31"'))
    assert question(tmp_path, text).stops[0].barriers == ()


def test_longest_stay_counts_days_of_entry_and_of_leaving(tmp_path):
    """Three and four nights are eight days; a permit of seven shows what must give."""
    legs = (
        leg("A", nights="3", more='permit = "East"'),
        leg("B", (41.0, 30.0), nights="4", more='permit = "East"'),
    )
    for days, feasible in ((8, True), (7, False)):
        text = trip(*legs, f"\n[permits.East]\nlongest_stay_days = {days}\n")
        result = best_plans(question(tmp_path, text))
        assert (result.best is not None) == feasible
    assert any("East" in r.message and r.days == 1 for r in result.relaxations)


def test_free_order_follows_the_links(tmp_path):
    """A - C - B is the only chain: B cannot be reached from A."""
    link = '\n[[links]]\nlegs = ["{}", "{}"]\nkilometres = {}\n'
    text = trip(
        leg("A", nights="2"),
        leg("B", (41.0, 30.0), nights="[2, 2, 4]"),
        leg("C", (42.0, 30.0), nights="2"),
        link.format("A", "C", 150),
        link.format("C", "B", 700),
        departure='order = "free"',
    )
    problem = question(tmp_path, text)
    np.testing.assert_array_equal(
        problem.travel.km, [[0, np.inf, 150], [np.inf, 0, 700], [150, 700, 0]]
    )
    best = best_plans(problem).best
    # 700 km are four days on the road, spent in the stay at B where B comes last; where B
    # comes first the road leads to C, whose two nights are too few.
    assert [problem.stops[stay.stop].name for stay in best.stays] == ["A", "C", "B"]
    assert [stay.nights for stay in best.stays] == [2, 2, 4]


def test_free_order_without_links_may_go_anywhere(tmp_path):
    """Nobody has to list distances."""
    text = trip(leg("A"), leg("B", (41.0, 30.0)), departure='order = "free"')
    problem = question(tmp_path, text)
    assert problem.travel is None and best_plans(problem).best.direction == "free"


JUNE = slice(151, 181)


def in_june(value):
    """Return a value on the days of June, and none of it on others."""
    days = np.zeros(365)
    days[JUNE] = value
    return days


@pytest.mark.parametrize(
    ("chance", "keys", "accepted", "barred"),
    [
        (0.10, "", "", True),
        (0.09, "", "", False),
        (0.90, "most_danger = 1", "", False),
        (0.20, "most_danger = 0.3", "", False),
        (0.90, "", 'accept = ["dangerous-nights"]', False),
    ],
)
def test_dates_too_likely_to_be_dangerous_are_barred(tmp_path, chance, keys, accepted, barred):
    """One night in ten is the bar; a trip may move it, switch it off, or accept it by name."""
    text = trip(leg("A", more=accepted)).replace("[departure]", f"[departure]\n{keys}")
    found = question(tmp_path, text, dangerous=in_june(chance))
    barriers = [one for one in found.stops[0].barriers if one.of_kit]
    assert bool(barriers) is barred
    if barred:
        assert barriers[0].danger and barriers[0].by_day[JUNE].all()
        assert barriers[0].by_day.sum() == 30 and barriers[0].kits == (found.kits[0],)
    # Accepted or not, such nights cost.
    np.testing.assert_allclose(found.dangerous[0, 0, JUNE], chance)
    assert (found.danger_weight, found.serious_weight) == (10, 0.25)


@pytest.mark.parametrize(("level", "counted"), [(1, False), (2, True), (3, True)])
def test_nights_under_a_serious_hazard_count_once_a_night(tmp_path, level, counted):
    """Advisories cost nothing; serious ones and what an accepted kind leaves do."""
    found = question(tmp_path, trip(leg("A")), level=in_june(level).astype(np.uint8))
    assert bool(found.serious[0, 0, 160]) is counted
    assert found.serious[0, 0].sum() == (30 if counted else 0)


WEDDING = "be_there = [2027-05-20]"


@pytest.mark.parametrize(
    ("more", "direction", "evenings"),
    [
        ("", "forward", 3),  # 800 km are four days of driving, three evenings on the way
        ("approach_km = 800", "forward", 3),
        ("approach_km = 250", "forward", 1),
        ("approach_km = 0", "forward", 0),
        ("approach_km = 0", "reverse", 3),  # the other way round the camp may be its last
    ],
)
def test_a_fixed_evening_is_met_by_a_camp(tmp_path, more, direction, evenings):
    """Whoever drives four days to a wedding arrives before it, not on the evening of it."""
    text = trip(
        leg("A", nights="2"),
        leg("B", (41.0, 30.0), nights="[5, 6, 7]", more=f"kilometres = 800\n{more}\n{WEDDING}"),
        departure=f'direction = "{direction}"',
        changed=[("latest = 2027-05-10", "latest = 2027-05-25")],
    )
    plans = best_plans(question(tmp_path, text)).best_by_departure
    stays = [stay for plan in plans if plan for stay in plan.stays if stay.stop == 1]
    assert stays
    for stay in stays:
        assert stay.arrive + timedelta(days=evenings) <= date(2027, 5, 20) < stay.leave
    first = {(date(2027, 5, 20) - stay.arrive).days for stay in stays}
    assert min(first) == evenings  # the earliest evening in camp is used by some departure


def test_evenings_on_the_way_give_no_acclimatisation(tmp_path):
    """By hand: 1,000 km are five days, four evenings on the way; then 3 nights at 3,500 m: 7."""
    more = "camp_elevation_m = 3500\nkilometres = 1000\napproach_km = 1000"
    text = trip(leg("A", nights="[2, 2, 9]", more=more), departure="from_elevation_m = 0")
    assert best_plans(question(tmp_path, text, height=3500.0)).best.stays[0].nights == 7


@pytest.mark.parametrize(
    ("choose", "kit", "addons", "written"),
    [
        ("first", "a", (), None),
        ("best", "a", (), 'kits = ["a", "b", "c"], choose = "first".'),
        ("best", "c", (), 'kits = ["c", "a", "b"], choose = "first".'),
        ("best", "a", ("fan",), 'kits = ["a", "b", "c"], choose = "first".'),
        ("best", "b", ("fan",), 'kits = ["b", "a", "c"], choose = "first", addons = [].'),
    ],
)
def test_how_the_kit_on_the_road_is_kept(choose, kit, addons, written):
    """By hand: that kit first; add-ons are the first kit's, so another must not inherit them."""
    shelter = Shelter(kits=("a", "b", "c"), addons=addons, choose=choose)
    words = list(kit_in_words(shelter, kit))
    assert len(words) == (written is not None)
    assert written is None or words[0].endswith(f"write under [shelter] {written}")


def test_the_question_has_what_the_trip_says(tmp_path):
    """Dates, weights and kits as written; stops are numbered from 1 as in the file."""
    head = (
        'direction = "either"\nstay_weight = 0.07\ndanger_weight = 12\nserious_weight = 0.4\n'
        "from_elevation_m = 1450"
    )
    found = question(
        tmp_path, trip(leg("A"), leg("B"), kits="bedroll pop-up-body", departure=head)
    )
    assert [(stop.id, stop.name, stop.region) for stop in found.stops] == [
        ("1", "A", "ground-A"), ("2", "B", "ground-B")
    ]  # fmt: skip
    assert (found.stay_weight, found.danger_weight, found.serious_weight) == (0.07, 12, 0.4)
    assert (found.earliest, found.latest) == (date(2027, 5, 1), date(2027, 5, 10))
    assert (found.finish_by, found.direction) == (date(2027, 7, 1), "either")
    assert found.home_elevation_m == 1450 and not found.choose_kit and found.travel is None


def test_home_lies_at_the_sea_unless_told(tmp_path):
    """And the traveller's own kit is kept unless the best is asked for."""
    text = trip(leg("A"), kits="bedroll pop-up-body")
    assert question(tmp_path, text).home_elevation_m == 0.0
    best = text.replace("[shelter]", '[shelter]\nchoose = "best"')
    assert question(tmp_path, best).choose_kit


@pytest.mark.parametrize(
    ("from_m", "to_m", "nights"),
    # DECISIONS 23: 2,900 to 3,600 m is refused, 2,700 to 3,150 m passes; 3,500 m needs 3 nights.
    [(2900, 3600, NEVER), (0, 3500, 3), (2000, 2400, 0), (3600, 2900, 0)],
)
def test_climbs_are_those_of_the_ascent_rule(tmp_path, from_m, to_m, nights):
    """What is refused takes more nights than any journey has."""
    climb = question(tmp_path, trip(leg("A"))).climb_nights
    assert climb(from_m, to_m) == nights


@pytest.mark.parametrize(
    ("more", "there", "back", "known"),
    [
        ("kilometres = 700", 3, 3, False),  # 700 km at 200 a day are four days
        ("kilometres = 700\napproach_km = 500", 2, 3, True),
        ("kilometres = 700\napproach_km = 0", 0, 3, True),
        ("kilometres = 0\napproach_km = 0", 0, 0, True),
        ("kilometres = 200\napproach_km = 200", 0, 0, True),
        ("kilometres = 201\napproach_km = 201", 1, 1, True),
    ],
)
def test_evenings_on_the_way_are_days_of_driving_less_one(tmp_path, more, there, back, known):
    """The last day's drive ends in camp (DECISIONS 22)."""
    text = trip(leg("A", nights="[5, 6, 9]", more=more), departure="daily_km = 200")
    (stop,) = question(tmp_path, text).stops
    assert (stop.evenings_on_the_way, stop.evenings_on_the_way_back) == (there, back)
    assert stop.approach_known is known


@pytest.mark.parametrize(
    ("nights", "more", "expected"),
    [
        ("[2, 3, 9]", "kilometres = 100\napproach_km = 100", (2, 3, 9)),
        ("[2, 3, 9]", "kilometres = 700\napproach_km = 100", (4, 4, 9)),
        ("[2, 3, 3]", "kilometres = 700", (4, 4, 4)),
    ],
)
def test_driving_raises_all_three_counts_of_nights(tmp_path, nights, more, expected):
    """700 km at 200 km a day are four days: no stay is shorter."""
    text = trip(leg("A", nights=nights, more=more), departure="daily_km = 200")
    (stop,) = question(tmp_path, text).stops
    assert (stop.nights_min, stop.nights_preferred, stop.nights_max) == expected


def test_closures_are_found_for_a_year_beyond_the_dates(tmp_path):
    """What must give is looked for there: leaving from May 2027, home by July 2027.

    From 30 April 2026 to 1 July 2028 the last quarter is closed twice, with its margin.
    """
    closed = 'closed = [{ first = "10-01", last = "12-31", margin_days = 6, note = "ice" }]'
    (stop,) = question(tmp_path, trip(leg("A", more=closed))).stops
    assert [(str(one.first), str(one.last), one.reason) for one in stop.closures] == [
        ("2026-10-01", "2027-01-06", "ice"),
        ("2027-10-01", "2028-01-06", "ice"),
    ]
    unnamed = closed.replace(', note = "ice"', "")
    (stop,) = question(tmp_path, trip(leg("A", more=unnamed))).stops
    assert {one.reason for one in stop.closures} == {"closed"}


@pytest.mark.parametrize(
    ("first", "last", "found"),
    [
        ("2027-03-10", "2027-03-20", 1),
        ("2027-03-10", "2027-03-19", 0),
        ("2027-03-20", "2027-03-30", 1),
        ("2027-03-21", "2027-03-30", 0),
        ("2027-03-05", "2027-03-09", 1),
        ("2027-03-06", "2027-03-09", 0),
    ],
)
def test_closures_are_those_that_touch_the_dates(first, last, found):
    """One is 20 March alone; one ends on 28 February and five days: 5 March. Ends count."""
    span = Span(first=date.fromisoformat("2027-03-20"), last=date.fromisoformat("2027-03-20"))
    early = Span(first="02-01", last="02-28", margin_days=5)
    asked = date.fromisoformat(first), date.fromisoformat(last)
    both = [*span_closures(span, "a", *asked), *span_closures(early, "b", *asked)]
    assert len(both) == found


def test_a_hazard_bars_each_kit_on_the_nights_that_it_forbids(tmp_path):
    """A closed June binds both kits; a July that a hard body lowers binds the bedroll alone."""
    level = np.zeros(365, np.uint8)
    level[151:181], level[181:212] = 4, 3
    bear = replace(BEAR, level_by_day=level)
    (stop,) = question(tmp_path, trip(leg("A"), kits="bedroll pop-up-body"), [bear]).stops
    by_kit = {one.kits: np.flatnonzero(one.by_day) for one in stop.barriers}
    assert set(by_kit) == {("bedroll",), ("pop-up-body",)}
    assert by_kit["bedroll",][[0, -1]].tolist() == [151, 211]
    assert by_kit["pop-up-body",][[0, -1]].tolist() == [151, 180]


def test_links_hold_both_ways_and_nothing_leads_elsewhere(tmp_path):
    """Travelled at the trip's own pace."""
    link = '\n[[links]]\nlegs = ["A", "B"]\nkilometres = 170\n'
    text = trip(leg("A"), leg("B"), link, departure='order = "free"\ndaily_km = 340')
    found = question(tmp_path, text)
    np.testing.assert_array_equal(found.travel.km, [[0, 170], [170, 0]])
    assert found.travel.daily_km == 340 and found.order == "free"
