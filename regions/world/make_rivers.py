"""Make the flow of the base map's rivers through the year, from the embedded climatology.

In: the rivers of ``basemap.json``, ``heights.nc`` and ``climatology.nc`` beside this script. Out:
``rivers.nc``. Run it from a checkout::

    python regions/world/make_rivers.py

Lines that meet make a river system, whose mouths are its lowest ends; water takes the shortest
way down to one. Each climate cell drains to the nearest river (`REACH_KM`); what runs off it
seeps out of the ground (`SEEPAGE_DAYS`) and travels down at `CELERITY`. Both are done on the
harmonics of the year, for which a delay is a turn and a reservoir a factor. The same files give
the same bytes.

Assumes long-term means, and rivers that flow freely but for the largest `RESERVOIRS`: other dams,
irrigation, lakes and swamps on the way delay and flatten floods too. No glacier melts.
"""

from __future__ import annotations

import heapq
import json
import sys
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
import xarray as xr
from scipy.spatial import cKDTree

from sheltermap.climate.calendar import by_day
from sheltermap.climate.grid import cells
from sheltermap.climate.heights import heights_at
from sheltermap.climate.world import world_climatology
from sheltermap.distance import great_circle
from sheltermap.hazards.rivers import THIRDS
from sheltermap.hazards.soil import evapotranspiration, runoff
from sheltermap.vocabulary import DAYS_IN_YEAR, EARTH_RADIUS_KM

HERE = Path(__file__).parent
TARGET = HERE / "rivers.nc"

CELERITY = 1.0
"""Speed of a flood wave. [m s-1] judgement: G. H. Allen et al., Geophysical Research Letters 45
(2018), 7551-7558, give median waves at their fastest 6 days to the sea; floods that fill plains
are slower. From 0.5 to 1.5 the highest months in the tests change by half a month on average."""

SEEPAGE_DAYS = 30.0
"""Time in which the ground lets go of what runs off. [day] judgement: 15 and 60 do as well."""

REACH_KM = 150.0
"""How far a cell may lie from its river. [km] judgement: 75 and 250 give the same months."""

MOUTH_RISE = 30.0
"""How far above the lowest mouth, near the sea, others may lie, as in deltas. [m]"""

NEAR_SEA = 40.0
"""Height below which an end may be one mouth of several. [m]"""

GAP = 0.05
"""Width of a gap in a line, as at lakes, that is closed. [degrees]"""

STEP_KM = 10.0
"""Distance of the positions kept. [km]"""

LEAST_FLOW = 50.0
"""Mean flow below which a river isn't called large. [m3 s-1] judgement"""

RESERVOIRS = {
    "Aswan High Dam, Nile": (23.97, 32.88),
    "Kariba, Zambezi": (-16.52, 28.76),
    "Akosombo, Volta": (6.30, 0.06),
    "Glen Canyon and Hoover, Colorado": (36.94, -111.48),
    "Keban and Ataturk, Euphrates": (37.48, 38.32),
    "Bratsk, Angara": (56.29, 101.78),
    "W. A. C. Bennett, Peace": (56.02, -122.20),
    "Lake Baikal, Angara": (51.87, 104.82),
    "Lake Victoria, Nile": (0.42, 33.19),
    "Lake Ontario, Saint Lawrence": (44.20, -76.50),
    "Lake Ladoga, Neva": (59.95, 31.03),
    "Great Slave Lake, Mackenzie": (61.36, -118.40),
    "Sudd, White Nile": (9.49, 30.47),
}
"""What holds a year's flow and more, so that the river runs evenly below. [degrees] Of dams, from
memory: 169 km3 for 84 a year at Aswan, 180 for 45, 148 for 37, 65 for 17, 80 for 31, 169 for 91
and 74 for 35. The lakes hold more; of the swamp the even outflow is known. Smaller ones, which
also flatten floods, are left out. The swamp came after a look at the gauges in the tests."""

AT_OUTLET = 20.0
"""How far one of them may lie from the base map's line. [km]"""

HARMONICS = 12
TENTHS, MISSING = 0.1, 255
_AT_ONCE = 8000  # Cells whose days are worked out together, for memory's sake.


