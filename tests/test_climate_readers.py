"""Each published layout, written by formula, read back value by value."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import climate_files as layouts
import numpy as np
import pytest
import xarray as xr
from click.testing import CliRunner
from PIL import Image
from small_trips import stored

from sheltermap.air import saturation_vapour_pressure
from sheltermap.cli import main
from sheltermap.climate import contract, readers, writer
from sheltermap.climate.axes import standard_axes
from sheltermap.climate.calendar import by_month
from sheltermap.climate.completion import completed
from sheltermap.climate.formats import opened
from sheltermap.climate.recognise import recognised
from sheltermap.climate.reduction import monthly_mean
from sheltermap.climate.world import world_climatology
from sheltermap.night.conditions import conditions
from sheltermap.shelters.kit import load_kits
from sheltermap.suitability.score import score
from sheltermap.vocabulary import InputError

pytest.importorskip("dask")


def through_command(sources, folder, *options, suffix=".nc"):
    """Return what the import command wrote, read back."""
    target = folder / f"out{suffix}"
    arguments = ["climate", "import", *map(str, sources), "-o", str(target), *options]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 0, result.output
    return readers.open_climatology(target).compute()


def expected(formula, climatology):
    """Return a formula on the cells of a climatology."""
    return layouts.grid_of(formula, climatology.month, climatology.latitude, climatology.longitude)


def complaints(sources, **settings):
    """Return what an import complains about."""
    with pytest.raises(InputError) as caught:
        readers.import_sources(sources, **settings)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("time_name", "expver"), [("valid_time", True), ("time", False), ("time", "dimension")]
)
def test_era5_monthly_means(tmp_path, time_name, expver):
    """Kelvin, metres a day, latitude falling, either name of time, both versions."""
    path = layouts.era5(tmp_path / "era5.nc", (2000, 2001), time_name, expver)
    found = through_command([path], tmp_path)
    assert found.latitude.values.tolist() == [38, 38.25, 38.5, 38.75, 39, 39.25, 39.5, 39.75, 40]
    # The second of the two years is 0.2 K warmer.
    air = expected(layouts.warmth, found) + 0.1
    np.testing.assert_allclose(found["air_temperature"], air, atol=1e-3)
    np.testing.assert_allclose(found["rainfall"], expected(layouts.rain, found), rtol=1e-4)
    # Mean of the vapour pressures of two years whose dewpoints lie 0.1 K to either side.
    vapour = saturation_vapour_pressure(air - 6)
    np.testing.assert_allclose(found["vapour_pressure"], vapour, rtol=1e-3)
    np.testing.assert_allclose(found["wind_speed"], 5.0)
    assert found.attrs["period"] == "2000-2001"
    assert "estimated" not in found["air_temperature"].attrs
    assert "estimated" not in found["vapour_pressure"].attrs
    for name in ("air_temperature_min", "wet_days", "night_low_spread", "wind_speed"):
        assert found[name].attrs["estimated"], name


def test_era5_longitudes_from_0_to_360(tmp_path):
    """A world that starts at Greenwich and a box west of it: the right cells, in order."""
    path = tmp_path / "era5.nc"
    layouts.era5(path)
    with xr.open_dataset(path) as source:
        moved = source.assign_coords(longitude=(source.longitude - 40) % 360)
        moved = moved.sortby("longitude").load()
    moved.to_netcdf(tmp_path / "moved.nc")
    found = contract.check(completed(recognised_months(tmp_path / "moved.nc")))
    assert found.longitude.values.tolist() == np.arange(-8, -5.75, 0.25).tolist()
    # The first longitude there was 32 in the original.
    np.testing.assert_allclose(
        found["air_temperature"][:, 0, 0], layouts.warmth(layouts.MONTHS, 38, 32) + 0.1, atol=1e-3
    )


def recognised_months(path):
    """Return the quantities of one file along months, without the comparison that follows."""
    source = opened([path])[0]
    dataset = standard_axes(source.dataset, source.label, None).load()
    return {name: monthly_mean(array) for name, array in recognised(dataset, "")[0].items()}


def test_era5_by_hour_measures_the_course_of_the_day(tmp_path):
    """A cosine that peaks at 14:30 solar time is found again in every cell's own hours."""
    path = layouts.era5_by_hour(tmp_path / "hours.nc", amplitude=8.0, peak=14.5)
    found = through_command([path], tmp_path)
    np.testing.assert_allclose(
        found["air_temperature"], expected(layouts.warmth, found), atol=0.01
    )
    np.testing.assert_allclose(found["rainfall"], expected(layouts.rain, found), rtol=1e-3)
    low, high = found["air_temperature_min"], found["air_temperature_max"]
    course = low + found["hourly_share"] * (high - low)
    solar = np.cos((found["solar_hour"] - 14.5) / 12 * np.pi)
    np.testing.assert_allclose(
        course, (found["air_temperature"] + 4 * solar).transpose(*course.dims), atol=0.05
    )
    # The range of single days: sqrt((1.11 x 8)^2 + (0.9 x spread)^2), hours sampled.
    daily = np.sqrt((1.11 * 8) ** 2 + (0.9 * found["night_low_spread"]) ** 2)
    np.testing.assert_allclose(high - low, daily, rtol=0.02)
    assert low.attrs["estimated"] == "from the measured course of the day"


