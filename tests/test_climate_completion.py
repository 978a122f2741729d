"""What a source lacks: heights of cells, humidity between cells, and all of it in blocks."""

import numpy as np
import pytest
import xarray as xr
from climates import whole_world

from sheltermap.air import saturation_vapour_pressure
from sheltermap.climate.completion import completed, extremes_of_course, strangeness
from sheltermap.climate.world import world_climatology

ROWS, COLUMNS = np.arange(44.0, 47.5, 0.5), np.arange(6.0, 10.5, 0.5)  # the western Alps


def source(latitude, longitude):
    """Return temperature and rain of a source, the same all year and everywhere."""
    coords = {"month": np.arange(1, 13), "latitude": latitude, "longitude": longitude}
    shape = tuple(len(one) for one in coords.values())
    return {
        "air_temperature": xr.DataArray(np.full(shape, 10.0), coords),
        "rainfall": xr.DataArray(np.full(shape, 50.0), coords),
    }


def test_cells_of_half_a_degree_get_the_embedded_height():
    """They are the embedded cells, so the heights are those, and marked as estimated."""
    found = completed(source(ROWS, COLUMNS))["elevation"]
    world = world_climatology()["elevation"].sel(latitude=ROWS, longitude=COLUMNS)
    np.testing.assert_allclose(found.values, world.values, atol=1.0)
    assert found.values.max() > 1500.0
    assert "half a degree" in found.attrs["estimated"]


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [(np.arange(45.05, 46, 0.1), np.arange(7.05, 8, 0.1)), (ROWS[:1], COLUMNS[:1])],
    ids=["fine", "a single cell"],
)
def test_fine_cells_get_no_height(latitude, longitude):
    """A tenth of a degree may stand a kilometre above its half degree; of one cell none knows."""
    found = completed(source(latitude, longitude))["elevation"]
    assert found.isnull().all()
    assert "unknown" in found.attrs["estimated"]


def test_a_height_that_is_stated_stays():
    """Whatever the cells' size."""
    given = source(ROWS, COLUMNS)
    height = xr.full_like(given["air_temperature"].isel(month=0, drop=True), 123.0)
    found = completed(given | {"elevation": height})["elevation"]
    assert (found == 123.0).all()
    assert "estimated" not in found.attrs


def test_humidity_between_four_cells_is_their_mean():
    """Half-way along both axes each embedded cell counts a quarter; at a centre, itself alone."""
    found = completed(source(np.array([45.0, 45.25]), np.array([8.0, 8.25])))["vapour_pressure"]
    around = world_climatology().sel(latitude=[45.0, 45.5], longitude=[8.0, 8.5])
    own = saturation_vapour_pressure(around["air_temperature"])
    humidity = (around["vapour_pressure"] / own).transpose("month", "latitude", "longitude").values
    at_ten = float(saturation_vapour_pressure(xr.DataArray(10.0)))
    np.testing.assert_allclose(found[:, 0, 0], humidity[:, 0, 0] * at_ten, rtol=1e-5)
    np.testing.assert_allclose(found[:, 1, 1], humidity.mean((1, 2)) * at_ten, rtol=1e-5)


def test_beside_the_sea_the_cells_on_land_count_alone():
    """Between 37.0 and 37.5 N, 17.0 and 17.5 E one of four cells has a climate."""
    around = world_climatology().sel(latitude=[37.0, 37.5], longitude=[17.0, 17.5])
    own = saturation_vapour_pressure(around["air_temperature"])
    humidity = (around["vapour_pressure"] / own).mean(("latitude", "longitude"))
    assert int(around["air_temperature"].isel(month=0).notnull().sum()) == 1
    found = completed(source(np.array([37.2]), np.array([17.1])))["vapour_pressure"]
    at_ten = float(saturation_vapour_pressure(xr.DataArray(10.0)))
    np.testing.assert_allclose(found[:, 0, 0], humidity * at_ten, rtol=1e-5)


def test_a_lazy_source_is_completed_in_its_own_blocks():
    """A large one would fill the memory; what a loaded one gets is the same."""
    pytest.importorskip("dask")
    given = source(np.arange(44.0, 45, 0.05), np.arange(6.0, 7.5, 0.05))
    given["air_temperature"] = given["air_temperature"] - 8 * np.cos(given["rainfall"].month / 2)
    blocks = {"latitude": 8, "longitude": 11}
    lazy = completed({name: array.chunk(blocks) for name, array in given.items()})
    for name, array in lazy.items():
        assert array.chunksizes["latitude"] == (8, 8, 4), name
        assert array.chunksizes["longitude"] == (11, 11, 8), name
    xr.testing.assert_allclose(lazy.compute(), completed(given), rtol=1e-6)


def one_place(**months):
    """Return quantities of the cell at 45 N, 8 E, each the same in all months."""
    coords = {"month": np.arange(1, 13), "latitude": [45.0], "longitude": [8.0]}
    return {
        name: xr.DataArray(np.full((12, 1, 1), value), coords) for name, value in months.items()
    }


def january(array) -> float:
    """Return the first value."""
    return float(array.values.flat[0])


def test_the_mean_lies_below_the_middle_of_the_extremes():
    """0.495 of a range of 20 K above the minimum: 4 + 9.9."""
    found = completed(one_place(air_temperature_min=4.0, air_temperature_max=24.0, rainfall=50.0))
    assert january(found["air_temperature"]) == pytest.approx(13.9)
    assert found["air_temperature"].attrs["estimated"] == "from minimum and maximum"


