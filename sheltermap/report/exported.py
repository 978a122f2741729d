"""What other programs are told about a plan: plain rows, clean text, sentences.

In: rows filled from a plan. Out: the same facts in words that every export uses.
Assumes text comes from users; characters that no format may carry are dropped here, and
each format escapes the rest by its own standard.
"""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime

_COORDINATE_DIGITS = 6  # a tenth of a metre


@dataclass(frozen=True)
class ExportedLeg:
    """One dated leg as other programs see it.

    Attributes
    ----------
    id : str
        Key of the leg, unique in the plan and the same in every later plan of the trip.
    name, place : str
        The leg's own name, and its region's where it has one, else the leg's again.
    arrive, leave : date
        First evening there, and the day after the last night.
    nights : int
    rough_nights : float
        NaN when unknown. [night]
    grade, limiting_factor : str
        In words; empty when unknown.
    latitude, longitude : float
        NaN when unknown. [degree]
    hazards, cautions : tuple of str
        Sentences.
    """

    id: str
    name: str
    place: str
    arrive: date
    leave: date
    nights: int
    rough_nights: float
    grade: str
    limiting_factor: str
    latitude: float
    longitude: float
    hazards: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class ExportedPlan:
    """A dated plan as other programs see it.

    Attributes
    ----------
    title : str
        Of the trip.
    kit, direction : str
    rough_nights : float
        NaN when unknown. [night]
    legs : tuple of ExportedLeg
        In travel order.
    stamp : datetime
        Time the plan was made, with its zone; the clock is never read here.
    cautions : tuple of str
        On the whole plan.
    route : tuple of (latitude, longitude)
        Line of the journey, where the trip has one. [degree]
    """

    title: str
    kit: str
    direction: str
    rough_nights: float
    legs: tuple[ExportedLeg, ...]
    stamp: datetime
    cautions: tuple[str, ...] = ()
    route: tuple[tuple[float, float], ...] = ()


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
    return "".join(c for c in text if c in "\n\t" or not _unusable(c))


def _unusable(character):
    """Return whether XML or iCalendar text must not hold a character."""
    noncharacter = (ord(character) & 0xFFFE) == 0xFFFE or 0xFDD0 <= ord(character) <= 0xFDEF
    return noncharacter or unicodedata.category(character) in ("Cc", "Cs")


def line(text: str) -> str:
    """
    Return text on one line, with only the characters that every format can carry.

    Examples
    --------
    >>> line("  high\\r\\n pass\\x07 ")
    'high pass'
    """
    return " ".join(plain(text).split())


def facts(leg, kit):
    """Return the dates and figures of a leg in a sentence."""
    nights = "1 night" if leg.nights == 1 else f"{leg.nights} nights"
    parts = [f"{leg.arrive.isoformat()} to {leg.leave.isoformat()}", nights]
    if math.isnan(leg.rough_nights):
        parts.append("rough nights unknown")
    else:
        parts.append(f"{leg.rough_nights:.1f} rough nights expected")
    if leg.grade:
        parts.append(f"grade {leg.grade}")
    if leg.limiting_factor:
        parts.append(f"mostly {leg.limiting_factor}")
    return f"{', '.join(parts)}, with {line(kit)}."


def warnings(leg, plan):
    """Return the hazards and cautions of a leg, then those of the whole plan."""
    return [line(text) for text in (*leg.hazards, *leg.cautions, *plan.cautions)]


def sentences(texts):
    """Return sentences as one text."""
    return " ".join(map(line, texts))


def located(leg):
    """Return whether a leg has coordinates."""
    return math.isfinite(leg.latitude) and math.isfinite(leg.longitude)


def coordinate(value):
    """Return a coordinate as files print it. [degree]"""
    return round(float(value), _COORDINATE_DIGITS) + 0.0


def position(leg):
    """Return the latitude and longitude of a leg as files print them. [degree]"""
    return coordinate(leg.latitude), coordinate(leg.longitude)
