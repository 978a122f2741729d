"""The embedded climatology against maps of the ITU-R, read by an independent package."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest
from climates import whole_world
from published_tables import published
from scipy.interpolate import RegularGridInterpolator

from sheltermap.climate import grid

# Rain time of Recommendation ITU-R P.837-7, Annex 1, step 4: temperature [degC], rain of
# the month [mm], days; probability of rain [%] and mean rate [mm/h] as printed.
RAIN_TIMES = [
    (25.0, 200.0, 30.0, 5.2007, 5.3412),
    (-5.0, 40.0, 31.0, 9.1528, 0.5874),
    (5.0, 600.0, 31.0, 70.0, 1.1521),
]

# Yearly probability of rain as the package gives it on its own maps. [%]
YEARLY = [
    ("London", 51.5, -0.14, 5.3615),
    ("Harare", -17.83, 31.05, 2.5000),
    ("Singapore", 1.35, 103.8, 4.3287),
    ("Cairo", 30.05, 31.25, 0.1105),
]


def rain_time(temperature, rain, days):
    """Return the share of time with rain [%] and the mean rate while it rains [mm/h]."""
    rate = 0.5874 * np.exp(0.0883 * np.maximum(temperature, 0.0))
    share = 100 * rain / (24 * days * rate)
    return np.minimum(share, 70.0), np.where(share > 70, 100 / 70 * rain / (24 * days), rate)


def mapped(name):
    """Return one array of the maps of P.837-7."""
    pytest.importorskip("itur")
    with np.load(files("itur") / "data" / "837" / f"{name}.npz") as archive:
        return archive[archive.files[0]]


def mapped_temperature(latitude, longitude, month):
    """Return the monthly temperature of P.1510-1. [K]"""
    itu1510 = pytest.importorskip("itur.models.itu1510")
    return np.asarray(itu1510.surface_month_mean_temperature(latitude, longitude, month))


@pytest.mark.parametrize(("temperature", "rain", "days", "share", "rate"), RAIN_TIMES)
def test_rain_time_step_gives_its_printed_digits(temperature, rain, days, share, rate):
    """Warm rain, snow, and the ceiling of 70 percent."""
    found = rain_time(temperature, rain, days)
    np.testing.assert_allclose(found, [share, rate], rtol=0, atol=5e-5)


def test_rain_time_step_reproduces_the_package():
    """From the package's own monthly maps to its yearly probability at four cities."""
    places = np.array([city[1:3] for city in YEARLY])
    days = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    latitude, longitude = mapped("v7_lat_mt")[:, 0], mapped("v7_lon_mt")[0]
    rain = np.stack(
        [
            RegularGridInterpolator((latitude, longitude), mapped(f"v7_mt_month{month:02d}"))(
                places
            )
            for month in range(1, 13)
        ]
    )
    kelvin = np.stack([mapped_temperature(*places.T, month) for month in range(1, 13)])
    shares = rain_time(kelvin - 273.15, rain, days[:, np.newaxis])[0]
    yearly = (shares * days[:, np.newaxis]).sum(axis=0) / 365.25
    np.testing.assert_allclose(yearly, [city[3] for city in YEARLY], rtol=0, atol=5e-5)


def test_temperatures_match_the_map_at_twenty_cities():
    """Monthly RMSE within 1.6 K and a warm bias: the later years of the embedded data.

    The limits are those found over all land between the two sources (1.3 to 1.6 K, bias
    0.3 to 0.6 K); twenty cities, often on coasts, may double the bias.
    """
    cities = published("climate_sources", "koppen")["cities"]
    latitude, longitude = (np.array([city[place] for city in cities]) for place in (1, 2))
    kelvin = np.stack([mapped_temperature(latitude, longitude, month) for month in range(1, 13)])
    world = whole_world()
    ours = np.stack(
        [
            grid.point(world, lat, lon)["air_temperature"].values
            for lat, lon in zip(latitude, longitude, strict=True)
        ],
        axis=1,
    )
    difference = ours - (kelvin - 273.15)
    assert np.sqrt((difference**2).mean()) <= 1.6
    assert abs(difference.mean()) <= 1.0
