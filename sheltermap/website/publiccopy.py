"""A public copy: one page that tells cells, months and kits, and nothing finer.

In: an outline, the years of its cells, the base map. Out: the page. Assumes that what must
not be told is not in the outline: no report and no trip reaches this module.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import shapely
from markupsafe import Markup
from shapely.geometry import box, mapping, shape

from sheltermap.report.outline import CELL_DEGREES, CellYear, Outline
from sheltermap.shelters.kit import Kit, load_kits
from sheltermap.suitability.card import kit_limits
from sheltermap.vocabulary import MONTHS
from sheltermap.website import charts, drawnmap, environment, hazardstrip, placecharts, words
from sheltermap.website.basemap import BaseMap
from sheltermap.website.figures import percent

_CELL_NAME = "cell"


def public_page(
    told: Outline,
    years: Mapping[tuple[float, float], CellYear],
    base_map: BaseMap,
    climate: Mapping[str, str],
) -> bytes:
    """
    Return the public copy of a journey.

    Parameters
    ----------
    told : Outline
    years : mapping of tuple to CellYear
        By cell, from ``outline.cell_years``.
    base_map : callable
        Gives the layers inside a box, as ``basemap.shipped``.
    climate : mapping of str to str
        ``title``, ``source``, ``period`` and ``licence`` of the embedded climatology.

    Returns
    -------
    bytes
        HTML that needs no other file and no script; the same for the same outline.
    """
    shipped = load_kits()
    kits = [shipped[name] for name in told.kits]
    cells = list(dict.fromkeys(leg.cell for leg in told.legs))
    countries = {cell: _country(cell, base_map) for cell in cells}
    text = (
        environment.environment()
        .get_template("public.html.j2")
        .render(
            policy_mark=environment.POLICY_MARK,
            css=Markup(environment.asset("site.css").decode()),
            climate=climate,
            kit=shipped[told.kit].title if told.kit else "",
            legs=[
                {
                    "number": number,
                    "where": _where(leg.cell, countries[leg.cell]),
                    "anchor": _anchor(cells.index(leg.cell)),
                    "month": "" if leg.month is None else MONTHS[leg.month - 1],
                    "grade": -1
                    if leg.month is None or not told.kit
                    else int(years[leg.cell].grade[told.kit][leg.month - 1]),
                }
                for number, leg in enumerate(told.legs, 1)
            ],
            cells=[
                _cell(years[cell], _where(cell, countries[cell]), _anchor(number), kits)
                for number, cell in enumerate(cells)
            ],
            kits=[{"kit": kit, "limits": kit_limits(kit)} for kit in kits],
            grades=charts.grade_legend(),
            levels=hazardstrip.legend(),
            drawn_map=_map(cells, told, base_map),
        )
    )
    return environment.with_policy(text)


def _where(cell: tuple[float, float], country: str) -> str:
    """Return a cell as people read it."""
    latitude, longitude = cell
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    place = f"{abs(latitude):.1f}° {north}, {abs(longitude):.1f}° {east}"
    return f"{country}, {place}" if country else place


def _anchor(number: int) -> str:
    """Return the id of a cell's section."""
    return f"{_CELL_NAME}-{number + 1}"


def _country(cell: tuple[float, float], base_map: BaseMap) -> str:
    """Return the country that most of a cell lies in; empty at sea."""
    west, south, east, north = _square(cell).bounds
    features = base_map((south, west, north, east))["countries"]["features"]
    areas = {one["properties"]["name"]: shape(one["geometry"]).area for one in features}
    return max(areas, key=areas.__getitem__, default="")


def _square(cell: tuple[float, float]) -> shapely.Polygon:
    """Return the outline of a cell."""
    latitude, longitude = cell
    half = CELL_DEGREES / 2
    return box(longitude - half, latitude - half, longitude + half, latitude + half)


def _map(cells: Sequence[tuple[float, float]], told: Outline, base_map: BaseMap) -> dict:
    """Return the drawn map: a square and the number of its first leg for each cell."""
    first = {leg.cell: number for number, leg in reversed(list(enumerate(told.legs, 1)))}
    places = [
        drawnmap.DrawnPlace(first[cell], f"leg {first[cell]}", *cell, mapping(_square(cell)))
        for cell in cells
    ]
    return drawnmap.drawn_map(places, (), base_map(drawnmap.drawn_bounds(places)))


def _cell(year: CellYear, where: str, anchor: str, kits: Sequence[Kit]) -> dict:
    """Return a cell's section: its climate, and twelve months in every kit."""
    return {
        "anchor": anchor,
        "where": where,
        "elevation": year.elevation_m,
        "rows": [
            {
                "month": name,
                "low": year.low[month],
                "high": year.high[month],
                "rain": year.rain[month],
                "wet_days": year.wet_days[month],
            }
            for month, name in enumerate(MONTHS)
        ],
        "kits": [
            {"title": kit.title, "months": months, "areas": placecharts.strip_areas(months)}
            for kit in kits
            for months in [list(_months(year, kit.id))]
        ],
    }


def _months(year: CellYear, kit: str) -> Iterator[dict]:
    """Yield a kit's months in a cell; hazards are no part of a public copy."""
    for month, name in enumerate(MONTHS):
        code = int(year.grade[kit][month])
        share = float(year.sound_share[kit][month])
        yield {
            "month": name,
            "share": share,
            "percent": percent(share),
            "grade": code,
            "word": words.grade_word(code),
            "reason": words.factor_word(int(year.limiting_factor[kit][month])),
            "level": "",
            "level_code": 0,
            "dangerous": float(year.dangerous[kit][month]),
        }
