"""The trip file: what a traveller writes down, checked before anything is computed.

In: ``trip.toml``. Out: a frozen Trip, or every problem of the file at once. Assumes
only the file itself; whether regions, kits and climate fit it is checked by the
pipeline, which sees them all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from sheltermap.files import Record, Share, Written, checked, in_folder, toml_tables
from sheltermap.hazards.layers import Kind
from sheltermap.planner.checks import HEAVIEST_WEIGHT
from sheltermap.shelters.settings import Settings
from sheltermap.trip.camps import as_written, one_leg_each
from sheltermap.trip.changed import with_keys
from sheltermap.trip.checks import problems_between
from sheltermap.trip.log import DoneRow, SleptRow
from sheltermap.trip.party import Party
from sheltermap.trip.salvage import apart_from, without_wrong
from sheltermap.trip.values import (
    Day,
    Find,
    FirstDay,
    Label,
    LastDay,
    Name,
    Note,
    NotNegative,
    Point,
    Points,
    Positive,
    Span,
    Spans,
    WrittenNights,
    WrittenWind,
)
from sheltermap.trip.vehicle import Vehicle
from sheltermap.vocabulary import InputError, Problem

_LONGEST_JOURNEY_DAYS = 3 * 365  # judgement: beyond three years no plan is kept to.


MOST_LEGS = 60
"""judgement: more are a list of camps, not parts of a journey."""


class Departure(Record):
    """When the journey may start and end, and how it may run."""

    earliest: Day = Field(description="first day you can leave")
    latest: Day = Field(description="last day you can leave")
    finish_by: Day = Field(description="day you must be done")
    direction: Literal["forward", "reverse", "either"] = Field(
        "forward", description="along the legs as they stand, the other way, or the better one"
    )
    order: Literal["fixed", "free"] = Field(
        "fixed", description="free lets the planner order the legs, at most 12"
    )
    daily_km: Positive = Field(200, description="what you drive on a driving day [km] (judgement)")
    stay_weight: NotNegative = Field(
        0.25,
        le=HEAVIEST_WEIGHT,
        description="rough nights that one night more or less than the preferred stay counts for "
        "(judgement)",
    )
    danger_weight: NotNegative = Field(
        10,
        le=HEAVIEST_WEIGHT,
        description="rough nights that one dangerous night counts for, beside its own (judgement)",
    )
    serious_weight: NotNegative = Field(
        0.25,
        le=HEAVIEST_WEIGHT,
        description="rough nights that one night under a serious hazard counts for (judgement)",
    )
    most_danger: Share = Field(
        0.1,
        description="chance of a dangerous night from which a date is not planned in a kit; 1 "
        "plans them all (judgement)",
    )
    from_elevation_m: float | None = Field(
        None,
        ge=-450,
        le=6000,
        description="height at which you sleep before the first leg [m]; asked for where its camp "
        "lies above 2,500 m, else sea level",
    )

    @field_validator("latest")
    @classmethod
    def _after_earliest(cls, latest: date, others: ValidationInfo) -> date:
        earliest = others.data.get("earliest", latest)
        if latest < earliest:
            raise ValueError(f"a day from `earliest`, {earliest}, on | Correct one of the two.")
        return latest

    @field_validator("finish_by")
    @classmethod
    def _after_departure(cls, finish_by: date, others: ValidationInfo) -> date:
        # One wrong date is one problem: what cannot be read, or is out of order, is told above.
        if not {"earliest", "latest"} <= others.data.keys():
            return finish_by
        earliest, latest = others.data["earliest"], others.data["latest"]
        if finish_by <= latest:
            raise ValueError(f"a day after `latest`, {latest} | Correct one of the two.")
        if (finish_by - earliest).days > _LONGEST_JOURNEY_DAYS:
            raise ValueError(f"at most three years after `earliest`, {earliest} | Split the trip.")
        return finish_by


class Shelter(Record):
    """The kits to compare; the first is the choice."""

    kits: tuple[Name, ...] = Field(
        min_length=1, max_length=20, description="ids of kits, see `sheltermap kits`"
    )
    addons: tuple[Name, ...] = Field(
        (),
        description="what the first kit carries besides: `awning`, `fan`, `warm-bedding`, `mat`, "
        "`cot`, or ids of your own kit files",
    )
    choose: Literal["first", "best"] = Field(
        "first", description="plan with the first kit, or with the one of fewest rough nights"
    )
    room_below: Share = Field(
        0.5,
        description="a room as a remedy is for nights whose share of sound nights is below this "
        "(judgement)",
    )


class Money(Record):
    """Prices, all in one currency; only those of kit files are converted, with `euro`."""

    currency: Label = Field("EUR", description="a label, as you write it")
    euro: Positive | None = Field(
        None,
        description="what a euro costs in that currency, for the prices of kit files; without "
        "it they count as they stand",
    )
    fuel_price: NotNegative = Field(1.2, description="of a litre (judgement)")
    room_price: NotNegative = Field(30, description="of the whole party's night (judgement)")
    rough_night_price: NotNegative | None = Field(
        None, description="what one rough night less is worth to you, else `room_price`"
    )
    freight_per_kg: NotNegative = Field(0, description="to bring a kg of the kit to the start")
    duty_share: NotNegative = Field(
        0, description="duty on the kit: 0.2 is a fifth of its price on top"
    )
    budget: Positive | None = Field(
        None, description="for the kit and all fuel; without it none is checked"
    )


class Permit(Record):
    """A visa or permit that several consecutive legs share."""

    longest_stay_days: int = Field(
        ge=1, le=1000, description="days inside, those of entry and of leaving counted"
    )
    valid: Span | None = Field(
        None,
        description="first and last day one may be inside, "
        "as `{ first = 2027-05-01, last = 2027-07-30 }`",
    )

    @model_validator(mode="after")
    def _without_margin(self) -> Self:
        if self.valid is not None and self.valid.margin_days:
            raise ValueError("`valid` without margin_days | Give an earlier `last` to be safe.")
        return self


class Leg(Record):
    """One part of the journey: a region, a place or a list of points."""

    name: Name = Field(description="its own; hazards and links name it")
    region: Name | None = Field(None, description="an id in the region file")
    place: Point | None = Field(
        None, description='[latitude, longitude] or `"Osh, Kyrgyzstan"`; 25 km around it count'
    )
    points: Points | None = Field(
        None, description="several places, all alike; 25 km around each count"
    )
    nights: WrittenNights = Field(
        description="one number, or [least, preferred, most], each from 1 to 365; with those on "
        "the way to the leg"
    )
    note: Note = Field("", description="shown on the region's page")
    kilometres: NotNegative | None = Field(
        None,
        description="driven in this leg, the way to it included [km]; else measured on the route "
        "line, else not known",
    )
    approach_km: NotNegative | None = Field(
        None,
        description="of these, the way to the leg's first camp [km]; else as the route line has "
        "it, else all of them. Its first evenings are on the way: `be_there` is met by a camp. "
        "Travelled in reverse, all kilometres count; in a free order the links do",
    )
    camp_elevation_m: float | None = Field(
        None,
        ge=-450,
        le=6000,
        description="usual height of the camps [m], or a list of them in travel order, each a "
        "camp of its own; else read from the embedded map, in a region without a route the "
        "climate cells' own",
    )
    site: Literal["valley", "slope", "ridge", "shore", "forest", "plain"] | None = Field(
        None, description="the lie of the camps: cold pools and wind"
    )
    wind_m_s: WrittenWind | None = Field(
        None,
        description="mean wind of day and night at the camps, 10 m up [m s-1], one number or "
        "twelve, January first; else by the site word, else not assessed",
    )
    fuel_gap_km: NotNegative | None = Field(
        None,
        description="longest way between fuel stops [km]; else a full tank is counted, and "
        "whether it lasts is not checked",
    )
    water_gap_days: NotNegative | None = Field(
        None, description="longest time between water points [days]; else as for fuel"
    )
    room_price: NotNegative | None = Field(
        None, description="of the whole party's night here; else the trip's"
    )
    permit: Name | None = Field(None, description="name of one of [permits]")
    be_there: tuple[Day, ...] = Field(
        (), description="evenings that must be spent here, as `[2027-07-04]`"
    )
    closed: Spans = Field(
        (),
        description='when nobody can be there, as `"November to April"` or `[{ first = '
        '"November", last = "15 April", margin_days = 7 }]`; the evenings of both are closed',
    )
    accept: tuple[Kind | Literal["dangerous-nights"], ...] = Field(
        (),
        description='prohibitive hazards or closures you accept here, by kind, as `["flood"]`; '
        '`"dangerous-nights"` plans nights above `most_danger`, which still cost',
    )

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        given = [key for key in ("region", "place", "points") if getattr(self, key) is not None]
        if len(given) != 1:
            raise ValueError(
                "exactly one of region, place, points | "
                f"{'Keep one of them.' if given else 'Add place = [latitude, longitude].'} | "
                f"{' and '.join(given) or 'none'}"
            )
        return self


class HazardRow(Record):
    """A hazard you know of, without a geometry file."""

    legs: tuple[Name, ...] = Field(min_length=1, description="names of the legs it concerns")
    kind: Kind = Field(description="a hazard kind, see below")
    level: Literal["advisory", "serious", "prohibitive", "closure", "none"] = Field(
        description="`none` says that you looked and found nothing"
    )
    first: FirstDay = Field("01-01", description="first day of every year")
    last: LastDay = Field("12-31", description="last day; may lie past New Year")
    margin_days: int = Field(
        0, ge=0, le=90, description="days a closure may last longer in a late year"
    )
    note: Note = Field("", description="what to know")
    source: Name = Field(description="who says so")


class Link(Record):
    """The way between two legs when the order is free."""

    legs: Annotated[tuple[Name, Name], Written("list of two texts")] = Field(
        description="names of two legs"
    )
    kilometres: NotNegative = Field(description="between them, both ways alike [km]")


class Files(Record):
    """Other files, relative to the trip file."""

    regions: Name | None = Field(None, description="GeoJSON of regions")
    hazards: tuple[Name, ...] = Field((), description="GeoJSON hazard layers")
    kits: tuple[Name, ...] = Field((), description="TOML files of your own kits")
    route: Name | None = Field(None, description="GPX or GeoJSON line")


DANGEROUS_NIGHTS = "dangerous-nights"
"""What a leg accepts to be planned in nights that are too likely to be dangerous."""


class Trip(Record):
    """A whole journey as its file states it."""

    title: Name = Field(description="heads every page")
    note: Note = Field("", description="what the journey is for")
    made: Day | None = Field(None, description="printed on the pages; else no date is printed")
    party: Party = Field(Party(), description="who travels")
    departure: Departure = Field(description="when, which way, how far a day")
    shelter: Shelter = Field(description="the kits to compare")
    vehicle: Vehicle = Field(Vehicle(), description="what carries it all")
    money: Money = Field(Money(), description="prices")
    settings: Settings = Field(
        Settings(), description="assumptions of the night model that are yours to change"
    )
    permits: dict[Name, Permit] = Field(
        default_factory=dict,
        description="visas and permits, each under `[permits.NAME]`; legs use the name",
    )
    files: Files = Field(Files(), description="other files")
    legs: tuple[Leg, ...] = Field(
        min_length=1,
        max_length=MOST_LEGS,
        description="the journey in travel order, each under `[[legs]]`",
    )
    links: tuple[Link, ...] = Field(
        (), description="ways between legs of a free order, each under `[[links]]`"
    )
    hazards: tuple[HazardRow, ...] = Field(
        (), description="hazards you know of, each under `[[hazards]]`"
    )
    done: tuple[DoneRow, ...] = Field(
        (), description="what is behind you, in the order you travelled, each under `[[done]]`"
    )
    slept: tuple[SleptRow, ...] = Field(
        (),
        max_length=500,
        description="how nights were slept, also on earlier journeys, each under `[[slept]]`",
    )

    def danger_barred_from(self, leg: Leg) -> float:
        """Return the chance of danger from which a leg's nights are not planned, or infinity."""
        most = self.departure.most_danger
        return math.inf if most >= 1.0 or DANGEROUS_NIGHTS in leg.accept else most


