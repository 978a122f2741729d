"""The score's oracle and its benchmark: ``python tests/bench_score.py``.

``plain_score`` states the same formulas as plainly as xarray and scipy.stats allow,
straight from a kit's own fields and without any of the product's scoring code. Tests
compare it with the product; the benchmark measures against it. Contestants run in turn, and
each one's shortest time counts; nights are in double precision, as a journey's are. A missed
goal of speed or memory is printed, for neighbours on the same machine can cause it; exits
with 1 when results differ too much.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from functools import reduce
from pathlib import Path
from typing import NamedTuple

import numpy as np
import xarray as xr
from scipy import stats

from sheltermap.air import saturation_vapour_pressure
from sheltermap.night.conditions import conditions
from sheltermap.shelters.kit import Sleeper, load_kits
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.score import INPUTS, scores

ACCEPTED_WETTEDNESS = {"light sleeper": 0.06, "usual": 0.10, "hardened": 0.206, "careful": 0.10}
WORDS = {"summer": 12.0, "three-season": 1.0, "winter": -10.0}
KAPPA = ([0.25, 0.5, 1.0, 2.5, 5.0], [0.66, 0.55, 0.46, 0.33, 0.23])
WALL = {"single": 1 / 0.17, "insulated": 2.0}
FACTORS = ("cold", "heat", "wet", "wind", "condensation")


def normal(deviations):
    """Return the normal distribution function of a DataArray."""
    return xr.apply_ufunc(stats.norm.cdf, deviations)


def saturation(t):
    """FAO-56 eq 11. [kPa]"""
    return 0.6108 * np.exp(17.27 * t / (t + 237.3))


def dewpoint(e):
    """FAO-56 eq 11 inverted. [degC]"""
    g = np.log(e.clip(min=1e-3) / 0.6108)
    return 237.3 * g / (17.27 - g)


def mode(kit, people, settings, name):
    """Return a kit's mode as a dict of numbers."""
    walls = kit.enclosure
    closed = name == "closed" and walls.fabric != "none"
    speed = kit.air_speed_closed_m_s if closed else kit.air_speed_open_m_s
    changes = walls.air_changes_closed if closed else walls.air_changes_open
    sky = 0.0 if kit.awning else 1.0
    result = {
        "speed": max(speed, kit.fan.air_speed_m_s) if kit.fan else speed,
        "warming": 0.0,
        "stored": 0.0,
        "vapour": 0.0,
        "face": 0.0,
        "face_sky": sky,
    }
    room = False
    if walls.fabric != "none":
        u = WALL[walls.fabric]
        watts, grams = people * settings.sleeper_heat, people * settings.sleeper_vapour
        loss = u * walls.area_m2 + 0.34 * changes * walls.volume_m3
        result["warming"] = watts / loss
        result["vapour"] = grams / changes / walls.volume_m3 * 293.15 / 2166.8
        result["face"] = (1 - 0.13 * u) * result["warming"]
        result["face_sky"] = sky * u * 0.17
        room = walls.headroom
        if closed:
            result["stored"] = (
                settings.stored_heat_hard
                if kit.exposure == "hard"
                else settings.stored_heat_fabric
            )
    result["cold_warming"] = result["warming"] if room else 0.0
    result["sky"] = 0.0 if room else sky
    factor = 1.0
    if not closed and not room:

        def left(v):
            return 0.54 * np.exp(-0.15 * v) * 8**0.075 - 0.06 * np.log(8) + 0.5

        factor = left(max(speed, 0.4)) / left(0.4)
    result["wind_factor"] = factor
    return result


