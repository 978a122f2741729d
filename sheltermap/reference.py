"""The reference page of the input files, made from the models that check them.

In: the models. Out: Markdown on stdout (``make reference``). Nothing is written by hand,
so a key cannot be accepted and undocumented, or documented and refused.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from sheltermap.climate.recognise import RULES
from sheltermap.files import Written
from sheltermap.hazards.kinds import HAZARD_KINDS
from sheltermap.hazards.layers import HazardProperties, RegionProperties
from sheltermap.shelters.kit import KitFile
from sheltermap.trip.model import Trip

_TYPES = {str: "text", int: "whole number", float: "number", bool: "true or false", date: "date"}

_INTRODUCTION = """\
# Input files

Every key of every file you can write, made by `make reference` from the models that check
the files. Lengths, masses and temperatures are metric: m, km, kg, L, degC. Dates are
written without quotes (`2027-05-15`), yearly dates with (`"05-15"`), clock times with
(`"22:00"`). A key marked "required" must be given.
"""


_CLIMATE = """\
## Climate files, for `sheltermap climate import`

NetCDF files, Zarr stores and GeoTIFFs, one or several together: twelve months, a series of
months, or the hours of the day of each month. A variable is known by its name, or by its CF
standard name with the cell methods that tell a minimum from a maximum. Its units must be
stated and are converted; the GeoTIFFs of WorldClim 2.1 need none. Wanted are the mean
temperature, or the minimum and the maximum, and the rain; what else is missing is estimated
and marked.

The attribute `uncertainty`, as `RMSE 1.2 K`, states a variable's own error, in K of dewpoint
for the vapour pressure. Ranges and close calls count with it; a variable without it counts as
measured without error.

"""


def reference() -> str:
    """
    Return the reference page.

    Returns
    -------
    str
        Markdown.
    """
    sections = [
        _INTRODUCTION,
        _tables("The trip file, `trip.toml`", Trip, "(top level)"),
        _tables("A kit file, `kits.toml`", KitFile, "(top level)"),
        "## A region file, `regions.geojson`\n\n"
        "A GeoJSON FeatureCollection of Polygon or MultiPolygon features, longitude before "
        "latitude, WGS84. Other shapes, styles and keys of drawing tools are ignored. "
        "Properties of a feature:\n\n" + _table(RegionProperties),
        "## A hazard layer, `hazards.geojson`\n\n"
        "A GeoJSON FeatureCollection of Polygon, MultiPolygon, LineString or Point features, "
        "longitude before latitude, WGS84. Properties of a feature:\n\n"
        + _table(HazardProperties),
        "### Hazard kinds\n\n| kind | what |\n|---|---|\n"
        + "\n".join(f"| `{name}` | {kind.title} |" for name, kind in HAZARD_KINDS.items()),
        _CLIMATE + _climate_table(),
    ]
    return "\n\n".join(section.strip() for section in sections) + "\n"


def _tables(title: str, model: type[BaseModel], name: str) -> str:
    """Return a section with one table for `model` and for each table inside it."""
    parts = [f"## {title}"]
    waiting, seen = [(name, model)], dict[type[BaseModel], str]()
    while waiting:
        name, model = waiting.pop(0)
        if model in seen:
            parts.append(f"### {name}\n\nThe same keys as {seen[model]}.")
            continue
        seen[model] = name
        parts.append(f"### {name}\n\n{_first_line(model)}\n\n{_table(model)}")
        for key, field in model.model_fields.items():
            for inner in _models(field.annotation):
                prefix = "" if name.startswith("(") else name.strip("[]`") + "."
                waiting.append((f"`[{prefix}{field.alias or key}]`", inner))
    return "\n\n".join(parts)


def _table(model: type[BaseModel]) -> str:
    """Return one model as a Markdown table."""
    rows = ["| key | value | default | meaning |", "|---|---|---|---|"]
    for key, field in model.model_fields.items():
        meaning = (field.description or "").replace("|", "\\|")
        rows.append(f"| `{field.alias or key}` | {_kind(field)} | {_default(field)} | {meaning} |")
    return "\n".join(rows)


def _climate_table() -> str:
    """Return the variables that an import knows as a Markdown table."""
    rows = ["| quantity | names | CF standard names |", "|---|---|---|"]
    for rule in RULES:
        cells = (
            " ".join(f"`{word}`" for word in words) or "none"
            for words in ((rule.quantity,), rule.names, rule.standard_names)
        )
        rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows)


def _first_line(model: type[BaseModel]) -> str:
    """Return the first line of a model's docstring."""
    return (model.__doc__ or "").strip().splitlines()[0]


