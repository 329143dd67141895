"""Preheat, austenitise, quench: segments with the steps that need a person."""

from dataclasses import replace

from kilnctl.errors import ProfileError
from kilnctl.model import part as slab
from kilnctl.treatment.claims import PRACTICE
from kilnctl.treatment.forecast import air_cool_s
from kilnctl.treatment.making import (
    HOT_RATE_C_PER_H,
    Bench,
    Pick,
    Segments,
    Words,
    asked,
    person,
    ramp,
    soak,
)
from kilnctl.treatment.quenching import transfer_s
from kilnctl.treatment.recipes import Harden
from kilnctl.treatment.steels import Quench

SOAK_S = 600.0
PREHEAT_SOAK_S = 600.0
SETTLE_S = 600.0
RECOVER_S = 120.0
FAST_OIL_S = 7.0
FAST_OIL_UP_TO_MM = 6.0
FROM_BATH_C = 200.0  # out of the bath around Ms of common tool steels, while it can still be straightened
PLATES = "plates or still air"
_NEED_PREHEAT = ("high alloy", "stainless")


def harden(bench: Bench, treatment: Harden) -> Segments:
    """Return heats to the austenitising temperature, then a quench, clamp and check for every blade.

    Raises ProfileError where neither recipe nor card gives a temperature.
    """
    at, hold = _temperature(bench, treatment), _soak(bench, treatment)
    words = Words("harden", "austenitise: heat", "even heating of thick and thin", PRACTICE)
    rate_c_per_h = treatment.rate_c_per_h or HOT_RATE_C_PER_H
    segments: Segments = _preheats(bench, treatment, words, rate_c_per_h)
    segments += (ramp(at.value, words, rate_c_per_h),)
    if treatment.load == "hot":
        segments += _hot_load(at, words)
    why = f"{at.reason}; the clock starts when the part is at heat ({hold.reason})"
    sources = "; ".join(dict.fromkeys((at.source, hold.source)))
    segments += (soak(at.value, hold.value, words.say("austenitise: soak", why, sources)),)
    return segments + _quenches(bench, treatment, at, words)


def _temperature(bench: Bench, treatment: Harden) -> Pick:
    if treatment.at_c is not None:
        return asked(treatment.at_c, treatment, bench.recipe)
    steel = bench.known_steel
    first = steel.austenitise[0]
    reason = f"card of {steel.grade}: {first.words}"
    return Pick(first.middle_c, reason, steel.cite(first))


def _soak(bench: Bench, treatment: Harden) -> Pick:
    if treatment.time_s is not None:
        return asked(treatment.time_s, treatment, bench.recipe)
    steel = bench.known_steel
    for claim in steel.austenitise:
        if claim.soak_low_s is not None:
            high_s = claim.soak_high_s or claim.soak_low_s
            middle = (claim.soak_low_s + high_s) / 2
            span = (
                f"{claim.soak_low_s / 60:.0f}-{high_s / 60:.0f}"
                if high_s > claim.soak_low_s
                else f"{high_s / 60:.0f}"
            )
            return Pick(middle, f"{span} min", steel.cite(claim))
    return Pick(SOAK_S, "10 min for a thin section", PRACTICE)


def _preheats(bench: Bench, treatment: Harden, words: Words, rate_c_per_h: float) -> Segments:
    """Return the card's preheats for grades that need them, or where the recipe asks for them."""
    steel = bench.known_steel
    wanted = treatment.preheat if treatment.preheat is not None else steel.kind in _NEED_PREHEAT
    if not wanted:
        return ()
    if not steel.preheat:
        raise ProfileError(
            f"{bench.recipe.name}: the card of {steel.grade} has no preheat; set preheat = false"
        )
    segments: Segments = ()
    for n, claim in enumerate(steel.preheat, 1):
        said = replace(words, purpose="preheat", label=f"preheat {n}: heat")
        why = f"card of {steel.grade}: {claim.words}; lets thick and thin come together"
        segments += (
            ramp(claim.middle_c, said, rate_c_per_h),
            soak(claim.middle_c, PREHEAT_SOAK_S, said.say(f"preheat {n}: soak", why, steel.cite(claim))),
        )
    return segments


def _hot_load(at: Pick, words: Words) -> Segments:
    settle = words.say("oven settles, empty", "so that the load meets walls at heat", PRACTICE)
    ask = "Put the part in and shut the door. Answer done. Long tongs, gloves, face shield."
    load = words.say("load", "hot load: less time at heat, less scale", PRACTICE)
    return (
        soak(at.value, SETTLE_S, settle, clock="oven"),
        person("load", ask, 1800.0, load, at.value),
    )


