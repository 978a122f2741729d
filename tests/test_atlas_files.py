"""An atlas's files: pictures by hand, grids read back, a site that is whole or not at all."""

from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr
from atlases import Cells, block
from click.testing import CliRunner
from PIL import Image

from sheltermap.atlas import legends
from sheltermap.atlas.area import AtlasGrid, Block
from sheltermap.atlas.pictures import Painter
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.atlas.store import Store
from sheltermap.cli import main
from sheltermap.website.write import MARKER, write_site, write_site_as_made

GRID = AtlasGrid(np.array([0.0, 1.0]), np.array([10.0, 11.0, 12.0]), (1.0, 1.0))
KITS = tuple(
    SimpleNamespace(id=name, title=name, price=price)
    for name, price in (("a", 900.0), ("b", 50.0))
)


@pytest.fixture
def painter(tmp_path):
    """Return a function that paints two kits whose July is given, shape (2, rows, columns)."""

    def stored(july, other_months: int = 0, layer: str = "share") -> Painter:
        codes = np.full((2, 12, *GRID.shape), other_months, np.uint8)
        codes[:, 6] = july
        codes[:, :, np.array(july)[0] == 255] = 255
        store = Store(tmp_path / "store", GRID.shape)
        place = Block(0, 0, GRID.latitude, GRID.longitude)
        store.write(ScoredBlock(place, {layer: codes}, np.zeros(GRID.shape), np.array(0)))
        return Painter(store, GRID, KITS)

    return stored


def colours(png: bytes) -> list[list[tuple[int, ...] | None]]:
    """Return the colour of each cell, from the north-west; None where nothing is drawn."""
    with Image.open(io.BytesIO(png)) as picture:
        assert picture.mode == "P"
        pixels = np.array(picture.convert("RGBA"))
    rows, columns = GRID.shape
    height, width = pixels.shape[0] // rows, pixels.shape[1] // columns
    seen = pixels[height // 2 :: height, width // 2 :: width][:rows, :columns]
    return [[tuple(cell[:3]) if cell[3] else None for cell in row] for row in seen.tolist()]


def test_shares_are_drawn_in_steps_of_five_percent(painter):
    """0, 24.5, 25, 90 and 100 %, and a cell of the sea; the south is drawn below."""
    july = [[[0, 49, 50], [180, 200, 255]]] * 2
    found = colours(painter(july).share(0, 6))
    entries = legends.share_legend()
    want = [[18, 19, None], [0, 4, 5]]
    assert found == [
        [None if step is None else entries[step].colour for step in row] for row in want
    ]


def test_every_grade_begins_with_a_class_of_its_own():
    """90, 75 and 50 %: words and floors agree, and twenty colours differ."""
    entries = legends.share_legend()
    first = {entry.words.split(",")[0]: entry.floor for entry in reversed(entries)}
    assert first == {"sound": 0.9, "workable": 0.75, "hard": 0.5, "unfit": 0.0}
    assert len({entry.colour for entry in entries}) == 20
    assert entries[0].as_data == {"words": "unfit, 0 to 5 %", "colour": "#160c12", "floor": 0.0}


def test_the_worst_is_the_darkest():
    """A greyscale print keeps the order of grades that matters: unfit is darker than all."""
    grey = {
        entry.words: 0.299 * red + 0.587 * green + 0.114 * blue
        for entry in legends.share_legend()
        for red, green, blue in [entry.colour]
    }
    unfit = [value for words, value in grey.items() if words.startswith("unfit")]
    assert max(unfit) < min(
        value for words, value in grey.items() if not words.startswith("unfit")
    )


def test_workable_months_are_counted_and_the_best_is_named(painter):
    """July alone is workable, from 75 % on; where no month is, none is best."""
    made = painter([[[150, 149, 200], [0, 160, 255]]] * 2)
    months, best = legends.months_legend(), legends.best_legend()
    one, none = months[1].colour, months[0].colour
    assert colours(made.workable_months(0)) == [[none, one, None], [one, none, one]]
    july, no_month = best[6].colour, best[12].colour
    assert colours(made.best_month(0)) == [[no_month, july, None], [july, no_month, july]]


def test_the_cheapest_workable_kit_is_named(painter):
    """Kit a is workable in two cells, the cheaper b in one of them."""
    july = [[[160, 160, 0], [0, 0, 0]], [[0, 170, 0], [0, 0, 0]]]
    dear, cheap, none = (entry.colour for entry in legends.cheapest_legend(KITS))
    assert colours(painter(july).cheapest(6)) == [[none] * 3, [dear, cheap, none]]


@pytest.mark.parametrize("layer", ["danger", "factor"])
def test_dangers_and_factors_have_their_legends(painter, layer):
    """Code 0 is the first class of both: under 2 %, and cold; 5 of 200 is 2.5 %, or nothing."""
    made = painter([[[0, 5, 0], [0, 0, 255]]] * 2, layer=layer)
    entries = getattr(legends, f"{layer}_legend")()
    last = entries[1] if layer == "danger" else entries[5]
    found = colours(getattr(made, layer)(0, 6))
    first = entries[0].colour
    assert found == [[first, first, None], [first, last.colour, first]]


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
