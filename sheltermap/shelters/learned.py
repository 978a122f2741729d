"""Learned: how far one sleeper is from the usual one, from nights slept.

In: stays, each with the margin that the model gave a usual sleeper and how many of its nights
were too cold, or nearly. Out: the mean and the spread of that sleeper's offset in one bedding.
Cold and heat are learned apart, each by a call of its own; every sleeper is one call.

Unknown are the sleeper's offset ``p``, one offset ``b`` for each bedding (its label, and how it
suits this sleeper), the width ``w`` of what is called cool, and the error ``i`` of the
thermometer. A night with margin ``m`` is felt as ``x = m + p + b + i + c + e``:

* prior: p ~ N(0, 0.8 s) and b ~ N(0, 0.6 s), together N(0, s) with s the spread between people,
  2 K; w ~ N(3 K, 1.2 K) between 1 and 5 K; i ~ N(0, 0.5 K), the same on all measured nights,
  absent from others. In heat nobody counts on bedding: p ~ N(0, s) and b = 0;
* errors: e ~ N(0, `FELT_SPREAD`) is anew every night, with 1 K of where the thermometer hung or,
  unmeasured, with the spread of the season's nights; c ~ N(0, error of the climate) is shared
  by an unmeasured stay;
* likelihood: too cold where x < 0, cool where 0 <= x < w, fine otherwise. A stay tells how many
  nights were each, not which, so the sum over all orders counts. Nights of an unmeasured stay
  come in spells: half its log-likelihood;
* slips: 4 % of nights, and 10 % of stays as a whole, are answered at random;
* bounded influence: of `MANY_STAYS` or more, a stay that would move the offset by more than
  `LARGEST_MOVE` against all others has its log-likelihood shrunk until it does not.

The posterior is summed on a grid of offsets, not sampled. Assumes that stays are told whole: who
writes down bad nights only is taken for a cold sleeper, by 0.8 K in simulations.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import NamedTuple

import numpy as np

from sheltermap.vocabulary import Floats

FELT_SPREAD = 1.5
"""Spread of what one sleeper bears from night to night. [K] judgement: food, tiredness, damp"""

MEASURED_SPREAD = 1.0
"""Air at the bed against the thermometer's, anew every night. [K] judgement"""

INSTRUMENT_ERROR = 0.5
"""Of a household thermometer, the same on every night. [K] judgement"""

MANY_STAYS, LARGEST_MOVE = 10, 0.6
"""From how many stays on none moves the offset by more than so much. [1], [K] judgement"""

_NIGHT_SLIP, _STAY_SLIP = 0.04, 0.10  # [1] judgement: nights, and stays, answered at random
_SPELLS = 0.5  # [1] judgement: weather comes in spells, so a stay has fewer nights than it counts
_BEDDING_PART = 0.6  # [1] of the spread between people that is the bedding's; judgement

_GRID: Floats = np.linspace(-8.0, 8.0, 161)  # [K]
_WIDTHS: Floats = np.linspace(1.0, 5.0, 9)  # [K] what is cool above what is too cold
_WIDTH_WEIGHTS: Floats = np.exp(-0.5 * ((_WIDTHS - 3.0) / 1.2) ** 2)
_KINDS = 3  # too cold, cool, fine


class Offset(NamedTuple):
    """How much colder nights a sleeper bears than the usual one, and its spread. [K]"""

    mean: float
    spread: float

    @property
    def in_danger(self) -> float:
        """Return what counts of it towards danger: only what makes it worse. [K]"""
        return min(self.mean, 0.0)


@dataclass(frozen=True)
class OwnOffsets:
    """
    What is known of one sleeper's offsets.

    Attributes
    ----------
    in_bedding : tuple of (hashable, Offset)
        Against cold, in each bedding slept in.
    new_bedding : Offset
        Against cold, in any other.
    heat : Offset
        How much warmer bedtimes the sleeper bears.
    """

    in_bedding: tuple[tuple[Hashable, Offset], ...]
    new_bedding: Offset
    heat: Offset

    def cold(self, bedding: Hashable) -> Offset:
        """Return the offset against cold in a bedding."""
        return dict(self.in_bedding).get(bedding, self.new_bedding)


