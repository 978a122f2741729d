"""The kernel, compiled: what the optional extra ``speed`` adds.

In: a block of nights, questions, kits. Out: the same results as from
``suitability.vectors``. Assumes numba is installed and single precision. The arithmetic is
the kernel's source, compiled with the functions of ``suitability.elementary``, because only
those become vector code; the loops below are meant to be compiled, not called as they are.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from types import FunctionType

import numpy as np

from sheltermap import air
from sheltermap.night import rain
from sheltermap.suitability import elementary, kernel
from sheltermap.suitability.elementary import at_least, at_most, dewpoint, maximum, normal
from sheltermap.suitability.kernel import (
    dried,
    kept_dry,
    kit_risks,
    log_mean,
    mixed,
    night_terms,
    rainy,
    too_cold,
    too_dewy,
    too_hot,
    too_windy,
    unponded,
    vapour_inside,
)
from sheltermap.suitability.questions import ROWS, KitTable, NightNumbers, Questions
from sheltermap.vocabulary import MISSING_FACTOR, NO_FACTOR

_KERNEL = (
    log_mean,
    night_terms,
    too_cold,
    vapour_inside,
    too_hot,
    too_dewy,
    rainy,
    unponded,
    dried,
    too_windy,
    mixed,
    kept_dry,
    kit_risks,
)

_NIGHTS = 512
"""Nights at a time: their rows fit a second-level cache."""
_INPUTS, _TERMS, _RESULTS = len(kernel.INPUTS), len(kernel.Terms._fields), len(kernel.CORE)
_WET_SHARE_IN, _RAIN_IN = kernel.INPUTS.index("wet_share"), kernel.INPUTS.index("rain")
_HEAVY_IN = _INPUTS
(
    _COLDEST,
    _DROP,
    _GROUND,
    _SKY,
    _PER_SPREAD,
    _PER_HEAT_SPREAD,
    _BEDTIME,
    _BED_VAPOUR,
    _BED_SATURATION,
    _COLD_VAPOUR,
    _WET_SHARE,
    _PER_WET,
    _LOG_DRY,
    _HEAVY,
    _RUN,
    _DRYING,
    _WIND,
) = range(_HEAVY_IN + 1, _HEAVY_IN + 1 + _TERMS)
_CHANCES = _HEAVY_IN + 1 + _TERMS
_RISKS = _CHANCES + 8
_DEWPOINTS = _RISKS + _RESULTS + 1
"""Rows: first inputs and heavy days, then terms, a kit's chances, its risks with the limiting
factor, then dewpoints, then all answers."""
(
    _COLD_DRY,
    _COLD_WET,
    _CLOSES,
    _HEAT_DRY,
    _HEAT_WET,
    _HEAT_SHUT,
    _DRIPS_OPEN,
    _DRIPS_CLOSED,
    _DRIPS_WET,
    _DRIPS_SHUT,
    _ASLEEP,
    _AT_WORK,
    _UNPONDED,
    _DRIED,
    _GALE,
    _DOWN,
) = range(len(ROWS))
_FIRST_NODE, _PER_NODE = np.float32(rain.FIRST_NODE), np.float32(1 / rain.NODE_STEP)
_WIND_RISK = kernel.CORE.index("wind")
_ZERO, _LEAST_RISK, _MISSING = map(np.float32, (0, kernel.LEAST_RISK, np.nan))
_NO_FACTOR, _MISSING_FACTOR = np.float32(NO_FACTOR), np.float32(MISSING_FACTOR)
_BY_COLD, _BY_HEAT, _BY_WET, _BY_WIND, _BY_CONDENSATION = (np.float32(i) for i in range(5))


# One array holds all rows, each of a length known beforehand: only then can the compiler
# see that what a loop writes is not what it reads, and take many nights at a time.


def prepare(rows, tails, numbers):
    """Fill the rows of heavy days and terms from those of inputs."""
    for i in range(_NIGHTS):
        mean = log_mean(rows[_WET_SHARE_IN * _NIGHTS + i], rows[_RAIN_IN * _NIGHTS + i])
        place = (mean - _FIRST_NODE) * _PER_NODE
        rows[_HEAVY_IN * _NIGHTS + i] = at_most(at_least(place, _ZERO), np.float32(len(tails) - 2))
    for i in range(_NIGHTS):
        place = rows[_HEAVY_IN * _NIGHTS + i]
        # A missing place stays missing; any node serves it.
        node = int(place) if place == place else 0
        low = tails[node]
        rows[_HEAVY_IN * _NIGHTS + i] = low + (place - np.float32(node)) * (tails[node + 1] - low)
    for i in range(_NIGHTS):
        (t0, t1, t2, t3, t4, t5, t6, t7, t8, t9, t10, t11, t12, t13, t14, t15, t16) = night_terms(
            rows[0 * _NIGHTS + i],
            rows[1 * _NIGHTS + i],
            rows[2 * _NIGHTS + i],
            rows[3 * _NIGHTS + i],
            rows[4 * _NIGHTS + i],
            rows[5 * _NIGHTS + i],
            rows[6 * _NIGHTS + i],
            rows[7 * _NIGHTS + i],
            rows[8 * _NIGHTS + i],
            rows[9 * _NIGHTS + i],
            rows[10 * _NIGHTS + i],
            rows[11 * _NIGHTS + i],
            rows[12 * _NIGHTS + i],
            rows[_HEAVY_IN * _NIGHTS + i],
            numbers,
        )
        rows[_COLDEST * _NIGHTS + i] = t0
        rows[_DROP * _NIGHTS + i] = t1
        rows[_GROUND * _NIGHTS + i] = t2
        rows[_SKY * _NIGHTS + i] = t3
        rows[_PER_SPREAD * _NIGHTS + i] = t4
        rows[_PER_HEAT_SPREAD * _NIGHTS + i] = t5
        rows[_BEDTIME * _NIGHTS + i] = t6
        rows[_BED_VAPOUR * _NIGHTS + i] = t7
        rows[_BED_SATURATION * _NIGHTS + i] = t8
        rows[_COLD_VAPOUR * _NIGHTS + i] = t9
        rows[_WET_SHARE * _NIGHTS + i] = t10
        rows[_PER_WET * _NIGHTS + i] = t11
        rows[_LOG_DRY * _NIGHTS + i] = t12
        rows[_HEAVY * _NIGHTS + i] = t13
        rows[_RUN * _NIGHTS + i] = t14
        rows[_DRYING * _NIGHTS + i] = t15
        rows[_WIND * _NIGHTS + i] = t16


def row_of(rows, number):
    """Return one row."""
    return rows[number * _NIGHTS : (number + 1) * _NIGHTS]


def answer(rows, numbers, asked):
    """Fill the rows of dewpoints and of all answers from those of terms."""
    coldest, drop = row_of(rows, _COLDEST), row_of(rows, _DROP)
    ground, sky = row_of(rows, _GROUND), row_of(rows, _SKY)
    per_spread, per_heat_spread = row_of(rows, _PER_SPREAD), row_of(rows, _PER_HEAT_SPREAD)
    bedtime, bed_vapour = row_of(rows, _BEDTIME), row_of(rows, _BED_VAPOUR)
    bed_saturation, cold_vapour = row_of(rows, _BED_SATURATION), row_of(rows, _COLD_VAPOUR)
    per_wet, log_dry, heavy = row_of(rows, _PER_WET), row_of(rows, _LOG_DRY), row_of(rows, _HEAVY)
    run, drying, wind = row_of(rows, _RUN), row_of(rows, _DRYING), row_of(rows, _WIND)
    for question in range(len(asked.dewpoint)):
        out, gain = row_of(rows, _DEWPOINTS + question), asked.dewpoint[question]
        for i in range(_NIGHTS):
            out[i] = dewpoint(cold_vapour[i] + gain)
    number = _DEWPOINTS + len(asked.dewpoint)
    cold = asked.cold
    for question in range(len(cold.drop)):
        out, drops = row_of(rows, number), cold.drop[question]
        for sleeper in range(len(cold.base)):
            base, sees = cold.base[sleeper, question], cold.sky[sleeper, question]
            lies = cold.ground[sleeper, question]
            for i in range(_NIGHTS):
                colder = too_cold(base, lies, sees, drops, coldest[i], drop[i], ground[i], sky[i])
                out[i] = colder if sleeper == 0 else maximum(colder, out[i])
        for i in range(_NIGHTS):
            out[i] = normal(out[i] * per_spread[i])
        number += 1
    heat = asked.heat
    for question in range(len(heat.heating)):
        out, heating, gain = row_of(rows, number), heat.heating[question], heat.vapour[question]
        for sleeper in range(len(heat.dry)):
            dry, slope = heat.dry[sleeper, question], heat.slope[sleeper, question]
            cap = heat.cap[sleeper, question]
            for i in range(_NIGHTS):
                inside = vapour_inside(gain, bed_vapour[i], bed_saturation[i])
                hotter = too_hot(dry, slope, cap, heating, inside, bedtime[i])
                out[i] = hotter if sleeper == 0 else maximum(hotter, out[i])
        for i in range(_NIGHTS):
            out[i] = normal(out[i] * per_heat_spread[i])
        number += 1
    drip, per_condensation = asked.drip, numbers.per_condensation
    for question in range(len(drip.face)):
        out, dew = row_of(rows, number), row_of(rows, _DEWPOINTS + drip.dewpoint[question])
        face, sees, drops = drip.face[question], drip.face_sky[question], drip.drop[question]
        for i in range(_NIGHTS):
            dewy = too_dewy(face, sees, drops, dew[i], coldest[i], drop[i], sky[i])
            out[i] = normal(dewy * per_condensation)
        number += 1
    for question in range(len(asked.rain)):
        out, exponent = row_of(rows, number), asked.rain[question]
        for i in range(_NIGHTS):
            out[i] = rainy(exponent, log_dry[i], per_wet[i])
        number += 1
    for question in range(len(asked.pond)):
        out, ponding = row_of(rows, number), asked.pond[question]
        for i in range(_NIGHTS):
            out[i] = unponded(ponding, heavy[i])
        number += 1
    for question in range(len(asked.damp.undried)):
        out, undried = row_of(rows, number), asked.damp.undried[question]
        per_soaked = asked.damp.per_soaked[question]
        for i in range(_NIGHTS):
            out[i] = dried(per_soaked, undried, drying[i], run[i])
        number += 1
    for question in range(len(asked.gale)):
        out, limit = row_of(rows, number), asked.gale[question]
        for i in range(_NIGHTS):
            out[i] = too_windy(limit, wind[i])
        number += 1


def chances(rows, first, kits, kit, windy):
    """Fill the rows of one kit's chances from those of answers."""
    wanted = kits.rows[:, kit] + first
    for place, number in enumerate((_COLD_DRY, _COLD_WET, _HEAT_DRY, _HEAT_WET, _DRIPS_WET)):
        out, found = row_of(rows, _CHANCES + place), row_of(rows, wanted[number])
        for i in range(_NIGHTS):
            out[i] = found[i]
    drips, closes = row_of(rows, _CHANCES + 5), row_of(rows, wanted[_CLOSES])
    opened, closed = row_of(rows, wanted[_DRIPS_OPEN]), row_of(rows, wanted[_DRIPS_CLOSED])
    for i in range(_NIGHTS):
        drips[i] = mixed(opened[i], closed[i], closes[i])
    leak, more, pitching = kits.leak[kit], kits.leak_in_wind[kit], kits.pitching[kit]
    kept, asleep = row_of(rows, _CHANCES + 6), row_of(rows, wanted[_ASLEEP])
    at_work, pond = row_of(rows, wanted[_AT_WORK]), row_of(rows, wanted[_UNPONDED])
    dry, down = row_of(rows, wanted[_DRIED]), row_of(rows, wanted[_DOWN])
    if kits.awning[kit]:
        # Wind takes the awning in; then the kit is shut, and leaks.
        heat, heat_shut = row_of(rows, _CHANCES + 3), row_of(rows, wanted[_HEAT_SHUT])
        drips, drips_shut = row_of(rows, _CHANCES + 4), row_of(rows, wanted[_DRIPS_SHUT])
        for i in range(_NIGHTS):
            heat[i] = mixed(heat[i], heat_shut[i], down[i])
            drips[i] = mixed(drips[i], drips_shut[i], down[i])
        for i in range(_NIGHTS):
            leaks = (leak + more * down[i]) * asleep[i]
            kept[i] = kept_dry(leaks, pitching, at_work[i], pond[i], dry[i])
    else:
        for i in range(_NIGHTS):
            kept[i] = kept_dry(leak * asleep[i], pitching, at_work[i], pond[i], dry[i])
    gale, found = row_of(rows, _CHANCES + 7), row_of(rows, wanted[_GALE])
    for i in range(_NIGHTS):
        gale[i] = found[i] if windy else _ZERO


