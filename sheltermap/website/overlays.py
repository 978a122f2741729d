"""Month overlays: small palette images on Mercator, and the values under the pointer.

In: a grid of probabilities, month by month. Out: PNG bytes and a script that holds the
same grid in half percents. Assumes regular cells, latitude ascending, and a page that draws
land below the image and sea, coasts and names above it. Where all is well the image is clear,
so that the country itself is seen; danger is both the darkest and the most marked class, so
that it survives a greyscale print.
"""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from PIL import Image

from sheltermap.vocabulary import GRADE_FLOORS

MISSING_CODE = 255
"""Stored value of a cell without climate or assessment."""

HALF_PERCENTS = 200
"""Stored value of certainty."""

MERCATOR_LIMIT = 85.0
"""Latitude at which web maps end. [degrees]"""

_LARGEST_WIDTH = 900  # px; keeps a month below 40 kB and cells sharp on a phone
_TEXTURE = 9  # px between the lines of a texture
_DOT = (slice(4, 6), slice(1, 3))  # px of a texture that none of its lines touches
_MISSING_COLOUR, _MISSING_ALPHA = (128, 128, 124), 60  # a wash that no scheme makes bright


@dataclass(frozen=True)
class Shade:
    """One class of an overlay.

    Attributes
    ----------
    floor : float
        Smallest value of the class. [0 to 1]
    word : str
        For the legend.
    colour, mark_colour : tuple of int
        RGB of the area and of its texture.
    texture : {"", "lines", "cross"}
    clear : bool
        Whether the image lets the country itself be seen, as where all is well. Its colour
        is then that of land in a legend on white paper.
    """

    floor: float
    word: str
    colour: tuple[int, int, int]
    mark_colour: tuple[int, int, int]
    texture: str = ""
    clear: bool = False


_SOUND, _WORKABLE, _HARD = (floor for _, floor in GRADE_FLOORS)
_LAND = (249, 246, 236)

SHARE_SHADES = (
    Shade(0.0, "unfit, under 25 %", (22, 12, 18), (150, 122, 116), "cross"),
    Shade(0.25, f"unfit, 25 to {100 * _HARD:.0f} %", (64, 34, 48), (176, 146, 136), "cross"),
    Shade(
        _HARD,
        f"hard, {100 * _HARD:.0f} to {100 * _WORKABLE:.0f} %",
        (239, 205, 144),
        (122, 78, 20),
        "lines",
    ),
    Shade(
        _WORKABLE,
        f"workable, {100 * _WORKABLE:.0f} to {100 * _SOUND:.0f} %",
        (150, 206, 196),
        (0, 0, 0),
    ),
    Shade(_SOUND, f"sound, {100 * _SOUND:.0f} % or more", _LAND, (0, 0, 0), clear=True),
)
"""Classes of the share of sound nights, from worst to best."""

RISK_SHADES = (
    Shade(0.0, "under 2 %", _LAND, (0, 0, 0), clear=True),
    Shade(0.02, "2 to 10 %", (170, 212, 204), (0, 0, 0)),
    Shade(0.10, "10 to 25 %", (222, 186, 124), (0, 0, 0)),
    Shade(0.25, "25 to 50 %", (214, 150, 84), (92, 52, 16), "lines"),
    Shade(0.50, "50 to 75 %", (110, 64, 60), (206, 172, 156), "cross"),
    Shade(0.75, "over 75 %", (36, 18, 26), (176, 146, 136), "cross"),
)
"""Classes of a probability that a factor spoils the night, from best to worst."""


def shades(factor: str) -> tuple[Shade, ...]:
    """
    Return the classes of a factor's overlay.

    Parameters
    ----------
    factor : str
        "sound_share" or a factor.

    Returns
    -------
    tuple of Shade
    """
    return SHARE_SHADES if factor == "sound_share" else RISK_SHADES


