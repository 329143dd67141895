"""What may be done to a part: each kind of treatment with its keys, in the words of the trade."""

from typing import Annotated, Any, Literal, Self, get_args

from pydantic import BeforeValidator, Field, field_validator, model_validator

from kilnctl.model.part_view import Shield
from kilnctl.quantities import DurationS, LengthMm, MassKg, PointC, RateCPerH, between
from kilnctl.tomlfile import Strict, wrong
from kilnctl.treatment.recipe import recipe_words as words
from kilnctl.treatment.steel.sourced_values import SteelC
from kilnctl.treatment.steel.steels import Medium

Rate = Annotated[RateCPerH, between(0.1, 3000, "0.1 C/h and 3000 C/h")]
Time = Annotated[DurationS, between(1, 48 * 3600, "1 s and 48 h")]
Heat = SteelC
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
