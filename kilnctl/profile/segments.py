"""A profile: the checked list of segments that a heat consists of."""

from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from kilnctl.errors import ProfileError
from kilnctl.quantities import DifferenceK, DurationS, LengthMm, PointC, RateCPerH, between
from kilnctl.tomlfile import Strict, load, wrong
from kilnctl.units import ABSOLUTE_ZERO_C

Purpose = Literal[
    "stress relief",
    "normalise",
    "anneal",
    "preheat",
    "harden",
    "snap temper",
    "temper",
    "cold treatment",
    "first firing",
    "hold",
    "tune",
]
# What a furnace does before the quench tempers nothing.
TEMPERS: tuple[Purpose, ...] = ("temper", "snap temper")
# A part that differs from its sensor by more than this is in the wrong oven.
MOST_LOWERED_K = 60.0
HandTime = Annotated[DurationS, Field(gt=0)] | None


def _one_number(goal: object) -> object:
    """Return a goal written as one number, 60, as the range from it to itself."""
    return (
        (float(goal), float(goal)) if isinstance(goal, int | float) and not isinstance(goal, bool) else goal
    )


def _low_and_high(goal: tuple[float, float]) -> tuple[float, float]:
    if not 20 <= goal[0] <= goal[1] <= 70:
        raise wrong("goal", "write [low, high] between 20 and 70 HRC, like [60, 62], or one number, like 60")
    return goal


def say_goal(goal: tuple[float, float]) -> str:
    """Return a goal hardness as people write it: "60-62 HRC", or "60 HRC"."""
    low, high = goal
    return f"{low:g} HRC" if low == high else f"{low:g}-{high:g} HRC"


# What a segment may ask for at all; the oven's own limit is checked against the oven.
GoalC = Annotated[PointC, between(-100, 1400, "-100 C and 1400 C")]
Rate = Annotated[RateCPerH, between(0.1, 10_000, "0.1 C/h and 10000 C/h")]
Time = Annotated[DurationS, between(0, 48 * 3600, "0 s and 48 h")]
Longest = Annotated[DurationS, between(1, 48 * 3600, "1 s and 48 h")]
GoalHrc = Annotated[tuple[float, float], BeforeValidator(_one_number), AfterValidator(_low_and_high)]


class Segment(Strict):
    """What every segment carries: what it is for, why it is there and who says so."""

    label: str = ""
    purpose: Purpose = "hold"
    reason: str = ""
    source: str = ""


class Ramp(Segment):
    """Heat to a temperature at a rate (degC/h), or as fast as the oven can where no rate is given."""

    kind: Literal["ramp"] = "ramp"
    to_c: GoalC = Field(alias="to")
    rate_c_per_h: Rate | None = Field(default=None, alias="rate")


class Soak(Segment):
    """Hold a temperature for a time that counts only while part (or oven) is inside the band.

    `clock` says whose temperature counts: the part's estimate (or load sensor), or the oven's. A soak that
    has not been credited after `at_most` ends as not reached; left out, that is `longest_s`.
    `sensor` is where the oven's sensor is held, where the elements make the part hotter than it; `shield`
    what hides them from the part.
    """

    kind: Literal["soak"] = "soak"
    at_c: GoalC = Field(alias="at")
    soak_s: Time = Field(alias="time")
    band_k: Annotated[DifferenceK, between(0.1, 100, "0.1 K and 100 K")] = Field(default=5.0, alias="band")
    clock: Literal["part", "oven"] = "oven"
    at_most_s: Longest | None = Field(default=None, alias="at_most")
    sensor_c: GoalC | None = Field(default=None, alias="sensor")
    shield: Literal["box", "tray of sand", "plate"] | None = None

    @model_validator(mode="after")
    def _sensor_near_the_part(self) -> Self:
        if self.sensor_c is not None and not 0.0 <= self.at_c - self.sensor_c <= MOST_LOWERED_K:
            raise wrong("sensor", f"sensor must lie below at, by {MOST_LOWERED_K:.0f} K at most")
        return self

    @property
    def held_c(self) -> float:
        """Return where the oven's sensor is held."""
        return self.at_c if self.sensor_c is None else self.sensor_c

    @property
    def longest_s(self) -> float:
        """Return how long the soak may last in all, in s: an oven that never comes into the band has an end.

        Twice the time and two hours, for a heavy part that is late, where the profile does not say.
        """
        return self.at_most_s if self.at_most_s is not None else 2.0 * self.soak_s + 7200.0


