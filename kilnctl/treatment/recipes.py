"""Recipes: what a maker wants done to a part, in the words of the trade."""

from pathlib import Path
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import AfterValidator, BeforeValidator, Field, field_validator, model_validator

from kilnctl.errors import ProfileError
from kilnctl.model.part_view import Shield
from kilnctl.quantities import DurationS, LengthMm, MassKg, PointC, RateCPerH, between
from kilnctl.tomlfile import Strict, load, wrong
from kilnctl.treatment import recipe_words as words
from kilnctl.treatment.load_of_parts import NamedPart, Section, governing_mm, not_blank, why_not_together
from kilnctl.treatment.steel.hardness_scales import WantedHrc
from kilnctl.treatment.steel.steels import Medium
from kilnctl.units import c_from_f

Rate = Annotated[RateCPerH, between(0.1, 3000, "0.1 C/h and 3000 C/h")]
Time = Annotated[DurationS, between(1, 48 * 3600, "1 s and 48 h")]


def _heat(at_c: float) -> float:
    if not -200 <= at_c <= 1400:
        as_f_c = c_from_f(at_c)
        meant = f"; did you mean {at_c:.0f} F ({as_f_c:.0f} C)?" if 100 <= as_f_c <= 1400 else ""
        raise wrong("between", f"must lie between -200 C and 1400 C{meant}")
    return at_c


Heat = Annotated[PointC, AfterValidator(_heat)]
Count = Annotated[int, Field(ge=1, le=12)]


class Treatment(Strict):
    """What every treatment carries. What is left out comes from the steel card, with its source.

    `oven` sends one treatment of a chain to another oven than the recipe's; `rate` is the heating rate.
    `undoes_hardness` says why a treatment may soften what was hardened or tempered before it.
    """

    _keys = model_validator(mode="before")(words.known_keys)
    oven: str | None = None
    rate_c_per_h: Rate | None = Field(default=None, alias="rate")
    reason: str = ""
    source: str = ""
    undoes_hardness: str = ""


class StressRelief(Treatment):
    """Sub-critical heat after heavy grinding or machining, then a slow cool."""

    do: Literal["stress relief"]
    at_c: Heat | None = Field(default=None, alias="at")
    time_s: Time | None = Field(default=None, alias="time")
    cool_rate_c_per_h: Rate | None = Field(default=None, alias="cool_rate")


class Normalise(Treatment):
    """Heats in falling steps, each followed by an air cool outside the oven.

    `wait` is the longest time the oven holds the part hot for the person who takes it out.
    `alone` plans a cool in the shut oven instead: an anneal by its cooling, and called so.
    """

    do: Literal["normalise"]
    at_c: Annotated[tuple[Heat, ...] | None, BeforeValidator(words.one_or_more)] = Field(
        default=None, alias="at"
    )
    time_s: Time | None = Field(default=None, alias="time")
    wait_s: Time = Field(default=600.0, alias="wait")
    alone: bool = False

    @field_validator("at_c")
    @classmethod
    def _not_empty(cls, at_c: tuple[float, ...] | None) -> tuple[float, ...] | None:
        if at_c == ():
            raise wrong("at", 'no heat in the list: write at = ["870 C", "840 C"] or leave it to the card')
        return at_c


class Anneal(Treatment):
    """A full (lamellar), spheroidising or sub-critical anneal with its controlled cooling."""

    _typed = model_validator(mode="before")(words.with_a_type)
    do: Literal["anneal"]
    type: Literal["full", "spheroidise", "subcritical"]
    at_c: Heat | None = Field(default=None, alias="at")
    time_s: Time | None = Field(default=None, alias="time")
    cool_rate_c_per_h: Rate | None = Field(default=None, alias="cool_rate")
    down_to_c: Heat | None = Field(default=None, alias="down_to")


class Oil(Strict):
    """The oil bath: its mass, its temperature before the first blade, its flash point, and the data sheet's
    highest bath temperature where it has one.
    """

    mass_kg: Annotated[MassKg, between(0.1, 1000, "0.1 kg and 1000 kg")] = Field(alias="mass")
    start_c: Heat = Field(alias="start")
    flash_c: Heat = Field(alias="flash")
    highest_c: Heat | None = Field(default=None, alias="highest")

    @model_validator(mode="after")
    def _below_its_flash_point(self) -> Self:
        highest_c = self.flash_c if self.highest_c is None else self.highest_c
        if not -20 <= self.start_c < highest_c <= self.flash_c or not 40 <= self.flash_c <= 400:
            raise wrong(
                "oil", "write start below highest, highest below flash, and flash between 40 C and 400 C"
            )
        return self


