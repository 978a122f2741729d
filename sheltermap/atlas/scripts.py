"""Data of the atlas as scripts: what a page opened from a file can load.

In: text. Out: a script that hands it over, deflated. Assumes a page that inflates, as
``atlaspack.js`` does.
"""

from __future__ import annotations

import base64
import json
import zlib

_HARDEST = 9


def packed_script(path: str, text: str) -> bytes:
    """
    Return text as a script that a page loads by its path.

    Parameters
    ----------
    path : str
        In the atlas; the page waits for the content by this name.
    text : str

    Returns
    -------
    bytes
    """
    content = base64.b64encode(zlib.compress(text.encode(), _HARDEST)).decode()
    return f"SM_ATLAS({json.dumps(path)},{json.dumps(content)});\n".encode()
