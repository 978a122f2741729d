"""The kernel: many nights and a few kits in, probabilities out, fast enough for a continent.

In: arrays of nights as `INPUTS` lists them and the kits as plain numbers. Out: arrays, one
row a kit. Assumes nothing about dimensions: arrays are walked in blocks that fit a cache,
on as many threads as there are processors. ``kit_risks`` is the only statement of the
arithmetic; numpy runs it on blocks, and numba, where installed, compiles it.

Which mode a kit is in, and how the factors combine, stands in ``suitability.combination``.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy import exp, maximum, minimum
from scipy.special import ndtr

from sheltermap.air import saturated_temperature as dewpoint
from sheltermap.air import saturation
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

LEAST_RISK = 1e-6
"""A night whose every risk is below this has no limiting factor."""

BLOCK = 1 << 15
"""Nights in a block: its arrays fill half a second-level cache in single precision."""

FURTHEST = 5.3
"""Spreads beyond which the normal function is level: 6e-8 from the end. [1]"""

NORMAL = (
    1.5957644,
    0.07268944,
    -8.98448047e-05,
    -0.000100698087,
    6.19344896e-06,
    -1.32604277e-07,
)
"""Log-odds of the normal function over its argument, in even powers; fitted here to an
error of 2.3e-7 (3.2e-7 in single precision) up to `FURTHEST`."""

INPUTS = (
    "bedtime",
    "coldest",
    "ground",
    "dry_drop",
    "sky_cooling",
    "bedtime_vapour",
    "cold_vapour",
    "spread",
    "wet_share",
    "rain",
    "heavy",
    "drying",
    "wind",
)
"""What the kernel takes for every night, in this order.

Temperatures [degC]; drop, cooling and spread [K]; vapour [kPa]; share of wet days [0 to 1];
rain of all days [mm day-1]; chance of a heavy day [0 to 1]; drying power of a wet day
[kPa h]; wind at the camp [m s-1], None where it is not assessed.
"""

CORE = (*FACTORS, "sound_share")
"""Float results of `kit_risks`, in this order; the limiting factor follows them."""

PARTS = ("cold_dry", "cold_wet", "heat_dry", "heat_wet", "wet_on_wet_days")
"""What `kit_risks` returns besides."""

_LEAST_SPREAD = 0.01  # [K], keeps a night without spread a step, not a division by zero
_LEAST_VAPOUR = 1e-3  # [kPa], dewpoint -58 degC: any fabric stays dry
_MOST_LOG = 1e4  # stands for -log(0): even the smallest exponent then gives certainty
_FEWEST_FOR_NUMBA = 200_000  # below, loading the compiled code takes longer than numpy
_MOST_LIMITS = 2  # of one kind that the compiled code unrolls


class ColdNumbers(NamedTuple):
    """A cold limit over the weight of the air: cold below base + sky s - ground g."""

    base: float
    ground: float
    sky: float


class HotNumbers(NamedTuple):
    """A heat limit, the lesser of dry - slope e and cap; a careful margin is taken off both."""

    dry: float
    slope: float
    cap: float


class ModeNumbers(NamedTuple):
    """A mode's limits, and what it adds to warmth, vapour and fabric."""

    cold: tuple[ColdNumbers, ...]
    hot: tuple[HotNumbers, ...]
    heating: float
    vapour: float
    face: float
    face_sky: float


class KitNumbers(NamedTuple):
    """A kit, its sleepers and the settings, as the arithmetic uses them."""

    zero: float
    one: float
    dry: ModeNumbers
    closed: ModeNumbers
    wet: ModeNumbers
    same_cold: bool
    same_heat: bool
    awning: bool
    asleep: float
    at_work: float
    leak: float
    leak_in_wind: float
    pitching: float
    ponding: float
    undried: float
    per_soaked: float
    wind_limit: float
    awning_limit: float
    weight: float
    per_condensation: float
    lowest: float
    highest: float


class Terms(NamedTuple):
    """What `kit_risks` needs of a night that is the same for every kit."""

    air_dry: np.ndarray
    air_wet: np.ndarray
    ground: np.ndarray
    sky: np.ndarray
    per_spread: np.ndarray
    per_heat_spread: np.ndarray
    bedtime: np.ndarray
    bed_vapour: np.ndarray
    bed_saturation: np.ndarray
    cold_vapour: np.ndarray
    wet_share: np.ndarray
    per_wet: np.ndarray
    log_dry: np.ndarray
    heavy: np.ndarray
    run: np.ndarray
    drying: np.ndarray
    wind: np.ndarray | None


