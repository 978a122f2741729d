"""All files of a trip, read and checked together.

In: a trip file. Out: the trip with its kits, regions, hazards and route, or one error
that lists every problem of every file. Assumes that files named in the trip lie relative
to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import geopandas
import pandas as pd
import shapely

from sheltermap.files import in_folder
from sheltermap.gathered import Gathered
from sheltermap.hazards.layers import HazardLayer, read_layer, read_regions
from sheltermap.hazards.shipped import shipped_layer
from sheltermap.ids import id_of
from sheltermap.shelters.fitting import carried, with_addons
from sheltermap.shelters.kit import (
    AddOn,
    Kit,
    Sleeper,
    load_addons,
    load_kits,
    read_addons,
    read_kits,
)
from sheltermap.trip.log import DoneRow, SleptRow
from sheltermap.trip.model import Files, Leg, Trip, reading
from sheltermap.trip.route import read_route
from sheltermap.trip.values import Find
from sheltermap.validation import did_you_mean, shown
from sheltermap.vocabulary import InputError, Problem

Read = TypeVar("Read")
Priced = TypeVar("Priced", Kit, AddOn)


@dataclass(frozen=True, eq=False)
class Inputs:
    """Everything a trip's files say.

    Attributes
    ----------
    path : Path
        The trip file.
    trip : Trip
    kits : tuple of Kit
        Those to compare, the choice first and with its add-ons.
    known : mapping of str to Kit
        Every kit that the trip may name, as often as the party needs it, without add-ons.
    addons : mapping of str to AddOn
        All that are known, for remedies.
    sleepers : tuple of Sleeper
        One a person.
    regions : GeoDataFrame or None
    layers : tuple of HazardLayer
        The trip's own, then the bundled ones.
    route : shapely.MultiLineString or None
    ignored : tuple of str
        One line a file that holds what is not ours.
    """

    path: Path
    trip: Trip
    kits: tuple[Kit, ...]
    known: Mapping[str, Kit]
    addons: Mapping[str, AddOn]
    sleepers: tuple[Sleeper, ...]
    regions: geopandas.GeoDataFrame | None
    layers: tuple[HazardLayer, ...]
    route: shapely.MultiLineString | None
    ignored: tuple[str, ...] = ()

    def region_of(self, leg: Leg) -> pd.Series:
        """Return the region that a leg names; `read_inputs` refuses a leg whose region lacks."""
        assert self.regions is not None
        number = _region_number(self.regions, leg.region or "")
        assert number is not None
        return self.regions.iloc[number]


def read_inputs(
    path: Path | str, find: Find | None = None, changed: Mapping[str, Any] | None = None
) -> Inputs:
    """
    Return everything a trip's files say.

    Parameters
    ----------
    path : path
        A trip file or its folder.
    find : callable, optional
        As for `read_trip`.
    changed : mapping of str to value, optional
        Keys of the trip that are read as if its file held other values.

    Returns
    -------
    Inputs

    Raises
    ------
    InputError
        With every problem of every file.
    """
    path = in_folder(path, "trip.toml")
    read = reading(path, find, changed)
    gather = _Gathered(path)
    gather.problems += read.problems
    trip, files = read.trip, read.files
    regions = gather.file("regions", files.regions, read_regions) if files.regions else None
    layers = gather.all_files("hazards", files.hazards, read_layer)
    drawn = gather.file("route", files.route, read_route) if files.route else None
    known, addons = _known_kits(gather, files)
    kits = None
    if trip is not None and known is not None:
        known, addons = _priced(known, trip.money.euro), _priced(addons, trip.money.euro)
        kits = gather(_chosen_kits, trip, known, addons, str(path))
        known = {name: _for_party(kit, trip.party.people) for name, kit in known.items()}
    if trip is not None and regions is not None:
        gather(_require_regions, trip, regions, str(path))
    if gather.problems or layers is None or kits is None or known is None or trip is None:
        raise InputError(gather.problems)
    layers.append(shipped_layer())
    of_regions = [] if regions is None else [regions.attrs["ignored"]]
    of_route = [] if drawn is None else [drawn.ignored]
    of_files = [*of_regions, *(layer.ignored for layer in layers), *of_route]
    return Inputs(
        path=path,
        trip=trip,
        kits=kits,
        known=known,
        addons=addons,
        sleepers=sleepers_of(trip),
        regions=regions,
        layers=tuple(layers),
        route=None if drawn is None else drawn.line,
        ignored=tuple(filter(None, of_files)),
    )


def sleepers_of(trip: Trip) -> tuple[Sleeper, ...]:
    """
    Return the sleepers of a party, those who differ first.

    Parameters
    ----------
    trip : Trip

    Returns
    -------
    tuple of Sleeper
        As many as there are people.
    """
    party = trip.party
    common = Sleeper(
        preset=party.preset,
        cold_sleeper=party.cold_sleeper,
        bedding=party.bedding,
        length_m=party.length_m,
    )
    own = [
        Sleeper(
            preset=person.preset or common.preset,
            cold_sleeper=(
                common.cold_sleeper if person.cold_sleeper is None else person.cold_sleeper
            ),
            bedding=person.bedding or common.bedding,
            length_m=person.length_m or common.length_m,
        )
        for person in party.sleepers
    ]
    return (*own, *[common] * (party.people - len(own)))


class _Gathered(Gathered):
    """The problems of a trip and its files."""

    def __init__(self, trip_file: Path) -> None:
        super().__init__()
        self.trip_file = trip_file

    def file(self, key: str, name: str, reader: Callable[[Path], Read]) -> Read | None:
        """Return what a reader finds in a file that the trip names; None if it has problems."""
        path = self.trip_file.parent / name
        try:
            kind = "a folder" if path.is_dir() else "" if path.exists() else "no such file"
        except OSError:
            kind = ""  # The reader says why.
        if not kind:
            return self(reader, path)
        expected, got = "a file, as seen from the trip file", f"{shown(name)}, {kind}"
        mend = "Check the name and the folder."
        self.problems.append(Problem(str(self.trip_file), f"files.{key}", expected, got, mend))
        return None

    def all_files(
        self, key: str, names: Sequence[str], reader: Callable[[Path], Read]
    ) -> list[Read] | None:
        """Return what a reader finds in each of several files; None if one has problems."""
        found = [self.file(f"{key}[{n}]", name, reader) for n, name in enumerate(names, 1)]
        read = [one for one in found if one is not None]
        return read if len(read) == len(found) else None


def _known_kits(gather: _Gathered, files: Files) -> tuple[dict[str, Kit] | None, dict[str, AddOn]]:
    """Return all kits and add-ons; no kits where a file of them is wrong.

    Else a kit may only seem unknown, and one mistake reads as two.
    """
    known, addons = dict(load_kits()), dict(load_addons())
    own_kits = gather.all_files("kits", files.kits, read_kits)
    if own_kits is None:
        return None, addons
    for name, own in zip(files.kits, own_kits, strict=True):
        known |= own
        addons |= read_addons(gather.trip_file.parent / name)
    return known, addons


def _chosen_kits(
    trip: Trip, known: Mapping[str, Kit], addons: Mapping[str, AddOn], file: str
) -> tuple[Kit, ...]:
    """Return the kits a trip compares, the first with the trip's add-ons."""
    problems = [
        Problem(file, key, expected, repr(name), did_you_mean(name, choice))
        for expected, choice, names in (
            ("the id of a kit", known, _named_kits(trip)),
            ("the id of an add-on", addons, _named_addons(trip)),
        )
        for key, name in names
        if name not in choice
    ]
    if problems:
        raise InputError(problems)
    people = trip.party.people
    first, *others = (_for_party(known[name], people) for name in dict.fromkeys(trip.shelter.kits))
    return (with_addons(first, trip.shelter.addons, addons, file, "shelter.addons"), *others)


