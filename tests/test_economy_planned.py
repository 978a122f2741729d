"""Load and cost of a plan: which kit the vehicle carries across the desert, and why."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from small_trips import leg, saved, stored, trip

from sheltermap import pipeline
from sheltermap.economy.planned import PlannedNights
from sheltermap.shelters.kit import load_kits

# A warm, dry summer: midday stays below every heat category, so people drink the least.
VEHICLE = """
[party]
people = 2
active_hours = 0
body_mass_kg = 80
personal_gear_kg = 20
other_water_l = 3
water_reserve = 0.5

[vehicle]
weighed_kg = 2000
weighed_with_fuel_l = 80
tank_l = 80
rated_kg = {rated}
carries = ["load_bed"]

[money]
currency = "CHF"
fuel_price = 2.0
room_price = 50
"""
KITS = load_kits()
# By hand: vehicle with full tank, two people and their gear.
BARE_KG = 2000 + 2 * 80 + 2 * 20
# 3 L to drink at rest and 3 L besides, two people, ten days, half as much again.
DESERT_WATER_L = (3 + 3) * 2 * 10 * 1.5


def journey(folder, rated, kits):
    """Return the report of a coast with water everywhere and a desert without."""
    text = trip(
        leg("Coast", more="water_gap_days = 0\nfuel_gap_km = 100\nkilometres = 200"),
        leg(
            "Desert",
            (41.0, 31.0),
            more="water_gap_days = 10\nfuel_gap_km = 300\nkilometres = 400",
        ),
        VEHICLE.format(rated=rated),
        kits=kits,
    )
    return pipeline.plan(saved(folder, text), climate=stored(folder))


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    """Return a plan whose desert breaks the rated mass with one kit and not with the other."""
    return journey(tmp_path_factory.mktemp("economy"), 2450, "pop-up-body bedroll")


def aboard(kit, water_l):
    """Return the mass at the start of a leg, worked out by hand. [kg]"""
    return BARE_KG + KITS[kit].mass_kg + water_l


def test_mass_at_the_start_of_each_leg_is_the_sum_of_its_parts(report):
    """Vehicle, people, gear, kit and water; the tank was full when it was weighed."""
    coast, desert = report.load.legs
    assert desert.water_need_l == pytest.approx(DESERT_WATER_L)
    assert coast.aboard_kg == pytest.approx(aboard("pop-up-body", 0), abs=1)
    assert desert.aboard_kg == pytest.approx(aboard("pop-up-body", DESERT_WATER_L), abs=1)
    assert report.load.tightest == "Desert" and report.load.status == "over"


def test_kit_that_breaks_the_vehicle_is_not_the_better_one(report):
    """However well it sleeps."""
    rows = report.comparison.rows
    better = rows[report.comparison.better]
    assert better.kit == "bedroll"
    assert any("rated mass" in reason for reason in report.comparison.reasons_against[0])


def test_kits_are_compared_on_the_plans_own_nights(report):
    """The choice's row has the plan's nights, rough and dangerous ones, to rounding."""
    row, best = report.comparison.rows[0], report.best
    assert row.nights == best.nights == 8
    assert row.rough_nights == pytest.approx(best.rough_nights, abs=1e-5)
    assert row.dangerous_nights == pytest.approx(best.dangerous_nights, abs=1e-5)
    assert [one.kit for one in report.comparison.rows if not one.remedy] == [
        "pop-up-body",
        "bedroll",
    ]


def test_fuel_money_is_litres_times_the_price(report):
    """600 km in all, at two francs a litre."""
    load = report.load
    assert load.fuel_money == pytest.approx(2.0 * load.fuel_l)
    # 11 L/100 km on tarmac times 1.2 for the ground is 79.2 L, before what the kit adds.
    assert load.fuel_l == pytest.approx(79.2 + load.added_fuel_l, abs=0.1)
    assert load.added_fuel_l > 0 and load.currency == "CHF"


def test_lighter_vehicle_breaks_with_no_kit(tmp_path):
    """Rated for all of it: nothing is said of breaking."""
    report = journey(tmp_path, 2700, "pop-up-body bedroll")
    assert not any("rated mass" in one for row in report.comparison.reasons_against for one in row)
    assert report.load.status == "fits"


def test_unweighed_vehicle_is_unknown_not_fine(tmp_path):
    """Without a weighed mass the margin reads unknown."""
    report = pipeline.plan(saved(tmp_path, trip(leg("A"))), climate=stored(tmp_path))
    assert report.load.status == "unknown" and report.load.margin_kg is None
    assert "unknown" in report.load.sentence


def test_night_means_weigh_the_camps_of_each_night():
    """Two nights of two camps, 3 to 1: (3 x 0.8 + 0.4) / 4 = 0.7, and a missing camp."""
    planned = PlannedNights(
        night=xr.Dataset(),
        weight=np.array([0.75, 0.25, 0.75, 0.25]),
        owner=np.array([0, 0, 1, 1]),
    )
    means = planned.means(np.array([0.8, 0.4, 1.0, np.nan]))
    assert means[0] == pytest.approx(0.7) and np.isnan(means[1])


def test_wind_known_on_one_leg_alone_leaves_the_kits_comparable(tmp_path):
    """One leg with a site word, one without: the comparison counts what the plan counts."""
    world = stored(tmp_path, vapour=0.6)
    legs = (
        leg("Plain", nights="3", more='site = "plain"'),
        leg("Hills", (41.0, 31.0), nights="4"),
    )
    report = pipeline.plan(saved(tmp_path, trip(*legs)), climate=world)
    chosen = report.comparison.rows[0]
    assert chosen.rough_nights == pytest.approx(report.best.rough_nights, abs=1e-5)
    assert chosen.nights_by_factor["wind"] is None


@pytest.mark.parametrize(("most", "barred"), [(0.1, True), (1.0, False)])
def test_comparison_keeps_the_danger_that_the_planner_keeps(tmp_path, most, barred):
    """Cool nights in summer bedding: what bars a kit's nights bars the kit there too."""
    text = trip(
        leg("A"),
        '[party]\nbedding = "summer"\n[vehicle]\ncarries = ["load_bed"]\n',
        kits="pop-up-body bedroll",
        departure=f"most_danger = {most}",
    )
    report = pipeline.plan(saved(tmp_path, text), climate=stored(tmp_path, mean=14.0, vapour=0.3))
    (stay,) = report.best.legs
    (season,) = (place.seasons["bedroll"] for place in report.places)
    evenings = (stay.arrive.timetuple().tm_yday - 1) + np.arange(stay.nights)
    assert (season.dangerous[evenings] >= 0.1).all()
    rows = {row.kit: row for row in report.comparison.rows}
    assert any("chance of danger" in why for why in rows["bedroll"].refused) == barred
    assert not rows["pop-up-body"].refused
