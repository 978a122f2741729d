"""A place through the year: missing stays missing, errors reach the grade, hazards bind."""

from __future__ import annotations

import datetime
from datetime import date

import astral
import astral.sun
import numpy as np
import pytest
from small_trips import LATITUDE, LONGITUDE, climate, leg, saved, trip

from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.sign_kinds import COMPUTED_HAZARDS
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.chosen import with_choice
from sheltermap.places.ground import camps, extents
from sheltermap.places.remedies import with_candidates
from sheltermap.places.scored import scored_places
from sheltermap.trip.inputs import read_inputs
from sheltermap.vocabulary import MISSING_FACTOR, Grade, InputError, Level

JULY = slice(181, 212)
AT_CELLS = "camp_elevation_m = 100"  # Of the invented country, not of the map.
SHAPE = (LATITUDE.size, LONGITUDE.size)
COLD = np.array([-12, -8, -4, 0, 4, 8, 12, 8, 4, 0, -4, -8], float)


def scored(folder, text, world=None):
    """Return every leg's place, and the inputs, camps and nights they came from."""
    inputs = read_inputs(saved(folder, text))
    where = camps(inputs, extents(inputs), climate() if world is None else world)
    places, night = scored_places(where, inputs, inputs.kits)
    return where.by_leg(places), inputs, (where, night)


def chosen(places, inputs, made):
    """Return the first of the places with its weeks and remedies."""
    (where, night), kit = made, inputs.kits[0]
    each = list({one.id: one for one in places}.values())
    offered = with_candidates(each, where, night, inputs, kit)
    return with_choice(offered, where, inputs.trip, kit, None)[0]


def nights(folder, text, world=None):
    """Return the first leg's nights in the first kit."""
    (one, *_), inputs, _ = scored(folder, text, world)
    return one.seasons[inputs.kits[0].id]


@pytest.fixture(scope="module")
def mild(tmp_path_factory):
    """Return a place of perfect sleep, with what it came from."""
    return scored(
        tmp_path_factory.mktemp("mild"), trip(leg("A", more=f'note = "by the mill"\n{AT_CELLS}'))
    )


def test_perfect_nights_are_sound_all_year(mild):
    """14 degC at the lowest, dry air, no rain, no night that differs much."""
    (one,), _, _ = mild
    season = one.seasons["bedroll"]
    assert (season.sound_share > 0.95).all()
    assert (season.grade == Grade.SOUND).all() and not season.close.any()
    assert (season.wet == 0).all()
    assert season.sound_share == pytest.approx(season.sound_share_median)


def test_a_leg_states_its_wind_which_wins_over_the_site_word(tmp_path):
    """Other legs keep theirs; twelve numbers are twelve months.

    Night wind 2 m up by hand: 4.87 / ln(672.58) = 0.748 of that at 10 m (FAO-56 eq. 47),
    0.7 of the day's mean, 1.4 on a ridge of the 3.5 m/s assumed where only the word is known.
    """
    winds = [float(month) for month in range(1, 13)]
    places, _, (where, nights) = scored(
        tmp_path,
        trip(
            leg("A", more=f'site = "ridge"\nwind_m_s = 10\n{AT_CELLS}'),
            leg("B", more=f'site = "ridge"\n{AT_CELLS}'),
            leg("C", more=f"wind_m_s = {winds}\n{AT_CELLS}"),
            leg("D", more=AT_CELLS),
        ),
    )
    wind = {
        ident: group.night["wind_speed"].isel(cell=cells).mean("cell").values
        for group in nights
        for ident, cells in group.places.items()
        if "wind_speed" in group.night
    }
    assert wind["a"] == pytest.approx(10 * 0.748 * 0.7, abs=0.01)
    assert wind["b"] == pytest.approx(3.5 * 0.748 * 0.7 * 1.4, abs=0.01)
    assert wind["c"][JULY].mean() == pytest.approx(7 * 0.748 * 0.7, abs=0.05)
    assert [one.not_assessed for one in places] == [(), (), (), ("wind",)]
    told = ["wind_m_s" in " ".join(ground.cautions) for ground in where.grounds]
    assert told == [False, True, False, False]