def test_extremes_follow_from_the_mean_and_the_range():
    """20 K around 13.9: 4 and 24; one that is known stays."""
    known = one_place(air_temperature=13.9, rainfall=50.0, temperature_range=20.0)
    found = completed(known)
    assert january(found["air_temperature_min"]) == pytest.approx(4.0)
    assert january(found["air_temperature_max"]) == pytest.approx(24.0)
    stated = completed(known | one_place(air_temperature_min=5.0))
    assert january(stated["air_temperature_min"]) == 5.0
    assert january(stated["air_temperature_max"]) == pytest.approx(24.0)
    assert "estimated" not in stated["air_temperature_min"].attrs


def test_extremes_of_a_mean_course_by_hand():
    """Amplitude 10 K, spread 4 K: sqrt(11.1^2 + 3.6^2) = 11.669 K, 0.495 of it below the mean."""
    amplitude, spread, mean = (xr.DataArray(value) for value in (10.0, 4.0, 15.0))
    low, high = extremes_of_course(mean, amplitude, spread)
    assert float(high - low) == pytest.approx(11.669, abs=5e-4)
    assert float(mean - low) == pytest.approx(5.776, abs=5e-4)


def test_humidity_is_taken_from_the_dewpoint_first():
    """FAO Paper 56, eq. 11: 1.2280 kPa at 10 degC and 2.3383 at 20; half of it at 50 %."""
    air = {"air_temperature": 20.0, "rainfall": 50.0}
    both = completed(one_place(**air, dewpoint=10.0, relative_humidity=0.5))
    assert january(both["vapour_pressure"]) == pytest.approx(1.2280, abs=5e-4)
    assert "estimated" not in both["vapour_pressure"].attrs
    over = completed(one_place(**air, dewpoint=22.0))
    assert january(over["vapour_pressure"]) == pytest.approx(2.3383, abs=5e-4)
    for humidity, share in ((0.5, 0.5), (1.2, 1.0), (-0.1, 0.0)):
        found = completed(one_place(**air, relative_humidity=humidity))["vapour_pressure"]
        assert january(found) == pytest.approx(share * 2.3383, abs=5e-4)
        assert found.attrs["estimated"] == "from relative humidity and mean temperature"


def test_wind_of_components_is_their_length_and_a_lower_bound():
    """3 east and -4 north: 5; one alone is no wind, and a stated speed stays."""
    parts = {"wind_eastward": 3.0, "wind_northward": -4.0}
    base = {"air_temperature": 10.0, "rainfall": 50.0}
    found = completed(one_place(**base, **parts))["wind_speed"]
    assert january(found) == 5.0 and found.attrs["uncertainty"] == "a lower bound"
    assert "wind_speed" not in completed(one_place(**base, wind_eastward=3.0))
    stated = completed(one_place(**base, **parts, wind_speed=7.0))["wind_speed"]
    assert january(stated) == 7.0 and "estimated" not in stated.attrs


def alps(warmer: float = 0.0, rain: float = 1.0):
    """Return the embedded climate of the western Alps, warmed, its rain multiplied."""
    world = whole_world().sel(latitude=ROWS, longitude=COLUMNS)[["air_temperature", "rainfall"]]
    return world.assign(
        air_temperature=world["air_temperature"] + warmer, rainfall=world["rainfall"] * rain
    )


@pytest.mark.parametrize(
    ("how", "expected", "got"),
    [
        ({"warmer": 9.9}, None, None),
        ({"warmer": -10.1}, "temperatures within 10 K", "10.1 K in the median"),
        ({"rain": 7.9}, None, None),
        ({"rain": 8.1}, "yearly rain within 8 times", "8.1 times"),
        ({"rain": 1 / 7.9}, None, None),
        ({"rain": 1 / 8.1}, "yearly rain within 8 times", "0.12 times"),
    ],
)
def test_a_source_far_from_the_embedded_climate_is_strange(how, expected, got):
    """Over 10 K either way, or eight times the rain or an eighth of it."""
    problems = strangeness(alps(**how), "own.nc")
    if expected is None:
        assert problems == []
    else:
        (problem,) = problems
        assert expected in str(problem) and got in str(problem)


@pytest.mark.parametrize(
    ("shifted", "words"),
    [
        (lambda it: it.assign_coords(longitude=it["longitude"] - 180), "longitudes are shifted"),
        (
            lambda it: it.assign_coords(latitude=-it["latitude"]).isel(
                latitude=slice(None, None, -1)
            ),
            "latitudes are upside down",
        ),
    ],
)
def test_a_shift_of_the_axes_is_told_where_it_explains_all(shifted, words):
    """The Alps in the Pacific, or south of Africa, where the sea has no climate to compare."""
    (problem,) = strangeness(shifted(alps()), "own.nc")
    assert f"It looks as if {words}" in str(problem) and "no land there" in str(problem)


def test_months_that_begin_in_july_are_told():
    """Around 52 N and 100 E summer and winter lie 35 K apart."""
    box = whole_world().sel(latitude=slice(50, 54), longitude=slice(98, 104))
    box = box[["air_temperature", "rainfall"]]
    turned = box.assign(air_temperature=box["air_temperature"].roll(month=6, roll_coords=False))
    (problem,) = strangeness(turned, "own.nc")
    assert "It looks as if months are shifted by half a year." in str(problem)
