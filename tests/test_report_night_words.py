"""Twelve months of a night answer, made by hand: values, cautions, and the table of a terminal."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr

from sheltermap.places.camp_height import CampHeight
from sheltermap.report.night_months import NightMonths, estimated, months, night_cautions, number
from sheltermap.report.night_words import in_words
from sheltermap.report.other_height import OtherHeight, height_cautions, other_heights
from sheltermap.vocabulary import MISSING_FACTOR, MISSING_GRADE, NO_FACTOR

FROM_ONE = np.arange(1.0, 13.0)
FIGURES = (
    "temperature_min_error_k",
    "bedtime_temperature_c",
    "night_low_c",
    "low_one_in_20_c",
    "rain_mm",
    "hot_from_h",
    "hot_to_h",
)


def made(**changed):
    """Return twelve months, each figure of which differs from month to month."""
    figures = {name: FROM_ONE + 10 * row for row, name in enumerate(FIGURES)}
    figures["temperature_min_error_k"] = np.full(12, 1.3)
    figures |= {name: changed.pop(name) for name in FIGURES if name in changed}
    whole = NightMonths(
        figures=figures,
        risks={"cold": FROM_ONE / 20, "condensation": FROM_ONE / 40},
        sound_share=1 - FROM_ONE / 20,
        dangerous=FROM_ONE / 100,
        heat_category=np.zeros(12),
        limiting_factor=np.zeros(12, int),
        grade=np.repeat([0, 1, 2, 3], 3),
        close=FROM_ONE % 2 == 0,
        margins={"cold": (FROM_ONE, FROM_ONE), "heat": (-FROM_ONE, FROM_ONE)},
        remedy=["mat", *[None] * 11],
    )
    return replace(whole, **changed)


def test_each_month_has_its_own_figures():
    """April is the fourth value of each array, and what was not assessed is null."""
    april = months(made())[3]
    assert (april["month"], april["bedtime_temperature_c"], april["rain_mm"]) == (4, 14.0, 44.0)
    assert (april["cold"], april["condensation"], april["wind"]) == (0.2, 0.1, None)
    assert (april["sound_share"], april["dangerous"]) == (0.8, 0.04)
    assert (april["grade"], april["close"], april["remedy"]) == ("workable", True, None)
    assert months(made())[0]["remedy"] == "mat"
    assert [month["month"] for month in months(made())] == list(range(1, 13))


def test_numbers_are_told_to_millionths():
    """Six digits after the point, as the contract's shares have."""
    assert number(2.34567849) == 2.345678


def test_codes_become_words_and_missing_ones_null():
    """The first grade and the first cause have code nought; a missing one is no verdict."""
    codes = np.array([0, 4, NO_FACTOR, MISSING_FACTOR] * 3)
    found = months(made(limiting_factor=codes, grade=np.array([0, 3, 1, MISSING_GRADE] * 3)))
    assert [month["limiting_factor"] for month in found[:4]] == [
        "cold", "condensation", "none", None
    ]  # fmt: skip
    assert [month["grade"] for month in found[:4]] == ["sound", "unfit", "workable", None]


def test_severity_is_that_of_the_cause_that_limits():
    """Cold and heat have a margin; 3 K of it are 3 °C in words; wet has none."""
    causes = np.array([0, 1, 2, NO_FACTOR, MISSING_FACTOR, 0] * 2)
    cold = np.array([3.0, 9, 9, 9, 9, np.nan] * 2)
    heat = np.array([9.0, -4, 9, 9, 9, 9] * 2)
    found = months(
        made(limiting_factor=causes, margins={"cold": (cold, cold), "heat": (heat, heat + 20)})
    )
    assert [month["severity"] for month in found[:6]] == [
        "would still be sound about 3 °C colder",
        "is about 4 °C hotter than people fall asleep in: hot",
        None, None, None, None,
    ]  # fmt: skip


def test_heat_category_is_whole_or_unknown():
    """Codes of midday are integers in JSON."""
    heat = np.array([2.0, np.nan] + [0.0] * 10)
    told = [month["heat_by_day"] for month in months(made(heat_category=heat))]
    assert told[:3] == [2, None, 0] and isinstance(told[0], int)


MILD = {"night_low_c": np.full(12, 20.0)}


