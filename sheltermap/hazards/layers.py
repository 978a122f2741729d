"""Hazard layers and region files: GeoJSON in, checked features out.

In: files of hazard features (kind, level by month or date, note, source) and of regions
(id, name, note). Out: `HazardLayer` and a GeoDataFrame, or one InputError with every
problem of the file. Assumes nothing about the leg they will be laid over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, ClassVar, Literal

import geopandas
import numpy as np
import shapely
from pydantic import AfterValidator, BeforeValidator, Field
from shapely.geometry.base import BaseGeometry

from sheltermap.files import Model, Record, checked, lines, one_line, read_json
from sheltermap.hazards.drawn import LINES, POLYGONS, collection_shapes
from sheltermap.hazards.foreign import Ignored, as_numbered, collection, own, shapes_of
from sheltermap.hazards.kinds import HAZARD_KINDS, hazard_kind
from sheltermap.hazards.shapes import boxes, surroundings
from sheltermap.ids import ID, id_of
from sheltermap.spans import SPAN_FORMS, days_between, span_days
from sheltermap.validation import did_you_mean
from sheltermap.vocabulary import (
    DAYS_IN_YEAR,
    Box,
    InputError,
    Level,
    Levels,
    Problem,
    edges_swapped,
)

_HAZARD_GEOMETRIES = (*POLYGONS, *LINES, "Point")


def _known_kind(name: str) -> str:
    """Return a kind's name, or raise with the nearest one."""
    if name in HAZARD_KINDS:
        return name
    mend = did_you_mean(name, HAZARD_KINDS, "Choose the nearest kind.")
    raise ValueError(f"one of {', '.join(HAZARD_KINDS)} | {mend}")


def _known_span(span: str) -> str:
    """Return a span of the year as written, checked."""
    span_days(span)
    return span


def _upright(bounds: Box) -> Box:
    """Return west, south, east, north, checked to have an area."""
    west, south, east, north = bounds
    if not -90 <= south < north <= 90:
        raise ValueError("[west, south, east, north] with south below north | Order them so.")
    no_width = west >= east and (east - west) % 360 == 0
    if no_width or edges_swapped(west, east):
        raise ValueError("[west, south, east, north] with west before east | Order them so.")
    return bounds


def _empty_for_null(value: Any) -> Any:
    """Return an empty text for the null that drawing programs write."""
    return "" if value is None else value


def _listed(value: Any) -> Any:
    """Return a single table as a list of one."""
    return [value] if isinstance(value, dict) else value


Kind = Annotated[str, AfterValidator(_known_kind)]
LevelWord = Literal["advisory", "serious", "prohibitive", "closure"]
YearSpan = Annotated[str, AfterValidator(_known_span)]
Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(one_line)]
Note = Annotated[
    str, BeforeValidator(_empty_for_null), Field(max_length=20_000), AfterValidator(lines)
]
Degrees = Annotated[float, Field(ge=-180, le=180)]
BoundingBox = Annotated[tuple[Degrees, Degrees, Degrees, Degrees], AfterValidator(_upright)]


class HazardProperties(Record):
    """What a hazard feature says of its shape."""

    kind: Kind = Field(description="a hazard kind, see below")
    level: Annotated[dict[YearSpan, LevelWord], Field(min_length=1)] = Field(
        description=f"level by span of the year, the highest where they overlap; {SPAN_FORMS}"
    )
    source: Name = Field(description="on whose word")
    note: Note = Field("", description="what to know")
    margin_days: int = Field(
        0, ge=0, le=90, description="how much longer closures may last in a late year [days]"
    )
    radius_km: float = Field(
        5.0, gt=0, le=500, description="how far a point or a line reaches; not for polygons [km]"
    )


class RegionProperties(Record):
    """What a region feature says of its shape."""

    id: str = Field(
        pattern=f"^{ID}$",
        description="small letters, digits and hyphens; else made from the name",
    )
    name: Name = Field(description="as exports show it; pages show the leg's name")
    note: Note = Field("", description="what to know")


class Covers(Record):
    """Which kinds a layer looked at, and where; elsewhere they read *not checked*."""

    kinds: Annotated[tuple[Kind, ...], Field(min_length=1)]
    bbox: BoundingBox | None = Field(
        None, description="west, south, east, north [degrees]; else the box round the features"
    )


class _Feature(Record):
    own_properties: ClassVar[type[Record]]
    type: Literal["Feature"]
    geometry: Any
    id: Any = None
    bbox: Any = None


class _HazardFeature(_Feature):
    own_properties = HazardProperties
    properties: HazardProperties