class Cool(Segment):
    """Cool to a temperature: at a controlled rate, or with the heat off where no rate is given.

    `measure` says whose temperature ends the segment. After `at_most` the segment ends as not reached.
    """

    kind: Literal["cool"] = "cool"
    to_c: GoalC = Field(alias="to")
    rate_c_per_h: Rate | None = Field(default=None, alias="rate")
    measure: Literal["part", "oven"] = "oven"
    at_most_s: Longest | None = Field(default=None, alias="at_most")


class Operator(Segment):
    """Wait for a person: `say` is shown; no answer after `at_most` cuts the heat and ends the run (exit 7).

    With `hold` the oven keeps that temperature while it waits, else the heat is off. A quench may say its
    `medium` and what the hands are allowed: `transfer` from oven to bath, `bath` in it, `clamp` in the clamp,
    `warm` until the part is about hand-warm.
    """

    kind: Literal["operator"] = "operator"
    step: Literal["load", "unload", "quench", "air cool", "clamp", "check", "cold", "crack door", "confirm"]
    say: str
    hold_c: GoalC | None = Field(default=None, alias="hold")
    at_most_s: Longest = Field(alias="at_most")
    medium: str = ""
    transfer_s: HandTime = Field(default=None, alias="transfer")
    bath_s: HandTime = Field(default=None, alias="bath")
    clamp_s: HandTime = Field(default=None, alias="clamp")
    warm_s: HandTime = Field(default=None, alias="warm")


AnySegment = Annotated[Ramp | Soak | Cool | Operator, Field(discriminator="kind")]


def _not_empty(segments: tuple[AnySegment, ...]) -> tuple[AnySegment, ...]:
    """Refuse an empty list; only a list without a mistake comes here, so that each mistake is said once."""
    if not segments:
        raise wrong("segment", "has no [[segment]]: nothing would be done")
    return segments


class Profile(Strict):
    """A named list of segments, and what the planner knew about the part.

    `steel`, `section_mm` and the surface describe the part for the part estimate and the record; `cladding`
    is the grade around `steel`, the core, of a laminate.
    `parts` names the parts of a load that is done together. `goal_hrc` is (low, high), `doubt` why
    the steel is not certain. `revision` counts
    edits of the recipe it came from.
    """

    name: str
    oven: str | None = None
    recipe: str = ""
    revision: Annotated[int, Field(ge=1, le=1_000_000)] = 1
    steel: str | None = None
    cladding: str = ""
    parts: tuple[str, ...] = ()
    section_mm: Annotated[LengthMm, between(0.1, 200, "0.1 mm and 200 mm")] | None = Field(
        default=None, alias="section"
    )
    surface: Literal["bare", "bright", "coated", "foil"] = "bare"
    shape: Literal["plate", "square", "round"] = "plate"
    faces: Literal["both", "one"] = "both"
    fan: bool = False
    doubt: str = ""
    goal_hrc: GoalHrc | None = None
    segments: Annotated[tuple[AnySegment, ...], AfterValidator(_not_empty)] = Field(alias="segment")

    @property
    def peak_c(self) -> float:
        """Return the highest temperature that any segment asks for, absolute zero where none asks for one."""
        goals = (goal_c(s) for s in self.segments)
        return max((goal for goal in goals if goal is not None), default=ABSOLUTE_ZERO_C)


def goal_c(segment: Ramp | Soak | Cool | Operator) -> float | None:
    """Return the temperature a segment aims at in degC, None for an operator step without heat."""
    match segment:
        case Ramp() | Cool():
            return segment.to_c
        case Soak():
            return segment.at_c
        case Operator():
            return segment.hold_c


def sensor_goal_c(segment: Ramp | Soak | Cool | Operator) -> float | None:
    """Return where a segment brings the oven's sensor: below its goal where the part is hotter than it."""
    return segment.held_c if isinstance(segment, Soak) else goal_c(segment)


def load_profile(path: Path) -> Profile:
    """Read a profile file. Raises ProfileError with file, line and key."""
    return load(path, Profile, ProfileError)
