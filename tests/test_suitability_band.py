"""The band of a share: zero errors, one error at a time, and missing inputs."""

import numpy as np
from nights import many_nights, one_night
from numpy.testing import assert_allclose

from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.band import share_error
from sheltermap.suitability.score import score

KIT = load_kits()["roof-tent"]
TWO = (Sleeper(), Sleeper())
NONE = {"temperature_error": 0.0, "dewpoint_error": 0.0, "wet_share_error": 0.0}


def test_no_error_no_band():
    """Perfect inputs and persons all alike leave nothing."""
    sure = Settings(person_spread=0.0)
    error = share_error(many_nights(10), [KIT], TWO, settings=sure, **NONE)
    assert_allclose(error, 0.0, atol=1e-12)


def test_one_error_is_half_the_swing():
    """With the temperature alone the band is the root mean square of both moves."""
    night = one_night(coldest_hours_temperature=-4.0, ground_temperature=0.0)
    sure = Settings(person_spread=0.0)
    error = share_error(night, [KIT], TWO, settings=sure, **(NONE | {"temperature_error": 2.0}))
    names = ["bedtime_temperature", "coldest_hours_temperature", "ground_temperature"]
    middle, up, down = (
        float(score(night.assign({n: night[n] + t for n in names}), KIT, TWO).sound_share)
        for t in (0.0, 2.0, -2.0)
    )
    by_hand = np.sqrt(((up - middle) ** 2 + (down - middle) ** 2) / 2)
    assert by_hand > 0.02
    assert_allclose(error.item(), by_hand, rtol=0, atol=1e-12)


def test_errors_add_in_quadrature():
    """Persons and thermometer: 3-4-5."""
    night = one_night(coldest_hours_temperature=-4.0)
    apart = share_error(
        night,
        [KIT],
        TWO,
        settings=Settings(person_spread=3.0),
        **(NONE | {"temperature_error": 4.0}),
    )
    together = share_error(
        night,
        [KIT],
        TWO,
        settings=Settings(person_spread=0.0),
        **(NONE | {"temperature_error": 5.0}),
    )
    assert_allclose(apart.item(), together.item(), rtol=0, atol=1e-12)


def test_missing_stays_missing():
    """No share, no band."""
    nights = many_nights(3).copy(deep=True)
    nights["ground_temperature"][1] = np.nan
    error = share_error(nights, [load_kits()["bedroll"]], TWO).isel(kit=0)
    assert np.isnan(error.values).tolist() == [False, True, False]


def test_kits_together_and_alone_agree():
    """Each kit has the error that it has alone, in the order given."""
    night, kits = many_nights(20), [KIT, load_kits()["bedroll"]]
    together = share_error(night, kits, TWO)
    assert together.kit.values.tolist() == [kit.id for kit in kits]
    for row, kit in enumerate(kits):
        assert_allclose(together[row], share_error(night, [kit], TWO)[0], rtol=0, atol=1e-12)
    assert not np.allclose(together[0], together[1])