def test_cru_ts(tmp_path):
    """Classic files beside station counts; vapour in hPa; their wet days are not ours."""
    paths = layouts.cru_ts(tmp_path)
    found = through_command(paths, tmp_path)
    air = expected(layouts.warmth, found)
    for name, shift in (("", 0), ("_min", -5), ("_max", 6)):
        np.testing.assert_allclose(found[f"air_temperature{name}"], air + shift, atol=1e-4)
    np.testing.assert_allclose(found["rainfall"], expected(layouts.rain, found), rtol=1e-5)
    np.testing.assert_allclose(
        found["vapour_pressure"], expected(layouts.vapour, found), rtol=1e-5
    )
    # The file says 29 wet days of 0.1 mm; days of 1 mm are estimated.
    assert float(found["wet_days"].max()) < 20
    assert found["wet_days"].attrs["estimated"]
    # Every year is alike in this file.
    np.testing.assert_allclose(found["yearly_spread"], 0.0, atol=1e-5)


def test_worldclim_geotiff_set(tmp_path):
    """A folder of one raster a variable and month, with the heights of the cells."""
    layouts.worldclim(tmp_path)
    found = through_command([tmp_path], tmp_path)
    air = expected(layouts.warmth, found)
    assert found.sizes == {"month": 12, "latitude": 12, "longitude": 12}
    for name, shift in (("", 0), ("_min", -5), ("_max", 6)):
        np.testing.assert_allclose(found[f"air_temperature{name}"], air + shift, atol=1e-4)
    np.testing.assert_allclose(found["rainfall"], expected(layouts.rain, found), rtol=1e-5)
    np.testing.assert_allclose(
        found["vapour_pressure"], expected(layouts.vapour, found), rtol=1e-5
    )
    np.testing.assert_allclose(found["wind_speed"], 2.5)
    heights = 900 + found.latitude.values[:, None] + 0 * found.longitude.values
    np.testing.assert_allclose(found["elevation"], heights, rtol=1e-5)


def test_terraclimate_normals(tmp_path):
    """Packed integers; the mean follows from minimum and maximum and says so."""
    paths = layouts.terraclimate(tmp_path)
    found = through_command(paths, tmp_path)
    air = expected(layouts.warmth, found)
    np.testing.assert_allclose(found["air_temperature_min"], air - 5, atol=0.006)
    np.testing.assert_allclose(found["air_temperature_max"], air + 6, atol=0.006)
    # 0.495 of a range of 11 K above the minimum: 0.445 K above the formula.
    np.testing.assert_allclose(found["air_temperature"], air + 0.445, atol=0.011)
    assert found["air_temperature"].attrs["estimated"] == "from minimum and maximum"
    np.testing.assert_allclose(found["rainfall"], expected(layouts.rain, found), atol=0.051)
    np.testing.assert_allclose(
        found["vapour_pressure"], expected(layouts.vapour, found), atol=6e-4
    )
    assert found.attrs["period"] == "as published"


