"""The evaluation's own arithmetic, and that it runs."""

from __future__ import annotations

import re
from pathlib import Path

import evaluate
import numpy as np
import pytest
from climates import whole_world

from sheltermap.climate.error import error_of
from sheltermap.climate.estimate import ESTIMATES


def test_reliability_by_hand():
    """Three months said 0.04 and seen 0.10, one said 0.6 and seen 0.4."""
    said = np.array([0.03, 0.04, 0.05, 0.6])
    seen = np.array([0.0, 0.1, 0.2, 0.4])
    rows, distance = evaluate.reliability(said, seen)
    assert [row[2] for row in rows] == [3, 1]
    assert rows[0][:2] == pytest.approx((0.04, 0.1))
    # (3 x 0.06 + 1 x 0.2) / 4
    assert distance == pytest.approx(0.095)


def test_missing_observations_are_left_out():
    """A month without rain gauge counts nowhere."""
    place = {"rain": (np.array([1.0, 2.0, 3.0]), np.array([2.0, np.nan, 3.0]))}
    said, seen = evaluate.together({"a": place, "b": place}, "rain")
    assert said.tolist() == [1.0, 3.0, 1.0, 3.0]
    assert seen.tolist() == [2.0, 3.0, 2.0, 3.0]
    table = evaluate.error_table({"a": place}, {"rain": evaluate.Quantity("rain", "mm", "", 0.5)})
    # Errors -1 and 0: bias -0.5, root mean square 0.707.
    assert table[-1] == "|rain|2|-0.5 mm|0.707 mm|0.5|**no**|"


def test_typical_year_is_read_on_solar_time(tmp_path):
    """A file whose hours count up: 22:00 solar on a zone's own meridian is 22 by its clock."""
    header = [["LOCATION", "Place", "-", "-", "-", "0", "41.0", "30.0", "2.0", "50.0"]]
    header += [["-"]] * 7
    rows = [
        ["2001", str(month), str(day), str(hour), "0", "-", str(hour), "5.0"]
        for month in range(1, 13)
        for day in range(1, 29)
        for hour in range(1, 25)
    ]
    path = tmp_path / "place.epw"
    path.write_text("\n".join(",".join(row) for row in header + rows), encoding="latin-1")
    ((said, seen),) = [place["bedtime"] for place in evaluate.typical_years([path]).values()]
    np.testing.assert_allclose(seen, 22.0)
    assert said.shape == (12,)
    ((_, lowest),) = [place["minimum"] for place in evaluate.typical_years([path]).values()]
    np.testing.assert_allclose(lowest, 1.0)


def test_report_writes_words_and_picture(tmp_path):
    """Both files stand there and the goals are judged."""
    pytest.importorskip("matplotlib")
    text = evaluate.report(tmp_path)
    assert (tmp_path / "evaluation.md").read_text(encoding="utf-8") == text
    for picture in ("evaluation.png", "snow_roads.png"):
        assert (tmp_path / picture).stat().st_size > 10_000
    assert "|mean daily minimum|60|" in text


WORLD = Path(__file__).parents[1] / "regions" / "world"


def test_accuracy_gives_the_figures_of_the_evaluation_and_those_stated():
    """Two samples, two sets of figures: the page says what each is, and both are true."""
    readme = (WORLD / "ACCURACY.md").read_text(encoding="utf-8")
    measured = dict(re.findall(r"^\| (.+?) \| ([0-9.]+)\b", readme, re.M))
    stations = evaluate.pairs(
        "station_months.csv", evaluate.STATION_QUANTITIES, evaluate.station_estimates
    )
    sites = evaluate.pairs(
        "site_months.csv",
        evaluate.SITE_QUANTITIES,
        evaluate.site_estimates,
        lambda rows: not rows[0]["excluded_from_fit"],
    )
    for title, found, key in (
        ("mean daily minimum", stations, "minimum"),
        ("mean daily maximum", stations, "maximum"),
        ("day-to-day spread of the minimum", stations, "spread"),
        ("dewpoint (18 sites)", sites, "dewpoint"),
        ("rain of the month", stations, "rain"),
        ("days with at least 1 mm", stations, "wet_days"),
        ("share of nights below 5 °C", stations, "below_5"),
        ("share of days above 10 mm", stations, "above_10"),
    ):
        said, seen = evaluate.together(found, key)
        decimals = len(measured[title].partition(".")[2])
        assert f"{np.sqrt(((said - seen) ** 2).mean()):.{decimals}f}" == measured[title], title
    stated = " ".join(readme.split())
    for name, words in (
        ("air_temperature_min", "{:g} K for the minimum"),
        ("air_temperature_max", "{:g} K for the maximum"),
        ("night_low_spread", "{:g} K for the spread"),
        ("vapour_pressure", "{:g} K for the dewpoint"),
        ("rainfall", "{:g} mm for the rain"),
        ("wet_days", "{:g} days for wet days"),
    ):
        assert words.format(ESTIMATES[name].error) in stated


