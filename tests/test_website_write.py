"""Writing a site: whole or not at all, and never over what is not ours."""

from __future__ import annotations

from pathlib import Path

import pytest

from sheltermap.vocabulary import InputError
from sheltermap.website.write import (
    MARKER,
    require_file_target,
    require_site_target,
    write_file,
    write_site,
)

FIRST = {"index.html": b"first", "assets/site.css": b"p{}"}


def test_a_site_is_written_with_its_marker(tmp_path):
    """Every file arrives, and the folder says who wrote it."""
    target = write_site(FIRST, tmp_path / "build")
    assert target.joinpath("index.html").read_bytes() == b"first"
    assert target.joinpath("assets/site.css").read_bytes() == b"p{}"
    assert target.joinpath(MARKER).is_file()


def test_a_second_build_leaves_no_old_file(tmp_path):
    """A page that is gone from the plan must not stay in the folder."""
    write_site(FIRST, tmp_path / "build")
    write_site({"index.html": b"second"}, tmp_path / "build")
    assert sorted(p.name for p in (tmp_path / "build").iterdir()) == [MARKER, "index.html"]
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_a_foreign_folder_is_refused_and_untouched(tmp_path):
    """Somebody's own files are never replaced."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "one.jpg").write_bytes(b"x")
    with pytest.raises(InputError, match="a folder without"):
        write_site(FIRST, tmp_path / "photos")
    assert [p.name for p in (tmp_path / "photos").iterdir()] == ["one.jpg"]
    assert [p.name for p in tmp_path.iterdir()] == ["photos"]


def test_what_somebody_added_to_a_site_is_kept(tmp_path):
    """Photos and notes put beside the pages are not swept away by the next build."""
    target = write_site(FIRST, tmp_path / "build")
    (target / "notes").mkdir()
    (target / "notes" / "camp.txt").write_text("dry ground by the bridge")
    with pytest.raises(InputError, match=r"1 more: notes/camp\.txt"):
        write_site({"index.html": b"second"}, target)
    assert (target / "notes" / "camp.txt").read_text() == "dry ground by the bridge"
    assert target.joinpath("index.html").read_bytes() == b"first"
    (target / "notes" / "camp.txt").unlink()
    (target / ".DS_Store").write_bytes(b"")
    write_site({"index.html": b"second"}, target)
    assert target.joinpath("index.html").read_bytes() == b"second"


def test_a_file_in_the_way_is_refused(tmp_path):
    """A file of the target's name is named in the message."""
    (tmp_path / "build").write_text("mine")
    with pytest.raises(InputError, match="a file"):
        write_site(FIRST, tmp_path / "build")
    assert (tmp_path / "build").read_text() == "mine"


def test_an_empty_folder_is_taken(tmp_path):
    """People make the folder first; that is no reason to refuse."""
    (tmp_path / "build").mkdir()
    assert write_site(FIRST, tmp_path / "build").joinpath("index.html").is_file()


def test_a_failing_write_leaves_the_former_site(tmp_path, monkeypatch):
    """A full disk in the middle must not cost the site that works."""
    write_site(FIRST, tmp_path / "build")
    honest = Path.write_bytes

    def full_disk(path, content):
        if path.name == "map.html":
            raise OSError(28, "No space left on device")
        return honest(path, content)

    monkeypatch.setattr(Path, "write_bytes", full_disk)
    with pytest.raises(InputError, match="No space"):
        write_site({"index.html": b"second", "map.html": b"m"}, tmp_path / "build")
    assert (tmp_path / "build" / "index.html").read_bytes() == b"first"
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_a_failing_rename_puts_the_former_site_back(tmp_path, monkeypatch):
    """Between the two renames the former site is only aside, not lost."""
    write_site(FIRST, tmp_path / "build")
    honest = Path.rename

    def refuse_fresh(path, target):
        if path.name.endswith("-new"):
            raise OSError(13, "Permission denied")
        return honest(path, target)

    monkeypatch.setattr(Path, "rename", refuse_fresh)
    with pytest.raises(InputError, match="Permission"):
        write_site({"index.html": b"second"}, tmp_path / "build")
    assert (tmp_path / "build" / "index.html").read_bytes() == b"first"
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