def test_any_cf_climatology(tmp_path):
    """Standard names and cell methods decide, whatever the variables are called."""
    latitude, longitude = np.arange(38, 40.5, 0.5), np.arange(32, 34.5, 0.5)
    layouts.cf_months(latitude, longitude).to_netcdf(tmp_path / "cf.nc")
    found = through_command([tmp_path / "cf.nc"], tmp_path)
    air = expected(layouts.warmth, found)
    np.testing.assert_allclose(found["air_temperature"], air, atol=1e-3)
    np.testing.assert_allclose(found["air_temperature_min"], air - 5, atol=1e-3)
    np.testing.assert_allclose(found["air_temperature_max"], air + 6, atol=1e-3)
    # The flux is that of a 30-day month, so January holds 31/30 of the formula.
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])[:, None, None]
    wet = expected(layouts.rain, found) * days / 30
    np.testing.assert_allclose(found["rainfall"], wet, rtol=1e-5)
    np.testing.assert_allclose(
        found["vapour_pressure"], expected(layouts.vapour, found), rtol=1e-5
    )


def test_series_over_a_period_keeps_its_yearly_spread(tmp_path):
    """Six years that warm by 0.2 K each: the last five average 0.6 K more, spread 0.316 K."""
    path = layouts.era5(tmp_path / "era5.nc", (2000, 2005))
    found = through_command([path], tmp_path, "--period", "2001-2005")
    air = expected(layouts.warmth, found) + 0.6
    np.testing.assert_allclose(found["air_temperature"], air, atol=1e-3)
    # Standard deviation of 0.2, 0.4 ... 1.0: 0.2 x sqrt(2.5).
    np.testing.assert_allclose(found["yearly_spread"], 0.2 * 2.5**0.5, atol=1e-3)
    assert found.attrs["period"] == "2001-2005"


def test_years_in_files_of_their_own_are_joined(tmp_path):
    """Downloads come a year a file, in any order."""
    whole = layouts.era5(tmp_path / "whole.nc", (2000, 2001))
    with xr.open_dataset(whole) as source:
        for year in (2000, 2001):
            source.sel(valid_time=str(year)).to_netcdf(tmp_path / f"part{year}.nc")
    joined = readers.import_sources([tmp_path / "part2001.nc", tmp_path / "part2000.nc"])
    xr.testing.assert_allclose(joined.compute(), readers.import_sources([whole]).compute())


def test_box_is_kept_with_one_cell_around(tmp_path):
    """The option cuts, the rest is never read."""
    path = layouts.era5(tmp_path / "era5.nc")
    found = through_command([path], tmp_path, "--bbox", "32.9,38.9,33.1,39.1")
    assert found.latitude.values.tolist() == [38.75, 39.0, 39.25]
    assert found.longitude.values.tolist() == [32.75, 33.0, 33.25]


def test_relative_humidity_of_the_embedded_data_fills_in(tmp_path):
    """A source without humidity: the embedded humidity on the source's own warmth, marked."""
    latitude, longitude = np.arange(38, 40.5, 0.5), np.arange(32, 34.5, 0.5)
    layouts.cf_months(latitude, longitude).drop_vars("e").to_netcdf(tmp_path / "dry.nc")
    found = readers.import_sources([tmp_path / "dry.nc"]).compute()
    # Both grids have these nodes, so nothing is interpolated.
    world = world_climatology((32, 38, 34, 40)).sel(latitude=latitude, longitude=longitude)
    share = world["vapour_pressure"] / saturation_vapour_pressure(world["air_temperature"])
    pressure = share * saturation_vapour_pressure(found["air_temperature"])
    np.testing.assert_allclose(found["vapour_pressure"], pressure, rtol=1e-6)
    assert "relative humidity of the embedded" in found["vapour_pressure"].attrs["estimated"]


