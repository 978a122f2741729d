"""Names of places for the atlas's search, as one packed script.

In: the embedded names, a box. Out: the places inside it, country by country. Assumes that who
looks for a small town writes its name as it is written there; only large ones bring others along,
which keeps a list of the world's towns near a megabyte.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from sheltermap.atlas.scripts import packed_script
from sheltermap.places.names import NamedPlace, folded, gazetteer
from sheltermap.vocabulary import Box

PLACES = "data/places.js"
"""Where the page's names lie."""

_LARGE = 200_000  # people; judgement: from here a town is asked for by its name in any language

Entry = tuple[NamedPlace, Sequence[str]]


def place_script(box: Box) -> bytes:
    """
    Return the names of places inside a box as a script.

    Parameters
    ----------
    box : Box
        West, south, east, north; east may pass 180. [degrees]

    Returns
    -------
    bytes
    """
    within = (entry for entry in gazetteer().entries() if _inside(entry[0], box))
    return packed_script(PLACES, "\n".join(lines(within)))


def lines(entries: Iterable[Entry]) -> Iterator[str]:
    """
    Yield places as the page's script reads them.

    Parameters
    ----------
    entries : iterable of NamedPlace and its other names
        Country after country.

    Yields
    ------
    str
        "#" and a country; then of each of its places the names with "|" between them, latitude
        and longitude in hundredths of a degree, and thousands of people, with tabs between them.

    Examples
    --------
    >>> osh = NamedPlace("Osh", "Kyrgyzstan", 40.53, 72.8, 130_400)
    >>> list(lines([(osh, ("Oš",))]))
    ['#Kyrgyzstan', 'Osh\\t4053\\t7280\\t130']
    """
    for country, places in groupby(entries, key=lambda entry: entry[0].country):
        yield f"#{country}"
        for place, others in places:
            kept = _different(place.name, others) if place.people >= _LARGE else []
            names = "|".join([place.name, *kept])
            hundredths = (round(100 * place.latitude), round(100 * place.longitude))
            yield "\t".join([names, *map(str, hundredths), str(round(place.people / 1000))])


def _different(name: str, others: Sequence[str]) -> list[str]:
    """Return the names that are not the same once folded, each once."""
    found = dict(zip(folded([name, *others]), [name, *others], strict=True))
    return [one for key, one in found.items() if key and key != folded([name])[0]]


def _inside(place: NamedPlace, box: Box) -> bool:
    """Return whether a place lies in a box."""
    west, south, east, north = box
    longitude = place.longitude + 360.0 * (place.longitude < west)
    return south <= place.latitude <= north and west <= longitude <= east
