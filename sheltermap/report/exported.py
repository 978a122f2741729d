"""What files for other programs say of a plan: clean text, sentences, coordinates.

In: legs of a plan and their places. Out: the same facts in words that every format uses.
Assumes text comes from users; characters that no format may carry are dropped here, and
each format escapes the rest by its own standard.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from sheltermap.places.place import Place
from sheltermap.report.report import NOT_A_FORECAST, MetHazard, PlannedLeg
from sheltermap.vocabulary import Grade, Level

_COORDINATE_DIGITS = 6  # a tenth of a metre

# What XML or iCalendar text must not hold: controls but tab and line feed, surrogates, and
# the code points that are no characters (Unicode Standard, section 23.7).
_NO_CHARACTERS = "".join(
    f"{chr(plane + 0xFFFE)}-{chr(plane + 0xFFFF)}" for plane in range(0, 0x110000, 0x10000)
)
_UNUSABLE = re.compile(f"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef{_NO_CHARACTERS}]")


def plain(text: str) -> str:
    """
    Return text with only the characters that every format can carry.

    Parameters
    ----------
    text : str
        What a user wrote.

    Returns
    -------
    str
        Line ends as line feeds; control characters, lone surrogates and code points that
        are no characters dropped.

    Examples
    --------
    >>> plain("high\\r\\npass\\x00 \\ufffe")
    'high\\npass '
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _UNUSABLE.sub("", text)


def line(text: str) -> str:
    """
    Return text on one line, with only the characters that every format can carry.

    Examples
    --------
    >>> line("  high\\r\\n pass\\x07 ")
    'high pass'
    """
    return " ".join(plain(text).split())


def facts(leg: PlannedLeg, kit: str) -> str:
    """Return the dates and figures of a leg in a sentence."""
    nights = "1 night" if leg.nights == 1 else f"{leg.nights} nights"
    parts = [f"{leg.arrive.isoformat()} to {leg.leave.isoformat()}", nights]
    if leg.camp_reached != leg.arrive:
        parts.append(f"camp reached {leg.camp_reached.isoformat()}")
    if math.isnan(leg.rough_nights):
        parts.append("rough nights unknown")
    else:
        parts.append(f"{leg.rough_nights:.1f} rough nights expected")
    if leg.height.basis == "stated":
        parts.append(f"camp at {leg.height.elevation_m:,.0f} m")
    if grade_word(leg):
        parts.append(f"grade {grade_word(leg)}")
    if leg.limiting_factor:
        parts.append(f"mostly {leg.limiting_factor}")
    return f"{', '.join(parts)}, with {line(kit)}."


def grade_word(leg: PlannedLeg) -> str:
    """Return the grade of a leg as people read it; empty when unknown."""
    return Grade(leg.grade).word if leg.grade >= 0 else ""


def hazard_words(hazard: MetHazard) -> str:
    """Return a hazard as one line for programs that know nothing of levels."""
    part = f", {hazard.part}" if hazard.part else ""
    note = f": {hazard.note}" if hazard.note else ""
    level = Level(hazard.stated_level).word
    return line(f"{hazard.title}, {level}{part}{note} ({hazard.source})")


def warnings(leg: PlannedLeg) -> list[str]:
    """Return the hazards and cautions of a leg, then the one on every plan."""
    return [*map(hazard_words, leg.hazards), *map(line, leg.cautions), NOT_A_FORECAST]


def sentences(texts: Iterable[str]) -> str:
    """Return sentences as one text."""
    return " ".join(map(line, texts))


def coordinate(value: float) -> float:
    """Return a coordinate as files print it. [degree]"""
    return round(float(value), _COORDINATE_DIGITS) + 0.0


def position(place: Place) -> tuple[float, float]:
    """Return the latitude and longitude of a place as files print them. [degree]"""
    return coordinate(place.latitude), coordinate(place.longitude)
