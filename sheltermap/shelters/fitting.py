"""What a kit becomes with add-ons, and whether it fits the people and the vehicle.

In: kits, add-ons, plain facts of the party and the vehicle. Out: kits with the add-ons'
help, mass and price in them; reasons against a kit. Assumes each add-on counts once for
each unit of a kit, and that people share several units evenly.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence

from sheltermap.shelters.kit import AddOn, Kit, load_addons
from sheltermap.vocabulary import InputError, Problem

SPARE_LENGTH = 0.05  # [m] a bed must be longer than its sleeper (judgement)

_OF_ALL_UNITS = ("mass_kg", "packed_litres", "price", "added_drag_area_m2", "roof_load_kg")
"""What several units have several times."""

TIMES = "\u00a0×\u00a0"
"""Between a title and how many there are: it does not break, so that both stay on a line."""

_NEEDS_IN_WORDS = {
    "roof_rack": "a roof rack",
    "bed_rack": "a rack over the load bed",
    "load_bed": "a load bed",
    "pop_roof": "a pop-up roof",
}


def helps(addon: AddOn, kit: Kit) -> bool:
    """
    Return whether an add-on changes anything about a kit.

    Parameters
    ----------
    addon : AddOn
    kit : Kit

    Returns
    -------
    bool
        False for a second awning or fan, a cot under a bed that is off the ground, and
        what is fixed to the vehicle where several units of a kit stand beside it.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> helps(load_addons()["cot"], load_kits()["roof-tent"])
    False
    """
    if addon.id in kit.addons or (addon.needs != "none" and kit.units > 1):
        return False
    return (
        (addon.awning is not None and kit.awning is None)
        or (addon.fan is not None and kit.fan is None)
        or (addon.raise_to_m is not None and kit.exposure == "ground")
        or addon.extra_clo > 0
        or addon.extra_mat_m2k_w > 0
    )


def useful(
    addons: Iterable[AddOn], kit: Kit, carries: Collection[str] | None = None
) -> tuple[AddOn, ...]:
    """
    Return the add-ons that change a kit, of those that a vehicle can take.

    Parameters
    ----------
    addons : iterable of AddOn
    kit : Kit
    carries : collection of str, optional
        What the vehicle has; add-ons that need something else are left out. None leaves
        none out.

    Returns
    -------
    tuple of AddOn
        In the order given.
    """
    return tuple(
        addon
        for addon in addons
        if carries is None or addon.needs == "none" or addon.needs in carries
        if helps(addon, kit)
    )


def carried(kit: Kit, people: int) -> Kit:
    """
    Return a kit as often as people need it, be that more or fewer units than it has.

    Parameters
    ----------
    kit : Kit
    people : int
        How many sleep in it.

    Returns
    -------
    Kit
        The same where its units are as many as needed, or where it is part of the vehicle.
        Else mass, bulk, price, cloth and air are those of all units; where a bed for two is
        left to one sleeper, nobody counts as warmed by another. Pitching takes no longer:
        sleepers pitch their own.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> tents = carried(load_kits()["ground-tent"], 5)
    >>> tents.title, tents.places, tents.units
    ('Ground tent\\xa0×\\xa03', 6, 3)
    """
    each = kit.places // kit.units
    units = kit.units if kit.needs != "none" else math.ceil(people / each)
    if units == kit.units:
        return kit
    share = units / kit.units
    changes = {name: getattr(kit, name) * share for name in _OF_ALL_UNITS}
    if kit.freight_kg is not None:
        changes["freight_kg"] = kit.freight_kg * share
    walls = kit.enclosure
    changes["enclosure"] = walls.model_copy(
        update={"area_m2": walls.area_m2 * share, "volume_m3": walls.volume_m3 * share}
    )
    return kit.model_copy(
        update=changes
        | {
            "title": _numbered(kit.title.removesuffix(_numbered("", kit.units)), units),
            "places": each * units,
            "units": units,
            "shared_bed": kit.shared_bed and people == each * units,
        }
    )


def bought(addon: AddOn, kit: Kit) -> AddOn:
    """
    Return an add-on as often as a kit needs it: once for each unit.

    Parameters
    ----------
    addon : AddOn
    kit : Kit

    Returns
    -------
    AddOn
    """
    if kit.units == 1:
        return addon
    changes = {name: getattr(addon, name) * kit.units for name in _OF_ALL_UNITS}
    return addon.model_copy(update={"title": _numbered(addon.title, kit.units)} | changes)


def with_addons(
    kit: Kit,
    names: Sequence[str],
    known: Mapping[str, AddOn] | None = None,
    file: str = "",
    key: str = "addons",
) -> Kit:
    """
    Return a kit with add-ons: their help, mass, bulk, drag and price included.

    Parameters
    ----------
    kit : Kit
    names : sequence of str
        Ids of add-ons; each counts once.
    known : mapping of str to AddOn, optional
        Must have the names; by default the shipped ones.
    file, key : str
        Where the names stood, for messages.

    Returns
    -------
    Kit
        Same id; `addons` lists what was added.

    Raises
    ------
    InputError
        If an add-on changes nothing about this kit.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> with_addons(load_kits()["bedroll"], ["fan"]).fan.air_speed_m_s
    0.8
    """
    known = load_addons() if known is None else known
    problems = []
    for name in dict.fromkeys(names):
        if helps(known[name], kit):
            kit = _added(kit, known[name])
            continue
        place, expected = f"{key}[{names.index(name) + 1}]", f"an add-on that changes {kit.id}"
        problems.append(Problem(file, place, expected, repr(name), "Leave it out."))
    if problems:
        raise InputError(problems)
    return kit


def _added(kit: Kit, addon: AddOn) -> Kit:
    """Return a kit with one add-on for each of its units."""
    addon = bought(addon, kit)
    totals = (*_OF_ALL_UNITS, "pitch_minutes", "strike_minutes")
    changes = {name: getattr(kit, name) + getattr(addon, name) for name in totals}
    if kit.freight_kg is not None:
        changes["freight_kg"] = kit.freight_kg + addon.mass_kg
    changes["addons"] = (*kit.addons, addon.id)
    changes["ground_resistance_m2k_w"] = kit.ground_resistance_m2k_w + addon.extra_mat_m2k_w
    changes["bedding"] = kit.bedding.model_copy(
        update={"extra_clo": kit.bedding.extra_clo + addon.extra_clo}
    )
    if kit.awning is None and addon.awning is not None:
        changes["awning"] = addon.awning
        changes["standing_room"] = True
    if kit.fan is None and addon.fan is not None:
        changes["fan"] = addon.fan
    if addon.raise_to_m is not None and kit.exposure == "ground":
        changes["exposure"] = "raised"
        changes["sleeper_height_m"] = addon.raise_to_m
    return kit.model_copy(update=changes)


def _numbered(title: str, units: int) -> str:
    """Return a title with how many there are, where there are several."""
    return title if units == 1 else f"{title}{TIMES}{units}"


def misfit(
    kit: Kit,
    *,
    people: int,
    longest_m: float,
    carries: Collection[str] = (),
    bed_length_m: float | None = None,
) -> list[str]:
    """
    Return why a kit cannot be used by these people on this vehicle.

    Parameters
    ----------
    kit : Kit
    people : int
        How many sleep in it.
    longest_m : float
        Length of the tallest. [m]
    carries : collection of str
        What the vehicle has: "roof_rack", "bed_rack", "load_bed", "pop_roof".
    bed_length_m : float or None
        Flat length inside the vehicle, where known. [m]

    Returns
    -------
    list of str
        One sentence each; empty when it fits.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> misfit(load_kits()["bedroll"], people=3, longest_m=1.8)
    ['It has 2 places for 3 people.']
    """
    reasons = []
    if people > kit.places:
        places = "1 place" if kit.places == 1 else f"{kit.places} places"
        reasons.append(f"It has {places} for {people} people.")
    length = kit.bed_length_m
    if kit.bed_of_vehicle and bed_length_m is not None:
        length = min(length, bed_length_m)
    if length < longest_m + SPARE_LENGTH:
        reasons.append(
            f"Its bed is {length:.2f} m long; a sleeper of {longest_m:.2f} m needs"
            f" {longest_m + SPARE_LENGTH:.2f} m."
        )
    if kit.needs != "none" and kit.needs not in carries:
        reasons.append(f"It needs {_NEEDS_IN_WORDS[kit.needs]}, which the vehicle does not have.")
    return reasons
