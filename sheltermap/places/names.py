"""Names of places: where on the globe a place lies that somebody calls by its name.

In: a name such as ``Osh, Kyrgyzstan``, or a position. Out: the place with its country and
position. Assumes the embedded file that ``regions/world/make_names.py`` makes from GeoNames:
places of more than 5,000 people, to a hundredth of a degree.
"""

from __future__ import annotations

import difflib
import lzma
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property

import numpy as np

from sheltermap.distance import great_circle
from sheltermap.resources import bundled
from sheltermap.validation import shown
from sheltermap.vocabulary import InputError, Problem

_ONE_TOWN_KM = 25.0
"""Two places of one name and country so near are one town, told twice: legs count the country
25 km around a place. judgement"""

_AROUND_KM = 30.0  # judgement: so near, a larger town names a village's country.

_FAR_LARGER = 20.0
"""A place of so many times the people of any other of its name is the one that is meant.
judgement: already of five times the people it is the one on maps of the world; a wrong guess sends
a plan to another country, so four times as much is asked."""

_MOST_OFFERED = 6

_COORDINATES = "Or write latitude and longitude, as 40.53, 72.80."

_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "ı": "i", "đ": "d", "ð": "d", "æ": "ae", "œ": "oe", "þ": "th", "ə": "a"}
)
"""Letters that have no accent to take off."""

_LEFT_OUT = re.compile(r"[\u0300-\u036f'`´ʻʼ‘’]")
_BETWEEN = re.compile(r"(?:[^\w\n]|_)+")


@dataclass(frozen=True)
class NamedPlace:
    """A place of the embedded file.

    Attributes
    ----------
    name, country : str
        As GeoNames writes them.
    latitude, longitude : float
        [degrees]
    people : int
        [1]
    doubt : str
        Which far smaller places are called so too, and how to ask for one; empty where none is.
    """

    name: str
    country: str
    latitude: float
    longitude: float
    people: int
    doubt: str = field(default="", repr=False)

    @property
    def words(self) -> str:
        """Return its name as `place_named` reads it."""
        return f"{self.name}, {self.country}"


@dataclass(frozen=True)
class _Country:
    """A country's names, and its rows in the gazetteer."""

    names: tuple[str, ...]
    rows: range