def classes(values: npt.ArrayLike, factor: str) -> npt.NDArray[np.uint8]:
    """
    Return the class of each value, 0 where missing.

    Parameters
    ----------
    values : float array
        [0 to 1]
    factor : str

    Returns
    -------
    uint8 array, same shape
        Position in `shades` plus 1.

    Examples
    --------
    >>> classes(np.array([np.nan, 0.1, 0.5, 0.9, 1.0]), "sound_share").tolist()
    [0, 1, 3, 5, 5]
    """
    floors = [shade.floor for shade in shades(factor)]
    values = np.asarray(values, dtype=float)
    found = np.searchsorted(floors, values, side="right")
    return np.where(np.isnan(values), 0, found).astype(np.uint8)


def mercator_rows(grid: np.ndarray, south: float, north: float, rows: int) -> np.ndarray:
    """
    Return a latitude grid as rows of a Mercator image.

    Rows are picked, never blended: a class must stay a class.

    Parameters
    ----------
    grid : array, shape (latitude, longitude)
        Latitude ascending.
    south, north : float
        Outer edges of the cells. [degrees]
    rows : int
        Rows of the image.

    Returns
    -------
    array, shape (rows, longitude)
        The first row is the northernmost.

    References
    ----------
    .. [1] J. P. Snyder, Map projections: a working manual, USGS Professional Paper
       1395, 1987, p. 41, eq. 7-2 (sphere).
    """
    top, bottom = (np.arcsinh(np.tan(np.radians(edge))) for edge in (north, south))
    heights = top - (np.arange(rows) + 0.5) / rows * (top - bottom)
    latitudes = np.degrees(np.arctan(np.sinh(heights)))
    index = ((latitudes - south) / (north - south) * len(grid)).astype(int)
    return grid[np.clip(index, 0, len(grid) - 1)]


def image(values: np.ndarray, factor: str, south: float, north: float) -> bytes:
    """
    Return one month as a palette PNG.

    Parameters
    ----------
    values : float array, shape (latitude, longitude)
        Latitude ascending. [0 to 1]
    factor : str
    south, north : float
        Outer edges of the cells. [degrees]

    Returns
    -------
    bytes
        Missing cells have a grey wash with dots, clear classes nothing.
    """
    kept, south, north = shown_rows(len(values), south, north)
    coded = classes(values[kept], factor)
    return _drawn(coded.tobytes(), coded.shape, factor, south, north)


@lru_cache(maxsize=512)
def _drawn(coded: bytes, shape: tuple[int, int], factor: str, south: float, north: float) -> bytes:
    """Return class numbers on a box as PNG; months alike, and other builds, share one."""
    pixels, scale = mercator_pixels(np.frombuffer(coded, np.uint8).reshape(shape), south, north)
    found = shades(factor)
    palette = [_MISSING_COLOUR, *(shade.colour for shade in found)]
    palette += [*(shade.mark_colour for shade in found), _MISSING_COLOUR]
    opacity = [_MISSING_ALPHA, *(0 if shade.clear else 255 for shade in found)]
    return png(_textured(pixels, factor) if scale >= 3 else pixels, palette, opacity)


