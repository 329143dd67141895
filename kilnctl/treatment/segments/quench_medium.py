"""Into what a part is quenched, and what a medium that is not the card's does to it.

A medium that cools harder than every one of the card warps and cracks, one that cools more gently leaves soft
spots (common practice, no single source; the order is that of Grossmann's severities, from memory).
"""

from kilnctl.errors import ProfileError
from kilnctl.treatment.recipe.treatments import Harden
from kilnctl.treatment.segments.segment_builders import PlanFor
from kilnctl.treatment.steel.quenching import oil_beware
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.treatment.steel.steels import Quench

WATER, FAST_OIL, MEDIUM_OIL, PLATES, AIR = (
    "water or brine",
    "fast oil",
    "medium oil",
    "plates",
    "still air",
)
HARDEST_FIRST = (WATER, FAST_OIL, MEDIUM_OIL, PLATES, AIR)
DRY = (PLATES, AIR)
# Steady service in air of type 309 (2000 degF) by a stainless-steel trade association's table.
FOIL_309_C = 1095.0
# Handbook figures are for bars of about 25 mm, of the high-alloy grades for about 75 (common practice).
THROUGH_MM = {"plain carbon": 6.35, "low alloy": 25.0, "high alloy": 75.0, "stainless": 25.0}


def medium_of(bench: PlanFor, treatment: Harden) -> str:
    """Return the quench medium: the recipe's, else the card's first that suits the section.

    Raises ProfileError where the card has only water left for this section, and for water where the card
    has none and the recipe no reason: that is the maker's decision.
    """
    if treatment.medium is not None:
        _check_water(bench, treatment)
        return treatment.medium
    steel, section_mm = bench.known_steel, bench.recipe.section_mm or 0.0
    fitting = [q for q in steel.quench if q.up_to_mm is None or section_mm <= q.up_to_mm]
    dry = [q.medium for q in fitting if q.medium != WATER]
    if dry:
        return dry[0]
    offer = 'write medium = "water or brine" if you want that, or choose another medium or a thinner section'
    if not fitting:
        raise ProfileError(
            f"{bench.recipe.name}: the card of {steel.grade} has no quench for {section_mm:.4g} mm; "
            "say its medium"
        )
    said = f", {fitting[0].note}" if fitting[0].note else ""
    raise ProfileError(
        f"{bench.recipe.name}: for {section_mm:.4g} mm the card of {steel.grade} has only water or "
        f"brine{said} ({steel.cite(fitting[0])}); it can crack the part: {offer}"
    )


def _check_water(bench: PlanFor, treatment: Harden) -> None:
    """Refuse water for a grade whose card has none, unless the recipe says why. Raises ProfileError."""
    if treatment.medium != WATER or treatment.reason or claims_of(bench, WATER):
        return
    raise ProfileError(
        f"{bench.recipe.name}: {bench.known_steel.grade} cracks in water; its card quenches in "
        f'{_media(bench)}: leave the medium out, or say why in that treatment: reason = "..."'
    )


def claims_of(bench: PlanFor, medium: str) -> tuple[Quench, ...]:
    """Return what the card says of a medium."""
    return tuple(q for q in bench.known_steel.quench if q.medium == medium)


def _media(bench: PlanFor) -> str:
    return " or ".join(dict.fromkeys(q.medium for q in bench.known_steel.quench))


def quench_warnings(bench: PlanFor, treatment: Harden) -> tuple[str, ...]:
    """Return what to know of the medium, and of a foil, before anything is heated."""
    medium, steel = medium_of(bench, treatment), bench.known_steel
    claims = claims_of(bench, medium)
    found = [] if claims else [_not_the_cards(bench, medium)]
    if medium == WATER:
        said = next((f"{q.note} ({steel.cite(q)})" for q in claims if q.note), PRACTICE)
        found.append(f"water or brine can crack the part: {said}")
    if treatment.oil is not None and medium not in DRY:
        found += filter(None, (oil_beware(treatment.oil.start_c),))
    if bench.recipe.surface == "foil" and medium not in DRY:
        found.append(_foil_and_bath(bench, medium))
    if bench.recipe.surface == "foil":
        hottest_c = treatment.at_c or steel.austenitise[0].middle_c
        found += _hot_for_foil(hottest_c)
    return (*found, *_edge_only(bench, treatment, medium), *_too_thick(bench, medium, claims))


