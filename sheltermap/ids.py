"""Ids made from names: safe in file names, and the same however a name is typed.

In: text. Out: small letters, digits and hyphens. Assumes that whoever needs them unique sees
to it.
"""

from __future__ import annotations

import re
import unicodedata

ID = r"[a-z0-9][a-z0-9-]{0,59}"
"""What an id may be, as a regular expression."""


def id_of(name: str, longest: int = 60) -> str:
    """
    Return the id that a name gives; an id stays as it is.

    Parameters
    ----------
    name : str
    longest : int
        Most characters. [1]

    Returns
    -------
    str
        Empty where the name has no letter or digit of the Latin alphabet.

    Examples
    --------
    >>> id_of("El Chaltén, south"), id_of("west-hill")
    ('el-chalten-south', 'west-hill')
    """
    if re.fullmatch(ID, name) and len(name) <= longest:
        return name
    # Letters keep their base: Chaltén is chalten, not chalt-n.
    apart = unicodedata.normalize("NFKD", name.lower())
    plain = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:longest]