@pytest.mark.parametrize(
    ("march", "june", "said"),
    [
        (1.99, 1.3, None),
        (2.0, 1.3, "is uncertain by 2 °C (one standard error) in March:"),
        (2.04, 1.3, "is uncertain by 2 °C (one standard error) in March:"),
        (2.06, 1.3, "is uncertain by 2 to 2.1 °C (one standard error) in March:"),
        (2.4, 3.14, "is uncertain by 2 to 3.1 °C (one standard error) in March and June:"),
    ],
)
def test_lows_two_degrees_unsure_are_cautioned(march, june, said):
    """From one standard error of 2 K on, in the months that have it, with the largest."""
    error = np.full(12, 1.2)
    error[2], error[5] = march, june
    told = list(night_cautions(made(temperature_min_error_k=error, **MILD)))
    assert len(told) == (said is not None)
    assert said is None or said in told[0]


@pytest.mark.parametrize(("october", "cold"), [(5.0, False), (4.9, True)])
def test_flames_are_cautioned_below_five_degrees(october, cold):
    """At 5 degC nobody is told yet; below it in that month alone."""
    low = np.full(12, 12.0)
    low[9] = october
    told = list(night_cautions(made(night_low_c=low)))
    assert [words.startswith("Nights are cold in October: never heat") for words in told] == (
        [True] if cold else []
    )


def test_midday_heat_names_its_months_and_the_worst():
    """Category 1 from May to September, 3 in July and August: both runs, and what 3 asks for."""
    heat = np.array([0, 0, 0, 0, 1, 2, 3, 3, 1, 0, 0, np.nan])
    (said,) = night_cautions(made(heat_category=heat, **MILD))
    assert said.startswith(
        "Midday has a heat category from May to September, up to 3 of 5 from July to August. "
    )
    (alike,) = night_cautions(made(heat_category=np.full(12, 1.0), **MILD))
    assert alike.startswith("Midday has a heat category all year, up to 1 of 5. ")


def answer(**changed):
    """Return an answer as the ``night`` command has it, with short facts."""
    return {
        "latitude": 40.25,
        "longitude": -3.5,
        "leg": None,
        "place": None,
        "elevation_m": 1234.4,
        "elevation_error_m": None,
        "elevation_basis": "stated",
        "kit": "bedroll",
        "climatology": {"estimated": []},
        "not_assessed": [],
        "signs": [],
        "computed": [],
        "not_checked": [],
        "cautions": [],
        "caution": "Not a forecast.",
        "months": months(made(hot_from_h=np.full(12, np.nan), hot_to_h=np.full(12, np.nan))),
    } | changed


def row_of(name, lines):
    """Return the words of one month's row."""
    (line,) = [line for line in lines if line.startswith(f"{name} ")]
    return line.split()


def test_a_row_has_every_figure_in_its_column():
    """February by hand: share 0.9, danger 0.02 of its 28 nights: 0.56, close by an even month."""
    row = row_of("Feb", in_words(answer()))
    assert row == ["Feb", "22", "32", "12", "42", "90", "sound~", "cold", "0.6", "0", "-"]
    # December has 31 nights: 0.12 of them are 3.7.
    assert row_of("Dec", in_words(answer()))[8] == "3.7"
    assert row_of("Jan", in_words(answer()))[6:8] == ["sound", "cold"]
    assert row_of("Jan", in_words(answer()))[-1] == "mat"


def test_columns_stand_under_their_heads():
    """Of a row in which each figure is as wide as it may be."""
    wide = {
        "night_low_c": -12.4, "low_one_in_20_c": -20.6, "bedtime_temperature_c": -10.5,
        "rain_mm": 1234.0, "sound_share": 1.0, "grade": "workable", "close": True,
        "limiting_factor": "condensation", "dangerous": 0.9, "heat_by_day": 5,
    }  # fmt: skip
    told = answer()
    told["months"][0] |= wide
    line = next(line for line in in_words(told) if line.startswith("Jan"))
    assert line == "Jan  -12   -21  -10  1234    100 workable~ condensation 27.9    5  mat"


@pytest.mark.parametrize(("chance", "said"), [(0.0016, "0"), (0.0017, "0.1"), (None, "-")])
def test_danger_under_a_twentieth_of_a_night_is_none(chance, said):
    """Of 31 nights 0.0016 are 0.0496, which would read 0.0; 0.0017 are 0.0527."""
    told = answer()
    told["months"][0]["dangerous"] = chance
    assert row_of("Jan", in_words(told))[8] == said


