"""What the vehicle carries on each leg, and what it comes to: plain, frozen results.

In: nothing. Out: the records that `economy.loading` fills and the pages show. None is
"not known", never "nothing" or "good". Text from users is kept as written: whoever shows
it escapes it.
"""

from __future__ import annotations

from dataclasses import dataclass

from sheltermap.economy.ratings import Limit, verdict

PARTS = ("vehicle", "people", "gear", "kit", "water", "fuel")
"""What the mass on board is made of, in the order a stacked bar shows it."""


@dataclass(frozen=True)
class LegLoad:
    """Water, fuel, mass and money of one leg; None is "not known".

    Attributes
    ----------
    name : str
    heat_category : int or None
        Midday heat category, 0 to 5.
    drinking_l_person_day : float or None
        Drinking alone. [L]
    water_l_day : float or None
        Drinking, cooking and hygiene of the whole party. [L]
    water_leg_l : float or None
        All water used in the leg. [L]
    water_need_l : float or None
        Water that must be on board for the longest gap, with reserve. [L]
    water_aboard_l : float or None
        Water counted at the start: the need, or the full tank where the gap is unknown. [L]
    water_cans_l : float or None
        Part of it that the tank does not hold. [L]
    water_tank_days : float or None
        How long a full tank lasts, with reserve. [days]
    consumption_l_100km : float or None
        With this kit, on this leg's ground and in its air. [L per 100 km]
    added_l_100km : float or None
        Part of it that the kit's drag and mass add. [L per 100 km]
    fuel_leg_l, added_fuel_l : float or None
        Fuel for the whole leg, and the kit's part of it. [L]
    fuel_need_l : float or None
        Fuel that must be on board for the longest gap, with reserve. [L]
    fuel_aboard_l : float or None
        Fuel counted at the start: a full tank, or the need where that is more. [L]
    fuel_cans_l : float or None
        Part of it that the tank does not hold. [L]
    range_km : float or None
        How far a full tank goes, with reserve. [km]
    fuel_money : float or None
        In the trip's currency.
    parts_kg : dict of str to float or None
        Mass by `PARTS`. [kg]
    aboard_kg : float or None
        Mass on board at the start of the leg. [kg]
    limits : tuple of Limit
        Every rating that changes from leg to leg.
    mend : str
        What would bring an overloaded start under its rating; else empty.
    """

    name: str
    heat_category: int | None
    drinking_l_person_day: float | None
    water_l_day: float | None
    water_leg_l: float | None
    water_need_l: float | None
    water_aboard_l: float | None
    water_cans_l: float | None
    water_tank_days: float | None
    consumption_l_100km: float | None
    added_l_100km: float | None
    fuel_leg_l: float | None
    added_fuel_l: float | None
    fuel_need_l: float | None
    fuel_aboard_l: float | None
    fuel_cans_l: float | None
    range_km: float | None
    fuel_money: float | None
    parts_kg: dict[str, float | None]
    aboard_kg: float | None
    limits: tuple[Limit, ...]
    mend: str

    @property
    def margin_kg(self) -> float | None:
        """Return what is left under the rated mass; None is unknown."""
        return self.limits[0].margin

    @property
    def status(self) -> str:
        """Return "over", "unknown" or "fits"."""
        return verdict(self.limits)


@dataclass(frozen=True)
class LoadReport:
    """The load of a whole journey with one kit.

    Attributes
    ----------
    kit, kit_title : str
    sentence : str
        The answer, for the top of a page. User text in it is as written.
    status : {"fits", "over", "unknown"}
    legs : tuple of LegLoad
        In travel order.
    roof : tuple of Limit
        Roof ratings moving and parked, where the kit loads the roof.
    tightest : str
        Name of the leg with the least margin; empty when unknown and none is over.
    margin_kg : float or None
        Least margin under the rated mass over all legs. [kg]
    needed_rating_kg : float or None
        Mass on board at the heaviest start: the least rated mass that would do. [kg]
    breaks : tuple of str
        Every rating that is exceeded, as a sentence each.
    unknown : tuple of str
        What is not known, and the trip keys that would settle it.
    assumed : tuple of str
        What was assumed for want of a figure.
    water_l, fuel_l, added_fuel_l : float or None
        Over the journey. [L]
    fuel_money : float or None
        Over the journey, in `currency`.
    currency : str
        A label.
    """

    kit: str
    kit_title: str
    sentence: str
    status: str
    legs: tuple[LegLoad, ...]
    roof: tuple[Limit, ...]
    tightest: str
    margin_kg: float | None
    needed_rating_kg: float | None
    breaks: tuple[str, ...]
    unknown: tuple[str, ...]
    assumed: tuple[str, ...]
    water_l: float | None
    fuel_l: float | None
    added_fuel_l: float | None
    fuel_money: float | None
    currency: str

    def exceeds_other_than(self, name: str) -> bool:
        """Return whether a rating other than the named one is exceeded."""
        limits = [limit for leg in self.legs for limit in leg.limits] + list(self.roof)
        return any(limit.exceeded for limit in limits if limit.name != name)


CAUTIONS = (
    "Water points dry up, and people drink far more than planned after a breakdown: "
    "ask locally before each stretch, and never cut the water to save mass.",
    "Ratings are those of the plate and the manufacturer, tyres and springs included: "
    "weigh the loaded vehicle on a public scale before you leave.",
    "Fuel cans belong outside the cabin, upright and tied down, away from where you sleep.",
)
"""Usual cautions, to stand beside the load."""