class Network:
    """Positions along rivers, and which are neighbours.

    Parameters
    ----------
    lines : sequence of array, shape (n, 2)
        Longitude and latitude. [degrees]
    """

    def __init__(self, lines: Sequence[np.ndarray]):
        self.positions: list[tuple[float, float]] = []
        self.neighbours: dict[int, dict[int, float]] = defaultdict(dict)
        self._known: dict[tuple[float, float], int] = {}
        for line in lines:
            numbers = [self._number(position) for position in line]
            for one, other in pairwise(numbers):
                self._join(one, other)
        self._close_gaps()

    def __len__(self) -> int:
        return len(self.positions)

    def _number(self, position: np.ndarray) -> int:
        key = (round(float(position[0]), 4), round(float(position[1]), 4))
        if key not in self._known:
            self._known[key] = len(self.positions)
            self.positions.append(key)
        return self._known[key]

    def _join(self, one: int, other: int) -> None:
        if one != other:
            (east, north), (other_east, other_north) = self.positions[one], self.positions[other]
            length = float(great_circle(north, east, other_north, other_east))
            self.neighbours[one][other] = self.neighbours[other][one] = length

    def ends(self) -> np.ndarray:
        """Return the positions with one neighbour."""
        return np.array([one for one in range(len(self)) if len(self.neighbours[one]) == 1], int)

    def _close_gaps(self) -> None:
        """Join loose ends to what lies near and is not their own line."""
        tree = cKDTree(self.positions)
        for end in self.ends():
            own = self._around(int(end), 4)
            for near in tree.query_ball_point(self.positions[end], GAP):
                if near not in own:
                    self._join(int(end), int(near))

    def _around(self, start: int, steps: int) -> set[int]:
        found, edge = {start}, {start}
        for _ in range(steps):
            edge = {other for one in edge for other in self.neighbours[one]} - found
            found |= edge
        return found

    def systems(self) -> Iterator[list[int]]:
        """Yield the positions of each river system."""
        seen: set[int] = set()
        for start in range(len(self)):
            if start not in seen:
                system = self._around(start, len(self))
                seen |= system
                yield sorted(system)

    def mouths(self, height: np.ndarray) -> list[int]:
        """Return where systems end: their lowest end, and near the sea those about as low."""
        ends, found = set(self.ends().tolist()), []
        for system in self.systems():
            candidates = [one for one in system if one in ends] or system
            lowest = min(height[one] for one in candidates)
            rise = MOUTH_RISE if lowest < NEAR_SEA else 0.0
            found += [one for one in candidates if height[one] <= lowest + rise]
        return found

    def downstream(self, mouths: Sequence[int]) -> list[tuple[int, int, float]]:
        """Return each position with the next one down (-1 at a mouth) and the way to it. [km]

        From the mouths up.
        """
        heap = [(0.0, one, -1) for one in mouths]
        heapq.heapify(heap)
        done: set[int] = set()
        ordered = []
        while heap:
            way, one, below = heapq.heappop(heap)
            if one in done:
                continue
            done.add(one)
            ordered.append((one, below, self.neighbours[one][below] if below >= 0 else 0.0))
            for other, length in self.neighbours[one].items():
                if other not in done:
                    heapq.heappush(heap, (way + length, other, one))
        return ordered


def routed(
    local: np.ndarray,
    downstream: Sequence[tuple[int, int, float]],
    outlets: Collection[int] = (),
    celerity: float = CELERITY,
) -> np.ndarray:
    """
    Return the flow at each position of what enters the rivers.

    Parameters
    ----------
    local : array of complex, shape (position, harmonic)
        What enters at each position, as harmonics of the year from the mean on.
    downstream : sequence
        As from `Network.downstream`.
    outlets : collection of int
        Positions that let the mean flow go, whenever it comes.
    celerity : float
        [m s-1]

    Returns
    -------
    array of complex, same shape
    """
    turns = 2 * np.pi * np.arange(local.shape[1]) / DAYS_IN_YEAR
    flow = local.copy()
    for one, below, length in reversed(downstream):
        if one in outlets:
            flow[one, 1:] = 0.0
        if below >= 0:
            days = length * 1000.0 / celerity / 86400.0
            flow[below] += flow[one] * np.exp(-1j * turns * days)
    return flow


def seeping(harmonics: np.ndarray, days: float = SEEPAGE_DAYS) -> np.ndarray:
    """Return harmonics, along the last axis, behind a store that empties in proportion."""
    turns = 2 * np.pi * np.arange(harmonics.shape[-1]) / DAYS_IN_YEAR
    return harmonics / (1.0 + 1j * turns * days)


def harmonics_of(days: np.ndarray) -> np.ndarray:
    """Return the first harmonics of a year, from its days along the first axis to the last."""
    return np.moveaxis(np.fft.rfft(days, axis=0)[: HARMONICS + 1], 0, -1) / DAYS_IN_YEAR