def mercator_pixels(
    grid: npt.NDArray[np.uint8], south: float, north: float
) -> tuple[npt.NDArray[np.uint8], int]:
    """
    Return class numbers on a box as the pixels of a Mercator image.

    Cells are repeated where they are few and picked where they are many, never blended.

    Parameters
    ----------
    grid : uint8 array, shape (latitude, longitude)
        Latitude ascending.
    south, north : float
        Outer edges of the cells, such as `shown_rows` gives. [degrees]

    Returns
    -------
    uint8 array
        The first row is the northernmost.
    int
        Pixels to a cell's width; 1 where cells were picked.
    """
    rows, columns = grid.shape
    scale = max(1, min(8, _LARGEST_WIDTH // max(1, columns)))
    picked = min(1.0, _LARGEST_WIDTH / columns)
    if picked < 1.0:
        grid = grid[:, ((np.arange(_LARGEST_WIDTH) + 0.5) / picked).astype(int)]
    height = rows * scale * picked * _mercator_stretch(rows, south, north)
    pixels = mercator_rows(grid, south, north, max(1, round(height)))
    return np.repeat(pixels, scale, axis=1), scale


def shown_rows(rows: int, south: float, north: float) -> tuple[np.ndarray, float, float]:
    """
    Return the rows of a grid that a web map can show, and their outer edges.

    Parameters
    ----------
    rows : int
    south, north : float
        Outer edges of the grid. [degrees]

    Returns
    -------
    tuple of (int array, south, north)

    Examples
    --------
    >>> shown_rows(20, 80.0, 90.0)[1:]
    (80.0, 85.0)
    """
    edges = south + (north - south) / rows * np.arange(rows + 1)
    inside = (edges[:-1] >= -MERCATOR_LIMIT - 1e-9) & (edges[1:] <= MERCATOR_LIMIT + 1e-9)
    kept = np.flatnonzero(inside)
    return kept, float(edges[kept[0]]), float(edges[kept[-1] + 1])


def _mercator_stretch(rows: int, south: float, north: float) -> float:
    """Return how much taller than its degrees the box is on Mercator."""
    top, bottom = (np.arcsinh(np.tan(np.radians(edge))) for edge in (north, south))
    return float(np.degrees(top - bottom) / (north - south))


def _textured(pixels: np.ndarray, factor: str) -> np.ndarray:
    """Return class numbers with each class's texture drawn in its mark's number."""
    found = shades(factor)
    drawn = np.arange(1 + len(found), dtype=np.uint8)
    # By what lies on a pixel: nothing, a rising line, a falling one alone, a dot.
    marked: list[npt.NDArray[np.uint8]] = [drawn]
    for textures in (("lines", "cross"), ("cross",)):
        textured = [False, *(shade.texture in textures for shade in found)]
        marked.append(drawn + np.uint8(len(found)) * np.array(textured, dtype=np.uint8))
    marked.append(np.where(drawn == 0, np.uint8(1 + 2 * len(found)), drawn))
    step = np.arange(_TEXTURE)
    rising, falling = (step[:, None] + step) % _TEXTURE == 0, np.eye(_TEXTURE, dtype=bool)
    tile = np.where(rising, 1, np.where(falling, 2, 0)).astype(np.uint8)
    tile[_DOT] = 3
    tile *= np.uint8(len(drawn))
    tiled = np.tile(tile, [-(-size // _TEXTURE) for size in pixels.shape])
    return np.concatenate(marked)[tiled[: pixels.shape[0], : pixels.shape[1]] + pixels]


def png(
    pixels: npt.NDArray[np.uint8],
    palette: Sequence[tuple[int, int, int]],
    opacity: Sequence[int] = (0,),
) -> bytes:
    """
    Return class numbers as a palette PNG.

    Parameters
    ----------
    pixels : uint8 array, shape (rows, columns)
    palette : sequence of tuple of int
        RGB of each class, the first for nothing.
    opacity : sequence of int
        Of the first classes; the others are opaque. [0 to 255]

    Returns
    -------
    bytes
    """
    picture = Image.fromarray(pixels, mode=None)
    picture = picture.convert("P") if picture.mode != "P" else picture
    picture.putpalette([part for colour in palette for part in colour])
    stream = io.BytesIO()
    # The harder compression, `optimize`, takes four times as long for a tenth of the bytes.
    picture.save(stream, "PNG", transparency=bytes(opacity))
    return stream.getvalue()


def value_script(key: str, cube: np.ndarray, box: tuple[float, float, float, float]) -> bytes:
    """
    Return the script that tells a page the values under the pointer.

    Pages opened from a file cannot read an image's pixels, so the numbers come apart.

    Parameters
    ----------
    key : str
        Kit and factor, "kit/factor".
    cube : float array, shape (12, latitude, longitude)
        [0 to 1], NaN where missing.
    box : tuple of float
        South, west, north, east. [degrees]

    Returns
    -------
    bytes
    """
    cube = np.asarray(cube, dtype=float)
    coded = np.where(np.isnan(cube), MISSING_CODE, np.rint(np.nan_to_num(cube) * HALF_PERCENTS))
    entry = {
        "rows": cube.shape[1],
        "columns": cube.shape[2],
        "box": dict(
            zip(("south", "west", "north", "east"), (round(edge, 6) for edge in box), strict=True)
        ),
        "data": base64.b64encode(coded.astype(np.uint8).tobytes()).decode(),
    }
    return (
        "window.SM_VALUES=window.SM_VALUES||{};"
        f"window.SM_VALUES[{json.dumps(key)}]={json.dumps(entry)};\n"
    ).encode()