def test_formats_agree(tmp_path):
    """The same numbers as rasters, as NetCDF and as Zarr give the same climate and scores."""
    layouts.worldclim(tmp_path, ("tavg", "prec", "vapr", "wind"))
    rasters = readers.import_sources([tmp_path]).compute()
    names = ("air_temperature", "rainfall", "vapour_pressure", "elevation", "wind_speed")
    plain = rasters[list(names)]
    plain.to_netcdf(tmp_path / "same.nc")
    plain.to_zarr(tmp_path / "same.zarr", consolidated=False)
    for name in ("same.nc", "same.zarr"):
        other = readers.import_sources([tmp_path / name]).compute()
        assert set(other) == set(rasters)
        for variable in rasters:
            np.testing.assert_allclose(other[variable], rasters[variable], rtol=0, atol=1e-6)
        np.testing.assert_allclose(sound_share(other), sound_share(rasters), rtol=0, atol=1e-6)


def sound_share(climatology):
    """Return the share of sound nights in the first shipped kit."""
    kit = next(iter(load_kits().values()))
    return score(conditions(by_month(climatology)), kit)["sound_share"]


@pytest.mark.parametrize(
    ("free", "said"), [(0, "No space left on device"), (2**30, "Permission denied")]
)
def test_a_full_disk_is_told_as_such_and_leaves_the_former_file(tmp_path, monkeypatch, free, said):
    """NetCDF's own word for it is a lack of rights, seen on a full file system."""
    path = stored(tmp_path)
    before = path.read_bytes()

    def refused(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(xr.Dataset, "to_netcdf", refused)
    monkeypatch.setattr(writer.shutil, "disk_usage", lambda _: SimpleNamespace(free=free))
    with pytest.raises(InputError) as caught:
        stored(tmp_path, mean=20.0)
    (problem,) = caught.value.problems
    assert (problem.file, problem.got) == (str(path), said)
    assert path.read_bytes() == before and list(tmp_path.iterdir()) == [path]


def test_zarr_in_memory_opens_by_its_address():
    """Cloud stores open through fsspec; its in-memory file system needs no cloud."""
    pytest.importorskip("zarr")
    latitude, longitude = np.arange(38, 40.5, 0.5), np.arange(32, 34.5, 0.5)
    address = "memory://climate/months.zarr"
    layouts.cf_months(latitude, longitude).to_zarr(address, mode="w", consolidated=False)
    found = readers.import_sources([address])
    air = expected(layouts.warmth, found)
    np.testing.assert_allclose(found["air_temperature"], air, atol=1e-3)


def test_another_process_gives_the_same_numbers(tmp_path, monkeypatch):
    """An active cluster works out and writes what was imported, and nothing changes."""
    monkeypatch.setattr(readers, "SMALL", 0)
    distributed = pytest.importorskip("distributed")
    lazy = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    alone = lazy.compute()
    cluster = distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None
    )
    with cluster, distributed.Client(cluster):
        writer.write_climatology(lazy, tmp_path / "out.nc")
        xr.testing.assert_identical(lazy.compute(), alone)
    written = readers.open_climatology(tmp_path / "out.nc").compute()
    xr.testing.assert_allclose(written, alone, rtol=1e-6)


def test_zarr_output_holds_the_same(tmp_path):
    """Either ending may be asked for."""
    path = layouts.era5(tmp_path / "era5.nc")
    stored = through_command([path], tmp_path, suffix=".zarr")
    xr.testing.assert_allclose(stored, readers.import_sources([path]).compute())


def test_wrong_unit_is_named(tmp_path):
    """Kelvin that claim to be degC: what the numbers look like, exit code 2, no file."""
    path = layouts.era5(tmp_path / "era5.nc")
    with xr.open_dataset(path) as source:
        wrong = source.load()
    wrong["t2m"].attrs["units"] = "degC"
    wrong.to_netcdf(tmp_path / "wrong.nc")
    arguments = ["climate", "import", str(tmp_path / "wrong.nc"), "-o", str(tmp_path / "out.nc")]
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 2
    assert "t2m.units: expected 'K', as the numbers are, got 'degC'" in result.output
    assert not (tmp_path / "out.nc").exists()


