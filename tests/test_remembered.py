"""Results remembered: found again for the same content, and for no other."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pytest
import shapely
import xarray as xr

from sheltermap.remembered import fingerprint, remembered
from sheltermap.shelters.kit import Bedding, load_kits
from sheltermap.vocabulary import Level


@dataclass(frozen=True)
class Pair:
    """Two values."""

    first: object
    second: object


def season(value=1.0, **attrs):
    """Return a small dataset."""
    return xr.Dataset({"t": ("month", [value, 2.0], attrs)}, {"month": [1, 2]}, {"source": "x"})


VALUES = [
    None,
    0,
    0.0,
    -0.0,
    False,
    "",
    "0",
    b"",
    (),
    [],
    {},
    date(2027, 1, 1),
    slice(1, 2),
    slice(1, 3),
    Level.SERIOUS,
    np.float32(1),
    np.float64(1),
    np.array([1, 2]),
    np.array([1.0, 2.0]),
    np.array([[1.0, 2.0]]),
    np.array([1.0, 2.0], np.float32),
    np.array(["1", "2"]),
    np.array(["1", "2"], object),
    (1, 2),
    ("1", "2"),
    (1, (2, 3)),
    ((1, 2), 3),
    ("a", "bc"),
    ("ab", "c"),
    Pair(1, 2),
    Pair(2, 1),
    Pair(np.zeros(3), None),
    Pair(np.zeros(4), None),
    Bedding(word="winter"),
    Bedding(word="summer"),
    shapely.Point(1, 2),
    shapely.Point(2, 1),
    shapely.LineString([(1, 2), (3, 4)]),
    {"a": 1},
    {"b": 1},
    season(),
    season(1.5),
    season(units="K"),
    season().assign_attrs(source="y"),
    season().assign_coords(month=[1, 3]),
    season().rename(t="u"),
    season()["t"],
    season()["t"].rename("u"),
]


def test_no_two_values_share_a_fingerprint():
    """Types, shapes, names, attributes, order and nesting tell values apart."""
    assert len({fingerprint(value) for value in VALUES}) == len(VALUES)


def test_the_same_content_has_the_same_fingerprint():
    """Copies and views are what they are copies of, wherever they lie in memory."""
    assert fingerprint(season()) == fingerprint(season().copy(deep=True))
    grid = np.arange(6.0).reshape(2, 3)
    assert fingerprint(grid.T) == fingerprint(np.ascontiguousarray(grid.T))
    assert fingerprint(Pair(Bedding(word="winter"), [1])) == fingerprint(
        Pair(Bedding(word="winter"), [1])
    )
    assert fingerprint(np.array([np.nan])) == fingerprint(np.array([np.nan]))


def test_what_cannot_be_told_apart_is_refused():
    """A function, a generator or an open file says nothing of what it will give."""
    with pytest.raises(TypeError, match="told apart"):
        fingerprint((1, lambda: 2))


def test_results_are_kept_by_content_up_to_a_number():
    """A changed array is worked out anew; the one not asked for longest goes first."""
    asked = []

    @remembered(size=2)
    def total(values, *, scale=1.0):
        asked.append(float(values[0]))
        return scale * values.sum()

    one, two, three = (np.full(3, float(n)) for n in (1, 2, 3))
    assert [total(one), total(two), total(one.copy())] == [3.0, 6.0, 3.0]
    assert asked == [1.0, 2.0]
    assert total(one, scale=2.0) == 6.0
    assert asked == [1.0, 2.0, 1.0]
    one[0] = 4.0
    assert total(one) == 6.0
    assert total(three) == 9.0
    assert total(two) == 6.0
    assert asked == [1.0, 2.0, 1.0, 4.0, 3.0, 2.0]


def test_what_a_kit_keeps_to_itself_counts_too():
    """A kit that was learned to be tight still leaks in danger: it is not one stated tight."""
    kit = load_kits()["ground-tent"]
    tight = kit.model_copy(update={"leak": 0.0, "leak_under_awning": 0.0})
    learned = kit.after(0.0, 0.0, kit.condensation_weight)
    assert fingerprint(tight) != fingerprint(learned)
