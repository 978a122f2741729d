"""Sentences in both systems of units: every quantity in a page's text, metric and imperial.

In: a finished piece of a page. Out: the same with each metric quantity of its text beside its
imperial one; the style sheet shows those that the reader chose. Assumes that sentences are
written in metric units, as all that computes writes them, and that texts are escaped, so that
no text holds a tag. What the templates wrote with `figures.quantity` stays.
"""

from __future__ import annotations

import re

from sheltermap.vocabulary import NARROW_SPACE
from sheltermap.website.figures import MEASURES, MINUS, imperial_number

_TAG = re.compile(r"(<[^>]*>)")
_NAME = re.compile(r"</?([a-zA-Z][\w-]*)")

_AS_IT_IS = ("script", "style", "title", "desc", "textarea", "option", "code", "pre")
"""Elements whose text is no sentence, or may hold no element."""

_KINDS = {
    "L/100 km": "consumption",
    "km/h": "speed",
    "kg": "mass",
    "km": "distance",
    "mm": "rain",
    "m/s": "wind",
    "m2": "area",
    "m3": "space",
    "m": "length",
    "L": "volume",
    "K": "difference",
    "°C": "temperature",
}
"""Kinds of quantity by their unit as sentences write it; the longer ones first."""

_SPACES = rf"[ \u00a0{NARROW_SPACE}]"
_NUMBER = rf"[-{MINUS}]?\d+(?:[,{NARROW_SPACE}]\d{{3}})*(?:\.\d+)?"
_UNITS = "|".join(re.escape(unit).replace(r"\ ", _SPACES) for unit in _KINDS)
_QUANTITY = re.compile(
    rf"(?<![\w.,/{MINUS}-])(?<!\d[ \u00a0])({_NUMBER})"
    rf"((?: (?:to|and|or|of|by) | ?[–-] ?)({_NUMBER}))?"
    rf"(?:{_SPACES}|&nbsp;)?({_UNITS})(?![\w²³/^(])(?! K/W)"
)
_MORE = re.compile(r" (?:colder|warmer|hotter|cooler|across|a decade)\b")
"""What follows a difference of temperatures."""

_HIGH = 100.0
"""Whole metres from which a length is a height, told in tens of feet. [m] judgement"""


def in_both_units(html: str) -> str:
    """
    Return a piece of a page whose sentences tell every quantity in both systems.

    Parameters
    ----------
    html : str
        Whole elements, texts escaped.

    Returns
    -------
    str

    Examples
    --------
    >>> in_both_units("<p>Camps at 3,150 m.</p>").replace(NARROW_SPACE, " ")
    '<p>Camps at <span class="metric">3,150 m</span><span class="imperial">10 330 ft</span>.</p>'
    """
    pieces, around = _TAG.split(html), _Around()
    # Texts and tags take turns, a text first.
    for position, piece in enumerate(pieces):
        if position % 2:
            around.passed(piece)
        elif piece and not around.kept:
            pieces[position] = _told(piece, "tspan" if around.drawings else "span")
    return "".join(pieces)


class _Around:
    """
    What stands around a place in a page.

    Attributes
    ----------
    kept : str
        Name of the outermost element whose text stays as it is; empty outside of one.
    drawings : int
        How many drawings it lies in; their texts hold no elements but of their own kind.
    """

    def __init__(self) -> None:
        self.kept, self._depth, self.drawings = "", 0, 0

    def passed(self, tag: str) -> None:
        """Go past a tag."""
        named = _NAME.match(tag)
        if named is None or tag.endswith("/>"):
            return
        name, step = named[1], -1 if tag.startswith("</") else 1
        if name == "svg":
            self.drawings += step
        if not self.kept and step > 0 and _keeps(name, tag):
            self.kept = name
        if name == self.kept:
            self._depth += step
            self.kept = self.kept if self._depth else ""


def _keeps(name: str, tag: str) -> bool:
    """Return whether an element's text stays: no sentence, or one of the two systems already."""
    return name in _AS_IT_IS or 'class="metric' in tag or 'class="imperial' in tag


def _told(text: str, tag: str) -> str:
    """Return a text whose quantities stand in both systems."""

    def both(found: re.Match[str]) -> str:
        imperial = _imperial(found, text[found.end() :])
        return (
            f'<{tag} class="metric">{found[0]}</{tag}><{tag} class="imperial">{imperial}</{tag}>'
        )

    return _QUANTITY.sub(both, text)


def _imperial(found: re.Match[str], after: str) -> str:
    """Return a quantity, or two that share a unit, in imperial units."""
    first, joined, second, unit = found.groups()
    kind = _KINDS[re.sub(_SPACES, " ", unit)]
    if kind == "temperature" and _MORE.match(after):
        kind = "step"
    written = [part for part in (first, second) if part]
    if kind == "length" and all(
        "." not in part and abs(_value(part)) >= _HIGH for part in written
    ):
        kind = "height"
    told = [_number(part, kind) for part in written]
    between = joined[: -len(second)] if joined else ""
    return f"{between.join(told)}{NARROW_SPACE}{MEASURES[kind].imperial}"


def _value(written: str) -> float:
    """Return a number as it is written."""
    return float(re.sub(rf"[,{NARROW_SPACE}]", "", written).replace(MINUS, "-"))


def _number(written: str, kind: str) -> str:
    """Return a written metric number in its imperial unit, with about as many decimals."""
    return imperial_number(_value(written), kind, len(written.partition(".")[2]))
