"""What a page says to a reader in metric units, for tests of its words.

In: an element of a parsed page. Out: its text without what only the others see.
"""

from __future__ import annotations

from collections.abc import Iterator


def metric_text(element) -> str:
    """Return the text of an element as a reader in metric units sees it."""
    return "".join(_texts(element))


def _texts(element) -> Iterator[str]:
    """Yield the stretches of text in order."""
    if "imperial" not in element.get("class", "").split():
        yield element.text or ""
        for child in element:
            yield from _texts(child)
            yield child.tail or ""