@pytest.mark.parametrize("wrong", ["-1", "45", "[3, 4]", '"calm"', "[" + "nan, " * 12 + "]"])
def test_a_wrong_wind_is_told_with_a_right_one(tmp_path, wrong):
    """Speeds in km/h are too large for a monthly mean."""
    with pytest.raises(InputError) as raised:
        read_inputs(saved(tmp_path, trip(leg("A", more=f"wind_m_s = {wrong}"))))
    (problem,) = raised.value.problems
    assert problem.key == "legs[1].wind_m_s"
    assert "0 to 20 m/s" in problem.expected and "km/h" in problem.mend


def test_wind_is_not_assessed_without_wind(mild):
    """A factor without data is missing and named, not nought."""
    (one,), _, _ = mild
    assert one.not_assessed == ("wind",)
    assert np.isnan(one.seasons["bedroll"].wind).all()


def test_trip_without_layers_checked_cyclones_alone(mild):
    """No layer is not no hazard."""
    (one,), _, _ = mild
    assert set(one.not_checked) == set(HAZARD_KINDS) - {"tropical-cyclone", *COMPUTED_HAZARDS}
    assert set(one.computed) == set(COMPUTED_HAZARDS)


def test_place_is_told_as_it_was_written(mild):
    """Its own words, and exactly the point people named."""
    (one,), _, _ = mild
    place = one
    assert (place.name, place.note, place.kind) == ("A", "by the mill", "place")
    assert (place.latitude, place.longitude) == (40.0, 29.0)
    assert place.elevation_m == pytest.approx((100.0, 100.0, 100.0))
    assert place.height == CampHeight(100.0, None, "stated")
    assert place.correction_k == 0.0


def test_light_is_what_is_seen(mild):
    """An almanac library's half day at 40 N in mid-June; without refraction it is 5 minutes less.

    Light ends as long after noon as it began before.
    """
    (one,), _, _ = mild
    climate = one.climate
    sunrise, sunset = almanac(40.0, datetime.date(2027, 6, 15))
    assert climate.sunset_hour[5] == pytest.approx(12 + (sunset - sunrise) / 2, abs=0.02)
    assert climate.daylight_hours == pytest.approx(2 * (climate.sunset_hour - 12))


def almanac(latitude, date):
    """Return sunrise and sunset on the prime meridian, with refraction. [h UTC]"""
    times = astral.sun.sun(astral.Observer(latitude, 0.0), date=date, tzinfo=datetime.UTC)
    return (
        moment.hour + moment.minute / 60 + moment.second / 3600
        for moment in (times["sunrise"], times["sunset"])
    )


def test_weeks_and_remedies_belong_to_the_chosen_kit(mild):
    """They exist once there is a choice; a room is always one of them."""
    (one,), inputs, made = mild
    assert one.weeks == () and one.remedies == ()
    with_kit = chosen([one], inputs, made)
    assert len(with_kit.weeks) == 52
    assert not any(week.checked for week in with_kit.weeks)
    assert "room" in {candidate.id for candidate in with_kit.remedies}
    assert with_kit.seasons is one.seasons


def test_missing_input_stays_missing(tmp_path):
    """Wet days unknown in July: no share, no grade, no reason, on any day.

    Days are drawn through all twelve months, so a month that is missing leaves none of them.
    """
    wet = np.zeros(12)
    wet[6] = np.nan
    season = nights(tmp_path, trip(leg("A")), climate(wet=wet, rain=5.0))
    assert np.isnan(season.sound_share).all()
    assert (season.grade == -1).all() and not season.close.any()
    assert (season.limiting_factor == MISSING_FACTOR).all()


def test_missing_input_at_part_of_a_place_leaves_the_rest(tmp_path):
    """Two camps of three known: a mean. One of three: below half the weight, so missing."""
    wet = np.zeros((12, *SHAPE))
    wet[:, LATITUDE > 41.0] = np.nan
    world = climate(wet=wet, rain=5.0)
    text = "\n[[legs]]\nname = 'P'\nnights = 4\npoints = [{}[39.0, 28.0], [42.0, 28.0]]\n"
    mostly_known = nights(tmp_path, trip(text.format("[39.0, 30.0], ")), world)
    mostly_missing = nights(tmp_path, trip(text.format("[42.0, 30.0], ")), world)
    assert np.isfinite(mostly_known.sound_share).all()
    assert np.isnan(mostly_missing.sound_share).all() and (mostly_missing.grade == -1).all()


