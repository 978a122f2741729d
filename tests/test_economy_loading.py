"""Water, fuel and mass by leg: a journey worked by hand, published checks, and properties."""

import math
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from worked_journey import (
    BEDROLL,
    JOURNEY,
    MONEY,
    PARTY,
    ROOF_TENT,
    VEHICLE,
    VISITS,
    Visit,
    journey,
)

from sheltermap.dayside import wbgt_in_sun
from sheltermap.economy.journey import Journey
from sheltermap.economy.loading import load_report
from sheltermap.economy.ratings import mend
from sheltermap.fuel import added_drag_consumption, added_mass_consumption
from sheltermap.shelters.kit import load_kits
from sheltermap.water import drinking_water

# Drag equation by hand, F = 0.5 * 1.2 * area * (v / 3.6)^2, litres = F * 1e5 / (eff * heat):
# 0.3 m2 at 100 km/h is 138.9 N, over 8.96e6 J/L of petrol 1.55 L, over 12.6e6 of diesel 1.10.
DRAG = [
    (0.3, 100, "petrol", 1.55),
    (0.3, 100, "diesel", 1.10),
    (0.3, 80, "petrol", 0.99),
    (0.3, 80, "diesel", 0.71),
    (1.0, 100, "petrol", 5.17),
    (1.0, 100, "diesel", 3.67),
]

# The worked journey with the roof tent. Added to 100 km by its mass:
#   0.012 * 64 kg * 9.80665 * 1e5 / (0.35 * 36e6) = 0.05977, on tracks * 1.2 = 0.07173 L.
# By its drag at 90 km/h = 25 m/s: 0.5 * rho * 0.5 m2 * 625 = 156.25 rho N, 1.24008 rho L.
#   Coast, Delta, Return: 101300 / (287.05 * 298.15) = 1.18363 kg/m3: 1.46780 L
#   Hills: 81756 Pa / (287.05 * 288.15) = 0.98842 kg/m3: 1.22572 L
#   Desert: 101300 / (287.05 * 308.15) = 1.14522 kg/m3: 1.42017 L
# The vehicle alone: (10 + 1) * 1.2 = 13.2 L.
ADDED_L_100KM = (1.53953, 1.29745, 1.49190, 1.53953, 1.53953)

# Litres: kilometres * (13.2 + added) / 100.
FUEL_LEG_L = (58.958, 86.985, 132.227, 29.479, 73.698)
ADDED_FUEL_L = (6.158, 7.785, 13.427, 3.079, 7.698)

# Need: gap * consumption / 100 * 1.2, for example Desert 700 km * 0.1469190 * 1.2.
FUEL_NEED_L = (17.687, 43.492, 123.412, None, 53.062)
FUEL_ABOARD_L = (80, 80, 123.412, 80, 80)

# Water: 2 people * (drinking + 3 L); the need is that * gap * 1.5.
WATER_L_DAY = (13.0, 13.0, 21.4, 18.6, 15.6)
WATER_LEG_L = (52.0, 78.0, 107.0, 55.8, 31.2)
WATER_NEED_L = (19.5, 39.0, 128.4, None, 23.4)
WATER_ABOARD_L = (19.5, 39.0, 128.4, 40.0, 23.4)

# Mass: 2400 - 80 L * 0.83 = 2333.6 bare; people 160; gear 40; tent 64: 2597.6 kg.
# With water and fuel * 0.83: 2597.6 + 19.5 + 66.4, and so on.
ABOARD_KG = (2683.5, 2703.0, 2828.432, 2704.0, 2687.4)


@pytest.fixture(scope="module")
def tent():
    """The worked journey with the roof tent."""
    return load_report(JOURNEY, ROOF_TENT)


def column(report, name):
    """Return one figure of every leg."""
    return tuple(getattr(leg, name) for leg in report.legs)


@pytest.mark.parametrize(("area", "speed", "fuel", "litres"), DRAG)
def test_drag_equation_by_hand(area, speed, fuel, litres):
    """Drag costs what the drag equation gives, to half the last digit."""
    assert added_drag_consumption(area, speed, 1.2, fuel) == pytest.approx(litres, abs=0.005)


