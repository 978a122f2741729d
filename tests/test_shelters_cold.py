"""The cold side against ISO 11079, hand arithmetic and people who slept in it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap.shelters import cold
from sheltermap.shelters.kit import BEDDING_WORDS, Bedding
from sheltermap.shelters.settings import Settings
from sheltermap.shelters.tolerance import top_resistance

MET = 58.15  # [W m-2], the unit ireq takes


def rows(name):
    """Return a table's columns and its tolerance."""
    table = published("shelters", name)
    return (*np.array(table["rows"]).T, table["tolerance"])


@pytest.mark.parametrize(
    ("name", "metabolism", "intercept"),
    [
        ("lowest_temperature_neutral", 46.5, cold.NEUTRAL),
        ("lowest_temperature_minimal", 46.5, cold.MINIMAL),
        ("lowest_temperature_cold_sleeper", 40.7, cold.NEUTRAL),
    ],
)
def test_limit_matches_table(name, metabolism, intercept):
    """The straight line reproduces the balance at the tabulated insulations."""
    clo, degrees, tolerance = rows(name)
    computed = cold.lowest_temperature(clo, metabolism, intercept)
    assert_allclose(computed, degrees, rtol=0, atol=tolerance)


@pytest.mark.parametrize("criterion", ["neutral", "min"])
def test_limit_agrees_with_iso_11079_over_a_grid(criterion):
    """An independent solver of the whole balance, -20 to 10 degC: within 0.5 K."""
    from pythermalcomfort.models import ireq

    intercept = {"neutral": cold.NEUTRAL, "min": cold.MINIMAL}[criterion]
    still_air = 0.092 * np.exp(-0.15 * 0.4) - 0.0045  # ISO 11079 eq. for Ia at 0.4 m/s
    for degrees in np.arange(-20.0, 10.1, 5.0):
        result = ireq(
            tdb=degrees,
            tr=degrees,
            vr=0.4,
            rh=70,
            met=46.5 / MET,
            clo=4,
            p=8,
            walk_sp=0,
            limit_inputs=False,
            round_output=False,
        )
        required = getattr(result, f"ireq_{criterion}") * 0.155
        total = (required + still_air / (1 + 1.197 * required)) / 0.155
        assert_allclose(cold.lowest_temperature(total, 46.5, intercept), degrees, rtol=0, atol=0.5)


def test_sleepers_of_a_laboratory_fall_on_the_right_side():
    """4.3 clo: 10 and 17 degC are comfortable, 3 is not; a cold sleeper rejects 10."""
    clo, comfort, limit, cold_sleeper, tolerance = rows("human_evidence")
    assert_allclose(cold.lowest_temperature(clo), comfort, rtol=0, atol=tolerance)
    assert_allclose(
        cold.lowest_temperature(clo, intercept=cold.MINIMAL), limit, rtol=0, atol=tolerance
    )
    assert_allclose(cold.lowest_temperature(clo, 40.7), cold_sleeper, rtol=0, atol=tolerance)
    assert cold.lowest_temperature(4.3, intercept=cold.MINIMAL) > 3
    assert cold.lowest_temperature(4.3) < 10


def test_bedding_words_stand_where_people_use_them():
    """Summer bedding is what subtropical bedrooms have; the other words are for beyond."""
    known = published("shelters", "subtropical_bedding")
    clo = {
        word: cold.bed(cold.rated_top_resistance(label), 0.85).insulation
        for word, label in BEDDING_WORDS.items()
    }
    assert known["least"] < clo["summer"] < known["most"] < clo["three-season"] < clo["winter"]


def test_mat_and_cover_in_parallel():
    """Three mats by hand."""
    label, clo, comfort, (clo_tolerance, tolerance) = rows("ground")
    for r, expected, degrees in zip(label, clo, comfort, strict=True):
        insulation = cold.bed(0.775, 0.1761 * r).insulation
        assert_allclose(insulation, expected, rtol=0, atol=clo_tolerance)
        assert_allclose(cold.lowest_temperature(insulation), degrees, rtol=0, atol=tolerance)


def test_shares_of_the_surroundings():
    """By hand: 0.25/0.2761 = 0.9055 of K = 1.8732 goes to the ground, 48.3 %."""
    bed = cold.bed(0.775, 0.1761)
    assert_allclose(bed.ground_share, 0.483, rtol=0, atol=0.0005)
    assert bed.air_share + bed.ground_share == 1


