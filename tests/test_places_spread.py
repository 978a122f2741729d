"""Tests of the words for a region of several climates."""

import numpy as np
import pytest
import xarray as xr

from sheltermap.places.spread import good_parts, several_climates, uneven_nights

LATITUDE, LONGITUDE = (a.ravel() for a in np.meshgrid([40.0, 41.0, 42.0], [70.0, 71.0, 72.0]))
COORDS = {"latitude": ("cell", LATITUDE), "longitude": ("cell", LONGITUDE)}
WEIGHT = xr.DataArray(np.full(9, 1 / 9), dims="cell")
FLAT = xr.DataArray(np.zeros(9), dims="cell")


def shares(good):
    """Return shares that are good where told."""
    return xr.DataArray(np.where(good, 0.9, 0.3), COORDS, ["cell"])


@pytest.mark.parametrize(
    ("good", "words"),
    [
        (LATITUDE > 41.5, "in the north"),
        (LONGITUDE < 70.5, "in the west"),
        ((LATITUDE < 41.5) & (LONGITUDE > 70.5), "in the south-east"),
        ((LATITUDE == 41) & (LONGITUDE == 71), "here and there"),
        (LATITUDE > 0, "everywhere"),
        (LATITUDE < 0, "nowhere"),
    ],
)
def test_good_parts_by_compass(good, words):
    """The good cells lie to one side of the middle, or they don't."""
    assert good_parts(shares(good), FLAT, WEIGHT) == words


def test_good_parts_by_height():
    """Valleys in the middle and ridges around them."""
    good = (LATITUDE == 41) & (LONGITUDE == 71)
    height = xr.DataArray(np.where(good, 500.0, 1500.0), dims="cell")
    assert good_parts(shares(good), height, WEIGHT) == "on lower ground"
    assert good_parts(shares(~good), height, WEIGHT) == "on higher ground"


def test_good_parts_over_the_antimeridian():
    """179, 180 and -179 degrees: the last is the easternmost."""
    east = shares(LONGITUDE > 71.5)
    moved = {"longitude": ("cell", np.where(LONGITUDE == 72, -179.0, LONGITUDE + 109))}
    assert good_parts(east.assign_coords(moved), FLAT, WEIGHT) == "in the east"


def test_the_middle_over_the_antimeridian_is_the_middle():
    """Between 178 and -178 degrees lies 180."""
    moved = {
        "longitude": (
            "cell",
            np.select([LONGITUDE == 70, LONGITUDE == 71], [178.0, 180.0], -178.0),
        )
    }
    good = shares(LONGITUDE == 71).assign_coords(moved)
    assert good_parts(good, FLAT, WEIGHT) == "here and there"


def test_good_parts_of_nothing_known():
    """No share, no words."""
    assert good_parts(shares(LATITUDE > 0) * np.nan, FLAT, WEIGHT) == ""


def yearly(*months):
    """Return twelve months of shares, the last one given repeated."""
    twelve = [*months, *[months[-1]] * (12 - len(months))]
    return xr.concat(twelve, xr.DataArray(np.arange(1, 13), dims="month", name="month"))


def test_uneven_nights_are_placed_and_counted():
    """Three of nine cells in January, six in February, all from then on."""
    some = shares(LATITUDE > 41.5), shares(LATITUDE > 40.5), shares(LATITUDE > 0)
    assert uneven_nights(yearly(*some), FLAT, WEIGHT) == (
        "By the climate alone, nights are workable or better from January to February in the "
        "north (33 to 67 % of it); everywhere from March to December."
    )


def test_a_share_of_exactly_three_quarters_is_workable():
    """Three of nine cells are at the border, the others a hair below it."""
    border = xr.DataArray(np.where(LATITUDE > 41.5, 0.75, 0.7499), COORDS, ["cell"])
    assert good_parts(border, FLAT, WEIGHT) == "in the north"
    assert "in the north (33 % of it)" in uneven_nights(yearly(border), FLAT, WEIGHT)


def test_alike_nights_need_no_words():
    """Good everywhere, or bad everywhere, whatever the month."""
    assert uneven_nights(yearly(shares(LATITUDE > 0)), FLAT, WEIGHT) == ""
    assert uneven_nights(yearly(shares(LATITUDE < 0)), FLAT, WEIGHT) == ""
    assert uneven_nights(yearly(shares(LATITUDE > 0) * np.nan), FLAT, WEIGHT) == ""


def test_few_camps_are_neither_sought_nor_avoided():
    """A twenty-fifth of the weight is not a part worth a word."""
    weight = xr.DataArray(np.where(LATITUDE + LONGITUDE == 114, 0.04, 0.12), dims="cell")
    corner = shares(LATITUDE + LONGITUDE == 114)
    assert good_parts(corner, FLAT, weight) == "nowhere"
    assert good_parts(1.2 - corner, FLAT, weight) == "everywhere"


def climate(temperature, rain):
    """Return twelve months of cells with an even weight."""
    months = np.arange(1, 13)
    even = np.ones((12, 1))
    return xr.Dataset(
        {
            "air_temperature": (("month", "cell"), even * temperature),
            "rainfall": (("month", "cell"), even * rain),
        },
        {"month": months, "weight": ("cell", np.full(len(temperature), 1 / len(temperature)))},
    )


def test_one_climate_needs_no_words():
    """Five degrees and a factor of two are weather, not climates."""
    assert several_climates(climate([10, 12, 15], [30, 40, 60])) == ""