def test_rolling_by_hand():
    """100 kg on petrol: 0.012 * 980.665 N * 1e5 m / 8.96e6 J/L = 0.13 L."""
    assert added_mass_consumption(100, "petrol") == pytest.approx(0.13, abs=0.005)


@pytest.mark.parametrize("fuel", ["petrol", "diesel"])
@pytest.mark.parametrize("speed", [90, 100, 110])
def test_tall_soft_roof_tent_in_range(fuel, speed):
    """Common practice: a tall soft roof tent costs 1.5 to 4 L on 100 km at 90 to 110 km/h."""
    vehicle = VEHICLE.model_copy(update={"fuel": fuel, "speed_km_h": speed})
    kit = load_kits()["roof-tent"]
    added = load_report(journey(VISITS[0], vehicle=vehicle), kit).legs[0].added_l_100km
    assert 1.5 <= added <= 4


@pytest.mark.parametrize(
    ("name", "expected", "tolerance"),
    [
        ("water_l_day", WATER_L_DAY, 1e-9),
        ("water_leg_l", WATER_LEG_L, 1e-9),
        ("water_need_l", WATER_NEED_L, 1e-9),
        ("water_aboard_l", WATER_ABOARD_L, 1e-9),
        ("water_cans_l", (0, 0, 88.4, 0, 0), 1e-9),
        ("added_l_100km", ADDED_L_100KM, 0.00005),
        ("fuel_leg_l", FUEL_LEG_L, 0.002),
        ("added_fuel_l", ADDED_FUEL_L, 0.002),
        ("fuel_need_l", FUEL_NEED_L, 0.002),
        ("fuel_aboard_l", FUEL_ABOARD_L, 0.002),
        ("fuel_cans_l", (0, 0, 43.412, None, 0), 0.002),
        ("fuel_money", (88.437, 130.478, 198.341, 44.219, 110.547), 0.002),
        ("aboard_kg", ABOARD_KG, 0.002),
        ("margin_kg", (116.5, 97.0, -28.432, 96.0, 112.6), 0.002),
    ],
)
def test_worked_journey_by_leg(tent, name, expected, tolerance):
    """Every litre, kilogram and unit of money of five legs, as worked out above."""
    for found, value in zip(column(tent, name), expected, strict=True):
        assert found is value if value is None else found == pytest.approx(value, abs=tolerance)


def test_worked_journey_in_all(tent):
    """Sums over the journey: 52+78+107+55.8+31.2 L of water; fuel and its money likewise."""
    assert tent.water_l == pytest.approx(324.0)
    assert tent.fuel_l == pytest.approx(381.347, abs=0.005)
    assert tent.added_fuel_l == pytest.approx(38.147, abs=0.005)
    assert tent.fuel_money == pytest.approx(572.02, abs=0.01)
    assert tent.needed_rating_kg == pytest.approx(2828.432, abs=0.002)


def test_worked_journey_axles_space_and_roof(tent):
    """
    Desert adds 428.432 kg to what was weighed: rear 1250 + 0.7 of it, front the rest.

    Space: 20 L of tent and 88.4 L of cans. Roof: 60 kg, parked with two sleepers of 80.
    """
    limits = {limit.name: limit for limit in tent.legs[2].limits + tent.roof}
    loads = {
        "rated mass": (2828.432, 2800),
        "rear axle": (1549.902, 1750),
        "front axle": (1278.530, 1300),
        "space": (108.4, 400),
        "roof, moving": (60, 75),
        "roof, parked": (220, 300),
    }
    assert set(limits) == set(loads)
    for name, (load, rating) in loads.items():
        assert limits[name].load == pytest.approx(load, abs=0.002)
        assert limits[name].rating == rating


def test_worked_journey_parts(tent):
    """The stacked bar of Desert: six parts that make the whole."""
    parts = tent.legs[2].parts_kg
    expected = {
        "vehicle": 2333.6,
        "people": 160,
        "gear": 40,
        "kit": 64,
        "water": 128.4,
        "fuel": 102.432,
    }
    assert parts == pytest.approx(expected, abs=0.002)
    assert sum(parts.values()) == pytest.approx(tent.legs[2].aboard_kg)