def _named_kits(trip: Trip) -> Iterator[tuple[str, str]]:
    """Yield every key of a trip that names a kit, with the name."""
    for number, name in enumerate(trip.shelter.kits, 1):
        yield f"shelter.kits[{number}]", name
    logs: dict[str, Sequence[DoneRow | SleptRow]] = {"done": trip.done, "slept": trip.slept}
    for table, rows in logs.items():
        for number, row in enumerate(rows, 1):
            if row.kit is not None:
                yield f"{table}[{number}].kit", row.kit


def _named_addons(trip: Trip) -> Iterator[tuple[str, str]]:
    """Yield every key of a trip that names an add-on, with the name."""
    for number, name in enumerate(trip.shelter.addons, 1):
        yield f"shelter.addons[{number}]", name
    for number, row in enumerate(trip.done, 1):
        for place, name in enumerate(row.addons or (), 1):
            yield f"done[{number}].addons[{place}]", name


def _for_party(kit: Kit, people: int) -> Kit:
    """Return a kit as often as a party needs it."""
    return kit if people <= kit.places else carried(kit, people)


def _priced(things: dict[str, Priced], euro: float | None) -> dict[str, Priced]:
    """Return kits or add-ons with their prices in the trip's currency."""
    if euro is None:
        return things
    return {
        name: thing.model_copy(update={"price": thing.price * euro})
        for name, thing in things.items()
    }


def _region_number(regions: geopandas.GeoDataFrame, wanted: str) -> int | None:
    """Return which region a trip means, by its id or its name; None where there is none."""
    known = zip(regions["id"], regions["name"], strict=True)
    wanted_id = id_of(wanted)
    return next(
        (n for n, (ident, name) in enumerate(known) if name == wanted or ident == wanted_id), None
    )


def _require_regions(trip: Trip, regions: geopandas.GeoDataFrame, file: str) -> None:
    """Raise unless every region that legs name is in the region file."""
    ids = list(regions["id"])
    problems = [
        Problem(
            file,
            f"legs[{number}].region",
            "the id or the name of a region",
            repr(leg.region),
            did_you_mean(leg.region, ids),
        )
        for number, leg in enumerate(trip.legs, 1)
        if leg.region is not None and _region_number(regions, leg.region) is None
    ]
    if problems:
        raise InputError(problems)