def _quenches(bench: Bench, treatment: Harden, at: Pick, words: Words) -> Segments:
    segments: Segments = ()
    for n in range(1, treatment.blades + 1):
        which = f" {n} of {treatment.blades}" if treatment.blades > 1 else ""
        if n > 1:
            again = words.say(
                f"oven recovers for blade{which}", "the door was open; back in band first", PRACTICE
            )
            segments += (soak(at.value, RECOVER_S, again, clock="oven"),)
        quench = words.say(f"quench{which}", _medium(bench, treatment), PRACTICE)
        segments += (
            person(
                "quench",
                _quench_words(bench, treatment, which),
                treatment.wait_s,
                quench,
                at.value,
                medium_of(bench, treatment),
                hands_s(bench, treatment, at.value),
            ),
        )
    return segments + _after(words)


def hands_s(bench: Bench, treatment: Harden, at_c: float) -> dict[str, float | None]:
    """Return the seconds that the hands are allowed after the oven, None where nobody can say.

    `transfer` and `warm` are estimates of the part's slab; `bath` and `clamp` are the recipe's, or practice.
    """
    recipe, plates = bench.recipe, medium_of(bench, treatment) == PLATES
    thinnest_mm = recipe.thinnest_mm or recipe.section_mm
    no_hurry = plates or thinnest_mm is None
    bath = None if plates else in_oil_s(bench, treatment)
    return {
        "transfer": None if no_hurry else transfer_s(thinnest_mm or 0.0, at_c, bench.known_steel),
        "bath": bath,
        "clamp": treatment.clamp_s,
        "warm": _warm_s(bench) if plates or bath is not None else None,
    }


def _warm_s(bench: Bench) -> float | None:
    """Return the seconds in still air from about Ms to hand-warm: no more than that, a clamp is faster."""
    recipe = bench.recipe
    if recipe.section_mm is None:
        return None
    model = slab.slab(recipe.section_mm, recipe.surface)
    return air_cool_s(model, slab.start(model, FROM_BATH_C), bench.oven.ambient_c, bench.hand_warm_c)


def _after(words: Words) -> Segments:
    clamp = "Straighten in the clamp while it still moves by hand; then leave it alone. Answer done."
    check = (
        "At hand-warm: clean to bare metal, file test, look for warp and cracks. Answer done; temper at once."
    )
    return (
        person(
            "clamp", clamp, 1800.0, words.say("clamp", "above and around Ms the part still bends", PRACTICE)
        ),
        person("check", check, 3600.0, words.say("check", "scale and soft skin fool the file", PRACTICE)),
    )


def medium_of(bench: Bench, treatment: Harden) -> str:
    """Return the quench medium: the recipe's, else the card's first that suits the section."""
    if treatment.medium is not None:
        return treatment.medium
    section_mm = bench.recipe.section_mm or 0.0
    fitting = [q for q in bench.known_steel.quench if q.up_to_mm is None or section_mm <= q.up_to_mm]
    return fitting[0].medium if fitting else "fast oil"


def _medium(bench: Bench, treatment: Harden) -> str:
    claims: list[Quench] = [q for q in bench.known_steel.quench if q.medium == medium_of(bench, treatment)]
    said = f" ({bench.known_steel.cite(claims[0])})" if claims else ""
    return f"{medium_of(bench, treatment)}{said}"


def in_oil_s(bench: Bench, treatment: Harden) -> float | None:
    """Return the seconds in the bath: the recipe's; about 7 s of fast oil for thin sections."""
    if treatment.in_oil_s is not None:
        return treatment.in_oil_s
    thin = (bench.recipe.section_mm or 1e9) <= FAST_OIL_UP_TO_MM
    return FAST_OIL_S if thin and medium_of(bench, treatment) == "fast oil" else None


def _quench_words(bench: Bench, treatment: Harden, which: str) -> str:
    medium = medium_of(bench, treatment)
    if medium == PLATES:
        return f"Ready: out and between the plates (or still air){which}. Answer done."
    seconds = in_oil_s(bench, treatment)
    how_long = f"about {seconds:.0f} s in the bath" if seconds else "in the bath until it can be held by hand"
    dry = "" if medium == "water or brine" else "No water in the oil. "
    return (
        f"Ready: straight into {medium}{which}, all of it under, move it up and down, {how_long}. {dry}"
        "Lid and extinguisher at hand, never water on burning oil. Answer done."
    )
