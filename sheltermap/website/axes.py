"""Axes of charts with round marks in the reader's own units.

In: a range of a quantity in its metric unit. Out: marks for both systems of units; the style
sheet shows those that the reader chose. Assumes that one drawing serves both, so imperial
marks stand where they fall on the metric axis.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sheltermap.units import converted
from sheltermap.website.charts import tick_text, ticks
from sheltermap.website.figures import MEASURES
from sheltermap.website.figures import number as number_text


@dataclass(frozen=True)
class Mark:
    """One mark of an axis.

    Attributes
    ----------
    at : float
        Where it stands, in the metric unit.
    text : str
        Its round number in the unit of its system, without the unit.
    """

    at: float
    text: str


@dataclass(frozen=True)
class Axis:
    """An axis that both systems of units share.

    Attributes
    ----------
    first, last : float
        Its ends, in the metric unit.
    metric, imperial : tuple of Mark
    """

    first: float
    last: float
    metric: tuple[Mark, ...]
    imperial: tuple[Mark, ...]

    def placed(self, place: Callable[[float], float]) -> list[dict]:
        """Return the marks of each system where they stand, for the templates.

        Keys system, marks (a list with keys at, text).
        """
        return [
            {"system": system, "marks": [{"at": place(one.at), "text": one.text} for one in marks]}
            for system, marks in (("metric", self.metric), ("imperial", self.imperial))
        ]


def axis(lowest: float, highest: float, kind: str, about: int = 4) -> Axis:
    """
    Return an axis over a range, with round marks in both systems.

    Parameters
    ----------
    lowest, highest : float
        In the metric unit of the kind.
    kind : str
        A key of ``figures.MEASURES``.
    about : int
        Steps wanted.

    Returns
    -------
    Axis
        Its ends are metric marks; imperial ones lie between them.

    Examples
    --------
    >>> year = axis(-7, 31, "temperature")
    >>> [mark.text for mark in year.metric]
    ['−10', '0', '10', '20', '30', '40']
    >>> [mark.text for mark in year.imperial]
    ['20', '40', '60', '80', '100']
    """
    measure, metric = MEASURES[kind], ticks(lowest, highest, about)

    def shown(value: float) -> float:
        return converted(value * measure.scale, measure.source, measure.target)

    def stored(value: float) -> float:
        return converted(value, measure.target, measure.source) / measure.scale

    low, high = shown(metric[0]), shown(metric[-1])
    hair = 1e-9 * max(abs(low), abs(high))
    steps = max(about, len(metric) - 1)
    round_ones = [mark for mark in ticks(low, high, steps) if low - hair <= mark <= high + hair]
    return Axis(
        metric[0],
        metric[-1],
        tuple(Mark(mark, _text(mark)) for mark in metric),
        tuple(Mark(stored(mark), _text(mark)) for mark in round_ones),
    )


def _text(value: float) -> str:
    """Return a mark's number: whole where it is, so that its axis reads as one."""
    return number_text(value) if float(value).is_integer() else tick_text(value)
