"""The night dataset: one meaning for points, grids, cells, months, days and lazy arrays."""

import warnings

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from sheltermap.air import dewpoint, saturation_vapour_pressure
from sheltermap.night.conditions import NEEDED, VALLEY_DROP, SleepWindow, conditions
from sheltermap.night.rain import rain_in_window

MID_MONTH = [16, 45, 75, 105, 136, 166, 197, 228, 258, 289, 319, 350]


def season(latitudes=(-40.0, 10.0, 52.0), longitudes=(5.0, 25.0), days=MID_MONTH, time="month"):
    """Return a plausible season: warmer towards the equator and in the local summer."""
    latitude = xr.DataArray(list(latitudes), dims="latitude").astype("f4")
    longitude = xr.DataArray(list(longitudes), dims="longitude").astype("f4")
    day = xr.DataArray(list(days), dims=time)
    swing = np.cos(2 * np.pi * (day - 200) / 365) * latitude / 4
    mean = (26 - 0.3 * np.abs(latitude) + swing + 0.02 * longitude).astype("f4")
    ones = xr.ones_like(mean)
    variables = {
        "air_temperature": mean,
        "air_temperature_min": mean - 5,
        "air_temperature_max": mean + 6,
        "night_low_spread": 3 * ones,
        "vapour_pressure": 0.7 * saturation_vapour_pressure(mean),
        "wet_share": 0.3 * ones,
        "rain_per_day": 2 * ones,
        "elevation": (100 * latitude * 0 + longitude * 0 + 100).astype("f4"),
    }
    data = xr.Dataset(variables).transpose(time, "latitude", "longitude", missing_dims="ignore")
    for name, units in NEEDED.items():
        data[name].attrs = {"units": units}
    return data.assign_coords(
        {
            time: np.arange(1, len(days) + 1),
            "day_of_year": (time, list(days)),
            "latitude": latitude.values,
            "longitude": longitude.values,
        }
    )


def test_temperatures_keep_their_order():
    """Low, coldest hours, mean of the night, bedtime and high never change places."""
    night = conditions(season())
    assert (night.night_low < night.coldest_hours_temperature).all()
    assert (night.coldest_hours_temperature <= night.night_mean_temperature).all()
    assert (night.night_mean_temperature < night.bedtime_temperature).all()
    assert (night.bedtime_temperature < night.air_temperature_max).all()


def test_equinox_night_matches_hand():
    """At the equator on day 81 the shares of a twelve-hour day hold: 0.3521 at 22:00."""
    data = season(latitudes=[0.0], days=[81])
    night = conditions(data)
    span = data.air_temperature_max - data.air_temperature_min
    expected = data.air_temperature_min + 0.3521 * span
    np.testing.assert_allclose(night.bedtime_temperature, expected, rtol=0, atol=0.002)
    assert float(night.daylight_hours.squeeze()) == pytest.approx(12.0)
    # 1 - 0.7 ** (0.46 x 8 / 9), by hand.
    np.testing.assert_allclose(night.rain_in_window, 0.13571, rtol=0, atol=1e-5)


def test_early_sleepers_lie_down_in_the_heat():
    """An earlier window is warmer at bedtime and in its coldest hours."""
    early, usual = (conditions(season(), SleepWindow(*h)) for h in ((19.5, 3.5), (22, 6)))
    assert (early.bedtime_temperature > usual.bedtime_temperature).all()
    assert (early.coldest_hours_temperature > usual.coldest_hours_temperature).all()
    assert (early.sleep_start, early.sleep_end) == (19.5, 3.5)


def test_rain_follows_the_window():
    """The night's odds are those of its own hours."""
    data = season()
    short = conditions(data, SleepWindow(23, 3))
    xr.testing.assert_allclose(
        short.rain_in_window.drop_attrs(),
        rain_in_window(data.wet_share, data.rain_per_day, 4.0).drop_attrs(),
    )


