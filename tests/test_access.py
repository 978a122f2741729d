"""Places on disk that cannot be looked at."""

from __future__ import annotations

from pathlib import Path

from sheltermap.access import in_folder


def test_a_path_that_cannot_be_looked_at_stands_for_itself(tmp_path, monkeypatch):
    """Whether it is a folder is told only where the folder around it may be entered."""
    assert in_folder(tmp_path, "trip.toml") == tmp_path / "trip.toml"

    def refuse(path):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "is_dir", refuse)
    assert in_folder(tmp_path, "trip.toml") == tmp_path
