"""Wind at the camp against print and hand arithmetic."""

import numpy as np
import pytest
import xarray as xr
from nights import one_night
from numpy.testing import assert_allclose
from published_tables import published

from sheltermap.night.wind import (
    NIGHT_SHARE,
    SITE_SHARES,
    night_wind,
    wind_at_two_metres,
)
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.score import scores
from sheltermap.vocabulary import SITES


@pytest.mark.parametrize("name", ["wind_at_two_metres", "wind_at_two_metres_hand"])
def test_two_metres_match_print(name):
    """FAO-56 example 14, and more digits by hand."""
    table = published("night", name)
    ten, two = np.array(table["rows"]).T
    assert_allclose(wind_at_two_metres(ten), two, rtol=0, atol=table["tolerance"])


def chances(limits, means, gusts=1.0):
    """Return the chance that wind spoils a night, a row for each limit a kit stands up to."""
    tent = load_kits()["ground-tent"]
    kits = [tent.model_copy(update={"wind_limit_m_s": limit}) for limit in limits]
    night = one_night(wind_speed=xr.DataArray(means, dims="night"))
    return scores(night, kits, (Sleeper(),), settings=Settings(gusts=gusts)).wind.values


def too_windy(limit, mean, gusts=1.0):
    """Return the chance for one limit and one mean wind."""
    return chances([limit], [mean], gusts).item()


def test_exceedance_matches_hand():
    """A Rayleigh distribution known by its mean."""
    table = published("night", "windier_than")
    for mean, limit, expected in table["rows"]:
        assert too_windy(limit, mean) == pytest.approx(expected, abs=table["tolerance"])


def test_exceedance_matches_simulation():
    """Drawn as the length of two normal components, it agrees within 3 standard errors."""
    random = np.random.default_rng(7)
    mean, limit, count = 4.0, 6.0, 200_000
    drawn = np.hypot(*random.normal(0, mean * np.sqrt(2 / np.pi), (2, count)))
    expected = too_windy(limit, mean)
    error = np.sqrt(expected * (1 - expected) / count)
    assert (drawn > limit).mean() == pytest.approx(expected, abs=3 * error)


def test_a_kit_must_stand_the_gusts():
    """Gusts of half as much again bring a limit of 12 m/s down to a mean of 8 m/s."""
    assert Settings().gusts == 1.5
    assert too_windy(12.0, 4.0, gusts=1.5) == pytest.approx(too_windy(8.0, 4.0), rel=1e-12)


def test_every_site_word_has_a_share():
    """The words of the vocabulary and of this table are the same."""
    assert set(SITE_SHARES) == set(SITES)
    assert night_wind(5.0, "forest") < night_wind(5.0, "plain") < night_wind(5.0, "ridge")


def test_night_share_is_a_setting():
    """The default is common practice and can be replaced."""
    assert night_wind(5.0) == pytest.approx(wind_at_two_metres(5.0) * NIGHT_SHARE)
    assert night_wind(5.0, night_share=1.0) == pytest.approx(wind_at_two_metres(5.0))


def test_unknown_site_is_refused():
    """The message lists the words."""
    with pytest.raises(ValueError, match="valley, slope, ridge"):
        night_wind(5.0, "beach")


def test_exceedance_is_bounded_and_falls():
    """Between 0 and 1, lower for a higher limit, higher in more wind."""
    found = np.array(chances(np.geomspace(1, 40, 15), np.linspace(0, 21, 85)))
    assert ((found >= 0) & (found <= 1)).all()
    assert (np.diff(found, axis=0) <= 0).all() and (np.diff(found, axis=1) >= 0).all()


def test_calm_and_missing():
    """A calm exceeds nothing; an unknown wind exceeds nobody knows what."""
    assert too_windy(5.0, 0.0) == 0
    assert np.isnan(too_windy(5.0, np.nan))
    assert np.isnan(night_wind(np.nan))


@pytest.mark.parametrize(
    ("site", "speed"),
    [
        ("ridge", 7.330),
        ("shore", 6.283),
        ("plain", 5.236),
        ("valley", 3.665),
        ("forest", 2.094),
    ],
)
def test_a_night_at_a_site_by_hand(site, speed):
    """10 m/s times 0.7 by night, 4.87 / ln(672.58) = 0.74796 at 2 m, and the site's share."""
    assert night_wind(10.0, site) == pytest.approx(speed, abs=0.0005)
    both = xr.DataArray([site, ""], dims="camp")
    assert night_wind(xr.DataArray([10.0, 10.0], dims="camp"), both).values == pytest.approx(
        [speed, 5.236], abs=0.0005
    )
