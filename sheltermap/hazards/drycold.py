"""Where estimated lows are known to come out too warm: dry, cool air.

In: a season. Out: when and where to doubt its lows. Assumes that the attribute ``estimated``
says whether the daily minimum is. Light to load, since one place needs no maps.
"""

from __future__ import annotations

import xarray as xr

from sheltermap.air import relative_humidity

COOL = 15.0
"""Monthly mean below which a colder night counts. [degC] judgement"""

DRY_AIR = 50.0
"""Relative humidity at the monthly mean below which nights clear and cool fast. [%] judgement"""


def dry_cold(season: xr.Dataset) -> xr.DataArray:
    """
    Return where and when estimated lows err to the warm side.

    The estimated daily range comes out too small on dry plains (``climate.estimate``), and
    reanalyses smooth the cold air that collects in basins. From memory, mean July lows of
    stations are 9 K below the estimate on the Altiplano (Uyuni), 3 to 4 K in the Kalahari
    and on the Highveld; near 0 K in other dry places.

    Parameters
    ----------
    season : xarray.Dataset
        air_temperature [degC], vapour_pressure [kPa], air_temperature_min with the
        attribute ``estimated`` where it is.

    Returns
    -------
    xarray.DataArray
        1 there, else 0; NaN where an input is missing. 0 where the minimum was measured.
    """
    mean, vapour = season["air_temperature"], season["vapour_pressure"]
    estimated = "estimated" in season["air_temperature_min"].attrs
    found = (mean < COOL) & (relative_humidity(mean, vapour) < DRY_AIR)
    return (found * float(estimated)).where(mean.notnull() & vapour.notnull())
