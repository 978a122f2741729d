"""Fit the daily extremes and the errors of the embedded climatology to measured places.

In: ``climatology.nc`` beside this script and the tables in ``tests/published``. Out:
``sheltermap/climate/extremes.toml``; and, in ``left_out.md`` beside this script and on the
screen, how far the estimates miss where a place's surroundings (all places of its 1-degree
block) or its whole region were left out.
Run it after ``make_climatology.py`` (``make climatology`` runs both)::

    python regions/world/fit_extremes.py

Each region counts as much as another, however many places it has; reanalysis sites, whose
own nights are too warm in dry country, count a tenth, to hold the ends of the spans.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr
from scipy.optimize import linprog
from scipy.special import ndtr

from sheltermap.climate import grid
from sheltermap.climate.altitude import at_elevation
from sheltermap.climate.calendar import month_lengths
from sheltermap.climate.completion import extremes_of_course
from sheltermap.climate.error_fields import LEAST_ERROR, conditions
from sheltermap.climate.extremes import EXTREMES, LEAST_OFFSET, predictors
from sheltermap.climate.world import embedded

ROOT = Path(__file__).parents[2]
PUBLISHED = ROOT / "tests" / "published"
TARGET = ROOT / "sheltermap" / "climate" / "extremes.toml"

USED = {
    "air_temperature_min": (
        "humidity",
        "wet_share",
        "continentality",
        "height",
        "relative_height",
        "warmth",
    ),
    "air_temperature_max": (
        "humidity",
        "radiation",
        "humid_radiation",
        "wet_share",
        "continentality",
        "height",
        "vapour_deficit",
    ),
}
"""Predictors of each extreme: what left-out places and regions kept of a longer list."""

CONDITIONS = {
    "air_temperature_min_error": ("dryness", "coast", "relief", "continentality"),
    "air_temperature_max_error": ("dryness", "coast", "relief", "continentality"),
}
"""Conditions of each error. None may lower it: what is unlike the places of the fit is not
surer for that."""

RIDGE = 0.01
"""Penalty on coefficients of standardised predictors, as a share of their variance."""

COVERED = 0.68
"""Share of misses within one standard error."""

STRANGE = 2.0
"""Weight of a miss with the whole region left out over one with its block left out, in the fit of
the errors. judgement: few places of a journey lie in a region that was measured."""

REANALYSED = 0.5
"""Weight in it of the reanalysis sites over another region. judgement: the only hot deserts and
taiga, though not stations."""

FOLDS = 10

LEFT_OUT = Path(__file__).with_name("left_out.md")

COASTAL = ("Bremerhaven", "Seattle", "Auckland", "Tunis")
"""Places of the tables whose cell holds a sea shore."""

KINDS = {
    "dry plains, below 1,600 m": lambda rows: (rows.region == "dry") & (rows.height_m < 1600),
    "high plains and valleys, 1,600 to 2,500 m": lambda rows: (
        (rows.region == "dry") & rows.height_m.between(1600, 2500, inclusive="left")
    ),
    "mountains, from 2,500 m": lambda rows: (rows.region == "dry") & (rows.height_m >= 2500),
    "humid tropics": lambda rows: rows.region == "tropics",
    "temperate inland": lambda rows: (
        rows.region.isin(["temperate", "stations"]) & ~rows.name.isin(COASTAL)
    ),
    "temperate coast": lambda rows: rows.name.isin(COASTAL),
    "deserts to taiga, of a reanalysis": lambda rows: rows.region == "sites",
}
"""Kinds of place that the figures are told by; the first three lie in one dry interior."""


@dataclass(frozen=True)
class Region:
    """Measured places of one kind.

    Attributes
    ----------
    title, file : str
    weight : float
        Of the whole region in the fit.
    warming : float
        From the years of the observations to those of the data. [K]
    minimum, maximum : float
        What makes daily extremes of the table's. [K]
    """

    title: str
    file: str
    weight: float = 1.0
    warming: float = 0.0
    minimum: float = 0.0
    maximum: float = 0.0


REGIONS = {
    "dry": Region("dry interior", "dry_interior_normals.csv", warming=0.5),
    # Extremes of whole hours lie inside those of the day.
    "temperate": Region(
        "temperate", "temperate_reference_years.csv", 0.7, minimum=-0.3, maximum=0.4
    ),
    "tropics": Region("humid tropics", "humid_tropics_gridded.csv"),
    "stations": Region("daily stations", "station_months.csv", 0.7),
    "sites": Region("reanalysis sites", "site_months.csv", 0.1),
}


def table() -> pd.DataFrame:
    """Return one row for each place and month: the cell's climate, and what was measured."""
    world = embedded()
    world = world.assign(wet_share=world["wet_days"] / month_lengths(world))
    rows = []
    for key, region in REGIONS.items():
        measured = pd.read_csv(PUBLISHED / region.file)
        if "excluded_from_fit" in measured:
            measured = measured[measured["excluded_from_fit"].isna()].copy()
            course = measured.hourly_max_c - measured.hourly_min_c
            arrays = (measured[name] for name in ("t_mean_c", "night_hour_sd_k"))
            mean, spread = (xr.DataArray(array.to_numpy()) for array in arrays)
            low, high = extremes_of_course(mean, xr.DataArray(course.to_numpy()), spread)
            # Their values are the cell's: no height to correct for.
            measured = measured.assign(tmin_c=low, tmax_c=high, altitude_m=np.nan)
        for (name, latitude, longitude), place in measured.groupby(
            ["name", "lat", "lon"], sort=False
        ):
            rows.append(place_rows(world, key, name, latitude, longitude, place))
    return pd.concat(rows, ignore_index=True)


