"""The atlas's page: facts in, its files out.

In: the facts of an atlas. Out: bytes by path. Assumes that tiles and pictures lie beside it.
"""

from __future__ import annotations

from sheltermap.atlas.facts import AtlasFacts
from sheltermap.website import environment
from sheltermap.website.write import GENERATOR


def page_files(facts: AtlasFacts) -> dict[str, bytes]:
    """
    Return the page and what it loads beside tiles and pictures.

    Parameters
    ----------
    facts : AtlasFacts

    Returns
    -------
    dict of str to bytes
        By path in the site.
    """
    block = environment.json_block(facts.block)
    kit = facts.kits[0].id
    page = (
        f'<!DOCTYPE html><html lang="en"><head>{GENERATOR.decode()}<meta charset="utf-8">'
        f"<title>Atlas</title></head><body><h1>Atlas</h1>"
        f'<img src="maps/{kit}/share-07.png" alt="Share of sound nights in July">'
        f'<script type="application/json" id="atlas">{block}</script></body></html>\n'
    )
    return {"index.html": page.encode()}
