"""What drawing tools add to a file, set aside: styles, numbers of their own, other shapes.

In: a parsed GeoJSON file. Out: the same with only what our models know, and one line on what
was left out. Assumes that a key one letter off a key of ours is a slip, which the model then
refuses; RFC 7946, section 6.1 lets files hold members of anyone's.
"""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from pydantic import BaseModel

from sheltermap.validation import shown
from sheltermap.vocabulary import Problem, listed

_GEOMETRIES = (
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
    "GeometryCollection",
)
_SHORTEST_SLIP = 4  # Keys of two letters are like any other: `fid` is no slip of `id`.
_ALIKE = 0.7  # judgement: of four letters one may be wrong.
_MOST_NAMED = 8
_NUMBERED = re.compile(r"^features\[(\d+)\]")


class Ignored:
    """What was left out of a file, counted."""

    def __init__(self) -> None:
        self.shapes: Counter[str] = Counter()
        self.keys: dict[str, None] = {}

    def words(self, file: str) -> str:
        """
        Return one line on what was left out; empty where nothing was.

        Parameters
        ----------
        file : str

        Returns
        -------
        str
        """
        counted = [f"{count} {kind}{'s' * (count > 1)}" for kind, count in self.shapes.items()]
        names = list(self.keys)[:_MOST_NAMED]
        more = [f"{len(self.keys) - len(names)} more"] if len(self.keys) > len(names) else []
        if names:
            counted.append(f"the keys {listed([*names, *more])}")
        return f"{file}: ignored {'; '.join(counted)}." if counted else ""


def collection(raw: Any) -> Any:
    """
    Return a single feature or a bare geometry as a collection; anything else as it is.

    Parameters
    ----------
    raw : object
        A parsed GeoJSON file.

    Returns
    -------
    object

    Examples
    --------
    >>> list(collection({"type": "Point", "coordinates": [8, 46]}))
    ['type', 'features']
    """
    kind = raw.get("type") if isinstance(raw, dict) else None
    if kind in _GEOMETRIES:
        raw, kind = {"type": "Feature", "properties": {}, "geometry": raw}, "Feature"
    return {"type": "FeatureCollection", "features": [raw]} if kind == "Feature" else raw


def own(table: Any, model: type[BaseModel], ignored: Ignored) -> Any:
    """
    Return a table with the keys of a model, and those that look like a slip of one.

    Parameters
    ----------
    table : object
        Returned as it is where it is no table.
    model : subclass of pydantic.BaseModel
    ignored : Ignored
        Gets the names of the others.

    Returns
    -------
    object
    """
    if not isinstance(table, Mapping):
        return table
    known = list(model.model_fields)
    kept = {key: value for key, value in table.items() if key in known}
    for key, value in table.items():
        if key in known:
            continue
        same = key.lower() if isinstance(key, str) else key
        if same in known and same not in kept:
            kept[same] = value
        elif same not in known and _slip(str(same), known):
            kept[key] = value
        else:
            ignored.keys.setdefault(shown(key).strip("'\""))
    return kept


def shapes_of(
    features: Iterable[Any], allowed: Iterable[str], ignored: Ignored
) -> tuple[list[Any], list[int]]:
    """
    Return the features with a shape that makes sense here, and their numbers in the file.

    Parameters
    ----------
    features : iterable
    allowed : iterable of str
        Types of geometry. What is no type of GeoJSON at all is kept, to be refused.
    ignored : Ignored
        Gets the shapes of the others.

    Returns
    -------
    features : list
    numbers : list of int
        From 1.
    """
    kept, numbers = [], []
    others = set(_GEOMETRIES) - set(allowed) - {"GeometryCollection"}
    for number, feature in enumerate(features, start=1):
        geometry = feature.get("geometry") if isinstance(feature, dict) else None
        kind = geometry.get("type") if isinstance(geometry, dict) else None
        if isinstance(kind, str) and kind in others:
            ignored.shapes[_plainly(kind)] += 1
        else:
            kept.append(feature)
            numbers.append(number)
    return kept, numbers


def as_numbered(problems: Iterable[Problem], numbers: Sequence[int]) -> list[Problem]:
    """
    Return problems of kept features with the features' numbers in the file.

    Parameters
    ----------
    problems : iterable of Problem
    numbers : sequence of int
        Of `shapes_of`.

    Returns
    -------
    list of Problem
    """
    return [
        replace(one, key=_NUMBERED.sub(partial(_in_file, numbers), one.key)) for one in problems
    ]


def _in_file(numbers: Sequence[int], found: re.Match[str]) -> str:
    """Return a feature's place with its number in the file."""
    return f"features[{numbers[int(found[1]) - 1]}]"


def _slip(key: str, known: Iterable[str]) -> bool:
    """Return whether a key is a misspelt one of ours."""
    return any(
        len(one) >= _SHORTEST_SLIP
        and abs(len(one) - len(key)) <= 1
        and difflib.SequenceMatcher(None, key, one).ratio() >= _ALIKE
        for one in known
    )


def _plainly(kind: str) -> str:
    """Return a type of geometry as a word."""
    word = kind.lower().removeprefix("multi")
    return "line" if word == "linestring" else word