def cold_deficits(kit, sleepers, settings, how, air, ground, sky, kept=1.0, a=None, debt=0.0):
    """Return by how many kelvins of air each sleeper is below the limit."""
    a = a if a is not None else (32.0 if kit.limit else 34.6)
    fc = settings.contact_share
    deficits = []
    for sleeper in sleepers:
        bedding = sleeper.bedding or kit.bedding
        if bedding.clo is not None:
            top = 0.155 * bedding.clo
        else:
            label, rated = bedding.comfort_c, 46.5
            if bedding.word is not None:
                label = WORDS[bedding.word]
            if bedding.limit_c is not None:
                label, rated = bedding.limit_c, 54.2
            insulation = (34.6 - label) / (0.134 * rated)
            top = (1 - fc) / (1 / (0.155 * insulation) - fc / 0.95)
        top += 0.155 * bedding.extra_clo
        if sleeper.bedding is not None:
            top += 0.155 * kit.bedding.extra_clo
        elif kit.shared_bed and len(sleepers) > 1:
            top *= 1 + settings.shared_bed_gain
        bottom = kit.ground_resistance_m2k_w + (0.10 if kit.exposure == "ground" else 0.20)
        k = (1 - fc) / top + fc / bottom
        x = fc / bottom / k
        chilly = sleeper.cold_sleeper or sleeper.preset == "careful"
        m = (settings.cold_sleeper_metabolism if chilly else settings.metabolism) + debt
        t_min = a - 0.134 * m / (0.155 * k) * how["wind_factor"] * kept
        seen = (1 - x) * (air + how["cold_warming"] - how["sky"] * sky)
        if kit.exposure == "ground":
            deficits.append((t_min - (seen + x * ground)) / (1 - x))
        else:
            deficits.append(t_min - (seen + x * air))
    return deficits


def coldest_of_alike(deficits, sigma, error, between):
    """Return the chance that the cold endangers one sleeper; who is alike has a twin's count."""
    worst = None
    for own in deficits:
        alike = sum(bool(np.array_equal(own, other, equal_nan=True)) for other in deficits)
        # Largest of two normal numbers by hand: 1/sqrt(pi) and sqrt(1 - 1/pi).
        mean, sd = {1: (0.0, 1.0), 2: (np.pi**-0.5, (1 - 1 / np.pi) ** 0.5)}[alike]
        chance = normal(
            (own + between * mean) / np.sqrt(sigma**2 + error**2 + (between * sd) ** 2)
        )
        worst = chance if worst is None else np.maximum(worst, chance)
    return worst


def heat_limit(sleeper, settings, speed, e, w=None, cap=None):
    """Return the closed form of the warmest air for sleep. [degC]"""
    m, tsk, icl = settings.metabolism, 34.8, 0.3
    v = min(max(speed, 0.1), 1.5)
    hc = 5.1 if v <= 0.15 else 2.7 + 8.7 * v**0.67
    fcl = 1 + 0.3 * icl
    kd = 0.75 / (0.155 * icl + 1 / (fcl * (hc + 4.7)))
    ke = 0.75 / (1 / (16.5 * fcl * hc) + 0.155 * icl / (16.5 * 0.45))
    w = ACCEPTED_WETTEDNESS[sleeper.preset] if w is None else w
    gain = w * ke * (saturation(tsk) - e) + 0.0173 * m * (5.87 - e) + 0.0476 * m + kd * tsk - m
    limit = np.minimum(gain / (kd + 0.0014 * m), settings.heat_cap if cap is None else cap)
    return limit - (settings.careful_margin if sleeper.preset == "careful" else 0.0)