@dataclass(frozen=True)
class SleptStay:
    """
    Nights in one bedding and place, as one side, cold or heat, was felt.

    Attributes
    ----------
    margins : tuple of float
        What the model gave the usual sleeper to spare, one a night or one for all. [K]
    spread : float
        Of what the margins leave open, anew every night, without `FELT_SPREAD`. [K]
    shared_error : float
        Of all its margins together: the climate's; 0 where measured. [K]
    measured : bool
        Whether the margins come from a thermometer.
    nights, failed, nearly : int
        All nights, those too cold (or hot), and those cool (or warm).
    bedding : hashable
        What the offset of the bedding goes with.
    """

    margins: tuple[float, ...]
    spread: float
    shared_error: float
    measured: bool
    nights: int
    failed: int
    nearly: int
    bedding: Hashable = None

    def __post_init__(self) -> None:
        if len(self.margins) not in (1, self.nights):
            raise ValueError(f"expected 1 or {self.nights} margins, got {len(self.margins)}")
        if not 0 <= self.failed + self.nearly <= self.nights:
            raise ValueError("expected at most as many cold and cool nights as nights")


@dataclass(frozen=True, eq=False)
class Posterior:
    """
    What nights say of one sleeper.

    Attributes
    ----------
    spread : float
        Prior spread between people. [K]
    bedding_part : float
        Share of that spread which belongs to the bedding, as standard deviations. [0 to 1]
    likelihoods : dict of hashable to array, shape (widths, thermometers, offsets)
        Logarithm for each bedding slept in.
    """

    spread: float
    bedding_part: float
    likelihoods: dict[Hashable, Floats]

    def offset(self, bedding: Hashable = None) -> Offset:
        """
        Return the sleeper's offset in a bedding.

        Parameters
        ----------
        bedding : hashable
            One slept in, or a new one, which keeps what was learned of the person alone.

        Returns
        -------
        Offset
            The prior, exactly, where there are no nights.
        """
        if not self.likelihoods or self.spread == 0:
            return Offset(0.0, self.spread)
        return _moments(self.density(bedding))

    def density(self, bedding: Hashable = None) -> Floats:
        """Return the chance of each offset of the grid in a bedding. [1]"""
        person, moved = self._person, self._moved
        others = [np.exp(log) @ moved.T for name, log in self._scaled.items() if name != bedding]
        given_person = reduce(np.multiply, others, person)
        joint = given_person @ moved  # over the person, for each offset in this bedding
        if bedding in self.likelihoods:
            joint = joint * np.exp(self._scaled[bedding])
        nodes = _WIDTH_WEIGHTS[:, None, None] * _INSTRUMENT_WEIGHTS[:, None]
        density = np.sum(nodes * joint, axis=(0, 1))
        return density / density.sum()

    def spread_after(self, margin: float, spread: float, bedding: Hashable = None) -> float:
        """
        Return the spread to expect after one more measured night.

        Parameters
        ----------
        margin : float
            Of that night, for the usual sleeper. [K]
        spread : float
            Of what the margin leaves open. [K]
        bedding : hashable

        Returns
        -------
        float
            [K] About today's where the night can go but one way.
        """
        if self.spread == 0:
            return 0.0
        density = self.density(bedding) if self.likelihoods else _normal(_GRID, self.spread)
        chances = _chances(np.array([margin]), np.hypot(spread, INSTRUMENT_ERROR))[:, :, 0]
        believed = (1 - _STAY_SLIP) * chances + _STAY_SLIP / _KINDS
        weights = _WIDTH_WEIGHTS / _WIDTH_WEIGHTS.sum()
        each = density * np.tensordot(weights, believed, axes=(0, 1))  # (kinds, offsets)
        variances = [one.sum() * _moments(one / one.sum()).spread ** 2 for one in each]
        return float(sum(variances) ** 0.5)

    @property
    def _person(self) -> Floats:
        """Return the prior chance of each offset of the person."""
        return _normal(_GRID, self.spread * (1 - self.bedding_part**2) ** 0.5)

    @property
    def _moved(self) -> Floats:
        """Return the chance of each offset in a bedding (columns) for a person's (rows)."""
        if self.bedding_part == 0:
            return np.eye(_GRID.size)
        return _normal(_GRID - _GRID[:, None], self.spread * self.bedding_part)

    @property
    def _scaled(self) -> dict[Hashable, Floats]:
        """Return the likelihoods with the largest of each bedding at 0, which numbers hold."""
        return {name: log - log.max() for name, log in self.likelihoods.items()}


