"""What signs say, in a sentence each.

In: strengths by day, heights. Out: plain sentences. Assumes that thirds of months are as near
as a long-term mean can tell, so that no sentence names a day.
"""

from __future__ import annotations

import math

from sheltermap.air import SEA_LEVEL_PRESSURE, pressure_at
from sheltermap.hazards.sign import Strength
from sheltermap.hazards.sign_kinds import SIGN_KINDS
from sheltermap.spans import about_days
from sheltermap.vocabulary import Floats, Levels

_SOME = 0.1  # Share of winters from which snow is worth a word.


def sign_words(kind: str, strength: Levels, where: str = "") -> str:
    """
    Return the sentence of a sign.

    Parameters
    ----------
    kind : str
        A name of ``SIGN_KINDS``.
    strength : numpy.ndarray of uint8, shape (365,)
    where : str
        Put after what it says.

    Returns
    -------
    str

    Examples
    --------
    >>> import numpy as np
    >>> year = np.repeat([0, 1, 2, 0], [150, 31, 62, 122])
    >>> sign_words("fire-weather", year)
    'What grows here is dry enough for fires to spread from late May to late August; very dry
    from July to August (computed).'
    """
    about = SIGN_KINDS[kind]
    said = f"{about.says} {where}".rstrip()
    text = f"{said} {about_days(strength >= Strength.SIGN)}"
    strong = strength >= Strength.STRONG
    if about.strongly and strong.any():
        text += f"; {about.strongly} {about_days(strong)}"
    return f"{text} (computed)."


def snow_words(kind: str, strength: Levels, closing_share: Floats, where: str) -> str:
    """
    Return the sentences of snow: half of the winters, and one in ten.

    Parameters
    ----------
    kind : str
    strength : numpy.ndarray of uint8, shape (365,)
    closing_share : array, shape (365,)
        Share of winters in which an uncleared road is closed. [0 to 1]
    where : str
        Height and place, in words.

    Returns
    -------
    str
    """
    text = sign_words(kind, strength, where)
    some = closing_share >= _SOME
    if (some & (strength == Strength.NONE)).any():
        text += f" In one winter of ten {about_days(some)}."
    return text


def altitude_words(height: float) -> str:
    """
    Return what thin air does to sleep, engines and stoves.

    Parameters
    ----------
    height : float
        [m]

    Returns
    -------
    str

    Notes
    -----
    Pressure by FAO-56 eq. 7; water boils where its saturation pressure (eq. 11) equals it; an
    engine without a turbocharger loses power as the air loses density (common practice).

    Examples
    --------
    >>> altitude_words(3700.0)
    'At 3,700 m the air has 64 % of its pressure at sea level: sleep is broken for some nights,
    engines without a turbocharger lose about 35 % of their power, stoves burn weakly and sooty
    and water boils at 88 °C (computed).'
    """
    pressure = float(pressure_at(height))
    share = pressure / float(SEA_LEVEL_PRESSURE)
    logarithm = math.log(pressure / 0.6108)
    boiling = 237.3 * logarithm / (17.27 - logarithm)
    lost = 5 * round(100 * (1 - share) / 5)
    return (
        f"At {height:,.0f} m the air has {100 * share:.0f} % of its pressure at sea level: sleep "
        f"is broken for some nights, engines without a turbocharger lose about {lost} % of their "
        f"power, stoves burn weakly and sooty and water boils at {boiling:.0f} °C (computed)."
    )
