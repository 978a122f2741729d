"""Tolerance: what a kit in each of its modes leaves a sleeper to bear.

In: a kit, its sleepers, the settings. Out: modes (open, closed, under the awning) and
straight-line limits for cold and heat. Assumes the same people sleep inside in every mode
and that a fan runs only in heat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from sheltermap.shelters import cold, condensation, heat
from sheltermap.shelters.kit import BEDDING_WORDS, Bedding, Kit, Sleeper
from sheltermap.shelters.learned import Offset
from sheltermap.shelters.settings import Settings


@dataclass(frozen=True)
class Mode:
    """
    A kit set up in one way.

    Attributes
    ----------
    name : {"open", "closed", "awning"}
    air_speed : float
        At the sleepers, fan included. [m s-1]
    warming : float
        Air inside above air outside, from the sleepers. [K]
    warming_in_cold : float
        The part of it that counts against cold: none under a mere cover. [K]
    stored_heat : float
        Sun's heat left inside at bedtime. [K]
    vapour_gain : float
        Vapour pressure inside above outside. [kPa]
    sees_sky : float
        1 where a clear sky cools the bed itself, 0 under cloth or a roof. [1]
    wind_factor : float
        Share of the insulation that wind leaves. [1]
    face_warming : float
        How far the sleepers lift the fabric's inner face above the outside air. [K]
    face_sees_sky : float
        Share of a clear sky's cooling that reaches that face. [1]
    """

    name: str
    air_speed: float
    warming: float
    warming_in_cold: float
    stored_heat: float
    vapour_gain: float
    sees_sky: float
    wind_factor: float
    face_warming: float
    face_sees_sky: float


class Modes(NamedTuple):
    """
    A kit's modes.

    Attributes
    ----------
    open : Mode
        To its mesh, as on a dry night without insects or dust.
    closed : Mode
        Against rain, cold, insects or dust; `open` itself where there are no walls.
    awning : Mode or None
        Open under the awning; None without one.
    """

    open: Mode
    closed: Mode
    awning: Mode | None


@dataclass(frozen=True)
class ColdLimit:
    """
    Limit of one bed.

    Its sleeper is cold when ``air_share * air + ground_share * ground`` is below
    ``base + sky_share * cooling - air_share * own``.

    Attributes
    ----------
    base : float
        Of the usual sleeper. [degC]
    air_share, ground_share : float
        Weights of the air's and the ground's temperature. [1]
    sky_share : float
        Weight of a clear sky's cooling. [1]
    lowest : float
        The bed's own limit, before walls and ground. [degC]
    own : float
        How much colder air its sleeper bears than the usual one, as learned. [K]
    """

    base: float
    air_share: float
    ground_share: float
    sky_share: float
    lowest: float
    own: float


def modes(
    kit: Kit, sleepers: Sequence[Sleeper] = (Sleeper(),), settings: Settings | None = None
) -> Modes:
    """
    Return a kit's modes with these sleepers inside.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
        At least one.
    settings : Settings, optional

    Returns
    -------
    Modes
        A kit without walls has one state: `closed` is `open`.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> round(modes(load_kits()["ground-tent"], [Sleeper(), Sleeper()]).closed.warming, 1)
    2.3
    """
    settings = settings or Settings()
    people = len(sleepers)
    opened = _mode(kit, "open", people, settings)
    walls = kit.enclosure.fabric != "none"
    closed = _mode(kit, "closed", people, settings) if walls else opened
    awning = _mode(kit, "awning", people, settings) if kit.awning is not None else None
    return Modes(opened, closed, awning)


def _mode(kit: Kit, name: str, people: int, settings: Settings) -> Mode:
    """Return one mode; under the awning a kit stays open."""
    walls, closed = kit.enclosure, name == "closed"
    still = kit.air_speed_closed_m_s if closed else kit.air_speed_open_m_s
    changes = walls.air_changes_closed if closed else walls.air_changes_open
    warming = cold.enclosure_warming(
        people * settings.sleeper_heat, walls.fabric, walls.area_m2, walls.volume_m3, changes
    )
    gain = stored = 0.0
    if walls.fabric != "none":
        gain = condensation.vapour_gain(people * settings.sleeper_vapour, walls.volume_m3, changes)
        if closed:
            hard = kit.exposure == "hard"
            stored = settings.stored_heat_hard if hard else settings.stored_heat_fabric
    room = walls.headroom and walls.fabric != "none"
    sky = 0.0 if kit.awning is not None else 1.0
    return Mode(
        name=name,
        air_speed=max(still, kit.fan.air_speed_m_s) if kit.fan else still,
        warming=warming,
        warming_in_cold=warming if room else 0.0,
        stored_heat=stored,
        vapour_gain=gain,
        sees_sky=0.0 if room else sky,
        wind_factor=1.0 if closed or room else cold.wind_factor(still),
        face_warming=condensation.face_warming(warming, walls.fabric),
        face_sees_sky=sky * condensation.face_sky_share(walls.fabric),
    )


def bed_of(kit: Kit, sleeper: Sleeper, sharing: bool, settings: Settings) -> cold.Bed:
    """
    Return the bed of one sleeper.

    Parameters
    ----------
    kit : Kit
    sleeper : Sleeper
    sharing : bool
        Whether two lie under one cover.
    settings : Settings

    Returns
    -------
    cold.Bed
    """
    top = top_resistance(kit.bedding_of(sleeper), settings)
    if sleeper.bedding is not None:
        top += kit.bedding.extra_clo * cold.CLO  # the kit's extra cover serves everyone
    if sharing and kit.shared_bed and sleeper.bedding is None:
        top *= 1 + settings.shared_bed_gain
    return cold.bed(
        top,
        kit.ground_resistance_m2k_w,
        raised=kit.exposure != "ground",
        contact_share=settings.contact_share,
    )


def top_resistance(bedding: Bedding, settings: Settings) -> float:
    """
    Return the insulation of what lies over the sleeper, with its air layer. [m2 K W-1]

    Parameters
    ----------
    bedding : Bedding
    settings : Settings

    Returns
    -------
    float

    Examples
    --------
    >>> top_resistance(Bedding(clo=5), Settings())
    0.775
    """
    share, extra = settings.contact_share, bedding.extra_clo * cold.CLO
    if bedding.clo is not None:
        return bedding.clo * cold.CLO + extra
    if bedding.limit_c is not None:
        return cold.rated_top_resistance(bedding.limit_c, cold.LIMIT_METABOLISM, share) + extra
    # One of the four is always given.
    label = BEDDING_WORDS[bedding.word or "three-season"]
    if bedding.comfort_c is not None:
        label = bedding.comfort_c
    return cold.rated_top_resistance(label, cold.COMFORT_METABOLISM, share) + extra


def cold_limits(
    kit: Kit,
    sleepers: Sequence[Sleeper],
    mode: Mode,
    settings: Settings,
    *,
    insulation_kept: float = 1.0,
    intercept: float | None = None,
    debt: float = 0.0,
    in_danger: bool = False,
) -> tuple[ColdLimit, ...]:
    """
    Return the cold limit of each sleeper in one mode.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
    mode : Mode
    settings : Settings
    insulation_kept : float
        Share of the insulation that is left, for wet bedding. [1]
    intercept : float, optional
        `cold.NEUTRAL` or `cold.MINIMAL`, instead of the kit's own. [degC]
    debt : float
        Heat that sleepers lose beyond what they give off. [W m-2]
    in_danger : bool
        Whether only what was learned for the worse counts.

    Returns
    -------
    tuple of ColdLimit
        Off the ground all surroundings are air, so `ground_share` is 0.
    """
    if intercept is None:
        intercept = cold.MINIMAL if kit.limit else cold.NEUTRAL
    on_ground = kit.exposure == "ground"
    limits = []
    for sleeper in sleepers:
        own = sleeper.own
        bed = bed_of(kit, sleeper, len(sleepers) > 1, settings)
        metabolism = (
            settings.cold_sleeper_metabolism if sleeper.sleeps_cold else settings.metabolism
        )
        lowest = cold.lowest_temperature(
            bed.insulation * mode.wind_factor * insulation_kept,
            metabolism + debt,
            intercept,
        )
        limits.append(
            ColdLimit(
                base=lowest - bed.air_share * mode.warming_in_cold,
                air_share=bed.air_share if on_ground else 1.0,
                ground_share=bed.ground_share if on_ground else 0.0,
                sky_share=bed.air_share * mode.sees_sky,
                lowest=lowest,
                own=_counted(
                    None if own is None else own.cold(kit.bedding_of(sleeper).label), in_danger
                ),
            )
        )
    return tuple(limits)


def _counted(offset: Offset | None, in_danger: bool) -> float:
    """Return what counts of a sleeper's offset; 0 where nothing was learned. [K]"""
    if offset is None:
        return 0.0
    return offset.in_danger if in_danger else offset.mean


