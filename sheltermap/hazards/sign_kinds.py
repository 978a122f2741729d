"""The kinds of sign: what each says, what it rests on and how well it did.

In: nothing. Out: one table, and the kinds of hazard that it answers. Assumes that who reads a
sign knows it is computed: its words are never those of a hazard's level. The cautions are general
knowledge of travellers (common practice); local authorities, park rules, warnings and licensed
guides come first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class SignKind:
    """One kind of sign.

    Attributes
    ----------
    name : str
        As JSON and CSV write it.
    title : str
        As people read it.
    says, strongly : str
        What holds on days of a sign, and of a strong one; empty where none is stronger.
    basis : str
        The rule, with its source.
    skill : str
        What it was held against, and how well it did.
    caution : str
    answers : str
        The kind of hazard that it computes, a name of ``HAZARD_KINDS``; empty where it is none.
    """

    name: str
    title: str
    says: str
    strongly: str
    basis: str
    skill: str
    caution: str
    answers: str = ""


SIGN_KINDS: Mapping[str, SignKind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            SignKind(
                "snow-on-the-road",
                "Snow on the ground",
                "Snow likely closes an uncleared road",
                "it lies deep",
                "20 winters run day by day: snow below 1 °C (Jennings et al. 2018), melt of 4 mm "
                "a degree and day (3 to 5 mm at 4,736 stations); a road is closed where half of "
                "the winters have 20 mm of water in the snow, and deep snow from 100 mm",
                "tells which roads close (42 of five continents, none of 6 that are open), but "
                "when only roughly: half of 76 opening and closing days missed by 16 days or "
                "less, no better than one date each for all northern roads (correlation 0.2 among "
                "closing days, none among opening days); Japan's snow walls by "
                "eleven weeks. Snow cover of the northern half: 8 % low in "
                "January, 21 % in April, 22 % in October",
                "Roads are opened and closed by people and ploughs: ask the road authority. Never "
                "heat a closed shelter with a flame: carbon monoxide kills without warning.",
                "road-closed",
            ),
            SignKind(
                "snow-on-the-pass",
                "Snow on the highest point",
                "Pass likely closed by snow",
                "deep snow",
                "the same at the highest point of the route in the region, or of the region where "
                "no route is known, as high as the 5-minute map has it",
                "the 42 roads at the map's height: half missed by 17 days or less",
                "Opening dates change from year to year. Carry food and bedding for a wait, and "
                "turn round rather than pass a closed barrier.",
                "road-closed",
            ),
            SignKind(
                "thaw-mud",
                "Thaw on frozen ground",
                "Unpaved roads thaw to mud",
                "",
                "thawing index of 14 degree-days above -1.7 °C (Minnesota's criterion), then 25 "
                "days and 0.018 day for each degree-day of the winter's frost (Mahoney 1985), "
                "where the ground is moist",
                "load restrictions of eight regions from Minnesota to the Amur: their start is "
                "missed by a week at most, by 4 days on average",
                "Wait for a frosty morning, keep to gravel, and don't rut a road others need.",
            ),
            SignKind(
                "wet-tracks",
                "Wet tracks",
                "Unpaved tracks are wet",
                "the ground is soaked",
                "rain less evapotranspiration (FAO-56 eq. 52) through a store of 100 mm: full, "
                "and half a millimetre a day to spare, or 130 mm of rain a month; soaked from "
                "2 mm a day to spare or 250 mm",
                "muddy and dusty months in print of four regions: 10 of 12 found, none confused",
                "Clay takes no vehicle while it is wet, sand takes it better. Ask who drove last.",
            ),
            SignKind(
                "cloudbursts",
                "Flash floods",
                "A cloudburst on dry, steep ground can flood a valley",
                "one is likely in a season",
                "chance of 20 mm in a day from 0.6 % (strong from 2 %) on ground less than half "
                "full, where the 5-minute map's relief exceeds 100 m, in months with at least a "
                "third of the likeliest month's chance",
                "not tested: true deserts, where it floods once in years, get no sign",
                "Never camp in a dry bed or narrow valley: rain out of sight can send water down "
                "within minutes.",
                "flash-flood",
            ),
            SignKind(
                "heavy-days",
                "Water standing after heavy days",
                "Rain of 20 mm in a day is likely once in three weeks",
                "once a week",
                "chance of more than 20 mm in a day, 5 % and 15 % (Geng et al. 1986)",
                "days above 10 mm at five stations: 2.8 percentage points",
                "Pitch on a rise, off hollows and wheel tracks, and never in a dry bed.",
            ),
            SignKind(
                "high-river",
                "High water of a large river",
                "A large river near runs high",
                "very high",
                "water that runs off all cells upstream (rain less FAO-56 evapotranspiration "
                "through the store of 100 mm, with melting snow), seeping out in 30 days and "
                "travelling at 1 m/s along the base map's rivers above 50 m³/s within 15 km of "
                "camps and route: high from 1.5 times its mean, very high from 2.5",
                "highest month of 38 gauges of six continents: 34 within a month, half to the "
                "month; wrong below the Pantanal, on the Amur, the Yellow River and the Murray, "
                "and where dams hold the flood back, of which seven of the greatest are known",
                "Ask at the last village whether fords, ferries and low bridges work. Camp well "
                "above the last flood's line, and never drive or wade into moving water.",
            ),
            SignKind(
                "heat-by-day",
                "Midday heat",
                "Midday in the sun has heat category 2 or more",
                "category 4 or 5, with long rests from any work,",
                "wet-bulb globe temperature of the mean daily maximum in full sun against the US "
                "Army card",
                "mean maximum: see the accuracy of the embedded data",
                "Drink before thirst, and never leave people or animals in a parked vehicle. "
                "Confusion or collapse in heat is an emergency: cool the person with water and "
                "air at once and call for help.",
            ),
            SignKind(
                "heat-in-shade",
                "Midday heat even in shade",
                "Heat category 2 or more even in shade",
                "category 4 or 5 in shade",
                "the same in shade: 0.7 of the natural wet bulb and 0.3 of the air (ISO 7243)",
                "mean maximum and dewpoint: see the accuracy of the embedded data",
                "Shade alone does not cool people: wet skin and clothes, moving air, rest and "
                "water do. Old, ill and very young people need a cooled room.",
            ),
            SignKind(
                "frost",
                "Frost",
                "One night in ten or more is below freezing",
                "it stays below freezing by day",
                "mean low and its spread from night to night; mean maximum",
                "nights below 5 °C at left-out places: 3 to 5 percentage points",
                "Drain water and keep filters and batteries warm. Never heat a closed shelter "
                "with a flame. Shivering that stops is an emergency.",
            ),
            SignKind(
                "cold-and-wet",
                "Cold and wet together",
                "Days near freezing with rain on one in three",
                "rain or sleet on every second day",
                "mean of the day from -2 to 8 °C and days with 1 mm; judgement after the US "
                "National Institute for Occupational Safety and Health: wet feet are injured up "
                "to 16 °C",
                "wet days at five stations: 1.7 days a month",
                "Wet people cool fast above freezing: keep one dry set for the night, and stop "
                "before everything is wet.",
            ),
            SignKind(
                "wind-chill",
                "Wind chill",
                "Bare skin freezes within half an hour",
                "within ten minutes",
                "wind chill of the mean dawn, -28 and -40 (Environment Canada), where the wind is "
                "known",
                "not tested: the embedded data hold no wind",
                "Cover faces and hands, watch each other for white patches, and get out of wind.",
            ),
            SignKind(
                "biting-evenings",
                "Biting insects in the evening",
                "Evenings are mild and moist enough for mosquitoes, midges or blackflies",
                "",
                "10 °C and 40 % humidity at bedtime, pools filled within half a year, wind where "
                "it is known; common practice and judgement",
                "eight places known well: none on salt flats and in deserts, all summer in Rome",
                "Cover skin at dusk and use repellent and a net. Nets shield sleepers only, not "
                "the evening.",
                "biting-insects",
            ),
            SignKind(
                "malaria-climate",
                "Climate suitable for malaria",
                "Where malaria occurs, the climate suits its spread",
                "",
                "rules of Tanser et al. 2003: three months' mean of 60 mm, a month of 80 mm, "
                "warmth, no cold month",
                "southern Niger: mostly July to October in print, August to October here",
                "That is not risk: many suitable places have none, and rivers and irrigation let "
                "it spread where rain says it can't. Ask a travel clinic before leaving. Fever "
                "during or after the journey needs a doctor the same day.",
            ),
            SignKind(
                "dengue-climate",
                "Climate suitable for dengue",
                "Where dengue occurs, the climate suits its spread",
                "",
                "mean of 22 to 34 °C (Mordecai et al. 2017), coldest month above 10 °C, rain as "
                "for malaria",
                "Delhi: September to November in print, July to October here",
                "Its mosquitoes bite by day: repellent on bare skin all day. Ask a travel clinic.",
            ),
            SignKind(
                "ticks",
                "Ticks",
                "Ticks of woods and meadows are out",
                "",
                "mean daily maximum of 7 °C (Parasites and Vectors 2014) in air that isn't dry, "
                "in country with 170 growing days; north of 30°",
                "Switzerland: mid-February to early November in print, mid-February to early "
                "December here",
                "Long trousers, and look yourselves over every evening; a tick taken out within a "
                "day seldom infects. A spreading red ring or fever needs a doctor.",
            ),
            SignKind(
                "fire-weather",
                "Fire weather",
                "What grows here is dry enough for fires to spread",
                "very dry",
                "Angström index of the mean day and the monthly drought code (Girardin and Wotton "
                "2009), in months below 85 mm after none of 130 mm, where 240 mm fall in a year",
                "fire seasons of 22 regions, and 10 that have none: 94 % of their months "
                "found, 7 % of other months wrongly named; thresholds chosen with these in view. "
                "Spring fires in last year's dead grass, as on the steppe, are missed",
                "That is no fire forecast, and smoke is not told: obey fire bans, keep two ways "
                "out, and ask the fire service.",
                "wildfire",
            ),
            SignKind(
                "thin-air",
                "Thin air",
                "Thin air",
                "",
                "height of the camps, pressure by FAO-56 eq. 7: high from 2,500 m, very high from "
                "3,500 m (common practice)",
                "follows from the height",
                "Climb slowly and sleep low; who gets worse must go down at once.",
                "altitude",
            ),
        )
    }
)
"""Every kind of sign, in the order results list them."""

COMPUTED_HAZARDS = tuple(
    dict.fromkeys(kind.answers for kind in SIGN_KINDS.values() if kind.answers)
)
"""Kinds of hazard that signs look at: computed from climate, where no layer looked."""


def unlayered(kinds: Iterable[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """
    Return what of the kinds without a layer is computed from the climate, and what is not.

    With ``findings.not_checked`` it gives the three states of a kind, everywhere alike: looked
    at in a layer, computed from the climate, not checked.

    Parameters
    ----------
    kinds : iterable of str
        Without a layer: from ``findings.not_checked``, or all kinds where there are no layers.

    Returns
    -------
    computed, not_checked : tuple of str

    Examples
    --------
    >>> unlayered(["flash-flood", "security"])
    (('flash-flood',), ('security',))
    """
    kinds = tuple(kinds)
    computed = tuple(kind for kind in kinds if kind in COMPUTED_HAZARDS)
    return computed, tuple(kind for kind in kinds if kind not in COMPUTED_HAZARDS)