def test_accuracy_quotes_the_table_of_places_left_out():
    """Every row of the table that the fit wrote, and nothing kinder."""
    rows = (WORLD / "left_out.md").read_text(encoding="utf-8").splitlines()
    told = (WORLD / "ACCURACY.md").read_text(encoding="utf-8").splitlines()
    assert len(rows) >= 8
    assert [row for row in told if row in rows] == rows


def test_readme_shortens_that_table_and_rounds_nothing_away():
    """Kind, places, both errors with their bias, what is stated; a share as percentage points."""
    told = (WORLD.parents[1] / "README.md").read_text(encoding="utf-8").splitlines()
    for row in (WORLD / "left_out.md").read_text(encoding="utf-8").splitlines()[2:]:
        kind, places, low, within, _, high, _, _, below = (
            cell.strip() for cell in row.split("|")[1:-1]
        )
        stated = within.partition(" of ")[2].removesuffix(" K")
        share = below if below == "–" else f"{100 * float(below):.0f}"
        errors = [error.replace(" K", "") for error in (low, high)]
        assert f"| {kind} | {places} | {errors[0]} | {stated} | {errors[1]} | {share} |" in told


def test_stated_errors_cover_two_misses_in_three_at_every_kind_of_place():
    """Issue 15 asks for 60 to 80 % of the lows' misses; the highs are held to the same."""
    root = Path(__file__).parents[1]
    head, _, *rows = (
        [cell.strip() for cell in line.split("|")[1:-1]]
        for line in (root / "regions" / "world" / "left_out.md").read_text("utf-8").splitlines()
    )
    for name in ("within the stated error", "within"):
        for row in rows:
            assert 60 <= int(row[head.index(name)].partition("%")[0]) <= 80, (name, row[0])


@pytest.mark.parametrize(
    ("table", "warming", "every", "limits"),
    [
        # Limits of issue 15 for places kept back, which the given places must keep easily.
        ("dry_interior_normals.csv", 0.5, 8, (2.05, 1.7)),
        ("temperate_reference_years.csv", 0.0, 1, (1.25, 2.05)),
        ("humid_tropics_gridded.csv", 0.0, 12, (1.15, 1.25)),
    ],
)
def test_regions_keep_their_limits_and_the_stated_errors_cover(table, warming, every, limits):
    """Root mean square errors of a sample of places, and 55 to 85 % of misses within errors."""
    rows_of = evaluate.places(table)
    names = list(rows_of)[::every]
    world, misses, covered = whole_world(), ([], []), []
    for name in names:
        rows = rows_of[name]
        climate = evaluate.cell(world, rows, "altitude_m" in rows[0])
        for found, extreme in zip(misses, ("min", "max"), strict=True):
            seen = evaluate.observed(rows, f"t{extreme}_c") + warming
            found.append(climate[f"air_temperature_{extreme}"].values - seen)
        covered.append(np.abs(misses[0][-1]) <= error_of(climate, "air_temperature_min").values)
    for found, limit in zip(misses, limits, strict=True):
        assert np.sqrt(np.nanmean(np.square(found))) <= limit
    known = np.isfinite(np.concatenate(misses[0]))
    assert 0.55 <= np.concatenate(covered)[known].mean() <= 0.85
