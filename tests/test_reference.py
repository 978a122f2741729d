"""The reference page says what the models accept, no more and no less."""

from __future__ import annotations

import re

import xarray as xr

from sheltermap.climate.error import stated_error
from sheltermap.reference import reference
from sheltermap.resources import bundled
from sheltermap.shelters.kit import BEDDING_WORDS, load_addons


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
    assert (
        '| `sleep_from` | clock time "HH:MM" | `"22:00"` | lying down, local solar time, 15'
        in page
    )
    assert "| `people` | whole number, at least 1, at most 20 | `2` |" in page
    assert "| `prohibitive` |" not in page
    assert "`advisory` \\| `serious` \\| `prohibitive` \\| `closure` \\| `none`" in page


def test_words_that_a_key_takes_are_listed():
    """Whoever writes by hand cannot guess them."""
    trip = reference().partition("## A kit file")[0]
    rows = [line for line in trip.splitlines() if line.startswith(("| `bedding`", "| `addons`"))]
    common, addons, _, _, own = rows  # Those of the log refer to them.
    assert all(f'`"{word}"`' in row for row in (common, own) for word in BEDDING_WORDS)
    assert all(f"`{addon}`" in addons for addon in load_addons())


def test_lists_count_items():
    """A list of points has no characters."""
    assert (
        "list of [latitude, longitude] or name, at least 1 item, at most 1,000 items"
        in reference()
    )


def test_figures_nobody_gave_say_whose_they_are():
    """A default that is a number has a source, or is named as practice or judgement."""
    trip = reference().partition("## A kit file")[0]
    figures = [row for row in trip.splitlines() if re.search(r"\| `(?!0`)[0-9.]+` \|", row)]
    assert len(figures) > 30
    unmarked = [row for row in figures if not re.search(r"\((judgement|common practice|WHO)", row)]
    assert [row.split("`")[1] for row in unmarked] == ["people"]


def test_climate_files_are_described():
    """What an import knows by name is listed, as is how a file states its own error."""
    climate = reference().partition("## Climate files")[2]
    assert "| `rainfall` | `tp` `pre` `prec`" in climate and "`dew_point_temperature` |" in climate
    stated = re.search("`(RMSE [^`]+)`", climate)[1]
    assert stated_error(xr.DataArray(1.0, attrs={"uncertainty": stated})) == 1.2