def danger_limits(
    kit: Kit, sleepers: Sequence[Sleeper], mode: Mode, settings: Settings, hours: float
) -> tuple[ColdLimit, ...]:
    """
    Return below what the cold endangers each sleeper in one mode.

    Parameters
    ----------
    kit : Kit
    sleepers : sequence of Sleeper
    mode : Mode
    settings : Settings
    hours : float
        Length of the sleep window. [h, above 0]

    Returns
    -------
    tuple of ColdLimit
        Where a curled-up sleeper, with the minimal skin of `cold.MINIMAL`, has lost
        `cold.HEAT_DEBT` by the end of the night.

    References
    ----------
    .. [1] ISO 11079:2007, duration-limited exposure, with the straight line of
       `cold.lowest_temperature`.

    Examples
    --------
    >>> from sheltermap.shelters.kit import load_kits
    >>> tent, settings = load_kits()["ground-tent"], Settings()
    >>> arguments = tent, [Sleeper()], modes(tent).closed, settings
    >>> (limit,), (danger,) = cold_limits(*arguments), danger_limits(*arguments, 8.0)
    >>> round(limit.lowest - danger.lowest, 1)
    5.9
    """
    debt = cold.HEAT_DEBT / hours
    return cold_limits(
        kit, sleepers, mode, settings, intercept=cold.MINIMAL, debt=debt, in_danger=True
    )


def heat_limits(
    sleepers: Sequence[Sleeper],
    mode: Mode,
    settings: Settings,
    *,
    concern: bool = False,
) -> tuple[heat.HeatLimit, ...]:
    """
    Return the heat limit of each kind of sleeper in one mode, without repeats.

    Parameters
    ----------
    sleepers : sequence of Sleeper
    mode : Mode
    settings : Settings
    concern : bool
        Where heat strains the body, instead of where it keeps awake.

    Returns
    -------
    tuple of heat.HeatLimit
    """
    limits = [
        heat.heat_limit(
            mode.air_speed,
            heat.CONCERN if concern else heat.PRESETS[sleeper.preset],
            metabolism=settings.metabolism,
            cap=heat.CONCERN_CAP if concern else settings.heat_cap,
            margin=(settings.careful_margin if sleeper.preset == "careful" else 0.0)
            - _counted(None if sleeper.own is None else sleeper.own.heat, concern),
        )
        for sleeper in sleepers
    ]
    return tuple(dict.fromkeys(limits))