def test_rated_bag_by_hand():
    """What a 0 degC comfort label says about the cover."""
    label, resistance, tolerance = rows("rated_bag")
    assert_allclose(cold.rated_top_resistance(*label), *resistance, rtol=0, atol=tolerance)


@given(st.floats(-30, 15), st.sampled_from([cold.COMFORT_METABOLISM, cold.LIMIT_METABOLISM]))
def test_rated_bag_on_the_rating_mat_has_its_label(label, metabolism):
    """On the manikin's own mat a bag is cold exactly below its label."""
    top = cold.rated_top_resistance(label, metabolism)
    insulation = cold.bed(top, 0.85).insulation
    assert_allclose(cold.lowest_temperature(insulation, metabolism), label, atol=1e-9)


def test_limit_label_is_worth_the_comfort_label_beside_it():
    """A bag known by its limit alone keeps its sleeper as warm as its comfort label says."""
    limit, comfort, tolerance = rows("labels")
    for label, expected in zip(limit, comfort, strict=True):
        top = top_resistance(Bedding(limit_c=label), Settings())
        computed = cold.lowest_temperature(cold.bed(top, 0.85).insulation)
        assert_allclose(computed, expected, rtol=0, atol=tolerance)


def test_a_label_no_bag_can_have():
    """A label above what a bare person stands is refused with what to give instead."""
    with pytest.raises(ValueError, match="below 30 degC"):
        cold.rated_top_resistance(35.0)


def test_label_that_the_mat_alone_breaks_is_refused():
    """-60 degC asks for 0.425 W m-2 K-1; half the body on the label's mat loses 0.526."""
    with pytest.raises(ValueError, match=r"warmer label than -60 degC \| With 0.5 of the body"):
        cold.rated_top_resistance(-60.0, contact_share=0.5)
    assert cold.rated_top_resistance(-60.0, contact_share=0.4) > 0


def test_wind_on_a_bed():
    """ISO 11079 by hand, for tight and for open cloth."""
    permeability, speed, factor, tolerance = rows("wind_factor")
    computed = [cold.wind_factor(v, p) for p, v in zip(permeability, speed, strict=True)]
    assert_allclose(computed, factor, rtol=0, atol=tolerance)


def test_no_wind_inside():
    """Up to 0.4 m/s insulation is whole."""
    assert cold.wind_factor(0.1) == cold.wind_factor(0.4) == 1


def test_enclosure_warming_by_hand():
    """A two-person tent, an insulated shell, and the open sky."""
    table = published("shelters", "enclosure_warming")
    tent = cold.enclosure_warming(150, "single", 10, 4, 5)
    shell = cold.enclosure_warming(150, "insulated", 12, 6, 2)
    assert_allclose(tent, table["single"], rtol=0, atol=table["tolerance"])
    assert_allclose(shell, table["insulated"], rtol=0, atol=table["tolerance"])
    assert cold.enclosure_warming(150, "none", 0, 0, 20) == 0


@given(st.floats(0.2, 2), st.floats(0, 1.5), st.floats(0.01, 1), st.booleans())
def test_more_bedding_or_mat_is_never_colder(top, mat, more, raised):
    """Each layer lowers the limit."""
    usual = cold.bed(top, mat, raised=raised).insulation
    assert cold.bed(top + more, mat, raised=raised).insulation > usual
    assert cold.bed(top, mat + more, raised=raised).insulation > usual


def test_air_and_cloth_below_a_raised_bed():
    """By hand: 0.1761 + 0.10 + 0.10 below; 0.25/0.3761 = 0.6647 of K = 1.6325 goes down."""
    bed = cold.bed(0.775, 0.1761, raised=True)
    assert_allclose(bed.insulation, 1 / (0.155 * 1.6325), rtol=0, atol=0.0005)
    assert_allclose(bed.ground_share, 0.4072, rtol=0, atol=0.0001)


def test_more_of_the_body_on_the_mat():
    """By hand, two fifths: 0.4/0.2761 = 1.4488 and 0.6/0.775 = 0.7742 are K = 2.2229."""
    bed = cold.bed(0.775, 0.1761, contact_share=0.4)
    assert_allclose(bed.ground_share, 0.6518, rtol=0, atol=0.0001)
    assert_allclose(bed.insulation, 1 / (0.155 * 2.2229), rtol=0, atol=0.0005)


def test_a_label_at_the_neutral_limit_of_a_bare_person_is_refused():
    """34.6 degC asks for no insulation at all, which no division bears."""
    with pytest.raises(ValueError, match="below 30 degC"):
        cold.rated_top_resistance(34.6)
