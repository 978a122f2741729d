"""Grounds scored together, nights that hazards shut, and figures of a place: sums by hand."""

from types import SimpleNamespace

import numpy as np
import xarray as xr
from small_trips import climate, leg, trip
from test_places_scored import AT_CELLS, COLD, JULY, scored

from sheltermap.night.rain import wet_run
from sheltermap.night.temperature import share_at, temperature_at
from sheltermap.places import seasons
from sheltermap.places.scored import _alike, _correction, _shut_nights
from sheltermap.suitability.shut import BY_DUST, BY_INSECTS


def grounds(*known):
    """Return camps of grounds by name, cells, stated wind and site word."""
    return SimpleNamespace(
        climate=climate().isel(latitude=0, longitude=0),
        grounds=[
            SimpleNamespace(
                id=name,
                footprint=SimpleNamespace(weight=np.full(cells, 1 / cells)),
                leg=SimpleNamespace(wind_m_s=wind, site=site),
            )
            for name, cells, wind, site in known
        ],
    )


def groups(where, most):
    """Return the names of grounds that are scored together."""
    return ["".join(one.id for one in group) for group in _alike(where, most)]


def test_grounds_are_scored_together_up_to_so_many_cells():
    """Of 3, 2, 4 and 9 cells: five fit in five, nine are scored alone, in their order."""
    known = [(name, cells, None, None) for name, cells in zip("abcd", (3, 2, 4, 9), strict=True)]
    assert groups(grounds(*known), 5) == ["ab", "c", "d"]
    assert groups(grounds(*known), 4) == ["a", "b", "c", "d"]
    assert groups(grounds(*known), 18) == ["abcd"]


def test_grounds_of_which_the_same_is_known_are_scored_together():
    """Wind that a leg states, wind by a site word, and no wind at all are three."""
    calm, ridge, told = (None, None), (None, "ridge"), ([3.0] * 12, None)
    both = ([3.0] * 12, "ridge")
    known = [
        (name, 1, *wind)
        for name, wind in zip("abcde", (calm, ridge, told, both, calm), strict=True)
    ]
    where = grounds(*known)
    assert groups(where, 99) == ["ae", "b", "cd"]
    where.climate["wind_speed"] = where.climate["air_temperature"]
    assert groups(where, 99) == ["abe", "cd"]


def finding(kind, days, level=1, part=""):
    """Return a finding of some days of the year."""
    by_day = np.zeros(365, np.uint8)
    by_day[days] = level
    return SimpleNamespace(kind=kind, part=part, level_by_day=by_day)


def test_insects_have_every_night_and_dust_a_share():
    """Of two places of two cells and one; what lies in a part that people can avoid is none."""
    found = [
        [finding("biting-insects", JULY), finding("dust-storm", [3, 4]), finding("flood", JULY)],
        [finding("dust-storm", [4], level=2), finding("biting-insects", [9], part="the marsh")],
    ]
    shut = _shut_nights(found, [2, 1], 0.3)
    insects, dust = shut[BY_INSECTS].values, shut[BY_DUST].values
    assert insects.shape == dust.shape == (365, 3)
    assert insects.sum(axis=0).tolist() == [31, 31, 0] and (insects[JULY, :2] == 1).all()
    assert dust[[3, 4, 5]].tolist() == [[0.3, 0.3, 0.0], [0.3, 0.3, 0.3], [0.0, 0.0, 0.0]]
    assert _shut_nights([[finding("dust-storm", [3], level=0)]], [1], 0.3) == {}


def test_correction_is_that_of_the_camps():
    """-2 and -5 K with weights of 3 and 1, errors 1 and 2; none where no height was known."""
    cells = xr.Dataset({"weight": ("cell", [0.75, 0.25])})
    assert _correction(cells) == (0.0, 0.0)
    corrected = cells.assign(
        temperature_correction=("cell", [-2.0, -5.0]),
        temperature_correction_error=("cell", [1.0, 2.0]),
    )
    assert _correction(corrected) == (-2.75, 1.25)
    unknown = corrected.assign(temperature_correction=("cell", [np.nan, -5.0]))
    assert _correction(unknown) == (0.0, 1.25)


def test_kits_scored_in_turns_are_scored_alike(tmp_path, monkeypatch):
    """One of three at a time, or all at once."""
    kits = ["bedroll", "ground-tent", "bedroll-cot"]
    text = trip(leg("A", more=AT_CELLS), leg("B", (41.0, 31.0)), kits=" ".join(kits))
    world, turns, honest = climate(mean=COLD, vapour=0.2), [], seasons._reduced
    monkeypatch.setattr(seasons, "_reduced", lambda *a: turns.append(len(a[1])) or honest(*a))
    together, *_ = scored(tmp_path, text, world)
    monkeypatch.setattr(seasons, "_MOST_SCORES", 1)
    seasons.seasons_of.cache_clear()
    apart, *_ = scored(tmp_path, text, world)
    assert turns == [3, 1, 1, 1]
    for one, other in zip(together, apart, strict=True):
        assert list(one.seasons) == list(other.seasons) == kits
        for kit in kits:
            alone, among = other.seasons[kit], one.seasons[kit]
            np.testing.assert_array_equal(alone.sound_share, among.sound_share)
            np.testing.assert_array_equal(alone.errors.grade, among.errors.grade)


def test_figures_of_a_months_climate_by_hand(tmp_path):
    """Rain of 93 mm on 6.2 days in every month; wind chill only where wind is known."""
    (one,), *_ = scored(tmp_path, trip(leg("A", more=AT_CELLS)), climate(rain=93.0, wet=6.2))
    found = one.climate
    np.testing.assert_allclose(found.rain_per_month, 93.0)
    np.testing.assert_allclose(found.wet_days, 6.2)
    np.testing.assert_allclose(found.temperature_min, 14.0)
    np.testing.assert_allclose(found.temperature_max, 22.0)
    # 1 kPa is saturated at 6.97 degC (FAO-56 eq. 11 inverted by hand).
    np.testing.assert_allclose(found.dewpoint, 6.97, atol=0.01)
    assert np.isnan(found.wind_chill).all() and np.isnan(found.hot_from).all()


def test_hours_and_spells_of_a_months_climate(tmp_path):
    """22 to 34 degrees: from the cool hour on no more than the 26 of criteria for bedrooms.

    A wet spell are three wet days on end in a week, with 6.2 of July's 31.
    """
    world = climate(mean=28.0, swing=12.0, vapour=2.2, rain=93.0, wet=6.2)
    (one,), *_ = scored(tmp_path, trip(leg("A", more=AT_CELLS)), world)
    found = one.climate
    # Light is told with the sun's rim and refraction, some minutes longer than the curve's.
    then = temperature_at(share_at(found.cool_hour, found.daylight_hours), 22.0, 34.0)
    np.testing.assert_allclose(then, 26.0, atol=0.1)
    assert (found.cool_hour > found.sunset_hour - 1).all()
    np.testing.assert_allclose(found.wet_spell[6], float(wet_run(6.2 / 31, 3, 7)))
    assert (found.heat_category[[5, 6]] >= 2).all() and np.isfinite(found.hot_from[[5, 6]]).all()