def test_overload_comes_first(tent):
    """28.432 kg over reads as 29, and names the leg, the kit and the rating."""
    assert tent.status == "over"
    assert tent.sentence == (
        "Roof tent: the vehicle starts Desert 29 kg over the rated mass of 2\u202f800 kg."
    )
    assert tent.breaks == ("Desert: rated mass exceeded by 29 kg (2\u202f829 of 2\u202f800 kg).",)
    assert "Leave 29 kg behind" in tent.legs[2].mend


def test_lighter_kit_fits_the_same_journey():
    """
    The bedroll keeps 29 kg in the desert, worked out by hand.

    13.2 + 0.012 * 16 * 9.80665 * 1e5 / 12.6e6 * 1.2 = 13.21793 L on 100 km; 700 km with
    reserve 111.031 L, 92.155 kg; 2333.6 + 160 + 40 + 16 + 128.4 + 92.155 = 2770.155 kg.
    """
    report = load_report(JOURNEY, BEDROLL)
    assert report.status == "fits"
    assert report.margin_kg == pytest.approx(29.845, abs=0.002)
    assert report.tightest == "Desert"
    assert report.sentence == (
        "Canvas bedroll: the heaviest start is Desert, with 2\u202f771 kg on "
        "board, 29 kg under the rated mass. Whether full tanks last is not checked on every leg."
    )


def test_less_fuel_is_named_when_it_mends():
    """A full tank over the rating that the gap does not need can start emptier."""
    vehicle = VEHICLE.model_copy(update={"rated_kg": 2680})
    coast = load_report(journey(VISITS[0], vehicle=vehicle), ROOF_TENT).legs[0]
    # 2683.5 - 2680 = 3.5 kg; 80 - 3.5 / 0.83 = 75.78 L, and 17.7 L are needed.
    assert coast.mend == (
        "Start with at most 75 L of fuel: the longest gap needs 18 L, reserve included."
    )


def test_hot_season_needs_more_water_mass():
    """The desert leg at 7.7 L against 3.5 L: 2 * 4.2 * 4 days * 1.5 = 50.4 kg more."""
    cool = VISITS[2]._replace(drinking_water_l=3.5)
    hot_leg, cool_leg = load_report(journey(VISITS[2], cool._replace(name="Cool")), BEDROLL).legs
    assert hot_leg.parts_kg["water"] - cool_leg.parts_kg["water"] == pytest.approx(50.4)


def test_midday_heat_reaches_the_mass():
    """From the air of a desert noon, 42 against 20 degC, to kilograms at the start."""
    water = [
        float(drinking_water(wbgt_in_sun(noon, 1.0), noon, PARTY.activity, PARTY.active_hours))
        for noon in (42.0, 20.0)
    ]
    visits = [VISITS[2]._replace(drinking_water_l=litres) for litres in water]
    hot_leg, cool_leg = load_report(journey(*visits), BEDROLL).legs
    assert hot_leg.aboard_kg > cool_leg.aboard_kg
    assert hot_leg.margin_kg < cool_leg.margin_kg


@pytest.mark.parametrize("key", ["weighed_kg", "rated_kg"])
def test_no_mass_no_verdict(key):
    """Without the weighed or the rated mass the answer is unknown, and says what to give."""
    vehicle = VEHICLE.model_copy(update={key: None})
    report = load_report(JOURNEY.with_tables(vehicle=vehicle), BEDROLL)
    assert report.status == "unknown"
    assert report.margin_kg is None
    assert f"rated mass: needs vehicle.{key}" in report.unknown
    assert "unknown" in report.sentence


def test_missing_water_is_no_verdict():
    """A leg without climate has no water figure, so its mass is unknown, not light."""
    visits = (VISITS[0], VISITS[2]._replace(drinking_water_l=math.nan))
    report = load_report(journey(*visits), BEDROLL)
    assert report.status == "unknown"
    assert report.legs[1].aboard_kg is None
    assert report.water_l is None
    assert any("drinking water of Desert" in row for row in report.unknown)