def test_correction_for_height_reaches_the_grade(tmp_path):
    """Two camps equally cold: the one corrected by 5.5 K rests on an error of 1.5 K more.

    One cell lies at the camp; the other is 1,000 m lower and 5.5 K warmer (4.4 K by the
    minimum, 6.5 K by the maximum), and its vapour thins with a scale height of 2,100 m.
    """
    thinned = 0.2 * np.exp(-1000 / 2100) * (COLD + 273.15) / (COLD + 5.5 + 273.15)
    high = climate(mean=COLD, height=1100.0, vapour=thinned)
    low = climate(mean=COLD + 5.5, height=100.0, vapour=0.2).assign(
        air_temperature_min=high.air_temperature_min + 4.4,
        air_temperature_max=high.air_temperature_max + 6.5,
    )
    text = trip(leg("A", more="camp_elevation_m = 1100"))
    (corrected, *_), _, _ = scored(tmp_path, text, low)
    (plain, *_), _, _ = scored(tmp_path, text, high)
    assert corrected.correction_k == pytest.approx(-5.5)
    assert corrected.correction_spread_k == pytest.approx(1.5)
    assert plain.correction_k == 0.0
    one, other = (scored_.seasons["bedroll"] for scored_ in (corrected, plain))
    np.testing.assert_allclose(one.cold, other.cold, atol=1e-6)
    assert (plain.seasons["bedroll"].errors.climate == 0).all()
    assert corrected.seasons["bedroll"].errors.climate.max() > 0.1
    # Both lie between the same borders of grades, so a wider error is a less certain grade.
    sure = (one.grade == other.grade) & (other.grade_probability > 0.7)
    assert (one.grade_probability[sure] <= other.grade_probability[sure] + 1e-9).all()
    assert not (other.close & ~one.close & (one.grade == other.grade)).any()


def test_stated_errors_of_the_climate_reach_the_grade(tmp_path):
    """RMSE 3 K written in the data is 3 K of doubt at a cold camp."""
    world = climate(mean=COLD, vapour=0.2)
    world["air_temperature_min"].attrs["uncertainty"] = "RMSE 3 K"
    text = trip(leg("A", more=AT_CELLS))
    (doubtful, *_), _, _ = scored(tmp_path, text, world)
    (certain, *_), _, _ = scored(tmp_path, text, climate(mean=COLD, vapour=0.2))
    assert doubtful.seasons["bedroll"].errors.climate.max() > 0.2
    assert (certain.seasons["bedroll"].errors.climate == 0).all()
    np.testing.assert_allclose(
        doubtful.seasons["bedroll"].errors.person,
        certain.seasons["bedroll"].errors.person,
        atol=1e-12,
    )


def test_spread_between_years_is_kept_apart(tmp_path):
    """Years differ by 0.45 of the spread of nights, or by what the data say of them."""
    found = {}
    for share in (None, 0.0, 0.45):
        world = climate(mean=COLD, vapour=0.2)
        if share is not None:
            world["yearly_spread"] = share * world["night_low_spread"]
            world["yearly_spread"].attrs["units"] = "K"
        (place, *_), _, _ = scored(tmp_path, trip(leg("A", more=AT_CELLS)), world)
        found[share] = place.seasons["bedroll"].errors
        assert (found[share].climate == 0).all()
    np.testing.assert_allclose(found[None].years, found[0.45].years, atol=1e-9)
    np.testing.assert_allclose(found[None].bad_years, found[0.45].bad_years, atol=1e-9)
    # A warm year helps a cold camp.
    assert found[None].years[0].max() > 0.05 and found[None].years[0].min() > -1e-9
    np.testing.assert_allclose(found[0.0].years[0], 0.0, atol=1e-9)


def test_cold_nights_are_graded_by_the_bedding(tmp_path):
    """By hand: lows of -16 in January are beyond three-season bedding, 8 in July are not."""
    season = nights(tmp_path, trip(leg("A")), climate(mean=COLD, vapour=0.2))
    assert season.grade[14] == Grade.UNFIT and season.cold[14] > 0.99
    assert season.grade[196] == Grade.SOUND and season.cold[196] < 0.05
    assert season.dangerous[14] > season.dangerous[196]


