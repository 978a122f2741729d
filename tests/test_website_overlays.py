"""Overlays: right place on Mercator, classes that stay classes, small files."""

from __future__ import annotations

import base64
import io
import json
import math

import numpy as np
import numpy.testing as npt
import pytest
from PIL import Image

from sheltermap.website.overlays import (
    HALF_PERCENTS,
    MISSING_CODE,
    RISK_SHADES,
    SHARE_SHADES,
    classes,
    image,
    mercator_pixels,
    mercator_rows,
    shown_rows,
    value_script,
)


def pixels_of(png: bytes) -> Image.Image:
    """Return a palette picture as red, green, blue and opacity."""
    picture = Image.open(io.BytesIO(png))
    assert picture.mode == "P"
    return picture.convert("RGBA")


def test_rows_lie_where_mercator_puts_them():
    """A boundary at 55 N stands at its Mercator height, not in the middle of the image.

    By hand from Snyder's eq. 7-2, y = ln tan(45 + latitude / 2): 30 N 0.5493, 55 N 1.1542,
    70 N 1.7354, so the boundary is (1.7354 - 1.1542) / (1.7354 - 0.5493) = 0.4900 from
    the top, while the same latitude is 15 / 40 = 0.375 from the top on a plain grid.
    """
    latitudes = np.arange(30.25, 70, 0.5)
    grid = np.where(latitudes > 55, 2, 1)[:, None]
    rows = mercator_rows(grid, 30.0, 70.0, 1000)[:, 0]
    boundary = int(np.argmax(rows == 1)) / 1000
    npt.assert_allclose(boundary, 0.4900, atol=0.001)


def test_the_same_boundary_by_the_other_form_of_the_projection():
    """The log-tangent form gives the same share, computed here apart from our code."""

    def height(latitude):
        return math.log(math.tan(math.radians(45 + latitude / 2)))

    share = (height(70) - height(55)) / (height(70) - height(30))
    npt.assert_allclose(share, 0.4900, atol=0.0001)


def test_sound_cells_are_clear_and_missing_ones_are_dotted():
    """Sound country stays untinted, and no data cannot be mistaken for it."""
    values = np.array([[0.95, np.nan], [0.1, 0.6]])  # the first row is the southern one
    pixels = np.asarray(pixels_of(image(values, "sound_share", 40, 41)))
    half = np.array(pixels.shape[:2]) // 2
    north, south = pixels[: half[0] - 2], pixels[half[0] + 2 :]
    sound, missing = south[:, : half[1]], south[:, half[1] :]
    assert (sound[..., 3] == 0).all()
    assert set(np.unique(missing[..., 3])) == {60, 255}
    assert 0.02 < (missing[..., 3] == 255).mean() < 0.2
    assert (missing[..., :3].max(axis=2) <= 128).all(), "no scheme may make it bright"
    assert (north[..., 3] == 255).all()


def test_colours_are_exactly_those_of_the_legend():
    """Nothing is blended: each pixel is a class's colour or its texture's."""
    values = np.linspace(0, 1, 400).reshape(20, 20)
    for factor, shades in (("sound_share", SHARE_SHADES), ("cold", RISK_SHADES)):
        pixels = np.asarray(pixels_of(image(values, factor, 30, 60)))[..., :3]
        found = {tuple(int(part) for part in pixel) for pixel in pixels.reshape(-1, 3)}
        allowed = {s.colour for s in shades} | {s.mark_colour for s in shades if s.texture}
        assert found <= allowed
        assert {s.colour for s in shades} <= found


def test_class_boundaries_are_those_of_the_grades():
    """0.90, 0.75 and 0.50 begin a class; a hair below is the worse one."""
    values = np.array([0.9, 0.8999, 0.75, 0.7499, 0.5, 0.4999])
    words = [SHARE_SHADES[code - 1].word for code in classes(values, "sound_share")]
    assert words == [
        "sound, 90 % or more",
        "workable, 75 to 90 %",
        "workable, 75 to 90 %",
        "hard, 50 to 75 %",
        "hard, 50 to 75 %",
        "unfit, 25 to 50 %",
    ]


def test_class_boundaries_of_risks():
    """Each class begins where its words say, a hair below is the better one; none is none."""
    values = np.array([0.0, 0.0199, 0.02, 0.0999, 0.1, 0.2499, 0.25, 0.4999, 0.5, 0.7499, 0.75, 1])
    words = [RISK_SHADES[code - 1].word for code in classes(values, "cold")]
    assert words == [
        word
        for word in (
            "under 2 %",
            "2 to 10 %",
            "10 to 25 %",
            "25 to 50 %",
            "50 to 75 %",
            "over 75 %",
        )
        for _ in range(2)
    ]


def test_danger_is_darkest_in_greyscale():
    """In a greyscale print the worst classes stand out first, textures included."""

    def luma(colour):
        return 0.299 * colour[0] + 0.587 * colour[1] + 0.114 * colour[2]

    shares = [luma(shade.colour) for shade in SHARE_SHADES]
    assert max(shares[:2]) < min(shares[2:]) - 30
    risks = [luma(shade.colour) for shade in RISK_SHADES]
    assert risks == sorted(risks, reverse=True)
    assert all(shade.texture == "cross" for shade in (*SHARE_SHADES[:2], *RISK_SHADES[-2:]))


def test_one_month_is_at_most_40_kb():
    """A noisy half-degree box of 60 by 30 degrees stays within the goal."""
    noise = np.random.default_rng(1).normal(0, 0.06, (60, 120))
    smooth = np.linspace(0, 1, 120)[None, :] + noise
    assert len(image(np.clip(smooth, 0, 1), "sound_share", 30, 60)) <= 40_000


