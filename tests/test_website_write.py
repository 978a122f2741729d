"""Writing a site: whole or not at all, and never over what is not ours."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from sheltermap.output import Output, replace
from sheltermap.vocabulary import InputError
from sheltermap.website.write import (
    GENERATOR,
    MARKER,
    require_file_target,
    require_site_target,
    write_file,
    write_site,
)

PAGE = b"<!doctype html>" + GENERATOR
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
        if path.name == "new":
            raise OSError(13, "Permission denied")
        return honest(path, target)

    monkeypatch.setattr(Path, "rename", refuse_fresh)
    with pytest.raises(InputError, match="Permission"):
        write_site({"index.html": b"second"}, tmp_path / "build")
    assert (tmp_path / "build" / "index.html").read_bytes() == b"first"
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def _killed_between_the_renames(target: Path) -> Path:
    """Leave what a process leaves that dies when the former site is aside; return its room."""
    room = target.with_name(f".{target.name}.sheltermap-abcd1234")
    room.mkdir()
    target.rename(room / "former")
    (room / "new").mkdir()
    return room


def test_an_interrupted_build_is_mended(tmp_path):
    """After a power cut between the renames the next build starts from the former site."""
    write_site(FIRST, tmp_path / "build")
    _killed_between_the_renames(tmp_path / "build")
    require_site_target(tmp_path / "build")
    assert (tmp_path / "build" / "index.html").read_bytes() == b"first"
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_a_half_written_site_of_a_killed_build_is_removed(tmp_path):
    """A kill may leave a complete hidden copy; the next build takes it away."""
    write_site(FIRST, tmp_path / "build")
    left = tmp_path / ".build.sheltermap-abcd1234" / "new"
    left.mkdir(parents=True)
    (left / "index.html").write_bytes(b"half")
    write_site({"index.html": b"second"}, tmp_path / "build")
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_a_workroom_in_use_is_left_alone(tmp_path):
    """What another build is writing at the moment is not taken for what a kill left."""
    seen = []

    def fill(path):
        path.write_bytes(b"slow")
        seen.extend(p.name for p in tmp_path.iterdir())
        require_file_target(tmp_path / "plan.html")  # another build, at the same time
        assert path.read_bytes() == b"slow"

    output = Output("a file", lambda place: None)
    replace(tmp_path / "plan.html", output, fill)
    assert len(seen) == 1
    assert (tmp_path / "plan.html").read_bytes() == b"slow"
    assert [p.name for p in tmp_path.iterdir()] == ["plan.html"]


def test_builds_at_the_same_time_follow_each_other(tmp_path):
    """Whatever the overlap, the folder holds one whole site at the end, and nothing else."""
    sites = [
        {f"{name}.html": str(number).encode() for name in "abcdefgh"} | {"same": b"%d" % number}
        for number in range(4)
    ]
    for _ in range(10):
        with ThreadPoolExecutor(4) as pool:
            list(pool.map(lambda files: write_site(files, tmp_path / "build"), sites))
        held = {path.read_bytes() for path in (tmp_path / "build").glob("*.html")}
        assert held == {(tmp_path / "build" / "same").read_bytes()}
        assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_a_link_stays_a_link(tmp_path):
    """People link the folder of their web server; the site goes where the link leads."""
    (tmp_path / "served").mkdir()
    (tmp_path / "build").symlink_to("served/site")
    for text in (b"first", b"second"):
        write_site({"index.html": text}, tmp_path / "build")
        assert (tmp_path / "served" / "site" / "index.html").read_bytes() == text
    assert (tmp_path / "build").is_symlink()
    (tmp_path / "plan.html").symlink_to("served/plan.html")
    for text in (PAGE, PAGE + b"second"):
        write_file(text, tmp_path / "plan.html")
        assert (tmp_path / "served" / "plan.html").read_bytes() == text
    assert (tmp_path / "plan.html").is_symlink()


def test_permissions_stay(tmp_path):
    """A folder that only its owner may read is not opened to all by the next build."""
    target = write_site(FIRST, tmp_path / "build")
    target.chmod(0o2750)
    (target / "assets").chmod(0o700)
    (target / "index.html").chmod(0o640)
    write_site(FIRST | {"new.html": b""}, target)
    modes = [(target / name).stat().st_mode & 0o7777 for name in (".", "assets", "index.html")]
    assert modes == [0o2750, 0o700, 0o640]
    umask = os.umask(0)
    os.umask(umask)
    assert (target / "new.html").stat().st_mode & 0o777 == 0o666 & ~umask


@pytest.mark.parametrize("marker", ["", "mine", "This folder"])
def test_a_marker_that_is_not_ours_protects(tmp_path, marker):
    """An empty file of that name in a folder of photographs does not make it a site."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / MARKER).write_text(marker)
    (tmp_path / "photos" / "one.jpg").write_bytes(b"x")
    with pytest.raises(InputError, match="lists no files of a site"):
        write_site(FIRST, tmp_path / "photos")
    assert (tmp_path / "photos" / "one.jpg").read_bytes() == b"x"


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
    "write", [lambda to: write_site(FIRST, to), lambda to: write_file(PAGE, to)]
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
    _killed_between_the_renames(tmp_path / "build")
    with pytest.raises(InputError, match=r"1 more: notes\.txt"):
        require_site_target(tmp_path / "build")
    assert (tmp_path / "build" / "notes.txt").read_text() == "mine"


def test_one_file_replaces_pages_of_ours_only(tmp_path):
    """A slip of the name costs neither a trip file nor somebody's own web page."""
    mine = {"trip.toml": b"title = 'mine'", "home.html": b"<!doctype html><title>mine</title>"}
    for name, text in mine.items():
        (tmp_path / name).write_bytes(text)
        with pytest.raises(InputError, match=f"{name}: .* that sheltermap did not write"):
            write_file(PAGE, tmp_path / name)
        assert (tmp_path / name).read_bytes() == text
    (tmp_path / "empty.html").write_bytes(b"")
    for name in ("empty.html", "plan.html", "plan.html"):
        write_file(PAGE + b"new", tmp_path / name)
        assert (tmp_path / name).read_bytes().endswith(b"new")
    with pytest.raises(InputError, match="got a folder"):
        write_file(PAGE, tmp_path)


def test_the_folder_one_stands_in_is_replaced(tmp_path, monkeypatch):
    """Its dot is a name like any other."""
    write_site(FIRST, tmp_path / "build")
    monkeypatch.chdir(tmp_path / "build")
    write_site({"index.html": b"second"}, ".")
    assert (tmp_path / "build" / "index.html").read_bytes() == b"second"
    assert [p.name for p in tmp_path.iterdir()] == ["build"]


def test_the_root_is_refused():
    """There is no beside of the root, and nobody means it."""
    with pytest.raises(InputError, match="Name a folder in it"):
        write_site(FIRST, Path(Path.cwd().anchor))
