"""Titles inside sentences: ours begin small there, a name that a user gave stays.

In: titles of kits, add-ons and remedies. Out: the same as they stand after other words.
Assumes a title that ships with the program is no name, whoever writes it.
"""

from __future__ import annotations

from functools import cache

from sheltermap.shelters.fitting import TIMES
from sheltermap.shelters.kit import AddOn, Kit, load_addons, load_kits
from sheltermap.suitability.candidates import ROOM_TITLE
from sheltermap.vocabulary import lowered


def in_sentence(title: str) -> str:
    """
    Return a title as it stands inside a sentence.

    Parameters
    ----------
    title : str
        Of a kit, of an add-on or remedy, or of a kit with add-ons.

    Returns
    -------
    str

    Examples
    --------
    >>> in_sentence("Ground tent"), in_sentence("Ground tent with 12 V fan")
    ('ground tent', 'ground tent with 12 V fan')
    >>> in_sentence("Hammock-Bivouac"), in_sentence("Ground Tents of Mine")
    ('Hammock-Bivouac', 'Ground Tents of Mine')
    """
    return lowered(title) if _is_ours(title) else title


def _is_ours(title: str) -> bool:
    """Return whether a title ships with the program."""
    return any(
        title == own or title.startswith((f"{own} with ", f"{own}{TIMES}"))
        for own in _our_titles()
    )


@cache
def _our_titles() -> frozenset[str]:
    """Return every title of a kit, an add-on or a remedy that ships with the program."""
    shipped: tuple[Kit | AddOn, ...] = (*load_kits().values(), *load_addons().values())
    return frozenset((ROOM_TITLE, *(one.title for one in shipped)))