@pytest.mark.parametrize("foreign", [False, True])
def test_an_interrupted_build_is_mended(tmp_path, foreign):
    """After a power cut between the renames the next build starts from the former site."""
    write_site(FIRST, tmp_path / "build")
    (tmp_path / "build").rename(tmp_path / ".build.sheltermap-old")
    (tmp_path / ".build.sheltermap-new").mkdir()
    if foreign:
        with pytest.raises(ValueError, match="inside the site"):
            write_site({"../x": b""}, tmp_path / "build")
        write_site(FIRST, tmp_path / "build")
    else:
        write_site({"index.html": b"second"}, tmp_path / "build")
    expected = b"first" if foreign else b"second"
    assert (tmp_path / "build" / "index.html").read_bytes() == expected
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


@pytest.mark.parametrize("name", ["../escape.html", "/etc/passwd", "a\\b", "C:x", ""])
def test_paths_that_leave_the_site_are_refused(tmp_path, name):
    """A name from user data must not write elsewhere."""
    with pytest.raises(ValueError, match="inside the site"):
        write_site({name: b""}, tmp_path / "build")
    assert not list(tmp_path.iterdir())


def test_paths_that_differ_in_case_only_are_refused(tmp_path):
    """On many disks the second would silently replace the first."""
    with pytest.raises(ValueError, match="twice"):
        write_site({"a.html": b"", "A.html": b""}, tmp_path / "build")


@pytest.mark.parametrize(
    "write", [lambda to: write_site(FIRST, to), lambda to: write_file(b"", to)]
)
def test_a_target_inside_a_file_is_refused(tmp_path, write):
    """What the system says reaches the user as a problem of that path, and nothing is left."""
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(InputError, match=r"notes/site: expected .* can be written, got"):
        write(tmp_path / "notes" / "site")
    assert [p.name for p in tmp_path.iterdir()] == ["notes"]


@pytest.mark.parametrize("require", [require_site_target, require_file_target])
def test_asking_leaves_nothing_behind(tmp_path, require):
    """Folders on the way are made with the site, not by the question."""
    require(tmp_path / "plans" / "spring" / "site")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("require", [require_site_target, require_file_target])
def test_a_place_where_nothing_can_be_made_is_refused_when_asked(require):
    """Rights allow it, yet the system does not: a disk that is mounted to be read only."""
    nowhere = Path("/proc/self") if Path("/proc/self").is_dir() else Path("/dev/null")
    with pytest.raises(InputError, match="can be written, got"):
        require(nowhere / "plans" / "site")


def test_asking_mends_an_interrupted_build_and_keeps_the_site(tmp_path):
    """The former site may lie aside, and what was added to it is looked for there."""
    write_site(FIRST, tmp_path / "build")
    (tmp_path / "build" / "notes.txt").write_text("mine")
    (tmp_path / "build").rename(tmp_path / ".build.sheltermap-old")
    with pytest.raises(InputError, match=r"1 more: notes\.txt"):
        require_site_target(tmp_path / "build")
    assert (tmp_path / "build" / "notes.txt").read_text() == "mine"


def test_one_file_replaces_web_pages_only(tmp_path):
    """A slip of the name must not cost a trip file; an older copy is what is replaced."""
    (tmp_path / "trip.toml").write_text("title = 'mine'")
    with pytest.raises(InputError, match=r"trip\.toml: .* got a file that is no web page"):
        write_file(b"<!doctype html>new", tmp_path / "trip.toml")
    assert (tmp_path / "trip.toml").read_text() == "title = 'mine'"
    (tmp_path / "empty.html").write_bytes(b"")
    for name in ("empty.html", "plan.html", "plan.html"):
        write_file(b"<!doctype html>\nnew", tmp_path / name)
        assert (tmp_path / name).read_bytes().endswith(b"new")
    with pytest.raises(InputError, match="got a folder"):
        write_file(b"<!doctype html>", tmp_path)


def test_the_folder_one_stands_in_is_refused_where_it_cannot_be_moved(tmp_path, monkeypatch):
    """Systems forbid to rename the current folder by its dot; the former site must stay."""
    write_site(FIRST, tmp_path / "build")
    monkeypatch.chdir(tmp_path / "build")
    with pytest.raises(InputError, match="a folder that can be written"):
        write_site({"index.html": b"second"}, ".")
    assert (tmp_path / "build" / "index.html").read_bytes() == b"first"
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_the_root_is_refused():
    """There is no beside of the root, and nobody means it."""
    with pytest.raises(InputError, match="Name a folder in it"):
        write_site(FIRST, Path(Path.cwd().anchor))
