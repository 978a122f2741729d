"""Slips of people who write a trip file: other units, other signs, and the right form of each.

In: a line that is no TOML, or a number too large for its key. Out: what to write instead, as
text; empty where nothing is likely. Assumes that numbers have a decimal point.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import TypeAlias

from sheltermap.daywords import date_of

_Repair: TypeAlias = Callable[[re.Match[str]], str]

_NUMBER = r"-?\d+(?:\.\d+)?"
_KEY = r"\s*([\w-]+)\s*=\s*"
_END = r"\s*(?:#.*)?$"


def _listed(found: re.Match[str]) -> str:
    """Return numbers without brackets as a list; two may be a number with a comma."""
    listed = f"A list stands in brackets: {found[1]} = [{found[2].strip()}]."
    if re.fullmatch(r"-?\d+,\d{1,2}", found[2]):
        return f"Numbers have a point: {found[1]} = {found[2].replace(',', '.')}. {listed}"
    return listed


def _dated(found: re.Match[str]) -> str:
    """Return a date as it is written; an example where day and month may be either."""
    numbers = re.fullmatch(r"(\d{1,2})([./])(\d{1,2})[./](\d{4})", found[2])
    try:
        if numbers is None:
            day = date_of(found[2])
        else:
            first, second = int(numbers[1]), int(numbers[3])
            if numbers[2] == "/" and first <= 12 and second <= 12:
                raise ValueError("either may be the month")
            month, number = (first, second) if second > 12 else (second, first)
            day = date(int(numbers[4]), month, number)
    except ValueError:
        return f"Dates have the year first: {found[1]} = 2027-05-15 is 15 May."
    return f"Dates have the year first: {found[1]} = {day}."


_STRAIGHT = 'Text stands in straight quotes: "...".'

_REPAIRS: tuple[tuple[str, _Repair], ...] = (
    (r".*[\u201c\u201d\u201e\u00ab\u00bb\u2018\u2019]", lambda _: _STRAIGHT),
    (r"\s*\[\[?\s*([\w.-]+)\s*" + _END, lambda f: _heading(f[1])),
    (r"\s*\[\[\s*([\w.-]+)\s*\]" + _END, lambda f: _heading(f[1])),
    (r"\s*([\w-]+)\s*:\s*(.+)", lambda f: f"A key has an equals sign: {f[1]} = {f[2].strip()}"),
    (_KEY + r"(\d{1,3}(?:,\d{3})+)" + _END, lambda f: _grouped(f[1], f[2].replace(",", ""))),
    (_KEY + rf"({_NUMBER}(?:\s*,\s*{_NUMBER})+)" + _END, _listed),
    (_KEY + r"(\d{1,2}[./]\d{1,2}[./]\d{2,4}|\d{1,2} [A-Za-z]+ \d{4})" + _END, _dated),
    (_KEY + r"(\d{1,2}:\d\d)" + _END, lambda f: f'A clock time is text: {f[1]} = "{f[2]}".'),
    (_KEY + r"(\d+) ?(?:to|-|–|\.\.) ?(\d+)" + _END, lambda f: _ranged(f[1], f[2], f[3])),
    (
        _KEY + rf"({_NUMBER})\s*[A-Za-z€$£°%/]+.*$",
        lambda f: f"A number stands without its unit: {f[1]} = {f[2]}.",
    ),
    (_KEY + r"(True|False|yes|no)" + _END, lambda f: _yes_or_no(f[1], f[2])),
    (
        _KEY + r"\[\s*(\w+\s*=.*?)\]" + _END,
        lambda f: f"Inner brackets are missing: {f[1]} = [{{ {f[2].strip()} }}].",
    ),
    (
        _KEY + r"([A-Za-z][^\"'=#]*?)" + _END,
        lambda f: f'Text stands in quotes: {f[1]} = "{f[2].strip()}".',
    ),
    (_KEY + r'"([^"]*)' + _END, lambda f: f'A quote is missing: {f[1]} = "{f[2].strip()}".'),
)
"""Forms of lines, the first that fits counting, and what to say of each."""


def line_mended(line: str) -> str:
    """
    Return how to write a line that is no TOML; empty where no slip is recognised.

    Parameters
    ----------
    line : str

    Returns
    -------
    str

    Examples
    --------
    >>> line_mended("daily_km = 200 km"), line_mended("budget = 6,000")[:30]
    ('A number stands without its unit: daily_km = 200.', 'Write thousands without a sign')
    """
    for form, repair in _REPAIRS:
        found = re.match(form, line)
        if found is not None:
            return repair(found)
    return ""


def _heading(name: str) -> str:
    """Return a heading with the brackets that it needs."""
    several = name.split(".")[-1] in ("legs", "hazards", "links", "sleepers", "kit", "addon")
    return f"A heading has both brackets: {f'[[{name}]]' if several else f'[{name}]'}."


def _ranged(key: str, low: str, high: str) -> str:
    """Return a range as a list of its least, its middle and its most."""
    middle = (int(low) + int(high)) // 2
    return f"A range is a list: {key} = [{low}, {middle}, {high}]."


def _grouped(key: str, digits: str) -> str:
    """Return a number whose thousands were set apart."""
    return f"Write thousands without a sign: {key} = {digits}."


def _yes_or_no(key: str, word: str) -> str:
    """Return a truth as TOML writes it."""
    return f"Write {key} = {'true' if word.lower() in ('true', 'yes') else 'false'}."


_UNITS = (
    (r"elevation_m$", "feet", lambda value: value * 0.3048),
    (r"length_m$", "feet", lambda value: value * 0.3048),
    (r"length_m$", "centimetres", lambda value: value / 100),
    (r"_kg$", "pounds", lambda value: value * 0.45359237),
    (r"bedding$", "degrees Fahrenheit", lambda value: (value - 32) / 1.8),
)
"""Units by key: the foot is 0.3048 m and the pound 0.45359237 kg, by definition."""


def other_unit(key: str, value: object, least: float, most: float) -> str:
    """
    Return what a number would be if it stood in another unit; empty where that fits no better.

    Parameters
    ----------
    key : str
        Ends with the name of a key of ours.
    value : object
    least, most : float
        What the key may hold, in its own unit.

    Returns
    -------
    str

    Examples
    --------
    >>> other_unit("legs[1].camp_elevation_m", 9000, -450, 6000)
    'If that is in feet, write 2743.'
    >>> other_unit("party.length_m", 185, 0.5, 2.4)
    'If that is in centimetres, write 1.85.'
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return ""
    for form, unit, metric in _UNITS:
        meant = metric(value)
        if re.search(form, key) and least <= meant <= most:
            return f"If that is in {unit}, write {meant:.4g}."
    return ""


_GROUPED = re.compile(
    r"^\s*([\w-]*(?:kilometres|_km|_kg|_m|price|budget|litres|_l))\s*=\s*(\d{1,3}(?:\.\d{3})+)"
    + _END,
    re.MULTILINE,
)
"""A number such as ``6.000``. Prices may have three decimals, so there only noughts tell."""


def points_for_thousands(text: str) -> list[str]:
    """
    Return a sentence for each number whose point looks like one between thousands.

    Parameters
    ----------
    text : str
        Of a trip file.

    Returns
    -------
    list of str

    Examples
    --------
    >>> points_for_thousands("budget = 6.000")
    ['budget = 6.000 on line 1 is 6: write 6000 if you mean thousands, 6 if not.']
    """
    found = []
    for match in _GROUPED.finditer(text):
        key, written = match[1], match[2]
        if key.endswith("price") and not written.endswith("000"):
            continue
        line = text.count("\n", 0, match.start(1)) + 1
        whole = written.replace(".", "")
        small = f"{float(written):g}" if written.count(".") == 1 else "no number"
        found.append(
            f"{key} = {written} on line {line} is {small}: write {whole} if you mean thousands, "
            f"{small} if not."
        )
    return found