def test_unknown_unit_lists_what_is_known(tmp_path):
    """A unit nobody can guess, and none at all, are both told."""
    path = layouts.era5(tmp_path / "era5.nc")
    with xr.open_dataset(path) as source:
        wrong = source.load()
    wrong["t2m"].attrs["units"] = "decikelvin"
    del wrong["tp"].attrs["units"]
    wrong.to_netcdf(tmp_path / "wrong.nc")
    found = complaints([tmp_path / "wrong.nc"])
    assert "t2m.units: expected units such as 'degc'" in found[0] and "'decikelvin'" in found[0]
    assert "tp.units: expected units such as 'mm'" in found[1] and "got none" in found[1]


def test_rain_of_the_wrong_span_is_named(tmp_path):
    """Metres a day that claim to be a month: a thirtieth of any rain there."""
    path = layouts.era5(tmp_path / "era5.nc")
    with xr.open_dataset(path) as source:
        wrong = source.load()
    wrong["tp"].attrs["units"] = "m month-1"
    wrong.to_netcdf(tmp_path / "wrong.nc")
    (found,) = complaints([tmp_path / "wrong.nc"])
    assert "rainfall: expected yearly rain within 8 times" in found
    assert "of a month, a day or an hour" in found


def test_missing_month_is_named(tmp_path):
    """A series without July, and a set of rasters without it."""
    path = layouts.era5(tmp_path / "era5.nc")
    with xr.open_dataset(path) as source:
        source.isel(valid_time=source.valid_time.dt.month != 7).to_netcdf(tmp_path / "holed.nc")
    (found,) = complaints([tmp_path / "holed.nc"])
    assert "time: expected all twelve months, got no month 7" in found
    rasters = tmp_path / "rasters"
    rasters.mkdir()
    layouts.worldclim(rasters, ("tavg", "prec", "vapr"))
    (rasters / "wc2.1_10m_prec_07.tif").unlink()
    (found,) = complaints([rasters])
    assert "rainfall: expected all twelve months, got no month 7" in found
    assert "wc2.1_10m_prec_01.tif" in found


def test_what_the_embedded_data_can_stand_in_for_is_not_asked_for(tmp_path):
    """Humidity is taken from them, so rain alone is missing here."""
    rasters = layouts.worldclim(tmp_path, ("tmin", "tmax"), elevation=False)
    (found,) = complaints(rasters)
    assert "rainfall: expected this variable, got none. Add the " in found


@pytest.mark.parametrize(
    ("box", "words"),
    [
        # The Tibetan plateau laid over warm lowland, and Arabia over the open ocean.
        ((80.0, 30.0, 100.0, 36.0), "K in the median"),
        ((42.0, 18.0, 52.0, 28.0), "no land there"),
    ],
)
def test_shifted_longitudes_are_recognised(tmp_path, box, words):
    """A grid labelled half a world off has another climate there, and the reason is given."""
    there = world_climatology(box)[["air_temperature", "rainfall", "vapour_pressure"]]
    there = there.assign_coords(longitude=there.longitude - 180)
    there.to_netcdf(tmp_path / "shifted.nc")
    (found,) = complaints([tmp_path / "shifted.nc"])
    assert "air_temperature: expected temperatures within 10 K" in found
    assert words in found
    assert "longitudes are shifted by 180 degrees" in found


