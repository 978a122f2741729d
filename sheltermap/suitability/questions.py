"""Questions: what several kits ask of a night, each distinct one once.

In: kits as plain numbers. Out: tables of what is asked, and which answers each kit needs.
Assumes that the kits share settings. Kits of one journey share people, bedding, fabrics
and fans, so that only about half of their questions differ.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

ROWS = (
    "cold_dry",
    "cold_wet",
    "closes",
    "heat_dry",
    "heat_wet",
    "heat_shut",
    "drips_open",
    "drips_closed",
    "drips_wet",
    "drips_shut",
    "asleep",
    "at_work",
    "unponded",
    "dried",
    "gale",
    "down",
)
"""The answers that a kit needs, in the order of `KitTable.rows`.

Cold in the closed kit on dry and on wet nights, and with the kit as it is on dry ones, which
makes sleepers close it; heat on dry nights, on wet ones, and with the kit shut; fabric that
drips in the open and the closed kit on dry nights, on wet ones, and with the kit shut; rain
while asleep and at work; no pond, and no damp canvas, that spoils the night; wind that the
kit, and that its awning, do not stand.
"""

TOPICS = ("cold", "heat", "drip", "rain", "pond", "damp", "gale")
"""What is asked, in the order of the answers."""


class ColdNumbers(NamedTuple):
    """A cold limit over the weight of the air: cold below base + sky s - ground g. [degC, 1]"""

    base: float
    ground: float
    sky: float


class HotNumbers(NamedTuple):
    """A heat limit, the lesser of dry - slope e and cap. [degC, K kPa-1, degC]"""

    dry: float
    slope: float
    cap: float


class ModeNumbers(NamedTuple):
    """A mode's limits, one a sleeper, and what it adds to warmth, vapour and fabric."""

    cold: tuple[ColdNumbers, ...]
    hot: tuple[HotNumbers, ...]
    heating: float
    vapour: float
    face: float
    face_sky: float


class KitNumbers(NamedTuple):
    """A kit, its sleepers and the settings, as the arithmetic uses them."""

    dry: ModeNumbers
    closed: ModeNumbers
    wet: ModeNumbers
    asleep: float
    at_work: float
    leak: float
    leak_in_wind: float
    pitching: float
    ponding: float
    undried: float
    per_soaked: float
    wind_limit: float
    awning_limit: float
    weight: float


class Cold(NamedTuple):
    """
    Is it colder than any sleeper bears?

    Attributes
    ----------
    base, ground, sky : array, shape (sleepers, questions)
        As in `ColdNumbers`.
    drop : array, shape (questions,)
        1 on dry nights where they are colder than wet ones, else 0.
    """

    base: np.ndarray
    ground: np.ndarray
    sky: np.ndarray
    drop: np.ndarray


class Heat(NamedTuple):
    """
    Is it hotter than any sleeper bears?

    Attributes
    ----------
    dry, slope, cap : array, shape (sleepers, questions)
        As in `HotNumbers`.
    heating, vapour : array, shape (questions,)
        Air inside above air outside. [K], [kPa]
    """

    dry: np.ndarray
    slope: np.ndarray
    cap: np.ndarray
    heating: np.ndarray
    vapour: np.ndarray


class Drip(NamedTuple):
    """
    Is the fabric's inner face below the dewpoint inside?

    Attributes
    ----------
    dewpoint : int array, shape (questions,)
        Which of the dewpoints.
    face, face_sky, drop : array, shape (questions,)
        Warmth over the air [K], share of a clear sky's cooling, and as in `Cold`. [1]
    """

    dewpoint: np.ndarray
    face: np.ndarray
    face_sky: np.ndarray
    drop: np.ndarray


class Damp(NamedTuple):
    """
    Is the canvas dry again, or the damp no matter?

    Attributes
    ----------
    per_soaked : array, shape (questions,)
        One over the drying power that dries it. [h-1 kPa-1]
    undried : array, shape (questions,)
        Chance that canvas that stayed wet spoils the night. [1]
    """

    per_soaked: np.ndarray
    undried: np.ndarray


class Questions(NamedTuple):
    """
    All distinct questions; answers stand in the order of `TOPICS`.

    Attributes
    ----------
    dewpoint : array
        Vapour inside above outside, of each dewpoint that `drip` needs. [kPa]
    cold : Cold
    heat : Heat
    drip : Drip
    rain : array
        Exponents of the dry share for windows of rain. [1]
    pond : array
        Chances that water under the bed after a heavy day spoils the night. [1]
    damp : Damp
    gale : array
        Squares of wind limits; empty where wind is not assessed. [m2 s-2]
    """

    dewpoint: np.ndarray
    cold: Cold
    heat: Heat
    drip: Drip
    rain: np.ndarray
    pond: np.ndarray
    damp: Damp
    gale: np.ndarray

    @property
    def count(self) -> int:
        """Return how many answers there are."""
        cold, heat, drip, damp = (
            self.cold.drop,
            self.heat.heating,
            self.drip.face,
            self.damp.undried,
        )
        return sum(map(len, (cold, heat, drip, self.rain, self.pond, damp, self.gale)))


