"""Vectors: the questions answered and the kits' risks found with numpy alone.

In: a block of nights, questions, kits. Out: each kit's risks. Assumes arrays short enough
for a cache. All questions of one topic go through the arithmetic at once, a row each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from itertools import accumulate

import numpy as np

from sheltermap.air import saturated_temperature as dewpoint
from sheltermap.night.rain import tail_at
from sheltermap.suitability import kernel
from sheltermap.suitability.kernel import INPUTS, LEAST_RISK, Terms
from sheltermap.suitability.questions import ROWS, KitTable, NightNumbers, Questions
from sheltermap.vocabulary import FACTORS, MISSING_FACTOR, NO_FACTOR

_WIND = FACTORS.index("wind")
_AT_ONCE = 2
"""Rows whose normal functions are found at once: it takes two dozen steps, each of which
would go through the memory that more rows need."""


def risks(
    night: Sequence[np.ndarray | None],
    tails: np.ndarray,
    numbers: NightNumbers,
    asked: Questions,
    kits: KitTable,
    answers: np.ndarray,
) -> Iterator[tuple[tuple[np.ndarray, ...], np.ndarray, Terms, tuple[np.ndarray, ...]]]:
    """
    Yield each kit's risks on a block of nights.

    Parameters
    ----------
    night : sequence of arrays, shape (nights,) or ()
        As ``kernel.INPUTS`` lists them.
    tails : array
        From ``night.rain.heavy_tails``.
    numbers : NightNumbers
    asked : Questions
    kits : KitTable
    answers : array, shape (questions, nights)
        Room to work in; fresh memory for every block would cost a fifth of the time.

    Yields
    ------
    tuple of arrays, shape (nights,)
        As ``kernel.CORE`` lists them.
    int8 array, shape (nights,)
        Limiting factor.
    Terms
    tuple of arrays, shape (nights,)
        As ``kernel.PARTS`` lists them.
    """
    named = dict(zip(INPUTS, night, strict=True))
    heavy = tail_at(tails, kernel.log_mean(named["wet_share"], named["rain"]))
    terms = Terms(*kernel.night_terms(*night, heavy, numbers))
    _answer(answers, terms, numbers, asked)
    for kit, (leak, leak_in_wind, pitching, weight) in enumerate(zip(*kits[2:], strict=True)):
        a = {name: answers[row] for name, row in zip(ROWS, kits.rows[:, kit], strict=True)}
        heat_wet, drips_wet, leaks = a["heat_wet"], a["drips_wet"], leak * a["asleep"]
        if kits.awning[kit]:
            # Wind takes the awning in; then the kit is shut, and leaks.
            heat_wet = kernel.mixed(heat_wet, a["heat_shut"], a["down"])
            drips_wet = kernel.mixed(drips_wet, a["drips_shut"], a["down"])
            leaks += leak_in_wind * a["down"] * a["asleep"]
        kept = kernel.kept_dry(leaks, pitching, a["at_work"], a["unponded"], a["dried"])
        core = kernel.kit_risks(
            a["cold_dry"],
            a["cold_wet"],
            a["heat_dry"],
            heat_wet,
            kernel.mixed(a["drips_open"], a["drips_closed"], a["closes"]),
            drips_wet,
            kept,
            kernel.ZERO if terms.wind is None else a["gale"],
            terms.wet_share,
            weight,
        )
        if terms.wind is None:
            core = (*core[:_WIND], np.full_like(kept, np.nan), *core[_WIND + 1 :])
        parts = (a["cold_dry"], a["cold_wet"], a["heat_dry"], heat_wet, kernel.ONE - kept)
        yield core, limiting_factor(core[:-1], core[-1]), terms, parts


def _answer(answers, terms, numbers, asked):
    """Fill in the answers to all questions, a row each, in the order of `TOPICS`."""
    asked, end = _columns(asked), 0

    def rows(questions):
        nonlocal end
        end += len(questions)
        return answers[end - len(questions) : end]

    cold, heat, drip = asked.cold, asked.heat, asked.drip
    colder = (
        kernel.too_cold(*one, cold.drop, terms.coldest, terms.drop, terms.ground, terms.sky)
        for one in zip(*cold[:3], strict=True)
    )
    np.multiply(reduce(np.maximum, colder), terms.per_spread, out=rows(cold.drop))
    inside = kernel.vapour_inside(heat.vapour, terms.bed_vapour, terms.bed_saturation)
    hotter = (
        kernel.too_hot(*one, heat.heating, inside, terms.bedtime)
        for one in zip(*heat[:3], strict=True)
    )
    np.multiply(reduce(np.maximum, hotter), terms.per_heat_spread, out=rows(heat.heating))
    dew = dewpoint(terms.cold_vapour + asked.dewpoint)[drip.dewpoint[:, 0]]
    dewier = kernel.too_dewy(*drip[1:], dew, terms.coldest, terms.drop, terms.sky)
    np.multiply(dewier, numbers.per_condensation, out=rows(drip.face))
    for row in range(0, end, _AT_ONCE):
        few = answers[row : min(row + _AT_ONCE, end)]
        kernel.normal(few, out=few)
    rows(asked.rain)[:] = kernel.rainy(asked.rain, terms.log_dry, terms.per_wet)
    rows(asked.pond)[:] = kernel.unponded(asked.pond, terms.heavy)
    rows(asked.damp.undried)[:] = kernel.dried(*asked.damp, terms.drying, terms.run)
    if terms.wind is not None:
        rows(asked.gale)[:] = kernel.too_windy(asked.gale, terms.wind)


def _columns(table):
    """Return a table of numbers with each as a column, to stand against rows of nights."""
    if isinstance(table, np.ndarray):
        return table[..., np.newaxis]
    return type(table)(*(_columns(part) for part in table))


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
    # The largest so far, after each factor: it stays below the last one until the largest
    # factor has come. Sums of comparisons, as choosing by mask takes ten times longer.
    *so_far, largest = accumulate(factors, np.fmax)
    which = sum(np.less(each, largest).view(np.int8) for each in so_far)
    for code, applies in ((NO_FACTOR, largest < LEAST_RISK), (MISSING_FACTOR, np.isnan(share))):
        which += applies.view(np.int8) * (np.int8(code) - which)
    return which