def read_trip(path: Path | str, find: Find | None = None) -> Trip:
    """
    Return the checked trip of a file.

    Parameters
    ----------
    path : path
        A trip file, or the folder that holds ``trip.toml``.
    find : callable, optional
        Where places lie that are named, as `places.names.coordinates`; else only coordinates
        are understood.

    Returns
    -------
    Trip

    Raises
    ------
    InputError
        With every problem of the file, also those that span several keys.
    """
    read = reading(path, find)
    if read.trip is None or read.problems:
        raise InputError(read.problems)
    return read.trip


@dataclass(frozen=True)
class Reading:
    """What a trip file says, as far as it can be read.

    Attributes
    ----------
    trip : Trip or None
        Without the keys that are wrong; None where too much is.
    files : Files
        Those that it names; none where that is wrong.
    problems : tuple of Problem
        Of this file.
    """

    trip: Trip | None
    files: Files
    problems: tuple[Problem, ...]


def reading(
    path: Path | str, find: Find | None = None, changed: Mapping[str, Any] | None = None
) -> Reading:
    """
    Return what a trip file says, with all that is wrong with it.

    Parameters
    ----------
    path, find
        As for `read_trip`.
    changed : mapping of str to value, optional
        Keys that are read as if the file held other values, as ``party.bedding``.

    Returns
    -------
    Reading

    Raises
    ------
    InputError
        If the file cannot be read or is not TOML.
    """
    file = str(in_folder(path, "trip.toml"))
    context = {"find": find}
    written = with_keys(toml_tables(file), changed or {}, file)
    tables, origins, unspread = one_leg_each(written, file)

    def all_told(problems: Iterable[Problem]) -> tuple[Problem, ...]:
        return (*unspread, *as_written(problems, origins))

    try:
        trip = checked(tables, Trip, file, context=context)
        return Reading(trip, trip.files, all_told(problems_between(trip, file, origins)))
    except InputError as error:
        told = error.problems
    try:
        files = checked(tables.get("files", {}), Files, file)
    except InputError:
        files = Files()
    try:
        trip = checked(without_wrong(tables, told), Trip, file, context=context)
    except InputError:
        return Reading(None, files, all_told(told))
    return Reading(
        trip, files, all_told((*told, *apart_from(problems_between(trip, file, origins), told)))
    )