def test_values_come_back_to_half_a_percent():
    """What the page tells under the pointer is the grid's value."""
    cube = np.random.default_rng(2).random((12, 3, 4))
    cube[0, 0, 0] = np.nan
    text = value_script("kit/cold", cube, (40.0, 30.0, 41.5, 32.0)).decode()
    entry = json.loads(text[text.index("]=") + 2 : -2])
    raw = np.frombuffer(base64.b64decode(entry["data"]), np.uint8).reshape(cube.shape)
    assert raw[0, 0, 0] == MISSING_CODE
    known = ~np.isnan(cube)
    npt.assert_allclose(raw[known] / HALF_PERCENTS, cube[known], atol=0.0025 + 1e-9)


def test_box_beyond_mercator_is_cut_to_whole_cells():
    """A box up to the pole still gives an image, of the rows a web map can show."""
    values = np.full((20, 4), 0.95)
    picture = Image.open(io.BytesIO(image(values, "sound_share", 80.0, 90.0)))
    assert picture.size[0] > 0


@pytest.mark.parametrize(
    ("rows", "south", "north", "kept", "edges"),
    [
        (4, 40.0, 42.0, range(4), (40.0, 42.0)),
        (2, -85.0, 85.0, range(2), (-85.0, 85.0)),
        (20, 80.0, 90.0, range(10), (80.0, 85.0)),
        (20, -90.0, -80.0, range(10, 20), (-85.0, -80.0)),
        (60, -90.0, 90.0, range(2, 58), (-84.0, 84.0)),
    ],
)
def test_rows_that_a_web_map_shows(rows, south, north, kept, edges):
    """By hand: all within 85 degrees; rows of half a degree, or of three, beyond are left out."""
    found, lowest, highest = shown_rows(rows, south, north)
    assert found.tolist() == list(kept)
    assert (lowest, highest) == pytest.approx(edges)


@pytest.mark.parametrize(
    ("columns", "scale", "width"),
    [(1, 8, 8), (100, 8, 800), (150, 6, 900), (400, 2, 800), (900, 1, 900), (1800, 1, 900)],
)
def test_a_picture_is_at_most_900_pixels_wide(columns, scale, width):
    """By hand: whole pixels to a cell, 8 at most, as many as 900 hold; cells are picked above.

    Eight rows that meet at the equator are as high as wide, within the Mercator's half percent
    below 8 degrees.
    """
    grid = np.tile((np.arange(columns) % 200).astype(np.uint8), (8, 1))
    pixels, each = mercator_pixels(grid, -4.0, 4.0)
    assert each == scale
    assert pixels.shape[1] == width
    assert pixels.shape[0] == pytest.approx(8 * width / columns, abs=0.6)


def test_picked_cells_are_the_middle_of_those_they_stand_for():
    """By hand: of 1800 columns on 900 pixels, pixel n stands for 2 n and 2 n + 1: the latter."""
    grid = np.tile((np.arange(1800) % 251).astype(np.uint8), (8, 1))
    pixels, _ = mercator_pixels(grid, -4.0, 4.0)
    npt.assert_array_equal(pixels[0], (2 * np.arange(900) + 1) % 251)


@pytest.mark.parametrize(
    ("value", "marked"),
    [
        (0.3, lambda row, column: (row + column) % 9 == 0 or row % 9 == column % 9),
        (0.6, lambda row, column: (row + column) % 9 == 0),
        (0.8, lambda row, column: False),
        (np.nan, lambda row, column: row % 9 in (4, 5) and column % 9 in (1, 2)),
    ],
    ids=["unfit", "hard", "workable", "missing"],
)
def test_each_texture_repeats_every_9_pixels(value, marked):
    """Crossed lines, rising lines, none, and dots of 2 by 2; cells here are 8 pixels wide."""
    drawn = image(np.full((4, 5), value), "sound_share", 0, 2)
    picture = np.asarray(Image.open(io.BytesIO(drawn)))
    assert picture.shape[1] == 40
    expected = [[marked(row, column) for column in range(40)] for row in range(picture.shape[0])]
    npt.assert_array_equal(picture != np.bincount(picture.ravel()).argmax(), expected)


def test_textures_are_left_out_where_cells_are_small():
    """From 3 pixels a cell there are lines: 300 columns have them, 301 have 2 pixels each."""
    for columns, numbers in ((300, 2), (301, 1)):
        values = np.full((8, columns), 0.6)
        picture = np.asarray(Image.open(io.BytesIO(image(values, "sound_share", 0, 4))))
        assert len(np.unique(picture)) == numbers


def test_values_of_a_page_say_where_they_lie():
    """Rows, columns and edges to six decimals; 0.4974 is 99.48 half percents, 0.5026 is 100.52."""
    cube = np.full((12, 2, 3), 0.4974)
    cube[11, 1, 2] = 0.5026
    text = value_script("kit/cold", cube, (40.0, 30.1234564, 41.5, 32.0)).decode()
    entry = json.loads(text[text.index("]=") + 2 : -2])
    assert (entry["rows"], entry["columns"]) == (2, 3)
    assert entry["box"] == {"south": 40.0, "west": 30.123456, "north": 41.5, "east": 32.0}
    assert set(base64.b64decode(entry["data"])[:-1]) == {99}
    assert base64.b64decode(entry["data"])[-1] == 101
