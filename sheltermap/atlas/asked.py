"""What an atlas is asked for: words of the command line in, a checked question out.

In: a box or a place's name, ids of kits, bedding. Out: an Asked. Assumes what ``night`` assumes of
the same words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from sheltermap.atlas.area import WORLD
from sheltermap.climate.grid import box_around
from sheltermap.hazards.layers import HazardLayer, read_layer
from sheltermap.hazards.shipped import shipped_layer
from sheltermap.places.names import named
from sheltermap.report.kit_list import known_kit
from sheltermap.report.point import sleeper
from sheltermap.shelters.kit import Kit, Sleeper, load_kits
from sheltermap.vocabulary import Box

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
    sleeper: Sleeper = field(default_factory=Sleeper)
    bedding: str = ""
    climate: Path | None = None
    layers: tuple[HazardLayer, ...] = ()
    netcdf: bool = False
    geotiff: bool = False


def asked(
    *,
    box: Box | None = None,
    around: str | None = None,
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
    around : str, optional
        A place's name; without it and a box it is the world.
    kit_ids : sequence of str, optional
        All that ship by default.
    files : sequence of path
        Users' kit files; without ids their kits come first.
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
        If a name, a kit or the bedding is unknown, or a file has problems.

    Examples
    --------
    >>> around = asked(around="Tbilisi, Georgia", kit_ids=["ground-tent"])
    >>> around.title, [round(edge) for edge in around.box]
    ('Around Tbilisi, Georgia', [40, 37, 50, 47])
    """
    title = "The world" if box is None else ""
    if around is not None:
        place = named(around)
        box = box_around(place.latitude, place.longitude, AROUND_DEGREES)
        title = f"Around {place.words}"
    ids = list(load_kits()) if kit_ids is None else dict.fromkeys(kit_ids)
    return Asked(
        kits=tuple(known_kit(one.strip(), files) for one in ids),
        box=box or WORLD,
        title=title or _corners(box or WORLD),
        sleeper=sleeper(bedding, cold=cold),
        bedding=bedding or "",
        climate=climate,
        layers=(shipped_layer(), *(read_layer(path) for path in hazards)),
        netcdf=netcdf,
        geotiff=geotiff,
    )


def _corners(box: Box) -> str:
    """Return a box in words."""
    west, south, east, north = box
    return f"Latitudes {south:g} to {north:g}, longitudes {west:g} to {east:g}"
