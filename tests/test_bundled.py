"""The bundled journeys keep what the project promises of them."""

import json
from datetime import date
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from shapely.geometry import shape

from sheltermap.hazards.altitude import ascent_problem
from sheltermap.hazards.layers import read_layer, read_regions
from sheltermap.shelters.fitting import misfit, with_addons
from sheltermap.shelters.kit import load_addons, load_kits, read_kits
from sheltermap.trip.model import read_trip
from sheltermap.trip.starter import bundled_journeys, start
from sheltermap.vocabulary import Level

JOURNEYS = ("silk-seeds", "river-survey")
EVERY = (*JOURNEYS, "starter")

# Boxes (west, south, east, north) that hold the journeys. The demo data stay out of Africa,
# Australia, India (west of 97.4 E, south of 35.7 N), Mongolia (from 87.7 E, north of 41.5 N)
# and the Americas: none of the boxes touches them.
BOXES = {
    "silk-seeds": (30.0, 36.5, 82.0, 53.0),
    "river-survey": (98.0, 8.0, 110.0, 23.5),
    "starter": (13.0, 36.0, 36.0, 47.0),
}


def _folder(name):
    return bundled_journeys()[name]


def _trip(name):
    return read_trip(_folder(name))


def _regions(name):
    """Return the regions of a journey by id."""
    frame = read_regions(_folder(name) / _trip(name).files.regions)
    return dict(zip(frame.id, frame.geometry, strict=True))


def _layers(name):
    return [read_layer(_folder(name) / file) for file in _trip(name).files.hazards]


def _kits(name):
    """Return every kit the journey may name, by id."""
    kits = dict(load_kits())
    for file in _trip(name).files.kits:
        kits |= read_kits(_folder(name) / file)
    return kits


def _route(name):
    """Return the sketched way as a line, read without the project's own readers."""
    path = _folder(name) / _trip(name).files.route
    if path.suffix == ".gpx":
        import gpxpy

        points = gpxpy.parse(path.read_text(encoding="utf-8")).tracks[0].segments[0].points
        return shapely.LineString([(point.longitude, point.latitude) for point in points])
    (feature,) = json.loads(path.read_text(encoding="utf-8"))["features"]
    return shape(feature["geometry"])


@pytest.mark.parametrize("name", EVERY)
def test_files_read_without_a_problem(name):
    """Trip, regions, hazards and kits pass the checks that users' files pass."""
    trip = _trip(name)
    if trip.files.regions is not None:
        assert {leg.region for leg in trip.legs} == set(_regions(name))
    assert len(_layers(name)) == len(trip.files.hazards)


@pytest.mark.parametrize("name", EVERY)
def test_six_to_nine_legs_and_three_kits_that_fit(name):
    """The journeys are long enough to need a plan and compare kits that can be used."""
    trip, kits = _trip(name), _kits(name)
    assert 6 <= len(trip.legs) <= 9
    assert len(set(trip.shelter.kits)) >= 3
    lengths = [trip.party.length_m, *(s.length_m or 0 for s in trip.party.sleepers)]
    fitting = [
        kit
        for kit in trip.shelter.kits
        if not misfit(
            kits[kit],
            people=trip.party.people,
            longest_m=max(lengths),
            carries=trip.vehicle.carries,
            bed_length_m=trip.vehicle.bed_length_m,
        )
    ]
    assert len(fitting) >= 3
    assert fitting[0] == trip.shelter.kits[0]
    chosen = with_addons(kits[trip.shelter.kits[0]], trip.shelter.addons)
    needs = {load_addons()[addon].needs for addon in trip.shelter.addons}
    assert needs <= {"none", *trip.vehicle.carries}
    assert chosen.roof_load_kg <= (trip.vehicle.roof_moving_kg or np.inf)


@pytest.mark.parametrize("name", JOURNEYS)
def test_hazards_show_all_four_levels_and_a_season_that_closes(name):
    """Advisory, serious, prohibitive, closure; one closure lasts for part of the year only."""
    levels, seasonal = set(), False
    for layer in _layers(name):
        for feature in layer.features:
            levels |= set(feature.level_by_day.tolist())
            closed = feature.level_by_day == Level.CLOSURE
            seasonal |= bool(closed.any() and not closed.all())
    assert levels >= {1, 2, 3, 4}
    assert seasonal
    assert any(leg.closed for leg in _trip(name).legs)


@pytest.mark.parametrize("name", JOURNEYS)
def test_each_level_reaches_a_leg(name):
    """A level drawn where nobody goes would show nothing: each overlaps a tenth of a region."""
    met = set()
    for layer in _layers(name):
        for feature in layer.features:
            for region in _regions(name).values():
                if feature.shape.intersection(region).area >= 0.1 * region.area:
                    met |= set(feature.level_by_day.tolist())
    assert met >= {1, 2, 3, 4}


@pytest.mark.parametrize("name", EVERY)
def test_every_hazard_says_on_whose_word(name):
    """No demo hazard may pass for an authority's."""
    trip = _trip(name)
    sources = [row.source for row in trip.hazards]
    for layer in _layers(name):
        assert "invented for this demo" in layer.source
        sources += [feature.source for feature in layer.features]
    assert sources
    for source in sources:
        assert "general knowledge" in source or "invented" in source


