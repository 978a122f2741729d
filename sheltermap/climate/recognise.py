"""What the variables of published datasets mean: one table of names, attributes and units.

In: a dataset as its publisher wrote it. Out: the quantities in it that the program uses,
in its own names and units, still along the source's time. Assumes one variable for each
quantity; whatever the table does not know is left aside.
"""

from __future__ import annotations

from dataclasses import dataclass

import xarray as xr

from sheltermap.climate.calendar import month_lengths
from sheltermap.gathered import Gathered
from sheltermap.vocabulary import InputError, Problem

DEWPOINT = "dewpoint"
RANGE = "temperature_range"
EASTWARD, NORTHWARD = "wind_eastward", "wind_northward"
HUMIDITY = "relative_humidity"
GEOPOTENTIAL = "geopotential"


@dataclass(frozen=True)
class Rule:
    """How one quantity is recognised.

    Attributes
    ----------
    quantity : str
        Name in the contract, or of something the contract's variables follow from.
    kind : str
        Key of `UNITS`.
    names : tuple of str
        Names publishers give it, in lower case.
    standard_names : tuple of str
        CF standard names it has.
    method : str or None
        Word that its CF cell methods must hold; with None, none of the others' words.
    """

    quantity: str
    kind: str
    names: tuple[str, ...]
    standard_names: tuple[str, ...] = ()
    method: str | None = None


# Names: ERA5 (t2m, d2m, tp, u10, v10, si10, z), CRU TS (tmp, tmn, tmx, dtr, pre, vap),
# WorldClim 2.1 (tavg, tmin, tmax, prec, vapr, wind, elev), TerraClimate (ppt, ws), CMIP
# (tas, tasmin, tasmax, pr, hurs, sfcwind, uas, vas, orog), and our own.
RULES = (
    Rule(
        "air_temperature",
        "temperature",
        ("t2m", "2t", "tmp", "tavg", "tas", "tmean", "air_temperature"),
        ("air_temperature",),
    ),
    Rule(
        "air_temperature_min",
        "temperature",
        ("tmn", "tmin", "tasmin", "air_temperature_min"),
        ("air_temperature",),
        "minimum",
    ),
    Rule(
        "air_temperature_max",
        "temperature",
        ("tmx", "tmax", "tasmax", "air_temperature_max"),
        ("air_temperature",),
        "maximum",
    ),
    Rule(RANGE, "difference", ("dtr", RANGE)),
    Rule(
        "rainfall",
        "rain",
        ("tp", "pre", "prec", "ppt", "pr", "precip", "precipitation", "rainfall"),
        (
            "precipitation_amount",
            "precipitation_flux",
            "lwe_precipitation_rate",
            "lwe_thickness_of_precipitation_amount",
        ),
    ),
    Rule("wet_days", "days", ("wet_days",)),
    Rule(
        "vapour_pressure",
        "pressure",
        ("vap", "vapr", "vapour_pressure"),
        ("water_vapor_partial_pressure_in_air",),
    ),
    Rule(DEWPOINT, "temperature", ("d2m", "2d", "tdew", DEWPOINT), ("dew_point_temperature",)),
    Rule(HUMIDITY, "share", ("hurs", "rh", HUMIDITY), ("relative_humidity",)),
    Rule("wind_speed", "speed", ("wind", "ws", "sfcwind", "si10", "wind_speed"), ("wind_speed",)),
    Rule(EASTWARD, "speed", ("u10", "uas"), ("eastward_wind",)),
    Rule(NORTHWARD, "speed", ("v10", "vas"), ("northward_wind",)),
    Rule("night_low_spread", "difference", ("night_low_spread",)),
    Rule(
        "elevation",
        "height",
        ("elev", "elevation", "orog", "altitude"),
        ("surface_altitude", "height_above_mean_sea_level"),
    ),
    Rule(GEOPOTENTIAL, "geopotential", ("z",), ("geopotential",)),
    Rule("land_fraction", "share", ("land_fraction", "lsm"), ("land_binary_mask",)),
)

LEFT_ASIDE = ("wet", "srad", "vpd", "frs", "pet", "cld")
"""Variables known to be of no use here.

CRU TS counts in "wet" the days of 0.1 mm, not of 1 mm; wet days are estimated instead."""

_CELSIUS = (
    "degc",
    "c",
    "°c",
    "celsius",
    "deg c",
    "degreec",
    "degreesc",
    "degree_celsius",
    "degrees celsius",
    "degrees_celsius",
)
_FAHRENHEIT = ("degf", "f", "°f", "fahrenheit", "degrees fahrenheit", "degrees_fahrenheit")
_KELVIN = ("k", "kelvin", "degk")
_COLDEST_KELVIN = 150.0
"""Colder than any air in kelvin, hotter than any in degrees. [K or degC]"""