class _RegionFeature(_Feature):
    own_properties = RegionProperties
    properties: RegionProperties


class _Collection(Record):
    type: Literal["FeatureCollection"]
    title: Note = ""
    source: Note = ""
    licence: Note = ""
    name: Any = None
    crs: Any = None
    bbox: Any = None
    xy_coordinate_resolution: Any = None


class _HazardFile(_Collection):
    covers: Annotated[tuple[Covers, ...], BeforeValidator(_listed)] = ()
    features: tuple[_HazardFeature, ...]


class _RegionFile(_Collection):
    features: Annotated[tuple[_RegionFeature, ...], Field(min_length=1)]


@dataclass(frozen=True, eq=False)
class HazardFeature:
    """A hazard with its shape.

    Attributes
    ----------
    kind : str
        A name of ``HAZARD_KINDS``.
    level_by_day : numpy.ndarray of uint8, shape (365,)
        A `vocabulary.Level` each.
    level_in_leap_years : numpy.ndarray of uint8, shape (365,)
        The same where margins count 29 February.
    note, source : str
        What to know, and on whose word.
    shape : shapely geometry
        Polygons, in degrees, split at the antimeridian.
    """

    kind: str
    level_by_day: Levels
    level_in_leap_years: Levels
    note: str
    source: str
    shape: BaseGeometry


@dataclass(frozen=True, eq=False)
class HazardLayer:
    """A checked file of hazards.

    Attributes
    ----------
    title, source : str
        What it is and where it comes from; the file's name where it has no title.
    features : tuple of HazardFeature
    covered : tuple of (tuple of str, shapely geometry)
        Kinds that the layer looked at, and where.
    ignored : str
        One line on what of its file is not ours; empty where all is.
    """

    title: str
    source: str
    features: tuple[HazardFeature, ...]
    covered: tuple[tuple[tuple[str, ...], BaseGeometry], ...]
    ignored: str = ""


@dataclass(frozen=True, eq=False)
class HazardFinding:
    """What a hazard means for one leg.

    Attributes
    ----------
    kind, title : str
        Name and title of the kind.
    level_by_day : numpy.ndarray of uint8, shape (365,)
        Level that binds, before any shield: 0 none, 1 advisory, 2 serious,
        3 prohibitive, 4 closure. Zero on all days: somebody looked and found nothing.
    share : float
        Share of the area or of the route; 1 for a camp inside. [1]
    note, source : str
        What to know, and on whose word.
    part : str
        Empty where the finding binds; else the words for where it holds, and
        ``level_by_day`` is an advisory at most.
    stated_level_by_day : numpy.ndarray or None
        Levels as stated, where a part lowered them.
    """

    kind: str
    title: str
    level_by_day: Levels
    share: float
    note: str
    source: str
    part: str = ""
    stated_level_by_day: Levels | None = None


def read_layer(path: Path | str) -> HazardLayer:
    """
    Return the checked hazards of a GeoJSON file.

    Parameters
    ----------
    path : path

    Returns
    -------
    HazardLayer

    Raises
    ------
    InputError
        With every problem of the file.
    """
    file, shapes, ignored = _checked_file(path, _HazardFile, _HazardFeature, _HAZARD_GEOMETRIES)
    features = tuple(
        HazardFeature(
            kind=said.kind,
            level_by_day=level_by_day(said.level, said.margin_days),
            level_in_leap_years=level_by_day(said.level, said.margin_days, leap=True),
            note=said.note,
            source=said.source,
            shape=surroundings(shape, said.radius_km),
        )
        for said, shape in zip((one.properties for one in file.features), shapes, strict=True)
    )
    around = shapely.box(*shapely.total_bounds([f.shape for f in features])) if features else None
    covered = tuple(
        (covers.kinds, area)
        for covers in file.covers
        if (area := boxes(covers.bbox) if covers.bbox else around) is not None
    )
    title = file.title or Path(path).name
    return HazardLayer(title, file.source, features, covered, ignored)


def read_regions(path: Path | str) -> geopandas.GeoDataFrame:
    """
    Return the checked regions of a GeoJSON file.

    Parameters
    ----------
    path : path

    Returns
    -------
    geopandas.GeoDataFrame
        Columns ``id``, ``name``, ``note`` and ``geometry`` (polygons in degrees, split
        at the antimeridian), in the file's order; ``attrs["ignored"]`` is one line on what of
        the file is not ours, such as styles and lines.

    Raises
    ------
    InputError
        With every problem of the file.
    """
    file, shapes, ignored = _checked_file(path, _RegionFile, _RegionFeature, POLYGONS)
    regions = [feature.properties for feature in file.features]
    ids = [region.id for region in regions]
    problems = [
        Problem(
            str(path),
            f"features[{number}].properties.id",
            "an id of its own",
            repr(name),
            "Give each region its own id.",
        )
        for number, name in enumerate(ids, start=1)
        if ids.index(name) != number - 1
    ]
    if problems:
        raise InputError(problems)
    columns = {key: [getattr(region, key) for region in regions] for key in ("id", "name", "note")}
    found = geopandas.GeoDataFrame(columns, geometry=shapes, crs="EPSG:4326")
    found.attrs["ignored"] = ignored
    return found


