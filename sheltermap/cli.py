"""The command line: arguments in, messages and exit codes out.

Exit codes: 0 done; 1 the trip has no feasible plan; 2 an input or an argument is wrong
(every problem on stderr, nothing written); 130 broken off by the user, 141 by who read the
output, as shells have it. Everything heavy is imported by the command that needs it, so that
``--help`` answers at once.
"""

from __future__ import annotations

import io
import json
import sys
from datetime import date
from pathlib import Path
from typing import Any

import click

from sheltermap import __version__
from sheltermap.arguments import (
    BEDDING,
    CLIMATE,
    FILE,
    KIT_FILES,
    SLEEPER,
    Change,
    Day,
    Number,
    box,
    build_date,
    numbers,
    position,
    same_file,
)
from sheltermap.atlascommand import atlas
from sheltermap.terminal import (
    WRONG_INPUT,
    Commands,
    as_typed,
    counted,
    example,
    look_again,
    progress_bar,
    say,
)
from sheltermap.told import described
from sheltermap.vocabulary import SITES, InputError

_NO_PLAN = 1


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="sheltermap")
@click.pass_context
def main(context: click.Context) -> None:
    """Choose a sleep kit and a season for a long journey outdoors.

    Results rest on long-term climate averages. They are not a forecast: local
    authorities, park rules, warnings and licensed guides come first.
    """
    # Terminals and pipes of other encodings than UTF-8 show what they lack as escapes.
    if isinstance(sys.stdout, io.TextIOWrapper):  # None where it was closed.
        sys.stdout.reconfigure(errors="backslashreplace")
    # Before any command: libraries that commands import stumble over a wrong one.
    context.obj = build_date()


main.add_command(atlas)


@main.command(
    epilog=example("sheltermap new steppe --route track.gpx", "sheltermap build steppe/trip.toml")
)
@click.argument("folder", type=FILE)
@click.option("--route", type=FILE, help="A GPX or GeoJSON line to cut into legs.")
@click.option("--example", help="A bundled journey to copy instead; else a small starter.")
@click.pass_obj
def new(made: date | None, folder: Path, route: Path | None, example: str | None) -> None:
    """Write a trip into FOLDER, from a route or to start from; it builds as it is."""
    if route is not None and example is not None:
        raise click.UsageError("expected --route or --example, got both. Leave one out.")
    if route is None:
        from sheltermap.trip.starter import start

        trip = start(folder, example or "starter")
        click.echo(f"Wrote {trip}. Next: sheltermap build {as_typed(trip)}")
        return
    from sheltermap.places.drafted import start_on_route

    trip, draft = start_on_route(folder, route, (made or date.today()).year + 1)
    for line in draft.told:
        say(line)
    kilometres = sum(leg.kilometres or 0.0 for leg in draft.legs)
    lands = len({leg.country for leg in draft.legs if leg.country})
    click.echo(
        f"Wrote {trip}: {counted(len(draft.legs), 'leg')}, {kilometres:,.0f} km, "
        f"{lands} countr{'y' if lands == 1 else 'ies'}."
    )
    click.echo(f"Next: sheltermap preview {as_typed(trip)}")


@main.command(epilog=example("sheltermap check steppe/trip.toml"))
@click.argument("trip", type=FILE)
@CLIMATE
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def check(trip: Path, climate: Path | None, as_json: bool) -> None:
    """List every problem of TRIP and the files it names."""
    from sheltermap import pipeline

    try:
        checked, doubts = pipeline.read(trip, climate=climate)
    except InputError as error:
        if as_json:
            click.echo(json.dumps({"problems": described(error.problems)}, indent=2))
            sys.exit(WRONG_INPUT)
        raise
    if as_json:
        found = {"problems": [], "ignored": checked.ignored, "doubts": doubts}
        click.echo(json.dumps(found, indent=2))
        return
    click.echo(
        f"{checked.trip.title}: {counted(len(checked.trip.legs), 'leg')}, "
        f"{counted(len(checked.kits), 'kit')}, no problem found."
    )
    for line in checked.ignored:
        say(line)
    look_again(doubts)


@main.command(epilog=example("sheltermap build steppe/trip.toml -o build"))
@click.argument("trip", type=FILE)
@click.option(
    "-o",
    "--output",
    default="build",
    show_default=True,
    type=FILE,
    help="Folder for the site; an older site there is replaced when the new one is complete.",
)
@CLIMATE
@click.option("--one-file", is_flag=True, help="Write one HTML file instead of a folder.")
@click.option(
    "--public",
    is_flag=True,
    help="A copy for everyone: half-degree cells, main months and kits, nothing finer.",
)
@click.option("-q", "--quiet", is_flag=True, help="No progress bar.")
@click.pass_obj
def build(
    made: date | None,
    trip: Path,
    output: Path,
    climate: Path | None,
    one_file: bool,
    public: bool,
    quiet: bool,
) -> None:
    """Compute the plan of TRIP and write it as an offline site."""
    from sheltermap import pipeline

    if not output.name:
        kind, name = ("file", "plan.html") if one_file else ("folder", "site")
        wrong = f"expected a {kind} to write, got '{output}'. Name one, as {name}."
        raise click.BadParameter(wrong, param_hint="-o")
    if one_file and not output.suffix:
        output = output.with_suffix(".html")
    with progress_bar(quiet) as progress:
        report = pipeline.build(
            trip,
            output,
            climate=climate,
            one_page=one_file,
            public=public,
            made=made,
            progress=progress,
        )
    click.echo(f"Wrote {output if one_file else output / 'index.html'}")
    look_again(report.doubts)
    if report.best is None:
        click.echo("No feasible plan:", err=True)
        for reason in report.infeasible:
            say(reason, err=True, indent="  ")
        sys.exit(_NO_PLAN)


