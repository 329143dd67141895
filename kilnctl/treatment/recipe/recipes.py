"""Recipes: what a maker wants done to a part, in the words of the trade."""

from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, field_validator, model_validator

from kilnctl.errors import ProfileError
from kilnctl.tomlfile import Strict, load, wrong
from kilnctl.treatment.recipe import recipe_words as words
from kilnctl.treatment.recipe.load_of_parts import (
    NamedPart,
    Section,
    governing_mm,
    not_blank,
    why_not_together,
)
from kilnctl.treatment.recipe.treatments import AnyTreatment, FirstFiring, Harden, Hold, Time, Wait
from kilnctl.treatment.steel.hardness_scales import WantedHrc


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