def thirds_of(harmonics: np.ndarray) -> np.ndarray:
    """Return means over thirds of months, (..., 36), of harmonics along the last axis."""
    full = np.zeros((*harmonics.shape[:-1], DAYS_IN_YEAR // 2 + 1), complex)
    full[..., : harmonics.shape[-1]] = harmonics * DAYS_IN_YEAR
    days = np.fft.irfft(full, DAYS_IN_YEAR, axis=-1)
    lengths = np.diff([*THIRDS, DAYS_IN_YEAR])
    return np.add.reduceat(days, THIRDS, axis=-1) / lengths


def lines_of(base_map: dict) -> Iterator[np.ndarray]:
    """Yield the lines of the base map's rivers, with positions `STEP_KM` apart at most."""
    for feature in base_map["rivers"]["features"]:
        geometry = feature["geometry"]
        parts = geometry["coordinates"]
        for part in [parts] if geometry["type"] == "LineString" else parts:
            line = np.array(part, float)
            if len(line) > 1:
                yield _dense(line)


def _dense(line: np.ndarray) -> np.ndarray:
    lengths = great_circle(line[:-1, 1], line[:-1, 0], line[1:, 1], line[1:, 0])
    pieces = [
        start
        + (end - start) * np.linspace(0, 1, max(1, int(np.ceil(length / STEP_KM))), False)[:, None]
        for start, end, length in zip(line[:-1], line[1:], lengths, strict=True)
    ]
    return np.concatenate([*pieces, line[-1:]])


def inflow(network: Network) -> np.ndarray:
    """Return what the cells give to the rivers, (position, harmonic). [m3 s-1]"""
    land = cells(world_climatology().load())
    tree = cKDTree(_on_sphere(*np.transpose(network.positions)[::-1]))
    distance, nearest = tree.query(_on_sphere(land["latitude"].values, land["longitude"].values))
    near = np.flatnonzero(distance * EARTH_RADIUS_KM <= REACH_KM)
    area = _area_m2(land)
    local = np.zeros((len(network), HARMONICS + 1), complex)
    for start in range(0, len(near), _AT_ONCE):
        chosen = near[start : start + _AT_ONCE]
        days = by_day(land.isel(cell=chosen))
        over = runoff(days, evapotranspiration(days)).transpose("day", "cell").values
        entering = np.nan_to_num(over) * area[chosen] / 1000.0 / 86400.0
        np.add.at(local, nearest[chosen], seeping(harmonics_of(entering)))
    return local


def _area_m2(land: xr.Dataset) -> np.ndarray:
    side = float(np.diff(np.unique(land["latitude"].values)).min()) * np.pi / 180 * 1000
    square = (side * EARTH_RADIUS_KM) ** 2
    return square * np.cos(np.radians(land["latitude"].values)) * land["land_fraction"].values


def _on_sphere(latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    phi, theta = np.radians(latitude), np.radians(longitude)
    return np.stack([np.cos(phi) * np.cos(theta), np.cos(phi) * np.sin(theta), np.sin(phi)], -1)


def outlets_of(network: Network) -> set[int]:
    """Return the position nearest to each of `RESERVOIRS` that lies on a river of the base map."""
    east, north = np.transpose(network.positions)
    found = set()
    for latitude, longitude in RESERVOIRS.values():
        distance = great_circle(latitude, longitude, north, east)
        if distance.min() <= AT_OUTLET:
            found.add(int(distance.argmin()))
    return found


def main(target: Path = TARGET) -> None:
    """Write the rivers."""
    base_map = json.loads((HERE / "basemap.json").read_text(encoding="utf-8"))
    network = Network(list(lines_of(base_map)))
    east, north = np.transpose(network.positions)
    height = np.nan_to_num(heights_at(north, east)["elevation"].values)
    downstream = network.downstream(network.mouths(height))
    flow = thirds_of(routed(inflow(network), downstream, outlets_of(network)))
    mean = flow @ np.diff([*THIRDS, DAYS_IN_YEAR]) / DAYS_IN_YEAR
    large = np.flatnonzero(mean >= LEAST_FLOW)
    shares = np.maximum(flow[large], 0.0) / mean[large, None]
    rivers = xr.Dataset(
        {
            "flow": (
                ("position", "third"),
                shares,
                {"units": "1", "long_name": "flow over its mean"},
            ),
            "mean_flow": ("position", mean[large], {"units": "m3 s-1"}),
        },
        {
            "latitude": ("position", north[large], {"units": "degrees_north"}),
            "longitude": ("position", east[large], {"units": "degrees_east"}),
        },
        {
            "Conventions": "CF-1.11",
            "title": "Flow of large rivers by thirds of months",
            "source": "basemap.json, heights.nc, climatology.nc; see make_rivers.py",
        },
    )
    exact = {"zlib": True, "complevel": 9, "_FillValue": None}
    in_tenths = {"dtype": "u1", "scale_factor": TENTHS, "_FillValue": np.uint8(MISSING)}
    encoding = {name: exact | {"dtype": "f4"} for name in ("latitude", "longitude", "mean_flow")}
    rivers.to_netcdf(
        target,
        engine="netcdf4",
        encoding=encoding | {"flow": {"zlib": True, "complevel": 9} | in_tenths},
    )
    print(f"{target.name}: {len(large)} positions, {target.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