def conclude(rows, weight):
    """Fill a kit's results from its chances."""
    for i in range(_NIGHTS):
        cold, heat, wet, wind, condensation, share = kit_risks(
            rows[(_CHANCES + 0) * _NIGHTS + i],
            rows[(_CHANCES + 1) * _NIGHTS + i],
            rows[(_CHANCES + 2) * _NIGHTS + i],
            rows[(_CHANCES + 3) * _NIGHTS + i],
            rows[(_CHANCES + 5) * _NIGHTS + i],
            rows[(_CHANCES + 4) * _NIGHTS + i],
            rows[(_CHANCES + 6) * _NIGHTS + i],
            rows[(_CHANCES + 7) * _NIGHTS + i],
            rows[_WET_SHARE * _NIGHTS + i],
            weight,
        )
        largest, factor = _LEAST_RISK, _NO_FACTOR
        factor = _BY_COLD if cold > largest else factor
        largest = at_least(largest, cold)
        factor = _BY_HEAT if heat > largest else factor
        largest = at_least(largest, heat)
        factor = _BY_WET if wet > largest else factor
        largest = at_least(largest, wet)
        factor = _BY_WIND if wind > largest else factor
        largest = at_least(largest, wind)
        factor = _BY_CONDENSATION if condensation > largest else factor
        rows[(_RISKS + 0) * _NIGHTS + i] = cold
        rows[(_RISKS + 1) * _NIGHTS + i] = heat
        rows[(_RISKS + 2) * _NIGHTS + i] = wet
        rows[(_RISKS + 3) * _NIGHTS + i] = wind
        rows[(_RISKS + 4) * _NIGHTS + i] = condensation
        rows[(_RISKS + 5) * _NIGHTS + i] = share
        rows[(_RISKS + 6) * _NIGHTS + i] = factor if share == share else _MISSING_FACTOR


