"""The words every layer shares: variables, grades, levels, factors, and the errors.

In: nothing. Out: names, units, ranges and small types that all other modules import.
Assumes nothing about files, grids or time; importing this module costs almost nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, TypeAlias, TypeVar

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt
    import xarray as xr

Floats: TypeAlias = "npt.NDArray[np.floating]"
"""An array of measured values; NaN is missing."""

Levels: TypeAlias = "npt.NDArray[np.uint8]"
"""Hazard levels by day of the year, or of another shape."""

Flags: TypeAlias = "npt.NDArray[np.bool_]"

Codes: TypeAlias = "npt.NDArray[np.int8]"
"""Grades or limiting factors as codes; negative where there is none to give."""

Box: TypeAlias = tuple[float, float, float, float]
"""West, south, east, north. [degrees]"""

Values = TypeVar("Values", float, "npt.NDArray[np.floating]", "xr.DataArray")
"""What a formula is applied to and what it gives back. Of several values some may be plain
numbers beside arrays or DataArrays; numbers alone give a number."""

Numbers = TypeVar("Numbers", float, "npt.NDArray[np.floating]")
"""The same where a formula knows nothing of names and units."""

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
"""Days of each month in the 365-day year that climatologies describe."""

DAYS_IN_YEAR = 365

EARTH_RADIUS_KM = 6371.0072
"""Radius of the sphere with the area of the WGS84 ellipsoid (authalic). [km] NIMA TR8350.2,
third edition (2000), table of derived constants: 6371007.18 m; from memory, worked out again
in the tests."""

YEARLY_SHARE = 0.45
"""Spread of a month's mean temperature between years over that of its nights' lows. [1] Our fit
to five stations of 11 to 37 years of daily observations: root mean square error 0.29 K, where a
constant has 0.48."""

FACTORS = ("cold", "heat", "wet", "wind", "condensation")
"""What can spoil a night, in the order results list it."""

NO_FACTOR = -1
"""Limiting factor of a night that nothing spoils (every risk below 1e-6)."""

MISSING_FACTOR = -9
"""Limiting factor where an input is missing: no verdict, not a good one."""

EXPOSURES = ("ground", "raised", "roof", "hard")
"""How a sleeper lies towards animals and water: on the ground, on a cot, high up, in a body."""

SITES = ("valley", "slope", "ridge", "shore", "forest", "plain")
"""One word for the lie of a camp."""


NARROW_SPACE = "\u202f"
"""Sets thousands apart and ties units to numbers: it does not break."""


class Grade(IntEnum):
    """Grade of a night, week or month, from best to worst: a share of sound nights.

    It speaks of sleep alone; hazards have a `Level` of their own.
    """

    SOUND = 0
    WORKABLE = 1
    HARD = 2
    UNFIT = 3

    @property
    def word(self) -> str:
        """Return the grade as people read it."""
        return self.name.lower()


MISSING_GRADE = -1
"""Stands for a grade where an input is missing: no verdict, not a good one."""


class Level(IntEnum):
    """Level of a hazard, in rising order; files write its word."""

    NONE = 0
    ADVISORY = 1
    SERIOUS = 2
    PROHIBITIVE = 3
    CLOSURE = 4

    @property
    def word(self) -> str:
        """Return the level as files and people write it."""
        return self.name.lower()


GRADE_FLOORS = ((Grade.SOUND, 0.90), (Grade.WORKABLE, 0.75), (Grade.HARD, 0.50))
"""Smallest share of sound nights for each grade; below the last one is ``UNFIT``.

