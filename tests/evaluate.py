"""How the embedded climatology does against stations and sites that measured.

Run by ``make evaluate``. In: the tables in ``tests/published``, and any typical-year weather
files (``.epw``) named after the folder to write to; their terms keep them out of the
repository. Out: on the screen and in ``evaluation/``: bias and root mean square error of each
variable, the reliability of two probabilities, as Markdown and as a picture; another picture has
the days on which snow closes high roads. Nothing here is fitted; the constants of the estimators
were, on a sample that includes most of these places, so expect slightly worse elsewhere.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import snow_roads
import xarray as xr
from climates import whole_world
from evaluate_water import water_table
from scipy.special import ndtr

from sheltermap.air import dewpoint
from sheltermap.climate import grid
from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import by_month
from sheltermap.climate.world import world_climatology
from sheltermap.night.conditions import conditions
from sheltermap.night.rain import heavy_day
from sheltermap.vocabulary import InputError

PUBLISHED = Path(__file__).parent / "published"
REGIONS = Path(__file__).parents[1] / "regions" / "world"
FOLDER = Path("evaluation")

BINS = np.array([0.0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0])
"""Edges between the shares compared in the reliability tables."""


@dataclass(frozen=True)
class Quantity:
    """One thing compared.

    Attributes
    ----------
    title, units : str
        As the tables show it.
    column : str
        Where the observation stands.
    goal : float or None
        Largest root mean square error aimed at.
    """

    title: str
    units: str
    column: str
    goal: float | None = None


STATION_QUANTITIES = {
    "minimum": Quantity("mean daily minimum", "K", "tmin_c", 2.0),
    "maximum": Quantity("mean daily maximum", "K", "tmax_c", 1.6),
    "spread": Quantity("spread of the minimum from day to day", "K", "sd_tmin_k", 0.92),
    "rain": Quantity("rain of the month", "mm", "rain_mm", 30.0),
    "wet_days": Quantity("days with at least 1 mm", "days", "wet_days_1mm", 2.0),
    "below_5": Quantity("share of nights below 5 °C", "", "p_tmin_below_5c", 0.10),
    "below_0": Quantity("share of nights below 0 °C", "", "p_tmin_below_0c", 0.10),
    "above_10": Quantity("share of days above 10 mm", "", "p_day_rain_over_10mm", 0.026),
}

SITE_QUANTITIES = {
    "mean": Quantity("mean temperature", "K", "t_mean_c"),
    "dewpoint": Quantity("dewpoint", "K", "dewpoint_c", 2.5),
    "spread": Quantity("spread of night temperatures", "K", "night_hour_sd_k", 0.92),
    "rain": Quantity("rain of the month", "mm", "rain_mm"),
}


TYPICAL_QUANTITIES = {
    "bedtime": Quantity("temperature at 22:00 solar time", "K", "bedtime", 1.6),
    "minimum": Quantity("mean daily minimum of the hours", "K", "minimum", 2.0),
    "maximum": Quantity("mean daily maximum of the hours", "K", "maximum", 1.6),
    "dewpoint": Quantity("dewpoint", "K", "dewpoint", 2.5),
}


def places(table: str) -> dict[str, list[dict]]:
    """Return the rows of a published table by place, in its order."""
    rows = defaultdict(list)
    with (PUBLISHED / table).open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            rows[row["name"]].append(row)
    return rows


def observed(rows: list[dict], column: str) -> np.ndarray:
    """Return twelve observations, missing where there are none."""
    return np.array([float(row[column] or "nan") for row in rows])


def cell(world, rows: list[dict], corrected: bool):
    """Return the climate at a place, for its own height if asked."""
    latitude, longitude = float(rows[0]["lat"]), float(rows[0]["lon"])
    found = grid.point(world, latitude, longitude)
    return at_elevation(found, float(rows[0]["altitude_m"])) if corrected else found


def station_estimates(climate) -> dict[str, np.ndarray]:
    """Return what the program says of the months of stations, shape (station, month)."""
    night = conditions(by_month(climate)).transpose("place", "month", ...)
    low, spread = night["night_low"].values, night["night_low_spread"].values
    return {
        "minimum": low,
        "maximum": climate["air_temperature_max"].values,
        "spread": spread,
        "rain": climate["rainfall"].values,
        "wet_days": climate["wet_days"].values,
        "below_5": ndtr((5 - low) / spread),
        "below_0": ndtr(-low / spread),
        "above_10": heavy_day(night["rain_per_day"].values, night["wet_share"].values, 10.0),
    }


def site_estimates(climate) -> dict[str, np.ndarray]:
    """Return what the program says of the months of sites, shape (site, month)."""
    return {
        "mean": climate["air_temperature"].values,
        "dewpoint": dewpoint(climate["vapour_pressure"].values),
        "spread": climate["night_low_spread"].values,
        "rain": climate["rainfall"].values,
    }


def pairs(table, quantities, estimates, wanted=lambda rows: True, corrected=False):
    """Return estimates and observations of every quantity, by place."""
    known, climates = {}, []
    for name, rows in places(table).items():
        # Antarctica is not in the embedded data.
        with suppress(InputError):
            if wanted(rows):
                climates.append(cell(whole_world(), rows, corrected))
                known[name] = rows
    said = estimates(xr.concat(climates, "place").transpose("place", "month", ...))
    return {
        name: {
            key: (said[key][row], observed(rows, quantity.column))
            for key, quantity in quantities.items()
        }
        for row, (name, rows) in enumerate(known.items())
    }


def typical_years(files: list[Path]) -> dict[str, dict]:
    """Return estimates, for the files' own heights, and observations by place."""
    found = {}
    for file in files:
        with file.open(encoding="latin-1", newline="") as lines:
            rows = list(csv.reader(lines))
        # Some programs write the zone with a decimal comma, as two fields.
        place, zone, elevation = rows[0][1], float(".".join(rows[0][8:-1])), float(rows[0][-1])
        latitude, longitude = float(rows[0][6]), float(rows[0][7])
        hours = np.array([[float(row[column]) for column in (1, 3, 6, 7)] for row in rows[8:]])
        month, hour, air, dew = hours.T
        # Row h holds the end of hour h on the zone's clock.
        solar = (hour - zone + longitude / 15) % 24
        days = air.reshape(-1, 24)
        day_month = month.reshape(-1, 24)[:, 0]
        seen = {
            "bedtime": [
                np.interp(22, *_by_solar_hour(solar[month == number], air[month == number]))
                for number in range(1, 13)
            ],
            "minimum": [days[day_month == number].min(1).mean() for number in range(1, 13)],
            "maximum": [days[day_month == number].max(1).mean() for number in range(1, 13)],
            "dewpoint": [dew[month == number].mean() for number in range(1, 13)],
        }
        world = world_climatology((longitude, latitude, longitude, latitude))
        climate = at_elevation(grid.point(world, latitude, longitude), elevation)
        night = conditions(by_month(climate))
        said = {
            "bedtime": night["bedtime_temperature"].values,
            "minimum": night["night_low"].values,
            "maximum": climate["air_temperature_max"].values,
            "dewpoint": dewpoint(climate["vapour_pressure"].values),
        }
        found[f"{place} ({file.name})"] = {
            key: (said[key], np.array(seen[key])) for key in TYPICAL_QUANTITIES
        }
    return found