def night_terms(night: Sequence[np.ndarray], clear_sky: float, heat_spread: float) -> Terms:
    """
    Return what is the same for every kit.

    Parameters
    ----------
    night : sequence of arrays
        As `INPUTS` lists them.
    clear_sky : float
        Share of a clear sky's cooling on a dry night. [0 to 1]
    heat_spread : float
        Spread of the heat limit. [K]

    Returns
    -------
    Terms
    """
    n = dict(zip(INPUTS, night, strict=True))
    spread = np.maximum(n["spread"], _LEAST_SPREAD)
    wet, rain = n["wet_share"], n["rain"]
    rains = (wet > 0) & (rain > 0)
    # Multiplying by zero keeps missing values missing where there is no rain.
    per_wet = rains / np.maximum(wet, 1e-9) + 0.0 * rain
    return Terms(
        air_dry=n["coldest"] - n["dry_drop"],
        air_wet=n["coldest"],
        ground=n["ground"],
        sky=clear_sky * n["sky_cooling"],
        per_spread=1 / spread,
        per_heat_spread=1 / np.sqrt(spread * spread + heat_spread * heat_spread),
        bedtime=n["bedtime"],
        bed_vapour=n["bedtime_vapour"],
        bed_saturation=saturation(n["bedtime"]),
        cold_vapour=np.maximum(n["cold_vapour"], _LEAST_VAPOUR),
        wet_share=wet,
        per_wet=per_wet,
        log_dry=np.maximum(np.log(1 - np.minimum(wet, 1)), -_MOST_LOG),
        heavy=np.minimum(n["heavy"] * per_wet, 1),
        run=np.square(0.25 + 0.75 * wet),
        drying=n["drying"],
        wind=None if n["wind"] is None else -np.pi / 4 / np.square(n["wind"]),
    )


def normal(deviations: np.ndarray) -> np.ndarray:
    """
    Return the normal distribution function.

    Parameters
    ----------
    deviations : float array
        [1]

    Returns
    -------
    same shape and type
        Exact in double precision; in single precision within 4e-7.

    Examples
    --------
    >>> float(normal(np.array([0.0]))[0])
    0.5
    """
    if deviations.dtype != np.float32:
        return ndtr(deviations)
    z = np.clip(deviations, -FURTHEST, FURTHEST)
    square = z * z
    odds = np.float32(NORMAL[-1]) * square
    for coefficient in NORMAL[-2:0:-1]:
        odds += coefficient
        odds *= square
    odds += NORMAL[0]
    odds *= z
    odds *= 0.5
    odds = np.tanh(odds)
    odds *= 0.5
    odds += 0.5
    return odds


def chill(limits, kit, air, ground, sky, per_spread):
    """Return the chance that the coldest sleeper is below the limit."""
    most = kit.lowest
    for limit in limits:
        most = maximum(most, limit.base + limit.sky * sky - limit.ground * ground)
    return normal((most - air) * per_spread)


def swelter(mode, kit, bedtime, vapour, saturated, per_spread):
    """Return the chance that the most heat-sensitive sleeper lies awake."""
    # What the fabric cannot hold as vapour it takes as water: it is as cold as outside.
    inside = minimum(vapour + mode.vapour, saturated)
    least = kit.highest
    for limit in mode.hot:
        least = minimum(least, minimum(limit.dry - limit.slope * inside, limit.cap))
    return normal((bedtime + mode.heating - least) * per_spread)


def drip(mode, kit, dew, air, sky):
    """Return the chance that the fabric's inner face is below the dewpoint inside."""
    face = air + mode.face - mode.face_sky * sky
    return normal((dew - face) * kit.per_condensation)