def test_missing_air_leaves_the_fuel_of_a_draggy_kit_unknown():
    """Drag without an air density has no litres, and the gap no verdict."""
    visit = VISITS[2]._replace(elevation_m=math.nan)
    report = load_report(journey(visit), ROOF_TENT)
    assert report.fuel_l is None
    assert report.legs[0].fuel_aboard_l is None
    assert report.status == "unknown"


def test_known_excess_beats_the_unknown():
    """An overloaded leg is over even where another leg cannot be judged."""
    visits = (VISITS[0]._replace(drinking_water_l=math.nan), VISITS[2])
    report = load_report(journey(*visits), ROOF_TENT)
    assert report.status == "over"
    assert report.margin_kg is None
    assert report.tightest == "Desert"
    assert "starts Desert 29 kg over" in report.sentence


def test_roof_without_rating_is_unknown():
    """A kit on the roof of a vehicle without a roof rating is not called safe."""
    vehicle = VEHICLE.model_copy(update={"roof_parked_kg": None, "rated_kg": 3500})
    report = load_report(JOURNEY.with_tables(vehicle=vehicle), ROOF_TENT)
    assert report.status == "unknown"
    assert report.unknown == ("roof, parked: needs vehicle.roof_parked_kg",)


@pytest.mark.parametrize(
    ("exposure", "needs"), [("ground", "roof_rack"), ("roof", "bed_rack"), ("roof", "pop_roof")]
)
def test_awning_on_the_rack_carries_no_sleepers(exposure, needs):
    """Who sleeps on the ground or over the load bed does not load the roof."""
    kit = BEDROLL.model_copy(update={"roof_load_kg": 12.0, "exposure": exposure, "needs": needs})
    report = load_report(JOURNEY, kit)
    assert [limit.load for limit in report.roof] == [12, 12]


def test_tightest_leg_needs_every_leg():
    """A leg that fits is not called the tightest while another is unknown."""
    visits = (VISITS[0], VISITS[2]._replace(drinking_water_l=math.nan))
    assert load_report(journey(*visits), BEDROLL).tightest == ""


def test_full_tank_stands_in_and_says_so():
    """Delta gives no gaps: full tanks are counted, and the page says it is not checked."""
    report = load_report(JOURNEY, BEDROLL)
    assert len(report.assumed) == 2
    assert all("Delta" in row and "not checked" in row for row in report.assumed)


def test_vehicle_weighed_with_a_full_tank_by_default():
    """No fuel figure beside the weighed mass means a full tank."""
    silent = VEHICLE.model_copy(update={"weighed_with_fuel_l": None})
    reports = [load_report(JOURNEY.with_tables(vehicle=v), BEDROLL) for v in (VEHICLE, silent)]
    assert reports[0] == reports[1]


def test_journey_without_a_stay_is_refused():
    """There is nothing to load for."""
    with pytest.raises(ValueError, match="at least one stay"):
        Journey(JOURNEY.trip, (), ())


any_visit = st.builds(
    Visit,
    name=st.just("Leg"),
    nights=st.integers(1, 60),
    kilometres=st.floats(0, 5000),
    drinking_water_l=st.floats(3, 11.4),
    air_temperature=st.floats(-30, 45),
    elevation_m=st.floats(-400, 5000),
    heat_category=st.just(0),
    fuel_gap_km=st.none() | st.floats(0, 1500),
    water_gap_days=st.none() | st.floats(0, 10),
)
any_kit = st.sampled_from(list(load_kits().values()))


@given(any_visit, any_kit, st.integers(1, 19))
def test_more_people_never_need_less_water(visit, kit, people):
    """One more person: at least as much water by day, by leg and at the start."""
    few, more = (
        load_report(journey(visit, party=PARTY.model_copy(update={"people": count})), kit).legs[0]
        for count in (people, people + 1)
    )
    assert more.water_l_day > few.water_l_day
    assert more.water_leg_l >= few.water_leg_l
    assert more.water_aboard_l >= few.water_aboard_l
    assert more.margin_kg < few.margin_kg


