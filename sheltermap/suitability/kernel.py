"""The kernel: the arithmetic of a night, stated once for numpy and for numba.

In: a block of nights as `INPUTS` lists them and a kit as plain numbers. Out: the kit's
risks. Assumes arrays of one length, short enough for a cache: ``suitability.blocks``
walks larger ones. Which mode a kit is in, and why the factors combine so, stands in
``suitability.combination``.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy import exp, log, maximum, minimum, sqrt
from scipy.special import ndtr

from sheltermap.air import saturated_temperature as dewpoint
from sheltermap.air import saturation
from sheltermap.night.rain import tail_at
from sheltermap.vocabulary import FACTORS

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
    "vapour_deficit",
    "daylight",
    "wind",
)
"""What the kernel takes for every night, in this order.

Temperatures [degC]; drop, cooling and spread [K]; vapour [kPa]; share of wet days [0 to 1];
rain of all days [mm day-1]; vapour deficit by day [kPa]; daylight [h]; wind at the camp
[m s-1], None where it is not assessed.
"""

CORE = (*FACTORS, "sound_share")
"""Float results of `kit_risks`, in this order; the limiting factor follows them."""

PARTS = ("cold_dry", "cold_wet", "heat_dry", "heat_wet", "wet_on_wet_days")
"""What `kit_risks` returns besides."""
LEAST_SPREAD = 0.01  # [K], keeps a night without spread a step, not a division by zero
LEAST_VAPOUR = 1e-3  # [kPa], dewpoint -58 degC: any fabric stays dry
MOST_LOG = 1e4  # stands for -log(0): even the smallest exponent then gives certainty
FEW, MANY = 1e-9, 1e9  # of wet days or mm: none, and enough to tell some from none
THREE, SIXTEEN = 3.0, 16.0  # P(wet | wet) is (1 + 3 f) / 4, twice over
MINUS_QUARTER_PI = -np.pi / 4  # in the exponent of Rayleigh's distribution


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


def heavy_share(night, tails):
    """
    Return the chance of a heavy day given that it is wet.

    It stands apart because a table is looked up, which numpy does faster than numba.

    Parameters
    ----------
    night : sequence of arrays
        As `INPUTS` lists them.
    tails : array
        From ``night.rain.heavy_tails``.

    Returns
    -------
    array
        [0 to 1] Anything where it never rains or an input is missing.
    """
    wet, rain = night[INPUTS.index("wet_share")], night[INPUTS.index("rain")]
    return tail_at(tails, log(at_least(rain, FEW) / at_least(wet, FEW)))


def night_terms(
    bedtime,
    coldest,
    ground,
    dry_drop,
    sky_cooling,
    bedtime_vapour,
    cold_vapour,
    spread,
    wet_share,
    rain,
    vapour_deficit,
    daylight,
    wind,
    heavy,
    numbers,
):
    """
    Return what is the same for every kit: the fields of `Terms`.

    Written for numpy and numba alike, as `kit_risks` is. Arguments are `INPUTS`, what
    `heavy_share` returns, and `NightNumbers`.
    """
    one = numbers.one
    spread = at_least(spread, LEAST_SPREAD)
    rains = at_most(at_least(minimum(wet_share, rain), one - one) * MANY, one)
    # Multiplying by zero keeps missing values missing where there is no rain.
    per_wet = rains / at_least(wet_share, FEW) + (rain - rain)
    run = one + THREE * wet_share
    return (
        coldest - dry_drop,
        coldest,
        ground,
        numbers.clear_sky * sky_cooling,
        one / spread,
        one / sqrt(spread * spread + numbers.heat_variance),
        bedtime,
        bedtime_vapour,
        saturation(bedtime),
        at_least(cold_vapour, LEAST_VAPOUR),
        wet_share,
        per_wet,
        at_least(log(one - at_most(wet_share, one)), -MOST_LOG),
        rains * heavy,
        run * run / SIXTEEN,
        numbers.drying * vapour_deficit * daylight,
        None if wind is None else MINUS_QUARTER_PI / (wind * wind),
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
        Exact in double precision; in single precision within 4e-7, and one number where
        all are beyond `FURTHEST`.

    Examples
    --------
    >>> float(normal(np.array([0.0]))[0])
    0.5
    """
    if deviations.dtype != np.float32:
        return ndtr(deviations)
    # Whole blocks lie far from any limit: no cold in the tropics, no heat in winter.
    if deviations.max() < -FURTHEST:
        return np.float32(0.0)
    if deviations.min() > FURTHEST:
        return np.float32(1.0)
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


