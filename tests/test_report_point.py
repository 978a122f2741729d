"""Twelve months at one place: the ``night`` contract, missing inputs, heights, words."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from small_trips import LATITUDE, LONGITUDE, climate, stored

from sheltermap.climate.writer import write_climatology
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.report.kit_list import kit_rows, kit_table
from sheltermap.report.night_words import in_words
from sheltermap.report.point import Camp, sleeper, twelve_months
from sheltermap.shelters import kit as kit_module
from sheltermap.shelters.kit import load_kits
from sheltermap.vocabulary import InputError

ANSWER = {
    "latitude",
    "longitude",
    "leg",
    "place",
    "elevation_m",
    "elevation_error_m",
    "elevation_basis",
    "other_heights",
    "kit",
    "climatology",
    "cell",
    "not_assessed",
    "signs",
    "computed",
    "not_checked",
    "doubts",
    "cautions",
    "caution",
    "months",
}
MONTH = {
    "month",
    "temperature_mean_c",
    "temperature_min_c",
    "temperature_max_c",
    "night_low_spread_k",
    "dewpoint_c",
    "rain_mm",
    "wet_days",
    "bedtime_temperature_c",
    "night_low_c",
    "rain_in_sleep_window",
    "cold",
    "heat",
    "wet",
    "wind",
    "condensation",
    "sound_share",
    "limiting_factor",
    "grade",
    "close",
    "remedy",
    "dangerous",
    "low_one_in_20_c",
    "temperature_min_error_k",
    "temperature_max_error_k",
    "heat_by_day",
    "hot_from_h",
    "hot_to_h",
}
RAIN = np.arange(10.0, 130.0, 10.0)
WET = np.arange(2.0, 14.0)


@pytest.fixture(scope="module")
def answer(tmp_path_factory):
    """Return twelve months at a cell whose values are known."""
    world = stored(tmp_path_factory.mktemp("point"), rain=RAIN, wet=WET, vapour=0.9)
    return twelve_months(Camp(40.1, 29.1, 100.0), "bedroll", climate=world)


PLACES = {
    "Gobi": Camp(43.5, 105.0),
    "Singapore": Camp(1.35, 103.9),
    "Alps": Camp(46.5, 9.8, 2800.0, "ridge"),
    "Sahara": Camp(23.0, 5.0),
}


@pytest.fixture(scope="module")
def answers():
    """Return the answers of four places that differ in all they caution of."""
    return {name: twelve_months(camp, "bedroll") for name, camp in PLACES.items()}


def test_answer_has_the_keys_of_the_contract(answer):
    """Programs rely on these; months may tell more, never less."""
    assert set(answer) == ANSWER
    assert set(answer["climatology"]) == {"source", "period", "estimated"}
    assert [month["month"] for month in answer["months"]] == list(range(1, 13))
    assert all(set(month) >= MONTH for month in answer["months"])
    assert len({frozenset(month) for month in answer["months"]}) == 1


def test_answer_is_strict_json(answer):
    """Missing is null, never NaN."""
    text = json.dumps(answer, allow_nan=False)
    assert json.loads(text) == answer


def test_correction_inside_the_dead_band_is_plain_nought(tmp_path):
    """A camp 50 m below its cell at a coast is not corrected by minus nought kelvin."""
    coast = tmp_path / "coast.nc"
    world = climate()
    world["land_fraction"] = (world["elevation"] * 0 + 0.5).assign_attrs(units="1")
    write_climatology(world, coast)
    answer = twelve_months(Camp(40.0, 29.0, 50.0), "bedroll", coast)
    assert str(answer["cell"]["temperature_correction_k"]) == "0.0"


def test_climate_is_the_nearest_cells(answer):
    """The cell's own figures come back as they were made."""
    assert (answer["cell"]["latitude"], answer["cell"]["longitude"]) == (40.0, 29.0)
    # 0.1 degrees each way at 40 north: 11.1 and 8.5 km.
    assert answer["cell"]["distance_km"] == pytest.approx(np.hypot(11.12, 8.52), abs=0.1)
    assert answer["elevation_m"] == pytest.approx(100.0)
    assert answer["climatology"] == {"source": "arithmetic", "period": "none", "estimated": []}
    for month, rain, wet in zip(answer["months"], RAIN, WET, strict=True):
        assert month["temperature_mean_c"] == pytest.approx(18.0, abs=1e-3)
        assert month["temperature_min_c"] == pytest.approx(14.0, abs=1e-3)
        assert month["temperature_max_c"] == pytest.approx(22.0, abs=1e-3)
        assert month["rain_mm"] == pytest.approx(rain, rel=1e-3)
        assert month["wet_days"] == pytest.approx(wet, rel=1e-3)
        # FAO-56 eq. 11 inverted by hand at 0.9 kPa: 237.3 x / (17.27 - x), x = ln(0.9 / 0.6108).
        assert month["dewpoint_c"] == pytest.approx(5.45, abs=0.01)