def test_missing_figures_are_dashes():
    """A month without data has no share, grade, cause or heat in the table."""
    told = answer()
    told["months"][4] |= dict.fromkeys(
        ("night_low_c", "rain_mm", "sound_share", "limiting_factor", "dangerous", "heat_by_day")
    )
    row = row_of("May", in_words(told))
    assert row == ["May", "-", "35", "15", "-", "-", "no", "data", "-", "-", "-", "-"]


def test_hot_hours_are_rounded_outwards_and_told_by_run():
    """From 9.8 to 15.2 h is 9 to 16 h; months of the same hours are one run."""
    start, end = np.full(12, np.nan), np.full(12, np.nan)
    start[5:8], end[5:8] = (9.8, 9.1, 9.9), (15.2, 15.9, 15.1)
    start[8], end[8] = 10.0, 14.0
    lines = in_words(answer(months=months(made(hot_from_h=start, hot_to_h=end))))
    told = " ".join(" ".join(lines).split())
    assert (
        "Too hot in the sun for work as usual, hours by the sun: June to August 9 to 16 h, "
        "September 10 to 14 h." in told
    )
    assert "Too hot" not in " ".join(in_words(answer()))


def test_only_nights_beyond_a_limit_are_told_by_month():
    """What would still be sound is in the table; what is chilly is said."""
    told = answer()
    told["months"][0]["severity"] = "would still be sound about 3 °C colder"
    told["months"][1]["severity"] = "is about 4 °C colder than the bedding holds: cold"
    for month in told["months"][2:]:
        month["severity"] = None
    text = " ".join(" ".join(in_words(told)).split())
    said = "February: an average dry night is about 4 °C colder than the bedding holds: cold."
    assert said in text and text.count("average dry night") == 1


def test_head_says_where_how_high_and_on_what_that_rests():
    """A name goes before the place, an unstated height has its basis."""
    assert in_words(answer())[0] == "40.25, -3.5, 1234 m, kit: bedroll"
    lake = answer(place="Lake", elevation_basis="cells")
    assert in_words(lake)[0] == (
        "Lake (40.25, -3.5), 1234 m (the climate cells' own), kit: bedroll"
    )
    assert in_words(answer(place="Lake", leg="Camp"))[0].startswith("Camp (40.25")


def test_lines_are_cut_beyond_eighty_columns():
    """Two words of 40 and 39 with their space fill a line; of 40 and 40 they do not."""
    fits, cut = (" ".join(("x" * 40, "y" * more)) for more in (39, 40))
    lines = in_words(answer(cautions=[fits, cut]))
    assert fits in lines and cut not in lines and f"  {'y' * 40}" in lines


def test_hyphens_are_no_place_to_cut():
    """73 columns, a space and "tick-" would fill a line; the word stays whole on the next."""
    lines = in_words(answer(caution=f"{'x' * 73} tick-borne disease."))
    assert lines[-2:] == ["x" * 73, "  tick-borne disease."]


def test_estimated_variables_are_those_that_say_so():
    """Of the contract alone, and in its order; measured ones and others are not named."""
    said = {"estimated": "from monthly rain"}
    world = xr.Dataset(
        {
            "wet_days": ("month", np.zeros(12), said),
            "air_temperature_min": ("month", np.zeros(12), said),
            "rainfall": ("month", np.zeros(12)),
            "own_working": ("month", np.zeros(12), said),
        }
    )
    assert list(estimated(world)) == ["air_temperature_min", "wet_days"]


def test_what_was_left_out_or_estimated_is_said():
    """Each in words of its own, and nothing where there is nothing."""
    told = in_words(
        answer(
            not_assessed=["wind", "heat"],
            computed=["flood"],
            not_checked=["wildfire"],
            climatology={"estimated": ["wet_days"]},
            signs=[{"strength": "strong sign", "words": "Rivers are high."}],
        )
    )
    text = " ".join(" ".join(told).split())
    for line in (
        "Not assessed: wind, heat.",
        "Hazards told by the signs alone, observed by nobody: flood.",
        "Hazards: not checked, which is not the same as none: wildfire and fire ban. Ask locally.",
        "Estimated inputs: wet_days.",
        "Strong sign: Rivers are high.",
    ):
        assert line in text
    bare = in_words(answer())
    assert "No input was estimated." in bare
    assert not any(line.startswith(("Hazards", "Not assessed")) for line in bare)