def at_least(values, limit):
    """Return values, or the limit where they are below it; missing stays missing."""
    return np.clip(values, limit, np.inf)  # twice as fast as np.maximum with a number


def at_most(values, limit):
    """Return values, or the limit where they are above it; missing stays missing."""
    return np.clip(values, -np.inf, limit)


def coldest_allowed(limit, ground, sky):
    """Return the air temperature at one sleeper's cold limit."""
    return limit.base + limit.sky * sky - limit.ground * ground


def chill(limits, air, ground, sky, per_spread):
    """Return the chance that the coldest sleeper is below the limit."""
    needed = coldest_allowed(limits[0], ground, sky)
    for i in range(1, len(limits)):
        needed = maximum(needed, coldest_allowed(limits[i], ground, sky))
    return normal((needed - air) * per_spread)


def warmest_allowed(limit, vapour):
    """Return the temperature inside at one sleeper's heat limit."""
    return at_most(limit.dry - limit.slope * vapour, limit.cap)


def swelter(mode, bedtime, vapour, saturated, per_spread):
    """Return the chance that the most heat-sensitive sleeper lies awake."""
    # What the fabric cannot hold as vapour it takes as water: it is as cold as outside.
    inside = minimum(vapour + mode.vapour, saturated)
    warmest = warmest_allowed(mode.hot[0], inside)
    for i in range(1, len(mode.hot)):
        warmest = minimum(warmest, warmest_allowed(mode.hot[i], inside))
    return normal((bedtime + mode.heating - warmest) * per_spread)


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
    open_cold,
    wet_mode,
    awning,
    dry_cold,
    dry_face,
):
    """
    Return the risks of one kit: `CORE`, then `PARTS`.

    Written so that numpy runs it on arrays and numba on numbers: no choice depends on a
    night, constants come with the kit so that they have its precision, and the functions
    it calls are looked up by name. Arguments are the fields of `Terms`, a kit, and the
    fields of `Choices`.
    """
    one, cloudy = kit.one, kit.zero
    dry, closed, wet = kit.dry, kit.closed, kit.wet

    cold_dry = chill(closed.cold, air_dry, ground, sky, per_spread)
    cold_wet = cold_dry
    if dry_cold is not None:
        cold_wet = chill(closed.cold, air_wet, ground, cloudy, per_spread)
    closes = cold_dry
    if open_cold is not None:
        closes = chill(open_cold, air_dry, ground, sky, per_spread)

    heat_dry = swelter(dry, bedtime, bed_vapour, bed_saturation, per_heat_spread)
    heat_wet = heat_dry
    if wet_mode is not None:
        heat_wet = swelter(wet_mode, bedtime, bed_vapour, bed_saturation, per_heat_spread)

    dew_dry = dewpoint(cold_vapour + dry.vapour)
    dew_closed = dewpoint(cold_vapour + closed.vapour)
    drips_open = drip(dry, kit, dew_dry, air_dry, sky)
    drips_closed = drip(closed, kit, dew_closed, air_dry, sky)
    drips_dry = drips_open + closes * (drips_closed - drips_open)
    if dry_face is not None:
        drips_closed = drip(closed, kit, dew_closed, air_wet, cloudy)
    leak, drips_wet = kit.leak, drips_closed
    if awning is not None:
        drips_wet = drips_open
        if dry_face is not None:
            drips_wet = drip(wet, kit, dew_dry, air_wet, cloudy)
        if wind is not None:
            # Wind takes the awning in; then the kit is closed.
            down = exp(wind * kit.awning_limit)
            leak = leak + kit.leak_in_wind * down
            shut = swelter(closed, bedtime, bed_vapour, bed_saturation, per_heat_spread)
            heat_wet = heat_wet + down * (shut - heat_wet)
            drips_wet = drips_wet + down * (drips_closed - drips_wet)

    asleep = at_most((one - exp(kit.asleep * log_dry)) * per_wet, one)
    at_work = at_most((one - exp(kit.at_work * log_dry)) * per_wet, one)
    damp = one - at_most(drying * kit.per_soaked, one)
    kept_dry = (one - leak * asleep) * (one - kit.pitching * at_work)
    kept_dry = kept_dry * (one - kit.ponding * heavy) * (one - kit.undried * run * damp)
    soaked = one - kept_dry

    drips_dry = kit.weight * drips_dry
    drips_wet = kit.weight * drips_wet
    sound_dry = (one - at_most(cold_dry + heat_dry, one)) * (one - drips_dry)
    sound_wet = (one - at_most(cold_wet + heat_wet, one)) * (one - drips_wet) * kept_dry
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
