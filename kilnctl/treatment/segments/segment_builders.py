"""Segments with their reason and source: the small words that the treatments are written in."""

from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError
from kilnctl.model.part_view import Shield
from kilnctl.profile.segments import Cool, Operator, Purpose, Ramp, Soak
from kilnctl.quantities import Reckoned
from kilnctl.tomlfile import made
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.recipe.treatments import Harden, Treatment
from kilnctl.treatment.steel.own_results import OwnFit
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.treatment.steel.steels import Steel
from kilnctl.units import say_duration

HOT_RATE_C_PER_H = 400.0
HAND_WARM_C = 45.0
SETTLE_S = 600.0  # a hot empty oven evens out before the part comes in
ABOVE_ROOM_K = 10.0
LONGEST_COOL_S = 12 * 3600.0
HOT_BAND_K = 5.0
TEMPER_BAND_K = 3.0
WEAR = "Long tongs, gloves, face shield."  # whoever faces an open hot oven or a hot part
# How much later a part is at heat behind what hides the elements: thin sheet, two to three centimetres of
# sand, and a plate that stands between (common practice, no single source).
SHIELD_S: dict[Shield, float] = {"box": 900.0, "tray of sand": 2700.0, "plate": 0.0}
Segments = tuple[Ramp | Soak | Cool | Operator, ...]


@dataclass(frozen=True, slots=True)
class PlanFor:
    """What a treatment is planned for; `own` is what the shop itself measured of the grade."""

    recipe: Recipe
    steel: Steel | None
    oven: Oven
    own: OwnFit | None = None

    @property
    def hand_warm_c(self) -> float:
        """Return the part's temperature at a cool gate: 45 degC or ambient + 10 K, whichever is higher."""
        return max(HAND_WARM_C, self.oven.ambient_c + ABOVE_ROOM_K)

    def elsewhere(self, treatment: Treatment) -> str:
        """Return in words where a treatment of another oven is done, nothing for one of this oven."""
        name = treatment.oven or self.recipe.oven or self.oven.name
        return "" if name == self.oven.name else f" in {name}"

    def blades(self, treatment: Harden) -> tuple[str, ...]:
        """Return how the parts of one soak are called at their quenches: "1 of 3", with names where given."""
        count = treatment.blades or len(self.recipe.parts) or 1
        named = [f": {part.name}" for part in self.recipe.parts] if count == len(self.recipe.parts) else []
        names = named or [""] * count
        return tuple(f" {n} of {count}{name}" if count > 1 else "" for n, name in enumerate(names, 1))

    @property
    def inches(self) -> float:
        """Return the thickest section in inches: sheets count soaks and tempers by the inch."""
        return (self.recipe.section_mm or 0.0) / 25.4

    @property
    def known_steel(self) -> Steel:
        """Return the steel; every treatment that asks for it is refused without one when it is loaded."""
        if self.steel is None:
            raise ValueError("a treatment of a steel was planned without a steel")
        return self.steel


@dataclass(frozen=True, slots=True)
class Pick:
    """A chosen value with the words that go beside it."""

    value: float
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class Words:
    """What a segment says of itself."""

    purpose: Purpose
    label: str
    reason: str = ""
    source: str = ""

    def say(self, label: str, reason: str = "", source: str = "") -> "Words":
        """Return the words of another segment of the same treatment."""
        return Words(self.purpose, label, reason, source)

    def fields(self) -> dict[str, Any]:
        """Return the words as keys of a segment."""
        return {"purpose": self.purpose, "label": self.label, "reason": self.reason, "source": self.source}


def asked(value: float, treatment: Treatment, recipe: Recipe) -> Pick:
    """Return a value that the recipe itself gives, with the recipe's reason and source."""
    return Pick(
        value,
        treatment.reason or "asked for by the recipe",
        treatment.source or f"recipe {recipe.name}, revision {recipe.revision}",
    )


S = TypeVar("S", Ramp, Soak, Cool, Operator)
# What a plan says, and the file it is written to: hundredths of a degree, tenths of a second.
_DIGITS = {"_c": 2, "_s": 1, "_per_h": 3, "_k": 1}


def reckoned(kind: type[S], words: Words, **values: float | str | None) -> S:
    """Return a segment of numbers under the names of its fields; None is left out. Raises ProfileError."""
    fields = kind.model_fields
    keys = {fields[n].alias or n: _rounded(n, value) for n, value in values.items() if value is not None}
    return made({**keys, **words.fields()}, kind, ProfileError, words.label)


def _rounded(name: str, value: float | str) -> float | str:
    if isinstance(value, str):
        return value
    return Reckoned(round(value, next(n for unit, n in _DIGITS.items() if name.endswith(unit))))


def ramp(to_c: float, words: Words, rate_c_per_h: float | None = HOT_RATE_C_PER_H) -> Ramp:
    """Return a heating segment."""
    return reckoned(Ramp, words, to_c=to_c, rate_c_per_h=rate_c_per_h)


def soak(
    at_c: float,
    soak_s: float,
    words: Words,
    band_k: float = HOT_BAND_K,
    clock: Literal["part", "oven"] = "part",
    shield: Shield | None = None,
) -> Soak:
    """Return a soak whose clock starts on the part; behind a shield it is as much longer as that is late."""
    if shield is not None:
        soak_s, late = soak_s + SHIELD_S[shield], say_duration(SHIELD_S[shield])
        why = f"{words.reason}; {late} of it because the part lags behind the {shield}"
        words = words.say(words.label, why, words.source) if SHIELD_S[shield] else words
    return reckoned(Soak, words, at_c=at_c, soak_s=soak_s, band_k=band_k, clock=clock, shield=shield)


def cool(
    to_c: float,
    words: Words,
    rate_c_per_h: float | None = None,
    measure: Literal["part", "oven"] = "oven",
    at_most_s: float | None = None,
) -> Cool:
    """Return a cooling segment: controlled where a rate is given, else with the heat off."""
    return reckoned(Cool, words, to_c=to_c, rate_c_per_h=rate_c_per_h, measure=measure, at_most_s=at_most_s)


def person(
    step: str,
    say: str,
    at_most_s: float,
    words: Words,
    hold_c: float | None = None,
    medium: str = "",
    hands_s: dict[str, float | None] | None = None,
) -> Operator:
    """Return a step that waits for a person, holding a temperature or with the heat off.

    `hands_s` is what the hands are allowed at a quench, under the keys of the profile file.
    """
    hands = {f"{name}_s": s for name, s in (hands_s or {}).items()}
    return reckoned(
        Operator, words, step=step, say=say, at_most_s=at_most_s, hold_c=hold_c, medium=medium, **hands
    )


def put_back(purpose: Purpose, at_most_s: float) -> Operator:
    """Return the step between two treatments in which a hand-warm part goes back into the oven, heat off."""
    words = Words(purpose, "put back", "the next treatment starts with the part in the oven", PRACTICE)
    put = "Put the part in, no more than hand-warm, and shut the door."
    say = f"{put} The oven may be hot: {WEAR.lower()} Answer done."
    return person("load", say, at_most_s, words)