class Gazetteer:
    """All places of the embedded file.

    Parameters
    ----------
    text : str
        As ``regions/world/make_names.py`` writes it.
    """

    def __init__(self, text: str) -> None:
        self._names: list[list[str]] = []
        self._country: list[str] = []
        self._where: list[tuple[float, float, int]] = []
        starts: list[tuple[int, tuple[str, ...]]] = []
        for line in text.splitlines()[1:]:
            if line.startswith("#"):
                starts.append((len(self._names), tuple(line[1:].split("|"))))
                continue
            names, latitude, longitude, people = line.split("\t")
            self._names.append(names.split("|"))
            self._country.append(starts[-1][1][0])
            self._where.append((float(latitude), float(longitude), int(people)))
        ends = [*(start for start, _ in starts[1:]), len(self._names)]
        self._countries = [
            _Country(names, range(start, end))
            for (start, names), end in zip(starts, ends, strict=True)
        ]

    @cached_property
    def _rows(self) -> tuple[dict[str, list[int]], dict[str, list[int]]]:
        """Return the rows of each folded name: of usual ones, and of all others."""
        rows = [row for row, names in enumerate(self._names) for _ in names]
        alike = folded([name for names in self._names for name in names])
        usual: dict[str, list[int]] = {}
        other: dict[str, list[int]] = {}
        before = -1
        for row, name in zip(rows, alike, strict=True):
            (other if row == before else usual).setdefault(name, []).append(row)
            before = row
        return usual, other

    def place(self, text: str) -> NamedPlace:
        """
        Return the place that a name means.

        Parameters
        ----------
        text : str
            A name, or a name and a country after a comma; accents and case don't matter.

        Returns
        -------
        NamedPlace
            The far larger of several, with its `doubt`.

        Raises
        ------
        ValueError
            If no place or several of like size are called so: "expected | how to mend", with the
            nearest spellings.
        """
        name, comma, country = (part.strip() for part in text.rpartition(","))
        if not comma:
            name, country = country, ""
        inside = self._inside(country) if country else None
        found = self._called(name, inside)
        if country and inside is None:
            # "Washington, D.C." has a comma of its own.
            found = self._called(text, None)
        towns = self._towns(found)
        if len(towns) == 1:
            return self._place(towns[0])
        if towns and self._where[towns[0]][2] >= _FAR_LARGER * self._where[towns[1]][2]:
            return self._far_larger(text, towns)
        if towns:
            more = "its coordinates" if inside is not None else "the country behind it"
            raise ValueError(
                f"one place; {len(towns)} are called so | Write {more}: {self._offer(towns)}."
            )
        raise ValueError(self._unknown(name, country, inside))

    def _far_larger(self, text: str, towns: Sequence[int]) -> NamedPlace:
        """Return the first of several places of a name, with what to write for another."""
        place = self._place(towns[0])
        doubt = (
            f"{shown(text)} is read as {self._offer(towns[:1])}, which has at least "
            f"{_FAR_LARGER:g} times the people of any other place called so. For another write "
            f"its country or its coordinates: {self._offer(towns[1:])}."
        )
        return replace(place, doubt=doubt)

    def nearest(self, latitude: float, longitude: float) -> tuple[NamedPlace, float]:
        """
        Return the place nearest to a position.

        Parameters
        ----------
        latitude, longitude : float
            [degrees]

        Returns
        -------
        NamedPlace
        float
            How far off it lies. [km]
        """
        away = self._away(latitude, longitude)
        row = int(np.argmin(away))
        return self._place(row), float(away[row])

    def entries(self) -> Iterator[tuple[NamedPlace, Sequence[str]]]:
        """Yield every place with its other names, country after country."""
        for row, names in enumerate(self._names):
            yield self._place(row), names[1:]

    def town(self, latitude: float, longitude: float) -> NamedPlace:
        """
        Return the place by which people know a position: the largest around, else the nearest.

        Parameters
        ----------
        latitude, longitude : float
            [degrees]

        Returns
        -------
        NamedPlace
        """
        away = self._away(latitude, longitude)
        around = np.flatnonzero(away <= _AROUND_KM)
        if not around.size:
            return self._place(int(np.argmin(away)))
        return self._place(max(around.tolist(), key=lambda row: self._where[row][2]))

    def _away(self, latitude: float, longitude: float) -> np.ndarray:
        """Return how far each place lies from a position. [km]"""
        where = self._positions
        return np.asarray(great_circle(where[:, 0], where[:, 1], latitude, longitude))

    @cached_property
    def _positions(self) -> np.ndarray:
        return np.array([(latitude, longitude) for latitude, longitude, _ in self._where])

    def _place(self, row: int) -> NamedPlace:
        return NamedPlace(self._names[row][0], self._country[row], *self._where[row])

    def _inside(self, country: str) -> range | None:
        """Return the rows of a country; None where no country is called so."""
        (wanted,) = folded([country])
        return next((one.rows for one in self._countries if wanted in folded(one.names)), None)

    def _called(self, name: str, inside: range | None) -> list[int]:
        """Return the rows of a name: those usually called so, else those called so elsewhere."""
        (wanted,) = folded([name])
        for rows in self._rows:
            found = [row for row in rows.get(wanted, ()) if inside is None or row in inside]
            if found:
                return found
        return []

    def _towns(self, rows: Iterable[int]) -> list[int]:
        """Return places with the most people first, and one of those that lie side by side."""
        towns: list[int] = []
        for row in sorted(rows, key=lambda one: -self._where[one][2]):
            latitude, longitude, _ = self._where[row]
            if all(
                float(great_circle(latitude, longitude, *self._where[town][:2])) > _ONE_TOWN_KM
                for town in towns
            ):
                towns.append(row)
        return towns

    def _unknown(self, name: str, country: str, inside: range | None) -> str:
        """Return what is wrong with a name of nothing: "expected | how to mend"."""
        expected = "the name of a place of more than 5,000 people"
        if country and inside is None:
            expected = f"the name of a country after the comma, not {shown(country)}"
            near = difflib.get_close_matches(country, [one.names[0] for one in self._countries])
            found = self._towns(self._called(name, None))
            offered = self._offer(found) if found else ", ".join(near)
        else:
            offered = self._offer(self._towns(self._like(name, inside)))
        if not offered:
            return f"{expected} | {_COORDINATES}"
        return f"{expected} | Nearest: {offered}. {_COORDINATES}"

    def _like(self, name: str, inside: range | None) -> Iterator[int]:
        """Yield the rows of names that are spelt nearly like one."""
        (wanted,) = folded([name])
        known = [
            one
            for rows in self._rows
            for one, held in rows.items()
            if abs(len(one) - len(wanted)) <= 2
            and (inside is None or any(row in inside for row in held))
        ]
        for one in difflib.get_close_matches(wanted, known, n=_MOST_OFFERED, cutoff=0.7):
            yield from self._called(one, inside)

    def _offer(self, rows: Sequence[int]) -> str:
        """Return places with their countries and coordinates."""
        places = [self._place(row) for row in rows[:_MOST_OFFERED]]
        said = "; ".join(
            f"{place.words} [{place.latitude:.2f}, {place.longitude:.2f}]" for place in places
        )
        return f"{said}; and {len(rows) - _MOST_OFFERED} more" if len(rows) > len(places) else said