def test_risks_are_probabilities_and_name_the_largest(answer):
    """Between 0 and 1; wind was not assessed, so it is null and cannot limit."""
    assert answer["not_assessed"] == ["wind"]
    for month in answer["months"]:
        assert month["wind"] is None
        known = {name: month[name] for name in ("cold", "heat", "wet", "condensation")}
        assert all(0 <= value <= 1 for value in known.values())
        assert 0 <= month["sound_share"] <= 1
        assert month["limiting_factor"] == max(known, key=known.get)
        assert month["temperature_min_c"] <= month["bedtime_temperature_c"]


def test_low_of_one_night_in_twenty(answer):
    """1.645 spreads of 2 K below the mean minimum of 14."""
    for month in answer["months"]:
        assert month["low_one_in_20_c"] == pytest.approx(14 - 1.645 * 2, abs=0.01)


def test_missing_input_gives_nulls_and_no_verdict(tmp_path):
    """Wet days unknown in March: that month has no share, grade, reason or remedy."""
    wet = WET.copy()
    wet[2] = np.nan
    answer = twelve_months(
        Camp(40.0, 29.0), "bedroll", climate=stored(tmp_path, rain=RAIN, wet=wet)
    )
    march, april = answer["months"][2:4]
    for key in ("wet_days", "sound_share", "limiting_factor", "grade", "remedy"):
        assert march[key] is None, key
        assert april[key] is not None or key == "remedy", key
    assert march["close"] is False and march["temperature_mean_c"] is not None
    json.dumps(answer, allow_nan=False)
    (line,) = [one for one in in_words(answer) if one.startswith("Mar ")]
    assert "no data" in line and "nan" not in line


def test_camp_height_corrects_the_cell(tmp_path):
    """By hand: 1,000 m at 5.5 K/km."""
    answer = twelve_months(Camp(40.0, 29.0, 1100.0), "bedroll", stored(tmp_path))
    assert answer["elevation_m"] == 1100.0
    assert answer["cell"]["temperature_correction_k"] == pytest.approx(-5.5, abs=1e-3)
    assert answer["months"][0]["temperature_mean_c"] == pytest.approx(12.5, abs=2e-3)


