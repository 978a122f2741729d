"""The template environment, safe scripts and the content policy.

In: template names, values, finished pages. Out: escaped text, and pages whose inline
scripts are listed by hash. Assumes nothing about the pages' content; every text a user
wrote passes through the escaping here.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
import unicodedata
from collections.abc import Iterable
from functools import cache
from itertools import accumulate
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from sheltermap.economy.prices import money
from sheltermap.economy.ratings import rounded_down, rounded_up
from sheltermap.resources import bundled
from sheltermap.suitability.titles import in_sentence
from sheltermap.vocabulary import VARIABLES, listed
from sheltermap.website import figures, words

POLICY_MARK = "content-policy"
"""What a page carries until its policy is known."""

PAGE_LINK = "page:"
"""How a link to another page begins until the copy it stands in is known."""

_INLINE_SCRIPT = re.compile(r"<script>(.*?)</script>", re.S)
_BIDI = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F))

# Letters written from right to left (Unicode blocks), and what else a name of them may hold.
_LETTERS = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff"
_BETWEEN = " \u00a0\\d.'\u2019/\u2013-"
_LEFTWARD = re.compile(
    rf"[{_LETTERS}]++(?:[{_BETWEEN}]*+(?:[{_LETTERS}]++|\([{_LETTERS}{_BETWEEN}]*+\)))*+"
)


@cache
def environment() -> Environment:
    """
    Return the environment that renders every template, always escaping.

    Returns
    -------
    jinja2.Environment
    """
    made = Environment(
        loader=FileSystemLoader(bundled("site_template")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=False,
        keep_trailing_newline=False,
        finalize=_plain,
    )
    made.globals["link"] = lambda page: PAGE_LINK + page
    made.filters.update(
        quantity=figures.quantity,
        number=figures.number,
        percent=figures.percent,
        nights=figures.nights,
        is_known=figures.is_known,
        date=words.full_date,
        short_date=words.short_date,
        grade_word=words.grade_word,
        way_words=words.way_words,
        listed=listed,
        shortened=shortened,
        kind_title=words.kind_title,
        in_sentence=in_sentence,
        money=money,
        rounded_down=rounded_down,
        rounded_up=rounded_up,
        variable_word=variable_word,
        variable_name=variable_name,
        soft=softened,
    )
    return made


def softened(text: str) -> str:
    """
    Return text whose long words may break in a narrow column.

    Examples
    --------
    >>> softened("midnight") == "mid\u00adnight"
    True
    """
    for word, broken in (("condensation", "conden\u00adsation"), ("midnight", "mid\u00adnight")):
        text = text.replace(word, broken)
    return text


def _plain(value: Any) -> Any:
    """Return text in an order that only we set; markup stays."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return isolated(value)
    return value


def isolated(text: str) -> str:
    """
    Return text whose right-to-left names leave the order around them alone.

    Marks that turn the order round are taken out. Each stretch of right-to-left letters is
    put between Unicode's isolates: without them "NAME: 10 August" shows the 10 on the wrong
    side of the name (Unicode Standard Annex 9, rules N0 to N2 and section 2.4).

    Parameters
    ----------
    text : str
        May hold text from users.

    Returns
    -------
    str

    Examples
    --------
    >>> isolated("\u05d4\u05e8: 10 August") == "\u2068\u05d4\u05e8\u2069: 10 August"
    True
    >>> isolated("Steppe: 10 August")
    'Steppe: 10 August'
    """
    if text.isascii():
        return text
    return _LEFTWARD.sub("\u2068\\g<0>\u2069", text.translate(_BIDI))


