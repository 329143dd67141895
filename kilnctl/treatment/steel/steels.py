"""Steel cards: what is known of a grade, by whom, and how far it can be trusted."""

from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from kilnctl.config.home import find, known
from kilnctl.errors import ProfileError
from kilnctl.quantities import DurationS, LengthMm, RateCPerH, between
from kilnctl.tomlfile import Strict, load, wrong
from kilnctl.treatment.steel.grade_names import card_of, sister_of
from kilnctl.treatment.steel.no_card import say_no_card
from kilnctl.treatment.steel.sourced_values import PLAIN_SOURCES, BandC, Claim, SteelC

Kind = Literal["plain carbon", "low alloy", "high alloy", "stainless"]
Medium = Literal["water or brine", "fast oil", "medium oil", "plates", "still air"]
Percent = Annotated[float, Field(ge=0, le=100)]
Hrc = Annotated[float, Field(ge=0, le=70)]
Rate = Annotated[RateCPerH, between(0.1, 10_000, "0.1 C/h and 10000 C/h")]
Time = Annotated[DurationS, between(0, 200 * 3600, "0 s and 200 h")]


class Element(Claim):
    """Content of one element in per cent by weight: limits where they are known, and a typical value."""

    low: Percent | None = None
    high: Percent | None = None
    typical: Percent

    @model_validator(mode="after")
    def _typical_lies_between(self) -> Self:
        low = 0.0 if self.low is None else self.low
        if not low <= self.typical <= (100.0 if self.high is None else self.high):
            raise wrong("element", "typical must lie between low and high")
        return self


class CriticalPoint(BandC):
    """A transformation temperature. "austenite starts" and the "gone" points are equilibrium values."""

    point: Literal[
        "Ac1", "Ac3", "Accm", "Ar1", "Ar3", "Ms", "austenite starts", "ferrite gone", "carbide gone"
    ]


class SourcedHeat(BandC):
    """A heat: normalise, preheat or austenitise, with its soak at temperature where one is known.

    `per_inch` is the soak for each inch (25.4 mm) of the thickest section, where the sheet gives it so.
    """

    soak_low_s: Time | None = Field(default=None, alias="soak_from")
    soak_high_s: Time | None = Field(default=None, alias="soak_to")
    per_inch_s: Time | None = Field(default=None, alias="per_inch")

    @model_validator(mode="after")
    def _shorter_first(self) -> Self:
        low_s, high_s = self.soak_low_s, self.soak_high_s
        if low_s is not None and high_s is not None and low_s > high_s:
            raise wrong("soak", "soak_from must not be longer than soak_to")
        return self


class SourcedForge(BandC):
    """The heats to start forging from; below `stop` no more hammer, but back into the fire."""

    stop_c: SteelC | None = Field(default=None, alias="stop")


class SourcedAnneal(SourcedHeat):
    """An anneal: heat, then cool no faster than `rate` down to `down_to`, or hold at `hold`."""

    type: Literal["full", "spheroidise", "subcritical"]
    rate_c_per_h: Rate | None = Field(default=None, alias="rate")
    quick_to_c: SteelC | None = Field(default=None, alias="quick_to")
    down_to_c: SteelC | None = Field(default=None, alias="down_to")
    hold_c: SteelC | None = Field(default=None, alias="hold")
    hold_s: Time | None = Field(default=None, alias="hold_time")


class Annealed(Claim):
    """Hardness of the grade annealed, in HBW: at most, and at least where that is known."""

    low_hbw: Annotated[float, Field(ge=80, le=400)] | None = Field(default=None, alias="from")
    high_hbw: Annotated[float, Field(ge=80, le=400)] = Field(alias="to")

    @model_validator(mode="after")
    def _softer_first(self) -> Self:
        if self.low_hbw is not None and self.low_hbw > self.high_hbw:
            raise wrong("hbw", "write the softer end in from")
        return self


class Grows(Claim):
    """Growth in length for good when the grade is hardened, in per cent; negative is a shrinkage."""

    low_percent: Annotated[float, Field(ge=-1, le=1)] = Field(alias="from")
    high_percent: Annotated[float, Field(ge=-1, le=1)] = Field(alias="to")

    @model_validator(mode="after")
    def _less_first(self) -> Self:
        if self.low_percent > self.high_percent:
            raise wrong("growth", "write the smaller growth in from")
        return self