@given(any_visit, any_kit, st.floats(0, 300))
def test_heavier_kit_never_gains_margin(visit, kit, more):
    """Kilograms added to a kit never help any rating, and never save fuel."""
    heavy = kit.model_copy(update={"mass_kg": kit.mass_kg + more})
    before, after = (load_report(journey(visit), one).legs[0] for one in (kit, heavy))
    assert after.fuel_leg_l >= before.fuel_leg_l
    for old, new in zip(before.limits, after.limits, strict=True):
        assert new.margin <= old.margin + 1e-9


@given(any_visit, any_kit, st.floats(0, 100))
def test_money_follows_the_fuel_price(visit, kit, factor):
    """The price times a factor: the money times that factor, nothing else moves."""
    scaled = MONEY.model_copy(update={"fuel_price": MONEY.fuel_price * factor})
    one = load_report(journey(visit), kit)
    other = load_report(journey(visit, money=scaled), kit)
    assert other.fuel_money == pytest.approx(one.fuel_money * factor)
    assert other.fuel_l == one.fuel_l
    assert other.margin_kg == one.margin_kg


def test_fuel_weighed_in_is_taken_off_as_stated():
    """2,400 kg with 30 L on board: diesel at 0.83 kg leaves 2,375.1 kg, petrol at 0.75 2,377.5.

    The full tank of 80 L that counts afterwards is 66.4 kg of diesel.
    """
    for fuel, bare, tank in (("diesel", 2375.1, 66.4), ("petrol", 2377.5, 60.0)):
        weighed = VEHICLE.model_copy(update={"weighed_with_fuel_l": 30, "fuel": fuel})
        parts = load_report(JOURNEY.with_tables(vehicle=weighed), BEDROLL).legs[3].parts_kg
        assert parts["vehicle"] == pytest.approx(bare)
        assert parts["fuel"] == pytest.approx(tank)


def test_a_margin_is_what_is_left_and_negative_what_is_over():
    """The sign by which a kit is judged: rated less aboard."""
    leg = load_report(JOURNEY, BEDROLL).legs[0]
    for rated, over in ((leg.aboard_kg + 10, False), (leg.aboard_kg - 10, True)):
        vehicle = VEHICLE.model_copy(update={"rated_kg": rated})
        found = load_report(JOURNEY.with_tables(vehicle=vehicle), BEDROLL).legs[0]
        assert found.margin_kg == pytest.approx(-10 if over else 10)
        assert (found.status == "over") is over


@pytest.mark.parametrize(
    ("aboard", "fuel", "need", "told"),
    [
        (2515.0, 60.0, 40.0, "Start with at most 40 L of fuel: the longest gap needs 40 L"),
        (2515.0, 60.0, 39.2, "Start with at most 40 L of fuel: the longest gap needs 40 L"),
        (2516.0, 60.0, 38.0, "Start with at most 38 L of fuel: the longest gap needs 38 L"),
        (2515.0, 60.0, 40.1, "Leave 15 kg behind"),
        (2514.2, None, 40.0, "Leave 15 kg behind"),
        (2515.0, 60.0, None, "Leave 15 kg behind"),
        (2500.0, 60.0, 40.0, ""),
        (None, 60.0, 40.0, ""),
    ],
)
def test_how_an_overload_is_mended(aboard, fuel, need, told):
    """Rated 2500 kg, petrol of 0.75 kg/L: 15 kg are 20 L of 60, 16 kg are 21.3, so 38 stay.

    Less fuel is advised where what stays covers the longest gap, to the litre; never less water.
    """
    vehicle = SimpleNamespace(rated_kg=2500.0, fuel="petrol")
    found = mend(aboard, fuel, need, vehicle)
    assert found.startswith(told) and bool(found) == bool(told)
    assert ("Do not cut the water." in found) == told.startswith("Leave")
    assert mend(aboard, fuel, need, SimpleNamespace(rated_kg=None, fuel="petrol")) == ""