def test_correction_for_height_makes_grades_less_sure(tmp_path):
    """The same cold camp, once measured and once corrected by 5.5 K with 1.5 K of error."""
    mean = np.linspace(8.2, 9.3, 12)  # Where the best grade becomes a sure one.
    low = tmp_path / "low.nc"
    high = tmp_path / "high.nc"
    thinned = 0.2 * np.exp(-1000 / 2100) * (mean + 273.15) / (mean + 5.5 + 273.15)
    camp = climate(mean=mean, vapour=thinned, height=1100.0)
    # Minima fall by 4.4 K over the kilometre and maxima by 6.5.
    below = climate(mean=mean + 5.5, vapour=0.2).assign(
        air_temperature_min=(camp.air_temperature_min + 4.4).assign_attrs(units="degC"),
        air_temperature_max=(camp.air_temperature_max + 6.5).assign_attrs(units="degC"),
    )
    write_climatology(below, low)
    write_climatology(camp, high)
    corrected, measured = (
        twelve_months(Camp(40.0, 29.0, 1100.0), "bedroll", world)["months"]
        for world in (low, high)
    )
    pairs = list(zip(corrected, measured, strict=True))
    assert all(a["cold"] == pytest.approx(b["cold"], abs=2e-3) for a, b in pairs)
    sure = [(bool(a["close"]), bool(b["close"])) for a, b in pairs]
    assert (True, False) in sure and (False, True) not in sure


def test_climate_without_heights_still_answers(tmp_path):
    """The correction is unknown, said as null, and the rest stands."""
    path = tmp_path / "flat.nc"
    write_climatology(climate().drop_vars("elevation"), path)
    answer = twelve_months(Camp(40.0, 29.0, 900.0), "bedroll", path)
    assert answer["cell"]["temperature_correction_k"] is None
    assert answer["months"][0]["temperature_mean_c"] == pytest.approx(18.0, abs=1e-3)


def test_climate_without_wet_days_is_refused(tmp_path):
    """What nights need is named, with the command that estimates it."""
    path = tmp_path / "dry.nc"
    write_climatology(climate().drop_vars(["wet_days", "night_low_spread"]), path)
    with pytest.raises(InputError) as caught:
        twelve_months(Camp(40.0, 29.0), "bedroll", climate=path)
    assert [problem.key for problem in caught.value.problems] == ["wet_days", "night_low_spread"]
    assert "climate import" in caught.value.problems[0].mend


@pytest.mark.parametrize(("kit", "place"), [("hammock", (40.0, 29.0)), ("bedroll", (10.0, 29.0))])
def test_unknown_kit_and_uncovered_place_are_refused(tmp_path, kit, place):
    """A message, not a guess."""
    with pytest.raises(InputError):
        twelve_months(Camp(*place), kit, climate=stored(tmp_path))


@pytest.mark.parametrize(
    ("place", "nearest"),
    [
        # The data end at 59.5 south, 30.5 degrees from the pole at 111.19 km each.
        ((-90.0, 0.0), r"The nearest cell lies at -59\.5, -?[\d.]+, 3,391 km off\."),
        ((0.0, -140.0), r"The nearest cell lies at [-\d.]+, [-\d.]+, \d+ km off\."),
    ],
    ids=["beyond the data", "open sea"],
)
def test_a_place_without_land_is_told_of_the_nearest(place, nearest):
    """The message speaks of the place that was asked for, not of a box round it."""
    with pytest.raises(InputError) as caught:
        twelve_months(Camp(*place), "bedroll")
    (problem,) = caught.value.problems
    assert (problem.file, problem.key) == ("", "LAT LON")
    assert problem.got == f"{place[0]:g}, {place[1]:g}"
    assert re.search(nearest, problem.mend) and "--climate" in problem.mend


def test_a_place_beyond_ones_own_climatology_is_told_of_the_file(tmp_path):
    """A larger import holds it, or the embedded data do."""
    world = stored(tmp_path)
    with pytest.raises(InputError) as caught:
        twelve_months(Camp(10.0, 29.0), "bedroll", climate=world)
    (problem,) = caught.value.problems
    assert (problem.file, problem.key, problem.got) == (str(world), "LAT LON", "10, 29")
    assert "Import a larger box" in problem.mend


