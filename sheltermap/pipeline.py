"""The whole program on one page: files in, a plan out, the plan as a site.

In: a trip file. Out: a Report, and the site's folder. Assumes nothing; every step is in
a module of its own, and this one only hands results from one to the next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain
from pathlib import Path
from typing import Any

import xarray as xr

from sheltermap.climate.warming import warmed
from sheltermap.climate.world import embedded
from sheltermap.economy.comparison import KitComparison
from sheltermap.economy.load import LoadReport
from sheltermap.economy.planned import Economy
from sheltermap.places.behind import UsualPlaces, done_stays
from sheltermap.places.chosen import with_choice
from sheltermap.places.country import country
from sheltermap.places.ground import Camps, camps, extents, journey_box
from sheltermap.places.lessons import Lesson, lessons, taught
from sheltermap.places.limits import limits_for
from sheltermap.places.names import coordinates
from sheltermap.places.place import Place
from sheltermap.places.remedies import planned_advice, with_candidates
from sheltermap.places.scored import CampNights, scored_places
from sheltermap.places.slept import slept_nights
from sheltermap.planner.problem import Plan
from sheltermap.planner.window import good_window
from sheltermap.report.behind import by_stop, departed, evenings_logged, under_way
from sheltermap.report.dated import Dater
from sheltermap.report.decision import Decision, decision
from sheltermap.report.doubts import input_doubts
from sheltermap.report.exports import exported_files
from sheltermap.report.kit_list import listed_kit
from sheltermap.report.leg_night import leg_answer
from sheltermap.report.outline import cell_years, outline
from sheltermap.report.own_effect import own_nights
from sheltermap.report.parts import (
    cards,
    climate_source,
    map_grid,
    refusals,
    route_points,
)
from sheltermap.report.question import planning_problem
from sheltermap.report.report import RefusedKit, Report
from sheltermap.report.way_out import way_out
from sheltermap.shelters.kit import Kit
from sheltermap.suitability.remedy import Advice
from sheltermap.trip.inputs import Inputs, read_inputs
from sheltermap.validation import did_you_mean, same_name, shown
from sheltermap.vocabulary import InputError, Problem
from sheltermap.website.basemap import shipped
from sheltermap.website.pages import one_file, site
from sheltermap.website.publiccopy import public_page
from sheltermap.website.write import (
    require_file_target,
    require_site_target,
    write_file,
    write_site,
)

_STEPS = 4

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""


@dataclass(frozen=True, eq=False)
class _Basis:
    """What a plan rests on: what was read and learned, the kits that fit, the camps' climate."""

    inputs: Inputs
    kits: tuple[Kit, ...]
    refused: dict[str, RefusedKit]
    climatology: xr.Dataset
    camps: Camps
    lessons: tuple[Lesson, ...] = ()


@dataclass(frozen=True, eq=False)
class _Weighed:
    """What the best plan weighs and costs, kit against kit; all None where there is no plan."""

    load: LoadReport | None = None
    comparison: KitComparison | None = None


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
    basis = _basis(read_inputs(path, coordinates), climate)
    slept_nights(basis.inputs, basis.camps, climate)  # Their places have problems of their own.
    return basis.inputs, input_doubts(basis.inputs, basis.camps, basis.climatology)


