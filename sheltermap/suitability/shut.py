"""Shut kits: nights on which insects or dust keep a kit closed, beside those left open.

In: a block of nights with the share of them that insects or dust spoil for an open kit, and
a kit's numbers. Out: its risks, mixed night by night. Assumes that such a night differs from
its neighbours in nothing but the closed kit, so probabilities mix by share.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.combination import always_shut, kit_modes, numbers_of
from sheltermap.suitability.kernel import (
    DANGER,
    Array,
    Nights,
    kit_danger,
    kit_details,
    kit_risks,
    mixed,
)
from sheltermap.suitability.numbers import KitNumbers

BY_INSECTS, BY_DUST = "shut_by_insects", "shut_by_dust"
"""Optional variables of a night: share of such nights that close a kit. [0 to 1] Missing where
no hazard names them, as on the nights of a leg joined with those of another."""


class ShutKit(NamedTuple):
    """A kit's numbers, what may close it, and its numbers then."""

    usual: KitNumbers
    reasons: tuple[str, ...]
    shut: KitNumbers


def shut_kit(
    kit: Kit, sleepers: Sequence[Sleeper], settings: Settings, hours: float, known: Sequence[str]
) -> ShutKit:
    """
    Return a kit as it is on most nights, and closed.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
    settings : Settings
        Its `insects` and `dust` close the kit on every night, whatever the shares.
    hours : float
        Length of the sleep window. [h]
    known : sequence of str
        `BY_INSECTS` and `BY_DUST`, as far as the nights have them. Insects close a kit without
        mesh, dust closes every kit.

    Returns
    -------
    ShutKit
        Without reasons where nothing changes from night to night.
    """
    usual = numbers_of(kit_modes(kit, sleepers, settings, hours))
    closing = (
        () if always_shut(kit, settings) else (BY_DUST,) if kit.mesh else (BY_DUST, BY_INSECTS)
    )
    reasons = tuple(reason for reason in closing if reason in known)
    if not reasons:
        return ShutKit(usual, (), usual)
    dusty = settings.model_copy(update={"dust": True})
    return ShutKit(usual, reasons, numbers_of(kit_modes(kit, sleepers, dusty, hours)))


def kit_scores(
    nights: Nights, shares: Mapping[str, Array], kit: ShutKit, details: Collection[str]
) -> dict[str, Array]:
    """
    Return the risks of a kit, some nights finding it closed.

    Parameters
    ----------
    nights : Nights
    shares : mapping of str to array, shape (nights,)
        Of nights that close a kit, by reason. [0 to 1]
    kit : ShutKit
    details : collection of str
        What explains them and is asked for, out of ``kernel.DETAILS``.

    Returns
    -------
    dict of arrays, shape (nights,)
        By the names of ``kernel.CORE`` and ``kernel.PARTS``, with `details` and perhaps others.
    """
    usual = _scores(nights, kit.usual, details)
    if not kit.reasons:
        return usual
    # A night of dust may be one of insects too: the larger share holds both.
    share = np.max([np.nan_to_num(shares[reason]) for reason in kit.reasons], axis=0)
    if not share.any():
        return usual
    shut = _scores(nights, kit.shut, details)
    return {name: mixed(risk, shut[name], share) for name, risk in usual.items()}


def _scores(nights: Nights, kit: KitNumbers, details: Collection[str]) -> dict[str, Array]:
    """Return the risks of a kit in one state."""
    risks = kit_risks(nights, kit)
    if set(details) <= {DANGER}:
        return risks | {name: kit_danger(nights, kit, risks) for name in details}
    return {**risks, **kit_details(nights, kit, risks)}