def test_low_one_in_twenty_is_colder_than_the_mean_low(tmp_path):
    """Normal distribution: 1.645 times the spread of 2 K below the mean minimum of 14."""
    season = nights(tmp_path, trip(leg("A", more=AT_CELLS)))
    np.testing.assert_allclose(season.low_one_in_20, 14.0 - 1.645 * 2.0, atol=0.01)


def test_early_sleepers_lie_down_in_warmer_air_and_miss_the_dawn(tmp_path):
    """21:00 is warmer than 22:00; who is up at 04:00 does not meet the coldest hour at six."""
    world = climate(mean=COLD, swing=14.0, vapour=0.2)
    early = '\n[party]\nsleep_from = "21:00"\nsleep_to = "04:00"\n'
    (one, *_), _, _ = scored(tmp_path, trip(leg("A"), early), world)
    (usual, *_), _, _ = scored(tmp_path, trip(leg("A")), world)
    warmer = one.climate.bedtime_temperature - usual.climate.bedtime_temperature
    assert (warmer > 0.1).all() and (warmer < 3.0).all()
    spring = slice(90, 120)
    early_cold = one.seasons["bedroll"].cold[spring]
    assert (early_cold < usual.seasons["bedroll"].cold[spring]).all()


ROWS = """
[[hazards]]
legs = ["A"]
kind = "flood"
level = "prohibitive"
first = "07-01"
last = "07-31"
note = "dry bed"
source = "river office"

[[hazards]]
legs = ["A"]
kind = "large-animals"
level = "serious"
source = "ranger"

[[hazards]]
legs = ["A"]
kind = "security"
level = "none"
source = "embassy"
"""


def test_hazard_rows_bind_the_leg_they_name(tmp_path):
    """July is forbidden by flood, the rest serious by animals; sleep is sound all the same."""
    text = trip(leg("A"), leg("B", (41.0, 31.0)), ROWS, kits="bedroll")
    (one, other), _, _ = scored(tmp_path, text)
    season = one.seasons["bedroll"]
    assert (season.hazard_level[JULY] == Level.PROHIBITIVE).all()
    assert (np.delete(season.hazard_level, np.r_[JULY]) == Level.SERIOUS).all()
    assert (season.grade == Grade.SOUND).all()
    assert [(finding.kind, finding.source) for finding in one.findings] == [
        ("flood", "river office"),
        ("large-animals", "ranger"),
        ("security", "embassy"),
    ]
    assert {"flood", "large-animals", "security"}.isdisjoint(one.not_checked)
    assert (other.seasons["bedroll"].grade == Grade.SOUND).all()
    assert "security" in other.not_checked


def test_shield_lowers_the_level_of_the_kit_that_has_it(tmp_path):
    """Serious animals are an advisory for a hard body; a flood is as bad for every kit."""
    text = trip(
        leg("A"),
        ROWS.replace('"07-01"', '"08-01"').replace('"07-31"', '"08-31"'),
        '\n[vehicle]\ncarries = ["load_bed"]\n',
        kits="bedroll pop-up-body",
    )
    (one,), _, _ = scored(tmp_path, text)
    seasons = one.seasons
    assert (seasons["bedroll"].hazard_level[JULY] == Level.SERIOUS).all()
    assert (seasons["pop-up-body"].hazard_level[JULY] == Level.ADVISORY).all()
    august = slice(212, 243)
    assert (seasons["pop-up-body"].hazard_level[august] == Level.PROHIBITIVE).all()


def test_several_camps_are_a_weighted_mean_with_a_worst_tenth(tmp_path):
    """Two camps of equal weight, one warm and one far too cold: half the nights are sound."""
    mean = np.full((12, *SHAPE), 18.0)
    mean[:, LATITUDE == 42.0] = -20.0
    world = climate(mean=mean, vapour=0.05, spread=0.5)
    both = "\n[[legs]]\nname = 'P'\npoints = [[39.0, 28.0], [42.0, 28.0]]\nnights = 4\n"
    season = nights(tmp_path, trip(both), world)
    # Discs of 25 km lie in their row but for the corners, so nearly half and half.
    np.testing.assert_allclose(season.sound_share, 0.5, atol=0.05)
    assert (season.sound_share_worst_tenth < 0.01).all()
    np.testing.assert_allclose(season.grade_shares.sum(axis=1), 1.0)
    np.testing.assert_allclose(season.grade_shares[:, Grade.UNFIT], 0.5, atol=0.05)


