"""The reference page says what the models accept, no more and no less."""

from __future__ import annotations

from sheltermap.reference import reference
from sheltermap.resources import bundled


def test_committed_page_is_up_to_date():
    """`make reference` was run after the last change of a model."""
    assert (bundled("regions") / "REFERENCE.md").read_text("utf-8") == reference()


def test_every_key_says_what_it_means():
    """A key without a meaning sends the reader to the source."""
    rows = [line for line in reference().splitlines() if line.startswith("| `")]
    assert rows
    assert [row for row in rows if row.endswith("|  |")] == []


def test_units_ranges_and_defaults_are_printed():
    """A key's row answers what to write without a try."""
    page = reference()
    assert '| `sleep_from` | clock time "HH:MM" | `"22:00"` | local solar time |' in page
    assert "| `people` | whole number, at least 1, at most 20 | `2` |" in page
    assert "| `prohibitive` |" not in page
    assert "`advisory` \\| `serious` \\| `prohibitive` \\| `closure` \\| `none`" in page
