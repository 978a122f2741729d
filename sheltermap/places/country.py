"""The climatology over the country that a journey goes through.

In: a journey's box; optionally a climatology of the user's own. Out: the loaded climatology.
Assumes that the box was derived from a trip: nobody wrote it, so no message may name it.
"""

from __future__ import annotations

from pathlib import Path

import xarray as xr

from sheltermap.climate.own import own_climatology
from sheltermap.climate.world import world_climatology
from sheltermap.places.grid import grid_of
from sheltermap.vocabulary import Box, InputError, Problem


def country(box: Box, climate: Path | str | None = None) -> xr.Dataset:
    """
    Return the climatology over a journey's box.

    Parameters
    ----------
    box : tuple of four floats
        West, south, east, north, from `ground.journey_box`. [degrees]
    climate : path, optional
        A climatology in our form; the embedded one by default.

    Returns
    -------
    Dataset, month x latitude x longitude
        On a regular grid.

    Raises
    ------
    InputError
        As `own_climatology`; also if its grid is not regular, or too small to have cells.
    """
    if climate is None:
        return world_climatology(box)
    try:
        climatology = own_climatology(climate, box)
    except InputError as error:
        told = [_of_journey(problem, climate, box) for problem in error.problems]
        raise InputError(told) from None
    try:
        grid_of(climatology)
    except ValueError as error:
        problem = Problem(
            str(climate),
            "",
            "a regular grid with two rows and columns or more around the journey",
            str(error),
            "Bring the climatology onto a regular grid, or import a larger box.",
        )
        raise InputError([problem]) from None
    return climatology


def _of_journey(problem: Problem, climate: Path | str, box: Box) -> Problem:
    """Return a problem with a box that nobody wrote as one with a climatology and a journey."""
    if problem.key != "box":
        return problem
    west, south, east, north = box
    return Problem(
        str(climate),
        "",
        "climate where the journey goes",
        f"none in latitudes {south:.1f} to {north:.1f}, longitudes {west:.1f} to {east:.1f}",
        f"{problem.mend} Import a box that holds the journey, or leave out --climate.",
    )