def walk(inputs, rows, tails, numbers, asked, kits, kept, floats, which, start):
    """Score all kits on a block of nights and put the results where they belong."""
    windy, first = len(asked.gale) > 0, _DEWPOINTS + len(asked.dewpoint)
    for begin in range(0, len(inputs[0]), _NIGHTS):
        count = min(_NIGHTS, len(inputs[0]) - begin)
        for number in range(len(inputs)):
            row, values = row_of(rows, number), inputs[number][begin : begin + count]
            for i in range(count):
                row[i] = values[i]
        prepare(rows, tails, numbers)
        answer(rows, numbers, asked)
        for kit in range(len(kits.leak)):
            chances(rows, first, kits, kit, windy)
            conclude(rows, kits.weight[kit])
            here = start + begin
            for place in range(len(kept)):
                out = floats[place, kit, here : here + count]
                row = row_of(rows, _RISKS + kept[place])
                for i in range(count):
                    out[i] = row[i]
                if kept[place] == _WIND_RISK and not windy:
                    out[:] = _MISSING
            factors, row = which[kit, here : here + count], row_of(rows, _RISKS + 6)
            for i in range(count):
                factors[i] = np.int8(row[i])


def _state() -> str:
    """
    Return a digest of all that the machine code is made from.

    The compiler's store on disk looks at one file; a change in another would find the
    former code there, and run it.
    """
    files = (__file__, elementary.__file__, kernel.__file__, air.__file__, rain.__file__)
    return hashlib.sha256(b"".join(Path(file).read_bytes() for file in files)).hexdigest()[:12]


