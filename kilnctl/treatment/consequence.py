"""What every step leaves of the part: quenched, tempered by its dose, softened, annealed, normalised.

The state is folded over the segments of all treatments, also those of another oven. Hardness after a temper
comes from the card's tables and the fit (hardness.py) at the hottest heat since the quench, with the time of
the cooler ones turned into time there by Hollomon and Jaffe's equal parameter.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from kilnctl.model.part import inside
from kilnctl.profile.segments import TEMPERS, AnySegment, Cool, Operator, Profile, Soak
from kilnctl.treatment.steel.cooling_names import ANNEAL_SLACK, HARDENS_IN_AIR, anneal_c_per_h
from kilnctl.treatment.steel.hardness import COLDEST_TEMPER_C, ExpectedHardness, expected_hrc
from kilnctl.treatment.steel.steels import Steel, ac1_c
from kilnctl.treatment.steel.temper.dose import Dose, carbon_constant, equal_temperature_c, equal_time_s

if TYPE_CHECKING:  # a heat that runs knows profiles, and no recipes
    from kilnctl.treatment.recipe.recipes import Recipe

Structure = Literal[
    "as delivered", "austenite", "quenched", "tempered", "softened", "annealed", "normalised", "half hard"
]
HARD = ("quenched", "tempered", "softened")
_NO_AC1_C = 700.0  # a card without Ac1: every steel here is still ferritic below it
SAME_HEAT_K = 1.0
SLOW_COOLING_BELOW_C = 600.0
LEFT_K = 5.0  # by what a part in sight may still pass its goal when the sensor is held lower for it
AS_PLANNED_K = 5.0  # heating up and cooling down alone temper like two or three kelvin more


@dataclass(frozen=True, slots=True)
class SteelState:
    """The part after a step: `heats` are (degC, seconds) since its quench in `medium`.

    `tempered_c` is the hottest full temper since then, `off_k` how far below and above its hottest heat the
    part may have been where the elements see it.
    """

    structure: Structure = "as delivered"
    medium: str = ""
    heats: tuple[tuple[float, float], ...] = ()
    tempered_c: float | None = None
    off_k: tuple[float, float] = (0.0, 0.0)

    @property
    def hard(self) -> bool:
        """True where the part was quenched and not annealed, normalised or heated to austenite since."""
        return self.structure in HARD


HARDENED_BEFORE = SteelState("quenched")


def begun(recipe_or_profile: "Recipe | Profile") -> SteelState:
    """Return the part before the first step: where nothing but tempers come first, it was hardened before."""
    first = (
        [s.purpose for s in recipe_or_profile.segments]
        if isinstance(recipe_or_profile, Profile)
        else [t.do for t in recipe_or_profile.treatment]
    )
    return HARDENED_BEFORE if first[0] in (*TEMPERS, "cold treatment") else SteelState()


def states(profile: Profile, steel: Steel | None, part: SteelState) -> tuple[SteelState, ...]:
    """Return the part after each segment; what the oven does while the part is outside changes nothing."""
    found = []
    for n, segment in enumerate(profile.segments):
        if steel is not None and (inside(profile, n) or not isinstance(segment, Soak)):
            part = state_after(part, segment, steel)
        found.append(part)
    return tuple(found)


def state_after(part: SteelState, segment: AnySegment, steel: Steel) -> SteelState:
    """Return the part after one segment."""
    match segment:
        case Soak() if segment.at_c > _austenite_from_c(steel) and segment.purpose != "preheat":
            return SteelState("austenite")
        case Soak():
            return _heated(part, segment)
        case Operator(step="quench"):
            return SteelState("quenched", segment.medium)
        case Operator(step="air cool") if part.structure == "austenite":
            return SteelState("normalised")
        case Operator(hold_c=float() as held_c) if part.hard and segment.purpose == "hold":
            return _add(part, held_c, segment.at_most_s, "softened")
        case Cool() if part.structure == "austenite" and _transforms(segment):
            return SteelState(_furnace_cooled(segment, steel))
        case _:
            return part


def _transforms(cool: Cool) -> bool:
    """False for a quick fall to where a slow cooling or a hold begins: what is austenite is still so."""
    return cool.rate_c_per_h is not None or cool.to_c < SLOW_COOLING_BELOW_C


def _furnace_cooled(cool: Cool, steel: Steel) -> Structure:
    """Return what a cooling makes; an air-hardening grade is soft only after its own slow one."""
    if steel.kind not in HARDENS_IN_AIR:
        return "annealed"
    rate = cool.rate_c_per_h
    return "half hard" if rate is None or rate > ANNEAL_SLACK * anneal_c_per_h(steel) else "annealed"


def _austenite_from_c(steel: Steel) -> float:
    start_c = ac1_c(steel)
    return _NO_AC1_C if start_c is None else start_c


def _heated(part: SteelState, soak: Soak) -> SteelState:
    if part.hard:
        part = _add(part, soak.at_c, soak.soak_s, "tempered" if soak.purpose in TEMPERS else "softened")
        full = soak.purpose == "temper"
        return replace(part, tempered_c=max(part.tempered_c or soak.at_c, soak.at_c)) if full else part
    return SteelState("annealed") if soak.purpose == "anneal" else part


def _add(part: SteelState, at_c: float, soak_s: float, structure: Structure) -> SteelState:
    """Return the part with one heat more; one no hotter than the hottest leaves it tempered."""
    hottest_c = max((c for c, _ in part.heats), default=-300.0)
    tempers = part.structure == "tempered" and at_c <= hottest_c + SAME_HEAT_K
    kept: Structure = part.structure if tempers or part.structure == "softened" else structure
    return replace(part, structure=kept, heats=(*part.heats, (at_c, soak_s)))


def dose_of(part: SteelState, steel: Steel) -> tuple[float, float] | None:
    """Return the hottest heat since the quench and all heats as seconds there, None without any."""
    if not part.heats:
        return None
    hottest_c = max(c for c, _ in part.heats)
    constant = carbon_constant(steel.carbon)
    return hottest_c, sum(equal_time_s(c, s, hottest_c, constant) for c, s in part.heats)


def expected_of(part: SteelState, steel: Steel) -> tuple[ExpectedHardness, ...]:
    """Return what every source expects of a tempered or softened part, nothing where no source reaches."""
    dose = dose_of(part, steel) if part.hard else None
    if dose is None:
        return ()
    (at_c, seconds), found = dose, dict[str, ExpectedHardness]()
    for off_k in dict.fromkeys(part.off_k):
        for e in expected_hrc(steel, at_c + off_k, seconds):
            known = found.get(e.source, e)
            low, high = min(known.low_hrc, e.low_hrc), max(known.high_hrc, e.high_hrc)
            found[e.source] = ExpectedHardness(low, high, e.source)
    return tuple(found.values())


def off_goal(
    parts: tuple[SteelState, ...], off_k: Mapping[int, tuple[float, float]]
) -> tuple[SteelState, ...]:
    """Return the part after each segment with how far it may have been from the goal of a temper so far."""
    found, low_k, high_k = [], 0.0, 0.0
    for n, part in enumerate(parts):
        low_k, high_k = off_k.get(n, (low_k, high_k)) if part.heats else (0.0, 0.0)
        found.append(replace(part, off_k=(low_k, high_k)) if low_k or high_k else part)
    return tuple(found)


def hrc_of(part: SteelState, steel: Steel) -> tuple[float, float] | None:
    """Return the widest range of hardness that the sources give for the part, None where nobody says."""
    found = expected_of(part, steel)
    if found:
        return min(e.low_hrc for e in found), max(e.high_hrc for e in found)
    if part.structure != "quenched":
        return None
    claims = [q for q in steel.quench if q.as_quenched_hrc and (not part.medium or q.medium == part.medium)]
    ranges = [q.as_quenched_hrc for q in claims if q.as_quenched_hrc]
    return (min(low for low, _ in ranges), max(high for _, high in ranges)) if ranges else None


def said_of(part: SteelState, steel: Steel) -> str:
    """Return the part's state in the words of the bench."""
    hrc = hrc_of(part, steel)
    about = "" if hrc is None else f", {_span(hrc)} HRC"
    match part.structure:
        case "quenched":
            return f"hard and brittle{about}"
        case "tempered" | "softened" if hrc is None:
            return f"{part.structure}{_beyond(part, steel)}"
        case "tempered" | "softened":
            return f"{part.structure}{about}"
        case "austenite":
            return "austenite, while it is hot"
        case "half hard":
            return "hard or half hard: too quick for an anneal"
        case "annealed" | "normalised":
            return f"{part.structure}, soft"
        case _:
            return part.structure