def test_vapour_is_held_below_saturation():
    """Muggy days end in saturated nights, never beyond."""
    data = season()
    data["vapour_pressure"] = data.vapour_pressure * 1.4
    night = conditions(data)
    saturated = saturation_vapour_pressure(night.coldest_hours_temperature)
    np.testing.assert_allclose(night.vapour_pressure, saturated, rtol=1e-6)
    np.testing.assert_allclose(night.dewpoint, night.coldest_hours_temperature, atol=1e-5)
    assert (night.bedtime_vapour_pressure >= night.vapour_pressure).all()


def test_dewpoint_belongs_to_the_vapour_pressure():
    """The two are one quantity in two units."""
    night = conditions(season())
    np.testing.assert_allclose(night.dewpoint, dewpoint(night.vapour_pressure), atol=2e-4)


def test_months_and_days_agree():
    """The same day of the year gives the same night along either dimension."""
    months = conditions(season())
    days = conditions(season(time="day")).rename(day="month")
    xr.testing.assert_identical(months, days)


def test_a_point_agrees_with_the_grid():
    """Cut out before or after: the same night, for one place and one time."""
    data = season()
    grid = conditions(data)
    place = {"latitude": 1, "longitude": 0}
    xr.testing.assert_allclose(conditions(data.isel(place)), grid.isel(place), rtol=1e-6)
    moment = place | {"month": 7}
    xr.testing.assert_allclose(conditions(data.isel(moment)), grid.isel(moment), rtol=1e-6)


def test_cells_agree_with_the_grid():
    """A list of cells with latitude beside it gives the grid's values."""
    data = season()
    cells = data.stack(cell=("latitude", "longitude")).reset_index("cell")
    night = conditions(cells)
    assert night.coldest_hours_temperature.dims == ("month", "cell")
    grid = conditions(data)
    for name in grid:
        if "longitude" in grid[name].dims:
            stacked = grid[name].stack(cell=("latitude", "longitude")).transpose(..., "cell")
            np.testing.assert_allclose(night[name], stacked, rtol=1e-6, err_msg=name)


def test_large_grids_agree_with_small_ones():
    """Blocks of a large grid change nothing: every 20th cell alone gives the same."""
    latitudes, longitudes = np.linspace(-60, 75, 130), np.linspace(-179, 179, 200)
    data = season(latitudes, longitudes)
    assert data.air_temperature.size > 2 * 2**16
    some = {"latitude": slice(3, None, 20), "longitude": slice(5, None, 20)}
    xr.testing.assert_allclose(
        conditions(data).isel(some), conditions(data.isel(some)), rtol=1e-5, atol=1e-5
    )


def test_float32_and_units_survive():
    """No variable doubles in size, and each says its units and what it is."""
    night = conditions(season(), site="ridge")
    for name, values in night.items():
        assert values.dtype == np.float32, name
        assert values.attrs["units"], name
    assert night.coldest_hours_temperature.attrs["long_name"].startswith("mean air temp")
    assert night.air_temperature.attrs["units"] == "degC"


def test_dask_stays_lazy_and_agrees():
    """Chunked along any dimension, nothing is computed early and nothing changes."""
    data = season()
    lazy = conditions(data.chunk(latitude=1, month=5))
    assert all(lazy[name].chunks for name in lazy if "longitude" in lazy[name].dims)
    xr.testing.assert_allclose(lazy.compute(), conditions(data))


def test_missing_stays_missing():
    """A missing input spoils what rests on it, and nothing else."""
    data = season()
    sea = {"latitude": 0, "longitude": 1}
    data["vapour_pressure"][{**sea, "month": 2}] = np.nan
    data["air_temperature_max"][{**sea, "month": 3}] = np.nan
    data["wet_share"][{**sea, "month": 4}] = np.nan
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        night = conditions(data)
    lost = {
        name: np.flatnonzero(np.isnan(night[name].isel(sea).values)).tolist()
        for name in night
        if night[name].dims == ("month", "latitude", "longitude")
    }
    assert lost["dewpoint"] == lost["vapour_pressure"] == [2, 3]
    assert lost["bedtime_temperature"] == lost["coldest_hours_temperature"] == [3]
    assert lost["daytime_vapour_deficit"] == lost["fabric_sky_cooling"] == [2, 3]
    assert lost["rain_in_window"] == [4]
    assert lost["night_low"] == []
    assert int(np.isnan(night.dewpoint).sum()) == 2


