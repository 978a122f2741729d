"""The load and the cost of a dated plan, for every kit and for the choice's remedies.

In: a plan, its places and their nights, the trip's inputs. Out: a KitComparison, with the
load of each kit in it.
Assumes the plan's dates for every kit, so that kits are compared on the same nights.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import xarray as xr

from sheltermap.dates import days_of_year
from sheltermap.economy.bedding_sweep import (
    COMFORT_LABELS,
    WARM_BEDDING,
    BeddingStep,
    bedding_steps,
    sleepers_with,
)
from sheltermap.economy.comparison import KitComparison, kit_comparison
from sheltermap.economy.journey import Journey
from sheltermap.economy.rows import ComparedKit, KitNights, kit_nights
from sheltermap.places.behind import DoneStay
from sheltermap.places.ground import Camps
from sheltermap.places.limits import limits_for
from sheltermap.places.place import Place
from sheltermap.places.scored import CampNights
from sheltermap.planner.problem import Plan
from sheltermap.shelters.fitting import helps, with_addons
from sheltermap.shelters.kit import BEDDING_WORDS, AddOn, Bedding, Kit, Sleeper
from sheltermap.suitability.candidates import assessable
from sheltermap.suitability.remedy import Remedy
from sheltermap.suitability.score import scores
from sheltermap.trip.inputs import Inputs
from sheltermap.vocabulary import FACTORS

_SHARES = ("sound_share", "dangerous", *FACTORS)
"""What is known of each planned night."""


@dataclass(frozen=True, eq=False)
class PlannedNights:
    """Camps of the planned nights of which the same is known, to be scored in one call.

    Attributes
    ----------
    night : Dataset, dim camp
    weight : array, shape (camps,)
        Share of its leg's ground that a camp stands for; sums to 1 each night.
    owner : int array, shape (camps,)
        Position of the night in the plan.
    """

    night: xr.Dataset
    weight: np.ndarray
    owner: np.ndarray

    def means(self, values: np.ndarray) -> np.ndarray:
        """Return the weighted mean of each night; missing where a camp's value is."""
        return np.bincount(self.owner, self.weight * values)