def plain_score(night, kit, sleepers, settings, hours=8.0):
    """
    Return the product's core results and `dangerous`, computed as plainly as possible.

    Parameters
    ----------
    night : Dataset
        As ``score`` takes it.
    kit, sleepers, settings
        As ``score`` takes them.
    hours : float
        Length of the sleep window. [h]

    Returns
    -------
    Dataset
    """
    n = night
    people = len(sleepers)
    opened, closed = (mode(kit, people, settings, name) for name in ("open", "closed"))
    shut = settings.dust or (settings.insects and not kit.mesh)
    dry = closed if shut else opened
    sheltered = opened if kit.awning and not shut else closed
    sigma = n.night_low_spread.clip(min=0.01)
    f, rain = n.wet_share, n.rain_per_day
    sky = settings.clear_sky * n.fabric_sky_cooling
    air = {"dry": n.coldest_hours_temperature - n.dry_night_drop}
    air["wet"] = n.coldest_hours_temperature
    clear = {"dry": sky, "wet": 0.0 * sky}
    down = 0.0
    wind = None
    if "wind_speed" in n:

        def exceeds(limit):
            chance = np.exp(-np.pi / 4 * (limit / settings.gusts / n.wind_speed) ** 2)
            return chance.where(n.wind_speed != 0, 0.0 * n.wind_speed)

        wind = exceeds(kit.wind_limit_m_s) if kit.wind_limit_m_s else 0.0 * n.wind_speed
        down = exceeds(kit.awning.wind_limit_m_s) if kit.awning else 0.0

    def deficits(how, kind, **more):
        seen = air[kind], n.ground_temperature, clear[kind]
        return cold_deficits(kit, sleepers, settings, how, *seen, **more)

    def cold(how, kind):
        return normal(reduce(np.maximum, deficits(how, kind)) / sigma)

    def danger_of_cold(kind, **more):
        error = n.get("low_error", 0.0)
        below = deficits(closed, kind, a=32.0, **more)
        return coldest_of_alike(below, sigma, error, settings.person_spread)

    def heat(how, **more):
        e = np.minimum(
            n.bedtime_vapour_pressure + how["vapour"], saturation(n.bedtime_temperature)
        )
        limits = [heat_limit(s, settings, how["speed"], e, **more) for s in sleepers]
        limit = limits[0]
        for other in limits[1:]:
            limit = np.minimum(limit, other)
        inside = n.bedtime_temperature + how["warming"] + how["stored"]
        return normal((inside - limit) / np.sqrt(sigma**2 + settings.heat_spread**2))

    def drips(how, kind):
        face = air[kind] + how["face"] - how["face_sky"] * clear[kind]
        return normal((dewpoint(n.vapour_pressure + how["vapour"]) - face) / 3.0)

    c = {kind: cold(closed, kind) for kind in ("dry", "wet")}
    h = {"dry": heat(dry), "wet": (1 - down) * heat(sheltered) + down * heat(closed)}
    q = cold(dry, "dry")
    d = {
        "dry": (1 - q) * drips(dry, "dry") + q * drips(closed, "dry"),
        "wet": (1 - down) * drips(sheltered, "wet") + down * drips(closed, "wet"),
    }

    def given_wet(chance):
        return (chance / f).clip(max=1).where(f > 0, 0.0 * f)

    def rain_within(length, depth):
        kappa = np.interp(np.log(depth), np.log(KAPPA[0]), KAPPA[1])
        some = 1 - (1 - f) ** min(kappa * length / 9, 1.0)
        return some.where((f > 0) & (rain > 0), 0.0 * (f + rain))

    asleep = given_wet(rain_within(hours, kit.rain_threshold_mm))
    at_work = given_wet(rain_within((kit.pitch_minutes + kit.strike_minutes) / 60, 1.0))
    mean = (0.97 * rain / f).clip(min=1.2)
    scale = np.maximum(1.83 * mean - 2.16, 0.3 * mean)
    tail = xr.apply_ufunc(stats.gamma.sf, settings.heavy_day, mean / scale, 0.0, scale)
    heavy = tail.where((f > 0) & (rain > 0), 0.0 * (f + rain))
    dried = 0.0
    if kit.canvas:
        power = settings.wet_day_drying * n.daytime_vapour_deficit * n.daylight_hours * 0.5
        dried = (power / kit.dry_hours).clip(0, 1)
    undried = (0.25 + 0.75 * f) ** 2 * (1 - dried)
    under = kit.leak_under_awning if kit.awning else kit.leak
    leak = (1 - down) * under + down * kit.leak
    # As many times the usual odds as a wet day brings the usual rain.
    harder = (rain / f / settings.usual_wet_day).clip(min=1.0).where(f > 0, 1.0)

    def at_odds(chance):
        return 1 - 1 / (1 + chance / (1 - chance) * harder)

    ponding = settings.ponding if kit.exposure == "ground" else 0.0
    from_outside = 1 - (1 - at_odds(leak) * asleep) * (
        1 - (settings.wet_pitching if kit.wet_packing_matters else 0.0) * at_work
    ) * (1 - at_odds(ponding) * heavy)
    damp = (settings.undried_spoils if kit.canvas else 0.0) * undried
    w = 1 - (1 - from_outside) * (1 - damp)

    share = {"dry": 1 - f, "wet": f}
    soaked = {"dry": 0.0, "wet": w}
    weight = kit.condensation_weight
    sound = sum(
        share[k] * (1 - np.minimum(1, c[k] + h[k])) * (1 - soaked[k]) * (1 - weight * d[k])
        for k in ("dry", "wet")
    )
    if wind is not None:
        sound = sound * (1 - wind)
    strain = {
        "dry": heat(dry, w=0.5, cap=38.0),
        "wet": (1 - down) * heat(sheltered, w=0.5, cap=38.0)
        + down * heat(closed, w=0.5, cap=38.0),
    }
    wet_bed = from_outside if kit.enclosure.headroom else w
    soaked_cold = wet_bed * danger_of_cold("wet", kept=settings.wet_bedding)
    danger = {k: np.minimum(1, danger_of_cold(k, debt=40 / hours) + strain[k]) for k in c}
    danger["wet"] = 1 - (1 - danger["wet"]) * (1 - soaked_cold)

    def mean_of(parts):
        return share["dry"] * parts["dry"] + share["wet"] * parts["wet"]

    result = xr.Dataset(
        {
            "cold": mean_of(c),
            "heat": mean_of(h),
            "wet": f * w,
            "wind": wind if wind is not None else xr.full_like(sound, np.nan),
            "condensation": weight * mean_of(d),
            "sound_share": sound,
            "dangerous": mean_of(danger),
        }
    )
    stacked = xr.concat([result[name] for name in FACTORS], dim="factor").fillna(0.0)
    largest = stacked.argmax("factor").where(stacked.max("factor") >= 1e-6, -1)
    result["limiting_factor"] = largest.where(sound.notnull(), -9).astype("int8")
    return result.transpose(*night.dims, missing_dims="ignore")


