"""Choosing a steel: which cards can be hardened to a goal with what stands on the bench, why not the others.

Nothing is ranked: a card says what a steel takes and what it can get; what a tool needs, its maker knows.
"""

from dataclasses import dataclass

from kilnctl.config.oven import LIMIT_MARGIN_K
from kilnctl.errors import ProfileError
from kilnctl.treatment.segments.quench_medium import DRY, HARDEST_FIRST, THROUGH_MM, WATER
from kilnctl.treatment.steel.hardness import (
    ROUNDED_HRC,
    TWO_TEMPERS_S,
    expected_hrc,
)
from kilnctl.treatment.steel.steels import Medium, Quench, Steel
from kilnctl.treatment.steel.temper.joined_ladder import hardest_hrc
from kilnctl.treatment.steel.temper.temper_choice import TemperChoice, allowed, temper_choice
from kilnctl.treatment.steel.windows import hardening_heats_c
from kilnctl.units import say_point

# Their heat is so high and long that bare steel scales and loses carbon (common practice, no single source).
FOIL_KINDS = ("high alloy", "stainless")
# Many a carbon steel tool is tempered there all the same (common practice): it is said, not forbidden.
TOUGHNESS_LOST = "its temper lies where its card says that toughness is lost"


@dataclass(frozen=True, slots=True)
class Bench:
    """What there is: the hardness wanted (HRC, lowest and highest) and what a part can be hardened with.

    `media` are the quench media at hand, all where none is named; `furnace_c` and `temper_c` the limits of
    the two ovens in degC, `section_mm` the thickest place; None where nothing is said.
    """

    goal_hrc: tuple[float, float]
    section_mm: float | None = None
    media: tuple[Medium, ...] = ()
    furnace_c: float | None = None
    temper_c: float | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """What one card says to a bench. `in_the_way` is empty where the steel can be hardened on it."""

    steel: Steel
    heat_c: tuple[float, float]
    medium: Medium | None
    temper: TemperChoice | None
    in_the_way: tuple[str, ...]
    needs: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """True where the steel can be hardened to the goal on this bench."""
        return not self.in_the_way


def choose(steel: Steel, bench: Bench) -> Choice:
    """Return whether a bench hardens a steel to its goal, how, and what stands in the way."""
    heat_c = hardening_heats_c(steel) or (0.0, 0.0)
    quench = _quench(steel, bench)
    temper, no_temper = _temper(steel, bench)
    found = (_too_cold(heat_c[0], bench), "" if quench else _no_quench(steel, bench), no_temper)
    in_the_way = tuple(said for said in found if said)
    medium = None if quench is None else quench.medium
    beside = _beside(steel, temper, bench.goal_hrc) if temper is not None and not in_the_way else ""
    if temper is not None and not allowed(temper.at_c, steel, None):
        beside = TOUGHNESS_LOST
    needs = (beside, *_needs(steel, bench, quench))
    return Choice(steel, heat_c, medium, temper, in_the_way, tuple(said for said in needs if said))


def _too_cold(from_c: float, bench: Bench) -> str:
    if bench.furnace_c is None or from_c <= bench.furnace_c - LIMIT_MARGIN_K:
        return ""
    return f"hardens from {say_point(from_c)}; {_can_do('furnace', bench.furnace_c)}"


def _can_do(oven: str, limit_c: float) -> str:
    return f"the {oven} can do {say_point(limit_c - LIMIT_MARGIN_K)}"


def _quench(steel: Steel, bench: Bench) -> Quench | None:
    """Return the gentlest quench that card and bench share and that hardens the section through, or None."""
    found = [
        q
        for q in steel.quench
        if (not bench.media or q.medium in bench.media)
        and (q.up_to_mm is None or bench.section_mm is None or bench.section_mm <= q.up_to_mm)
    ]
    return max(found, key=lambda q: HARDEST_FIRST.index(q.medium), default=None)


def _no_quench(steel: Steel, bench: Bench) -> str:
    """Say what the card is quenched in, with its thickest section where that is what is in the way."""
    if not steel.quench:
        return "its card names no quench"
    said = (q.medium if q.up_to_mm is None else f"{q.medium} (up to {q.up_to_mm:g} mm)" for q in steel.quench)
    return f"wants {' or '.join(dict.fromkeys(said))}"


def _temper(steel: Steel, bench: Bench) -> tuple[TemperChoice | None, str]:
    """Return the temper for the goal, or why there is none in words."""
    highest_c = None if bench.temper_c is None else bench.temper_c - LIMIT_MARGIN_K
    try:
        found = temper_choice(steel, bench.goal_hrc, highest_c)
    except ProfileError as e:
        return None, str(e).removeprefix(f"{steel.grade}: ")
    if highest_c is not None and found.at_c > highest_c:
        can_do = _can_do("tempering oven", highest_c + LIMIT_MARGIN_K)
        return found, f"tempers at {say_point(found.at_c)} for it; {can_do}"
    if not _reaches(steel, bench.goal_hrc):
        return found, f"only the hard end of its tables reaches the goal, at {say_point(found.at_c)}"
    return found, ""


def _reaches(steel: Steel, goal_hrc: tuple[float, float]) -> bool:
    """True where the middle of some table comes as hard as the goal: one end of its spread is luck."""
    return hardest_hrc(steel) >= goal_hrc[0] - ROUNDED_HRC


def _beside(steel: Steel, choice: TemperChoice, goal_hrc: tuple[float, float]) -> str:
    """Say so where the temper lands beside the goal because one in its middle would cost toughness."""
    expected = expected_hrc(steel, choice.at_c, TWO_TEMPERS_S)
    middles = [(e.low_hrc + e.high_hrc) / 2 for e in expected]
    if min(middles) <= goal_hrc[1] + ROUNDED_HRC and max(middles) >= goal_hrc[0] - ROUNDED_HRC:
        return ""
    low, high = min(e.low_hrc for e in expected), max(e.high_hrc for e in expected)
    return f"{low:.0f}-{high:.0f} HRC: a hotter temper costs toughness by its card"


def _skin(quench: Quench | None) -> str:
    """Return what keeps the skin. Foil is cut off before a bath, which takes too long (common practice)."""
    if quench is not None and quench.medium not in DRY:
        return "a coating (foil must come off before the bath), or foil and plates"
    return "foil or a coating"


def _needs(steel: Steel, bench: Bench, quench: Quench | None) -> tuple[str, ...]:
    needs = []
    if quench is not None and quench.medium == WATER:
        needs.append("water or brine can crack it")
    if steel.kind in FOIL_KINDS:
        needs.append(_skin(quench))
    if steel.preheat:
        needs.append("a preheat")
    if steel.cold and steel.kind in FOIL_KINDS:
        needs.append("a cold treatment is named on its card")
    if quench is not None and quench.up_to_mm is not None and bench.section_mm is None:
        needs.append(f"{quench.medium} up to {quench.up_to_mm:g} mm")
    if quench is not None and quench.up_to_mm is None and (bench.section_mm or 0.0) > THROUGH_MM[steel.kind]:
        needs.append(f"a coupon: no source says that {bench.section_mm:g} mm hardens through")
    return tuple(needs)