@main.command(epilog=example("sheltermap preview steppe/trip.toml"))
@click.argument("trip", type=FILE)
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Else one that is free.")
@click.option("--no-browser", is_flag=True, help="Don't open the browser.")
@CLIMATE
def preview(trip: Path, port: int, no_browser: bool, climate: Path | None) -> None:
    """Show the site of TRIP in the browser, and build it again on each save.

    It is served on this machine only. Ctrl+C ends it.
    """
    import tempfile
    import threading
    import webbrowser

    from sheltermap.preview import Preview, served, watched

    def tell(shown: Preview) -> None:
        problems = shown.news(-1)["problems"]
        click.echo(f"Build {shown.version}: {counted(len(problems), 'problem')}.")
        for line in problems:
            say(line, err=True, indent="  ")

    with tempfile.TemporaryDirectory(prefix="sheltermap-") as room:
        shown = Preview(trip, Path(room), climate)
        with served(shown, port) as address:
            click.echo(f"Preview at {address}; Ctrl+C ends it.")
            if not no_browser:
                webbrowser.open(address)
            watched(shown, tell, threading.Event())


@main.command(
    epilog=example(
        "sheltermap depart steppe/trip.toml",
        "sheltermap depart steppe/trip.toml --from Steppe --on 2027-07-04 --json",
    )
)
@click.argument("trip", type=FILE)
@click.option("--from", "from_leg", metavar="LEG", help="Replan from this leg onwards.")
@click.option("--on", type=Day(), metavar="YYYY-MM-DD", help="The day you reach its first camp.")
@CLIMATE
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def depart(
    trip: Path, from_leg: str | None, on: date | None, climate: Path | None, as_json: bool
) -> None:
    """When to leave, which way round, how long to stay."""
    from sheltermap import pipeline
    from sheltermap.report.departures import departures, departures_in_words

    if (from_leg is None) != (on is None):
        given, lacking = ("--on", "--from LEG") if from_leg is None else ("--from", "--on DAY")
        raise click.UsageError(
            f"--from and --on go together: expected both, got {given} alone. Add {lacking}."
        )
    start = None if from_leg is None or on is None else (from_leg, on)
    report = pipeline.plan(trip, climate=climate, replan_from=start, made=None)
    look_again(report.doubts)
    if as_json:
        click.echo(json.dumps(departures(report), indent=2))
    else:
        for line in departures_in_words(report):
            say(line)
    if report.best is None:
        sys.exit(_NO_PLAN)


@main.command(
    epilog=example(
        "sheltermap compare april.toml may.toml -o compared.html",
        "sheltermap compare steppe/trip.toml --set party.bedding=-5",
    )
)
@click.argument("one", type=FILE, metavar="A")
@click.argument("other", type=FILE, metavar="[B]", required=False)
@click.option("--set", "changed", multiple=True, type=Change(), help="Change B, or A again.")
@click.option("-o", "--output", type=FILE, help="Write a page, .html.")
@CLIMATE
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def compare(
    one: Path,
    other: Path | None,
    changed: tuple[tuple[str, Any], ...],
    output: Path | None,
    climate: Path | None,
    as_json: bool,
) -> None:
    """What differs between two plans: trips A and B, or A with changed keys."""
    from sheltermap import pipeline
    from sheltermap.report.compared import compared, compared_in_words
    from sheltermap.website.comparepage import compare_page
    from sheltermap.website.write import write_file

    if other is None and not changed:
        raise click.UsageError("expected B or --set KEY=VALUE, got neither. Add one.")
    first = pipeline.plan(one, climate=climate)
    second = pipeline.plan(other or one, climate=climate, changed=dict(changed))
    look_again(dict.fromkeys((*first.doubts, *second.doubts)))
    result = compared(first, second)
    if output is not None:
        click.echo(f"Wrote {write_file(compare_page(result), output)}", err=as_json)
    if as_json:
        click.echo(json.dumps(result, indent=2))
    else:
        for line in compared_in_words(result):
            say(line)
    if first.best is None or second.best is None:
        sys.exit(_NO_PLAN)