def stated_finding(
    kind: str,
    level: str,
    first: str = "01-01",
    last: str = "12-31",
    margin_days: int = 0,
    note: str = "",
    source: str = "",
    *,
    leap: bool = False,
) -> HazardFinding:
    """
    Return a hazard that a trip file states for a whole leg, without a shape.

    Parameters
    ----------
    kind : str
        A name of ``HAZARD_KINDS``.
    level : str
        Word of a `vocabulary.Level`; ``none``: somebody looked and found nothing.
    first, last : str
        Days as MM-DD, both included; may cross New Year.
    margin_days : int
        Days that it may last longer. [day]
    note, source : str
    leap : bool
        Whether that counts 29 February, as `spans.days_between` takes it.

    Returns
    -------
    HazardFinding

    Raises
    ------
    ValueError
        If the kind, the level or a day is unknown.

    Examples
    --------
    >>> finding = stated_finding("flood", "serious", "06-15", "09-30", source="park office")
    >>> finding.title, int((finding.level_by_day == 2).sum())
    ('Flood', 108)
    """
    levels = np.zeros(DAYS_IN_YEAR, dtype=np.uint8)
    if level != "none":
        days = days_between(first, last, margin_days * (level == "closure"), leap=leap)
        levels[days] = Level[level.upper()]
    return HazardFinding(_known_kind(kind), hazard_kind(kind).title, levels, 1.0, note, source)


def level_by_day(levels: Mapping[str, str], margin_days: int = 0, *, leap: bool = False) -> Levels:
    """
    Return levels by day of the year; the highest where spans overlap.

    Parameters
    ----------
    levels : dict of str to str
        Span of the year to level.
    margin_days : int
        Days by which closures are prolonged. [day]
    leap : bool
        Whether these count 29 February, as `spans.days_between` takes it.

    Returns
    -------
    numpy.ndarray of uint8, shape (365,)

    Examples
    --------
    >>> levels = level_by_day({"all year": "advisory", "11-01..04-30": "closure"}, 10)
    >>> int((levels == 4).sum()), int((levels == 1).sum())
    (191, 174)
    """
    result = np.zeros(DAYS_IN_YEAR, dtype=np.uint8)
    for span, level in levels.items():
        days = span_days(span, margin_days * (level == "closure"), leap=leap)
        result[days] = np.maximum(result[days], Level[level.upper()])
    return result


def _checked_file(
    path: Path | str, model: type[Model], feature: type[_Feature], geometries: tuple[str, ...]
) -> tuple[Model, list[BaseGeometry], str]:
    """Return a file as its model with one shape a feature, and one line on what is not ours.

    Raises all its problems at once.
    """
    ignored = Ignored()
    raw = own(collection(read_json(path)), model, ignored)
    numbers: list[int] = []
    features = raw.get("features") if isinstance(raw, dict) else None
    if isinstance(features, list):
        kept, numbers = shapes_of(features, geometries, ignored)
        raw["features"] = [
            _own_feature(one, number, feature, ignored)
            for one, number in zip(kept, numbers, strict=True)
        ]
    shapes, problems = collection_shapes(raw, str(path), geometries)
    try:
        file = checked(raw, model, str(path))
    except InputError as error:
        raise InputError(as_numbered([*error.problems, *problems], numbers)) from None
    if problems:
        raise InputError(as_numbered(problems, numbers))
    return file, shapes, ignored.words(str(path))


def _own_feature(feature: Any, number: int, model: type[_Feature], ignored: Ignored) -> Any:
    """Return a feature with what is ours; a region without an id gets one from its name."""
    feature = own(feature, model, ignored)
    if not isinstance(feature, dict) or not isinstance(feature.get("properties"), dict):
        return feature
    kept = own(feature["properties"], model.own_properties, ignored)
    # Drawing tools number shapes, or leave the id out.
    if model is _RegionFeature and not isinstance(kept.get("id"), str):
        kept["id"] = id_of(str(kept.get("name", ""))) or f"region-{number}"
    return feature | {"properties": kept}
