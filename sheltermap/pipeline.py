"""The whole program on one page: files in, a plan out, the plan as a site.

In: a trip file. Out: a Report, and the site's folder. Assumes nothing; every step is in
a module of its own, and this one only hands results from one to the next.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from itertools import chain
from pathlib import Path

import xarray as xr

from sheltermap.climate.own import own_climatology
from sheltermap.climate.world import world_climatology
from sheltermap.economy.planned import Economy
from sheltermap.night.daylight import SleepWindow
from sheltermap.places.chosen import with_choice
from sheltermap.places.grid import grid_of
from sheltermap.places.ground import camps, extents, journey_box
from sheltermap.places.place import Place
from sheltermap.places.scored import scored_places
from sheltermap.planner.problem import Plan, Result
from sheltermap.planner.search import best_plans, replanned
from sheltermap.report.dated import Dater
from sheltermap.report.doubts import input_doubts
from sheltermap.report.exports import exported_files
from sheltermap.report.parts import (
    climate_source,
    map_grid,
    refusals,
    route_points,
)
from sheltermap.report.question import kit_in_words, planning_problem
from sheltermap.report.report import Report
from sheltermap.resources import bundled
from sheltermap.suitability.card import kit_limits
from sheltermap.trip.inputs import Inputs, read_inputs
from sheltermap.validation import did_you_mean, shown
from sheltermap.vocabulary import Box, InputError, Problem
from sheltermap.website.pages import one_file, site
from sheltermap.website.write import (
    require_file_target,
    require_site_target,
    write_file,
    write_site,
)

_STEPS = 4

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""


def read(path: Path | str, *, climate: Path | None = None) -> tuple[Inputs, tuple[str, ...]]:
    """
    Return everything a trip's files say, and what in it looks like a slip.

    Parameters
    ----------
    path : path
        A trip file or its folder.
    climate : path, optional
        A climatology in our form; the embedded one by default.

    Returns
    -------
    Inputs
    tuple of str
        As `Report.doubts`.

    Raises
    ------
    InputError
        With every problem.
    """
    inputs = read_inputs(path)
    refusals(inputs)
    where = extents(inputs)
    climatology = _climatology(climate, journey_box(where))
    return inputs, input_doubts(inputs, camps(inputs, where, climatology), climatology)


def plan(
    path: Path | str,
    *,
    climate: Path | None = None,
    replan_from: tuple[str, date] | None = None,
    made: date | None = None,
    progress: Progress = lambda done, total, what: None,
) -> Report:
    """
    Return the plan of a trip with everything the pages show.

    Parameters
    ----------
    path : path
        A trip file or its folder.
    climate : path, optional
        A climatology in our form; the embedded one by default.
    replan_from : (str, date), optional
        A leg's name and the day it is reached; the legs before it stay as planned.
    made : date, optional
        Printed on the pages where the trip file gives no date.
    progress : callable

    Returns
    -------
    Report
        With `best` None and the reasons in `infeasible` where no plan keeps every rule.

    Raises
    ------
    InputError
        With every problem of the inputs.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> trip = '''
    ... title = "A week by the sea"
    ... departure = { earliest = 2027-05-01, latest = 2027-05-10, finish_by = 2027-06-30 }
    ... shelter = { kits = ["ground-tent"] }
    ... [[legs]]
    ... name = "Bay"
    ... place = [36.6, 30.6]
    ... nights = 7
    ... '''
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder) / "trip.toml"
    ...     _ = file.write_text(trip, encoding="utf-8")
    ...     report = plan(file)
    >>> report.best.nights, report.best.kit
    (7, 'ground-tent')
    """
    inputs = read_inputs(path)
    trip = inputs.trip
    onward = None
    if replan_from is not None:
        leg, day = replan_from
        onward = _leg_number(leg, inputs), day
    refused = refusals(inputs)
    kits = tuple(kit for kit in inputs.kits if kit.id not in refused)
    where = extents(inputs)
    climatology = _climatology(climate, journey_box(where))
    where_camped = camps(inputs, where, climatology)

    progress(0, _STEPS, "Scoring")
    places, nights = scored_places(where_camped, inputs, kits)

    progress(1, _STEPS, "Planning")
    problem = planning_problem(trip, kits, where_camped, where_camped.by_leg(places))
    asked, result = problem, best_plans(problem)
    alternatives = result.alternatives
    if result.best is not None:
        # One kit a journey: every departure is shown with the kit that was chosen, while
        # the alternatives may differ in kit.
        chosen = result.best.kit
        kits = tuple(sorted(kits, key=lambda kit: kit.id != chosen))
        problem = problem.with_kit(chosen)
        result = best_plans(problem)
    kept_kit: tuple[str, ...] = ()
    if onward is not None and result.best is not None:
        result = replanned(problem, result.best, *onward)
        alternatives = result.alternatives
        if result.best is None:
            kept_kit = tuple(kit_in_words(trip.shelter, chosen))
    best = result.best
    places = with_choice(places, where_camped, nights, inputs, kits[0])
    by_leg = where_camped.by_leg(places)
    dater = Dater(trip, kits, problem, by_leg)

    progress(2, _STEPS, "Weighing")
    remedy = load = comparison = None
    if best is not None:
        remedy = dater.remedy(best)
        economy = Economy(inputs, where_camped, nights, by_leg, best)
        comparison = economy.comparison(kits, remedy)
        load = comparison.rows[0].load

    progress(3, _STEPS, "Drawing")
    hours = SleepWindow(trip.party.sleep_from, trip.party.sleep_to).length
    return Report(
        trip=trip,
        made=trip.made or made,
        climate=climate_source(climatology, nights),
        kits=kits,
        cards={kit.id: kit_limits(kit, inputs.sleepers, trip.settings, hours) for kit in kits},
        refused=refused,
        places=_in_travel_order(by_leg, best),
        best=None if best is None else dater.dated(best),
        alternatives=tuple(
            replace(dater, problem=asked).dated(other, best) for other in alternatives
        ),
        by_departure=dater.stays(result),
        replans=() if best is None else dater.replans(best),
        infeasible=tuple(filter(None, (result.message, *_other_ways(result), *kept_kit))),
        doubts=input_doubts(inputs, where_camped, climatology),
        remedy=remedy,
        load=load,
        comparison=comparison,
        grid=map_grid(climatology, inputs, kits),
        route=route_points(inputs.route),
        not_assessed=tuple(
            dict.fromkeys(factor for place in by_leg for factor in place.not_assessed)
        ),
        not_checked=_each_once(place.not_checked for place in by_leg),
    )


def build(
    path: Path | str,
    output: Path | str,
    *,
    climate: Path | None = None,
    one_page: bool = False,
    public: bool = False,
    made: date | None = None,
    progress: Progress = lambda done, total, what: None,
) -> Report:
    """
    Return the plan of a trip after writing it as a site.

    Parameters
    ----------
    path : path
        A trip file or its folder.
    output : path
        Folder to write; a former site there is replaced once the new one is complete.
        With `one_page` the file to write.
    climate, made, progress
        As for `plan`.
    one_page : bool
        Whether to write the site as one HTML file, to send by messenger.
    public : bool
        Whether to leave out dates, exact camps, vehicle, prices and notes.

    Returns
    -------
    Report

    Raises
    ------
    InputError
        With every problem; nothing is written then.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     page = Path(folder) / "karst-to-taurus.html"
    ...     report = build(bundled("regions") / "starter", page, one_page=True)
    ...     page.read_text(encoding="utf-8").startswith("<!doctype html>")
    True
    """
    # Nobody waits for a plan that then has no place to go to.
    (require_file_target if one_page else require_site_target)(output)
    report = plan(path, climate=climate, made=made, progress=progress)
    base_map = json.loads((bundled("regions") / "world" / "basemap.json").read_text("utf-8"))
    if one_page:
        write_file(one_file(report, base_map=base_map, public=public), output)
        return report
    exports = exported_files(report)
    write_site(site(report, base_map=base_map, exports=exports, public=public), output)
    return report


def _each_once(lists: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Return what stands in any of the lists, each once, as they come."""
    return tuple(dict.fromkeys(chain.from_iterable(lists)))