def kit_risks(
    air_dry,
    air_wet,
    ground,
    sky,
    per_spread,
    per_heat_spread,
    bedtime,
    bed_vapour,
    bed_saturation,
    cold_vapour,
    wet_share,
    per_wet,
    log_dry,
    heavy,
    run,
    drying,
    wind,
    kit,
):
    """
    Return the risks of one kit: `CORE`, then `PARTS`.

    Written so that numpy runs it on arrays and numba on numbers: no choice depends on a
    night, constants come with the kit so that they have its precision, and the functions
    it calls are looked up by name. Arguments are the fields of `Terms`, and a kit.
    """
    one, clear, cloudy = kit.one, sky, kit.zero
    dry, closed, wet = kit.dry, kit.closed, kit.wet

    cold_dry = chill(closed.cold, kit, air_dry, ground, clear, per_spread)
    cold_wet = chill(closed.cold, kit, air_wet, ground, cloudy, per_spread)
    closes = cold_dry
    if not kit.same_cold:
        closes = chill(dry.cold, kit, air_dry, ground, clear, per_spread)

    heat_dry = swelter(dry, kit, bedtime, bed_vapour, bed_saturation, per_heat_spread)
    heat_wet = heat_dry
    if not kit.same_heat:
        heat_wet = swelter(wet, kit, bedtime, bed_vapour, bed_saturation, per_heat_spread)

    dew_closed = dewpoint(cold_vapour + closed.vapour)
    dew_dry, dew_wet = dewpoint(cold_vapour + dry.vapour), dew_closed
    drips_dry = drip(dry, kit, dew_dry, air_dry, clear)
    drips_dry = drips_dry + closes * (drip(closed, kit, dew_closed, air_dry, clear) - drips_dry)
    if kit.awning:
        dew_wet = dew_dry
    drips_wet = drip(wet, kit, dew_wet, air_wet, cloudy)

    leak = kit.leak
    if wind is not None:
        down = exp(wind * kit.awning_limit)
        leak = kit.leak + kit.leak_in_wind * down
        if kit.awning:
            shut = swelter(closed, kit, bedtime, bed_vapour, bed_saturation, per_heat_spread)
            heat_wet = heat_wet + down * (shut - heat_wet)
            drips_wet = drips_wet + down * (
                drip(closed, kit, dew_closed, air_wet, cloudy) - drips_wet
            )
    asleep = minimum((one - exp(kit.asleep * log_dry)) * per_wet, one)
    kept_dry = one - leak * asleep
    kept_dry = kept_dry * (
        one - kit.pitching * minimum((one - exp(kit.at_work * log_dry)) * per_wet, one)
    )
    damp = one - minimum(drying * kit.per_soaked, one)
    kept_dry = kept_dry * (one - kit.ponding * heavy) * (one - kit.undried * run * damp)
    soaked = one - kept_dry

    drips_dry = kit.weight * drips_dry
    drips_wet = kit.weight * drips_wet
    sound_dry = (one - minimum(cold_dry + heat_dry, one)) * (one - drips_dry)
    sound_wet = (one - minimum(cold_wet + heat_wet, one)) * (one - drips_wet) * kept_dry
    share = sound_dry + wet_share * (sound_wet - sound_dry)
    gale = cloudy
    if wind is not None:
        gale = exp(wind * kit.wind_limit)
        share = share * (one - gale)
    return (
        cold_dry + wet_share * (cold_wet - cold_dry),
        heat_dry + wet_share * (heat_wet - heat_dry),
        wet_share * soaked,
        gale,
        drips_dry + wet_share * (drips_wet - drips_dry),
        share,
        cold_dry,
        cold_wet,
        heat_dry,
        heat_wet,
        soaked,
    )


def limiting_factor(factors: Sequence[np.ndarray], share: np.ndarray) -> np.ndarray:
    """
    Return which factor spoils most nights.

    Parameters
    ----------
    factors : sequence of arrays
        Probabilities in the order of `FACTORS`; NaN throughout where not assessed.
    share : array
        Share of sound nights; NaN where an input is missing.

    Returns
    -------
    int8 array
        Position in `FACTORS`, `NO_FACTOR` or `MISSING_FACTOR`.

    Examples
    --------
    >>> limiting_factor([np.array([0.1, 0.0]), np.array([0.3, 0.0])], np.array([0.6, 1.0]))
    array([ 1, -1], dtype=int8)
    """
    largest = np.full(np.shape(share), LEAST_RISK, np.result_type(share))
    which = np.full(np.shape(share), NO_FACTOR, np.int8)
    for position, risk in enumerate(factors):
        # Small integers times 0 or 1: choosing by mask would take ten times longer.
        larger = np.greater(risk, largest).astype(np.int8)
        which += (np.int8(position) - which) * larger
        largest = np.fmax(largest, risk)
    missing = np.isnan(share).astype(np.int8)
    return which + (np.int8(MISSING_FACTOR) - which) * missing