def test_uncertain_lows_are_cautioned_and_every_month_states_its_errors(tmp_path, answers):
    """The Gobi's lows are estimated in dry air, Singapore's in wet; a measured low is sure."""
    gobi, coast = answers["Gobi"], answers["Singapore"]
    assert "carry bedding for colder nights" in gobi["cautions"][0]
    assert not any("carry bedding" in words for words in coast["cautions"])
    for answer, high in ((gobi, True), (coast, False)):
        errors = [month["temperature_min_error_k"] for month in answer["months"]]
        assert (max(errors) >= 2.0) is high and min(errors) >= 1.0
        assert all(month["temperature_max_error_k"] >= 1.0 for month in answer["months"])
    # At the height of its cell, where nothing is corrected.
    measured = twelve_months(Camp(40.0, 29.0, 100.0), "bedroll", stored(tmp_path))
    assert not any("carry bedding" in words for words in measured["cautions"])
    assert {month["temperature_min_error_k"] for month in measured["months"]} == {0.0}


def test_the_error_of_height_joins_the_error_of_the_estimate(tmp_path):
    """By hand: 2 K by the field, 1.5 K for a kilometre corrected: 2.5 K."""
    world = climate()
    field = world["air_temperature_min"] * 0 + 2.0
    world["air_temperature_min_error"] = field.assign_attrs(units="K")
    path = tmp_path / "doubted.nc"
    write_climatology(world, path)
    answer = twelve_months(Camp(40.0, 29.0, 1100.0), "bedroll", path)
    assert answer["months"][0]["temperature_min_error_k"] == pytest.approx(2.5, abs=1e-3)
    assert answer["months"][0]["temperature_max_error_k"] == pytest.approx(1.5, abs=1e-3)


@pytest.mark.parametrize(
    ("camp", "doubted"), [(1199, True), (1200, False), (3200, False), (3201, True), (None, False)]
)
def test_a_height_beyond_any_likely_relief_is_doubted(tmp_path, camp, doubted):
    """As of a trip's camps: 500 m and twice the 200 m of relief beyond 2,100 to 2,300 m."""
    heights = np.full((LATITUDE.size, LONGITUDE.size), 2100.0)
    heights[5, 7] = 2300.0  # Beside the cell at 40.0, 29.0.
    answer = twelve_months(Camp(40.0, 29.0, camp), "bedroll", stored(tmp_path, height=heights))
    assert bool(answer["doubts"]) is doubted
    for doubt in answer["doubts"]:
        assert f"The camp lies at {camp:,} m" in doubt and "2,100 to 2,300 m" in doubt
        assert "--elevation in metres" in doubt


def test_a_height_in_a_country_of_unknown_heights_is_not_doubted(tmp_path):
    """Nothing is known that it could contradict."""
    path = tmp_path / "flat.nc"
    write_climatology(climate().drop_vars("elevation"), path)
    assert twelve_months(Camp(40.0, 29.0, 6000.0), "bedroll", path)["doubts"] == []


def test_chance_of_rain_is_the_one_that_the_score_counts(tmp_path):
    """A bed that every rain of 1 mm wets, and nothing else does, is wet with that chance."""
    shipped = Path(kit_module.__file__).with_name("kits.toml").read_text().split("[[kit]]")[1]
    for key, value in {
        "id": '"sieve"',
        "exposure": '"raised"',
        "leak": "1.0",
        "leak_under_awning": "1.0",
        "rain_threshold_mm": "1.0",
        "pitch_minutes": "0",
        "strike_minutes": "0",
        "canvas": "false",
        "dry_hours": "0",
    }.items():
        shipped = re.sub(rf"(?m)^{key} = .*$", "", shipped)
        shipped = f"\n{key} = {value}{shipped}"
    (tmp_path / "sieve.toml").write_text(f"[[kit]]{shipped}")
    world = stored(tmp_path, rain=RAIN, wet=WET)
    answer = twelve_months(Camp(40, 29), "sieve", climate=world, files=[tmp_path / "sieve.toml"])
    for month in answer["months"]:
        assert 0 < month["rain_in_sleep_window"] < month["wet_days"] / 28
        assert month["wet"] == pytest.approx(month["rain_in_sleep_window"], abs=1e-5)