def _beyond(part: SteelState, steel: Steel) -> str:
    """Return what the end of the tables says of a heat beyond them."""
    hottest_c = max((c for c, _ in part.heats), default=0.0)
    ends = [table.row[-1] for table in steel.temper_table if table.row[-1].at_c < hottest_c]
    return f", under {min(row.hrc[1] for row in ends):.0f} HRC" if ends else ", no source says how hard"


def _span(hrc: tuple[float, float]) -> str:
    low, high = round(hrc[0]), round(hrc[1])
    return f"{low}" if low == high else f"{low}-{high}"


def predicted_hrc(
    profile: Profile, steel: Steel, done: Dose | None = None, over_k: float | None = None
) -> tuple[float, float] | None:
    """Return the hardness range of a profile's last state, None where it is not tempered.

    `done` is what a heat really tempered: where that is as much as another temperature would have done in
    the planned time, the range is that temperature's. `over_k` is by how much a thin edge in sight of the
    elements was above its goal at most, by the estimate of the heat.
    """
    high_k = LEFT_K if over_k is None else max(over_k, 0.0)
    lowered = {n: (s.sensor_c - s.at_c, high_k) for n, s in tempers(profile) if s.sensor_c is not None}
    part = off_goal(states(profile, steel, begun(profile)), lowered)[-1]
    if lowered:  # where the elements see the part its sensor does not tell what it had
        return hrc_of(part, steel) if part.heats else None
    like_c = None if done is None else tempered_like_c(done)
    if done is None or like_c is None or not part.hard:
        return hrc_of(part, steel) if part.heats else None
    found = expected_hrc(steel, like_c, done.goal_s)
    return (min(e.low_hrc for e in found), max(e.high_hrc for e in found)) if found else None


def tempers(profile: Profile) -> list[tuple[int, Soak]]:
    """Return the tempers of a profile with their places."""
    soaks = [(n, s) for n, s in enumerate(profile.segments) if isinstance(s, Soak)]
    return [(n, s) for n, s in soaks if s.purpose in TEMPERS]


def tempered_like_c(done: Dose) -> float | None:
    """Return the temperature that would have tempered as much in the planned time, None near the goal."""
    if done.equivalent_c_s < 1.0:
        return COLDEST_TEMPER_C
    like_c = equal_temperature_c(done.goal_c, done.equivalent_c_s, done.goal_s, done.constant)
    return like_c if abs(like_c - done.goal_c) > AS_PLANNED_K else None
