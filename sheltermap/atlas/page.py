"""The atlas's pages: a map of the area, and its regions in a table.

In: the facts of an atlas. Out: bytes by path. Assumes that tiles, pictures and data files lie
beside the pages; nothing is asked of another host.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from markupsafe import Markup

from sheltermap.atlas.coast import OUTLINES, outline_script
from sheltermap.atlas.exports import GRID
from sheltermap.atlas.facts import AtlasFacts
from sheltermap.atlas.headlines import headlines
from sheltermap.atlas.placenames import place_script
from sheltermap.atlas.tables import TABLE, TABLE_GRID
from sheltermap.distance import DEGREE_KM
from sheltermap.suitability.candidates import LEAST_DANGER
from sheltermap.vocabulary import FACTORS, GRADE_FLOORS, MONTHS, Grade, lowered
from sheltermap.website import charts, environment, maps
from sheltermap.website.figures import percent
from sheltermap.website.words import FACTOR_WORDS

_LAYERS = (
    ("share", "sound nights"),
    ("factor", "what spoils most nights"),
    ("danger", "dangerous nights"),
    ("months", "workable months"),
    ("best", "best month"),
    ("cheapest", "cheapest workable kit"),
    ("saved", "nights a dearer kit saves"),
)
"""What the map shows: names of pictures and legends, and words."""

_FILE_WORDS = {
    TABLE: "regions as a table",
    TABLE_GRID: "regions as CF NetCDF",
    GRID: "every kit, month and cell as CF NetCDF",
}

_MENU = (("index.html", "Map"), ("regions.html", "Regions"))

_SHARED_SCRIPTS = ("words.js", "display.js", "atlaspack.js", "atlassearch.js", "atlasstrip.js")
_MAP_SCRIPTS = (
    "atlascells.js",
    "atlascell.js",
    "atlasmap.js",
    "atlassaved.js",
    "atlaslayer.js",
    "atlas.js",
)
_REGION_SCRIPTS = ("atlasregions.js",)


def page_files(facts: AtlasFacts) -> dict[str, bytes]:
    """
    Return the pages and what they load beside tiles, pictures and data files.

    Parameters
    ----------
    facts : AtlasFacts

    Returns
    -------
    dict of str to bytes
        By path in the atlas.
    """
    block = facts.block
    own = ("first.js", "site.css", "atlas.css", *_SHARED_SCRIPTS, *_MAP_SCRIPTS, *_REGION_SCRIPTS)
    return {
        "index.html": _map_page(facts, block),
        "regions.html": _regions_page(facts, block),
        OUTLINES: outline_script(facts.grid.box),
        block["places"]: place_script(facts.grid.box),
        **{f"assets/{name}": environment.asset(name) for name in own},
        "assets/leaflet-licence.txt": environment.asset("leaflet-licence.txt"),
        **maps.leaflet_files(),
    }


def _map_page(facts: AtlasFacts, block: dict[str, Any]) -> bytes:
    """Return the page with the map."""
    west, south, east, north = facts.grid.box
    parts = maps.atlas_map((south, west, north, east))
    month = 0 if north <= 0 else 6  # The summer of the area opens it.
    titles = {kit["id"]: kit["title"] for kit in block["kits"]}
    said = headlines(block["land"], titles, facts.regions)
    shown = {name: value for name, value in block.items() if name not in ("regions", "land")}
    hazards = [(f"hazard-{one['kind']}", lowered(one["title"])) for one in block["hazards"]]
    return _page(
        facts,
        "atlasmap.html.j2",
        "index.html",
        ("atlas", shown | {"headlines": said, "outlines": OUTLINES}),
        (*_SHARED_SCRIPTS, *_MAP_SCRIPTS),
        map_parts=replace(
            parts,
            html=Markup(parts.html),
            script=environment.inline_script(parts.script),
        ),
        headline=said[block["kits"][0]["id"]][month],
        month=month + 1,
        month_name=MONTHS[month],
        layers=[*_LAYERS, *hazards],
        hazard_words=[words for _, words in hazards],
        cell_words=_cell_words(facts.grid.step),
        not_assessed=[FACTOR_WORDS.get(factor, factor) for factor in block["not_assessed"]],
        file_words=_FILE_WORDS,
    )


def _regions_page(facts: AtlasFacts, block: dict[str, Any]) -> bytes:
    """Return the page with the table of regions."""
    shown = {name: block[name] for name in ("regions", "kits", "grades")}
    shown |= {"factors": list(FACTORS), "floor": dict(GRADE_FLOORS)[Grade.WORKABLE]}
    scripts = (*_SHARED_SCRIPTS, *_REGION_SCRIPTS)
    data = ("atlas-regions", shown)
    return _page(facts, "atlasregions.html.j2", "regions.html", data, scripts, map_parts=None)


def _page(
    facts: AtlasFacts,
    body: str,
    current: str,
    data: tuple[str, dict[str, Any]],
    scripts: tuple[str, ...],
    **about: Any,
) -> bytes:
    """Return one page with its content policy."""
    template = environment.environment().get_template("atlas.html.j2")
    paths = [f"assets/{name}" for name in scripts]
    text = template.render(
        **about,
        title=f"Atlas: {facts.title}",
        page_title=dict(_MENU)[current],
        policy_mark=environment.POLICY_MARK,
        menu=_MENU,
        current=current,
        body=body,
        atlas=facts.block,
        block_id=data[0],
        block=environment.json_block(data[1]),
        scripts=["vendor/leaflet/leaflet.js", *paths] if about["map_parts"] else paths,
        grade_words=[(row["word"], row["short"]) for row in charts.grade_legend()],
        least_danger=percent(LEAST_DANGER),
    )
    return environment.with_policy(text)


def _cell_words(step: tuple[float, float]) -> str:
    """
    Return how large cells are, in words.

    Examples
    --------
    >>> _cell_words((0.5, 0.5))
    '0.5° wide, 56 km from south to north'
    """
    return f"{step[1]:.3g}° wide, {step[0] * DEGREE_KM:.0f} km from south to north"
