"""Writing a climatology: over nothing but a climatology that was written before."""

from __future__ import annotations

import pytest
from small_trips import climate

from sheltermap.climate.writer import require_climatology_target, write_climatology
from sheltermap.vocabulary import InputError


@pytest.fixture
def small():
    """Return a climatology of a few cells."""
    return climate()


@pytest.mark.parametrize("name", ["mine.nc", "mine.zarr"])
def test_a_former_climatology_is_replaced(tmp_path, small, name):
    """Importing again with other sources is the usual way to work."""
    pytest.importorskip("zarr")
    for _ in range(2):
        write_climatology(small, tmp_path / name)
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("text", [b"notes", b"CDF\x01", b"\x89HDF\r\n\x1a\n"])
def test_a_file_of_somebody_else_is_kept(tmp_path, small, text):
    """Whether it is a climate file or not."""
    (tmp_path / "mine.nc").write_bytes(text)
    with pytest.raises(InputError, match="got a file that sheltermap did not write"):
        write_climatology(small, tmp_path / "mine.nc")
    assert (tmp_path / "mine.nc").read_bytes() == text
    assert [path.name for path in tmp_path.iterdir()] == ["mine.nc"]


def test_the_source_of_another_publisher_is_kept(tmp_path, small):
    """A downloaded file of the same form was not written by us."""
    small.to_netcdf(tmp_path / "mine.nc")
    with pytest.raises(InputError, match="did not write"):
        require_climatology_target(tmp_path / "mine.nc")


def test_a_folder_of_photographs_is_kept(tmp_path, small):
    """Its name ends in .zarr, and it is no store."""
    (tmp_path / "trip.zarr").mkdir()
    (tmp_path / "trip.zarr" / "one.jpg").write_bytes(b"x")
    with pytest.raises(InputError, match="got a folder that sheltermap did not write"):
        write_climatology(small, tmp_path / "trip.zarr")
    assert (tmp_path / "trip.zarr" / "one.jpg").read_bytes() == b"x"


def test_what_was_added_to_a_store_is_kept(tmp_path, small):
    """A store is a folder, and people put things into folders."""
    pytest.importorskip("zarr")
    write_climatology(small, tmp_path / "mine.zarr")
    (tmp_path / "mine.zarr" / "notes.txt").write_text("from the year book")
    with pytest.raises(InputError, match=r"a store with 1 more: notes\.txt"):
        write_climatology(small, tmp_path / "mine.zarr")
    assert (tmp_path / "mine.zarr" / "notes.txt").read_text() == "from the year book"


@pytest.mark.parametrize(("name", "kind"), [("a.nc", "a folder"), ("a.zarr", "a file")])
def test_the_other_kind_is_kept(tmp_path, small, name, kind):
    """A folder where a file goes, and a file where a store goes."""
    place = tmp_path / name
    place.mkdir() if kind == "a folder" else place.write_bytes(b"mine")
    with pytest.raises(InputError, match=f"got {kind}"):
        write_climatology(small, place)
    assert place.exists()
