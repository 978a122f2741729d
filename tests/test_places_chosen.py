"""Which days a trip file closes, and how the highest point of a leg is told."""

from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import xarray as xr

from sheltermap.hazards.shapes import place_extent, region_extent
from sheltermap.places import passes
from sheltermap.places.chosen import _closed_days
from sheltermap.places.passes import HighPoint, high_points
from sheltermap.trip.model import Leg

JOURNEY = date(2027, 5, 1), date(2027, 7, 1)


def closed(*spans):
    """Return the positions of the days on which a leg is closed."""
    leg = Leg.model_validate(
        {"name": "A", "place": (40.0, 29.0), "nights": 4, "closed": list(spans)}
    )
    return np.flatnonzero(_closed_days(leg, JOURNEY)).tolist()


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        # Position 120 is 1 May, 181 is 1 July.
        (date(2027, 4, 29), date(2027, 5, 1), [118, 119, 120]),
        (date(2027, 4, 28), date(2027, 4, 30), []),
        (date(2027, 7, 1), date(2027, 7, 3), [181, 182, 183]),
        (date(2027, 7, 2), date(2027, 7, 3), []),
        (date(2026, 5, 10), date(2026, 5, 20), []),
    ],
)
def test_what_is_closed_once_counts_if_it_touches_the_journey(first, last, days):
    """From 1 May to 1 July; a day before, a day after or a year before it is nobody's."""
    assert closed({"first": first, "last": last}) == days


def test_what_is_closed_every_year_counts_whenever_it_is():
    """Beside a closure of the journey's, each with its margin."""
    yearly = {"first": "01-02", "last": "01-03", "margin_days": 2}
    once = {"first": date(2027, 6, 1), "last": date(2027, 6, 1)}
    assert closed(yearly, once) == [1, 2, 3, 4, 151]
    assert closed() == []


REGION = shapely.box(28, 39, 30, 41)


@pytest.fixture
def climatology():
    """Return a climatology of four cells, whose heights nobody knows."""
    shape = (12, 2, 2)
    values = np.arange(48.0).reshape(shape)
    dims = ("month", "latitude", "longitude")
    coordinates = {"month": range(1, 13), "latitude": [39.5, 40.5], "longitude": [28.5, 29.5]}
    return xr.Dataset({"air_temperature": (dims, values)}, coordinates)


@pytest.fixture
def summit(monkeypatch):
    """Say that the highest point is at 40.4, 29.4, and return what was looked at."""
    looked = []

    def highest(latitude, longitude):
        looked.append((latitude, longitude))
        values = {"elevation": 2345.0, "latitude": 40.4, "longitude": 29.4}
        return xr.Dataset({name: xr.DataArray(value) for name, value in values.items()})

    monkeypatch.setattr(passes, "highest", highest)
    monkeypatch.setattr(passes, "within", lambda area: ("area", area))
    monkeypatch.setattr(passes, "along", lambda line: ("line", line))
    monkeypatch.setattr(passes, "at_elevation", lambda months, elevation: months)
    return looked


def test_a_region_has_its_highest_ground_and_a_route_its_highest_point(summit, climatology):
    """A kilometre of route is one, less is none; a place and points have no way to look at.

    The nearest cell is 40.5, 29.5, the last of four. Of several legs each has its own.
    """
    line = shapely.LineString([(28, 40), (30, 40)])
    # 0.0117 degrees of 85.39 km are 0.9991 km.
    short = shapely.LineString([(27, 40), (28.0117, 40)])
    extents = [
        place_extent(40.0, 29.0),
        region_extent(REGION),
        region_extent(REGION, line),
        region_extent(REGION, short),
    ]
    none, *tops = high_points(extents, climatology)
    assert none is None
    assert [top.on_route for top in tops] == [False, True, False]
    assert [kind for kind, _ in summit] == ["area", "line", "area"]
    for top in tops:
        assert (top.latitude, top.longitude, top.elevation_m) == (40.4, 29.4, 2345.0)
        assert top.climate["air_temperature"].values.tolist() == np.arange(3.0, 48, 4).tolist()


def test_no_point_where_map_or_climate_has_none(summit, climatology, monkeypatch):
    """Unknown heights, and cells too far away, leave a leg without."""
    assert high_points([region_extent(REGION)], climatology.isel(latitude=[0])) == [None]
    nowhere = xr.Dataset({name: xr.DataArray(np.nan) for name in ("elevation", "latitude")})
    monkeypatch.setattr(passes, "highest", lambda *_: nowhere)
    assert high_points([region_extent(REGION)], climatology) == [None]


@pytest.mark.parametrize(
    ("on_route", "what"),
    [
        (True, "the highest point of the route here,"),
        (False, "the highest ground of the region, where a road goes so high,"),
    ],
)
def test_highest_point_in_words(on_route, what):
    """A part of a sentence."""
    top = HighPoint(40.456, -29.5, 2345.4, on_route, SimpleNamespace())
    assert top.words == f"at 2,345 m (40.46, -29.50), {what}"
