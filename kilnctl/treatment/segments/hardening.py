"""Preheat and austenitise as segments; what the hands do afterwards stands in quench_steps."""

from dataclasses import replace

from kilnctl.errors import ProfileError
from kilnctl.treatment.recipe.treatments import Harden
from kilnctl.treatment.segments.quench_steps import quench_steps
from kilnctl.treatment.segments.segment_builders import (
    HOT_RATE_C_PER_H,
    SETTLE_S,
    WEAR,
    Pick,
    PlanFor,
    Segments,
    Words,
    asked,
    person,
    ramp,
    soak,
)
from kilnctl.treatment.steel.sourced_values import PRACTICE

SOAK_S = 600.0
PREHEAT_SOAK_S = 600.0
_NEED_PREHEAT = ("high alloy", "stainless")
# From this section on, and where a part is so many times thicker than its thinnest place, the card's preheat
# is the default for every grade that has one (common practice, no single source; O1 sheets advise one).
PREHEAT_FROM_MM, UNEVEN_FROM_MM, UNEVEN = 25.0, 8.0, 4.0


def harden(bench: PlanFor, treatment: Harden) -> Segments:
    """Return heats to the austenitising temperature, then a quench, clamp and check for every blade.

    Raises ProfileError where neither recipe nor card gives a temperature.
    """
    at, hold = _temperature(bench, treatment), _soak(bench, treatment)
    words = Words("harden", "austenitise: heat", "so that thick and thin heat evenly", PRACTICE)
    rate_c_per_h = treatment.rate_c_per_h or HOT_RATE_C_PER_H
    segments: Segments = _preheats(bench, treatment, words, rate_c_per_h)
    if not segments and bench.known_steel.preheat and treatment.preheat is None:
        words = replace(words, reason=f"{words.reason}; {_why_no_preheat(bench)}")
    segments += (ramp(at.value, words, rate_c_per_h),)
    if treatment.load == "hot":
        segments += _hot_load(at, words)
    why = f"{at.reason}; the clock starts when the part is at heat ({hold.reason})"
    sources = "; ".join(dict.fromkeys((at.source, hold.source)))
    segments += (soak(at.value, hold.value, words.say("austenitise: soak", why, sources)),)
    return segments + quench_steps(bench, treatment, at)


def _temperature(bench: PlanFor, treatment: Harden) -> Pick:
    if treatment.at_c is not None:
        return asked(treatment.at_c, treatment, bench.recipe)
    steel = bench.known_steel
    first = steel.austenitise[0]
    reason = f"card of {steel.grade}: {first.words}"
    return Pick(first.middle_c, reason, steel.cite(first))


def _soak(bench: PlanFor, treatment: Harden) -> Pick:
    if treatment.time_s is not None:
        return asked(treatment.time_s, treatment, bench.recipe)
    steel = bench.known_steel
    for claim in steel.austenitise:
        if claim.soak_low_s is not None:
            high_s = claim.soak_high_s or claim.soak_low_s
            middle = max((claim.soak_low_s + high_s) / 2, (claim.per_inch_s or 0.0) * bench.inches)
            span = (
                f"{claim.soak_low_s / 60:.0f}-{high_s / 60:.0f}"
                if high_s > claim.soak_low_s
                else f"{high_s / 60:.0f}"
            )
            return Pick(middle, f"{span} min", steel.cite(claim))
    return Pick(SOAK_S, "10 min for a thin section", PRACTICE)


def _preheats(bench: PlanFor, treatment: Harden, words: Words, rate_c_per_h: float) -> Segments:
    """Return the card's preheats for grades and parts that need them, or where the recipe asks for them."""
    steel = bench.known_steel
    wanted = treatment.preheat if treatment.preheat is not None else _needs_preheat(bench)
    if not wanted:
        return ()
    if not steel.preheat:
        raise ProfileError(
            f"{bench.recipe.name}: the card of {steel.grade} has no preheat; set preheat = false"
        )
    segments: Segments = ()
    for n, claim in enumerate(steel.preheat, 1):
        said = replace(words, purpose="preheat", label=f"preheat {n}: heat")
        why = f"card of {steel.grade}: {claim.words}; lets thick and thin even out"
        segments += (
            ramp(claim.middle_c, said, rate_c_per_h),
            soak(claim.middle_c, PREHEAT_SOAK_S, said.say(f"preheat {n}: soak", why, steel.cite(claim))),
        )
    return segments


def _needs_preheat(bench: PlanFor) -> bool:
    """True for high alloy and stainless, and for a thick or uneven part of any grade whose card has one."""
    steel, thick_mm, thin_mm = bench.known_steel, bench.recipe.section_mm or 0.0, bench.recipe.thinnest_mm
    uneven = thin_mm is not None and thick_mm >= max(UNEVEN_FROM_MM, UNEVEN * thin_mm)
    return steel.kind in _NEED_PREHEAT or (bool(steel.preheat) and (thick_mm >= PREHEAT_FROM_MM or uneven))


def _why_no_preheat(bench: PlanFor) -> str:
    card = " and ".join(claim.words for claim in bench.known_steel.preheat)
    return (
        f"the card's preheat ({card}) is left out for an even part under {PREHEAT_FROM_MM:.0f} mm: "
        "preheat = true brings it"
    )


def _hot_load(at: Pick, words: Words) -> Segments:
    settle = words.say("oven settles, empty", "so that the load meets hot walls", PRACTICE)
    ask = f"Put what is to be hardened in and shut the door. {WEAR} Answer done."
    load = words.say("load", "hot load: less time at heat, less scale", PRACTICE)
    return (
        soak(at.value, SETTLE_S, settle, clock="oven"),
        person("load", ask, 1800.0, load, at.value),
    )
