"""The hot side: the warmest air in which a lightly covered person falls asleep.

In: vapour pressure and air speed at the sleeper, and a preset. Out: the limit at which
half of such sleepers lie awake. Assumes bare-armed sleep under a sheet (0.3 clo), three
quarters of the skin exposed, and walls as warm as the air; the balance holds for air of
24 to 38 degC and 0.1 to 1.5 m/s, which is where the limit falls.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sheltermap import air
from sheltermap.shelters.cold import CLO
from sheltermap.vocabulary import Numbers

PRESETS = {"light sleeper": 0.06, "usual": 0.10, "hardened": 0.206, "careful": 0.10}
"""Share of wet skin at which each sleeper lies awake [1]; `careful` is `usual` less a margin.

`light sleeper`: what skin gives off without sweating, where Gagge's two-node model starts.
`hardened`: ASHRAE's bound of comfort, 0.0012 M + 0.15 at 46.5 W m-2 (Fundamentals, chapter 9,
from memory). `usual`: judgement, between the two; its limit in still air falls at the upper
end of the 26 to 29 degC of criteria for bedrooms (Lomas and Li 2023)."""

CONCERN = 0.5
"""Share of wet skin beyond which a night strains the body: the worst condition of the
sleep-laboratory series (35 degC at 75 %, Okamoto-Mizuno 1999) demands 0.52. [1]"""

CONCERN_CAP = 38.0
"""Air in which a fan may do older people more harm than good. [degC] N. B. Morris et al., Lancet
Planetary Health 5 (2021), e368-e377: below 39 it never does young adults, below 38 older ones;
37 for those on some medicines (anticholinergics) is from memory."""

SKIN = 34.8
"""Skin temperature of a warm sleeper. [degC] judgement: 0.4 K above what ISO 11079 calls
neutral, 35.7 - 0.0285 M at 46.5 W m-2."""

_EXPOSED = 0.75  # common practice: the quarter that lies on the bed gives off nothing
_COVER = 0.3  # [clo] common practice: a sheet and light clothes
_SLOWEST, _FASTEST = 0.1, 1.5  # [m s-1] judgement: still air inside, and a strong fan

# ASHRAE Fundamentals, chapter 9, from memory; Gagge's two-node model has the same figures.
_RADIATION = 4.7  # [W m-2 K-1]
_LEWIS = 16.5  # [K kPa-1] at sea level
_PERMEABILITY = 0.45  # moisture permeability of the cover [1]
_BREATH_VAPOUR, _BREATH_TEMPERATURE = 5.87, 34.0  # of exhaled air [kPa], [degC]
_VAPOUR_LOSS, _WARMTH_LOSS = 0.0173, 0.0014  # by breath, of the metabolism [kPa-1], [K-1]


@dataclass(frozen=True)
class HeatLimit:
    """
    A limit that falls in a straight line with the vapour around the sleeper.

    Attributes
    ----------
    dry : float
        Limit in air without vapour. [degC]
    slope : float
        Fall with vapour pressure. [K kPa-1]
    cap : float
        Highest limit: hotter air warms the skin and no fan helps. [degC]
    margin : float
        Subtracted at the end, for careful sleepers. [K]
    """

    dry: float
    slope: float
    cap: float
    margin: float

    def at(self, vapour_pressure: Numbers) -> Numbers:
        """Return the limit in air of this vapour pressure [kPa]. [degC]"""
        limit = np.minimum(self.dry - self.slope * vapour_pressure, self.cap)
        return limit - self.margin


def heat_limit(
    air_speed: float,
    wettedness: float = PRESETS["usual"],
    *,
    metabolism: float = 46.5,
    cap: float = 35.0,
    margin: float = 0.0,
    cover: float = _COVER,
) -> HeatLimit:
    """
    Return the warmest air that lets a person fall asleep.

    Parameters
    ----------
    air_speed : float
        At the sleeper. [m s-1, 0.1 to 1.5; others are moved to the nearer end]
    wettedness : float
        Share of wet skin that is accepted. [0 to 1]
    metabolism : float
        Heat of the sleeper. [W m-2]
    cap : float
        Highest limit. [degC]
    margin : float
        Subtracted at the end. [K]
    cover : float
        Insulation of sheet and clothes. [clo]

    Returns
    -------
    HeatLimit

    References
    ----------
    .. [1] Skin-wettedness balance of ASHRAE Fundamentals, chapter 9 (coefficients from
       memory), solved for air temperature.

    Examples
    --------
    >>> limit = heat_limit(0.1, 0.206, cap=99)
    >>> round(limit.dry, 2), round(limit.slope, 2)
    (36.32, 1.81)
    """
    dry_loss, wet_loss = _exchange(air_speed, cover)
    saturated = float(air.saturation_vapour_pressure(SKIN))
    divisor = dry_loss + _WARMTH_LOSS * metabolism
    breath = metabolism * (_VAPOUR_LOSS * _BREATH_VAPOUR + _WARMTH_LOSS * _BREATH_TEMPERATURE)
    dry = (wettedness * wet_loss * saturated + breath + dry_loss * SKIN - metabolism) / divisor
    slope = (wettedness * wet_loss + _VAPOUR_LOSS * metabolism) / divisor
    return HeatLimit(dry, slope, cap, margin)


def _exchange(air_speed: float, cover: float) -> tuple[float, float]:
    """Return loss of heat per kelvin [W m-2 K-1] and of vapour per kPa [W m-2 kPa-1]."""
    speed = min(max(air_speed, _SLOWEST), _FASTEST)
    # Lying people, and clothes that enlarge the body: the same chapter, from memory.
    convection = 5.1 if speed <= 0.15 else 2.7 + 8.7 * speed**0.67
    resistance, enlarged = CLO * cover, 1 + 0.3 * cover
    dry = _EXPOSED / (resistance + 1 / (enlarged * (convection + _RADIATION)))
    film = 1 / (_LEWIS * enlarged * convection)
    return dry, _EXPOSED / (film + resistance / (_LEWIS * _PERMEABILITY))
