"""What an atlas is asked for: words of the command line in, a checked question out.

In: a box or a place's name, ids of kits, bedding. Out: an Asked. Assumes what ``night`` assumes of
the same words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from sheltermap.atlas.area import WORLD
from sheltermap.climate.grid import box_around
from sheltermap.gathered import Gathered
from sheltermap.hazards.layers import HazardLayer, read_layer
from sheltermap.hazards.shipped import shipped_layer
from sheltermap.places.names import named
from sheltermap.report.kit_list import known_kit, known_kits
from sheltermap.report.point import sleeper
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.vocabulary import Box, InputError

AROUND_DEGREES = 5.0
"""From a place to the edges of the atlas around it: some days' drive. [degrees] judgement"""


@dataclass(frozen=True)
class Asked:
    """
    What an atlas is asked for.

    Attributes
    ----------
    kits : tuple of Kit
        At least one.
    box : tuple of four floats
        West, south, east, north; west beyond east crosses the 180th meridian. [degrees]
    title : str
        What lies in it, for people.
    doubt : str
        Which other places are called as the one it lies around; empty where none is.
    sleeper : Sleeper
        Who sleeps in each kit.
    bedding : str
        As the user wrote it; empty where each kit has its own.
    climate : path or None
        A climatology in our form; the embedded one by default.
    layers : tuple of HazardLayer
        Hazards to show; kinds of none are not checked.
    netcdf, geotiff : bool
        Whether to write the cells in these forms too.
    """

    kits: tuple[Kit, ...]
    box: Box = WORLD
    title: str = "The world"
    doubt: str = ""
    sleeper: Sleeper = field(default_factory=Sleeper)
    bedding: str = ""
    climate: Path | None = None
    layers: tuple[HazardLayer, ...] = ()
    netcdf: bool = False
    geotiff: bool = False


def asked(
    *,
    box: Box | None = None,
    around: tuple[float, float] | str | None = None,
    kit_ids: Sequence[str] | None = None,
    files: Sequence[Path] = (),
    bedding: str | None = None,
    cold: bool = False,
    climate: Path | None = None,
    hazards: Sequence[Path] = (),
    netcdf: bool = False,
    geotiff: bool = False,
) -> Asked:
    """
    Return what an atlas is asked for.

    Parameters
    ----------
    box : tuple of four floats, optional
        West, south, east, north. [degrees]
    around : tuple of two floats or str, optional
        Latitude and longitude [degrees], or a place's name; without it and a box it is the world.
    kit_ids : sequence of str, optional
        All that ship, and those of `files`, by default.
    files : sequence of path
        Users' kit files.
    bedding : str, optional
        A word or a comfort temperature [degC]; each kit's own by default.
    cold : bool
        Whether the sleeper is colder than most.
    climate : path, optional
    hazards : sequence of path
        Hazard layers, as a trip names them, beside the one that ships.
    netcdf, geotiff : bool

    Returns
    -------
    Asked

    Raises
    ------
    InputError
        With every name, kit, bedding or file that is wrong.

    Examples
    --------
    >>> around = asked(around="Tbilisi, Georgia", kit_ids=["ground-tent"])
    >>> around.title, [round(edge) for edge in around.box]
    ('Around Tbilisi, Georgia', [40, 37, 50, 47])
    """
    gather = Gathered()
    where = gather(_area, box, around)
    kits = gather(_kits, kit_ids, files)
    who = gather(partial(sleeper, bedding, cold=cold))
    layers = [gather(read_layer, path) for path in hazards]
    if gather.problems or where is None or kits is None or who is None:
        raise InputError(gather.problems)
    return Asked(
        kits=kits,
        box=where[0],
        title=where[1],
        doubt=where[2],
        sleeper=who,
        bedding=bedding or "",
        climate=climate,
        layers=(shipped_layer(), *filter(None, layers)),
        netcdf=netcdf,
        geotiff=geotiff,
    )


def _area(box: Box | None, around: tuple[float, float] | str | None) -> tuple[Box, str, str]:
    """Return a box, its name for people, and what to ask of the name it was given."""
    if around is None:
        return (WORLD, "The world", "") if box is None else (box, _corners(box), "")
    doubt = ""
    if isinstance(around, str):
        place = named(around)
        around, words, doubt = (place.latitude, place.longitude), place.words, place.doubt
    else:
        words = f"{around[0]:g}, {around[1]:g}"
    return box_around(*around, AROUND_DEGREES), f"Around {words}", doubt


def _kits(ids: Sequence[str] | None, files: Sequence[Path]) -> tuple[Kit, ...]:
    """Return kits by their ids, each once; with every id that is unknown at once."""
    if ids is None:
        return tuple(known_kits(files).values())
    gather = Gathered()
    asked_for = dict.fromkeys(one.strip() for one in ids)
    found = [gather(known_kit, one, files, "--kits") for one in asked_for]
    if gather.problems:
        raise InputError(gather.problems)
    return tuple({kit.id: kit for kit in found if kit is not None}.values())


def _corners(box: Box) -> str:
    """Return a box in words."""
    west, south, east, north = box
    return f"Latitudes {south:g} to {north:g}, longitudes {west:g} to {east:g}"