@pytest.mark.parametrize("name", EVERY)
def test_the_journey_says_that_it_is_invented(name):
    """People, prices and masses are marked in the trip and in SOURCES.md, file by file."""
    assert "invented for this demo" in _trip(name).note.lower()
    sources = (_folder(name) / "SOURCES.md").read_text(encoding="utf-8")
    for path in _folder(name).iterdir():
        if path.name != "SOURCES.md":
            assert f"`{path.name}`" in sources


@pytest.mark.parametrize("name", EVERY)
def test_everything_lies_inside_its_part_of_eurasia(name):
    """Regions, hazards, the way and the places stay inside the journey's box."""
    trip, box = _trip(name), shapely.box(*BOXES[name])
    shapes = [shapely.Point(leg.place[::-1]) for leg in trip.legs if leg.place is not None]
    if trip.files.regions is not None:
        shapes += [*_regions(name).values(), _route(name)]
    for layer in _layers(name):
        shapes += [feature.shape for feature in layer.features]
    assert shapes
    for drawn in shapes:
        assert box.contains(drawn)


@pytest.mark.parametrize("name", JOURNEYS)
def test_regions_are_drawn_with_care(name):
    """Few corners, at most 250 half-degree cells, next to no overlap, and on the way."""
    regions, route = _regions(name), _route(name)
    for region in regions.values():
        for part in shapely.get_parts(region):
            assert 8 <= len(part.exterior.coords) - 1 <= 25
        west, south, east, north = region.bounds
        columns = np.arange(np.floor(west * 2) / 2, east, 0.5)
        rows = np.arange(np.floor(south * 2) / 2, north, 0.5)
        cells = [shapely.box(x, y, x + 0.5, y + 0.5) for x in columns for y in rows]
        assert sum(region.intersects(cell) for cell in cells) <= 250
        assert route.intersects(region)
    for one, other in combinations(regions.values(), 2):
        assert one.intersection(other).area < 0.01 * min(one.area, other.area)


@pytest.mark.parametrize("name", JOURNEYS)
def test_stated_kilometres_are_not_shorter_than_the_way(name):
    """Roads wind: a leg can't be shorter than its part of the sketched line."""
    regions, route = _regions(name), _route(name)
    for leg in _trip(name).legs:
        inside = shapely.get_parts(route.intersection(regions[leg.region]))
        length = 0.0
        for part in inside:
            for (x0, y0), (x1, y1) in pairwise(part.coords):
                # 111.2 km a degree on a sphere of 6,371 km.
                east = 111.2 * (x1 - x0) * np.cos(np.radians((y0 + y1) / 2))
                length += np.hypot(east, 111.2 * (y1 - y0))
        assert leg.kilometres >= length


@pytest.mark.parametrize("name", EVERY)
def test_stays_fit_permits_and_the_journey(name):
    """The shortest stays fit a permit's days, border days counted, and the dates."""
    trip = _trip(name)
    for permit, terms in trip.permits.items():
        legs = [leg for leg in trip.legs if leg.permit == permit]
        assert legs
        assert sum(leg.nights.least for leg in legs) + 1 <= terms.longest_stay_days
    preferred = sum(leg.nights.preferred for leg in trip.legs)
    assert preferred <= (trip.departure.finish_by - trip.departure.earliest).days


def test_seed_journey_keeps_to_its_months():
    """March to October of one year."""
    departure = _trip("silk-seeds").departure
    assert departure.earliest >= date(2027, 3, 1)
    assert departure.finish_by <= date(2027, 10, 31)


def test_survey_crosses_new_year():
    """Each possible departure of the year's end leads into the next year."""
    trip = _trip("river-survey")
    least = sum(leg.nights.least for leg in trip.legs)
    assert trip.departure.earliest.year == 2027 and trip.departure.finish_by.year == 2028
    assert (date(2028, 1, 1) - date(2027, 11, 1)).days < least


@pytest.mark.parametrize("turn", [1, -1])
def test_camps_above_3000_m_are_reached_slowly(turn):
    """The ascent rule holds both ways round: worked out here, and as the product sees it."""
    trip = _trip("silk-seeds")
    assert max(leg.camp_elevation_m for leg in trip.legs) > 3000
    camp = trip.departure.from_elevation_m
    for leg in trip.legs[::turn]:
        rise = leg.camp_elevation_m - max(camp, 2500.0)
        if rise > 0:
            # 500 m a night above 2,500 m, a rest night each 1,000 m: common practice.
            assert leg.nights.least >= np.ceil(rise / 500.0) + np.floor(rise / 1000.0)
            assert rise <= 500.0
        assert ascent_problem(camp, leg.camp_elevation_m, leg.nights.least) is None
        camp = leg.camp_elevation_m


def test_starter_needs_no_geometry(tmp_path):
    """Six places with coordinates, hazards as rows, copied as they are."""
    trip = _trip("starter")
    assert len(trip.legs) == 6
    assert all(leg.place is not None for leg in trip.legs)
    assert trip.files.regions is None and not trip.files.hazards and trip.files.route is None
    assert {"none", "advisory", "serious"} <= {row.level for row in trip.hazards}
    copy = start(tmp_path / "mine", "starter")
    assert read_trip(copy) == trip