# Borders are those of the docstrings: 150 m, or the error of the map where that is more.
@pytest.mark.parametrize(
    ("stated", "error", "told"),
    [
        (1149, 60, False),
        (1150, 60, True),
        (850, 60, True),
        (851, 60, False),
        (1199, 200, False),
        (1200, 200, True),
    ],
)
def test_a_stated_height_is_held_against_the_map(stated, error, told):
    """Only a difference beyond what moves an answer and beyond the map's error is told."""
    mapped = CampHeight(1000, error, "map")
    found = list(other_heights(CampHeight(stated, None, "stated"), mapped))
    assert found == ([mapped] if told else [])


def test_a_height_of_the_map_is_scored_one_error_lower_and_higher():
    """From 150 m on; an error unknown or a height of the cells asks for no other."""
    mapped = CampHeight(1000, 150, "map")
    assert [one.elevation_m for one in other_heights(mapped, mapped)] == [850, 1150]
    surer = CampHeight(1000, 149, "map")
    cells = CampHeight(1000, None, "cells")
    for used, known in ((surer, surer), (cells, mapped), (mapped, None), (cells, cells)):
        assert list(other_heights(used, known)) == []


def nights_at(elevation, low_change, share_change, month):
    """Return nights at another height: lows changed all year, the share in one month."""
    here = made()
    share = here.sound_share.copy()
    share[month] += share_change
    return OtherHeight(elevation, here.figures["night_low_c"] + low_change, share)


def test_a_stated_height_is_told_with_what_the_map_would_give():
    """2.34 K are 2.3 °C; August has 60 % of sound nights here, 72 % there."""
    mapped = CampHeight(1200, 130, "map")
    used = CampHeight(1500, None, "stated")
    other = nights_at(1200, 2.34, 0.12, 7)
    assert list(height_cautions(used, mapped, made(), [other])) == [
        "The ground around lies at about 1,200 m, read from a 5-minute map, within about 130 m "
        "two times in three, not at 1,500 m. At 1,200 m lows are 2.3 °C warmer, and in August "
        "72 % of nights are sound, not 60 %."
    ]


def test_an_unstated_height_is_told_both_ways():
    """Lower is warmer; a share that moves by under a hundredth is called as many."""
    mapped = CampHeight(2000, 300, "map")
    others = [nights_at(1700, 0.46, 0.0105, 2), nights_at(2300, -1.36, 0.009, 2)]
    (said,) = height_cautions(mapped, mapped, made(), others)
    assert said == (
        "No height is stated, and 2,000 m is read from a 5-minute map, within about 300 m two "
        "times in three. At 1,700 m lows are 0.5 °C warmer, and in March 86 % of nights are "
        "sound, not 85 %; at 2,300 m lows are 1.4 °C colder and as many nights are sound. "
        "State --elevation if you know it."
    )
    assert list(height_cautions(mapped, mapped, made(), [])) == []
    assert list(height_cautions(mapped, None, made(), others)) == []


def test_a_year_without_shares_moves_no_share():
    """Missing in, missing out: lows of the months that are known are compared."""
    mapped = CampHeight(2000, 300, "map")
    other = replace(nights_at(1700, 1.5, 0.5, 2), sound_share=np.full(12, np.nan))
    (said,) = height_cautions(mapped, mapped, made(), [other])
    assert "At 1,700 m lows are 1.5 °C warmer and as many nights are sound." in said
    half = nights_at(1700, 1.5, -0.5, 2)
    half.sound_share[:2] = np.nan
    half.night_low[0] = np.nan
    (said,) = height_cautions(mapped, mapped, made(), [half])
    assert "lows are 1.5 °C warmer, and in March 35 % " in said


def test_another_height_is_data_with_nulls():
    """As the contract lists it, missing months null."""
    other = nights_at(1700.0, -0.0, 0.0, 0)
    other.night_low[1] = np.nan
    told = other.as_data
    assert told["elevation_m"] == 1700.0
    assert told["night_low_c"][:3] == [21.0, None, 23.0]
    assert told["sound_share"][2] == 0.85
