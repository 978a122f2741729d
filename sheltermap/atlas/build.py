"""An atlas from the first cell to the last file: the whole of it on one page.

In: an area, kits, who sleeps. Out: a folder that opens without a network. Assumes that nothing but
a block, a month's picture and the counts of regions is ever held, so that memory does not grow
with the area: what is scored goes to the disk, and months are read back from there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TypeAlias

import xarray as xr

from sheltermap.atlas import crew
from sheltermap.atlas.area import AtlasGrid, Block, grid_in
from sheltermap.atlas.asked import Asked
from sheltermap.atlas.exports import GRID, geotiffs, require_geotiff, write_geotiffs, write_grid
from sheltermap.atlas.facts import AtlasFacts
from sheltermap.atlas.hazards import Hazards
from sheltermap.atlas.land import Land, LandShares
from sheltermap.atlas.page import page_files
from sheltermap.atlas.pictures import Painter, pictures
from sheltermap.atlas.regions import RegionRow, countries_of
from sheltermap.atlas.scored import ScoredBlock, climate_of, scored_block
from sheltermap.atlas.store import Store
from sheltermap.atlas.tables import TABLE, TABLE_GRID, table, write_table
from sheltermap.atlas.tiles import tile_scripts
from sheltermap.climate.own import lazy_climatology
from sheltermap.climate.world import embedded_file
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.report.night_months import estimated
from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.vocabulary import InputError, Problem
from sheltermap.website.write import require_site_target, write_site_as_made

Progress: TypeAlias = Callable[[int, int, str], object]
"""Told how much is done, of how much, and what is being done."""

Content: TypeAlias = tuple[str, bytes | Path]
"""A path in the site, and what it holds or the file that is moved there."""


def build(asked: Asked, target: Path | str, progress: Progress | None = None) -> Path:
    """
    Write an atlas, replacing the former one.

    Parameters
    ----------
    asked : Asked
    target : path
        Folder to write; must be new, empty, or a site of ours with nothing added.
    progress : callable, optional

    Returns
    -------
    pathlib.Path
        The folder.

    Raises
    ------
    InputError
        If the climatology cannot be used or has no cell in the box, the folder holds something
        else, or GeoTIFF files are asked for and cannot be written. Nothing is written then.
    """
    if asked.geotiff:
        require_geotiff()
    require_site_target(target)
    making = _Making(asked, progress or (lambda done, total, what: None))
    return write_site_as_made(making.files, target)


class _Making:
    """An atlas while it is made."""

    def __init__(self, asked: Asked, progress: Progress) -> None:
        self.asked, self.progress = asked, progress
        self.own = None if asked.climate is None else lazy_climatology(asked.climate)
        self.grid = _grid(asked, self.own)
        self.hazards = Hazards(asked.layers, self.grid.step) if asked.layers else None
        corner = self.grid.latitude[:1], self.grid.longitude[:1]
        self.sample = climate_of(Block(0, 0, *corner), self.own)

    @property
    def kinds(self) -> tuple[str, ...]:
        """Return the kinds of hazard that some layer looked at."""
        return () if self.hazards is None else self.hazards.kinds

    def files(self, work: Path) -> Iterator[Content]:
        """Yield every file of the atlas, working in a folder."""
        store = Store(work / "store", self.grid.shape)
        ids = [kit.id for kit in self.asked.kits]
        regions, land = countries_of(self.grid, ids), Land(ids)
        tiles: list[str] = []
        for scored, scripts in self._scored():
            store.write(scored)
            regions.add(scored)
            land.add(scored)
            for name, script in scripts:
                tiles.append(name)
                yield f"tiles/{name}.js", script
        if not tiles:
            raise InputError([self._at_sea()])
        self.progress(8, 10, "Drawing maps")
        yield from pictures(Painter(store, self.grid, self.asked.kits, self.kinds))
        facts = self._facts(tuple(tiles), regions.rows(), land.shares())
        self.progress(9, 10, "Writing data")
        yield TABLE, table(facts.regions)
        write_table(work / TABLE_GRID, facts)
        yield TABLE_GRID, work / TABLE_GRID
        if self.asked.netcdf:
            write_grid(work / GRID, facts, store)
            yield GRID, work / GRID
        if self.asked.geotiff:
            yield from write_geotiffs(work, facts, store)
        yield from page_files(facts).items()

    def _at_sea(self) -> Problem:
        """Return what is wrong with an area without a climate."""
        got = ",".join(f"{edge:g}" for edge in self.grid.box)
        mend = "Choose a box with land in it."
        file = "" if self.asked.climate is None else str(self.asked.climate)
        return Problem(file, "box", "west,south,east,north with a climate in it", got, mend)

    def _scored(self) -> Iterator[tuple[ScoredBlock, list[tuple[str, bytes]]]]:
        """Yield each block with its tiles."""
        blocks = list(self.grid.blocks())
        work = partial(
            _with_tiles,
            kits=self.asked.kits,
            sleepers=(self.asked.sleeper,),
            hazards=self.hazards,
        )
        # A file of this machine is read here; what a cluster scores is sent to it.
        pieces = (
            (block, None if self.own is None else climate_of(block, self.own)) for block in blocks
        )
        for done, found in enumerate(crew.results(work, pieces, afar=True), 1):
            yield found
            self.progress(8 * done, 10 * len(blocks), "Scoring nights")

    def _data_files(self) -> tuple[str, ...]:
        """Return the paths of the data beside the page."""
        files = [TABLE, TABLE_GRID]
        files += [GRID] if self.asked.netcdf else []
        files += geotiffs(self.asked.kits).values() if self.asked.geotiff else []
        return tuple(files)

    def _facts(
        self, tiles: tuple[str, ...], rows: tuple[RegionRow, ...], land: LandShares
    ) -> AtlasFacts:
        """Return what the page says."""
        asked = self.asked
        return AtlasFacts(
            title=asked.title,
            grid=self.grid,
            kits=asked.kits,
            sleeper=asked.sleeper,
            bedding=asked.bedding,
            tiles=tiles,
            regions=rows,
            land=land,
            hazards=self.kinds,
            not_checked=tuple(kind for kind in HAZARD_KINDS if kind not in self.kinds),
            not_assessed=() if "wind_speed" in self.sample else ("wind",),
            climatology={
                "source": self.sample.attrs.get("source", ""),
                "period": self.sample.attrs.get("period", ""),
                "estimated": list(estimated(self.sample)),
            },
            files=self._data_files(),
        )


def _grid(asked: Asked, own: xr.Dataset | None) -> AtlasGrid:
    """Return the cells that are asked for."""
    if own is not None:
        return grid_in(own, asked.box, str(asked.climate))
    with xr.open_dataset(embedded_file(), engine="netcdf4", cache=False) as stored:
        return grid_in(stored, asked.box)


def _with_tiles(
    block: Block,
    own: xr.Dataset | None,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper],
    hazards: Hazards | None,
) -> tuple[ScoredBlock, list[tuple[str, bytes]]]:
    """Return a block scored, and its tiles."""
    scored = scored_block(block, own, kits, sleepers, hazards)
    return scored, list(tile_scripts(scored))
