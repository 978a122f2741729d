"""The Kits page: one table, its figures those of the command, names that differ at their start."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import html5lib
import pytest
from page_text import metric_text
from sample_report import BASE_MAP, sample_report
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.report.kit_list import kit_rows, kit_table
from sheltermap.shelters.kit import load_kits
from sheltermap.website.charts import tick_text
from sheltermap.website.kitcharts import trade_off
from sheltermap.website.pages import site


def table(page: bytes) -> list[list[str]]:
    """Return the cells of the trade-off, row by row, the head first."""
    tree = html5lib.parse(page.decode(), namespaceHTMLElements=False)
    (found,) = [one for one in tree.iter("table") if one.get("class") == "trade"]
    return [
        [" ".join(metric_text(cell).split()) for cell in row if cell.tag in ("th", "td")]
        for row in found.iter("tr")
    ]


def test_one_row_a_kit_with_every_column():
    """Fourteen columns; the bedroll, 16 kg, before the roof tent, 64 kg."""
    head, *rows = table(site(sample_report(), base_map=BASE_MAP)["kits.html"])
    assert len(head) == 14 and {len(row) for row in rows} == {14}
    assert [row[0] for row in rows] == [
        "1. Canvas bedroll better kit",
        "2. Roof tent planned with",
    ]
    assert "+" not in "".join(rows[0]) and "+1 700 EUR" in rows[1][3].replace("\u202f", " ")


def test_nobody_stated_freight_so_nothing_is_called_landed():
    """The head says what is counted, a line below which key would tell the rest."""
    files = site(sample_report(), base_map=BASE_MAP)
    head, *_ = table(files["kits.html"])
    assert head[3] == "Bought"
    assert "landed needs freight_per_kg and duty_share" in files["kits.html"].decode()


def test_command_and_page_are_of_one_basis(tmp_path):
    """A cold sleeper's limits: the same figures in the command and on the page."""
    party = "\n[party]\npeople = 1\nbedding = 4\nsleep_from = '21:00'\n"
    party += "\n[[party.sleepers]]\nname = 'One'\ncold_sleeper = true\n"
    place = saved(tmp_path, trip(leg("A"), party, kits="ground-tent"))
    climate = stored(tmp_path)
    rows = pipeline.trip_kits(place, climate=climate)
    page = site(pipeline.plan(place, climate=climate), base_map=BASE_MAP)["kits.html"]
    _, *shown = table(page)
    (row,) = rows
    (line,) = [cells for cells in shown if "planned with" in cells[0]]
    low, hot = round(row["coldest_low_c"]["dry"]), row["hottest_bedtime_c"]
    assert f"{low} °C".replace("-", "−") in line[12].replace("\u202f", " ")
    assert [f"{round(hot[air])} °C" for air in ("dry", "humid")] == (
        line[13].replace("\u202f", " ").split(" / ")
    )
    assert rows[0]["addons"] == [] and "Counted with add-ons" not in " ".join(kit_table(rows))
    printed = next(one for one in kit_table(rows) if one.startswith("ground-tent"))
    assert f"{low}, " in printed
    # Not the usual sleeper's: the page would agree with the wrong list as well.
    usual = next(row for row in kit_rows() if row["id"] == "ground-tent")
    assert low > round(usual["coldest_low_c"]["dry"])


@pytest.mark.parametrize("length", [9])
def test_names_differ_at_their_start(length):
    """Where a column cuts names, kits can still be told apart."""
    starts = [kit.title[:length] for kit in load_kits().values()]
    assert len(set(starts)) == len(starts)


def test_mass_axis_is_round_in_pounds_too():
    """16 and 64 kg: 0 to 80 kg is 0 to 176.4 lb, so 50 lb stand at 22.68 of 80 kg."""
    drawn = trade_off(sample_report().comparison.rows, "mass_kg", 0, {0, 1})
    metric, imperial = drawn["across"]
    assert [mark["text"] for mark in metric["marks"]] == ["0", "20", "40", "60", "80"]
    assert [mark["text"] for mark in imperial["marks"]] == ["0", "50", "100", "150"]
    width = metric["marks"][-1]["at"] - metric["marks"][0]["at"]
    found = (imperial["marks"][1]["at"] - metric["marks"][0]["at"]) / width
    assert found == pytest.approx(50 * 0.45359237 / 80)


def test_points_lie_where_the_axes_say():
    """By hand: 0 to 8 rough nights from 180 up to 18, so 4 at 99, 2 at 139.5; money likewise."""
    rows = [
        SimpleNamespace(title=str(rough), money=money, rough_nights=rough)
        for money, rough in ((0.0, 8.0), (400.0, 2.0), (200.0, 4.0), (None, 3.0))
    ]
    drawn = trade_off(rows, "money", 1, {1})
    assert [(mark["text"], mark["y"]) for mark in drawn["y_ticks"]] == [
        ("0", 180.0), ("2", 139.5), ("4", 99.0), ("6", 58.5), ("8", 18.0)
    ]  # fmt: skip
    (money,) = drawn["across"]
    assert [mark["text"] for mark in money["marks"]] == ["0", "100", "200", "300", "400"]
    left, right = drawn["left"], drawn["right"]
    assert [mark["at"] for mark in money["marks"]] == pytest.approx(
        [left + part * (right - left) for part in (0, 0.25, 0.5, 0.75, 1)]
    )
    assert [(one["number"], one["x"], one["y"]) for one in drawn["points"]] == [
        (1, left, 18.0),
        (2, right, 139.5),
        (3, pytest.approx((left + right) / 2), 99.0),
    ]
    assert [one["better"] for one in drawn["points"]] == [False, True, False]
    assert trade_off(rows[2:], "money", 0, {0}) is None


@pytest.mark.parametrize(
    ("value", "text"),
    [(2.0, "2"), (0.5, "0.5"), (0.25, "0.25"), (0.125, "0.125"), (1 / 3, "0.333")],
)
def test_marks_have_the_decimals_they_need(value, text):
    """Three at most."""
    assert tick_text(value) == text


def test_add_ons_are_told_with_the_figures_they_change():
    """The awning that the trip adds to its first kit, on the page; the kit's own in the list."""
    report = sample_report()
    shelter = report.trip.shelter.model_copy(update={"addons": ("awning", "own-net")})
    report = replace(report, trip=report.trip.model_copy(update={"shelter": shelter}))
    _, roll, tent = table(site(report, base_map=BASE_MAP)["kits.html"])
    assert tent[0] == "2. Roof tent with awning and own net planned with"
    assert "awning" not in roll[0]
    assert "bedroll-awning with awning" in " ".join(kit_table(kit_rows()))