TWO = (Sleeper(), Sleeper())
SIX = list(load_kits().values())[:6]
SHARE = ("sound_share",)
ROUNDS = 3
FASTER, FLAT, EQUAL, MEMORY = 15, 1.25, 1e-6, 0.2
STEP = 0.88
"""Step of a grid with a million nights. [degrees]"""


def world(step):
    """Return twelve months of made-up but world-like nights on a grid of a step. [degrees]"""
    latitude = np.arange(-90 + step / 2, 90, step)
    longitude = np.arange(-180 + step / 2, 180, step)
    day = np.arange(12) * 30.4 + 15
    time_, north, east = np.meshgrid(
        day, np.radians(latitude), np.radians(longitude), indexing="ij"
    )
    summer = np.sin(north) * np.cos((time_ - 196) / 365 * 2 * np.pi)
    inland = 0.5 + 0.5 * np.sin(3 * east + 2 * north)
    mean = 28 - 50 * np.sin(north) ** 2 + 14 * summer * (0.4 + inland) - 6 * np.cos(5 * east) ** 2
    swing = 4 + 10 * inland
    wet = np.clip(0.35 + 0.3 * np.cos(4 * north) + 0.25 * np.sin(2 * east + time_ / 58), 0, 0.95)
    fields = {
        "air_temperature": mean,
        "air_temperature_min": mean - swing / 2,
        "air_temperature_max": mean + swing / 2,
        "night_low_spread": np.clip(2.8 + 4 * np.sin(north) ** 2, 1, 9),
        "vapour_pressure": (0.45 + 0.4 * wet) * saturation_vapour_pressure(mean),
        "wet_share": np.where(wet < 0.02, 0.0, wet),
        "rain_per_day": wet * (2 + 8 * np.cos(north) ** 2),
        "wind_speed": 3 + 2 * np.sin(5 * east + north) + 0 * wet,
        "elevation": 0 * wet,
    }
    dims = ("month", "latitude", "longitude")
    season = xr.Dataset(
        {name: (dims, field) for name, field in fields.items()},
        coords={"latitude": latitude, "longitude": longitude, "day_of_year": ("month", day)},
    )
    night = conditions(season)
    return night[[*(name for name in INPUTS.values() if name in night), "night_low"]]


class Taken(NamedTuple):
    """What a call took. [s]"""

    wall: float
    processor: float


def taken(function):
    """Return the time of a call."""
    wall, processor = time.perf_counter(), time.process_time()
    function()
    return Taken(time.perf_counter() - wall, time.process_time() - processor)


def ours(night):
    """Score six kits for share and reason, as a map of a continent does."""
    return scores(night, SIX, TWO, details=False, keep=SHARE)


def plain(night):
    """The same by the oracle."""
    return [plain_score(night, kit, TWO, Settings())[["sound_share"]] for kit in SIX]