@main.command(
    # Southern latitudes and western longitudes begin like options.
    context_settings={"ignore_unknown_options": True},
    epilog=example(
        "sheltermap night 41.0 28.9",
        "sheltermap night 38.6 34.8 --elevation 1200 --kit bedroll --json",
        "sheltermap night -41.3 174.8 --bedding winter --sleeper cold --site shore",
        'sheltermap night "Osh, Kyrgyzstan"',
    ),
)
@click.argument("where", nargs=-1, metavar="LAT LON | NAME", callback=position)
@click.option("--trip", type=FILE, help="A trip, whose --leg is told as its site tells it.")
@click.option("--leg", help="A leg of the trip.")
@click.option("--kit", "kit_id", help="See sheltermap kits; else bedroll, or the trip's first.")
@KIT_FILES
@click.option(
    "--elevation",
    type=Number(-450, 6000, "Give metres."),
    help="The camp's height above sea level [m]; else read from the embedded map.",
)
@BEDDING
@SLEEPER
@click.option(
    "--site", type=click.Choice(SITES), help="The lie of the camp; without it wind is unknown."
)
@CLIMATE
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def night(
    where: tuple[float, float] | str | None,
    trip: Path | None,
    leg: str | None,
    kit_id: str | None,
    files: tuple[Path, ...],
    elevation: float | None,
    bedding: str | None,
    sleeper: str,
    site: str | None,
    climate: Path | None,
    as_json: bool,
) -> None:
    """Twelve months of nights at one place, by position or name, or at a leg of a trip."""
    if (trip is None) != (leg is None) or (trip is None) == (where is None):
        raise click.UsageError("Give LAT LON, a NAME, or --trip FILE with --leg NAME.")
    if trip is not None and leg is not None:
        from sheltermap import pipeline

        _tell(pipeline.leg_night(trip, leg, kit_id, climate=climate), as_json)
        return

    from sheltermap.report import point

    assert where is not None
    called, doubt = None, ""
    if isinstance(where, str):
        from sheltermap.places.names import named

        place = named(where)
        called, doubt = place.words, place.doubt
        where = place.latitude, place.longitude
    who = point.sleeper(bedding, cold=sleeper == "cold")
    camp = point.Camp(*where, elevation, site, who, called, doubt)
    _tell(point.twelve_months(camp, kit_id or "bedroll", climate, files), as_json)


def _tell(result: dict[str, Any], as_json: bool) -> None:
    """Print an answer of the ``night`` contract."""
    from sheltermap.report.night_words import in_words

    look_again(result["doubts"])
    if as_json:
        click.echo(json.dumps(result, indent=2))
    else:
        for line in in_words(result):
            say(line)


@main.command(epilog=example("sheltermap kits", "sheltermap kits --trip my-trip/trip.toml"))
@KIT_FILES
@click.option("--trip", type=FILE, help="A trip: its kits, for its sleepers.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def kits(files: tuple[Path, ...], trip: Path | None, as_json: bool) -> None:
    """List the kits with the coldest and hottest nights they suit."""
    from sheltermap.report.kit_list import kit_rows, kit_table

    if trip is not None and files:
        raise click.UsageError("Give --trip or --file: a trip names its own kit files.")
    whose = "of usual sleepers"
    if trip is None:
        rows = kit_rows(files)
    else:
        from sheltermap import pipeline

        rows, whose = pipeline.trip_kits(trip), "of the trip's coldest and hottest sleeper"
    if as_json:
        click.echo(json.dumps(rows, indent=2))
    else:
        for line in kit_table(rows, whose):
            say(line)


@main.group()
def climate() -> None:
    """Bring a climatology of your own."""


@climate.command(
    "import",
    epilog=example("sheltermap climate import tmin.nc tmax.nc -o mine.nc --bbox 26,36,46,44"),
)
@click.argument("sources", nargs=-1, required=True)
@click.option("-o", "--output", required=True, type=FILE, help="File to write, .nc.")
@click.option("--bbox", metavar="W,S,E,N", help="Keep this box only [degrees].")
@click.option("--period", metavar="FIRST-LAST", help="Years of a longer series, as 1991-2020.")
def climate_import(
    sources: tuple[str, ...], output: Path, bbox: str | None, period: str | None
) -> None:
    """Turn published climate files into the form that build reads."""
    from sheltermap.climate import readers, writer

    within = years = None
    if bbox is not None:
        within = box(bbox, "--bbox")
    if period is not None:
        first, last = numbers(period, "-", 2, int, "--period", "FIRST-LAST")
        if first > last:
            raise click.BadParameter(f"expected FIRST-LAST, got {period!r}", param_hint="--period")
        years = first, last
    if any(same_file(source, output) for source in sources):
        wrong = f"expected another file than the sources, got '{output}'. Name a new one."
        raise click.BadParameter(wrong, param_hint="-o")
    writer.require_climatology_target(output)
    climatology = readers.import_sources(sources, box=within, period=years)
    writer.write_climatology(climatology, output)
    click.echo(f"Wrote {output}")
    look_again(filter(None, [climatology.attrs.get("comment")]))