@pytest.mark.parametrize("longitude", [179.99, -180.0, 180.0])
def test_places_at_the_180th_meridian_find_their_cell(longitude):
    """Chukotka at 66 north, from either side."""
    answer = twelve_months(Camp(66.0, longitude), "bedroll")
    assert abs(answer["cell"]["longitude"]) > 178
    assert answer["cell"]["distance_km"] < 75


def test_words_name_what_is_missing_and_estimated(answer):
    """Every figure's limits stand under the table."""
    lines = in_words(answer)
    assert "No input was estimated." in lines
    assert "Not assessed: wind." in lines
    assert "not a forecast" in " ".join(lines[-2:])
    months = [line for line in lines if line.split(" ")[0] in ("Jan", "Dec")]
    assert len(months) == 2


def test_words_fit_a_terminal(answers):
    """Eighty columns, whatever there is to say."""
    for answer in answers.values():
        assert max(map(len, in_words(answer))) <= 80


def test_hazards_are_not_checked_and_said_so(answers):
    """Nobody looked: every kind is named, in data and in words."""
    for answer in answers.values():
        computed, unchecked = set(answer["computed"]), set(answer["not_checked"])
        assert computed | unchecked == set(HAZARD_KINDS) and not computed & unchecked
        text = " ".join(" ".join(in_words(answer)).split())
        assert "Hazards: not checked, which is not the same as none" in text
        for kind in HAZARD_KINDS.values():
            assert kind.title.lower() in text


def test_flames_are_cautioned_in_cold_months_only(answers):
    """Carbon monoxide kills where people heat a shelter: below 5 degC, so not at the equator."""
    for name, cold in (("Gobi", True), ("Alps", True), ("Singapore", False)):
        said = [words for words in answers[name]["cautions"] if "Carbon monoxide" in words]
        assert bool(said) is cold
        lows = [month["night_low_c"] for month in answers[name]["months"]]
        assert (min(lows) < 5.0) is cold


def test_midday_heat_is_told_with_what_people_do(tmp_path):
    """By hand: 0.567 x 36 + 3.93 x 2 + 3.94 = 32.2 degC, 90 F: category 5 of the Army card.

    At 26 degC and 1 kPa it is 22.6 degC, below 78 F: none.
    """
    hot = twelve_months(
        Camp(40.0, 29.0, 100.0), "bedroll", stored(tmp_path, mean=32.1, vapour=2.0)
    )
    assert {month["heat_by_day"] for month in hot["months"]} == {5}
    assert any("Stop all but urgent work" in words for words in hot["cautions"])
    mild = twelve_months(Camp(40.0, 29.0, 100.0), "bedroll", stored(tmp_path, mean=22.0))
    assert {month["heat_by_day"] for month in mild["months"]} == {0}
    assert not any("Midday" in words for words in mild["cautions"])


def test_hours_that_are_too_hot_are_told_by_month(tmp_path):
    """By hand for 29 to 37 degC and 2 kPa, where category 2 is 82 F, 27.8 degC.

    In full sun 0.567 x 29 + 3.93 x 2 + 3.94 = 28.2 degC, so that noon is too hot. In shade the
    wet bulb of 37 degC is 23.5 degC (2.90 kPa less 0.0674 x 13.5), and 0.7 x 23.5 + 0.3 x 37 =
    27.6 degC: not before sunrise and not after sunset, on which June wins over December.
    """
    hot = twelve_months(
        Camp(40.0, 29.0, 100.0), "bedroll", stored(tmp_path, mean=33.0, vapour=2.0)
    )
    from_, to = ([month[f"hot_{end}_h"] for month in hot["months"]] for end in ("from", "to"))
    assert all(start < 12.0 < end for start, end in zip(from_, to, strict=True))
    assert from_[2] > 6.0 and to[2] < 18.0
    assert from_[11] > from_[5] and to[11] < to[5]
    words = " ".join(" ".join(in_words(hot)).split())
    assert "Too hot in the sun for work as usual, hours by the sun: January" in words
    mild = twelve_months(Camp(40.0, 29.0, 100.0), "bedroll", stored(tmp_path, mean=22.0))
    assert {(month["hot_from_h"], month["hot_to_h"]) for month in mild["months"]} == {(None, None)}
    assert "Too hot in the sun" not in " ".join(in_words(mild))