@pytest.mark.parametrize("small", [readers.SMALL, 0])
def test_truncated_files_are_named(tmp_path, monkeypatch, small):
    """Three quarters of a NetCDF file of either kind and of a raster, read at once or not."""
    monkeypatch.setattr(readers, "SMALL", small)
    paths = [layouts.era5(tmp_path / "era5.nc"), layouts.cru_ts(tmp_path)[0]]
    paths += layouts.worldclim(tmp_path, names=())
    for path in paths:
        path.write_bytes(path.read_bytes()[: path.stat().st_size * 3 // 4])
        (found,) = complaints([path])
        assert str(path) in found
        assert "truncated or damaged" in found


def test_overlapping_files_are_refused(tmp_path):
    """A month that two files hold is not counted twice."""
    path = layouts.era5(tmp_path / "era5.nc")
    (tmp_path / "again.nc").write_bytes(path.read_bytes())
    found = complaints([path, tmp_path / "again.nc"])
    assert any("expected each time once" in text and "2000-01-01" in text for text in found)


def test_other_grids_are_refused(tmp_path):
    """Heights of another grid cannot be laid over silently."""
    path = layouts.era5(tmp_path / "era5.nc")
    layouts.worldclim(tmp_path, names=())
    (found,) = complaints([path, tmp_path / "wc2.1_10m_elev.tif"])
    assert "elevation: expected the grid of air_temperature (9 x 9 cells), got 12 x 12" in found


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("absent.nc", None, "nothing there"),
        ("data.zip", b"PK", "Unpack it first"),
        ("data.grib", b"GRIB", "a NetCDF (.nc), GeoTIFF (.tif) or Zarr source"),
        ("odd.tif", b"II", "a name that ends in variable and month"),
    ],
)
def test_sources_that_cannot_be_read(tmp_path, name, content, words):
    """Each says what would be read instead."""
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    assert words in complaints([path])[0]


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
@pytest.mark.parametrize("width", [4, 8])
def test_a_raster_of_several_pictures_is_refused(tmp_path, width):
    """A TIFF may hold pages, of one size or not; which is the month's nobody can tell."""
    path = tmp_path / "wc2.1_10m_tmin_01.tif"
    first, second = (Image.fromarray(np.zeros((4, size), np.float32)) for size in (4, width))
    first.save(path, save_all=True, append_images=[second])
    (found,) = complaints([path])
    assert "expected one raster, got several in one file" in found


def test_all_sources_are_checked_before_giving_up(tmp_path):
    """Two bad files, two complaints."""
    found = complaints([tmp_path / "a.nc", tmp_path / "b.nc"])
    assert len(found) == 2


def test_outside_the_box_is_told(tmp_path):
    """A box the source does not reach names what it covers."""
    path = layouts.era5(tmp_path / "era5.nc")
    (found,) = complaints([path], box=(100.0, 10.0, 101.0, 11.0))
    assert "latitudes 38 to 40 and longitudes 32 to 34" in found


def test_period_without_years_is_told(tmp_path):
    """The years there are stand in the message."""
    path = layouts.era5(tmp_path / "era5.nc")
    (found,) = complaints([path], period=(1961, 1990))
    assert "expected years within 1961-1990, got 2000-2001" in found


def test_period_of_sources_without_years_is_refused(tmp_path):
    """A wish that nothing can follow is not passed over in silence."""
    climatology = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    writer.write_climatology(climatology, tmp_path / "mine.nc")
    (found,) = complaints([tmp_path / "mine.nc"], period=(1991, 2020))
    assert "--period: expected a series of years" in found


def test_attributes_that_are_no_text_are_read_as_text(tmp_path):
    """Whatever stands where words belong, it is shown, or refused by name."""
    climatology = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    climatology.attrs |= {"source": 5, "period": np.array([1991, 2020])}
    climatology["rainfall"].attrs |= {"units": np.array([1, 2]), "uncertainty": 2.0}
    writer.write_climatology(climatology, tmp_path / "mine.nc")
    with pytest.raises(InputError, match=r"rainfall\.units: expected 'mm', got '\[1 2\]'"):
        readers.open_climatology(tmp_path / "mine.nc")
    climatology["rainfall"].attrs["units"] = "mm"
    writer.write_climatology(climatology, tmp_path / "mine.nc")
    found = readers.open_climatology(tmp_path / "mine.nc")
    assert (found.attrs["source"], found.attrs["period"]) == ("5", "[1991 2020]")
    assert found["rainfall"].attrs["uncertainty"] == "2.0"


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (lambda it: it.assign_coords(month=it.month.astype(float)), "month"),
        (lambda it: it.isel(latitude=0), "latitude"),
        (lambda it: it.assign(rainfall=it.rainfall.astype(str)), "rainfall"),
        (lambda it: it.assign(rainfall=it.rainfall.expand_dims(band=2)), "rainfall"),
    ],
)
def test_a_file_of_another_form_is_sent_to_the_import(tmp_path, change, key):
    """Someone else's file is told apart before anything is computed from it."""
    change(readers.import_sources([layouts.era5(tmp_path / "era5.nc")])).to_netcdf(
        tmp_path / "theirs.nc"
    )
    with pytest.raises(InputError, match=rf"{key}: expected .*numbers.*climate import") as caught:
        readers.open_climatology(tmp_path / "theirs.nc", (0.0, 40.0, 1.0, 41.0))
    assert len(caught.value.problems) == 1


