"""Wind at the camp by night: from a 10 m mean to the height of a tent.

In: mean wind speed at 10 m, or only the word for a camp's site. Out: mean night wind at
2 m and the probability of more than a limit. Assumes Rayleigh-distributed speeds. The
embedded climatology has no wind; then only a site word can supply a rough guess, which
is marked as one.
"""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Any, overload

import numpy as np
import xarray as xr

from sheltermap.elementwise import elementwise
from sheltermap.vocabulary import SITES, Numbers, Values

NIGHT_SHARE = 0.7
"""Night wind over the mean of day and night. [1] Common practice."""

SITE_SHARES = MappingProxyType(
    {"valley": 0.7, "slope": 1.0, "ridge": 1.4, "shore": 1.2, "forest": 0.4, "plain": 1.0}
)
"""Wind at a site over that of its surroundings. [1] judgement: rounded common practice."""

_TWO_OVER_TEN = 4.87 / math.log(67.8 * 10.0 - 5.42)  # FAO-56 eq. 47

OPEN_LAND_WIND = 3.5
"""Mean wind at 10 m where no data say otherwise. [m s-1] judgement: a usual inland value."""


def wind_at_two_metres(wind_speed: Values) -> Values:
    """
    Return the wind at 2 m over open ground from the wind at 10 m.

    Parameters
    ----------
    wind_speed : any shape
        Wind speed at 10 m. [m s-1]

    Returns
    -------
    same shape
        Wind speed at 2 m. [m s-1]

    References
    ----------
    .. [1] FAO Irrigation and Drainage Paper 56, 1998, eq. 47.

    Examples
    --------
    >>> round(float(wind_at_two_metres(3.2)), 2)
    2.39
    """
    return elementwise(lambda u: _TWO_OVER_TEN * u, wind_speed, units="m s-1")


@overload
def night_wind(
    wind_speed: xr.DataArray,
    site: str | xr.DataArray | None = None,
    night_share: float = NIGHT_SHARE,
) -> xr.DataArray: ...
@overload
def night_wind(
    wind_speed: Numbers, site: str | None = None, night_share: float = NIGHT_SHARE
) -> Numbers: ...
def night_wind(
    wind_speed: Any, site: str | xr.DataArray | None = None, night_share: float = NIGHT_SHARE
) -> Any:
    """
    Return the mean wind of a night at a camp, 2 m above the ground.

    Parameters
    ----------
    wind_speed : any shape
        Mean wind speed at 10 m over day and night. [m s-1]
    site : str or DataArray of str, optional
        One of the site words, or one for each camp.
    night_share : float
        Night wind over the mean of day and night. [1]

    Returns
    -------
    same shape
        Mean wind speed at 2 m by night. [m s-1]

    Raises
    ------
    ValueError
        If the site is not one of the words.

    Examples
    --------
    >>> round(float(night_wind(10.0)), 2)
    5.24
    """
    return wind_at_two_metres(wind_speed * (night_share * _site_share(site)))


def _site_share(site: str | xr.DataArray | None) -> float | xr.DataArray:
    """Return the wind at a site over that of its surroundings; 1 where no word is given."""
    if site is None or isinstance(site, str):
        return 1.0 if not site else SITE_SHARES[known_site(site)]
    shares = [1.0 if not word else SITE_SHARES[known_site(word)] for word in site.values.tolist()]
    return site.copy(data=np.asarray(shares))


def known_site(site: str) -> str:
    """
    Return the site word, checked.

    Parameters
    ----------
    site : str
        One of the site words.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        If it is not one of them.

    Examples
    --------
    >>> known_site("ridge")
    'ridge'
    """
    if site not in SITES:
        raise ValueError(f"one of {', '.join(SITES)} | Choose the word that fits the camp best.")
    return site
