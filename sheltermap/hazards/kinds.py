"""The kinds of hazard: whom each threatens, what shields from it, what is usually said.

In: nothing. Out: one table of the kinds that layers and trip files may name, and the
rule by which a kit's exposure lowers a level.
Assumes that an exposure which a kind's `shields` doesn't list is threatened in full.
The table holds general knowledge of travellers (common practice), not local fact; local
authorities, park rules, warnings and licensed guides come first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from sheltermap.vocabulary import EXPOSURES, Level, Levels

NET = "net"
"""The protection of a kit that closes to insects: mesh or a closed body."""

PROTECTIONS = (*EXPOSURES, NET)
"""What a kind may name as a shield: a way to lie, or a net."""


@dataclass(frozen=True)
class HazardKind:
    """One kind of hazard.

    Attributes
    ----------
    name : str
        Word that files use.
    title : str
        As people read it.
    caution : str
        The usual cautions, in plain words; `cautions` says beside which findings they stand.
    shields : mapping of str to str
        Protection (an exposure, or ``net``) to when it lowers the level by one, and what
        remains.
    """

    name: str
    title: str
    caution: str
    shields: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


# Each says what remains: a shield holds for those who lie in the kit, and for nobody else.
_HIGH = (
    "while you lie two metres up; bears climb, large animals reach that high, and the way down "
    "at night is open"
)
_HIGH_WATER = "while you lie two metres up; the bank and the way to the water stay as they are"
_BODY = "while you lie in the closed body; food inside still draws animals, and outside it is full"
_OFF_GROUND = "while you lie off the ground; shoes, bags and the ground at night stay as they are"
_BODY_CRAWLING = (
    "while you lie in the closed body; shoes, bags and the ground at night stay as they are"
)

HAZARD_KINDS: Mapping[str, HazardKind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            HazardKind(
                "large-animals",
                "Large animals on the ground",
                "Keep food, rubbish and scented things away from where people sleep, keep your "
                "distance, never feed, and stay in after dark. Park rangers and local people "
                "know where not to camp: ask them, and follow park rules.",
                MappingProxyType({"roof": _HIGH, "hard": _BODY}),
            ),
            HazardKind(
                "water-animals",
                "Animals in and near water",
                "Camp well back from water edges and animal paths, fetch water by day and in "
                "company, and don't swim or wash where local people don't.",
                MappingProxyType({"roof": _HIGH_WATER, "hard": _BODY}),
            ),
            HazardKind(
                "crawling-animals",
                "Crawling and stinging animals",
                "Shake out shoes and bedding, use a light when walking at night, keep openings "
                "closed. After a bite keep still and get medical help; don't cut or suck.",
                MappingProxyType(
                    {"raised": _OFF_GROUND, "roof": _OFF_GROUND, "hard": _BODY_CRAWLING}
                ),
            ),
            HazardKind(
                "biting-insects",
                "Biting insects and the diseases they carry",
                "Cover skin at dusk, use repellent and a net, look for ticks, and ask a travel "
                "clinic about vaccines and malaria tablets before leaving. Fever during or after "
                "the journey needs a doctor the same day. Nets shield sleepers only, not the "
                "evening.",
                MappingProxyType(
                    {NET: "while you lie under a whole net or closed mesh; not in the evening"}
                ),
            ),
            HazardKind(
                "flood",
                "Flood",
                "Camp well above the highest water mark, leave early when water rises, and never "
                "drive or wade through moving water. River and civil authorities come first.",
            ),
            HazardKind(
                "flash-flood",
                "Flash flood",
                "Never camp in a dry bed or narrow valley: rain out of sight can send water down "
                "within minutes. Heed warnings and climb, don't drive, out of its way.",
            ),
            HazardKind(
                "road-closed",
                "Road closed by snow or water",
                "Opening dates change from year to year. Ask the road authority, carry food and "
                "bedding for a wait, and turn round rather than pass a closed barrier.",
            ),
            HazardKind(
                "tropical-cyclone",
                "Tropical cyclone",
                "Follow the weather service's warnings, leave the coast early when told to, and "
                "shelter in a sound building: no tent, roof or vehicle camp stands one.",
            ),
            HazardKind(
                "dust-storm",
                "Dust and sand storm",
                "Pull well off the road, lights out, and wait. Close openings, cover nose and "
                "mouth; people with asthma need their medicine at hand.",
                MappingProxyType(
                    {"hard": "while you stay in the closed body; the road is as blind as before"}
                ),
            ),
            HazardKind(
                "lightning",
                "Lightning season",
                "Be off ridges, open ground and water by early afternoon, keep away from lone "
                "trees and poles. A closed metal vehicle is the safest place in reach.",
                MappingProxyType(
                    {"hard": "while you stay in a closed metal body; no other shields"}
                ),
            ),
            HazardKind(
                "wildfire",
                "Wildfire and fire ban",
                "Obey fire bans, keep two ways out, park facing the road, and leave early when "
                "told to or when you smell smoke. Fire services come first.",
            ),
            HazardKind(
                "avalanche",
                "Avalanche and rockfall",
                "Keep camps and stops off run-out slopes, gullies and foot of cliffs, above all "
                "after snow, thaw or rain. Read the avalanche bulletin; hire a licensed guide.",
            ),
            HazardKind(
                "altitude",
                "Altitude illness",
                "Climb slowly, sleep low, and don't go higher with headache or nausea. Anyone who "
                "is confused, stumbles or is breathless at rest must go down at once, day or "
                "night.",
            ),
            HazardKind(
                "security",
                "Personal security",
                "Read your government's travel advice, ask local people and police, and move on "
                "when in doubt. Insurance may not hold where your government advises against it.",
            ),
            HazardKind(
                "permit",
                "Permits and protected areas",
                "Ask the park or local administration what is allowed, where and when, and carry "
                "the papers. Camping may be forbidden outside marked places.",
            ),
        )
    }
)
"""Every kind that a layer or a trip file may name, in the order results list them."""


def shield(kind: str, protections: Iterable[str]) -> str | None:
    """
    Return when a kit lowers a kind of hazard and what remains, or None where it doesn't.

    Parameters
    ----------
    kind : str
        A name of ``HAZARD_KINDS``.
    protections : iterable of str
        The kit's exposure, and ``net`` where it closes to insects.

    Returns
    -------
    str or None

    Raises
    ------
    ValueError
        If the kind or a protection is unknown.

    Examples
    --------
    >>> shield("crawling-animals", ["raised"])
    'while you lie off the ground; shoes, bags and the ground at night stay as they are'
    >>> shield("flood", ["hard", "net"]) is None
    True
    """
    protections = tuple(protections)
    unknown = [word for word in protections if word not in PROTECTIONS]
    if unknown:
        raise ValueError(f"protection: expected one of {PROTECTIONS}, got {unknown[0]!r}")
    shields = hazard_kind(kind).shields
    return next((shields[word] for word in protections if word in shields), None)


def shielded_level(level: npt.ArrayLike, kind: str, protections: Iterable[str]) -> Levels:
    """
    Return hazard levels as a kit's sleepers meet them.

    A shield lowers what reaches a sleeper by one level at most, however many shields there
    are. It never makes a hazard none, and a closure is never lowered: an order to stay away
    binds whatever one sleeps in (judgement).

    Parameters
    ----------
    level : array_like of int, any shape
        Stored codes: 0 none, 1 advisory, 2 serious, 3 prohibitive, 4 closure.
    kind, protections
        As for `shield`.

    Returns
    -------
    numpy.ndarray of uint8, same shape

    Examples
    --------
    >>> shielded_level([0, 1, 2, 3, 4], "large-animals", ["hard", "net"]).tolist()
    [0, 1, 1, 2, 4]
    >>> shielded_level([2], "large-animals", ["raised"]).tolist()
    [2]
    """
    stated = np.asarray(level, dtype=np.uint8)
    if shield(kind, protections) is None:
        return stated
    lowered = (stated > Level.ADVISORY) & (stated < Level.CLOSURE)
    return np.where(lowered, stated - 1, stated).astype(np.uint8)


def cautions(kinds: Iterable[str]) -> dict[str, str]:
    """
    Return the usual cautions of kinds met at one place, each advice once.

    Parameters
    ----------
    kinds : iterable of str
        Names of ``HAZARD_KINDS``; those met twice count once.

    Returns
    -------
    dict of str to str
        Caution by kind, in the order given.

    Examples
    --------
    >>> list(cautions(["altitude", "flood", "flood"]))
    ['altitude', 'flood']
    """
    return {name: hazard_kind(name).caution for name in kinds}


def hazard_kind(name: str) -> HazardKind:
    """
    Return a kind by its name.

    Parameters
    ----------
    name : str

    Returns
    -------
    HazardKind

    Raises
    ------
    ValueError
        If there is none of that name.

    Examples
    --------
    >>> hazard_kind("flood").title
    'Flood'
    """
    if name in HAZARD_KINDS:
        return HAZARD_KINDS[name]
    raise ValueError(f"hazard kind: expected one of {', '.join(HAZARD_KINDS)}, got {name!r}")