def test_a_climatology_without_units_is_refused_whole(tmp_path):
    """Numbers of 10 are kPa beyond all weather or fair hPa: nobody may guess, nor list one."""
    climatology = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    del climatology["vapour_pressure"].attrs["units"]
    del climatology["elevation"].attrs["units"]
    climatology["air_temperature"].attrs["units"] = "K"
    climatology.to_netcdf(tmp_path / "theirs.nc")
    result = CliRunner().invoke(
        main, ["night", "41", "1", "--climate", str(tmp_path / "theirs.nc")]
    )
    assert result.exit_code == 2
    first, *found = result.stderr.splitlines()
    assert first.startswith("3 problems")
    assert [line.partition("theirs.nc: ")[2] for line in found] == [
        "air_temperature.units: expected 'degC', got 'K'. "
        "Convert the values and correct the attribute.",
        "elevation.units: expected 'm', got none. "
        "Make sure that its values are in m, then write the attribute.",
        "vapour_pressure.units: expected 'kPa', got none. "
        "Make sure that its values are in kPa, then write the attribute.",
    ]


def test_months_by_name_are_refused(tmp_path):
    """Words have no order that a program may rely on."""
    climatology = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    named = climatology.assign_coords(month=[f"m{number}" for number in range(12)])
    named.to_netcdf(tmp_path / "theirs.nc")
    (found,) = complaints([tmp_path / "theirs.nc"])
    assert "time: expected dates, or months 1 to 12, got 'm0'" in found


def test_sources_nobody_may_read_are_named_together(tmp_path, monkeypatch):
    """What the system says of each source is told, for a folder too."""
    path = layouts.era5(tmp_path / "era5.nc")
    folder = tmp_path / "folder"
    folder.mkdir()

    def refuse(path, *_, **__):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "open", refuse)
    monkeypatch.setattr(Path, "iterdir", refuse)
    found = complaints([path, folder])
    assert [text.partition(": ")[0] for text in found] == [str(path), str(folder)]
    assert all("can be read, got Permission denied" in text for text in found)


@pytest.mark.parametrize("ending", ["nc", "zarr"])
def test_target_inside_a_file_is_refused(tmp_path, ending):
    """The place is at fault then, so the message names the place."""
    climatology = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(InputError, match=r"notes.*expected a place that can be written"):
        writer.write_climatology(climatology, tmp_path / "notes" / f"mine.{ending}")
    assert (tmp_path / "notes").read_text() == "mine"


def test_failed_write_leaves_the_former_file(tmp_path, monkeypatch):
    """Atomic: what stood there stays until the new one is whole."""
    climatology = readers.import_sources([layouts.era5(tmp_path / "era5.nc")])
    target = tmp_path / "mine.nc"
    writer.write_climatology(climatology, target)
    former = target.read_bytes()

    def broken(self, path, **settings):
        path.write_bytes(b"half")
        raise OSError("no space left")

    monkeypatch.setattr(xr.Dataset, "to_netcdf", broken)
    with pytest.raises(InputError, match="no space left"):
        writer.write_climatology(climatology, target)
    assert target.read_bytes() == former
    assert sorted(p.name for p in tmp_path.iterdir()) == ["era5.nc", "mine.nc"]
