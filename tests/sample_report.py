"""A small hand-made Report, so that the pages can be tested without any computation.

Three places, two kits, forty departure days; numbers are simple waves, chosen so that
every grade, a closure, a prohibitive hazard and unchecked kinds appear. Nothing here
claims to be a real climate.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import partial

import numpy as np
import xarray as xr
from flat_place import flat_place

from sheltermap.economy.comparison import kit_comparison
from sheltermap.economy.journey import Journey
from sheltermap.economy.loading import load_report
from sheltermap.economy.rows import ComparedKit, KitNights
from sheltermap.hazards.layers import HazardFinding
from sheltermap.hazards.sign import Sign, Strength
from sheltermap.places.camp_height import CampHeight
from sheltermap.places.errors import ShareErrors
from sheltermap.places.place import NightSeason, Place, PlaceClimate, Week
from sheltermap.planner.problem import Stay
from sheltermap.report.report import (
    ClimateSource,
    DatedPlan,
    Estimate,
    MapGrid,
    MetHazard,
    PlannedLeg,
    Reached,
    RefusedKit,
    Report,
    Stays,
)
from sheltermap.shelters.kit import load_kits
from sheltermap.suitability.card import KitLimits
from sheltermap.suitability.remedy import Remedy
from sheltermap.trip.model import Trip
from sheltermap.vocabulary import FACTORS, GRADE_FLOORS, Grade
from sheltermap.website.basemap import clipped

DAYS = np.arange(365)
KITS = ("roof-tent", "bedroll")
LIMITS = KitLimits((-4.0, -3.0), (31.0, 25.0), (35.0, 29.0), (28.0, 23.0), -12.0, 11.0)
NIGHTS = (20, 15, 25)
REGIONS = ("lowland", "high-valley")


def sample_trip(text: str = "") -> Trip:
    """Return a trip of three legs; `text` is put into every field that people write."""
    extra, note = (f" {text[:180]}", f" {text}") if text else ("", "")
    return Trip.model_validate(
        {
            "title": "Three valleys" + extra,
            "note": "Invented for tests." + note,
            "departure": {
                "earliest": date(2027, 4, 1),
                "latest": date(2027, 5, 10),
                "finish_by": date(2027, 10, 31),
            },
            "shelter": {"kits": list(KITS)},
            "vehicle": {
                "name": "van" + extra,
                "weighed_kg": 2300,
                "rated_kg": 3050,
                "carries": ["roof_rack"],
                "space_litres": 1500,
            },
            "money": {"currency": "EUR"},
            "legs": [
                {
                    "name": name + extra,
                    **({"place": [42.0, 36.0]} if n == 2 else {"region": REGIONS[n]}),
                    "nights": nights,
                    "kilometres": 400,
                    "note": "Camp by the bridge." + note,
                    "fuel_gap_km": 300,
                    "water_gap_days": 3,
                }
                for n, (name, nights) in enumerate(
                    zip(("Lowland", "High valley", "Steppe"), NIGHTS, strict=True)
                )
            ],
        }
    )


def wave(lowest: float, highest: float, peak: int) -> np.ndarray:
    """Return a yearly cosine between two values, highest on day `peak`."""
    middle, reach = (lowest + highest) / 2, (highest - lowest) / 2
    return middle + reach * np.cos(2 * np.pi * (DAYS - peak) / 365)


def graded(share: np.ndarray) -> np.ndarray:
    """Return climate grades of shares."""
    grade = np.full(share.shape, int(Grade.UNFIT), dtype=np.int8)
    for level, floor in reversed(GRADE_FLOORS):
        grade[share >= floor] = int(level)
    return grade


def season(share: np.ndarray, factor: int, level: np.ndarray) -> NightSeason:
    """Return a season in which one factor takes all that is not sound."""
    nothing, unknown = np.zeros(365), np.full(365, np.nan)
    risks = {name: nothing for name in FACTORS}
    risks[FACTORS[factor]] = 1 - share
    risks["wind"] = unknown
    return NightSeason(
        sound_share=share,
        sound_share_median=share,
        sound_share_worst_tenth=share * 0.8,
        **risks,
        dangerous=(1 - share) * 0.1,
        low_one_in_20=wave(-12, 14, 200),
        limiting_factor=np.full(365, factor, dtype=np.int8),
        grade=graded(share),
        grade_probability=np.full(365, 0.8),
        close=np.abs(share - 0.9) < 0.02,
        hazard_level=level.astype(np.uint8),
        hazard=np.where(level > 0, 0, -1).astype(np.int16),
        grade_shares=np.full((12, 4), 0.25),
        camp_shares=xr.DataArray(np.full((12, 1), 0.8), dims=("month", "cell")),
        cold_margin=np.full(365, 4.0),
        heat_margin=np.full(365, 4.0),
        cold_danger_margin=np.full(365, 10.0),
        heat_danger_margin=np.full(365, 9.0),
        dew_outside=np.zeros(365),
        errors=ShareErrors(
            grade=np.full(365, 0.11),
            climate=np.full((3, 12), 0.03),
            person=np.full((2, 12), 0.07),
            years=np.full((2, 12), 0.02),
            bad_years=np.full((2, 2, 12), 0.03),
        ),
    )


def weeks_of(one: NightSeason, hazard: str, checked: bool) -> tuple[Week, ...]:
    """Return 52 weeks, each the worst of its days."""
    rows = []
    for number in range(52):
        days = slice(7 * number, 7 * number + 7 if number < 51 else 365)
        level = int(one.hazard_level[days].max())
        share = float(one.sound_share[days].min())
        rows.append(
            Week(
                first_day_of_year=7 * number,
                grade=int(one.grade[days].max()),
                sound_share=share,
                factor=FACTORS[int(one.limiting_factor[days][0])],
                hazard=hazard if level else "",
                hazard_level=level,
                checked=checked,
                remedy="Warm bedding" if share < 0.9 else "",
            )
        )
    return tuple(rows)


def _month_waves(lowest: float, highest: float) -> np.ndarray:
    """Return twelve monthly values, highest in July."""
    return wave(lowest, highest, 196)[15::30][:12].round(2)


def climate() -> PlaceClimate:
    """Return a continental year."""
    return PlaceClimate(
        temperature_mean=_month_waves(-3, 24),
        temperature_min=_month_waves(-9, 16),
        temperature_max=_month_waves(3, 33),
        night_low_spread=np.full(12, 3.4),
        dewpoint=_month_waves(-8, 12),
        rain_per_month=_month_waves(70, 10),
        wet_days=_month_waves(11, 2),
        bedtime_temperature=_month_waves(-4, 23),
        dawn_temperature=_month_waves(-8, 15),
        sunset_hour=_month_waves(16.6, 19.4),
        daylight_hours=_month_waves(9.3, 15.0),
        heat_category=np.array([0, 0, 0, 0, 0, 1, 3, 2, 0, 0, 0, 0]),
        hot_from=np.array([np.nan] * 6 + [10.5, 11.25] + [np.nan] * 4),
        hot_to=np.array([np.nan] * 6 + [16.5, 15.75] + [np.nan] * 4),
        heat_index=np.array([1.0, 2, 8, 14, 20, 27, 34, 33, 25, 16, 8, 3]),
        drinking_water_l=_month_waves(2.5, 6.5),
        cool_hour=np.array([12.0] * 5 + [22.5, np.inf, 25.25] + [12.0] * 4),
        wet_spell=np.full(12, 0.2),
        wind_chill=np.full(12, np.nan),
    )


def finding(text: str, level: np.ndarray) -> HazardFinding:
    """Return a road closure in winter with a prohibitive fortnight after it."""
    return HazardFinding(
        kind="road-closed",
        title="Road closed by snow or water",
        level_by_day=level,
        share=0.6,
        note="The pass opens late in wet years." + (f" {text}" if text else ""),
        source="road authority" + (f" {text}" if text else ""),
    )


def sign() -> Sign:
    """Return snow that lies from December to March, deep in February."""
    strength = np.zeros(365, dtype=np.uint8)
    strength[:90] = strength[334:] = Strength.SIGN
    strength[31:59] = Strength.STRONG
    return Sign(
        "snow-on-the-road",
        "Snow on the ground",
        strength,
        "Snow likely closes an uncleared road at 2,100 m from December to March (computed).",
        "twenty winters",
        "Ask the road authority.",
    )


def places(text: str) -> tuple[Place, ...]:
    """Return a region, a place and a second region."""
    extra = f" {text}" if text else ""
    closed = np.zeros(365, dtype=np.uint8)
    closed[:120] = closed[320:] = 4
    closed[120:134] = 3
    free = np.zeros(365, dtype=np.uint8)
    rows = []
    for number, (identity, name, kind, lowest, level) in enumerate(
        (
            ("lowland", "Lowland", "region", 0.35, free),
            ("high-valley", "High valley", "region", 0.05, closed),
            ("steppe", "Steppe", "place", 0.55, free),
        )
    ):
        latitude, longitude = 40.0 + number, 30.0 + 3 * number
        seasons = {
            "roof-tent": season(wave(lowest, 0.98, 190 + 20 * number), number % 3, level),
            "bedroll": season(wave(lowest * 0.8, 0.93, 190 + 20 * number), 0, level),
        }
        rows.append(
            Place(
                id=identity,
                name=name + extra,
                note="Open country." + extra,
                kind=kind,
                geometry={
                    "type": "Polygon",
                    "coordinates": [
                        [
                            [longitude - 1, latitude - 0.5],
                            [longitude + 1, latitude - 0.5],
                            [longitude + 1, latitude + 0.5],
                            [longitude - 1, latitude + 0.5],
                            [longitude - 1, latitude - 0.5],
                        ]
                    ],
                },
                latitude=latitude,
                longitude=longitude,
                elevation_m=(200.0, 900.0 + 700 * (number == 1), 2400.0),
                height=(
                    CampHeight(200.0, None, "cells"),
                    CampHeight(2100.0, None, "stated"),
                    CampHeight(640.0, 140.0, "map"),
                )[number % 3],
                correction_k=-3.1 if number == 1 else 0.0,
                correction_spread_k=0.6 if number == 1 else 0.0,
                dropped_share=0.04,
                cautions=("Several climates: the figures are means over steep country.",)
                if number == 1
                else (),
                climate=climate(),
                seasons=seasons,
                weeks=weeks_of(seasons["roof-tent"], "Road closed by snow or water", number != 2),
                findings=(finding(text, level),) if number == 1 else (),
                not_checked=("flood", "wildfire") if number == 2 else (),
                signs=(sign(),) if number == 1 else (),
                computed=("biting-insects", "altitude") if number == 1 else (),
            )
        )
    return tuple(rows)


def stays_from(start: date, where: tuple[Place, ...]) -> Stays:
    """Return the journey from one date, straight on; no plan fits the first three days."""
    arrive, leave, total = [], [], 0.0
    day = start
    for place, nights in zip(where, NIGHTS, strict=True):
        arrive.append(day)
        leave.append(day + timedelta(days=nights))
        total += rough_between(place, day, leave[-1])
        day = leave[-1]
        day += timedelta(days=2)
    return Stays(
        depart=start,
        rough_nights=None if start < date(2027, 4, 4) else total,
        dangerous_nights=None if start < date(2027, 4, 4) else total * 0.1,
        serious_nights=None if start < date(2027, 4, 4) else 2,
        direction="forward",
        kit="roof-tent",
        places=tuple(place.id for place in where),
        legs=(0, 1, 2),
        arrive=tuple(arrive),
        leave=tuple(leave),
    )


def late(plan: Stays, leg: int, where: tuple[Place, ...]) -> Reached:
    """Return the plan with one leg and all later ones up to four days late."""
    rows = []
    for days in range(5):
        shift = [timedelta(days=days) if number >= leg else timedelta(0) for number in range(3)]
        arrive = tuple(day + by for day, by in zip(plan.arrive, shift, strict=True))
        leave = tuple(day + by for day, by in zip(plan.leave, shift, strict=True))
        total = sum(
            rough_between(place, a, b) for place, a, b in zip(where, arrive, leave, strict=True)
        )
        rows.append(
            replace(plan, depart=arrive[leg], rough_nights=total, arrive=arrive, leave=leave)
        )
    return Reached(leg, 0, tuple(rows))


def rough_between(place: Place, arrive: date, leave: date) -> float:
    """Return the rough nights of a stay in 2027, night by night."""
    rough = 1 - place.seasons["roof-tent"].sound_share
    nights = (leave - arrive).days
    return sum(rough[(arrive + timedelta(days=n)).timetuple().tm_yday - 1] for n in range(nights))


def remedy_of(title: str, nights: float) -> Remedy:
    """Return warm bedding as a remedy."""
    return Remedy(
        id="warm-bedding",
        title=title,
        price=180.0,
        mass_kg=2.4,
        nights_saved=nights,
        lifts_grade=True,
    )


def planned(stays: Stays, where: tuple[Place, ...], trip: Trip, text: str) -> DatedPlan:
    """Return the plan of one departure date."""
    remedy = remedy_of("Warm bedding" + (f" {text}" if text else ""), 6.2)
    legs = []
    for number, place in enumerate(where):
        one = place.seasons["roof-tent"]
        first = stays.arrive[number].timetuple().tm_yday - 1
        days = slice(first, first + NIGHTS[number])
        rough = float((1 - one.sound_share[days]).sum())
        causes: dict[str, float | None] = {name: 0.0 for name in FACTORS}
        causes[FACTORS[number % 3]] = rough
        causes["wind"] = None
        legs.append(
            PlannedLeg(
                leg=number,
                name=trip.legs[number].name,
                place=place.id,
                arrive=stays.arrive[number],
                leave=stays.leave[number],
                camp_reached=stays.arrive[number],
                nights=NIGHTS[number],
                rough_nights=rough,
                rough_bad_year=rough * 1.25,
                dangerous_nights=float(one.dangerous[days].sum()),
                serious_nights=int((one.hazard_level[days] >= 2).sum()),
                nights_by_factor=causes,
                grade=int(one.grade[days].max()),
                limiting_factor=FACTORS[number % 3],
                close=number == 0,
                hazards=(
                    MetHazard(
                        "road-closed",
                        "Road closed by snow or water",
                        3,
                        3,
                        "",
                        "",
                        "The pass opens late." + (f" {text}" if text else ""),
                        "road authority" + (f" {text}" if text else ""),
                    ),
                )
                if number == 1
                else (),
                cautions=("Sleeping height rises by 2,100 m: climb slowly.",)
                if number == 1
                else (),
                not_checked=place.not_checked,
                remedy=remedy if number != 1 else None,
                height=place.height,
                ascent="",
            )
        )
    total = sum(leg.rough_nights for leg in legs)
    return DatedPlan(
        depart=stays.depart,
        finish=stays.leave[-1],
        direction=stays.direction,
        kit="roof-tent",
        rough_nights=total,
        rough_low=total - 4,
        rough_high=total + 5,
        rough_parts={"weather": 3.0, "climate": 2.5, "years": 2.0, "person": 1.2},
        rough_bad_year=total + 3,
        dangerous_nights=sum(leg.dangerous_nights for leg in legs),
        serious_nights=sum(leg.serious_nights for leg in legs),
        nights=sum(NIGHTS),
        unplanned_nights=0,
        equal_to_best=False,
        legs=tuple(legs),
    )


def grid() -> MapGrid:
    """Return a box of half-degree cells with a corner of sea."""
    latitude, longitude = np.arange(38.25, 44, 0.5), np.arange(28.25, 39, 0.5)
    month = np.arange(12)[:, None, None]
    share = 0.5 + 0.45 * np.cos(2 * np.pi * (month - 6) / 12)
    share = np.clip(share - 0.03 * np.arange(len(latitude))[None, :, None], 0, 1)
    share = np.repeat(share, len(longitude), axis=2)
    share[:, :2, :3] = np.nan
    return MapGrid(
        south=38.0,
        west=28.0,
        north=44.0,
        east=39.0,
        latitude=latitude,
        longitude=longitude,
        factors={
            "roof-tent": {"sound_share": share, "cold": 1 - share, "heat": share * 0},
            "bedroll": {"sound_share": share * 0.8},
        },
    )


def loads(trip: Trip, stays: Stays):
    """Return the load and the comparison, worked out by their own modules."""
    gaps = {"kilometres": 400.0, "fuel_gap_km": 300.0, "water_gap_days": 3.0}
    legs = tuple(leg.model_copy(update=gaps) for leg in trip.legs)
    place = flat_place(
        air_temperature=18.0, drinking_water_l=4.5, heat_category=1, elevation_m=900.0
    )
    journey = Journey(
        trip.model_copy(update={"legs": legs}),
        tuple(
            Stay(leg, arrive, leave, nights, 0.0)
            for leg, arrive, leave, nights in zip(
                stays.legs, stays.arrive, stays.leave, NIGHTS, strict=True
            )
        ),
        (place,) * 3,
    )
    kits, each = load_kits(), np.ones(3)
    compared = tuple(
        ComparedKit(
            kits[name],
            KitNights((3.0 + 2 * k) * each, 0.2 * each, 0.05 * each, dict.fromkeys(FACTORS, each)),
            limits=LIMITS,
        )
        for k, name in enumerate(KITS)
    )
    return load_report(journey, kits[KITS[0]]), kit_comparison(compared, journey)


def sample_report(text: str = "") -> Report:
    """
    Return the Report.

    Parameters
    ----------
    text : str
        Appended to every text a user can write: hostile strings show that pages hold.

    Returns
    -------
    Report
    """
    trip, where, kits = sample_trip(text), places(text), load_kits()
    by_departure = tuple(
        stays_from(date(2027, 4, 1) + timedelta(days=n), where) for n in range(40)
    )
    load, compared = loads(trip, by_departure[35])
    named = tuple(
        kits[name].model_copy(
            update={
                "title": kits[name].title + (f" {text}" if text else ""),
                "what": kits[name].what + (f" {text}" if text else ""),
                "source": ("common practice" + (f" {text}" if text else ""),),
            }
        )
        for name in KITS
    )
    return Report(
        trip=trip,
        made=date(2027, 1, 15),
        climate=ClimateSource(
            "Sample climatology" + (f" {text}" if text else ""),
            "made by hand for tests.",
            "2000 to 2025",
            "public domain",
            (Estimate("wet_days", "from monthly rain", "2 days a month"),),
        ),
        kits=named,
        cards=dict.fromkeys(KITS, LIMITS),
        refused={
            "load-bed": RefusedKit(
                "Load-bed platform" + (f" {text}" if text else ""),
                ("Its bed is too short." + (f" {text}" if text else ""),),
            )
        },
        places=where,
        best=planned(by_departure[35], where, trip, text),
        alternatives=(planned(by_departure[5], where, trip, text),),
        by_departure=by_departure,
        good_window=(by_departure[35].depart, by_departure[37].depart),
        replans=tuple(late(by_departure[35], leg, where) for leg in (1, 2)),
        infeasible=(),
        doubts=("The permit East limits nothing" + (f" {text}" if text else "") + ".",),
        remedy=remedy_of("Warm bedding", 8.0),
        little=None,
        load=load,
        comparison=compared,
        grid=grid(),
        route=((40.0, 30.0), (41.0, 33.0), (42.0, 36.0)),
        not_assessed=("wind",),
        not_checked=("flood", "wildfire"),
    )


def infeasible_report() -> Report:
    """Return a Report without a plan."""
    report = sample_report()
    return replace(
        report,
        best=None,
        alternatives=(),
        infeasible=("finish_by would have to be 9 days later",),
        remedy=None,
        little=None,
        load=None,
        comparison=None,
        replans=(),
        by_departure=tuple(replace(one, rough_nights=None) for one in report.by_departure),
    )


BASE_MAP = partial(
    clipped,
    {
        "countries": {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "properties": {"name": "Land"},
                    "geometry": {
                        "type": "Polygon",
                        "coordinates": [
                            [[20, 30], [60, 30], [60, 50], [29, 50], [29, 39], [20, 39], [20, 30]]
                        ],
                    },
                }
            ],
        },
        "rivers": {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "properties": {},
                    "geometry": {
                        "type": "LineString",
                        "coordinates": [[30, 38], [33, 41], [36, 45]],
                    },
                }
            ],
        },
        "places": {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "properties": {"name": "Market town"},
                    "geometry": {"type": "Point", "coordinates": [32.5, 41.5]},
                }
            ],
        },
    },
)
"""A coast, a river and a town."""


HOSTILE = (
    '<!--<script> \u202eevil\u202c <img src=x onerror="window.hit=1"> ${window.hit=1}'
    "`${window.hit=1}`",
    "</script><script>window.hit=1</script> {{ 7*7 }}{% raw %} \"'><svg onload=window.hit=1>",
    "x" * 10_000,
)
"""What names and notes can hold at worst."""
