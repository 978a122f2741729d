"""Charts of one place: its climate, and a kit's twelve months there.

In: a place's climate and seasons. Out: plain dicts for the chart templates. Assumes the
templates escape every text; nothing here is markup.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from sheltermap.hazards.layers import HazardFinding
from sheltermap.places.months import kit_months, month_days
from sheltermap.places.place import NightSeason, PlaceClimate
from sheltermap.vocabulary import MONTHS, Floats
from sheltermap.website import hazardstrip, words
from sheltermap.website.axes import axis
from sheltermap.website.charts import WIDTH, box_path, path
from sheltermap.website.figures import is_known, number, percent


def camp_spread(season: NightSeason) -> list[dict]:
    """
    Return how camps of one place differ, month by month.

    Parameters
    ----------
    season : NightSeason

    Returns
    -------
    list of dict
        Keys month; median and worst (share of sound nights at the middle camp and at the
        worst tenth); good, rough, unfit (share of the area).
    """
    rows = []
    for month in range(12):
        sound, workable, rough, unfit = (float(part) for part in season.grade_shares[month])
        rows.append(
            {
                "month": MONTHS[month],
                "median": _month_mean(season.sound_share_median, month),
                "worst": _month_mean(season.sound_share_worst_tenth, month),
                "good": sound + workable,
                "rough": rough,
                "unfit": unfit,
            }
        )
    return rows


def strip_areas(months: list[dict]) -> list[dict]:
    """
    Return a kit's twelve months as one path for each grade and each hazard level.

    Parameters
    ----------
    months : list of dict
        From `kit_rows`.

    Returns
    -------
    list of dict
        Keys pattern, path.
    """
    paths: dict[str, str] = {}
    for position, month in enumerate(months):
        name = "gx" if month["grade"] < 0 else f"g{month['grade']}"
        x = 2 + position * 28.4
        paths[name] = paths.get(name, "") + box_path(x, 0, 27, 22)
        hazardstrip.strip([(x, 27, month["level_code"], True)], 22 + hazardstrip.GAP, paths)
    return [{"pattern": name, "path": path} for name, path in sorted(paths.items())]


def climate_chart(climate: PlaceClimate, season: NightSeason) -> dict:
    """
    Return a place's year: daily range, dewpoint, low of one night in 20, rain, wet days.

    Parameters
    ----------
    climate : PlaceClimate
    season : NightSeason
        Of the chosen kit, for the design low.

    Returns
    -------
    dict
    """
    low20 = [_month_mean(season.low_one_in_20, month) for month in range(12)]
    lines = {"dewpoint": climate.dewpoint, "low20": np.array(low20)}
    shown = (*lines.values(), climate.temperature_min, climate.temperature_max)
    scale = axis(*_span(shown), "temperature", 5)
    left, right, top, bottom, rain_top, rain_bottom = 46, 30, 14, 160, 182, 236
    step = (WIDTH - left - right) / 12

    def x(month: float) -> float:
        return left + (month + 0.5) * step

    def y(value: float) -> float:
        return bottom - (value - scale.first) / (scale.last - scale.first) * (bottom - top)

    return {
        "width": WIDTH,
        "height": 256,
        "left": left,
        "right": WIDTH - right,
        "top": top,
        "bottom": bottom,
        "lines": {
            name: path((x(m), y(float(line[m]))) for m in range(12))
            for name, line in lines.items()
        },
        "range": [
            {"x": x(m) - step * 0.3, "width": step * 0.6, "y": y(float(high)), "y2": y(float(low))}
            for m, (low, high) in enumerate(
                zip(climate.temperature_min, climate.temperature_max, strict=True)
            )
            if is_known(low) and is_known(high)
        ],
        "axis": scale.placed(y),
        **_rain_bars(climate, x, step, rain_top, rain_bottom),
        "months": [{"x": x(m), "name": MONTHS[m][:1]} for m in range(12)],
        "rows": [
            {
                "month": MONTHS[m],
                "temperature_min": climate.temperature_min[m],
                "temperature_max": climate.temperature_max[m],
                "low20": low20[m],
                "dewpoint": climate.dewpoint[m],
                "rain": climate.rain_per_month[m],
                "wet_days": climate.wet_days[m],
            }
            for m in range(12)
        ],
    }


def _span(lines: Iterable[Floats]) -> tuple[float, float]:
    """Return the lowest and the highest of all known values; 0 to 1 where there is none."""
    values = np.concatenate([np.asarray(line, dtype=float) for line in lines])
    known = values[~np.isnan(values)]
    return (float(known.min()), float(known.max())) if known.size else (0.0, 1.0)


def _rain_bars(
    climate: PlaceClimate, x: Callable[[float], float], step: float, top: float, bottom: float
) -> dict:
    """Return a bar of rain for each month, none where it is missing, and the axis beside them."""
    rain = np.asarray(climate.rain_per_month, dtype=float)
    heights = np.nan_to_num(rain)
    scale = axis(0.0, max(float(heights.max()), 10.0), "rain", 2)
    unit = (bottom - top) / scale.last
    return {
        "rain_bottom": bottom,
        "rain_axis": scale.placed(lambda rain: bottom - rain * unit),
        "rain": [
            {
                "x": x(m) - step * 0.36,
                "width": step * 0.72,
                "y": bottom - heights[m] * unit,
                "height": heights[m] * unit,
                "wet_days": number(climate.wet_days[m]),
                "middle": x(m),
            }
            for m in range(12)
        ],
    }


def _month_mean(values: Floats, month: int) -> float:
    """Return the mean of a month's days; missing where any day is."""
    return float(np.mean(np.asarray(values, dtype=float)[month_days(month)]))


def kit_rows(season: NightSeason, findings: Sequence[HazardFinding]) -> list[dict]:
    """
    Return a kit's twelve months at a place.

    Parameters
    ----------
    season : NightSeason
    findings : tuple of HazardFinding
        Of the place, to name the binding hazard.

    Returns
    -------
    list of dict
        Keys month, share, percent, grade (worst day's), word, reason, hazard, level,
        level_code, close, dangerous.
    """
    rows = []
    for month, kept in enumerate(kit_months(season)):
        days = month_days(month)
        level = int(season.hazard_level[days].max())
        day = days.start + int(np.argmax(season.hazard_level[days]))
        hazard = int(season.hazard[day])
        rows.append(
            {
                "month": MONTHS[month],
                "share": kept.sound_share,
                "percent": percent(kept.sound_share),
                "grade": kept.grade,
                "word": words.grade_word(kept.grade),
                "reason": words.factor_word(kept.limiting_factor),
                "hazard": findings[hazard].title if level and hazard >= 0 else "",
                "level": words.LEVEL_WORDS[level],
                "level_code": level,
                "close": kept.close,
                "dangerous": kept.dangerous,
            }
        )
    return rows