def shortest(contestants):
    """Return the shortest times of functions by name, all run in turn."""
    best = {}
    for _ in range(ROUNDS):  # the first touches memory for the first time
        for name, function in contestants.items():
            times = taken(function)
            best[name] = Taken(*map(min, times, best.get(name, times)))
    return best


def speed(night):
    """Print what scoring takes, beside the oracle on every ninth place."""
    places = {"latitude": slice(None, None, 3), "longitude": slice(None, None, 3)}
    few = night.isel(places).copy(deep=True)
    best = shortest({"ours": lambda: ours(night), "plain": lambda: plain(few)})
    per_night = {
        name: [1e9 * each / some.bedtime_temperature.size / len(SIX) for each in best[name]]
        for name, some in (("ours", night), ("plain", few))
    }
    for position, clock in enumerate(Taken._fields):
        mine, theirs = (per_night[name][position] for name in ("ours", "plain"))
        figure(f"{clock} time", mine, "ns a night and kit")
        # Only the wall clock tells that all processors work at once.
        least = FASTER if clock == "wall" else None
        figure("  plain xarray and scipy.stats / ours", theirs / mine, "times", least=least)


def growth(night):
    """Print how time a night grows when there are sixteen times as many."""
    many = tiled(night, 16)
    best = shortest({"few": lambda: ours(night), "many": lambda: ours(many)})
    count = many.bedtime_temperature.size
    for clock, few, more in zip(Taken._fields, best["few"], best["many"], strict=True):
        name = f"{clock} time of a night among {count:,} / among a sixteenth of them"
        figure(name, more / few / 16, "times", FLAT)


def tiled(night, times):
    """Return a grid several times side by side."""
    return xr.concat([night] * times, "longitude", data_vars="minimal").drop_vars("longitude")


def peak(which, folder):
    """Return by how much a contestant raises the largest memory of a fresh process. [MiB]"""
    command = [sys.executable, __file__, which, folder]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def child(which, folder):
    """Run one contestant on stored nights and print its memory. [MiB]"""
    night = xr.Dataset(
        {
            path.stem: (("month", "latitude", "longitude")[: array.ndim], array)
            for path in Path(folder).glob("*.npy")
            for array in [np.load(path)]
        }
    )
    # Linux: set the largest memory back to what is used now.
    Path("/proc/self/clear_refs").write_text("5")
    before = largest_memory()
    results = plain(night) if which == "plain" else ours(night)
    assert len(results)
    print(largest_memory() - before)


def largest_memory():
    """Return the largest memory of this process. [MiB]"""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    raise RuntimeError("no VmHWM in /proc/self/status")


def figure(name, value, unit, most=None, least=None):
    """Print a figure with its goal; return whether it is met."""
    met = (most is None or value <= most) and (least is None or value >= least)
    goals = [f"at most {most:g}"] if most is not None else []
    goals += [f"at least {least:g}"] if least is not None else []
    verdict = f" (goal: {goals[0]}){'' if met else ' MISSED'}" if goals else ""
    print(f"{name}: {value:.3g} {unit}{verdict}", flush=True)
    return met


def error(night):
    """Return the largest difference from the oracle in any factor or the share."""
    found = scores(night, SIX, TWO, details=False)
    return max(
        float(abs(found[name][row] - exact[name]).max())
        for row, kit in enumerate(SIX)
        for exact in [plain_score(night, kit, TWO, Settings())]
        for name in (*FACTORS, "sound_share")
    )


def main():
    """Print every figure; return whether the results are right."""
    night = world(STEP)
    count = night.bedtime_temperature.size
    print(f"{count:,} nights x {len(SIX)} kits, all factors, {os.cpu_count()} processors")
    speed(night)
    growth(night)
    with tempfile.TemporaryDirectory() as folder:
        several = tiled(night, 3)
        several = several.broadcast_like(several.bedtime_temperature)
        for name, value in several.items():
            np.save(Path(folder) / f"{name}.npy", value.values)
        del several
        ratio = peak("ours", folder) / peak("plain", folder)
        figure("memory of ours / of the plain one", ratio, "times", MEMORY)
    few = night.isel(longitude=slice(None, None, 9))
    return figure("ours against the oracle", error(few), "of a probability", EQUAL)


if __name__ == "__main__":
    if len(sys.argv) == 3:
        child(*sys.argv[1:])
    else:
        sys.exit(0 if main() else 1)