def learned(stays: Sequence[SleptStay], spread: float, *, of_bedding: bool) -> Posterior:
    """
    Return what nights say of one sleeper on one side, cold or heat.

    Parameters
    ----------
    stays : sequence of SleptStay
    spread : float
        Between people. [K]
    of_bedding : bool
        Whether a part of it belongs to the bedding, as in cold.

    Returns
    -------
    Posterior

    Examples
    --------
    Twenty measured nights with 2 K to spare, a third of them cold: a sleeper colder than most.

    >>> nights = SleptStay((2.0,), MEASURED_SPREAD, 0.0, True, 20, 7, 9)
    >>> offset = learned([nights], 2.0, of_bedding=True).offset()
    >>> -3 < offset.mean < -0.5, offset.spread < 1.6
    (True, True)
    """
    evidence = _Evidence(stays, spread, _BEDDING_PART if of_bedding else 0.0)
    return evidence.posterior(evidence.bounded_weights())


def moved_by(stays: Sequence[SleptStay], spread: float, *, of_bedding: bool) -> tuple[float, ...]:
    """
    Return by how much each stay moves the offset in its bedding, with all the others known.

    Parameters
    ----------
    stays, spread, of_bedding
        As for `learned`.

    Returns
    -------
    tuple of float
        [K]
    """
    evidence = _Evidence(stays, spread, _BEDDING_PART if of_bedding else 0.0)
    return tuple(map(float, evidence.moves(evidence.bounded_weights())))


class _Evidence:
    """The log-likelihoods of stays, each worked out once, to be joined with any weights."""

    def __init__(self, stays: Sequence[SleptStay], spread: float, bedding_part: float) -> None:
        self.beddings = [stay.bedding for stay in stays]
        self.logs = [_log_likelihood(stay) for stay in stays]
        self.spread, self.bedding_part = spread, bedding_part

    def posterior(self, weights: Floats) -> Posterior:
        """Return the posterior with each stay's log-likelihood times its weight."""
        joined: dict[Hashable, Floats] = {}
        for bedding, log, weight in zip(self.beddings, self.logs, weights, strict=True):
            if weight:
                joined[bedding] = joined.get(bedding, 0.0) + weight * log
        return Posterior(self.spread, self.bedding_part, joined)

    def moves(self, weights: Floats) -> Floats:
        """Return by how much each stay moves the offset in its bedding. [K]"""
        whole = self.posterior(weights)
        means = {bedding: whole.offset(bedding).mean for bedding in set(self.beddings)}
        moves = np.zeros(len(weights))
        for row, bedding in enumerate(self.beddings):
            others = np.array(weights)
            others[row] = 0.0
            moves[row] = means[bedding] - self.posterior(others).offset(bedding).mean
        return moves

    def bounded_weights(self) -> Floats:
        """Return weights with which no stay of many moves the offset by more than allowed."""
        weights = np.ones(len(self.logs))
        if weights.size < MANY_STAYS:
            return weights
        # Every round shrinks a weight, and stays of no weight move nothing, so it ends.
        while (excess := np.abs(self.moves(weights)) / LARGEST_MOVE).max() > 1:
            weights[excess > 1] /= 1.02 * excess[excess > 1]
        return weights


