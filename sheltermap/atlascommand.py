"""The command ``atlas``: an area on the command line in, a folder out.

In: arguments. Out: messages. Assumes the exit codes of `cli`. Everything heavy is imported when
the command runs, as there.
"""

from __future__ import annotations

from pathlib import Path

import click

from sheltermap.arguments import BEDDING, CLIMATE, FILE, KIT_FILES, SLEEPER, box, position
from sheltermap.terminal import example, look_again, progress_bar


@click.command(
    epilog=example(
        "sheltermap atlas --world -o atlas",
        'sheltermap atlas --around "Tbilisi, Georgia" --kits ground-tent,roof-tent -o caucasus',
        "sheltermap atlas --box 38,38,51,44 --bedding winter -o caucasus",
    )
)
@click.option("--world", is_flag=True, help="All land.")
@click.option("--box", "bounds", metavar="W,S,E,N", help="A box [degrees].")
@click.option(
    "--around",
    metavar="NAME|LAT,LON",
    help="Ten degrees around a place.",
    callback=lambda context, option, words: position(context, option, [words] if words else []),
)
@click.option(
    "--kits", "kit_ids", metavar="ID,ID", help="See sheltermap kits; else all that ship."
)
@KIT_FILES
@BEDDING
@SLEEPER
@CLIMATE
@click.option("--hazards", multiple=True, type=FILE, help="A hazard layer, as a trip's.")
@click.option("--netcdf", is_flag=True, help="The cells as NetCDF too.")
@click.option("--geotiff", is_flag=True, help="The cells as GeoTIFF too, for mapping programs.")
@click.option("-o", "--output", required=True, type=FILE, help="Folder for the atlas.")
@click.option("-q", "--quiet", is_flag=True, help="No progress bar.")
def atlas(
    world: bool,
    bounds: str | None,
    around: tuple[float, float] | str | None,
    kit_ids: str | None,
    files: tuple[Path, ...],
    bedding: str | None,
    sleeper: str,
    climate: Path | None,
    hazards: tuple[Path, ...],
    netcdf: bool,
    geotiff: bool,
    output: Path,
    quiet: bool,
) -> None:
    """Where in an area, and in which months, nights are sound in which kit: an offline site."""
    if sum((world, bounds is not None, around is not None)) != 1:
        raise click.UsageError("Give one of --world, --box W,S,E,N and --around NAME.")
    from sheltermap.atlas import asked
    from sheltermap.atlas.build import build

    what = asked.asked(
        box=None if bounds is None else box(bounds, "--box"),
        around=around,
        kit_ids=None if kit_ids is None else kit_ids.split(","),
        files=files,
        bedding=bedding,
        cold=sleeper == "cold",
        climate=climate,
        hazards=hazards,
        netcdf=netcdf,
        geotiff=geotiff,
    )
    look_again(filter(None, [what.doubt]))
    with progress_bar(quiet) as progress:
        build(what, output, progress)
    click.echo(f"Wrote {output / 'index.html'}")
