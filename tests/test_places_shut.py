"""Hazards that close a kit, and the words for how deep and how uneven nights are at a place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_trips import LATITUDE, LONGITUDE, climate, leg, saved, trip

from sheltermap.places.chosen import with_choice
from sheltermap.places.ground import camps, extents
from sheltermap.places.scored import scored_places
from sheltermap.trip.inputs import read_inputs

JULY = slice(181, 212)
# A minimum of 24 and a maximum of 32 degC with 2.2 kPa: closed fabric is a trouble.
WARM = {"mean": 28.0, "swing": 8.0, "vapour": 2.2, "spread": 1.0}


def row(kind, level="advisory", legs='"A"'):
    """Return a hazard row for July."""
    return (
        f'\n[[hazards]]\nlegs = [{legs}]\nkind = "{kind}"\nlevel = "{level}"\n'
        'first = "07-01"\nlast = "07-31"\nsource = "ranger"\n'
    )


def scored(folder, *parts, mesh=True, world=WARM):
    """Return the first leg scored in a tent, meshed or not, and what it came from."""
    inputs = read_inputs(saved(folder, trip(leg("A"), *parts, kits="ground-tent")))
    tent = inputs.kits[0].model_copy(update={"mesh": mesh})
    inputs = replace(inputs, kits=(tent,))
    where = camps(inputs, extents(inputs), climate(**world))
    places, nights = scored_places(where, inputs, (tent,))
    return places, where, nights, inputs, tent


def heat(folder, *parts, mesh=True):
    """Return the risk of heat on each day of the year."""
    return scored(folder, *parts, mesh=mesh)[0][0].seasons["ground-tent"].heat


def depth_words(folder, world):
    """Return what the place of a chosen tent says of its average dry night."""
    places, where, _, inputs, tent = scored(folder, world=world)
    (one,) = with_choice(places, where, inputs.trip, tent, None)
    return [line for line in one.cautions if "average dry night" in line]


def test_insects_close_a_tent_without_mesh_in_their_season(tmp_path):
    """July is hotter, exactly as if every night were closed; other months don't change."""
    usual = heat(tmp_path, mesh=False)
    shut = heat(tmp_path, row("biting-insects"), mesh=False)
    always = heat(tmp_path, "\n[settings]\ninsects = true\n", mesh=False)
    np.testing.assert_allclose(shut[JULY], always[JULY], rtol=0, atol=1e-9)
    assert (shut[JULY] > usual[JULY] + 0.1).all()
    np.testing.assert_array_equal(np.delete(shut, np.r_[JULY]), np.delete(usual, np.r_[JULY]))


def test_mesh_keeps_a_tent_open(tmp_path):
    """With whole mesh insects change nothing."""
    np.testing.assert_array_equal(heat(tmp_path, row("biting-insects")), heat(tmp_path))


def test_dust_closes_every_tent_on_some_nights(tmp_path):
    """By default on a quarter of the nights of its season; a trip may say otherwise."""
    usual = heat(tmp_path)[JULY]
    always = heat(tmp_path, "\n[settings]\ndust = true\n")[JULY]
    quarter = heat(tmp_path, row("dust-storm"))[JULY]
    every = heat(tmp_path, row("dust-storm"), "\n[settings]\ndust_nights = 1.0\n")[JULY]
    np.testing.assert_allclose(quarter, usual + 0.25 * (always - usual), rtol=0, atol=1e-9)
    np.testing.assert_allclose(every, always, rtol=0, atol=1e-9)


@pytest.mark.parametrize("other", [row("biting-insects", "none"), row("flood", "serious")])
def test_other_findings_close_nothing(tmp_path, other):
    """Having looked and found none, or another kind of hazard, leaves the tent open."""
    np.testing.assert_array_equal(heat(tmp_path, other, mesh=False), heat(tmp_path, mesh=False))


def test_depth_is_told_in_words(tmp_path):
    """1.5 K and 15 K below the limit of the bedding read differently; warmth reads not."""

    def margin(mean):
        (one,), *_ = scored(tmp_path, world={"mean": mean, "vapour": 0.05})
        return float(one.seasons["ground-tent"].cold_margin.min())

    # The ground cools with the air, so a kelvin of climate is more than one of margin.
    warm, mild = margin(12.0), margin(6.0)
    for depth, word in ((1.5, "chilly"), (15.0, "dangerous")):
        mean = np.interp(-depth, [3 * mild - 2 * warm, mild, warm], [-6.0, 6.0, 12.0])
        (line,) = depth_words(tmp_path, {"mean": mean, "vapour": 0.05})
        assert line.startswith("An average dry night in ") and f": {word}" in line
    assert depth_words(tmp_path, {"mean": 18.0}) == []


def test_good_parts_are_told_where_camps_differ(tmp_path):
    """Half of the camps lie in a row that is far too cold from October to March."""
    mean = np.full((12, LATITUDE.size, LONGITUDE.size), 18.0)
    winter = np.isin(np.arange(12), [0, 1, 2, 9, 10, 11])
    mean[np.ix_(winter, np.flatnonzero(LATITUDE >= 42.0))] = -20.0
    world = climate(mean=mean, vapour=0.05, spread=0.5)
    both = "\n[[legs]]\nname = 'P'\npoints = [[39.0, 28.0], [42.5, 28.0]]\nnights = 4\n"
    both += "camp_elevation_m = 100\n"
    inputs = read_inputs(saved(tmp_path, trip(both, kits="ground-tent")))
    where = camps(inputs, extents(inputs), world)
    places, _ = scored_places(where, inputs, inputs.kits)
    (one,) = with_choice(places, where, inputs.trip, inputs.kits[0], None)
    (line,) = [c for c in one.cautions if "workable" in c]
    start = "Ground tent: by the climate alone, nights are workable or better from October to"
    assert line.startswith(start)
    assert "in the south (50 % of it); everywhere from April to September" in line