def _by_solar_hour(solar: np.ndarray, air: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the distinct solar hours of a month and the mean temperature at each."""
    hours, place = np.unique(np.round(solar, 3), return_inverse=True)
    return hours, np.bincount(place, air) / np.bincount(place)


def together(found: dict, key: str) -> tuple[np.ndarray, np.ndarray]:
    """Return all valid pairs of one quantity."""
    said, seen = (
        np.concatenate([place[key][part] for place in found.values()]) for part in (0, 1)
    )
    valid = np.isfinite(said) & np.isfinite(seen)
    return said[valid], seen[valid]


def error_table(found: dict, quantities: dict[str, Quantity]) -> list[str]:
    """Return the rows of a Markdown table of errors."""
    lines = ["|Quantity|Months|Bias|RMSE|Goal|Met|", "|---|---|---|---|---|---|"]
    for key, quantity in quantities.items():
        said, seen = together(found, key)
        if said.size == 0:
            lines.append(f"|{quantity.title}|0|||{quantity.goal or ''}|not measured here|")
            continue
        bias, error = (said - seen).mean(), np.sqrt(((said - seen) ** 2).mean())
        met = "" if quantity.goal is None else "yes" if error <= quantity.goal else "**no**"
        goal = "" if quantity.goal is None else f"{quantity.goal:g}"
        unit = f" {quantity.units}".rstrip()
        lines.append(
            f"|{quantity.title}|{said.size}|{bias:+.3g}{unit}|{error:.3g}{unit}|{goal}|{met}|"
        )
    return lines


def place_table(found: dict, quantities: dict[str, Quantity]) -> list[str]:
    """Return the rows of a Markdown table of each place's root mean square errors."""
    titles = "|".join(quantity.title for quantity in quantities.values())
    lines = [f"|Place|{titles}|", "|---" * (len(quantities) + 1) + "|"]
    for name, place in found.items():
        errors = []
        for said, seen in place.values():
            square = (said - seen) ** 2
            known = np.isfinite(square)
            errors.append(f"{np.sqrt(square[known].mean()):.2g}" if known.any() else "–")
        lines.append(f"|{name}|{'|'.join(errors)}|")
    return lines


def reliability(said: np.ndarray, seen: np.ndarray) -> tuple[list[tuple], float]:
    """Return said and seen shares by bin, and their mean distance weighted by months."""
    rows = []
    place = np.clip(np.digitize(said, BINS) - 1, 0, BINS.size - 2)
    for number in np.unique(place):
        inside = place == number
        rows.append((said[inside].mean(), seen[inside].mean(), int(inside.sum())))
    distance = sum(abs(share - often) * count for share, often, count in rows) / said.size
    return rows, float(distance)


def reliability_table(rows: list[tuple], distance: float) -> list[str]:
    """Return the rows of a Markdown table of reliability."""
    lines = ["|Said|Seen|Months|", "|---|---|---|"]
    lines += [f"|{share:.3f}|{often:.3f}|{count}|" for share, often, count in rows]
    met = "met" if distance <= 0.10 else "**not met**"
    return [*lines, "", f"Mean distance {distance:.3f}; the goal of 0.10 is {met}."]


def picture(target: Path, reliable: dict[str, list[tuple]], stations: dict) -> None:
    """Write one picture: reliability, and the minima said and seen."""
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    figure, (left, right) = plt.subplots(1, 2, figsize=(10, 4.6), layout="constrained")
    for (title, rows), mark in zip(reliable.items(), "os", strict=True):
        said, seen, count = map(np.array, zip(*rows, strict=True))
        left.plot(said, seen, mark + "-", label=title, alpha=0.8)
        for x, y, months in zip(said, seen, count, strict=True):
            left.annotate(f"{months}", (x, y), textcoords="offset points", xytext=(4, -9), size=7)
    left.plot([0, 1], [0, 1], color="grey", linewidth=0.8)
    left.set(xlabel="share said", ylabel="share seen", title="Reliability (months beside marks)")
    left.legend(loc="upper left")
    for name, place in stations.items():
        said, seen = place["minimum"]
        right.plot(seen, said, ".", label=name)
    ends = np.array(right.get_xlim())
    right.plot(ends, ends, color="grey", linewidth=0.8)
    right.set(xlabel="seen [°C]", ylabel="said [°C]", title="Mean daily minimum, by month")
    right.legend(fontsize=8)
    figure.savefig(target, dpi=110, metadata={"Software": None})


def report(folder: Path = FOLDER, *weather_files: Path) -> str:
    """Write the evaluation and return its text."""
    stations = pairs("station_months.csv", STATION_QUANTITIES, station_estimates)
    raised = pairs("station_months.csv", STATION_QUANTITIES, station_estimates, corrected=True)
    fitted = pairs(
        "site_months.csv",
        SITE_QUANTITIES,
        site_estimates,
        lambda rows: not rows[0]["excluded_from_fit"],
    )
    excluded = pairs(
        "site_months.csv",
        SITE_QUANTITIES,
        site_estimates,
        lambda rows: bool(rows[0]["excluded_from_fit"]),
    )
    reliable = {}
    left_out = (REGIONS / "left_out.md").read_text(encoding="utf-8").splitlines()
    lines = [
        "# How the embedded climatology does",
        "",
        "Said by the program from the nearest cell, seen by stations and hourly sites. The",
        "estimators' constants were fitted on a sample that holds most of these places, so",
        "expect slightly worse elsewhere. The tables hold no temperature at 22:00; typical-year",
        "files named on the command line do.",
        "",
        "## Minimum and maximum by kind of place, left out of the fit",
        "",
        "Each place's own block of 1 degree was left out, and in the columns that say so its",
        "whole region (`regions/world/fit_extremes.py`, which writes this table with the",
        "coefficients). All that follows is not left out.",
        "",
        *left_out,
        "",
        f"## {len(stations)} stations with daily observations",
        "",
        *error_table(stations, STATION_QUANTITIES),
        "",
        "The goal for days above 10 mm was reached at eleven stations. At the four of them that",
        "stand here with rain the same relations, on the source grid of a quarter degree and",
        "refitted without the station, have 0.0276.",
        "",
        "Root mean square error by station:",
        "",
        *place_table(stations, STATION_QUANTITIES),
        "",
        "### The same, corrected for the stations' heights",
        "",
        *error_table(raised, STATION_QUANTITIES),
        "",
        f"## {len(fitted)} sites with hourly statistics",
        "",
        "They describe cells of a reanalysis, without their snow in the rain column.",
        "",
        *error_table(fitted, SITE_QUANTITIES),
        "",
        "Root mean square error by site:",
        "",
        *place_table(fitted, SITE_QUANTITIES),
        "",
        f"### {len(excluded)} peaks, high deserts, polar sites: outside the fit",
        "",
        *error_table(excluded, SITE_QUANTITIES),
    ]
    lines += ["", "## Rain and humidity by kind of place", ""]
    lines += water_table(whole_world(), places)
    for key in ("below_5", "above_10"):
        title = STATION_QUANTITIES[key].title
        rows, distance = reliability(*together(stations, key))
        reliable[title] = rows
        lines += ["", f"## Reliability: {title}", "", *reliability_table(rows, distance)]
    if weather_files:
        typical = typical_years(sorted(weather_files))
        lines += [
            "",
            f"## {len(typical)} typical-year files, corrected for their heights",
            "",
            *error_table(typical, TYPICAL_QUANTITIES),
            "",
            "Root mean square error by file:",
            "",
            *place_table(typical, TYPICAL_QUANTITIES),
        ]
    text = "\n".join(lines) + "\n"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "evaluation.md").write_text(text, encoding="utf-8")
    picture(folder / "evaluation.png", reliable, stations)
    snow_roads.picture(folder / "snow_roads.png")
    return text


if __name__ == "__main__":
    sys.stdout.write(report(*map(Path, sys.argv[1:])))