# For each kind: factor and offset into our unit, by the unit's spelling in lower case.
UNITS = {
    "temperature": {
        **dict.fromkeys(_CELSIUS, (1.0, 0.0)),
        **dict.fromkeys(_KELVIN, (1.0, -273.15)),
        **dict.fromkeys(_FAHRENHEIT, (5 / 9, -160 / 9)),
    },
    "difference": {
        **dict.fromkeys(_CELSIUS + _KELVIN, (1.0, 0.0)),
        **dict.fromkeys(_FAHRENHEIT, (5 / 9, 0.0)),
    },
    "pressure": {
        "kpa": (1.0, 0.0),
        **dict.fromkeys(("hpa", "mb", "mbar", "millibar", "millibars"), (0.1, 0.0)),
        "pa": (0.001, 0.0),
    },
    "speed": {
        **dict.fromkeys(("m s-1", "m/s", "m s**-1", "ms-1", "m.s-1"), (1.0, 0.0)),
        **dict.fromkeys(("km h-1", "km/h"), (1 / 3.6, 0.0)),
        **dict.fromkeys(("kt", "kts", "knot", "knots"), (0.514444, 0.0)),
    },
    "share": {
        **dict.fromkeys(("1", "(0 - 1)", "fraction"), (1.0, 0.0)),
        **dict.fromkeys(("%", "percent"), (0.01, 0.0)),
    },
    "days": dict.fromkeys(("day", "days", "d"), (1.0, 0.0)),
    "height": {
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), (1.0, 0.0)),
        "km": (1000.0, 0.0),
        **dict.fromkeys(("ft", "feet", "foot"), (0.3048, 0.0)),
    },
    "geopotential": dict.fromkeys(("m**2 s**-2", "m2 s-2", "m^2 s^-2"), (1 / 9.80665, 0.0)),
}

# Rain: factor into mm, and the time it falls in.
RAIN_UNITS = {
    **dict.fromkeys(
        ("mm", "mm/month", "mm month-1", "mm mon-1", "kg m-2", "kg m**-2"), (1.0, "month")
    ),
    **dict.fromkeys(("cm", "cm month-1", "cm/month"), (10.0, "month")),
    **dict.fromkeys(("m month-1", "m/month"), (1000.0, "month")),
    **dict.fromkeys(("in", "inch", "inches"), (25.4, "month")),
    **dict.fromkeys(("mm day-1", "mm/day", "mm d-1", "mm/d", "kg m-2 day-1"), (1.0, "day")),
    **dict.fromkeys(("m day-1", "m/day", "m d-1"), (1000.0, "day")),
    **dict.fromkeys(("kg m-2 s-1", "kg m**-2 s**-1", "mm s-1", "mm/s"), (86400.0, "day")),
    **dict.fromkeys(("m s-1", "m/s", "m s**-1"), (86.4e6, "day")),
}
_PLAIN_METRES = ("m", "m of water equivalent")
_METRES_A_DAY = (1000.0, "day")
_METRES_AN_HOUR = (24000.0, "day")


def recognised(
    dataset: xr.Dataset, file: str, by_hour: bool = False
) -> tuple[dict[str, xr.DataArray], list[Problem]]:
    """
    Return the quantities of a dataset in our names and units.

    Parameters
    ----------
    dataset : Dataset
        Along ``month``, or along ``time`` with dates, or neither.
    file : str
        Where it came from, for messages.
    by_hour : bool
        Whether ``time`` holds the hours of the day of each month; metres of rain are then
        those of one hour, otherwise of one day, as ERA5 writes them.

    Returns
    -------
    quantities : dict of str to DataArray
        Rain is the sum of the month. [mm]
    problems : list of Problem
        Units that are absent or unknown, and quantities that occur twice.
    """
    gather, quantities = Gathered(), dict[str, xr.DataArray]()
    origins: dict[str, str] = {}
    for name, array in dataset.data_vars.items():
        rule = _rule(str(name), array)
        if rule is None:
            continue
        if rule.quantity in quantities:
            got = f"'{origins[rule.quantity]}' and '{name}'"
            mend = "Keep one of them."
            gather.problems.append(Problem(file, rule.quantity, "one variable", got, mend))
            continue
        converted = gather(_converted, rule, str(name), array, by_hour, file)
        if converted is not None:
            quantities[rule.quantity], origins[rule.quantity] = converted, str(name)
    gather.problems += _mislabelled(dataset, origins, file)
    known_useless = any(str(name).lower() in LEFT_ASIDE for name in dataset.data_vars)
    if not quantities and not gather.problems and not known_useless:
        got = ", ".join(f"'{name}'" for name in dataset.data_vars) or "no variable"
        examples = ", ".join(rule.names[0] for rule in RULES[:8])
        mend = "See the reference page for the names and attributes that are recognised."
        gather.problems.append(Problem(file, "", f"a known variable ({examples} ...)", got, mend))
    return quantities, gather.problems