def test_several_climates_are_named():
    """9 K in the warmest spread; 12 x 10 to 12 x 60 mm a year."""
    words = several_climates(climate([10, 12, 19], [10, 40, 60]))
    assert "differ by 9 °C" in words and "from 120 to 720 mm a year" in words


def test_month_of_the_widest_spread_is_named():
    """July, where one cell is hotter by ten degrees more."""
    dataset = climate([10.0, 12.0, 15.0], [30, 40, 60])
    dataset["air_temperature"][6, 2] += 10
    assert several_climates(dataset).startswith(
        "Several climates: mean temperatures differ by 15 °C across it in July"
    )


def spread_over(temperature, rain, weight):
    """Return the words on cells of unlike weight."""
    return several_climates(climate(temperature, rain).assign_coords(weight=("cell", weight)))


@pytest.mark.parametrize(
    ("temperature", "rain", "said"),
    [
        ([10.0, 16.0], [12.5, 12.5], "mean temperatures differ by 6 °C across it in January"),
        ([10.0, 15.9], [12.5, 12.5], ""),
        # 150 and 450 mm a year: 300 more, and three times as much.
        ([10.0, 10.0], [12.5, 37.5], "rain ranges from 150 to 450 mm a year"),
        ([10.0, 10.0], [12.25, 37.0], ""),
        ([10.0, 10.0], [12.75, 38.0], ""),
    ],
)
def test_climates_differ_from_6_kelvins_or_threefold_rain_on(temperature, rain, said):
    """At the border they differ; 297 mm more, or 2.98 times as much, are one country."""
    assert spread_over(temperature, rain, [0.5, 0.5]) == (
        f"Several climates: {said}." * bool(said)
    )


@pytest.mark.parametrize(("share", "told"), [(0.04, False), (0.06, True)])
def test_a_twentieth_of_the_camps_is_left_out(share, told):
    """On the warm side and on the cold one."""
    for ends in ([10.0, 30.0], [30.0, 10.0]):
        assert bool(spread_over(ends, [40.0, 40.0], [1 - share, share])) is told


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.95, "everywhere"), (0.94, "here and there"), (0.06, "in the west"), (0.05, "nowhere")],
)
def test_parts_begin_beyond_a_twentieth(share, words):
    """Two cells, of which the western one is good; 0.94 of all lies a quarter spread off."""
    good = xr.DataArray([0.9, 0.3], {"latitude": ("cell", [40.0, 40.0]),
                                     "longitude": ("cell", [70.0, 71.0])}, ["cell"])  # fmt: skip
    weight = xr.DataArray([share, 1 - share], dims="cell")
    assert good_parts(good, xr.zeros_like(weight), weight) == words


EIGHT = {
    (0, 1): "north", (1, 1): "north-east", (1, 0): "east", (1, -1): "south-east",
    (0, -1): "south", (-1, -1): "south-west", (-1, 0): "west", (-1, 1): "north-west",
}  # fmt: skip


@pytest.mark.parametrize("step", EIGHT)
def test_one_good_cell_of_nine_names_its_side(step):
    """Each of the eight around the middle, also where a degree east is half a degree north."""
    good = (41 + step[1] == LATITUDE) & (71 + step[0] == LONGITUDE)
    assert good_parts(shares(good), FLAT, WEIGHT) == f"in the {EIGHT[step]}"
    far_north = {"latitude": ("cell", LATITUDE + 19)}
    found = good_parts(shares(good).assign_coords(far_north), FLAT, WEIGHT)
    assert found == f"in the {EIGHT[step]}"


@pytest.mark.parametrize(("good", "words"), [([0, 1], "in the west"), ([0, 1, 2, 4], "")])
def test_a_side_lies_half_a_spread_off_the_middle(good, words):
    """Five cells in a row, spread 1.414: means of 0.5 and 1.75 lie 1.06 and 0.18 spreads off 2."""
    row = {"latitude": ("cell", [40.0] * 5), "longitude": ("cell", [70.0, 71, 72, 73, 74])}
    share = xr.DataArray(np.where(np.isin(np.arange(5), good), 0.9, 0.3), row, ["cell"])
    even = xr.DataArray(np.full(5, 0.2), dims="cell")
    assert good_parts(share, xr.zeros_like(even), even) == (words or "here and there")


@pytest.mark.parametrize(
    ("height", "ground"),
    [(700.0, "on higher ground"), (699.0, ""), (300.0, "on lower ground"), (301.0, "")],
)
def test_ground_is_higher_or_lower_by_200_metres(height, ground):
    """The good cell in the middle against the mean of the others, 500 m."""
    good = (LATITUDE == 41) & (LONGITUDE == 71)
    around = xr.DataArray(np.where(good, height, 500.0), dims="cell")
    assert good_parts(shares(good), around, WEIGHT) == (ground or "here and there")


def test_ground_is_weighed_as_the_camps_are():
    """Bad cells at 100 and 900 m, weights 3 and 1: a mean of 300 m, and the good one at 520."""
    row = {"latitude": ("cell", [40.0, 40, 40]), "longitude": ("cell", [70.0, 71, 72])}
    share = xr.DataArray([0.3, 0.9, 0.3], row, ["cell"])
    weight = xr.DataArray([0.45, 0.4, 0.15], dims="cell")
    height = xr.DataArray([100.0, 520.0, 900.0], dims="cell")
    assert good_parts(share, height, weight) == "on higher ground"


def test_unknown_cells_are_no_part():
    """What lacks a share is left out of side and height; of the rest all are good."""
    share = shares(LATITUDE > 0).where(xr.DataArray(LATITUDE > 40.5, dims="cell"))
    assert good_parts(share, FLAT, WEIGHT) == "everywhere"
