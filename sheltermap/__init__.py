"""sheltermap: which sleep kit suits a long journey, in which season, and which nights go wrong.

In: nothing. Out: the names below, the public face of the package. A climatology becomes a
season, a season becomes nights, nights are scored in a kit; or a trip file becomes a plan and
a site:

>>> import sheltermap
>>> climatology = sheltermap.world_climatology((28.0, 40.0, 30.0, 42.0))
>>> night = sheltermap.conditions(sheltermap.by_month(climatology))
>>> scored = sheltermap.score(night, sheltermap.load_kits()["ground-tent"])
>>> scored.sound_share.dims
('month', 'latitude', 'longitude')

Assumes that few need all: each name is imported when it is first asked for, so that
``import sheltermap`` costs nothing and ``sheltermap --help`` answers at once. Modules of the
package import from each other, never from here.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # What `_MODULE_OF` says, as type checkers and editors read it.
    from sheltermap.climate.calendar import by_day as by_day
    from sheltermap.climate.calendar import by_month as by_month
    from sheltermap.climate.own import own_climatology as own_climatology
    from sheltermap.climate.world import world_climatology as world_climatology
    from sheltermap.night.conditions import conditions as conditions
    from sheltermap.night.daylight import SleepWindow as SleepWindow
    from sheltermap.pipeline import build as build
    from sheltermap.pipeline import plan as plan
    from sheltermap.shelters.kit import Sleeper as Sleeper
    from sheltermap.shelters.kit import load_kits as load_kits
    from sheltermap.shelters.kit import read_kits as read_kits
    from sheltermap.suitability.score import score as score
    from sheltermap.suitability.score import scores as scores
    from sheltermap.vocabulary import InputError as InputError

__version__ = "0.1.0"

_MODULE_OF = {
    "world_climatology": "climate.world",
    "own_climatology": "climate.own",
    "by_month": "climate.calendar",
    "by_day": "climate.calendar",
    "conditions": "night.conditions",
    "SleepWindow": "night.daylight",
    "load_kits": "shelters.kit",
    "read_kits": "shelters.kit",
    "Sleeper": "shelters.kit",
    "score": "suitability.score",
    "scores": "suitability.score",
    "plan": "pipeline",
    "build": "pipeline",
    "InputError": "vocabulary",
}
"""Where each public name is defined, in the order in which one needs them."""

__all__ = ["__version__", *_MODULE_OF]


def __getattr__(name: str) -> Any:
    """Return a public name, imported when it is first asked for (PEP 562)."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    globals()[name] = value  # The next time it is found without coming here.
    return value


def __dir__() -> list[str]:
    """Return the public names beside what is already there."""
    return sorted({*globals(), *__all__})