judgement: at most one night in ten, in four, or in two goes wrong."""

CLOSE_BELOW = 0.60
"""Probability below which a call is close: that a grade is right, that of two plans the better
one is better. [1] judgement"""


def lowered(title: str) -> str:
    """
    Return a title as it stands inside a sentence; an abbreviation stays as it is.

    Examples
    --------
    >>> lowered("Warm bedding"), lowered("A room"), lowered("12 V fan"), lowered("LED lamp")
    ('warm bedding', 'a room', '12 V fan', 'LED lamp')
    """
    plain = title[1:2].islower() or title.startswith("A ")
    return title[:1].lower() + title[1:] if plain else title


def grouped(value: float, style: str = ".0f") -> str:
    """
    Return a number with its thousands set apart.

    Parameters
    ----------
    value : float
    style : str
        Precision and type, as Python's formatting takes them.

    Returns
    -------
    str

    Examples
    --------
    >>> grouped(2695.8) == f"2{NARROW_SPACE}696", grouped(12.5, ".10g")
    (True, '12.5')
    """
    return f"{value:,{style}}".replace(",", NARROW_SPACE)


def listed(items: Iterable[object], last: str = "and") -> str:
    """
    Return items joined as a sentence does it.

    Parameters
    ----------
    items : iterable
    last : str
        Word before the last one.

    Returns
    -------
    str
        Empty where there are none.

    Examples
    --------
    >>> listed(["cold"]), listed(["cold", "heat", "rain"])
    ('cold', 'cold, heat and rain')
    """
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def edges_swapped(west: float, east: float) -> bool:
    """
    Return whether a box over the 180th meridian would go most of the way round the world.

    Nobody means that: its edges have changed places.

    Parameters
    ----------
    west, east : float
        [degrees]

    Returns
    -------
    bool

    Examples
    --------
    >>> edges_swapped(46, 26), edges_swapped(170, -170), edges_swapped(-180, 180)
    (True, False, False)
    """
    return west > east and (east - west) % 360 > 180


@dataclass(frozen=True)
class Variable:
    """One variable of the climatology contract.

    Attributes
    ----------
    name : str
        Name in our files.
    units : str
        Units every stored value has.
    lowest, highest : float
        Range outside which a value is a mistake, not weather.
    long_name : str
        What it is, in words.
    standard_name : str or None
        CF name, where CF has one.
    cell_methods : str or None
        CF cell methods that turn the standard name into this statistic.
    required : bool
        Whether a climatology without it is refused.
    """

    name: str
    units: str
    lowest: float
    highest: float
    long_name: str
    standard_name: str | None = None
    cell_methods: str | None = None
    required: bool = False


VARIABLES = {
    variable.name: variable
    for variable in (
        Variable(
            "air_temperature",
            "degC",
            -75.0,
            50.0,
            "mean air temperature at 2 m",
            "air_temperature",
            "time: mean",
            required=True,
        ),
        Variable(
            "air_temperature_min",
            "degC",
            -80.0,
            45.0,
            "mean daily minimum of the air temperature at 2 m",
            "air_temperature",
            "time: minimum within days time: mean over days",
        ),
        Variable(
            "air_temperature_max",
            "degC",
            -70.0,
            60.0,
            "mean daily maximum of the air temperature at 2 m",
            "air_temperature",
            "time: maximum within days time: mean over days",
        ),
        Variable(
            "rainfall",
            "mm",
            0.0,
            5000.0,
            "precipitation sum of the month",
            "lwe_thickness_of_precipitation_amount",
            "time: sum",
            required=True,
        ),
        Variable("wet_days", "day", 0.0, 31.0, "days of the month with at least 1 mm"),
        Variable(
            "vapour_pressure",
            "kPa",
            0.0,
            6.0,
            "vapour pressure at 2 m",
            "water_vapor_partial_pressure_in_air",
            "time: mean",
            required=True,
        ),
        Variable(
            "night_low_spread",
            "K",
            0.0,
            20.0,
            "standard deviation of the daily minimum from day to day",
        ),
        Variable(
            "elevation",
            "m",
            -500.0,
            9000.0,
            "height of the cell above sea level",
            "surface_altitude",
        ),
        Variable(
            "land_fraction",
            "1",
            0.0,
            1.0,
            "share of the cell that is land",
            "land_area_fraction",
        ),
        Variable(
            "wind_speed",
            "m s-1",
            0.0,
            60.0,
            "mean wind speed at 10 m",
            "wind_speed",
            "time: mean",
        ),
    )
}
"""The climatology contract, by name."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input, with all a person needs to mend it.

    Attributes
    ----------
    file : str
        The file as the user named it; empty when there is none.
    key : str
        Where in the file, for example ``legs[2].nights``.
    expected, got : str
        What should stand there and what does.
    mend : str
        What to do about it.
    """

    file: str
    key: str
    expected: str
    got: str
    mend: str

    def __str__(self) -> str:
        place = ": ".join(part for part in (self.file, self.key) if part)
        return f"{place}: expected {self.expected}, got {self.got}. {self.mend}"


class InputError(Exception):
    """Inputs that cannot be used; carries every problem found, not the first.

    Parameters
    ----------
    problems : sequence of Problem
        At least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        if not self.problems:
            raise ValueError("an InputError needs at least one problem")
        super().__init__("\n".join(map(str, self.problems)))
