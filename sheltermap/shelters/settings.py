"""Settings: the assumptions behind every score that no measurement settles.

In: nothing, or the values a user states. Out: one frozen ``Settings``. Values marked
"common practice" have no published source and "judgement" is our own; both belong to the
user, who may replace them. Published constants stand beside their formulas instead.
"""

from __future__ import annotations

from pydantic import Field

from sheltermap.files import Record, Share


class Settings(Record):
    """What the computation assumes about people, kits and weather.

    The bounds are judgement: wide enough for any people, kits and weather, and narrow enough
    that a slip of a digit or a unit is told and not computed with.
    """

    insects: bool = Field(
        False, description="biting insects keep a kit without mesh closed every night"
    )
    dust: bool = Field(False, description="blowing dust keeps every kit closed every night")
    dust_nights: Share = Field(
        0.25,
        description="share of nights in a season of dust storms on which dust keeps every kit"
        " closed (judgement)",
    )
    metabolism: float = Field(
        46.5,
        ge=30,
        le=120,
        description="heat a sleeper gives off [W m-2] (common practice, ASHRAE reclining)",
    )
    cold_sleeper_metabolism: float = Field(
        40.7,
        ge=30,
        le=120,
        description="the same for a cold sleeper, and for those with the preset `careful` [W m-2]"
        " (common practice)",
    )
    contact_share: float = Field(
        0.25,
        ge=0.05,
        le=0.4,
        description="share of the body that lies on the mat (common practice)",
    )
    shared_bed_gain: Share = Field(
        0.12,
        description="extra insulation of two people in one bed: 0.12 is 12 % more (judgement)",
    )
    sleeper_heat: float = Field(
        75.0, ge=0, le=200, description="heat of a sleeper [W] (common practice)"
    )
    sleeper_vapour: float = Field(
        40.0,
        ge=0,
        le=200,
        description="water a sleeper breathes and sweats out [g h-1] (common practice)",
    )
    clear_sky: Share = Field(
        0.8,
        description="share of a clear sky's cooling that a dry night brings; cloud, trees and"
        " a breeze leave the customary 3 K (common practice)",
    )
    stored_heat_fabric: float = Field(
        1.0,
        ge=0,
        le=15,
        description="sun's heat left in closed fabric at bedtime [K] (common practice)",
    )
    stored_heat_hard: float = Field(
        2.0,
        ge=0,
        le=15,
        description="sun's heat left in a closed hard body at bedtime [K] (common practice)",
    )
    heat_spread: float = Field(
        1.5,
        ge=0,
        le=10,
        description="spread of the heat limit from night to night [K] (common practice)",
    )
    heat_cap: float = Field(
        35.0,
        ge=25,
        le=45,
        description="no fan helps above this air temperature [degC] (WHO's advice, the careful"
        " end; Morris et al. 2021 found 37 to 39)",
    )
    careful_margin: float = Field(
        2.0,
        ge=0,
        le=10,
        description="how much cooler older or ill sleepers need it [K] (common practice)",
    )
    person_spread: float = Field(
        2.0,
        ge=0,
        le=10,
        description="spread of the cold limit between persons [K] (common practice)",
    )
    condensation_spread: float = Field(
        3.0,
        ge=0.1,
        le=10,
        description="night-to-night spread of dewpoint against fabric [K] (judgement)",
    )
    warming_years: float = Field(
        0.0,
        ge=0,
        le=60,
        description="years of warming to add to the climate data: 15 for a trip in 2027, the"
        " middle year of the embedded data being 2012; 0 adds none, which errs towards warm"
        " bedding (judgement; rates by latitude after IPCC AR6)",
    )
    night_rain: float = Field(
        1.0,
        ge=0.05,
        le=5,
        description="chance of night rain against the usual share of a wet day's: 0.5 to 0.7 where"
        " storms come by afternoon, above 1 where they come by night (judgement)",
    )
    valley_drop: float = Field(
        2.0,
        ge=0,
        le=15,
        description="how much colder a valley camp is on dry nights [K] (common practice)",
    )
    night_wind: float = Field(
        0.7, ge=0, le=2, description="wind by night over the day's mean (common practice)"
    )
    gusts: float = Field(
        1.5,
        ge=1,
        le=3,
        description="strongest gusts of an hour over its mean wind: it is gusts that a kit and its"
        " awning must stand (judgement; about what Durst found over open flat land, 1960)",
    )
    open_land_wind: float = Field(
        3.5,
        ge=0,
        le=20,
        description="mean wind 10 m over open land where only the site word is known [m s-1]"
        " (judgement)",
    )
    usual_wet_day: float = Field(
        8.0,
        ge=1,
        le=50,
        description="mean rain of a wet day for which a kit's leak and `ponding` are stated [mm];"
        " where it rains harder, the odds of both grow in proportion (judgement: land months lie"
        " around 6 to 17)",
    )
    heavy_day: float = Field(
        25.0,
        ge=5,
        le=200,
        description="rain of a day after which a pitch may stand in water [mm] (judgement)",
    )
    ponding: Share = Field(
        0.25,
        description="share of pitches on the ground under water after such a day, where wet days"
        " bring the usual rain (judgement)",
    )
    wet_pitching: Share = Field(
        0.5, description="share of rain at pitching or striking that wets the bed (judgement)"
    )
    wet_day_drying: Share = Field(
        0.5, description="drying power of a wet day against the mean day (judgement)"
    )
    wet_bedding: Share = Field(
        0.667, description="share of its insulation that wet bedding keeps (common practice)"
    )
    undried_spoils: Share = Field(
        0.5, description="share of nights spoiled in canvas that did not dry (judgement)"
    )