class KitTable(NamedTuple):
    """
    The kits' own numbers, each an array of shape (kits,).

    Attributes
    ----------
    rows : int array, shape (answers of a kit, kits)
        Places in the answers, in the order of `ROWS`.
    awning : bool array
        Whether wind can take an awning in.
    leak, leak_in_wind, pitching, weight : array
        [1]
    """

    rows: np.ndarray
    awning: np.ndarray
    leak: np.ndarray
    leak_in_wind: np.ndarray
    pitching: np.ndarray
    weight: np.ndarray


class NightNumbers(NamedTuple):
    """
    What the settings say about nights, whatever the kit.

    Attributes
    ----------
    clear_sky : float
        Share of a clear sky's cooling on a dry night. [0 to 1]
    heat_variance : float
        Square of the spread of the heat limit. [K2]
    drying : float
        Share of daylight times vapour deficit that dries canvas on a wet day. [0 to 1]
    per_condensation : float
        One over the spread of the fabric's temperature. [K-1]
    """

    clear_sky: float
    heat_variance: float
    drying: float
    per_condensation: float


def questions_of(
    kits: Sequence[KitNumbers], kind: np.dtype, *, drops: bool, windy: bool
) -> tuple[Questions, KitTable]:
    """
    Return what the kits ask, and which answers each one needs.

    Parameters
    ----------
    kits : sequence of KitNumbers
        At least one.
    kind : dtype
        Type of the tables' numbers.
    drops : bool
        Whether air is anywhere colder on dry nights than on wet ones.
    windy : bool
        Whether wind is assessed.

    Returns
    -------
    Questions
    KitTable
    """
    asked = defaultdict(dict)
    drop = float(drops)

    def place(topic, *question):
        return asked[topic].setdefault(question, len(asked[topic]))

    def cold(mode, sky, drop):
        return place(
            "cold", tuple(limit._replace(sky=sky * limit.sky) for limit in mode.cold), drop
        )

    def heat(mode):
        return place("heat", mode.hot, mode.heating, mode.vapour)

    def drip(mode, sky, drop):
        dewpoint = place("dewpoint", mode.vapour)
        return place("drip", dewpoint, mode.face, sky * mode.face_sky, drop)

    unasked = ("cold", 0)  # any answer: it is not looked at
    rows, awning = [], []
    for kit in kits:
        dry, closed, wet = kit.dry, kit.closed, kit.wet
        awning.append(windy and (wet != closed or kit.leak_in_wind != 0))
        rows.append(
            (
                ("cold", cold(closed, 1.0, drop)),
                ("cold", cold(closed, 0.0, 0.0)),
                ("cold", cold(dry, 1.0, drop)),
                ("heat", heat(dry)),
                ("heat", heat(wet)),
                ("heat", heat(closed)),
                ("drip", drip(dry, 1.0, drop)),
                ("drip", drip(closed, 1.0, drop)),
                ("drip", drip(wet, 0.0, 0.0)),
                ("drip", drip(closed, 0.0, 0.0)),
                ("rain", place("rain", kit.asleep)),
                ("rain", place("rain", kit.at_work)),
                ("pond", place("pond", kit.ponding)),
                ("damp", place("damp", kit.per_soaked, kit.undried)),
                ("gale", place("gale", kit.wind_limit)) if windy else unasked,
                ("gale", place("gale", kit.awning_limit)) if awning[-1] else unasked,
            )
        )

    def column(topic, position=0):
        return np.array([question[position] for question in asked[topic]], kind)

    def sleepers(topic, kind_of_limit):
        limits = [question[0] for question in asked[topic]]
        most = max(len(one) for one in limits)
        # A repeated limit changes nothing, and makes all lists as long as the longest.
        padded = [one + one[:1] * (most - len(one)) for one in limits]
        table = np.array(padded, kind)  # (questions, sleepers, fields)
        return [
            np.ascontiguousarray(table[:, :, field].T)
            for field in range(len(kind_of_limit._fields))
        ]

    questions = Questions(
        dewpoint=column("dewpoint"),
        cold=Cold(*sleepers("cold", ColdNumbers), column("cold", 1)),
        heat=Heat(*sleepers("heat", HotNumbers), column("heat", 1), column("heat", 2)),
        drip=Drip(
            np.array([question[0] for question in asked["drip"]], np.intp),
            *(column("drip", position) for position in (1, 2, 3)),
        ),
        rain=column("rain"),
        pond=column("pond"),
        damp=Damp(column("damp"), column("damp", 1)),
        gale=column("gale"),
    )
    first, total = {}, 0
    for topic in TOPICS:
        first[topic], total = total, total + len(asked[topic])
    table = KitTable(
        np.array(
            [[first[topic] + number for topic, number in kit] for kit in rows], np.intp
        ).T.copy(),
        np.array(awning),
        *(np.array([getattr(kit, name) for kit in kits], kind) for name in KitTable._fields[2:]),
    )
    return questions, table
