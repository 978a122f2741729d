"""Signs of a place: out of many camps, with breaks, in spans and words."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.hazards.rivers import high_water
from sheltermap.hazards.sign import Sign, Strength
from sheltermap.hazards.sign_kinds import SIGN_KINDS, unlayered
from sheltermap.hazards.sign_words import altitude_words, sign_words, snow_words
from sheltermap.hazards.signs import in_order, pass_sign, river_sign, signs_of
from sheltermap.spans import span_days

MAY, JUNE, JULY = (span_days(month) for month in ("May", "June", "July"))


def signs_along(kind, *rows, weight=None):
    """Return the signs of a place of so many camps, each with a value for all days or by day."""
    values = np.stack([np.broadcast_to(np.asarray(row, float), 365) for row in rows], axis=1)
    share = np.full(len(rows), 1 / len(rows)) if weight is None else np.array(weight)
    return signs_of(xr.Dataset({kind: (("day", "cell"), values)}), share, 1234.0)


def sign(days=0, kind="frost", strong=0):
    """Return a sign with days given as flags, and its strong days."""
    strength = np.maximum(np.asarray(days) * 1, np.asarray(strong) * 2).astype(np.uint8)
    return Sign(kind, "Title", np.broadcast_to(strength, 365), "Words.", "basis")


@pytest.mark.parametrize(
    ("weight", "found"), [([0.105, 0.895], ["sign"]), ([0.095, 0.905], []), ([0.9, 0.1], ["sign"])]
)
def test_place_has_a_sign_from_a_tenth_of_its_camps_on(weight, found):
    """Two camps, one of them with it: with 9.5 % of the weight no sign, with 10.5 % one."""
    assert [one.strength for one in signs_along("frost", 1, 0, weight=weight)] == found


def test_strong_sign_needs_its_own_tenth():
    """A camp of 9 % is strong, another of 2 % has a sign: eleven in a hundred have one."""
    (one,) = signs_along("frost", 2, 1, 0, weight=[0.09, 0.02, 0.89])
    assert one.strength == "sign"
    (one,) = signs_along("frost", 2, 1, 0, weight=[0.11, 0.02, 0.87])
    assert one.strength == "strong sign"


@pytest.mark.parametrize(("known", "told"), [(0.5, True), (0.49, False)])
def test_a_place_that_mostly_lacks_data_has_no_sign(known, told):
    """Half of the camps, by weight, must be known on a day."""
    assert bool(signs_along("frost", 2, np.nan, weight=[known, 1 - known])) is told


@pytest.mark.parametrize(("gap", "spans"), [(21, 1), (22, 2)])
@pytest.mark.parametrize("first", [160, 355])
def test_breaks_of_three_weeks_do_not_end_a_season(gap, spans, first):
    """Also across New Year; the season has a break of three months beside it."""
    days = np.arange(365)
    dry = ((days - first) % 365 < gap) | ((days - first + 150) % 365 < 90)
    (one,) = signs_along("wet-tracks", ~dry)
    assert len(one.spans) == spans


def test_breaks_between_strong_days_are_strong():
    """Ten days of a sign, or of none, between strong ones; outside nothing is made stronger."""
    days = np.arange(365)
    strong = ((days >= 100) & (days < 120)) | ((days >= 130) & (days < 150))
    for between in (0, 1):
        strength = np.where(strong, 2, 0)
        strength[120:130], strength[150:160] = between, 1
        (one,) = signs_along("frost", strength)
        assert np.bincount(one.strength_by_day).tolist() == [365 - 60, 10, 50]
        assert one.spans == ("04-11..06-09",)


def snow(closing, deep=0.0, lying=1.0):
    """Return shares of winters by day with snow that lies, closes a road and is deep."""
    rows = [np.broadcast_to(np.asarray(row, float), 365) for row in (lying, closing, deep)]
    return xr.DataArray(np.stack(rows), dims=("water", "day"))


@pytest.mark.parametrize(("length", "told"), [(20, False), (21, True)])
def test_snow_of_a_fortnight_closes_no_road(length, told):
    """A long-term mean that is just deep enough for 20 days is no season; 21 days are."""
    days = np.arange(365)
    closing = np.where((days >= 50) & (days < 50 + length), 0.6, 0.0)
    assert bool(pass_sign(snow(closing), "at 2,000 m")) is told


@pytest.mark.parametrize(("share", "told"), [(0.5, True), (0.49, False)])
def test_snow_closes_a_road_in_half_of_the_winters(share, told):
    """And is deep in as many."""
    assert bool(pass_sign(snow(share), "here")) is told
    (one,) = pass_sign(snow(1.0, share), "here")
    assert one.strength == ("strong sign" if told else "sign")


def test_snow_is_told_with_its_depth_its_place_and_what_rare_winters_do():
    """Closed in June, deep on ten days of it, in one winter of ten in May and July too."""
    some = np.select([JUNE, MAY | JULY], [0.7, 0.1], 0.09)
    deep = np.where(np.arange(365) < 161, 0.5, 0.0)
    (one,) = pass_sign(snow(some, deep), "at 2,345 m")
    assert np.bincount(one.strength_by_day).tolist() == [335, 20, 10]
    said = SIGN_KINDS["snow-on-the-pass"].says
    assert one.words.startswith(f"{said} at 2,345 m in June; deep snow in early June (computed).")
    assert one.words.endswith(" In one winter of ten from May to July.")
    road = xr.Dataset({"snow-on-the-road": snow(some, deep).expand_dims(cell=2, axis=2)})
    (one,) = signs_of(road, np.array([0.3, 0.7]), 1234.0)
    assert " at 1,234 m in June; it lies deep in early June" in one.words


def test_snow_that_always_lies_as_long_has_no_rare_winters():
    """Nothing is added where one winter in ten is no longer than every second."""
    strength = JUNE.astype(np.uint8)
    words = snow_words("snow-on-the-pass", strength, np.where(JUNE, 0.9, 0.0), "here")
    assert words.endswith("here in June (computed).")


def test_camps_stand_for_their_share_of_a_place_in_snow():
    """Closed in all winters at a camp of 30 %: in three of ten of the place, so no sign."""
    shares = xr.concat([snow(1.0), snow(0.0)], "cell")
    found = xr.Dataset({"snow-on-the-road": shares})
    assert signs_of(found, np.array([0.3, 0.7]), 0.0) == ()
    assert len(signs_of(found, np.array([0.7, 0.3]), 0.0)) == 1


def test_sign_says_when_in_words_and_spans():
    """A run across New Year is one span; the strongest day gives the word."""
    one = sign(span_days("12-01..12-31"), strong=span_days("January"))
    assert (one.strength, one.spans) == ("strong sign", ("12-01..01-31",))
    assert one.record == {
        "kind": "frost",
        "strength": "strong sign",
        "spans": ["12-01..01-31"],
        "words": "Words.",
    }
    assert [strength.word for strength in Strength] == ["none", "sign", "strong sign"]


def test_a_sign_on_some_days_is_as_strong_as_on_those():
    """Of May and a strong June: June 1 alone is strong, May 31 a sign, July nothing."""
    one = sign(MAY, strong=JUNE)
    june, may = one.on(np.array([151])), one.on(np.array([150, 200]))
    assert (june.strength, june.spans) == ("strong sign", ("06-01..06-01",))
    assert (may.strength, may.spans, may.words) == ("sign", ("05-31..05-31",), "Words.")
    assert one.on(np.array([181, 364])) is None


def test_strong_days_are_told_where_the_kind_has_words_for_them():
    """Thaw has none; fire has."""
    strength = (JUNE * 1 + JULY * 2).astype(np.uint8)
    assert (
        sign_words("thaw-mud", strength)
        == "Unpaved roads thaw to mud from June to July (computed)."
    )
    assert sign_words("fire-weather", strength).endswith(
        " from June to July; very dry in July (computed)."
    )
    assert "very dry" not in sign_words("fire-weather", JUNE.astype(np.uint8))


@pytest.mark.parametrize(
    ("height", "share", "lost", "boiling"),
    [(2500, 74, 25, 92), (4000, 61, 40, 87), (5000, 54, 45, 83)],
)
def test_thin_air_is_told_with_its_figures(height, share, lost, boiling):
    """By FAO-56 eq. 7 ((293 - 0.0065 z) / 293)^5.26 of sea level: 0.741, 0.613 and 0.539.

    Water boils at 92, 87 and 83 degC at 75.0, 62.1 and 54.6 kPa (steam tables).
    """
    words = altitude_words(float(height))
    assert words.startswith(f"At {height:,} m the air has {share} % of its pressure")
    assert f"about {lost} % of their power" in words and f"boils at {boiling} °C" in words
    (one,) = signs_along("thin-air", 1)
    assert one.words.startswith("At 1,234 m the air has 86 % ")


@pytest.mark.parametrize(
    ("flow", "strength"), [(1.49, 0), (1.5, 1), (2.49, 1), (2.5, 2), (4.0, 2)]
)
def test_rivers_run_high_from_one_and_a_half_times_their_mean(flow, strength):
    """And very high from two and a half; the last third of May has 11 days, the first 10."""
    thirds = np.full(36, 0.9)
    thirds[14] = flow
    days = high_water(thirds)
    assert days[span_days("05-21..05-31")].tolist() == [strength] * 11
    assert days.sum() == 11 * strength
    middle = high_water(np.where(np.arange(36) == 13, flow, 0.9))
    assert middle[span_days("05-11..05-20")].tolist() == [strength] * 10
    assert middle.sum() == 10 * strength
    assert bool(river_sign(thirds, "(5 km off)")) is (strength > 0)


def test_a_river_is_told_with_how_far_off_it_runs():
    """Where its flow exceeds one and a half times the mean."""
    thirds = np.full(36, 0.9)
    thirds[12:15] = 2.0
    (one,) = river_sign(thirds, "(5 km off)")
    assert one.words == "A large river near runs high (5 km off) in May (computed)."
    assert (one.kind, one.title) == ("high-river", "High water of a large river")


def test_signs_stand_in_the_order_of_their_kinds():
    """Snow on the pass comes before thaw, thaw before frost, whatever found them."""
    kinds = ["frost", "thaw-mud", "snow-on-the-pass"]
    assert [one.kind for one in in_order(sign(JUNE, kind) for kind in kinds)] == kinds[::-1]


def test_kinds_without_a_layer_are_computed_or_not_checked():
    """In the order given."""
    kinds = ["security", "wildfire", "permit", "road-closed"]
    assert unlayered(kinds) == (("wildfire", "road-closed"), ("security", "permit"))