def plan(
    path: Path | str,
    *,
    climate: Path | None = None,
    replan_from: tuple[str, date] | None = None,
    made: date | None = None,
    changed: Mapping[str, Any] | None = None,
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
        A leg's name and the day its camp is reached; the legs before it stay as planned.
    made : date, optional
        Printed on the pages where the trip file gives no date.
    changed : mapping of str to value, optional
        Keys of the trip that are read as if its file held other values.
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
    inputs = read_inputs(path, coordinates, changed)
    inputs = replace(inputs, trip=departed(inputs.trip))
    late = None if replan_from is None else (_leg_number(replan_from[0], inputs), replan_from[1])
    untaught = _basis(inputs, climate)
    basis = _taught(untaught, climate)
    inputs = basis.inputs

    progress(0, _STEPS, "Scoring")
    places, nights = scored_places(basis.camps, inputs, basis.kits)

    progress(1, _STEPS, "Planning")
    question = planning_problem(inputs.trip, basis.kits, basis.camps, basis.camps.by_leg(places))
    usual = UsualPlaces(untaught.inputs, basis.camps, _scored_as_usual(basis, places))
    evenings = evenings_logged(question, inputs.trip)
    stays = done_stays(usual, evenings)
    question = under_way(question, inputs.trip, stays, evenings)
    decided = decision(question, inputs.trip.shelter, late)
    if decided.best is None and late is None:
        helping = way_out(inputs, basis.kits, basis.camps, question)
        cause, *others = decided.infeasible
        decided = replace(decided, infeasible=(cause, *helping, *others))
    kits = decided.chosen_first(basis.kits)
    places = with_candidates(places, basis.camps, nights, inputs, kits[0])
    advice = _advice(basis.camps.by_leg(places), decided.best)
    places = with_choice(places, basis.camps, inputs.trip, kits[0], advice)
    by_leg = basis.camps.by_leg(places)
    behind = by_stop(stays)
    dater = Dater(inputs.trip, kits, decided.problem, by_leg, advice or Advice(), behind)

    progress(2, _STEPS, "Weighing")
    weighed = _weighed(basis, nights, dater, decided.best)

    progress(3, _STEPS, "Drawing")
    report = _report(basis, nights, decided, dater, weighed, made)
    own = own_nights(basis.lessons, usual, basis.camps, decided.best, decided.asked)
    return replace(report, own=own)


def leg_night(
    path: Path | str, leg: str, kit: str | None = None, *, climate: Path | None = None
) -> dict:
    """
    Return twelve months of nights at a leg of a trip, as the site shows them.

    Parameters
    ----------
    path : path
        A trip file or its folder.
    leg : str
        Its name.
    kit : str, optional
        One of the trip's that fit; the first by default.
    climate : path, optional
        As for `plan`.

    Returns
    -------
    dict
        The ``night`` contract.

    Raises
    ------
    InputError
        With every problem of the inputs, or if the trip has no such leg or kit.
    """
    basis = _taught(_basis(read_inputs(path, coordinates), climate), climate)
    number = _named("--leg", leg, [one.name for one in basis.inputs.trip.legs], "leg")
    ids = [one.id for one in basis.kits]
    chosen = basis.kits[0 if kit is None else _named("--kit", kit, ids, "fitting kit")]
    places, nights = scored_places(basis.camps, basis.inputs, (chosen,))
    places = with_candidates(places, basis.camps, nights, basis.inputs, chosen)
    place = basis.camps.by_leg(places)[number]
    name = basis.inputs.trip.legs[number].name
    attributes = {key: str(text) for key, text in basis.climatology.attrs.items()}
    return leg_answer(name, place, chosen.id, basis.camps, nights, attributes)


def trip_kits(path: Path | str, *, climate: Path | None = None) -> list[dict]:
    """
    Return the kits of a trip that fit, with their limits as its Kits page has them.

    Takes and raises what `plan` does; gives rows as ``report.kit_list.kit_rows``.
    """
    basis = _taught(_basis(read_inputs(path, coordinates), climate), climate)
    return [listed_kit(kit, limits_for(basis.inputs, kit)) for kit in basis.kits]


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
        Whether to write a copy for everyone: one page of cells, months and kits.

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
    >>> from sheltermap.resources import bundled
    >>> with TemporaryDirectory() as folder:
    ...     page = Path(folder) / "karst-to-taurus.html"
    ...     report = build(bundled("regions") / "starter", page, one_page=True)
    ...     page.read_text(encoding="utf-8").startswith("<!doctype html>")
    True
    """
    # Nobody waits for a plan that then has no place to go to.
    (require_file_target if one_page else require_site_target)(output)
    report = plan(path, climate=climate, made=made, progress=progress)
    if public:
        page = _public_page(report)
        write_file(page, output) if one_page else write_site({"index.html": page}, output)
    elif one_page:
        write_file(one_file(report, base_map=shipped), output)
    else:
        write_site(site(report, base_map=shipped, exports=exported_files(report)), output)
    return report


def _public_page(report: Report) -> bytes:
    """Return the public copy, which is made of the report's outline and of nothing else."""
    told = outline(report)
    climate = {name: str(text) for name, text in embedded().attrs.items()}
    return public_page(told, cell_years(told), shipped, climate)


def _basis(inputs: Inputs, climate: Path | None) -> _Basis:
    """Return what a trip's files come to, before any night is scored."""
    refused = refusals(inputs)
    where = extents(inputs)
    years = inputs.trip.settings.warming_years
    climatology = warmed(country(journey_box(where), climate), years)
    return _Basis(
        inputs=inputs,
        kits=tuple(kit for kit in inputs.kits if kit.id not in refused),
        refused=refused,
        climatology=climatology,
        camps=camps(inputs, where, climatology),
    )


def _taught(basis: _Basis, climate: Path | None) -> _Basis:
    """Return what a plan rests on once the nights slept are counted."""
    slept = slept_nights(basis.inputs, basis.camps, climate)
    learnt = lessons(basis.inputs, slept)
    inputs = taught(basis.inputs, slept, learnt)
    kits = tuple(kit for kit in inputs.kits if kit.id not in basis.refused)
    return replace(basis, inputs=inputs, kits=kits, lessons=learnt)


def _scored_as_usual(
    basis: _Basis, places: Sequence[Place]
) -> dict[Kit, tuple[Place, ...]] | None:
    """Return places by the kits they are scored in for the usual sleepers; None where not."""
    if basis.lessons:
        return None
    return dict.fromkeys(basis.kits, basis.camps.by_leg(places))


def _advice(by_leg: tuple[Place, ...], best: Plan | None) -> Advice | None:
    """Return what helps over the best plan; None where there is no plan."""
    return None if best is None else planned_advice(by_leg, best.ahead, best.kit)


def _weighed(
    basis: _Basis, nights: tuple[CampNights, ...], dater: Dater, best: Plan | None
) -> _Weighed:
    """Return what the best plan weighs and costs; nothing where there is no plan."""
    if best is None:
        return _Weighed()
    asked = basis.inputs, basis.camps, nights, dater.places
    economy = Economy(*asked, best, dater.behind)
    comparison = economy.comparison(dater.kits, dater.advice.remedy)
    return _Weighed(comparison.rows[0].load, comparison)


def _report(
    basis: _Basis,
    nights: tuple[CampNights, ...],
    decided: Decision,
    dater: Dater,
    weighed: _Weighed,
    made: date | None,
) -> Report:
    """Return everything the pages show, from what the steps found."""
    inputs, trip, best = basis.inputs, basis.inputs.trip, decided.best
    by_kit = replace(dater, problem=decided.asked)  # Alternatives may be in another kit.
    return Report(
        trip=trip,
        made=trip.made or made,
        climate=climate_source(basis.climatology, nights),
        kits=dater.kits,
        cards=cards(inputs, dater.kits),
        refused=basis.refused,
        places=_in_travel_order(dater.places, best),
        best=None if best is None else dater.dated(best),
        alternatives=tuple(by_kit.dated(other, best) for other in decided.alternatives),
        by_departure=dater.departures(decided.result),
        good_window=good_window(decided.result),
        replans=() if best is None else dater.replans(best),
        infeasible=decided.infeasible,
        doubts=input_doubts(inputs, basis.camps, basis.climatology),
        remedy=dater.advice.remedy,
        little=dater.advice.little,
        load=weighed.load,
        comparison=weighed.comparison,
        grid=map_grid(basis.climatology, inputs, dater.kits),
        route=route_points(inputs.route),
        not_assessed=_each_once(place.not_assessed for place in dater.places),
        not_checked=_each_once(place.not_checked for place in dater.places),
    )


def _in_travel_order(by_leg: tuple[Place, ...], best: Plan | None) -> tuple[Place, ...]:
    """Return each place once, as the best plan meets them."""
    order = range(len(by_leg)) if best is None else best.order
    return tuple({by_leg[stop].id: by_leg[stop] for stop in order}.values())


def _leg_number(name: str, inputs: Inputs) -> int:
    """Return the position of a leg by its name."""
    names = [leg.name for leg in inputs.trip.legs]
    number = _named("--from", name, names, "leg")
    if any(row.leg == names[number] and row.left is not None for row in inputs.trip.done):
        mend = "Name a leg ahead, or correct the rows under [[done]]."
        raise InputError([Problem("", "--from", "a leg that is not done", shown(name), mend)])
    return number


def _named(option: str, name: str, names: list[str], what: str) -> int:
    """Return the position of a name that an option gives, whatever its case."""
    same = same_name(name, names)
    if same is None:
        mend = did_you_mean(name, names, f"Name a {what} of this trip.")
        problem = Problem("", option, "one of " + ", ".join(names), shown(name), mend)
        raise InputError([problem])
    return names.index(same)


def _each_once(lists: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """Return what stands in any of the lists, each once, as they come."""
    return tuple(dict.fromkeys(chain.from_iterable(lists)))