def _gauss_hermite(count: int) -> tuple[Floats, Floats]:
    """Return nodes and weights that integrate over a standard normal."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return nodes, weights / weights.sum()


_INSTRUMENT_NODES, _INSTRUMENT_WEIGHTS = _gauss_hermite(7)
_CLIMATE_NODES, _CLIMATE_WEIGHTS = _gauss_hermite(15)


def _log_likelihood(stay: SleptStay) -> Floats:
    """Return a stay's log-likelihood, shape (widths, thermometers or 1, offsets)."""
    if stay.measured:
        shifts, weights = INSTRUMENT_ERROR * _INSTRUMENT_NODES, None
    else:
        shifts, weights = stay.shared_error * _CLIMATE_NODES, _CLIMATE_WEIGHTS
    chances = _chances(np.add.outer(shifts, stay.margins), stay.spread)
    log = _log_of_counts(stay, chances)
    at_random = _log_of_counts(stay, np.full((_KINDS, 1, 1, len(stay.margins), 1), 1 / _KINDS))
    if not stay.measured:
        log, at_random = _SPELLS * log, _SPELLS * at_random
    likelihood = np.exp(log - at_random)
    if weights is not None:
        likelihood = np.tensordot(weights, likelihood, axes=(0, 1))[:, None]
    return np.log((1 - _STAY_SLIP) * likelihood + _STAY_SLIP)


def _chances(margins: Floats, spread: float) -> Floats:
    """Return the chance of each kind of night, shape (kinds, widths, *margins, offsets).

    `spread` is what the margins leave open, anew every night, without `FELT_SPREAD`. [K]
    """
    from scipy.special import ndtr

    per_spread = 1 / np.hypot(spread, FELT_SPREAD)
    felt = margins[..., None] + _GRID
    widths = _WIDTHS.reshape(-1, *[1] * felt.ndim)
    failed = np.broadcast_to(ndtr(-felt * per_spread), (_WIDTHS.size, *felt.shape))
    up_to_nearly = ndtr((widths - felt) * per_spread)
    chances = np.stack([failed, up_to_nearly - failed, 1 - up_to_nearly])
    return (1 - _NIGHT_SLIP) * chances + _NIGHT_SLIP / _KINDS


def _log_of_counts(stay: SleptStay, chances: Floats) -> Floats:
    """Return the log-likelihood of a stay's counts, but for a constant, over all orders."""
    failed, nearly = stay.failed, stay.nearly
    if len(stay.margins) == 1:
        counts = failed, nearly, stay.nights - failed - nearly
        return sum(
            count * np.log(chance[..., 0, :])
            for count, chance in zip(counts, chances, strict=True)
        )
    # Chance of so many failed and nearly failed among the nights so far, night after night.
    so_far = np.zeros((failed + 1, nearly + 1, *chances.shape[1:3], chances.shape[-1]))
    so_far[0, 0] = 1.0
    for night in range(stay.nights):
        fails, nears, fine = chances[..., night, :]
        after = so_far * fine
        after[1:] += so_far[:-1] * fails
        after[:, 1:] += so_far[:, :-1] * nears
        so_far = after
    return np.log(so_far[failed, nearly])


def _normal(offsets: Floats, spread: float) -> Floats:
    """Return normal weights of offsets that sum to 1 along the last axis."""
    weights = np.exp(-0.5 * (offsets / spread) ** 2)
    return weights / weights.sum(axis=-1, keepdims=True)


def _moments(density: Floats) -> Offset:
    """Return mean and spread of chances on the grid."""
    mean = float(density @ _GRID)
    return Offset(mean, float(density @ (_GRID - mean) ** 2) ** 0.5)
