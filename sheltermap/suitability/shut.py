"""Shut kits: nights on which insects or dust keep a kit closed, beside those left open.

In: nights with the share of them that insects or dust spoil for an open kit. Out: the
same scores as from ``suitability.score``, mixed night by night. Assumes that such a night
differs from its neighbours in nothing but the closed kit, so probabilities mix by share.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from sheltermap.shelters.kit import Kit, Sleeper
from sheltermap.shelters.settings import Settings
from sheltermap.suitability.combination import always_shut
from sheltermap.suitability.kernel import CORE, DETAILS, limiting_factor
from sheltermap.suitability.score import parties, scores
from sheltermap.vocabulary import FACTORS

BY_INSECTS, BY_DUST = "shut_by_insects", "shut_by_dust"
"""Optional variables of a night: share of such nights that close a kit. [0 to 1] Missing where
no hazard names them, as on the nights of a leg joined with those of another."""


def score_with_shut(
    night: xr.Dataset,
    kit: Kit,
    sleepers: Sequence[Sleeper] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    details: bool = True,
) -> xr.Dataset:
    """
    Return a score in which some nights find the kit closed.

    Parameters
    ----------
    night : Dataset
        From ``night.conditions``; with `BY_INSECTS` and `BY_DUST` where hazards say so.
        Insects close a kit without mesh, dust closes every kit.
    kit : Kit
    sleepers : sequence of Sleeper
    settings : Settings, optional
        Its `insects` and `dust` close the kit on every night, whatever the shares.
    details : bool

    Returns
    -------
    Dataset
        As from ``score.score``.
    """
    keep = (*CORE, *(DETAILS if details else ()))
    compared = scores_with_shut(night, [kit], sleepers, settings=settings, keep=keep)
    return compared.isel(kit=0, drop=True).assign_attrs(kit=kit.id)


def scores_with_shut(
    night: xr.Dataset,
    kits: Sequence[Kit],
    sleepers: Sequence[Sleeper] | Sequence[Sequence[Sleeper]] = (Sleeper(),),
    *,
    settings: Settings | None = None,
    keep: Sequence[str] = (*CORE, *DETAILS),
) -> xr.Dataset:
    """
    Return the scores of several kits, some nights finding them closed.

    Parameters
    ----------
    night, settings
        As for `score_with_shut`.
    kits : sequence of Kit
        At least one.
    sleepers, keep
        As for ``score.scores``.

    Returns
    -------
    Dataset
        As from ``score.scores``; without a limiting factor where `keep` lacks a factor.
    """
    settings = settings or Settings()
    explained = set(CORE) <= set(keep)
    opened = scores(night, kits, sleepers, settings=settings, keep=keep)
    if not explained:
        opened = opened.drop_vars("limiting_factor")
    each = [_shut_share(night, kit, settings) for kit in kits]
    shares = {place: share for place, share in enumerate(each) if share is not None}
    if not shares:
        return opened
    places = list(shares)
    shut = xr.concat(list(shares.values()), "kit").broadcast_like(opened["sound_share"][places])
    share = shut.transpose(*opened["sound_share"].dims).values
    dusty = settings.model_copy(update={"dust": True})
    everyone = parties(kits, sleepers)
    closed = scores(
        night,
        [kits[place] for place in places],
        [everyone[place] for place in places],
        settings=dusty,
        keep=keep,
    )
    for name in keep:
        values = np.array(opened[name])
        # A difference keeps values that are the same in both exactly as they are.
        values[places] += share * (closed[name].values - values[places])
        opened[name] = opened[name].copy(data=values)
    if explained:
        risks = [opened[name].values for name in FACTORS]
        factor = limiting_factor(risks, opened["sound_share"].values)
        opened["limiting_factor"] = opened["limiting_factor"].copy(data=factor)
    return opened


def _shut_share(night: xr.Dataset, kit: Kit, settings: Settings) -> xr.DataArray | None:
    """Return the share of nights that close a kit otherwise open; None where there are none."""
    if always_shut(kit, settings):
        return None
    reasons = (BY_DUST,) if kit.mesh else (BY_DUST, BY_INSECTS)
    shares = [night[name].fillna(0.0) for name in reasons if name in night]
    if not shares:
        return None
    # A night of dust may be one of insects too: the larger share holds both.
    share = xr.concat(shares, "reason").max("reason")
    return share if bool((share > 0).any()) else None