class Harden(Treatment):
    """Austenitise and quench, with the steps that need a person.

    `blades` are quenched one after another from one soak, left out one for each named part; `load` "hot"
    loads into the hot oven;
    `wait` is the longest hold for the quench, `in_oil` the seconds in the bath, `clamp` how long the part
    stays in the clamp; `oil` and `mass` (of one blade) give the heat budget of the bath. `edge` is how deep
    the edge goes into the bath where the rest shall stay soft.
    """

    do: Literal["harden"]
    at_c: Heat | None = Field(default=None, alias="at")
    time_s: Time | None = Field(default=None, alias="time")
    preheat: bool | None = None
    load: Literal["cold", "hot"] = "cold"
    blades: Count | None = None
    wait_s: Time = Field(default=600.0, alias="wait")
    medium: Annotated[Medium | None, BeforeValidator(words.medium_of)] = None
    in_oil_s: Time | None = Field(default=None, alias="in_oil")
    clamp_s: Time | None = Field(default=None, alias="clamp")
    edge_mm: Annotated[LengthMm, between(2, 200, "2 mm and 200 mm")] | None = Field(
        default=None, alias="edge"
    )
    protection: Literal["none", "coating", "foil"] = "none"
    oil: Oil | None = None
    mass_kg: Annotated[MassKg, between(0.001, 100, "1 g and 100 kg")] | None = Field(
        default=None, alias="mass"
    )


class Temper(Treatment):
    """One or more tempers; `gate` is the part's temperature that ends the cooling after each.

    `load` "hot" heats the empty oven beforehand and holds it at most `wait` for the part. `shield` is what
    hides the elements of an open oven from the part. `cool` says where it cools: a hot temper usually in air.
    """

    do: Literal["temper"]
    cool: Literal["air", "shut"] | None = None
    shield: Shield | None = None
    load: Literal["cold", "hot"] = "cold"
    wait_s: Time = Field(default=4 * 3600.0, alias="wait")
    at_c: Heat | None = Field(default=None, alias="at")
    time_s: Time | None = Field(default=None, alias="time")
    count: Count | None = None
    gate_c: Heat | None = Field(default=None, alias="gate")


class SnapTemper(Treatment):
    """A short low temper, when the full temper, a cold treatment or straightening must wait."""

    do: Literal["snap temper"]
    shield: Shield | None = None
    at_c: Heat = Field(default=150.0, alias="at")
    time_s: Time = Field(default=3600.0, alias="time")


class ColdTreatment(Treatment):
    """A cold treatment, done by a person outside the ovens; `wait` is the longest the run waits for it.

    Left out, the part is cold within the hour, as long as the card says, and has two hours to come up again.
    """

    do: Literal["cold treatment"]
    at_c: Heat | None = Field(default=None, alias="at")
    time_s: Time | None = Field(default=None, alias="time")
    wait_s: Time | None = Field(default=None, alias="wait")


class Wait(Treatment):
    """A pause with the heat off until a person goes on, `at_most` at the longest."""

    do: Literal["wait"]
    at_most_s: Time = Field(alias="at_most")


class FiringStep(Strict):
    """One rise and hold of a first firing."""

    to_c: Annotated[PointC, between(20, 1400, "20 C and 1400 C")] = Field(alias="to")
    rate_c_per_h: Rate = Field(alias="rate")
    time_s: Annotated[DurationS, between(0, 48 * 3600, "0 s and 48 h")] = Field(alias="time")


class FirstFiring(Treatment):
    """The first heat of a new lining, empty and attended, by the lining maker's steps."""

    do: Literal["first firing"]
    step: tuple[FiringStep, ...]

    @field_validator("step")
    @classmethod
    def _not_empty(cls, step: tuple[FiringStep, ...]) -> tuple[FiringStep, ...]:
        if not step:
            raise wrong("step", "a first firing needs the steps of the lining's maker")
        return step


class Hold(Treatment):
    """An open-ended hold at a temperature until a person ends it, `at_most` at the longest."""

    do: Literal["hold"]
    at_c: Heat = Field(alias="at")
    at_most_s: Time = Field(alias="at_most")


_DOINGS = [get_args(kind.model_fields["do"].annotation)[0] for kind in Treatment.__subclasses__()]


def _known_doing(data: Any) -> Any:
    if isinstance(data, dict) and data.get("do") not in _DOINGS:
        raise wrong("do", f'"do" must be one of: {", ".join(_DOINGS)}')
    return data


AnyTreatment = Annotated[
    StressRelief
    | Normalise
    | Anneal
    | Harden
    | Temper
    | SnapTemper
    | ColdTreatment
    | FirstFiring
    | Hold
    | Wait,
    Field(discriminator="do"),
    BeforeValidator(_known_doing),
]