def _foil_and_bath(bench: PlanFor, medium: str) -> str:
    """Return what is wrong with foil before a bath (common practice)."""
    steel = bench.known_steel
    if steel.kind in ("plain carbon", "low alloy"):
        return (
            f"{steel.grade} must be in the {medium} within seconds, and foil has to be cut open first: a "
            "coating in its place, or plates and a steel that hardens in air (common practice)"
        )
    return (
        f"foil is never cut open over a bath, and a packet that goes into {medium} whole does not quench: "
        f"leave {steel.grade} in its foil, between plates or in still air (common practice)"
    )


def _hot_for_foil(at_c: float) -> list[str]:
    """Return what a foil must bear, where that is more than the best common one does in steady service."""
    if at_c <= FOIL_309_C:
        return []
    return [
        f"{at_c:.0f} °C is above what type 309 bears in steady service ({FOIL_309_C:.0f} °C, a stainless "
        "steel trade association): only a foil whose wrapper allows this heat; others burn through"
    ]


def _edge_only(bench: PlanFor, treatment: Harden, medium: str) -> tuple[str, ...]:
    """Return what is to be known where only the edge goes into the bath (common practice)."""
    if treatment.edge_mm is None:
        return ()
    steel = bench.known_steel
    if steel.kind in ("high alloy", "stainless"):
        return (
            f"{steel.grade} hardens in air too: its spine hardens with the edge. A soft spine "
            "is drawn afterwards with a torch, the edge in water",
        )
    if medium in DRY:
        return (f"an edge cannot be dipped into {medium}: the whole part is quenched; leave the edge out",)
    said = "only the edge hardens: every hardness of this plan is the edge's; the spine stays soft, 25-40 HRC"
    flare = (
        ["oil flares around a part that is half out of it: lid at hand, face shield"]
        if medium != WATER
        else []
    )
    deep = [f"{steel.grade} hardens deep: a thin spine may harden too, try it with a file"]
    return (said, *flare, *(deep if steel.kind == "low alloy" else []))


def _not_the_cards(bench: PlanFor, medium: str) -> str:
    """Return what a medium does that the card does not have: harder cracks, gentler stays soft."""
    own = [HARDEST_FIRST.index(q.medium) for q in bench.known_steel.quench]
    place = HARDEST_FIRST.index(medium)
    card = f"its card has {_media(bench)}"
    if own and place < min(own):
        return f"{medium} cools {bench.known_steel.grade} harder than needed ({card}): it can warp and crack"
    if own and place > max(own):
        return f"{medium} may be too slow for {bench.known_steel.grade} ({card}): soft spots, cut a coupon"
    return f"the card of {bench.known_steel.grade} does not say {medium} ({card}): cut a coupon"


def _too_thick(bench: PlanFor, medium: str, claims: tuple[Quench, ...]) -> tuple[str, ...]:
    """Return a warning where no source says that a section hardens through."""
    steel, section_mm = bench.known_steel, bench.recipe.section_mm or 0.0
    limits = [q for q in claims if q.up_to_mm is not None]
    if limits and all(q.up_to_mm is not None and section_mm > q.up_to_mm for q in claims):
        limit = max(limits, key=lambda q: q.up_to_mm or 0.0)
        return (
            f"{section_mm:.4g} mm is over the card's {limit.up_to_mm:g} mm for {medium}: it will not harden "
            f"through ({steel.cite(limit)})",
        )
    if claims and not limits and section_mm > THROUGH_MM[steel.kind]:
        return (
            f"no source on the card says that {section_mm:.4g} mm hardens through in {medium}: cut a coupon",
        )
    return ()