def test_bedding_and_sleeper_change_the_cold(tmp_path):
    """Winter bedding is warmer than summer's, and a cold sleeper needs more of it."""
    world = stored(tmp_path, mean=6.0)

    @cache
    def cold(bedding, is_cold=False):
        camp = Camp(40.0, 29.0, 100.0, sleeper=sleeper(bedding, cold=is_cold))
        return twelve_months(camp, "bedroll", world)["months"][0]["cold"]

    assert cold("winter") < cold("three-season") < cold("summer")
    assert cold("three-season") < cold("three-season", is_cold=True)
    assert cold("-5") < cold("5")
    with pytest.raises(InputError) as caught:
        sleeper("sumer", cold=False)
    assert "Did you mean 'summer'" in str(caught.value)
    with pytest.raises(InputError):
        sleeper("40", cold=False)


def test_site_word_assesses_the_wind(tmp_path):
    """It is a guess, but one that a trip's leg makes as well; a ridge is windier than a wood."""
    world = stored(tmp_path)

    def answer_of(site):
        return twelve_months(Camp(40.0, 29.0, 100.0, site), "bedroll", world)

    assert answer_of(None)["not_assessed"] == ["wind"]
    ridge, forest = (answer_of(site) for site in ("ridge", "forest"))
    assert ridge["not_assessed"] == []
    assert ridge["months"][0]["wind"] > forest["months"][0]["wind"]


def test_a_height_unlike_the_ground_says_what_the_ground_has():
    """1,000 m above the map: what is told of the map's height is its own answer."""
    kabul = (34.565853, 69.212328)
    read = twelve_months(Camp(*kabul), "bedroll")
    told = twelve_months(Camp(*kabul, read["elevation_m"] + 1000.0), "bedroll")
    (other,) = told["other_heights"]
    assert other["elevation_m"] == read["elevation_m"]
    assert other["night_low_c"] == [month["night_low_c"] for month in read["months"]]
    (said,) = [words for words in told["cautions"] if "The ground around lies" in words]
    # Minima fall by 4.4 K and maxima by 6.5 K over a kilometre, inland without a dead band.
    drop = float(re.search(r"lows are ([\d.]+) \u00b0C warmer", said)[1])
    assert 4.3 < drop < 6.5
    near = twelve_months(Camp(*kabul, read["elevation_m"] + 100.0), "bedroll")
    assert near["other_heights"] == []


def test_relief_without_a_height_says_how_far_the_answer_may_move():
    """The Engadine: nobody stated a height, and the map errs by more than 150 m there."""
    answer = twelve_months(Camp(46.5, 9.8), "bedroll")
    heights = [other["elevation_m"] for other in answer["other_heights"]]
    error = answer["elevation_error_m"]
    assert error >= 150
    assert heights == [answer["elevation_m"] - error, answer["elevation_m"] + error]
    (said,) = [words for words in answer["cautions"] if "No height is stated" in words]
    assert "warmer" in said and "colder" in said and "--elevation" in said
    assert twelve_months(Camp(41.0, 28.9), "bedroll")["other_heights"] == []


def test_kit_table_lists_every_kit_once():
    """One line a kit; colder limits for warmer bedding were checked elsewhere."""
    lines = kit_table(kit_rows())
    for name in load_kits():
        assert sum(line.split()[0] == name for line in lines if line.strip()) == 1