@cache
def gazetteer() -> Gazetteer:
    """
    Return the embedded names.

    Returns
    -------
    Gazetteer

    Examples
    --------
    >>> gazetteer().place("OSH, kyrgyzstan")
    NamedPlace(name='Osh', country='Kyrgyzstan', latitude=40.53, longitude=72.8, people=320000)
    """
    packed = (bundled("regions") / "world" / "names.tsv.xz").read_bytes()
    return Gazetteer(lzma.decompress(packed).decode())


def coordinates(text: str) -> tuple[float, float]:
    """
    Return where a place lies that is called by its name.

    Parameters
    ----------
    text : str
        As `Gazetteer.place` takes it.

    Returns
    -------
    latitude, longitude : float
        [degrees]

    Raises
    ------
    ValueError
        As `Gazetteer.place`.
    """
    place = gazetteer().place(text)
    return place.latitude, place.longitude


def named(text: str) -> NamedPlace:
    """
    Return the place that a name on the command line means.

    Parameters
    ----------
    text : str
        As `Gazetteer.place` takes it.

    Returns
    -------
    NamedPlace

    Raises
    ------
    InputError
        If no place or more than one is called so.
    """
    try:
        return gazetteer().place(text)
    except ValueError as error:
        expected, mend = f"{error}".split(" | ")
        raise InputError([Problem("", "place", expected, shown(text), mend)]) from None


def folded(names: Sequence[str]) -> list[str]:
    """
    Return names without what people leave out: accents, case, signs between words.

    Parameters
    ----------
    names : sequence of str
        Each on one line. All at once, since a hundred thousand one by one take a second.

    Returns
    -------
    list of str

    Examples
    --------
    >>> folded(["Sant Julià de Lòria", "Øster-Ulslev", "Qo‘qon"])
    ['sant julia de loria', 'oster ulslev', 'qoqon']
    """
    apart = unicodedata.normalize("NFKD", "\n".join(names).casefold())
    plain = _LEFT_OUT.sub("", apart).translate(_LETTERS)
    return [name.strip() for name in _BETWEEN.sub(" ", plain).split("\n")]
