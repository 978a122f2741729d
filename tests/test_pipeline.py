"""The whole way from a trip file to a plan: dangers, closures, refusals, replanning."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, timedelta

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from small_trips import climate, leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.cli import main
from sheltermap.climate.writer import write_climatology
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.sign_kinds import COMPUTED_HAZARDS
from sheltermap.report.departures import departures_in_words
from sheltermap.report.exports import table
from sheltermap.vocabulary import Grade, InputError, Level

FLOOD = """
[[hazards]]
legs = ["A"]
kind = "flood"
level = "prohibitive"
source = "river office"
"""
NEW_YEAR = [
    ("earliest = 2027-05-01", "earliest = 2027-12-20"),
    ("latest = 2027-05-10", "latest = 2027-12-22"),
    ("finish_by = 2027-07-01", "finish_by = 2028-02-15"),
]


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """Return the file of a climate of perfect sleep everywhere."""
    return stored(tmp_path_factory.mktemp("world"))


def planned(folder, world, text, **options):
    """Return the report of a trip."""
    return pipeline.plan(saved(folder, text), climate=world, **options)


def command(*arguments):
    """Return the result of one command."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_perfect_sleep_under_a_prohibitive_flood_is_never_planned(tmp_path, world):
    """No share of sound nights buys off a danger; the message says it is one."""
    report = planned(tmp_path, world, trip(leg("A"), FLOOD))
    season = report.places[0].seasons["bedroll"]
    assert (season.grade == Grade.SOUND).all()
    assert (season.hazard_level == Level.PROHIBITIVE).all()
    assert report.best is None and report.alternatives == ()
    assert all(stays.rough_nights is None and stays.legs == () for stays in report.by_departure)
    assert "flood (river office)" in report.infeasible[0]
    assert "That is a danger" in report.infeasible[0]


def test_accepted_flood_is_planned_and_stays_visible(tmp_path, world):
    """Acceptance by name lifts the constraint, not the level."""
    report = planned(tmp_path, world, trip(leg("A", more='accept = ["flood"]'), FLOOD))
    (stay,) = report.best.legs
    assert (stay.nights, stay.grade) == (4, Grade.SOUND)
    assert [hazard.level for hazard in stay.hazards] == [Level.PROHIBITIVE]
    assert [(hazard.kind, hazard.level) for hazard in stay.hazards] == [("flood", 3)]
    assert stay.cautions


def test_every_leg_without_a_layer_reads_not_checked(tmp_path, world):
    """All kinds but the bundled one and those that signs look at, on every leg, and in sum."""
    report = planned(tmp_path, world, trip(leg("A"), leg("B", (41.0, 31.0))))
    looked_at = {"tropical-cyclone", *COMPUTED_HAZARDS}
    unknown = tuple(kind for kind in HAZARD_KINDS if kind not in looked_at)
    assert [stay.not_checked for stay in report.best.legs] == [unknown, unknown]
    assert report.not_checked == unknown


def test_hazard_of_the_second_visit_binds_the_second_visit(tmp_path, world):
    """One place, two legs: a flood that begins between them forbids the return alone."""
    rows = FLOOD.replace('["A"]', '["A, return"]')
    text = trip(leg("A"), leg("B", (41.0, 31.0)), leg("A, return"))
    shut = planned(tmp_path, world, text + rows)
    assert shut.best is None and "A, return" in shut.infeasible[0]


def high_region(folder, nights, height, departure="", more=""):
    """Return the plan of one region whose cells, and nobody else, say how high it lies."""
    area = shapely.box(28.25, 39.25, 30.25, 40.75).__geo_interface__
    feature = {"type": "Feature", "properties": {"id": "r1", "name": "R"}, "geometry": area}
    collection = {"type": "FeatureCollection", "features": [feature]}
    (folder / "regions.geojson").write_text(json.dumps(collection), encoding="utf-8")
    high = f'\n[[legs]]\nname = "R"\nregion = "r1"\nnights = {nights}\n{more}\n'
    files = '\n[files]\nregions = "regions.geojson"\n'
    text = trip(high, files, departure=departure)
    return planned(folder, stored(folder, height=height), text)


def test_climb_to_camps_of_unstated_height_is_cautioned(tmp_path):
    """By hand: home at sea level, cells at 4,500 m: 4 nights up and 2 to rest, of 2 planned."""
    report = high_region(tmp_path, 2, 4500.0)
    (one,) = report.best.legs
    assert "rises from 0 m to 4,500 m in one move" in one.ascent
    assert "4,500 m is the climate cells' own: state camp_elevation_m" in one.ascent
    assert one.cautions[0] == one.ascent
    assert f"R: {one.ascent}" in departures_in_words(report)


