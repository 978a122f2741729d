"""Tests of the bundled layer of tropical cyclone seasons."""

import pytest

from sheltermap.hazards.findings import binding_levels, findings, not_checked
from sheltermap.hazards.layers import read_layer
from sheltermap.hazards.shapes import place_extent
from sheltermap.resources import bundled
from sheltermap.spans import span_days

# NOAA National Weather Service, JetStream: tropical cyclone basins and their months.
COASTS = [
    ("Okinawa", 26.3, 127.8, "all year"),
    ("Da Nang", 16.05, 108.2, "all year"),
    ("Chittagong", 22.3, 91.8, "April..December"),
    ("Reunion", -20.9, 55.5, "10-25..05-31"),
    ("Dili", -8.55, 125.6, "10-25..05-31"),
    ("Viti Levu", -17.8, 177.4, "10-25..05-10"),
    ("Bermuda", 32.3, -64.8, "06-01..11-30"),
    ("Hilo", 19.7, -155.1, "05-15..11-30"),
    ("Samoa", -13.8, -171.8, "10-25..05-10"),
    ("Funafuti", -8.5, 179.2, "10-25..05-10"),
]
PEAKS = [
    (26.3, 127.8, "July..November"),
    (22.3, 91.8, "May"),
    (32.3, -64.8, "September"),
    (-17.8, 177.4, "February..March"),
]
NO_SEASON = [
    ("Munich", 48.1, 11.6),
    ("Astana", 51.1, 71.4),
    ("Urumqi", 43.8, 87.6),
    ("Xi'an", 34.3, 108.9),
    ("Lisbon, a coast of no basin", 38.7, -9.1),
    ("Singapore, too near the equator", 1.3, 103.8),
    ("Caspian shore", 40.4, 49.9),
]


@pytest.fixture(scope="module")
def cyclones():
    """Return the layer."""
    return read_layer(bundled("regions") / "world" / "cyclones.geojson")


def level_at(cyclones, latitude, longitude):
    """Return the level by day around a place."""
    return binding_levels(findings([cyclones], place_extent(latitude, longitude)), ["hard"])[0]


@pytest.mark.parametrize(("name", "latitude", "longitude", "season"), COASTS)
def test_coast_has_the_season_of_its_basin(cyclones, name, latitude, longitude, season):
    """Some level on every day of the printed season, none outside it."""
    assert ((level_at(cyclones, latitude, longitude) > 0) == span_days(season)).all(), name


@pytest.mark.parametrize(("latitude", "longitude", "peak"), PEAKS)
def test_printed_peaks_are_serious(cyclones, latitude, longitude, peak):
    """And no hard body shields from them."""
    assert (level_at(cyclones, latitude, longitude)[span_days(peak)] == 2).all()


@pytest.mark.parametrize(("name", "latitude", "longitude"), NO_SEASON)
def test_other_places_have_none_and_were_looked_at(cyclones, name, latitude, longitude):
    """None is a result here, not a gap: the layer covers the globe."""
    extent = place_extent(latitude, longitude)
    assert findings([cyclones], extent) == (), name
    assert "tropical-cyclone" not in not_checked([cyclones], extent)


def test_layer_stays_small():
    """Every page that shows it carries it."""
    assert (bundled("regions") / "world" / "cyclones.geojson").stat().st_size < 60_000
