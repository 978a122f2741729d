"""What a public copy is made of: cells, main months, shipped kits, and the years of the cells."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from sample_report import infeasible_report, sample_report

from sheltermap.report.outline import CellYear, cell_of, cell_years, outline
from sheltermap.report.point import Camp, twelve_months
from sheltermap.vocabulary import Grade


@pytest.mark.parametrize(
    ("place", "cell"),
    [
        ((40.24, 72.76), (40.0, 73.0)),
        ((40.25, 72.74), (40.5, 72.5)),  # a border belongs to the cell north and east of it
        ((-33.26, -70.3), (-33.5, -70.5)),
        ((0.0, 179.8), (0.0, -180.0)),
        ((0.0, -179.8), (0.0, -180.0)),
        ((0.0, 179.7), (0.0, 179.5)),
    ],
)
def test_a_place_is_told_by_the_middle_of_its_cell(place, cell):
    """Half a degree either way, and one cell across 180 degrees."""
    assert cell_of(*place) == cell


def test_shipped_kits_are_told_and_own_ones_are_not():
    """What a kit is tells it apart: neither a shipped id nor a shipped description is enough."""
    report = sample_report()
    assert (outline(report).kits, outline(report).kit) == (("roof-tent", "bedroll"), "roof-tent")
    for own in ({"what": "Grandfather's wagon"}, {"id": "wagon"}):
        first = report.kits[0].model_copy(update=own)
        best = replace(report.best, kit=first.id)
        told = outline(replace(report, kits=(first, *report.kits[1:]), best=best))
        assert (told.kits, told.kit) == (("bedroll",), "")


def test_main_month_by_hand():
    """Of 28 May to 6 June four evenings are in May and five in June; a tie goes to the first."""
    leg = sample_report().best.legs[0]
    for first, nights, month in ((date(2027, 5, 28), 9, 6), (date(2027, 5, 28), 8, 5)):
        stay = replace(leg, arrive=first, leave=first + timedelta(days=nights), nights=nights)
        report = sample_report()
        report = replace(report, best=replace(report.best, legs=(stay,)))
        assert outline(report).legs[0].month == month


@pytest.mark.parametrize("place", [(40.0, 33.0), (-33.5, -70.5)])
def test_a_cell_has_the_twelve_months_of_the_night_command(place):
    """The same engine at the cell's own height."""
    told = outline(sample_report())
    told = replace(told, legs=(replace(told.legs[0], cell=place),), kits=("bedroll",))
    year = cell_years(told)[place]
    months = twelve_months(Camp(*place, year.elevation_m), "bedroll")["months"]
    for number, month in enumerate(months):
        assert year.sound_share["bedroll"][number] == pytest.approx(
            month["sound_share"], abs=2.5e-3
        )
        assert year.dangerous["bedroll"][number] == pytest.approx(month["dangerous"], abs=2.5e-3)
        figures = (year.low, year.high, year.rain, year.wet_days)
        keys = ("temperature_min_c", "temperature_max_c", "rain_mm", "wet_days")
        for values, key in zip(figures, keys, strict=True):
            assert values[number] == pytest.approx(month[key], abs=0.01), key
        code = year.grade["bedroll"][number]
        if not month["close"]:
            assert Grade(code).word == month["grade"]


def test_a_journey_in_no_shipped_kit_has_a_climate_all_the_same():
    """Its cells are told, and no share of any kit."""
    told = replace(outline(sample_report()), kits=(), kit="")
    years = cell_years(told)
    assert set(years) == {leg.cell for leg in told.legs}
    assert all(year.sound_share == {} == year.grade for year in years.values())


def test_a_cell_at_sea_has_the_climate_of_its_nearest_neighbour():
    """A degree west of the last cell off Lisbon: named as it is, with the year of that one."""
    told = outline(sample_report())
    sea, coast = (38.5, -11.0), (38.5, -10.0)
    legs = tuple(replace(told.legs[0], cell=cell) for cell in (sea, coast))
    years = cell_years(replace(told, legs=legs, kits=("bedroll",)))
    assert years[sea].cell == sea and np.isfinite(years[sea].low).all()
    np.testing.assert_array_equal(years[sea].low, years[coast].low)
    shares = [years[cell].sound_share["bedroll"] for cell in (sea, coast)]
    np.testing.assert_allclose(*shares, atol=1e-6)


def test_without_a_plan_the_legs_are_the_trips():
    """In the order of the file, in no month."""
    told = outline(infeasible_report())
    assert [leg.month for leg in told.legs] == [None] * 3
    assert [leg.cell for leg in told.legs] == [(40.0, 30.0), (41.0, 33.0), (42.0, 36.0)]
    assert told.kit == infeasible_report().kits[0].id


def test_a_record_of_a_cell_holds_nothing_of_a_trip():
    """Whatever is added to it must be thought about here."""
    assert set(CellYear.__dataclass_fields__) == {
        "cell", "elevation_m", "low", "high", "rain", "wet_days",
        "sound_share", "dangerous", "limiting_factor", "grade",
    }  # fmt: skip
