"""The words that stand beside a place's mean: snow, dew, depth."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.places.words import kit_words, snow_words
from sheltermap.shelters.kit import load_kits

ROOF_TENT, BEDROLL = load_kits()["roof-tent"], load_kits()["bedroll"]
CELLS = {"latitude": ("cell", [40.0, 40.5]), "longitude": ("cell", [30.0, 30.5])}
WEIGHT = xr.DataArray([0.5, 0.5], dims="cell")
WINTER = np.isin(np.arange(1, 13), [11, 12, 1, 2])


def words(kit=BEDROLL, cold=5.0, heat=5.0, dew=0.1, share=0.95):
    """Return the sentences on a place of two like camps."""
    return list(
        kit_words(
            kit,
            xr.DataArray(np.broadcast_to(share, (12, 2)), CELLS, ["month", "cell"]),
            xr.DataArray([100.0, 100.0], dims="cell"),
            WEIGHT,
            {"cold": np.resize(cold, 12), "heat": np.resize(heat, 12)},
            {"cold": np.resize(cold, 12) + 6.5, "heat": np.resize(heat, 12) + 5.0},
            np.resize(dew, 12),
        )
    )


def test_nothing_to_say():
    """Alike camps, warm and dry: no words."""
    assert words() == []


def test_the_worst_month_is_named():
    """12 K too cold in February, 2 K too hot in July, in words of their own."""
    cold, heat = np.full(12, 4.0), np.full(12, 4.0)
    cold[[0, 1]], heat[6] = (-3.5, -12.0), -2.0
    assert words(cold=cold, heat=heat) == [
        "An average dry night in February is about 12 °C colder than the bedding holds: dangerous "
        "(Canvas bedroll).",
        "An average dry night in July is about 2 °C hotter than people fall asleep in: warm "
        "(Canvas bedroll).",
    ]


def test_dew_without_rain_is_told():
    """From half of the dry nights on, in its months; not for a kit that no drop reaches."""
    often = np.where(WINTER, 0.6, 0.2)
    (line,) = words(dew=often)
    assert line.startswith("Canvas bedroll: from November to February dew or")
    assert words(BEDROLL.model_copy(update={"condensation_weight": 0.0}), dew=often) == []


def test_unknown_figures_say_nothing():
    """No data, no words."""
    assert words(cold=np.nan, heat=np.nan, dew=np.nan, share=np.nan) == []
    assert list(snow_words(np.full(12, np.nan), np.full(12, 50.0))) == []


def test_snow_needs_cold_and_precipitation():
    """-1.5 degC is where half is snow; a dry winter brings none."""
    cold = np.where(WINTER, -4.0, 10.0)
    (line,) = snow_words(cold, np.full(12, 30.0))
    assert line.startswith("From November to February half or more of what falls is snow.")
    assert list(snow_words(cold, np.full(12, 5.0))) == []
    assert list(snow_words(np.full(12, 0.0), np.full(12, 30.0))) == []
    assert next(snow_words(np.full(12, -9.0), np.full(12, 30.0))).startswith("All year half")


def test_snow_in_months_apart_is_a_sentence():
    """Two single months are joined as people say it."""
    cold = np.where(np.isin(np.arange(1, 13), [6, 8]), -4.0, 10.0)
    (line,) = snow_words(cold, np.full(12, 30.0))
    assert line.startswith("In June and August half or more")


def test_good_parts_are_said_to_be_of_the_climate():
    """A month workable everywhere can stand beside a grade that a hazard lowered."""
    share = np.full((12, 2), 0.95)
    share[0, 1] = 0.2
    (line,) = words(share=share)
    assert line.startswith("Canvas bedroll: by the climate alone, nights are")
    assert line.endswith("everywhere from February to December.")


def test_a_night_at_the_limit_needs_no_words():
    """Nothing to spare is not too cold; a tenth of a kelvin less is, in its month."""
    cold = np.full(12, 3.0)
    cold[10] = 0.0
    assert words(cold=cold) == []
    cold[10] = -0.6
    (line,) = words(cold=cold)
    assert line.startswith("An average dry night in November is about 1 °C colder")


@pytest.mark.parametrize(("dew", "told"), [(0.5, True), (0.499, False)])
def test_dew_on_half_of_the_nights_is_often(dew, told):
    """In one month of the year."""
    year = np.where(np.arange(12) == 3, dew, 0.1)
    assert bool(words(dew=year)) is told


@pytest.mark.parametrize(("rain", "told"), [(10.0, True), (9.9, False)])
def test_snow_of_ten_millimetres_is_worth_a_word(rain, told):
    """In March, the rest of the year is warm."""
    cold = np.where(np.arange(12) == 2, -8.0, 10.0)
    assert bool(list(snow_words(cold, np.full(12, rain)))) is told