def test_wind_is_left_out_unless_something_gives_it():
    """No data and no site: not assessed. A site alone: a marked estimate. Data: the data."""
    data = season()
    assert "wind_speed" not in conditions(data)
    guess = conditions(data, site="shore").wind_speed
    assert "site word alone" in guess.attrs["estimated"]
    data["air_temperature"][0, 0, 0] = np.nan
    assert np.isnan(conditions(data, site="shore").wind_speed[0, 0, 0])
    data["wind_speed"] = xr.full_like(data.air_temperature, 10.0).assign_attrs(units="m s-1")
    night = conditions(data)
    assert "estimated" not in night.wind_speed.attrs
    # 10 m s-1 x 0.748 x 0.7, by hand.
    np.testing.assert_allclose(night.wind_speed, 5.236, atol=0.001)
    assert (conditions(data, site="ridge").wind_speed > night.wind_speed).all()


def test_valley_is_colder_on_dry_nights_only():
    """The drop stands apart, so that wet nights need not share it."""
    open_land, valley = conditions(season()), conditions(season(), site="valley")
    assert float(valley.dry_night_drop) == VALLEY_DROP == 2.0
    assert float(open_land.dry_night_drop) == 0
    xr.testing.assert_equal(open_land.night_low, valley.night_low)


def test_everything_wrong_is_named_at_once():
    """Lacking variables, lacking coordinates and wrong units in one message."""
    data = season().drop_vars(["wet_share", "day_of_year"])
    data["air_temperature"].attrs["units"] = "K"
    with pytest.raises(ValueError, match="season: expected") as caught:
        conditions(data)
    for part in ("'wet_share'", "'day_of_year'", "'air_temperature' in degC, not in K"):
        assert part in str(caught.value)


def test_unknown_site_is_refused():
    """A word that is not one of ours is a mistake, not open land."""
    with pytest.raises(ValueError, match="one of valley"):
        conditions(season(), site="swamp")


@settings(max_examples=25)
@given(
    st.floats(-89, 89),
    st.integers(1, 365),
    st.floats(-50, 35),
    st.floats(1, 25),
    st.floats(0.05, 1.2),
    st.floats(0, 1),
    st.floats(0, 40),
)
def test_every_place_has_a_night(latitude, day, low, span, humidity, wet, rain):
    """From pole to pole all results are finite and in their ranges."""
    values = {
        "air_temperature": low + span / 2,
        "air_temperature_min": low,
        "air_temperature_max": low + span,
        "night_low_spread": 3.0,
        "vapour_pressure": humidity * float(saturation_vapour_pressure(low + span / 2)),
        "wet_share": wet,
        "rain_per_day": rain,
        "elevation": 0.0,
    }
    point = xr.Dataset(values, coords={"latitude": latitude, "day_of_year": day})
    night = conditions(point).map(float)
    assert all(np.isfinite(night[name]) for name in night)
    assert low <= night.coldest_hours_temperature <= night.bedtime_temperature + 1e-9
    assert night.bedtime_temperature <= low + span
    assert night.dewpoint <= night.coldest_hours_temperature + 1e-9
    assert 0 <= night.rain_in_window <= wet
    assert 0 <= night.fabric_sky_cooling <= 15
    assert night.daytime_vapour_deficit >= 0


def test_wind_of_a_site_word_does_not_borrow_another_error():
    """The temperature's stated error is no error of a guessed wind."""
    data = season()
    data["air_temperature"].attrs["uncertainty"] = "RMSE 1.1 K"
    assert conditions(data, site="plain").wind_speed.attrs["uncertainty"].startswith("not known")


def test_errors_of_the_low_are_carried():
    """The field of the climatology becomes the night's; without one there is none."""
    data = season()
    assert "low_error" not in conditions(data)
    known = data.assign(air_temperature_min_error=0.0 * data.air_temperature + 2.5)
    assert (conditions(known).low_error == 2.5).all()