@pytest.mark.parametrize(
    ("direction", "nights", "told"),
    [
        # By hand: 1,000 km at 200 km a day are four evenings on the way, 600 km are two.
        ("reverse", 6, "in 2 nights: above 2,500 m the climb needs 3 nights"),
        ("reverse", 7, ""),
        ("forward", 5, ""),
    ],
)
def test_evenings_on_the_way_to_an_unstated_height_are_no_climb(tmp_path, direction, nights, told):
    """By hand: from 0 m to 3,500 m, 1,000 m count: 2 nights and 1 to rest, all in camp."""
    report = high_region(
        tmp_path,
        nights,
        3500.0,
        departure=f'direction = "{direction}"',
        more="kilometres = 1000\napproach_km = 600",
    )
    (one,) = report.best.legs
    assert one.nights == nights
    assert told in one.ascent and bool(one.ascent) == bool(told)
    assert ("The first 4 are on the way and count for nothing." in one.ascent) == bool(told)


def test_check_refuses_what_build_would(tmp_path, world):
    """100 m to 3,500 m in a night: exit 2 from both commands, the rest night named."""
    low, high = ("camp_elevation_m = 100", "camp_elevation_m = 3500")
    path = saved(tmp_path, trip(leg("A", nights="1", more=low), leg("B", nights="1", more=high)))
    for arguments in (("check", path), ("build", path, "-o", tmp_path / "site")):
        result = command(*arguments)
        assert result.exit_code == 2
        assert "expected 3 nights or more, 1 of them for rest" in result.stderr
    assert not (tmp_path / "site").exists()


@pytest.mark.parametrize("more", [[], ["--one-file"]])
def test_an_output_that_cannot_be_written_is_refused_before_anything_is_computed(
    tmp_path, world, monkeypatch, more
):
    """A plan takes its time; to be told afterwards that it has no place would waste it."""
    trip_file = saved(tmp_path, trip(leg("A")))
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "photo.html").write_text("not a page")
    output = tmp_path / "mine" / ("photo.html" if more else "")
    scored, honest = [], pipeline.scored_places
    monkeypatch.setattr(pipeline, "scored_places", lambda *a: scored.append(a) or honest(*a))
    for target in (output, trip_file / "site.html"):
        result = command("build", trip_file, "-q", "-o", target, "--climate", world, *more)
        assert result.exit_code == 2 and f"{target}: expected" in result.stderr
        assert scored == []
    assert (tmp_path / "mine" / "photo.html").read_text() == "not a page"
    command("build", trip_file, "-q", "-o", tmp_path / "new", "--climate", world, *more)
    assert len(scored) == 1


def test_nine_days_late_at_leg_four_leaves_the_first_three_as_they_were(tmp_path, world):
    """What lies behind is over; the rest starts on the day people are there."""
    text = trip(
        leg("A", nights="[2, 3, 4]"),
        leg("B", (41.0, 31.0), nights="[2, 3, 4]"),
        leg("A, return", nights="[2, 3, 4]"),
        leg("B, return", (41.0, 31.0), nights="[2, 3, 8]"),
        leg("A, last", nights="3"),
    )
    first = planned(tmp_path, world, text).best
    late = first.legs[3].arrive + timedelta(days=9)
    then = planned(tmp_path, world, text, replan_from=("B, return", late)).best
    assert then.legs[:3] == first.legs[:3]
    assert then.legs[3].arrive == late and then.unplanned_nights == 9
    assert then.legs[4].arrive == then.legs[3].leave
    assert then.nights == sum(stay.nights for stay in then.legs)


def test_replanning_before_the_stay_ahead_ends_is_refused(tmp_path, world):
    """Nobody is at the second leg before the first is over."""
    text = trip(leg("A"), leg("B", (41.0, 31.0)))
    for start, words in (
        (("B", date(2027, 5, 2)), "later, after a night in A, where the plan arrives on"),
        (("C", date(2027, 5, 20)), "one of A, B"),
    ):
        with pytest.raises(InputError, match=words):
            planned(tmp_path, world, text, replan_from=start)


