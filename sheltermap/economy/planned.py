"""The load and the cost of a dated plan, for every kit and for the choice's remedies.

In: a plan, its places and their nights, the trip's inputs. Out: LoadReport and KitComparison.
Assumes the plan's dates for every kit, so that kits are compared on the same nights.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import xarray as xr

from sheltermap.dates import days_of_year
from sheltermap.economy.comparison import KitComparison, kit_comparison
from sheltermap.economy.load import LegFacts, LoadReport, load_report
from sheltermap.economy.rows import Candidate, LegNights, leg_nights
from sheltermap.places.ground import Camps
from sheltermap.places.place import Place
from sheltermap.places.scored import CampNights
from sheltermap.planner.problem import Plan, Stay
from sheltermap.shelters.fitting import helps, useful, with_addons
from sheltermap.shelters.kit import AddOn, Bedding, Kit, Sleeper
from sheltermap.suitability.remedy import Remedy
from sheltermap.suitability.shut import scores_with_shut
from sheltermap.trip.inputs import Inputs
from sheltermap.trip.model import Leg
from sheltermap.trip.values import BEDDING_WORDS
from sheltermap.vocabulary import DAYS_IN_MONTH, FACTORS

_MONTH_OF_DAY = np.repeat(np.arange(12), DAYS_IN_MONTH)


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
    """

    inputs: Inputs
    camps: Camps
    nights: tuple[CampNights, ...]
    places: tuple[Place, ...]
    plan: Plan

    def load(self, kit: Kit, rooms: Sequence[int | None] | None = None) -> LoadReport:
        """Return what the plan loads on the vehicle with one kit."""
        trip = self.inputs.trip
        return load_report(self._facts(), kit, trip.party, trip.vehicle, trip.money, rooms)

    def comparison(self, kits: Sequence[Kit], named: Remedy | None) -> KitComparison:
        """
        Return every kit over the plan's dates, with variants of the choice.

        Parameters
        ----------
        kits : sequence of Kit
            Those that fit, the choice first.
        named : Remedy or None
            The plan's remedy; the choice with it is one more candidate, and the choice
            with every add-on that helps another.

        Returns
        -------
        KitComparison
        """
        trip, chosen = self.inputs.trip, kits[0]
        variants = self._variants(chosen, named)
        own = self.inputs.sleepers
        varied = [*kits, *(kit for kit, _ in variants)]
        nights = [self._known(kit) for kit in kits] + self._scored(
            [kit for kit, _ in variants], own
        )
        added = [(), *((),) * (len(kits) - 1), *(addons for _, addons in variants)]
        candidates = [
            Candidate(kit, of_legs, addons, remedy=bool(addons))
            for kit, of_legs, addons in zip(varied, nights, added, strict=True)
        ]
        beddings = {word: self._scored(varied, _bedded(own, word)) for word in BEDDING_WORDS}
        return kit_comparison(
            candidates,
            self._facts(),
            trip.party,
            trip.vehicle,
            trip.money,
            trip.departure.daily_km,
            beddings,
        )

    def _variants(self, chosen: Kit, named: Remedy | None) -> list[tuple[Kit, tuple[AddOn, ...]]]:
        """Return the choice with the named remedy, and with all that helps."""
        carries = self.inputs.trip.vehicle.carries
        helping = useful(self.inputs.addons.values(), chosen, carries)
        one = tuple(addon for addon in helping if named is not None and addon.id == named.id)
        return [
            _with_all(chosen, addons, self.inputs.addons)
            for addons in dict.fromkeys((one, helping))
            if addons
        ]

    def _known(self, kit: Kit) -> tuple[LegNights, ...]:
        """Return a kit's nights of each planned leg, which are scored already."""
        return tuple(
            leg_nights(
                season.sound_share[days],
                season.dangerous[days],
                {name: getattr(season, name)[days] for name in FACTORS},
                self.inputs.trip.shelter.room_below,
            )
            for season, days in (
                (
                    self.places[stay.stop].seasons[kit.id],
                    days_of_year(stay.arrive, stay.nights),
                )
                for stay in self.plan.stays
            )
        )

    @cached_property
    def _planned(self) -> tuple[PlannedNights, ...]:
        """Return every camp of every planned night, those of the same variables together."""
        ends = np.cumsum([stay.nights for stay in self.plan.stays])
        found = []
        for group in self.nights:
            days, cells, owner = [], [], []
            for stay, end in zip(self.plan.stays, ends, strict=True):
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
        self, kits: Sequence[Kit], sleepers: Sequence[Sleeper]
    ) -> list[tuple[LegNights, ...]]:
        """Return each kit's nights of each leg, scored for the planned days alone."""
        if not kits:
            return []
        trip = self.inputs.trip
        names = ("sound_share", "dangerous", *FACTORS)
        ends = np.cumsum([stay.nights for stay in self.plan.stays])
        mean = {name: np.full((len(kits), ends[-1]), np.nan) for name in names}
        for planned in self._planned:
            scores = scores_with_shut(planned.night, kits, sleepers, settings=trip.settings)
            own = np.unique(planned.owner)
            for name in mean.keys() - set(scores.attrs["not_assessed"]):
                for row in range(len(kits)):
                    mean[name][row, own] = planned.means(scores[name].values[row])[own]
        stays = [
            slice(end - stay.nights, end) for stay, end in zip(self.plan.stays, ends, strict=True)
        ]
        return [
            tuple(
                leg_nights(
                    mean["sound_share"][row, stay],
                    mean["dangerous"][row, stay],
                    {name: mean[name][row, stay] for name in FACTORS},
                    trip.shelter.room_below,
                )
                for stay in stays
            )
            for row in range(len(kits))
        ]

    def _facts(self) -> list[LegFacts]:
        """Return what each planned leg asks of the vehicle."""
        return [
            _leg_facts(stay, self.camps.legs[stay.stop], self.places[stay.stop])
            for stay in self.plan.stays
        ]


def _leg_facts(stay: Stay, leg: Leg, place: Place) -> LegFacts:
    """Return what one planned leg asks of the vehicle, in its hottest planned month."""
    climate = place.climate
    months = np.unique(_MONTH_OF_DAY[days_of_year(stay.arrive, stay.nights)])
    hottest = months[np.argmax(climate.drinking_water_l[months])]
    height = leg.camp_elevation_m
    category = climate.heat_category[hottest]
    return LegFacts(
        name=leg.name,
        nights=stay.nights,
        days=stay.nights,
        kilometres=leg.kilometres,
        drinking_water_l=float(climate.drinking_water_l[hottest]),
        air_temperature=float(climate.temperature_mean[months].mean()),
        elevation_m=place.elevation_m[1] if height is None else height,
        heat_category=None if np.isnan(category) else int(category),
        fuel_gap_km=leg.fuel_gap_km,
        water_gap_days=leg.water_gap_days,
        room_price=leg.room_price,
    )


def _with_all(kit: Kit, addons: Sequence[AddOn], known) -> tuple[Kit, tuple[AddOn, ...]]:
    """Return a kit with each add-on that still changes it, and which those were."""
    added = []
    for addon in addons:
        # One add-on can make another useless: a bed already off the ground needs no cot.
        if helps(addon, kit):
            kit = with_addons(kit, [addon.id], known)
            added.append(addon)
    return kit, tuple(added)


def _bedded(sleepers: Sequence[Sleeper], word: str) -> tuple[Sleeper, ...]:
    """Return the sleepers, all with one bedding."""
    return tuple(
        sleeper.model_copy(update={"bedding": Bedding(word=word)}) for sleeper in sleepers
    )