@pytest.mark.parametrize(("margin", "level"), [(0, 0), (7, Level.CLOSURE)])
def test_days_kept_free_after_a_closure_are_closed_on_the_chart(tmp_path, margin, level):
    """As for the planner: closed to 7 January with 7 days more leaves no free day to the 14th."""
    closed = f'closed = [{{ first = "12-20", last = "01-07", margin_days = {margin} }}]'
    (one, *_), inputs, made = scored(tmp_path, trip(leg("A", more=closed)))
    weeks = chosen([one], inputs, made).weeks
    assert [week.hazard_level for week in weeks[:3]] == [Level.CLOSURE, level, 0]


@pytest.mark.parametrize(("back", "level"), [("", 0), ("same", Level.CLOSURE)])
def test_weeks_that_every_visit_finds_closed_are_closed(tmp_path, back, level):
    """A closure of the trip file shows on the chart, unless another visit may use the place."""
    closed = 'closed = [{ first = "12-20", last = "01-03", note = "snow" }]'
    text = trip(leg("A", more=closed), leg("B", more=closed if back else ""))
    (one, _), inputs, made = scored(tmp_path, text)
    weeks = chosen([one], inputs, made).weeks
    levels = [weeks[number].hazard_level for number in (0, 1, -1)]
    assert levels == [level, 0, level]
    assert {week.grade for week in weeks} == {Grade.SOUND}
    assert (weeks[0].hazard == "Closed in the trip file") is bool(back)


@pytest.mark.parametrize(("year", "level"), [(2027, Level.CLOSURE), (2031, 0)])
def test_a_closure_of_one_year_shows_where_it_touches_the_journey(tmp_path, year, level):
    """A bridge rebuilt in July 2027 closes weeks of a journey in 2027, one of 2031 does not."""
    closed = f"closed = [{{ first = {year}-07-01, last = {year}-07-31 }}]"
    (one, *_), inputs, made = scored(tmp_path, trip(leg("A", more=closed)))
    departure = inputs.trip.departure
    assert departure.earliest.year == 2027 and departure.finish_by >= date(2027, 7, 1)
    # 12 July is day 193 of the year, in its 28th week.
    assert chosen([one], inputs, made).weeks[27].hazard_level == level


def test_a_leg_s_own_room_has_its_own_price(tmp_path):
    """12 a night where the leg says so, nothing where it is free, else the trip's 25."""
    legs = (leg("A", more="room_price = 12"), leg("B", (41.0, 30.0)))
    free = leg("C", (42.0, 31.0), more="room_price = 0")
    text = trip(*legs, free, "\n[money]\nroom_price = 25\n")
    places, inputs, (where, nights) = scored(tmp_path, text)
    kit = inputs.kits[0]
    found = where.by_leg(with_candidates(places, where, nights, inputs, kit))
    assert [place.remedies[-1].price for place in found] == [12, 25, 0]
    assert {place.remedies[-1].id for place in found} == {"room"}


@pytest.mark.parametrize(
    ("left", "second", "named"),
    [("", "B", True), ("left = 2027-05-06", "B", False), ("left = 2027-05-06", "A, return", True)],
)
def test_where_nobody_will_be_any_more_needs_no_remedy(tmp_path, left, second, named):
    """A leg that was left has none; one that the party is in, or comes back to, has one."""
    done = f'\n[[done]]\nleg = "A"\narrived = 2027-05-02\n{left}\n'
    legs = leg("A"), leg(second, (40.0, 29.0) if "A" in second else (41.0, 31.0))
    places, inputs, made = scored(tmp_path, trip(*legs, done), climate(mean=COLD, vapour=0.2))
    found = chosen(places, inputs, made)
    assert any(week.remedy for week in found.weeks) is named
