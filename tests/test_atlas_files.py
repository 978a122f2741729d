"""An atlas's files: a store, grids read back, a site that is whole or not at all."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from atlases import Cells, block
from click.testing import CliRunner

from sheltermap.atlas.area import Block
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.atlas.store import Store
from sheltermap.cli import main
from sheltermap.website.write import MARKER, write_site, write_site_as_made


def test_a_store_keeps_blocks_where_they_belong(tmp_path):
    """Two blocks side by side are one month."""
    store = Store(tmp_path / "store", (2, 4))
    for column, value in ((2, 7), (0, 3)):
        place = Block(0, column, np.zeros(2), np.zeros(2))
        codes = {"share": np.full((1, 12, 2, 2), value, np.uint8)}
        store.write(ScoredBlock(place, codes, np.full((2, 2), 1.5 * value), np.array(0)))
    assert store.month("share", 0, 11).tolist() == [[3, 3, 7, 7]] * 2
    assert store.height().tolist() == [[4.5, 4.5, 10.5, 10.5]] * 2


def built(folder, *words: str):
    """Build a small atlas and return its folder."""
    box = ["atlas", "--box", "177.5,66,-179,67", "--kits", "bedroll,roof-tent", "-q"]
    done = CliRunner().invoke(main, [*box, *words, "-o", str(folder)], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return folder


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """A small atlas over the 180th meridian with all its data."""
    pytest.importorskip("rasterio")
    return built(tmp_path_factory.mktemp("atlas") / "site", "--netcdf", "--geotiff")


def test_grids_hold_what_tiles_hold(site):
    """NetCDF and GeoTIFF, over the 180th meridian: longitudes go on, rows start in the north."""
    rasterio = pytest.importorskip("rasterio")
    cells = Cells(site)
    here = cells.at(66.5, 181.0)
    with xr.open_dataset(site / "atlas.nc") as found:
        found = found.sel(latitude=66.5, longitude=181.0)
        for name, layer in (("sound_share", "share"), ("dangerous_share", "danger")):
            np.testing.assert_allclose(found[name].values, here[layer] / 200, atol=1e-6)
        np.testing.assert_array_equal(found["limiting_factor"].values, here["factor"])
        assert float(found["elevation"]) == here["height"]
    path = site / "geotiff" / "roof-tent-sound-share.tif"
    with rasterio.open(path) as file:
        assert file.crs.to_epsg() == 4326 and file.nodata == 255 and file.scales[0] == 0.005
        values = file.read()[:, *file.index(181.0, 66.5)]
    np.testing.assert_array_equal(values, here["share"][1])
    assert {"atlas.nc", "geotiff/roof-tent-sound-share.tif"} <= set(cells.block["files"])


def test_two_builds_are_the_same_bytes(site, tmp_path):
    """Whichever processor was first."""
    other = built(tmp_path / "other", "--netcdf", "--geotiff")
    files = {path.relative_to(site) for path in site.rglob("*") if path.is_file()}
    assert len(files) > 80
    differing = [f for f in files if (site / f).read_bytes() != (other / f).read_bytes()]
    assert differing == []


def test_stored_bytes_say_what_they_mean(site):
    """Shares are half percents; a reason is one of the five, or none."""
    with xr.open_dataset(site / "atlas.nc", decode_cf=False) as stored:
        named = [array.attrs for array in stored.values() if "flag_meanings" in array.attrs]
        shares = [array.attrs for array in stored.values() if "scale_factor" in array.attrs]
    assert {one["flag_meanings"] for one in named} == {"cold heat wet wind condensation none"}
    assert [one["flag_values"].tolist() for one in named] == [[0, 1, 2, 3, 4, 5]]
    assert {round(float(one["scale_factor"]), 6) for one in shares} == {0.005}


def test_every_file_that_the_block_names_is_there(site):
    """Tiles, data and the pictures that follow from kits and months."""
    said = block(site)
    assert all((site / "tiles" / f"{name}.js").is_file() for name in said["tiles"])
    assert all((site / name).is_file() for name in said["files"])
    for kit in said["kits"]:
        for layer in ("share", "factor", "danger"):
            assert len(list((site / "maps" / kit["id"]).glob(f"{layer}-*.png"))) == 12
    assert said["compare"] == [["bedroll", "roof-tent"]]
    assert said["not_assessed"] == ["wind"]


def test_a_site_that_fails_half_way_leaves_the_former_one(tmp_path):
    """And nothing else in the folder around it."""
    target = write_site({"index.html": b"former"}, tmp_path / "site")

    def broken(work):
        (work / "grid").write_bytes(b"x" * 100)
        yield "grid", work / "grid"
        raise RuntimeError("no more")

    with pytest.raises(RuntimeError):
        write_site_as_made(broken, target)
    assert (target / "index.html").read_bytes() == b"former"
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_a_site_as_it_is_made_lists_all_it_wrote(tmp_path):
    """Bytes and moved files alike; a path twice, or out of the folder, is refused."""

    def made(work):
        (work / "grid").write_bytes(b"x")
        yield "data/grid", work / "grid"
        yield "index.html", b"y"

    target = write_site_as_made(made, tmp_path / "site")
    listed = (target / MARKER).read_text().splitlines()[1:]
    assert listed == ["data/grid", "index.html"]
    for wrong in ("../out", "a\\b", "INDEX.html"):
        with pytest.raises(ValueError, match="expected"):
            write_site_as_made(
                lambda _, wrong=wrong: [("index.html", b""), (wrong, b"")], tmp_path / "other"
            )
    assert not (tmp_path / "other").exists()
