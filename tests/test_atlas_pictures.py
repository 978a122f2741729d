"""Pictures of an atlas by hand: the class of each cell, from codes that lie on the borders."""

from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from sheltermap.atlas import legends
from sheltermap.atlas.area import AtlasGrid, Block
from sheltermap.atlas.pictures import Painter, pictures
from sheltermap.atlas.scored import ScoredBlock
from sheltermap.atlas.store import Store

GRID = AtlasGrid(np.array([0.0, 1.0]), np.array([10.0, 11.0, 12.0]), (1.0, 1.0))
KITS = tuple(
    SimpleNamespace(id=name, title=name, price=price)
    for name, price in (("a", 900.0), ("b", 50.0))
)


@pytest.fixture
def painter(tmp_path):
    """Return a function that paints two kits whose July is given, shape (2, rows, columns)."""

    def stored(july, other_months: int = 0, layer: str = "share") -> Painter:
        codes = np.full((2, 12, *GRID.shape), other_months, np.uint8)
        codes[:, 6] = july
        codes[:, :, np.array(july)[0] == 255] = 255
        store = Store(tmp_path / "store", GRID.shape)
        place = Block(0, 0, GRID.latitude, GRID.longitude)
        store.write(ScoredBlock(place, {layer: codes}, np.zeros(GRID.shape), np.array(0)))
        return Painter(store, GRID, KITS)

    return stored


def colours(png: bytes) -> list[list[tuple[int, ...] | None]]:
    """Return the colour of each cell, from the north-west; None where nothing is drawn."""
    with Image.open(io.BytesIO(png)) as picture:
        assert picture.mode == "P"
        pixels = np.array(picture.convert("RGBA"))
    rows, columns = GRID.shape
    height, width = pixels.shape[0] // rows, pixels.shape[1] // columns
    seen = pixels[height // 2 :: height, width // 2 :: width][:rows, :columns]
    return [[tuple(cell[:3]) if cell[3] else None for cell in row] for row in seen.tolist()]


def test_shares_are_drawn_in_steps_of_five_percent(painter):
    """0, 24.5, 25, 90 and 100 %, and a cell of the sea; the south is drawn below."""
    july = [[[0, 49, 50], [180, 200, 255]]] * 2
    found = colours(painter(july).share(0, 6))
    entries = legends.share_legend()
    want = [[18, 19, None], [0, 4, 5]]
    assert found == [
        [None if step is None else entries[step].colour for step in row] for row in want
    ]


def test_workable_months_are_counted_and_the_best_is_named(painter):
    """July alone is workable, from 75 % on; where no month is, none is best."""
    made = painter([[[150, 149, 200], [0, 160, 255]]] * 2)
    months, best = legends.months_legend(), legends.best_legend()
    one, none = months[1].colour, months[0].colour
    assert colours(made.workable_months(0)) == [[none, one, None], [one, none, one]]
    july, no_month = best[6].colour, best[12].colour
    assert colours(made.best_month(0)) == [[no_month, july, None], [july, no_month, july]]


def test_the_cheapest_workable_kit_is_named(painter):
    """Kit a is workable in two cells, the cheaper b in one of them."""
    july = [[[160, 160, 0], [0, 0, 0]], [[0, 170, 0], [0, 0, 0]]]
    dear, cheap, none = (entry.colour for entry in legends.cheapest_legend(KITS))
    assert colours(painter(july).cheapest(6)) == [[none] * 3, [dear, cheap, none]]


@pytest.mark.parametrize("layer", ["danger", "factor"])
def test_dangers_and_factors_have_their_legends(painter, layer):
    """Code 0 is the first class of both: under 2 %, and cold; 5 of 200 is 2.5 %, or nothing."""
    made = painter([[[0, 5, 0], [0, 0, 255]]] * 2, layer=layer)
    entries = getattr(legends, f"{layer}_legend")()
    last = entries[1] if layer == "danger" else entries[5]
    found = colours(getattr(made, layer)(0, 6))
    first = entries[0].colour
    assert found == [[first, first, None], [first, last.colour, first]]


def test_borders_of_dangers_are_those_of_their_words(painter):
    """2, 10, 25, 50 and 75 % are 4, 20, 50, 100 and 150 of 200; one less is the class before."""
    july = [[[3, 4, 19], [20, 149, 150]]] * 2
    entries = legends.danger_legend()
    want = [[2, 4, 5], [0, 1, 1]]
    found = colours(painter(july, layer="danger").danger(0, 6))
    assert found == [[entries[one].colour for one in row] for row in want]


def test_levels_of_a_hazard_are_drawn_by_their_numbers(painter):
    """None, advisory, closure, and a cell that nobody looked at."""
    july = [[[0, 1, 4], [2, 3, 255]]] * 2
    entries = legends.level_legend()
    found = colours(painter(july, layer="hazard").hazard(0, 6))
    assert found == [
        [None if one is None else entries[one].colour for one in row]
        for row in [[2, 3, None], [0, 1, 4]]
    ]


def test_the_best_of_two_workable_months_is_the_better(painter):
    """All other months have 80 %, July 79 % in one cell, 81 % in another."""
    july = [[[158, 162, 160], [160, 160, 160]]] * 2
    made, best = painter(july, other_months=160), legends.best_legend()
    assert colours(made.best_month(0))[1] == [best[month].colour for month in (0, 6, 0)]
    months = legends.months_legend()
    assert colours(made.workable_months(0))[0] == [months[12].colour] * 3


def test_pictures_of_two_kits_and_a_hazard_have_their_names(painter):
    """Three layers a month and two a year for each kit; cheapest and hazard by month."""
    made = painter([[[160, 0, 0], [0, 0, 0]]] * 2)
    store = Everywhere(made.store)
    names = dict(pictures(Painter(store, GRID, KITS, ("flood",))))
    assert len(names) == 2 * (3 * 12 + 2) + 12 + 12
    assert names["maps/a/share-07.png"] == made.share(0, 6) != made.share(0, 5)
    for name in ("maps/b/danger-12.png", "maps/a/factor-01.png", "maps/cheapest-01.png"):
        assert name in names
    assert {"maps/a/months.png", "maps/b/best.png", "maps/hazard/flood-12.png"} <= names.keys()


class Everywhere:
    """A store that answers for every layer what it knows of shares."""

    def __init__(self, store: Store) -> None:
        self.year, self._month = store.year, store.month

    def month(self, layer: str, kit: int, month: int) -> np.ndarray:
        """Return a month's shares, as classes that any legend has."""
        codes = self._month("share", kit, month)
        return codes if layer == "share" else codes // 100
