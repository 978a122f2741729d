"""Kits and add-ons: what one sleeps in, checked as it is read.

In: ``kits.toml`` beside this module, or a user's own file of the same form. Out: frozen
``Kit`` and ``AddOn`` values. Assumes nothing about climate; masses and prices are of the
whole kit with its bedding, for all its sleepers.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, PrivateAttr, model_validator

from sheltermap.files import NotNegative, Positive, Record, Share, one_line, read_toml
from sheltermap.shelters import heat
from sheltermap.shelters.learned import OwnOffsets

BEDDING_WORDS = {"summer": 12.0, "three-season": 1.0, "winter": -10.0}
"""Comfort label of bedding that people call by this word. [degC] (common practice)"""

Identifier = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Text = Annotated[str, Field(min_length=1, max_length=300), AfterValidator(one_line)]
Title = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(one_line)]
Sources = Annotated[tuple[Text, ...], Field(min_length=1)]
Label = Annotated[float, Field(ge=-60, le=25)]
Need = Literal["none", "roof_rack", "bed_rack", "load_bed", "pop_roof"]


def _preset(value: Any) -> Any:
    """Return a preset; refuse infants with the reason."""
    if value == "infant":
        raise ValueError(
            f"one of {', '.join(heat.PRESETS)} | No standard models how infants bear cold or "
            "heat, so no night can be judged for them: leave them out, and ask a paediatrician."
        )
    return value


Preset = Annotated[
    Literal["light sleeper", "usual", "hardened", "careful"], BeforeValidator(_preset)
]


class Bedding(Record):
    """What covers the sleeper: one of a word, a tested label, or an insulation."""

    word: Literal["summer", "three-season", "winter"] | None = Field(
        None, description="as people call it"
    )
    comfort_c: Label | None = Field(None, description="comfort label [degC]")
    limit_c: Label | None = Field(None, description="limit label, the colder figure [degC]")
    clo: Annotated[float, Field(ge=0.5, le=15)] | None = Field(
        None, description="cover with its air layer, without the mat [clo]"
    )
    extra_clo: Annotated[float, Field(ge=0, le=8)] = Field(
        0.0, description="blanket or liner on top [clo]"
    )

    @property
    def stated(self) -> str | float | None:
        """Return the word, or the comfort label [degC]; None where it is stated otherwise."""
        return self.word or self.comfort_c

    @property
    def label(self) -> Bedding:
        """Return the cover alone, without what is laid on top."""
        return self.model_copy(update={"extra_clo": 0.0})

    @model_validator(mode="after")
    def _one_statement(self) -> Self:
        given = [self.word, self.comfort_c, self.limit_c, self.clo]
        if sum(value is not None for value in given) != 1:
            raise ValueError(
                "exactly one of word, comfort_c, limit_c and clo | Keep the best known one."
            )
        return self


def _bedding(value: Any) -> Any:
    """Return ``"winter"`` and ``-5`` as a table."""
    if isinstance(value, str):
        return {"word": value}
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return {"comfort_c": value}
    return value


AnyBedding = Annotated[Bedding, BeforeValidator(_bedding)]


class Enclosure(Record):
    """Walls and roof around the sleepers, and how they let air through."""

    fabric: Literal["none", "single", "insulated"] = Field("none", description="what walls are")
    area_m2: NotNegative = Field(0.0, description="wall and roof [m2]")
    volume_m3: NotNegative = Field(0.0, description="air inside [m3]")
    air_changes_open: Positive = Field(20.0, description="open to the mesh [times an hour]")
    air_changes_closed: Positive = Field(5.0, description="closed [times an hour]")
    headroom: bool = Field(
        True, description="air space to breathe in; false for a cover that lies on the bed"
    )

    @model_validator(mode="after")
    def _walls_have_size(self) -> Self:
        if self.fabric != "none" and not (self.area_m2 > 0 and self.volume_m3 > 0):
            raise ValueError("area_m2 and volume_m3 above 0 for walls | Give both.")
        if self.air_changes_open < self.air_changes_closed:
            raise ValueError("air_changes_open at least air_changes_closed | Swap them.")
        return self


class Awning(Record):
    """A roof of cloth over the kit."""

    area_m2: Positive = Field(4.0, description="of cloth [m2]")
    wind_limit_m_s: Positive = Field(8.0, description="gusts above which it is taken in [m/s]")


class Fan(Record):
    """A 12 V fan and the air it moves over the sleepers."""

    air_speed_m_s: Annotated[float, Field(ge=0.1, le=1.5)] = Field(
        0.8, description="over the sleepers [m/s]"
    )


class Kit(Record):
    """One way of sleeping outdoors, with everything that it carries."""

    id: Identifier = Field(description="small letters, digits, hyphens; trip files name it")
    title: Title = Field(description="on pages")
    what: Text = Field(description="one sentence")
    source: Sources = Field(description="where the values come from, one line a group")
    exposure: Literal["ground", "raised", "roof", "hard"] = Field(
        description="how sleepers lie towards animals and water"
    )
    sleeper_height_m: Annotated[float, Field(ge=0, le=4)] = Field(description="above ground [m]")
    places: Annotated[int, Field(ge=1, le=20)] = Field(
        description="sleepers it holds; a kit that needs nothing of the vehicle is carried as "
        "often as the party needs it"
    )
    units: Annotated[int, Field(ge=1, le=20)] = Field(
        1, description="how many are carried; every value is of all of them together"
    )
    bed_length_m: Annotated[float, Field(ge=0.8, le=3)] = Field(description="to lie on [m]")
    bed_of_vehicle: bool = Field(False, description="the vehicle's flat length limits the bed")
    shared_bed: bool = Field(False, description="two sleep under one cover")
    bedding: AnyBedding = Field(description="a word, a comfort label [degC], or a table as below")
    limit: bool = Field(False, description="plan to the colder limit instead of comfort")
    ground_resistance_m2k_w: Annotated[float, Field(ge=0, le=3)] = Field(
        description="mat or mattress under the sleeper [m2 K/W]"
    )
    enclosure: Enclosure = Field(description="walls and roof")
    mesh: bool = Field(description="can stay open behind mesh when insects fly")
    air_speed_open_m_s: Annotated[float, Field(ge=0.05, le=5)] = Field(
        description="of the air at the sleepers, open [m/s]"
    )
    air_speed_closed_m_s: Annotated[float, Field(ge=0.05, le=5)] = Field(
        description="of the air at the sleepers, closed [m/s]"
    )
    awning: Awning | None = Field(None, description="a roof of cloth that it has")
    fan: Fan | None = Field(None, description="a fan that it has")
    leak: Share = Field(description="share of rainy nights that wet the sleepers, kit closed")
    leak_under_awning: Share = Field(description="the same under its awning")
    rain_threshold_mm: Annotated[float, Field(ge=0.25, le=5)] = Field(
        description="night rain it keeps out [mm]"
    )
    wind_limit_m_s: Positive | None = Field(
        None, description="gusts by night, at the camp, that it stands [m/s]"
    )
    condensation_weight: Share = Field(description="share of dripping nights that spoil sleep")
    dry_hours: NotNegative = Field(
        0.0,
        description="soaked cloth needs to dry where the air could take 1 kPa more vapour [h];"
        " 0 sheds water",
    )
    canvas: bool = Field(False, description="holds water and must dry")
    wet_packing_matters: bool = Field(description="packed wet, it is wet the next night")
    mass_kg: Positive = Field(description="with bedding, for all its sleepers [kg]")
    packed_litres: NotNegative = Field(description="inside the vehicle [L]")
    added_drag_area_m2: NotNegative = Field(
        0.0, description="drag coefficient times area that it adds when folded [m2]"
    )
    roof_load_kg: NotNegative = Field(0.0, description="part of the mass on the roof [kg]")
    price: NotNegative = Field(description="EUR, new")
    freight_kg: NotNegative | None = Field(
        None, description="mass that is shipped, if not all [kg]"
    )
    pitch_minutes: NotNegative = Field(description="to make ready [min]")
    strike_minutes: NotNegative = Field(description="to pack [min]")
    standing_room: bool | None = Field(
        None, description="room to stand upright in it or under its roof; unknown without"
    )
    lockable: bool | None = Field(None, description="has a door that locks; unknown without")
    needs: Need = Field("none", description="what the vehicle must have")
    addons: tuple[Identifier, ...] = Field((), description="already counted in these values")
    _leaks_in_danger: tuple[float, float] | None = PrivateAttr(None)

    @property
    def leaks_in_danger(self) -> tuple[float, float]:
        """Return `leak` and `leak_under_awning` as danger counts them: never less than stated."""
        return self._leaks_in_danger or (self.leak, self.leak_under_awning)

    def bedding_of(self, sleeper: Sleeper) -> Bedding:
        """Return what covers a sleeper in it."""
        return sleeper.bedding or self.bedding

    def after(self, leak: float, leak_under_awning: float, condensation_weight: float) -> Self:
        """Return the kit as nights in it have shown it to be; danger keeps the worse of both."""
        learned = {
            "leak": leak,
            "leak_under_awning": min(leak, leak_under_awning),
            "condensation_weight": condensation_weight,
        }
        kit = self.model_copy(update=learned)
        before = self.leaks_in_danger
        kit._leaks_in_danger = max(before[0], leak), max(before[1], kit.leak_under_awning)
        return kit

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if self.places % self.units:
            raise ValueError("places that units divide | Count the sleepers of all units.")
        if self.canvas and self.dry_hours == 0:
            raise ValueError("dry_hours above 0 for canvas | Say how long it takes to dry.")
        if self.leak_under_awning > self.leak:
            raise ValueError("leak_under_awning at most leak | An awning keeps rain off.")
        if self.roof_load_kg > self.mass_kg:
            raise ValueError("roof_load_kg at most mass_kg | It is a part of the mass.")
        if self.air_speed_closed_m_s > self.air_speed_open_m_s:
            raise ValueError("air_speed_closed_m_s at most air_speed_open_m_s | Swap them.")
        return self


class AddOn(Record):
    """Something carried besides a kit that changes how it sleeps."""

    id: Identifier = Field(description="trip files name it")
    title: Title = Field(description="on pages")
    what: Text = Field(description="one sentence")
    source: Sources = Field(description="where the values come from")
    mass_kg: NotNegative = Field(description="what it adds [kg]")
    packed_litres: NotNegative = Field(description="inside the vehicle [L]")
    price: NotNegative = Field(description="EUR, new")
    added_drag_area_m2: NotNegative = Field(
        0.0, description="drag coefficient times area that it adds when folded [m2]"
    )
    roof_load_kg: NotNegative = Field(0.0, description="part of its mass on the roof [kg]")
    pitch_minutes: NotNegative = Field(0.0, description="added at pitching [min]")
    strike_minutes: NotNegative = Field(0.0, description="added at packing [min]")
    needs: Need = Field("none", description="what the vehicle must have")
    awning: Awning | None = Field(None, description="it is an awning")
    fan: Fan | None = Field(None, description="it is a fan")
    extra_clo: Annotated[float, Field(ge=0, le=8)] = Field(
        0.0, description="insulation it adds on top [clo]"
    )
    extra_mat_m2k_w: Annotated[float, Field(ge=0, le=3)] = Field(
        0.0, description="insulation it adds underneath [m2 K/W]"
    )
    raise_to_m: Annotated[float, Field(gt=0, le=1)] | None = Field(
        None, description="lifts a bed off the ground to this height [m]"
    )


class Sleeper(Record):
    """One person: how they take cold and heat, and bedding of their own."""

    preset: Preset = Field(
        "usual", description="who lies awake from warmth at bedtime, as `heat.PRESETS` has it"
    )
    cold_sleeper: bool = Field(
        False, description="sleeps colder than most, as those with the preset `careful` always do"
    )
    bedding: AnyBedding | None = Field(None, description="instead of the kit's")
    length_m: Annotated[float, Field(ge=0.5, le=2.4)] = Field(
        1.85, description="from head to foot [m] (judgement)"
    )

    own: OwnOffsets | None = Field(
        None, description="how far from the usual, as learned from nights slept; None is unknown"
    )

    @property
    def sleeps_cold(self) -> bool:
        """Return whether to count less heat: who is careful in heat is so in cold."""
        return self.cold_sleeper or self.preset == "careful"


class KitFile(Record):
    """A file of kits and add-ons."""

    kit: tuple[Kit, ...] = Field((), description="each under `[[kit]]`")
    addon: tuple[AddOn, ...] = Field((), description="each under `[[addon]]`")

    @model_validator(mode="after")
    def _something_in_it(self) -> Self:
        if not self.kit and not self.addon:
            raise ValueError(
                "at least one [[kit]] or [[addon]] | Add one, or do not name this file. | none"
            )
        return self

    @model_validator(mode="after")
    def _names_once(self) -> Self:
        for records in (self.kit, self.addon):
            names = [record.id for record in records]
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise ValueError(f"each id once, but {', '.join(twice)} repeats | Rename one.")
        return self


@cache
def _shipped() -> KitFile:
    """Return the file that ships with the package."""
    return read_toml(Path(__file__).with_name("kits.toml"), KitFile)


def load_kits() -> dict[str, Kit]:
    """
    Return the shipped kits by id, in the order in which they are listed.

    Returns
    -------
    dict of str to Kit

    Examples
    --------
    >>> load_kits()["bedroll"].exposure
    'ground'
    """
    return {kit.id: kit for kit in _shipped().kit}


def load_addons() -> dict[str, AddOn]:
    """
    Return the shipped add-ons by id.

    Returns
    -------
    dict of str to AddOn

    Examples
    --------
    >>> list(load_addons())
    ['awning', 'fan', 'warm-bedding', 'mat', 'cot']
    """
    return {addon.id: addon for addon in _shipped().addon}


def read_kits(path: Path | str) -> dict[str, Kit]:
    """
    Return the kits of a user's file by id.

    Parameters
    ----------
    path : path
        TOML with ``[[kit]]`` tables.

    Returns
    -------
    dict of str to Kit

    Raises
    ------
    InputError
        With every problem of the file.

    Examples
    --------
    >>> from sheltermap.resources import bundled
    >>> list(read_kits(bundled("regions") / "river-survey" / "kits.toml"))
    ['team-cots', 'two-ground-tents', 'two-roof-tents']
    """
    return {kit.id: kit for kit in read_toml(path, KitFile).kit}


def read_addons(path: Path | str) -> dict[str, AddOn]:
    """
    Return the add-ons of a user's file by id.

    Parameters
    ----------
    path : path
        TOML with ``[[addon]]`` tables.

    Returns
    -------
    dict of str to AddOn

    Raises
    ------
    InputError
        With every problem of the file.
    """
    return {addon.id: addon for addon in read_toml(path, KitFile).addon}
