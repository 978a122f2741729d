"""What a traveller logs: legs that are done, and how nights were slept.

In: raw tables of a trip file. Out: checked rows, each right by itself; what must fit the trip
is checked by ``trip.log_checks``.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from sheltermap.files import Record, Written
from sheltermap.trip.values import Day, Name, Point, WrittenBedding

_COLDEST, _HOTTEST = -70.0, 60.0  # [degC] judgement: beyond them a thermometer is misread.
_MOST_NIGHTS = 365


def _one_or_each(value: Any) -> Any:
    """Return one temperature as a list of one."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return [value]
    return value


Temperatures = Annotated[
    tuple[Annotated[float, Field(ge=_COLDEST, le=_HOTTEST)], ...],
    Field(min_length=1, max_length=_MOST_NIGHTS),
    BeforeValidator(_one_or_each),
    Written("number, or list of one a night"),
]
Count = Annotated[int, Field(ge=0, le=_MOST_NIGHTS)]


class SleptRow(Record):
    """
    Nights in one place: told whole, or one counts as a cold sleeper who writes down bad nights.

    Nights that are none of cold, cool, warm or hot were fine.
    """

    who: Name | None = Field(
        None,
        description="one of `[[party.sleepers]]`, a row with a name is enough; needed where more "
        "than one sleeps",
    )
    leg: Name | None = Field(None, description="name of a leg; or `place`")
    place: Point | None = Field(
        None, description="[latitude, longitude], as of an earlier journey; or `leg`"
    )
    elevation_m: float | None = Field(
        None, ge=-450, le=6000, description="of the place [m]; else read from the embedded map"
    )
    first: Day | None = Field(
        None, description="evening of the first night; else the leg's `arrived` under `[[done]]`"
    )
    nights: int = Field(ge=1, le=_MOST_NIGHTS, description="all nights of the stay")
    kit: Name | None = Field(
        None, description="id of the kit; else the leg's under `[[done]]`, else the first"
    )
    bedding: WrittenBedding | None = Field(
        None,
        description="what covered you, as for a sleeper; else the sleeper's own, else the kit's",
    )
    cold: Count = Field(0, description="nights on which cold woke you or kept you awake")
    cool: Count = Field(0, description="nights on which you slept, and felt cool")
    warm: Count = Field(0, description="nights on which you slept, and felt warm")
    hot: Count = Field(0, description="nights on which heat kept you awake")
    rain: Count = Field(0, description="nights with rain while you lay")
    wet: Count = Field(0, description="of these, nights on which water came in")
    damp: Count = Field(0, description="nights on which dripping fabric woke you")
    low_c: Temperatures | None = Field(
        None, description="measured low, one for all nights or one each [degC]; for cold"
    )
    bedtime_c: Temperatures | None = Field(
        None, description="measured at bedtime, likewise [degC]; for heat"
    )
    measured: Literal["outside", "inside"] = Field(
        "outside", description="where the thermometer was; inside, the kit's warming is taken off"
    )

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if (self.leg is None) == (self.place is None):
            got = "none" if self.leg is None else "both"
            raise ValueError(f"exactly one of leg and place | Keep one of them. | {got}")
        if self.elevation_m is not None and self.place is None:
            raise ValueError("elevation_m only with place | A leg has its own camp_elevation_m.")
        return self

    @model_validator(mode="after")
    def _counts_fit(self) -> Self:
        felt = self.cold + self.cool + self.warm + self.hot
        counts = {
            "cold, cool, warm and hot together": felt,
            "rain": self.rain,
            "damp": self.damp,
        }
        for name, count in counts.items():
            if count > self.nights:
                raise ValueError(
                    f"{name} at most the {self.nights} nights | Count each night once. | {count}"
                )
        if self.wet > self.rain:
            raise ValueError(
                f"wet at most the {self.rain} nights of rain | Count the rain too. | {self.wet}"
            )
        for name in ("low_c", "bedtime_c"):
            given = getattr(self, name)
            if given is not None and len(given) not in (1, self.nights):
                raise ValueError(
                    f"{name} with 1 number or {self.nights} | Give one for all nights, or one "
                    f"each. | {len(given)}"
                )
        return self


class DoneRow(Record):
    """A leg that is done, or the one you are in; it stands as it was on every page."""

    leg: Name = Field(description="name of a leg")
    arrived: Day = Field(
        description="evening of the first night in its camp; those on the way there are before"
    )
    left: Day | None = Field(
        None, description="day you left; missing on the last row while you are there"
    )
    kit: Name | None = Field(None, description="id of the kit slept in; else the first")
    addons: tuple[Name, ...] | None = Field(
        None, description="what that kit carried; else as under `[shelter]` for the first kit"
    )

    @model_validator(mode="after")
    def _a_stay(self) -> Self:
        if self.left is not None and not 1 <= (self.left - self.arrived).days <= _MOST_NIGHTS:
            raise ValueError(
                f"left from 1 to {_MOST_NIGHTS} days after arrived, {self.arrived} | "
                f"Correct one of the two. | {self.left}"
            )
        return self
