"""A planned journey as load and cost meet it: what was written, when, and where.

In: a trip, the stays of a plan, the places of its legs. Out: one record that goes through
the sums. Assumes that the legs' kilometres are complete: the route's where none is stated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from sheltermap.files import Record
from sheltermap.places.place import Place
from sheltermap.planner.problem import Stay
from sheltermap.shelters.kit import Kit
from sheltermap.trip.model import Leg, Trip


@dataclass(frozen=True, eq=False)
class Journey:
    """A trip on the dates of a plan.

    Attributes
    ----------
    trip : Trip
    stays : tuple of Stay
        In travel order, at least one.
    places : tuple of Place
        One each a leg, in the order of the trip.
    kits : mapping of str to Kit
        Those slept in on stays that are done, by id.
    """

    trip: Trip
    stays: tuple[Stay, ...]
    places: tuple[Place, ...]
    kits: Mapping[str, Kit] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.stays:
            raise ValueError("expected at least one stay, got none")

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Return the legs in travel order."""
        return tuple(self.trip.legs[stay.stop] for stay in self.stays)

    @property
    def without_kilometres(self) -> tuple[str, ...]:
        """Return the names of legs whose drive is not known, in travel order."""
        return tuple(leg.name for leg in self.legs if leg.kilometres is None)

    @property
    def places_met(self) -> tuple[Place, ...]:
        """Return the places in travel order."""
        return tuple(self.places[stay.stop] for stay in self.stays)

    def kit_at(self, stay: Stay, kit: Kit) -> Kit:
        """Return what is slept in on a stay in a journey with a kit: done ones keep their own."""
        return self.kits.get(stay.kit, kit)

    def with_tables(self, **tables: Record) -> Journey:
        """Return the journey with other tables of the trip, as `party` or `money`."""
        return replace(self, trip=self.trip.model_copy(update=tables))