class Quench(Claim):
    """How the grade is quenched; `up_to` is the thickest section for that medium."""

    medium: Medium
    up_to_mm: Annotated[LengthMm, between(0.5, 1000, "0.5 mm and 1000 mm")] | None = Field(
        default=None, alias="up_to"
    )
    as_quenched_hrc: tuple[Hrc, Hrc] | None = None

    @model_validator(mode="after")
    def _softer_first(self) -> Self:
        if self.as_quenched_hrc is not None and self.as_quenched_hrc[0] > self.as_quenched_hrc[1]:
            raise wrong("quench", "write as_quenched_hrc as [low, high]")
        return self


class TemperRow(Strict):
    """One step of a temper table: hardness range after that temper."""

    at_c: Annotated[SteelC, between(0, 1000, "0 C and 1000 C")] = Field(alias="at")
    hrc: tuple[Hrc, Hrc]


class TemperTable(Claim):
    """A published ladder of temper temperature against hardness; `condition` says how it was made.

    `doubt` says why the others of its card are more trusted: a goal is looked up in it last.
    """

    condition: str = ""
    doubt: str = ""
    row: tuple[TemperRow, ...]

    @model_validator(mode="after")
    def _rising(self) -> "TemperTable":
        temperatures = [row.at_c for row in self.row]
        if not temperatures:
            raise wrong("rows", "a temper table without rows")
        if temperatures != sorted(set(temperatures)):
            raise wrong("rows", "the temperatures of the rows must rise")
        if any(row.hrc[0] > row.hrc[1] for row in self.row):
            raise wrong("rows", "write a hardness range as [low, high]")
        return self


class TemperRule(Claim):
    """How often and how long to temper: `time` at least, `per_inch` for each inch of the thickest section."""

    count_low: Annotated[int, Field(ge=1, le=6)] = Field(alias="from")
    count_high: Annotated[int, Field(ge=1, le=6)] = Field(alias="to")
    time_s: Annotated[DurationS, between(60, 48 * 3600, "1 min and 48 h")] = Field(alias="time")
    per_inch_s: Time | None = Field(default=None, alias="per_inch")

    @model_validator(mode="after")
    def _fewer_first(self) -> Self:
        if self.count_low > self.count_high:
            raise wrong("count", f"from {self.count_low} is more than to {self.count_high}")
        return self


class Dissolved(Claim):
    """Carbon dissolved in austenite at a heat, in per cent: what the quench and Ms see."""

    at_c: Annotated[SteelC, between(500, 1400, "500 C and 1400 C")] = Field(alias="at")
    percent: Annotated[float, Field(ge=0, le=3)]


class Cold(BandC):
    """A cold treatment: when it comes in the chain, and for how long."""

    time_s: Time | None = Field(default=None, alias="time")
    when: Literal[
        "straight after the quench", "after the first temper", "after the quench or the first temper"
    ]

    @model_validator(mode="after")
    def _is_cold(self) -> Self:
        if self.high_c > 30.0:
            raise wrong("cold", f"{self.high_c:g} C is no cold treatment")
        return self


class Caution(Claim):
    """A sentence for the bench; `at` is the step where it binds ("card": none), `surface` whom it binds.

    `above` is the heat above which it binds, for a step with a heat of its own; left out, at any.
    """

    say: str
    above_c: SteelC | None = Field(default=None, alias="above")
    surface: Literal["foil", "bare"] | None = None
    at: Literal["load", "normalise", "anneal", "harden", "quench", "check", "cold", "temper", "card"] = (
        "harden"
    )