def place_rows(world, key, name, latitude, longitude, place) -> pd.DataFrame:
    """Return a place's twelve rows."""
    region, place = REGIONS[key], place.sort_values("month").set_index("month")
    near = {"latitude": slice(latitude - 1, latitude + 1)}
    near["longitude"] = slice(longitude - 1, longitude + 1)
    cell = grid.point(world.sel(near), latitude, longitude)
    height = float(place["altitude_m"].iloc[0]) if "altitude_m" in place else np.nan
    # What height adds to each extreme does not depend on the estimate.
    plain = cell.assign({name: cell["air_temperature"] for name in EXTREMES})
    camp = at_elevation(plain, None if np.isnan(height) else height)
    columns = {
        "region": key,
        "name": name,
        "block": f"{np.floor(latitude):g} {np.floor(longitude):g}",
        "month": np.arange(1, 13),
        "height_m": height,
        "spread": cell["night_low_spread"].to_numpy(),
        "mean": cell["air_temperature"].to_numpy(),
    }
    for extreme, column, shift in zip(
        EXTREMES, ("tmin_c", "tmax_c"), (region.minimum, region.maximum), strict=True
    ):
        columns[f"{extreme}.base"] = camp[extreme].to_numpy()
        columns[f"{extreme}.shown"] = place[column].to_numpy() + region.warming
        columns[f"{extreme}.seen"] = columns[f"{extreme}.shown"] + shift
    column = "p_tmin_below_5c"
    columns["below_5"] = place[column].to_numpy() if column in place else np.full(12, np.nan)
    known = predictors(cell, latitude)
    columns |= known | conditions(cell, known)
    return pd.DataFrame(columns)