class Recipe(Strict):
    """A part, or several `parts` done together, the steel, and what is done in order.

    A `stack` that is "tight" heats as one section, "spaced" as its thickest part.
    `section` is the thickest place (soak and ramp), `thinnest` the thinnest (transfer, warp); `shape` says
    whether it is a plate, a long square or a long round, which heat twice as quickly.
    `goal_hrc` is (low, high); `bare_limit` the longest time above 800 degC without protection.
    `coupons` names the coupons that a guessed steel was tried on. `steel` is the core of a laminate,
    `cladding` the grade around it.
    """

    _keys = model_validator(mode="before")(words.known_keys)
    _places = model_validator(mode="before")(words.with_places)
    _worn = model_validator(mode="before")(words.with_surface)
    name: Annotated[str, AfterValidator(not_blank)]
    part: str = ""
    revision: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    steel: str | None = None
    steel_is_a_guess: bool = False
    coupons: str = ""
    cladding: str | None = None
    oven: str | None = None
    parts: Annotated[tuple[NamedPart, ...], Field(max_length=60)] = ()
    stack: Literal["spaced", "tight"] = "spaced"
    section_mm: Section | None = Field(default=None, alias="section")
    thinnest_mm: Section | None = Field(default=None, alias="thinnest")
    surface: Literal["bare", "bright", "coated", "foil"] = "bare"
    shape: Literal["plate", "square", "round"] = "plate"
    faces: Literal["both", "one"] = "both"
    fan: bool = False
    sealed_hollow: bool = False
    goal_hrc: WantedHrc | None = None
    bare_limit_s: Time = Field(default=1800.0, alias="bare_limit")
    treatment: tuple[AnyTreatment, ...]

    @model_validator(mode="before")
    @classmethod
    def _thickest_governs(cls, data: Any) -> Any:
        if not isinstance(data, dict) or not data.get("parts") or data.get("section") is not None:
            return data
        thickest_mm = governing_mm(data)
        return data if thickest_mm is None else {**data, "section": f"{thickest_mm:.3f} mm"}

    @field_validator("sealed_hollow")
    @classmethod
    def _never_sealed(cls, sealed: bool) -> bool:
        if sealed:
            raise wrong("hollow", "a sealed hollow bursts when it is heated: open it first")
        return sealed

    @model_validator(mode="after")
    def _a_load_that_can_be(self) -> Self:
        names, sections_mm = [p.name for p in self.parts], [p.section_mm for p in self.parts]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise wrong("parts", f'two parts are called "{twice}": the record could not tell them apart')
        blades = [t.blades for t in self.treatment if isinstance(t, Harden)]
        if names and any(count not in (None, len(names)) for count in blades):
            raise wrong("blades", "each of the parts has its own quench: leave blades out")
        if mixed := why_not_together(self.parts, self.steel):
            raise wrong("parts", mixed)
        if self.stack == "tight" and not names:
            raise wrong("parts", "a tight stack needs its parts, each with name and section")
        if self.section_mm is not None and self.section_mm < max(sections_mm, default=0.0) - 0.001:
            raise wrong("parts", f"section {self.section_mm:g} mm is thinner than a part; leave it out")
        if self.stack == "tight" and any(isinstance(t, Harden) for t in self.treatment):
            raise wrong("stack", "a tight stack cannot be quenched part by part: harden spaced, temper tight")
        return self

    @model_validator(mode="after")
    def _a_shape_that_can_be(self) -> Self:
        if self.shape != "plate" and self.stack == "tight":
            raise wrong("shape", "a tight stack heats as a plate: leave shape out")
        if self.shape == "round" and self.faces == "one":
            raise wrong("shape", "a round touches the hearth along a line only: leave faces out")
        return self

    @model_validator(mode="after")
    def _whole(self) -> "Recipe":
        if not self.treatment:
            raise wrong("treatment", "has no [[treatment]]: nothing would be done")
        of_steel = [t.do for t in self.treatment if not isinstance(t, FirstFiring | Hold | Wait)]
        if of_steel and not self.steel:
            raise wrong("steel", f'steel is missing: "{of_steel[0]}" needs to know the steel')
        if of_steel and self.section_mm is None:
            raise wrong("section", f'section is missing: "{of_steel[0]}" needs the thickest section')
        if self.thinnest_mm and self.section_mm and self.thinnest_mm > self.section_mm:
            raise wrong(
                "section", f"thinnest {self.thinnest_mm:g} mm is thicker than section {self.section_mm:g} mm"
            )
        return self


def load_recipe(path: Path) -> Recipe:
    """Read a recipe file. Raises ProfileError with file, line and key."""
    return load(path, Recipe, ProfileError)