class Steel(Strict):
    """One grade. Disagreeing sources stand side by side; nothing is averaged.

    `do_not_normalise` is set for grades that must not be normalised. `spoils` lists temper ranges that
    cost toughness; `too_hot` the temperature above which grain grows or too much carbide dissolves.
    """

    grade: Annotated[str, Field(min_length=1)]
    also_called: tuple[str, ...] = ()
    kind: Kind
    use: str = ""
    sources: dict[str, str] = Field(default_factory=dict)
    composition: dict[str, Element]
    points: tuple[CriticalPoint, ...] = ()
    forge: tuple[SourcedForge, ...] = ()
    normalise: tuple[SourcedHeat, ...] = ()
    do_not_normalise: Claim | None = None
    anneal: tuple[SourcedAnneal, ...] = ()
    annealed_hbw: tuple[Annealed, ...] = ()
    stress_relief: tuple[SourcedHeat, ...] = ()
    preheat: tuple[SourcedHeat, ...] = ()
    austenitise: tuple[SourcedHeat, ...]
    too_hot: tuple[BandC, ...] = ()
    dissolved: tuple[Dissolved, ...] = ()
    quench: tuple[Quench, ...] = ()
    temper_table: tuple[TemperTable, ...] = ()
    temper: tuple[TemperRule, ...] = ()
    spoils: tuple[BandC, ...] = ()
    cold: tuple[Cold, ...] = ()
    growth: tuple[Grows, ...] = ()
    caution: tuple[Caution, ...] = ()

    @model_validator(mode="after")
    def _sources_known(self) -> "Steel":
        for name, claim in self.claims():
            if claim.source not in self.sources and claim.source not in PLAIN_SOURCES:
                plain = ", ".join(PLAIN_SOURCES)
                raise wrong(
                    "source", f'{name}: source "{claim.source}" is not in [sources] and is none of {plain}'
                )
        if "C" not in self.composition:
            raise wrong("carbon", "composition.C is missing: every steel needs its carbon")
        if not 0.01 <= self.carbon <= 3.0:
            raise wrong("carbon", f"composition.C of {self.carbon:g} % is not a steel")
        if sum(element.typical for element in self.composition.values()) > 100.0:
            raise wrong("sum", "the elements of the composition add up to more than 100 %")
        return self

    def claims(self) -> list[tuple[str, Claim]]:
        """Return every sourced claim of the card with the name of its table."""
        found: list[tuple[str, Claim]] = [
            (f"composition.{e}", claim) for e, claim in self.composition.items()
        ]
        for name in type(self).model_fields:
            value = getattr(self, name)
            if isinstance(value, tuple):
                found += [(name, claim) for claim in value if isinstance(claim, Claim)]
        return found + ([("do_not_normalise", self.do_not_normalise)] if self.do_not_normalise else [])

    def cautions_for(self, surface: str) -> tuple[Caution, ...]:
        """Return the cautions that bind a part with such a surface."""
        return tuple(caution for caution in self.caution if caution.surface in (None, surface))

    def temper_cautions(self, at_c: float) -> tuple[str, ...]:
        """Return what the card says to mind at a temper of that heat, each with its source."""
        found = (c for c in self.caution if c.at == "temper" and (c.above_c is None or at_c > c.above_c))
        return tuple(f"{c.say.rstrip('.')}: {self.cite(c)}" for c in found)

    def percent(self, element: str) -> float:
        """Return the typical content of an element in per cent, 0 where the card has none."""
        found = self.composition.get(element)
        return found.typical if found else 0.0

    @property
    def carbon(self) -> float:
        """Return the typical carbon content in per cent."""
        return self.percent("C")

    def point_c(self, name: str) -> tuple[float, float] | None:
        """Return the widest range that the sources give for a critical point, or None."""
        found = [p for p in self.points if p.point == name]
        return (min(p.low_c for p in found), max(p.high_c for p in found)) if found else None

    def cite(self, claim: Claim) -> str:
        """Return the source of a claim in full words."""
        return self.sources.get(claim.source) or PLAIN_SOURCES[claim.source]


def span_c(bands: tuple[BandC, ...]) -> tuple[float, float] | None:
    """Return the widest range that a group of claims covers, or None where there is none."""
    return (min(b.low_c for b in bands), max(b.high_c for b in bands)) if bands else None


def ac1_c(steel: Steel) -> float | None:
    """Return the lowest figure on the card for the start of austenite, or None."""
    found = [p for p in (steel.point_c("Ac1"), steel.point_c("austenite starts")) if p is not None]
    return min(low for low, _ in found) if found else None


def dissolved_c(steel: Steel) -> float | None:
    """Return the equilibrium temperature at which ferrite (or, above 0.8 % C, enough carbide) is gone."""
    gone = steel.point_c("ferrite gone")
    return gone[1] if gone else None


def load_steel(grade_or_path: str | Path) -> Steel:
    """Read a steel card by grade, by another name that its card gives, or by path.

    Raises ProfileError: unknown grade (with the nearest names), or file, line and key of a mistake.
    """
    return load(_card(str(grade_or_path)), Steel, ProfileError)


def _card(name: str) -> Path:
    if name.endswith(".toml"):
        return find(name, "steels", ProfileError)
    cards = known("steels")
    found = card_of(name, cards)
    if found is None:
        raise ProfileError(say_no_card(name, cards, sister_of(name, cards)))
    return found
