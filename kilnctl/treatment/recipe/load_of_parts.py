"""The parts of a load that is done together: their names, what they heat as, whether they may be together."""

from typing import Annotated, Any

from pydantic import AfterValidator, Field

from kilnctl.errors import ProfileError, UnitError
from kilnctl.quantities import LengthMm, between
from kilnctl.tomlfile import Strict, wrong
from kilnctl.treatment.steel.grade_names import plain
from kilnctl.treatment.steel.steels import SourcedHeat, Steel, load_steel
from kilnctl.units import parse_length_mm

Section = Annotated[LengthMm, between(0.2, 150, "0.2 mm and 150 mm")]


def not_blank(name: str) -> str:
    """Return the name of a recipe or a part. Raises ValueError for none, or an endless one."""
    if not name.strip() or len(name) > 100:
        raise wrong("name", "a recipe needs a name of 1 to 100 characters, by which the record knows it")
    return name


class NamedPart(Strict):
    """One part of a load that is done together: its name in the record and its thickest place.

    `steel` says nothing new: it is there to be answered, where somebody would mix two steels in one heat.
    """

    name: Annotated[str, AfterValidator(not_blank)]
    section_mm: Section = Field(alias="section")
    steel: str | None = None


def governing_mm(data: dict[str, Any]) -> float | None:
    """Return the section that a load heats as: the sum of a tight stack, else the thickest part."""
    try:
        sections_mm = [parse_length_mm(part["section"]) for part in data["parts"]]
    except (UnitError, KeyError, TypeError):
        return None  # each is said at its own place
    together = sum if data.get("stack") == "tight" else max
    return float(together(sections_mm))


def why_not_together(parts: tuple[NamedPart, ...], steel: str | None) -> str:
    """Return why a part of another steel does not go into a load, and what both cards share; else nothing."""
    mixed = [(p.name, p.steel) for p in parts if p.steel and plain(p.steel) != plain(steel or "")]
    if not mixed:
        return ""
    part, other = mixed[0]
    if steel is None:
        return f'say the steel once for the whole load: steel = "{other}" above the parts'
    try:
        first, second = load_steel(steel), load_steel(other)
    except ProfileError as e:
        return f"one heat has one steel; {e}"
    heats = (
        f"{steel} hardens at {_heats(first)} ({_bath(first)}), {other} at {_heats(second)} ({_bath(second)})"
    )
    return (
        f'"{part}" is {other}, the load {steel}: one heat has one steel. {heats}; {_shared(first, second)}. '
        "Write one recipe each"
    )


def _heats(steel: Steel) -> str:
    return " or ".join(dict.fromkeys(heat.words for heat in steel.austenitise[:1]))


def _bath(steel: Steel) -> str:
    return steel.quench[0].medium if steel.quench else "no quench on its card"


def _shared(first: Steel, second: Steel) -> str:
    """Return the hardening heats that two cards have in common, in words."""
    ours, theirs = _window(first.austenitise), _window(second.austenitise)
    if ours is None or theirs is None:
        return "a card has no hardening heat"
    low_c, high_c = max(ours[0], theirs[0]), min(ours[1], theirs[1])
    if low_c > high_c:
        return "no heat hardens both"
    return f"both allow {low_c:.0f}-{high_c:.0f} °C, each with its soak and bath"


def _window(heats: tuple[SourcedHeat, ...]) -> tuple[float, float] | None:
    if not heats:
        return None
    return min(heat.low_c for heat in heats), max(heat.high_c for heat in heats)