def _all_isolated(data: Any) -> Any:
    """Return data with every text in it isolated; keys stay."""
    if isinstance(data, str):
        return isolated(data)
    if isinstance(data, dict):
        return {key: _all_isolated(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_all_isolated(value) for value in data]
    return data


def shortened(text: str, length: int) -> str:
    """
    Return text cut to a length, for labels inside drawings; wide characters count twice.

    Examples
    --------
    >>> shortened("Karakum and Kyzylkum", 10), shortened("天山山脉与伊塞克湖盆地", 10)
    ('Karakum a…', '天山山脉…')
    """
    widths = [2 if unicodedata.east_asian_width(character) in "FW" else 1 for character in text]
    if sum(widths) <= length:
        return text
    kept = sum(so_far < length for so_far in accumulate(widths))
    return text[:kept] + "…"


def variable_name(name: str) -> str:
    """
    Return a variable of the climatology as its data set calls it; unknown names stay.

    Examples
    --------
    >>> variable_name("rainfall")
    'precipitation sum of the month'
    """
    return VARIABLES[name].long_name if name in VARIABLES else name.replace("_", " ")


def variable_word(name: str) -> str:
    """
    Return a variable of the climatology in a traveller's words; unknown names stay.

    Examples
    --------
    >>> variable_word("rainfall"), variable_word("night_low_spread")
    ('rain', 'how much nights differ')
    """
    return words.VARIABLE_WORDS.get(name) or variable_name(name)


def asset(name: str) -> bytes:
    """
    Return one of our own files as it ships.

    Parameters
    ----------
    name : str
        File in ``site_template/assets``.

    Returns
    -------
    bytes
    """
    return Path(bundled("site_template"), "assets", name).read_bytes()


def slug(text: str) -> str:
    """
    Return text as a piece of a file name.

    Parameters
    ----------
    text : str
        An id.

    Returns
    -------
    str
        Lower-case letters, digits and hyphens only.

    Examples
    --------
    >>> slug("roof-tent+awning"), slug("../Ä")
    ('roof-tent-awning', 'x')
    """
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:60] or "x"


def slugs(identities: Iterable[str]) -> dict[str, str]:
    """
    Return a file-name piece of its own for each id.

    Examples
    --------
    >>> slugs(["a+b", "a-b"])
    {'a+b': 'a-b', 'a-b': 'a-b-2'}
    """
    given: dict[str, str] = {}
    for identity in identities:
        piece, number = slug(identity), 2
        while piece in given.values():
            piece, number = f"{slug(identity)}-{number}", number + 1
        given[identity] = piece
    return given


def json_block(data: Any) -> Markup:
    """
    Return data for a JSON script block; no text in it can end the block.

    Examples
    --------
    >>> str(json_block({"name": "</script>"}))
    '{"name":"\\\\u003c/script\\\\u003e"}'
    """
    text = json.dumps(
        _all_isolated(data), separators=(",", ":"), ensure_ascii=True, sort_keys=True
    )
    for character in "<>&":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return Markup(text)


def inline_script(text: str | bytes) -> Markup:
    """
    Return a script of ours as it may stand inside a page.

    Parameters
    ----------
    text : str or bytes
        JavaScript.

    Returns
    -------
    markupsafe.Markup
        LF line ends, no sequence that HTML reads as a tag.
    """
    if isinstance(text, bytes):
        text = text.decode()
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return Markup(text.replace("</", "<\\/").replace("<!--", "<\\!--"))


def with_policy(page: str) -> bytes:
    """
    Return a finished page with its content policy.

    Only scripts whose text is known now may run; nothing may load from another host.

    Parameters
    ----------
    page : str
        Carries `POLICY_MARK` once.

    Returns
    -------
    bytes
    """
    page = page.replace("\r\n", "\n")
    hashes = "".join(
        f" 'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'"
        for script in _INLINE_SCRIPT.findall(page)
    )
    policy = (
        f"default-src 'none'; script-src 'self'{hashes}; style-src 'self' 'unsafe-inline'; "
        "img-src 'self' data:; base-uri 'none'; form-action 'none'"
    )
    return page.replace(POLICY_MARK, policy, 1).encode()
