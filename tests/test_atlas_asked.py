"""What an atlas is asked for: areas, their names, and nothing beyond the words."""

from __future__ import annotations

import pytest

from sheltermap.atlas.asked import asked


def test_a_box_is_named_by_its_edges():
    """And nothing more is written than was asked for."""
    found = asked(box=(10.5, -3.0, 20.0, 4.25), kit_ids=["bedroll"])
    assert found.title == "Latitudes -3 to 4.25, longitudes 10.5 to 20"
    assert found.box == (10.5, -3.0, 20.0, 4.25)
    assert (found.netcdf, found.geotiff, found.bedding, found.doubt) == (False, False, "", "")
    assert len(found.layers) == 1  # the one that ships


def test_the_world_is_whole():
    """From pole to pole and once round."""
    found = asked(kit_ids=["bedroll"])
    assert (found.title, found.box) == ("The world", (-180.0, -90.0, 180.0, 90.0))


def test_around_a_place_reaches_five_degrees():
    """To each edge; over the meridian too."""
    found = asked(around=(40.53, 177.0), kit_ids=["bedroll"])
    assert found.box == pytest.approx((172.0, 35.53, -178.0, 45.53))
    assert found.title == "Around 40.53, 177"
