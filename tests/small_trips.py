"""Small trips on small, hand-made climates: every answer can be worked out on paper."""

from __future__ import annotations

import numpy as np
import xarray as xr

from sheltermap.climate.writer import write_climatology

LATITUDE = np.arange(38.0, 43.1, 0.5)
LONGITUDE = np.arange(26.0, 33.1, 0.5)

HEAD = """\
title = "Two camps"

[departure]
earliest = 2027-05-01
latest = 2027-05-10
finish_by = 2027-07-01
{departure}

[shelter]
kits = [{kits}]
"""


def climate(
    mean=18.0, swing=8.0, vapour=1.0, rain=0.0, wet=0.0, spread=2.0, height=100.0, **attrs
):
    """
    Return a climatology in which every month is alike unless a value says otherwise.

    A value is a number, twelve numbers, or an array over the whole grid. The default is
    perfect sleep in three-season bedding: 14 degC at the lowest, dry air, never any rain.
    """
    shape = (12, LATITUDE.size, LONGITUDE.size)

    def field(value, units):
        value = np.asarray(value, float)
        value = value[:, None, None] if value.shape == (12,) else value
        return ("month", "latitude", "longitude"), np.broadcast_to(value, shape), {"units": units}

    mean, swing = (np.asarray(value, float) for value in (mean, swing))
    fields = {
        "air_temperature": field(mean, "degC"),
        "air_temperature_min": field(mean - swing / 2, "degC"),
        "air_temperature_max": field(mean + swing / 2, "degC"),
        "vapour_pressure": field(vapour, "kPa"),
        "rainfall": field(rain, "mm"),
        "wet_days": field(wet, "day"),
        "night_low_spread": field(spread, "K"),
    }
    heights = np.broadcast_to(np.asarray(height, float), shape[1:])
    fields["elevation"] = (("latitude", "longitude"), heights, {"units": "m"})
    coordinates = {"month": np.arange(1, 13), "latitude": LATITUDE, "longitude": LONGITUDE}
    known = {"title": "made by hand", "source": "arithmetic", "period": "none", "licence": "none"}
    return xr.Dataset(fields, coordinates, known | attrs)


def stored(folder, **values):
    """Return the file of a hand-made climate."""
    path = folder / "climate.nc"
    write_climatology(climate(**values), path)
    return path


def leg(name, place=(40.0, 29.0), nights="4", more=""):
    """Return a leg at a place as the trip file writes it."""
    where = f"place = [{place[0]}, {place[1]}]"
    return f'\n[[legs]]\nname = "{name}"\n{where}\nnights = {nights}\n{more}\n'


def trip(*parts, kits="bedroll", departure="", changed=()):
    """Return the text of a trip: a head, then legs and other tables as written."""
    ids = ", ".join(f'"{kit}"' for kit in kits.split())
    text = HEAD.format(departure=departure, kits=ids) + "".join(parts)
    for old, new in changed:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def saved(folder, text):
    """Return the path of a trip file with that text."""
    path = folder / "trip.toml"
    path.write_text(text, encoding="utf-8")
    return path