@cache
def machine_code():
    """Return `walk` compiled, with the kernel's functions and those above."""
    import numba

    options = {"error_model": "numpy", "fastmath": {"contract"}, "nogil": True, "cache": True}
    try:
        numba.njit(**options)(row_of)
    except RuntimeError:  # nowhere to write: compile again in every process
        options["cache"] = False
    constants = {
        name: np.float32(value)
        for name, value in vars(kernel).items()
        if isinstance(value, (float, np.ndarray))
    }
    names, state = vars(elementary) | globals() | constants, _state()
    inlined = (*elementary.FUNCTIONS, *_KERNEL, row_of)
    for function in (*inlined, prepare, answer, chances, conclude, walk):
        copied = FunctionType(function.__code__, names, function.__name__)
        copied.__qualname__ = f"{function.__name__}_{state}"
        one_body = function in inlined  # so that the compiler can widen the loops
        names[function.__name__] = numba.njit(**options, forceinline=one_body)(copied)
    return names["walk"]


def fill(
    night: Sequence[np.ndarray | None],
    tails: np.ndarray,
    numbers: NightNumbers,
    asked: Questions,
    kits: KitTable,
    kept: Sequence[int],
    floats: np.ndarray,
    which: np.ndarray,
    start: int,
) -> None:
    """
    Put the kits' results on a block of nights where they belong.

    Parameters
    ----------
    night : sequence of arrays, shape (nights,) or ()
        As ``kernel.INPUTS`` lists them, in single precision.
    tails : array
        From ``night.rain.heavy_tails``.
    numbers : NightNumbers
    asked : Questions
    kits : KitTable
    kept : sequence of int
        Places in ``kernel.CORE`` of what is wanted.
    floats : array, shape (kept or more, kits, all nights)
        Filled from `start` on.
    which : int8 array, shape (kits, all nights)
        Limiting factor, filled from `start` on.
    start : int
    """
    count = max(np.size(values) for values in night if values is not None)
    inputs = tuple(
        np.full(count, 0.0 if values is None else values, np.float32)
        if values is None or values.ndim == 0
        else np.require(values, np.float32, ["C", "W"])
        for values in night
    )
    # Nights that a short block lacks are worked out too; ones are as good as any.
    rows = np.ones((_DEWPOINTS + len(asked.dewpoint) + asked.count) * _NIGHTS, np.float32)
    numbers = type(numbers)(*(np.float32(value) for value in numbers))
    machine_code()(inputs, rows, tails, numbers, asked, kits, np.array(kept), floats, which, start)