def test_journey_across_new_year_visits_a_region_twice(tmp_path, world):
    """20 December to January, the last leg back at the first place, dates without a gap."""
    closed = 'closed = [{ first = "12-26", last = "12-28", margin_days = 6 }]'
    text = trip(
        leg("A", nights="[4, 6, 20]"),
        leg("B", (41.0, 31.0), nights="5", more=closed),
        leg("A, return", nights="6"),
        changed=NEW_YEAR,
    )
    report = planned(tmp_path, world, text)
    one, middle, last = report.best.legs
    # Closed to 28 December and six days more: the first evening there is 4 January, and the
    # stay before it grows no more than it must.
    assert middle.arrive == date(2028, 1, 4) and one.leave == middle.arrive
    assert one.arrive == report.best.depart == date(2027, 12, 22)
    assert (last.arrive, last.leave) == (date(2028, 1, 9), date(2028, 1, 15))
    assert one.place == last.place and len(report.places) == 2
    assert report.best.rough_nights == pytest.approx(sum(s.rough_nights for s in report.best.legs))


def test_exports_name_the_region_of_both_visits(tmp_path, world):
    """The region's own name, not that of the first leg there; a place has its leg's name."""
    ring = [[28.6, 39.6], [29.4, 39.6], [29.4, 40.4], [28.6, 40.4], [28.6, 39.6]]
    region = {
        "type": "Feature",
        "properties": {"id": "steppe", "name": "Western steppe"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    content = {"type": "FeatureCollection", "features": [region]}
    (tmp_path / "regions.geojson").write_text(json.dumps(content))
    there, back = (
        f'\n[[legs]]\nname = "{name}"\nregion = "steppe"\nnights = 4\n' for name in ("A", "C")
    )
    files = '\n[files]\nregions = "regions.geojson"\n'
    report = planned(tmp_path, world, trip(files, there, leg("B", (41.0, 31.0)), back))
    rows = list(csv.DictReader(io.StringIO(table(report).decode("utf-8-sig"))))
    assert [(row["name"], row["place"]) for row in rows] == [
        ("A", "Western steppe"),
        ("B", "B"),
        ("C", "Western steppe"),
    ]


def test_infeasible_trip_names_the_constraint_and_its_days(tmp_path, world):
    """By hand: leave on 10 May at the latest, be at B on the 14th, which opens on the 21st."""
    shut = 'closed = [{ first = "05-01", last = "05-20", note = "the ferry" }]'
    path = saved(tmp_path, trip(leg("A"), leg("B", (41.0, 31.0), more=shut)))
    result = command("depart", path, "--climate", world, "--json")
    assert result.exit_code == 1
    answer = json.loads(result.stdout)
    assert answer["best"] is None and answer["alternatives"] == []
    assert len(answer["by_departure"]) == 10
    assert all(one["rough_nights"] is None for one in answer["by_departure"])
    reasons = " ".join(answer["infeasible"])
    assert "Leaving by 10 May 2027 is 7 days too early: 17 May 2027 would do." in reasons
    assert "A: the longest stay of 4 nights is 7 days too short; 11 nights would do." in reasons
    assert "'the ferry' would have to end 7 days before 20 May 2027." in reasons


def test_first_kit_that_does_not_fit_is_refused_with_the_reason(tmp_path, world):
    """There is nothing to plan with; `check` says it too."""
    text = trip(leg("A"), kits="roof-tent bedroll")
    with pytest.raises(InputError) as caught:
        planned(tmp_path, world, text)
    (problem,) = caught.value.problems
    assert problem.key == "shelter.kits[1]" and "roof rack" in problem.mend
    assert problem.mend.endswith("Put bedroll first, or mend the party or the vehicle.")
    assert command("check", tmp_path).exit_code == 2


@pytest.mark.parametrize(
    ("kits", "party", "mend"),
    [
        ("roof-tent", "", "Name one that does, as bedroll or bedroll-cot or ground-tent, or"),
        ("roof-tent", "[party]\npeople = 5", "as bedroll or bedroll-cot or ground-tent, or mend"),
        ("ground-tent", "[party]\nlength_m = 2.3", "No kit named or shipped does. Mend the"),
    ],
)
def test_remedy_for_a_first_kit_never_names_one_that_fits_no_better(tmp_path, kits, party, mend):
    """Nobody is sent to a kit that they would be refused too."""
    path = tmp_path / "trip.toml"
    path.write_text(trip(leg("A"), kits=kits) + party, encoding="utf-8")
    result = command("check", path)
    assert result.exit_code == 2 and mend in result.stderr


def test_a_field_party_carries_a_kit_as_often_as_it_needs(tmp_path, world):
    """Five people in tents of 9 kg for two: three of them, with three fans of 1 kg."""
    more = "[party]\npeople = 5\n[vehicle]\nname = 'Van'\n"
    text = trip(leg("A"), kits="ground-tent").replace("[[legs]]", f"{more}[[legs]]", 1)
    text = text.replace('kits = ["ground-tent"]', 'kits = ["ground-tent"]\naddons = ["fan"]')
    report = planned(tmp_path, world, text)
    (row, *_) = report.comparison.rows
    assert (row.title, row.mass_kg) == ("Ground tent\u00a0×\u00a03", 3 * (9.0 + 1.0))
    assert report.load.legs[0].parts_kg["kit"] == 30.0


def test_second_kit_that_does_not_fit_is_listed_and_left_out(tmp_path, world):
    """The rest is planned; the reason stays in the report."""
    report = planned(tmp_path, world, trip(leg("A"), kits="bedroll roof-tent"))
    assert report.best.kit == "bedroll"
    ((kit, refused),) = report.refused.items()
    assert (kit, refused.title) == ("roof-tent", "Roof tent")
    assert "roof rack" in refused.reasons[0]
    assert [kit.id for kit in report.kits] == ["bedroll"]
    assert "roof-tent" not in report.places[0].seasons


def test_best_kit_is_chosen_where_the_trip_asks(tmp_path):
    """Lows of -4 degC: the first kit is too cold, the other holds more."""
    world = stored(tmp_path, mean=4.0, swing=16.0, vapour=0.3)
    kits = "bedroll pop-up-body"
    rack = '\n[vehicle]\ncarries = ["load_bed"]\n'
    best = ('"pop-up-body"]', '"pop-up-body"]\nchoose = "best"')
    chosen = planned(tmp_path, world, trip(leg("A"), rack, kits=kits, changed=[best]))
    assert chosen.best.kit == "pop-up-body"
    first, other = chosen.comparison.rows[:2]
    assert (first.kit, other.kit) == ("pop-up-body", "bedroll")
    assert first.rough_nights < other.rough_nights
    assert chosen.kits[0].id == "pop-up-body"


def test_nights_without_climate_are_not_planned(tmp_path):
    """Rain is known and wet days are not: no score, said in so many words."""
    wet = np.full(12, np.nan)
    path = tmp_path / "partly.nc"
    write_climatology(climate(rain=20.0, wet=wet), path)
    report = planned(tmp_path, path, trip(leg("A")))
    assert report.best is None
    assert "nights at A have no score" in report.infeasible[0]
    assert {week.grade for week in report.places[0].weeks} == {-1}


def test_uneven_climatology_is_refused(tmp_path):
    """A grid with a gap is an input problem that names the file."""
    path = tmp_path / "uneven.nc"
    write_climatology(climate().isel(longitude=[0, 1, 2, 3, 4, 6, 7, 8, 9]), path)
    with pytest.raises(InputError, match="a regular grid"):
        planned(tmp_path, path, trip(leg("A")))


def test_a_climatology_of_another_country_is_named_by_its_file(tmp_path, world):
    """The box is the journey's, which no user wrote; the remedy is an option they did write."""
    with pytest.raises(InputError) as caught:
        planned(tmp_path, world, trip(leg("Andes", place=(-22.0, -66.0))))
    (problem,) = caught.value.problems
    assert (problem.file, problem.key) == (str(world), "")
    assert problem.got.startswith("none in latitudes -2")
    assert problem.mend.startswith("It covers latitudes 38 to 43 and longitudes 26 to 33")
    assert problem.mend.endswith("or leave out --climate.")


def test_legs_on_both_sides_of_the_180th_meridian_are_planned(tmp_path):
    """Chukotka lies on both; the embedded climate covers it."""
    text = trip(
        leg("A", (66.0, 179.9)),
        leg("B", (66.0, -175.0)),
        # Nights are cold there in May: whoever goes accepts it.
        changed=[("earliest = 2027-05-01", "earliest = 2027-05-09\nmost_danger = 1")],
    )
    report = pipeline.plan(saved(tmp_path, text))
    assert [place.longitude for place in report.places] == [179.9, -175.0]
    assert report.best.nights == 8


HOSTILE = "<img src=x onerror=alert(1)> \"'`${x}` {{7*7}} \u202eآ\u200f " + "n" * 100


def test_hostile_words_reach_the_site_as_words(tmp_path, world):
    """The build ends well, and no page holds the markup as markup."""
    quoted = '"' + HOSTILE.replace('"', '\\"') + '"'
    text = trip(
        leg("A", more=f"note = {quoted}").replace('name = "A"', f"name = {quoted}"),
        FLOOD.replace('"A"', quoted)
        .replace("prohibitive", "serious")
        .replace('"river office"', quoted),
        f"\n[vehicle]\nname = {quoted}\n",
        changed=[('"Two camps"', quoted)],
    )
    pipeline.build(saved(tmp_path, text), tmp_path / "site", climate=world)
    pages = list((tmp_path / "site").rglob("*.html"))
    assert pages
    assert not any("<img src=x" in page.read_text("utf-8") for page in pages)