def _mislabelled(dataset: xr.Dataset, origins: dict[str, str], file: str) -> list[Problem]:
    """Return one problem for all temperatures whose numbers belong to another unit than theirs.

    Told from the numbers as they stand in the file: converted, they look like a third unit.
    """
    kinds = {rule.quantity: rule.kind for rule in RULES}
    wrong: dict[tuple[str, str], list[str]] = {}
    for quantity, name in origins.items():
        array = dataset[name]
        units = " ".join(str(array.attrs["units"]).lower().split())
        if kinds[quantity] != "temperature":
            continue
        # One step is enough, and all that a large source should read here.
        step = array.isel({axis: 0 for axis in ("time", "month", "hour") if axis in array.dims})
        low, high = float(step.min()), float(step.max())
        if units in _KELVIN and high < _COLDEST_KELVIN:
            wrong.setdefault((str(array.attrs["units"]), "degC"), []).append(name)
        if units in _CELSIUS and low > _COLDEST_KELVIN:
            wrong.setdefault((str(array.attrs["units"]), "K"), []).append(name)
    return [
        Problem(
            file,
            ", ".join(f"{name}.units" for name in names),
            f"'{right}', as the numbers are",
            f"'{said}'",
            "Correct the units attribute; the numbers can stay.",
        )
        for (said, right), names in wrong.items()
    ]


def _rule(name: str, array: xr.DataArray) -> Rule | None:
    """Return the rule that fits a variable: its CF attributes first, then its name."""
    standard_name = array.attrs.get("standard_name")
    methods = str(array.attrs.get("cell_methods", ""))
    words = [rule.method for rule in RULES if rule.method]
    for rule in RULES:
        if standard_name not in rule.standard_names:
            continue
        if rule.method is None and not any(word in methods for word in words):
            # CF has one standard name for mean and extremes; a bare name may tell them apart.
            by_name = _named(name)
            same_standard = by_name and standard_name in by_name.standard_names
            return by_name if same_standard else rule
        if rule.method is not None and rule.method in methods:
            return rule
    return _named(name)


def _named(name: str) -> Rule | None:
    """Return the rule that knows a name."""
    return next((rule for rule in RULES if name.lower() in rule.names), None)


def _converted(
    rule: Rule, name: str, array: xr.DataArray, by_hour: bool, file: str
) -> xr.DataArray:
    """Return a variable in our unit; raises InputError where it or its units are no such."""
    if array.dtype.kind not in "iuf":
        mend = "Export it as numbers."
        raise InputError([Problem(file, name, "numbers", str(array.dtype), mend)])
    units = " ".join(str(array.attrs.get("units", "")).lower().split())
    known = (*RAIN_UNITS, *_PLAIN_METRES) if rule.kind == "rain" else tuple(UNITS[rule.kind])
    if units not in known:
        expected = "units such as " + ", ".join(f"'{unit}'" for unit in known[:6])
        got = f"'{array.attrs['units']}'" if units else "none"
        mend = "Write the units attribute that the numbers have."
        raise InputError([Problem(file, f"{name}.units", expected, got, mend)])
    marks = {key: array.attrs[key] for key in ("estimated", "uncertainty") if key in array.attrs}
    if rule.kind == "rain":
        converted = _monthly_rain(name, units, array, by_hour)
    else:
        factor, offset = UNITS[rule.kind][units]
        converted = array if (factor, offset) == (1.0, 0.0) else array * factor + offset
    return converted.assign_attrs().drop_attrs().assign_attrs(marks)


def _monthly_rain(name: str, units: str, array: xr.DataArray, by_hour: bool) -> xr.DataArray:
    """Return the sum of each month."""
    if units in _PLAIN_METRES:
        # ERA5 writes plain metres: of a day in monthly means, of an hour in means by hour.
        # Copernicus knowledge base, "Conversion table for accumulated variables".
        factor, span = _METRES_AN_HOUR if by_hour else _METRES_A_DAY
        if name.lower() != "tp":
            factor, span = RAIN_UNITS["m month-1"]
    else:
        factor, span = RAIN_UNITS[units]
    if span == "month":
        return array * factor
    if "time" in array.dims:
        return array * factor * array["time"].dt.days_in_month
    return array * factor * month_lengths(array)