def ridge(values: np.ndarray, target: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Return the constant and the coefficients of a weighted ridge regression."""
    weight = weight / weight.sum()
    centre = weight @ values
    scale = np.sqrt(weight @ (values - centre) ** 2)
    standard = (values - centre) / scale
    middle = weight @ target
    matrix = standard.T @ (standard * weight[:, None]) + RIDGE * np.eye(values.shape[1])
    slopes = np.linalg.solve(matrix, standard.T @ (weight * (target - middle))) / scale
    return np.concatenate([[middle - slopes @ centre], slopes])


def weights(rows: pd.DataFrame) -> np.ndarray:
    """Return each row's weight: its region's, shared out."""
    share = rows["region"].map({key: region.weight for key, region in REGIONS.items()})
    return (share / rows.groupby("region")["name"].transform("size")).to_numpy()


def fit(rows: pd.DataFrame, extreme: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return coefficients of an extreme, and the spans of its predictors."""
    rows = rows[rows[f"{extreme}.seen"].notna()]
    values = rows[list(USED[extreme])].to_numpy()
    target = (rows[f"{extreme}.seen"] - rows[f"{extreme}.base"]).to_numpy()
    return ridge(values, target, weights(rows)), values.min(0), values.max(0)


def estimated(rows: pd.DataFrame, extreme: str, found) -> np.ndarray:
    """Return an extreme at the places' heights."""
    coefficients, lowest, highest = found
    values = np.clip(rows[list(USED[extreme])].to_numpy(), lowest, highest)
    offset = coefficients[0] + values @ coefficients[1:]
    low = extreme.endswith("min")
    offset = np.minimum(offset, -LEAST_OFFSET) if low else np.maximum(offset, LEAST_OFFSET)
    return rows[f"{extreme}.base"].to_numpy() + offset


def left_out(rows: pd.DataFrame, extreme: str, whole_regions: bool) -> np.ndarray:
    """Return estimates of an extreme by fits without the place's block, or its region."""
    result = np.full(len(rows), np.nan)
    if whole_regions:
        folds = pd.factorize(rows["region"])[0]
    else:
        blocks = pd.factorize(rows["block"])[0]
        folds = np.random.RandomState(0).permutation(blocks.max() + 1)[blocks] % FOLDS
    for fold in np.unique(folds):
        out = folds == fold
        result[out] = estimated(rows[out], extreme, fit(rows[~out], extreme))
    return result


def quantile(values: np.ndarray, target: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Return the constant and coefficients, none negative, of a quantile regression."""
    count, width = values.shape[0], values.shape[1] + 1
    weight = weight / weight.sum()
    cost = np.concatenate([np.zeros(width), COVERED * weight, (1 - COVERED) * weight])
    system = np.hstack([np.ones((count, 1)), values, np.eye(count), -np.eye(count)])
    return linprog(cost, A_eq=system, b_eq=target, bounds=(0, None)).x[:width]


def error_fit(rows: pd.DataFrame, name: str, *misses: np.ndarray) -> tuple:
    """Return coefficients of an error, and the spans of its conditions.

    Misses come with the block and with the region left out.
    """
    region = (1 / rows.groupby("region")["name"].transform("size")).to_numpy()
    region = np.where(rows["region"] == "sites", REANALYSED, 1.0) * region
    kept = [np.isfinite(each) for each in misses]
    values = rows[list(CONDITIONS[name])].to_numpy()
    shown = np.concatenate([values[inside] for inside in kept])
    sizes = np.concatenate(
        [np.abs(each[inside]) for each, inside in zip(misses, kept, strict=True)]
    )
    weight = np.concatenate(
        [by * region[inside] for by, inside in zip((1.0, STRANGE), kept, strict=True)]
    )
    return quantile(shown, sizes, weight), shown.min(0), shown.max(0)


def main(target: Path = TARGET) -> None:
    """Fit, write the coefficients and print the tables."""
    rows = table()
    misses, shown, lines = {}, {}, []
    spans: dict[str, tuple[float, float]] = {}
    for extreme in EXTREMES:
        coefficients, lowest, highest = fit(rows, extreme)
        named = dict(zip(("constant", *USED[extreme]), coefficients, strict=True))
        lines += ["", f"[{extreme}]", *(f"{key} = {value:.3f}" for key, value in named.items())]
        spans |= dict(zip(USED[extreme], zip(lowest, highest, strict=True), strict=True))
        blocks, whole = (left_out(rows, extreme, regions) for regions in (False, True))
        misses[f"{extreme}_error"] = tuple(
            said - rows[f"{extreme}.seen"].to_numpy() for said in (blocks, whole)
        )
        shown[extreme] = tuple(
            said - rows[f"{extreme}.shown"].to_numpy() for said in (blocks, whole)
        )
    error_spans: dict[str, tuple[float, float]] = {}
    for name, used in CONDITIONS.items():
        found, lowest, highest = error_fit(rows, name, *misses[name])
        named = dict(zip(("constant", *used), found, strict=True))
        lines += ["", f"[error.{name}]"]
        lines += [f"{key} = {value:.3f}" for key, value in named.items()]
        for part, low, high in zip(used, lowest, highest, strict=True):
            former = error_spans.get(part, (low, high))
            error_spans[part] = (min(low, former[0]), max(high, former[1]))
        whole = np.clip(rows[list(used)].to_numpy(), lowest, highest)
        rows[name] = np.maximum(found[0] + whole @ found[1:], LEAST_ERROR[name])
    head = ["# Written by regions/world/fit_extremes.py; sheltermap/climate/extremes.py explains."]
    for title, table_ in (("span", spans), ("error_span", error_spans)):
        head += ["", f"[{title}]"]
        head += [f"{key} = [{low:.3f}, {high:.3f}]" for key, (low, high) in table_.items()]
    target.write_text("\n".join([*head, *lines]) + "\n", encoding="utf-8")
    print("\n".join([*head, *lines]), "\n")
    print_left_out(rows, shown)
    print_coverage(rows, shown)
    lines = by_kind(rows, shown)
    LEFT_OUT.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print("", *lines, sep="\n")


def by_kind(rows: pd.DataFrame, shown: dict) -> list[str]:
    """Return a Markdown table of the figures at places left out, by kind of place."""
    lines = [
        "| kind of place | places | low: error (bias) | within the stated error |"
        " region left out | high: error (bias) | within | region left out | nights below 5 °C |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    low = shown[EXTREMES[0]][0] + rows[f"{EXTREMES[0]}.shown"].to_numpy()
    missed = np.abs(ndtr((5 - low) / rows["spread"].to_numpy()) - rows["below_5"].to_numpy())
    for kind, chosen in KINDS.items():
        inside, cells = chosen(rows).to_numpy(), []
        for extreme in EXTREMES:
            stated = rows[f"{extreme}_error"].to_numpy()
            valid = inside & np.isfinite(shown[extreme][0])
            errors, strange = (each[valid] for each in shown[extreme])
            root, bias = np.sqrt((errors**2).mean()), errors.mean()
            covered, far = ((np.abs(each) <= stated[valid]).mean() for each in (errors, strange))
            cells += [
                f"{root:.1f} K ({bias:+.1f})",
                f"{covered:.0%} of {stated[valid].mean():.1f} K",
                f"{far:.0%}",
            ]
        shares = missed[inside & np.isfinite(missed)]
        cells.append(f"{shares.mean():.2f}" if shares.size else "–")
        places = rows[inside & rows[f"{EXTREMES[0]}.seen"].notna()]["name"].nunique()
        lines.append(f"| {kind} | {places} | {' | '.join(cells)} |")
    return lines


def print_left_out(rows: pd.DataFrame, shown: dict) -> None:
    """Print bias and root mean square error against the tables as they stand."""
    print("|Region|Months|Minimum: block left out|region left out|Maximum: block|region|")
    print("|---|---|---|---|---|---|")
    for key, region in REGIONS.items():
        inside = (rows["region"] == key).to_numpy()
        cells, count = [], 0
        for found in (found for pair in shown.values() for found in pair):
            errors = found[inside & np.isfinite(found)]
            count = len(errors)
            cells.append(f"{np.sqrt((errors**2).mean()):.2f} ({errors.mean():+.2f})")
        print(f"|{region.title}|{count}|{'|'.join(cells)}|")


def print_coverage(rows: pd.DataFrame, shown: dict) -> None:
    """Print the share of misses within the stated errors, with block and region left out."""
    print("\n|Region|" + "|".join(CONDITIONS) + "|\n" + "|---" * (len(CONDITIONS) + 1) + "|")
    for key, region in REGIONS.items():
        inside = (rows["region"] == key).to_numpy()
        cells = []
        for name in CONDITIONS:
            pair = shown[name.removesuffix("_error")]
            valid = inside & np.isfinite(pair[0])
            stated = rows[name].to_numpy()[valid]
            near, far = ((np.abs(found[valid]) <= stated).mean() for found in pair)
            cells.append(f"{near:.0%}, {far:.0%} of {stated.mean():.1f}")
        print(f"|{region.title}|{'|'.join(cells)}|")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