@dataclass(frozen=True, eq=False)
class Economy:
    """What the load and the cost of a plan rest on.

    Attributes
    ----------
    inputs : Inputs
    camps : Camps
    nights : tuple of CampNights
    places : tuple of Place
        One each a leg, in the order of the trip.
    plan : Plan
    behind : mapping of int to DoneStay
        Legs that are done, by their position: theirs in every kit.
    """

    inputs: Inputs
    camps: Camps
    nights: tuple[CampNights, ...]
    places: tuple[Place, ...]
    plan: Plan
    behind: Mapping[int, DoneStay] = field(default_factory=dict)

    @property
    def journey(self) -> Journey:
        """Return the trip on the plan's dates, its legs with the kilometres of the route."""
        trip = self.inputs.trip.model_copy(update={"legs": self.camps.legs})
        kits = {done.kit.id: done.kit for done in self.behind.values()}
        return Journey(trip, self.plan.stays, self.places, kits)

    def comparison(self, kits: Sequence[Kit], named: Remedy | None) -> KitComparison:
        """
        Return every kit over the plan's dates, with variants of the choice.

        Parameters
        ----------
        kits : sequence of Kit
            Those that fit, the choice first.
        named : Remedy or None
            The plan's remedy; the choice with it is one more kit compared, and the choice
            with every add-on that helps another.

        Returns
        -------
        KitComparison
        """
        variants, own = self._variants(kits[0], named), self.inputs.sleepers
        varied = [kit for kit, _ in variants]
        compared = [
            ComparedKit(kit, self._known(kit), limits=limits_for(self.inputs, kit)) for kit in kits
        ]
        compared += [
            ComparedKit(kit, nights, added, remedy=True, limits=limits_for(self.inputs, kit))
            for (kit, added), nights in zip(variants, self._scored(varied, own), strict=True)
        ]
        every = [*kits, *varied]
        slept_in = [bedded(own, word) for word in BEDDING_WORDS for _ in every]
        slept = self._scored(every * len(BEDDING_WORDS), slept_in)
        beddings: dict[str | float, Sequence[KitNights]] = {
            word: slept[number * len(every) : (number + 1) * len(every)]
            for number, word in enumerate(BEDDING_WORDS)
        }
        steps = self._bedding_steps(kits[0])
        return replace(kit_comparison(compared, self.journey, beddings), bedding_steps=steps)

    def _bedding_steps(self, kit: Kit) -> tuple[BeddingStep, ...]:
        """Return what warmer bedding would do in a kit."""
        trip = self.inputs.trip
        asleep = [
            sleepers_with(self.inputs.sleepers, trip.party, label) for label in COMFORT_LABELS
        ]
        nights = self._scored([kit] * len(asleep), asleep)
        warm = self.inputs.addons.get(WARM_BEDDING)
        return bedding_steps(nights, trip.party, trip.settings, warm)

    def _variants(self, chosen: Kit, named: Remedy | None) -> list[tuple[Kit, tuple[AddOn, ...]]]:
        """Return the choice with the named remedy, and with all that helps."""
        carries = self.inputs.trip.vehicle.carries
        windy = all("wind_speed" in group.night for group in self.nights)
        helping = assessable(self.inputs.addons.values(), chosen, carries, windy=windy)
        one = tuple(addon for addon in helping if named is not None and addon.id == named.id)
        return [
            _with_all(chosen, addons, self.inputs.addons)
            for addons in dict.fromkeys((one, helping))
            if addons
        ]

    def _known(self, kit: Kit) -> KitNights:
        """Return a kit's nights, which are scored already."""
        seasons = [self.places[stay.stop].seasons[kit.id] for stay in self.plan.stays]
        days = [days_of_year(stay.arrive, stay.nights) for stay in self.plan.stays]

        def planned(name: str) -> np.ndarray:
            values = [getattr(season, name) for season in seasons]
            return np.concatenate([year[of] for year, of in zip(values, days, strict=True)])

        return self._kit_nights({name: planned(name) for name in _SHARES})

    def _kit_nights(self, shares: Mapping[str, np.ndarray]) -> KitNights:
        """Return one kit's nights from the shares of every planned night; done ones stand."""
        shares = {name: np.array(values) for name, values in shares.items()}
        for stay, end in zip(self.plan.stays, self._ends, strict=True):
            if stay.kit:
                for name, values in self.behind[stay.stop].shares.items():
                    shares[name][end - stay.nights : end] = values
        return kit_nights(
            shares["sound_share"],
            shares["dangerous"],
            {name: shares[name] for name in FACTORS},
            [stay.nights for stay in self.plan.stays],
        )

    @property
    def _ends(self) -> list[int]:
        """Return how many nights there are up to the end of each stay."""
        return np.cumsum([stay.nights for stay in self.plan.stays]).tolist()

    @cached_property
    def _planned(self) -> tuple[PlannedNights, ...]:
        """Return every camp of every planned night, those of the same variables together."""
        found = []
        for group in self.nights:
            days, cells, owner = [], [], []
            for stay, end in zip(self.plan.stays, self._ends, strict=True):
                ground = self.camps.ground(stay.stop)
                if ground.id not in group.places:
                    continue
                cell = np.r_[group.places[ground.id]]
                days.append(np.repeat(days_of_year(stay.arrive, stay.nights), cell.size))
                cells.append(np.tile(cell, stay.nights))
                owner.append(np.repeat(np.arange(end - stay.nights, end), cell.size))
            if not owner:
                continue
            night = group.night.drop_vars(("day", "day_of_year"), errors="ignore").isel(
                day=xr.DataArray(np.concatenate(days), dims="camp"),
                cell=xr.DataArray(np.concatenate(cells), dims="camp"),
            )
            found.append(PlannedNights(night, night["weight"].values, np.concatenate(owner)))
        return tuple(found)

    def _scored(
        self, kits: Sequence[Kit], sleepers: Sequence[Sleeper] | Sequence[Sequence[Sleeper]]
    ) -> list[KitNights]:
        """Return each kit's nights, scored for the planned days alone, as ``score.scores``."""
        if not kits:
            return []
        nights = sum(stay.nights for stay in self.plan.stays)
        mean = {name: np.full((len(kits), nights), np.nan) for name in _SHARES}
        for planned in self._planned:
            scored = scores(
                planned.night, kits, sleepers, settings=self.inputs.trip.settings, keep=_SHARES
            )
            own = np.unique(planned.owner)
            for name in mean.keys() - set(scored.attrs["not_assessed"]):
                for row in range(len(kits)):
                    mean[name][row, own] = planned.means(scored[name].values[row])[own]
        return [
            self._kit_nights({name: values[row] for name, values in mean.items()})
            for row in range(len(kits))
        ]


def _with_all(
    kit: Kit, addons: Sequence[AddOn], known: Mapping[str, AddOn]
) -> tuple[Kit, tuple[AddOn, ...]]:
    """Return a kit with each add-on that still changes it, and which those were."""
    added = []
    for addon in addons:
        # One add-on can make another useless: a bed already off the ground needs no cot.
        if helps(addon, kit):
            kit = with_addons(kit, [addon.id], known)
            added.append(addon)
    return kit, tuple(added)


def bedded(sleepers: Sequence[Sleeper], word: str) -> tuple[Sleeper, ...]:
    """
    Return the sleepers, all with one bedding.

    Parameters
    ----------
    sleepers : sequence of Sleeper
    word : str
        One of ``shelters.kit.BEDDING_WORDS``.

    Returns
    -------
    tuple of Sleeper
    """
    return tuple(
        sleeper.model_copy(update={"bedding": Bedding(word=word)}) for sleeper in sleepers
    )