def _models(annotation: Any) -> list[type[BaseModel]]:
    """Return the models inside an annotation whose tables a file may hold."""
    if any(isinstance(part, Written) and not part.table for part in typing.get_args(annotation)):
        return []
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in typing.get_args(annotation) for model in _models(part)]


def _kind(field: FieldInfo) -> str:
    """Return what a key holds, in words, with its bounds."""
    return _described(field.annotation, field.metadata)


def _described(annotation: Any, metadata: Sequence[Any]) -> str:
    """Return a type with its bounds in words."""
    written = next((item.words for item in metadata if isinstance(item, Written)), None)
    if written is not None:
        return written
    bounds = _bounds(metadata, typing.get_origin(annotation) is tuple)
    words = _words(annotation)
    return f"{words}, {bounds}" if bounds else words


def _bounds(metadata: Iterable[Any], is_list: bool) -> str:
    """Return the bounds pydantic checks, in words."""
    return ", ".join(filter(None, (_bound(item, is_list) for item in metadata)))


def _bound(item: Any, is_list: bool) -> str:
    """Return one bound in words; nothing for what is none, or says what is plain."""
    unit = "items" if is_list else "characters"
    match item:
        case Ge(ge=value):
            return f"at least {value:g}"
        case Gt(gt=value):
            return f"more than {value:g}"
        case Le(le=value):
            return f"at most {value:g}"
        case Lt(lt=value):
            return f"less than {value:g}"
        case MinLen(min_length=value) if value > 1 or is_list:
            return f"at least {value} {'item' if value == 1 else unit}"
        case MaxLen(max_length=value):
            return f"at most {value:,} {unit}"
    return ""


def _words(annotation: Any) -> str:
    """Return a type in words."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if annotation in _TYPES:
        return _TYPES[annotation]
    if origin is typing.Annotated:
        metadata = [part for item in arguments[1:] for part in getattr(item, "metadata", [item])]
        return _described(arguments[0], metadata)
    if origin is not None:
        return _words_of(origin, arguments)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "table"
    raise TypeError(f"no words for {annotation}")


def _words_of(origin: Any, arguments: Sequence[Any]) -> str:
    """Return a type that is made of others in words."""
    if origin is typing.Literal:
        return " \\| ".join(f"`{value}`" for value in arguments)
    if origin in (typing.Union, types.UnionType):
        return " or ".join(_words(a) for a in arguments if a is not type(None))
    if origin is tuple and arguments[-1] is Ellipsis:
        return f"list of {_words(arguments[0])}"
    if origin is tuple:
        return "list of " + " and ".join(map(_words, arguments))
    if origin is dict:
        return "tables by name"
    raise TypeError(f"no words for {origin}")


def _default(field: FieldInfo) -> str:
    """Return a default as it would be written."""
    if field.is_required():
        return "required"
    value = field.default
    if value is PydanticUndefined or value is None or value == () or isinstance(value, BaseModel):
        return ""
    written = next((item for item in field.metadata if isinstance(item, Written)), None)
    if written is not None:
        return f"`{written.form(value)}`"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    return f'`"{value}"`' if isinstance(value, str) else f"`{value:g}`"


if __name__ == "__main__":
    print(reference(), end="")