def _in_travel_order(by_leg: tuple[Place, ...], best: Plan | None) -> tuple[Place, ...]:
    """Return each place once, as the best plan meets them."""
    order = range(len(by_leg)) if best is None else best.order
    return tuple({by_leg[stop].id: by_leg[stop] for stop in order}.values())


def _climatology(path: Path | None, box: Box) -> xr.Dataset:
    """Return the climatology over a journey's box."""
    if path is None:
        return world_climatology(box)
    try:
        climatology = own_climatology(path, box)
    except InputError as error:
        raise InputError([_of_journey(problem, path, box) for problem in error.problems]) from None
    try:
        grid_of(climatology)
    except ValueError as error:
        problem = Problem(
            str(path),
            "",
            "a regular grid with two rows and columns or more around the journey",
            str(error),
            "Bring the climatology onto a regular grid, or import a larger box.",
        )
        raise InputError([problem]) from None
    return climatology


def _of_journey(problem: Problem, path: Path, box: Box) -> Problem:
    """Return a problem with a box that nobody wrote as one with a climatology and a journey."""
    if problem.key != "box":
        return problem
    west, south, east, north = box
    return Problem(
        str(path),
        "",
        "climate where the journey goes",
        f"none in latitudes {south:.1f} to {north:.1f}, longitudes {west:.1f} to {east:.1f}",
        f"{problem.mend} Import a box that holds the journey, or leave out --climate.",
    )


def _leg_number(name: str, inputs: Inputs) -> int:
    """Return the position of a leg by its name."""
    names = [leg.name for leg in inputs.trip.legs]
    if name not in names:
        expected = "one of " + ", ".join(names)
        mend = did_you_mean(name, names, "Name a leg of the trip.")
        raise InputError([Problem("", "--from", expected, shown(name), mend)])
    return names.index(name)


def _other_ways(result: Result) -> tuple[str, ...]:
    """Return what else would make a plan possible; the message names the smallest change."""
    return tuple(relaxation.message for relaxation in result.relaxations[1:])