def walked(
    night: Sequence[np.ndarray | None],
    kits: Sequence[KitNumbers],
    clear_sky: float,
    heat_spread: float,
    keep: Sequence[str],
    explain: Sequence[Callable] = (),
    explained: int = 0,
    engine: str = "auto",
    workers: int | None = None,
) -> tuple[np.ndarray, ...]:
    """
    Return the results of every kit on every night.

    Parameters
    ----------
    night : sequence of arrays
        As `INPUTS` lists them, of shapes that broadcast.
    kits : sequence of KitNumbers
    clear_sky, heat_spread : float
        As `night_terms` takes them.
    keep : sequence of str
        Names out of `CORE` to return; writing results takes as long as finding them.
    explain : sequence of callables, optional
        One a kit: takes terms and parts of a block, returns `explained` more arrays.
    explained : int
        How many arrays those return.
    engine : {"auto", "numpy", "numba"}
        "auto" takes numba, where installed, for many nights in single precision.
    workers : int, optional
        Threads; as many as processors by default.

    Returns
    -------
    tuple of arrays, shape (kits, ...)
        Those of `keep`, the limiting factor (int8), and what `explain` adds.
    """
    kind = np.result_type(*(array for array in night if array is not None))
    shape = np.broadcast_shapes(*(array.shape for array in night if array is not None))
    count = int(np.prod(shape))
    flat = [_flat(array, shape, kind) for array in night]
    floats = [np.empty((len(kits), count), kind) for _ in range(len(keep) + explained)]
    which = np.empty((len(kits), count), np.int8)
    kept = [CORE.index(name) for name in keep]
    risks = _numpy_risks
    if not explain and _compiles(engine, kits, kind, count):
        # Imported here because it needs numba, an extra that takes a while to load.
        from sheltermap.suitability import compiled

        risks, kits = compiled.risks, [compiled.single_precision(kit) for kit in kits]

    def walk(start):
        here = slice(start, min(start + BLOCK, count))
        with np.errstate(all="ignore"):
            block = [a if a is None or a.ndim == 0 else a[here] for a in flat]
            terms = night_terms(block, clear_sky, heat_spread)
            for row, (results, factor) in enumerate(risks(terms, kits)):
                which[row, here] = factor
                for target, position in zip(floats, kept, strict=False):
                    target[row, here] = results[position]
                if explain:
                    # A night that misses an input has no explanation either.
                    known = 0.0 * results[len(FACTORS)]
                    more = explain[row](terms, results[len(CORE) :])
                    for target, value in zip(floats[len(kept) :], more, strict=True):
                        target[row, here] = value + known

    starts = range(0, count, BLOCK)
    workers = workers or os.cpu_count() or 1
    if len(starts) < 2 or workers == 1:
        for start in starts:
            walk(start)
    else:
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(walk, starts))
    ordered = (*floats[: len(kept)], which, *floats[len(kept) :])
    return tuple(values.reshape(len(kits), *shape) for values in ordered)


def _numpy_risks(terms, kits):
    """Yield each kit's `CORE` and `PARTS` on a block, and its limiting factor."""
    wind = FACTORS.index("wind")
    for kit in kits:
        results = kit_risks(*terms, kit)
        if terms.wind is None:
            results = (*results[:wind], np.nan, *results[wind + 1 :])
        yield results, limiting_factor(results[: len(FACTORS)], results[len(FACTORS)])


def _flat(array, shape, kind):
    """Return an array as one row; a single value stays one."""
    if array is None:
        return None
    array = np.asarray(array, kind)
    if array.size == 1 and np.prod(shape) > 1:
        return array.reshape(())
    return np.broadcast_to(array, shape).reshape(-1)


def _compiles(engine, kits, kind, count):
    """Return whether numba is wanted, there, and able."""
    if engine == "numpy" or kind != np.float32:
        return False
    few = all(
        len(limits) <= _MOST_LIMITS
        for kit in kits
        for mode in (kit.dry, kit.closed, kit.wet)
        for limits in (mode.cold, mode.hot)
    )
    return few and (engine == "numba" or (count >= _FEWEST_FOR_NUMBA and _has_numba()))


@cache
def _has_numba():
    """Return whether numba can be imported."""
    from importlib.util import find_spec

    return find_spec("numba") is not None
