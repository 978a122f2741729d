"""Who travels, as the trip file writes it.

In: raw tables of a trip file. Out: a checked Party.
"""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from sheltermap.files import Record
from sheltermap.night.daylight import SleepWindow
from sheltermap.shelters.kit import Preset
from sheltermap.trip.values import (
    ClockTime,
    Name,
    NotNegative,
    Positive,
    WrittenBedding,
    clock_words,
)

_BEDDING = (
    '`"summer"`, `"three-season"`, `"winter"`, or the comfort temperature that the bedding was '
    "tested to, -60 to 25 [degC]"
)


class SleeperRow(Record):
    """One sleeper who differs from the party."""

    name: Name = Field(description="shown on no page of a public copy")
    preset: Preset | None = Field(None, description="as for the party, else the party's")
    cold_sleeper: bool | None = Field(None, description="else the party's")
    bedding: WrittenBedding | None = Field(None, description=f"{_BEDDING}; else the party's")
    length_m: float | None = Field(None, ge=0.5, le=2.4, description="[m]; else the party's")


class Party(Record):
    """Who travels, how they sleep and what they drink."""

    people: int = Field(2, ge=1, le=20, description="how many sleep and drink")
    preset: Preset = Field(
        "usual",
        description="who lies awake from warmth at bedtime: soonest a `light sleeper`, last the "
        "`hardened`; `careful` is for older or ill people, and makes cold sleepers of them",
    )
    cold_sleeper: bool = Field(False, description="sleeps colder than most (ASHRAE 0.7 met)")
    bedding: WrittenBedding | None = Field(None, description=f"replaces the kit's: {_BEDDING}")
    length_m: float = Field(
        1.85, ge=0.5, le=2.4, description="the tallest sleeper [m] (judgement)"
    )
    sleep_from: ClockTime = Field(
        22.0,
        description="lying down, local solar time, 15:00 or later, or past midnight "
        "(common practice)",
    )
    sleep_to: ClockTime = Field(
        6.0, description="getting up, local solar time, 12:00 or earlier (common practice)"
    )
    activity: Literal["easy", "moderate", "hard"] = Field(
        "easy", description="work by day, for drinking water"
    )
    active_hours: float = Field(
        6, ge=0, le=16, description="of that work [h a day] (common practice)"
    )
    acclimatised: bool = Field(True, description="two weeks in heat behind you")
    body_mass_kg: Positive = Field(80, description="a person with clothes [kg] (common practice)")
    personal_gear_kg: NotNegative = Field(
        20, description="a person's, loaded after weighing [kg] (common practice)"
    )
    other_water_l: NotNegative = Field(
        3, description="cooking and hygiene, a person a day [L] (common practice)"
    )
    water_reserve: NotNegative = Field(
        0.5, description="carried on top of the need: 0.5 is half as much again (common practice)"
    )
    sleepers: tuple[SleeperRow, ...] = Field(
        (), description="those who differ from the party, each under `[[party.sleepers]]`"
    )

    @model_validator(mode="after")
    def _a_night(self) -> Self:
        try:
            SleepWindow(self.sleep_from, self.sleep_to)
        except ValueError:
            raise ValueError(
                "a night of at least 1 h from `sleep_from`, 15:00 or later, to `sleep_to`, 12:00 "
                f"or earlier, not {clock_words(self.sleep_from)} to {clock_words(self.sleep_to)} "
                '| Write for example sleep_from = "22:00" and sleep_to = "06:00".'
            ) from None
        return self
