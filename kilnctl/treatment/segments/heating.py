"""Stress relief, normalise, anneal, first firing and open-ended hold as segments."""

import math
from dataclasses import replace

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import Cool
from kilnctl.treatment.recipe.treatments import Anneal, FirstFiring, Hold, Normalise, StressRelief
from kilnctl.treatment.segments.segment_builders import (
    HOT_RATE_C_PER_H,
    LONGEST_COOL_S,
    WEAR,
    Pick,
    PlanFor,
    Segments,
    Words,
    asked,
    cool,
    person,
    ramp,
    soak,
)
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.treatment.steel.steels import SourcedAnneal as AnnealClaim
from kilnctl.treatment.steel.steels import SourcedHeat, ac1_c

STRESS_RELIEF_C = 650.0
STRESS_RELIEF_S = 5400.0
SLOW_TO_C = 300.0
NORMALISE_FALL_K = 30.0
NORMALISE_CYCLES = 3
NORMALISE_SOAK_S = 600.0
OUT_OF_OVEN_S = 3600.0
FULL_ANNEAL_C_PER_H = 28.0
FULL_ANNEAL_S, BELOW_AC1_S = 1800.0, 7200.0
BELOW_AC1_K = 10.0  # a sensor of the better class is good to 6 K up there
FULL_ANNEAL_DOWN_TO_C = 600.0


def stress_relief(bench: PlanFor, treatment: StressRelief) -> Segments:
    """Return a sub-critical heat with a slow cool in the shut oven."""
    at = _first(
        bench, treatment.at_c, treatment, bench.known_steel.stress_relief, STRESS_RELIEF_C, "600-675 °C"
    )
    at = at if treatment.at_c is not None else _below_ac1(bench, at)
    hold_s, why, source = _usual(at, treatment.time_s, STRESS_RELIEF_S)
    words = Words("stress relief", "stress relief: heat", "so that thick and thin heat evenly", PRACTICE)
    slow = "slow cool, so that no new stress builds up; the door stays shut"
    down_to_c = SLOW_TO_C if at.value > SLOW_TO_C else bench.hand_warm_c
    return (
        ramp(at.value, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),
        soak(at.value, hold_s, words.say("stress relief: soak", why, source)),
        cool(
            down_to_c,
            words.say("stress relief: slow cool", slow, PRACTICE),
            treatment.cool_rate_c_per_h,
            at_most_s=LONGEST_COOL_S,
        ),
    )


def _first(
    bench: PlanFor,
    given: float | None,
    treatment: StressRelief | Normalise | Anneal,
    claims: tuple[SourcedHeat, ...],
    default_c: float,
    usual: str,
) -> Pick:
    """Return the recipe's temperature, else the middle of the card's first claim, else common practice."""
    if given is not None:
        return asked(given, treatment, bench.recipe)
    for claim in claims:
        steel = bench.known_steel
        return Pick(claim.middle_c, f"card of {steel.grade}: {claim.words}", steel.cite(claim))
    return Pick(default_c, f"usual range {usual}", PRACTICE)


def _below_ac1(bench: PlanFor, at: Pick) -> Pick:
    """Return a chosen sub-critical heat, lowered where it comes too near the start of austenite."""
    start_c = ac1_c(bench.known_steel)
    if start_c is None or at.value <= start_c - BELOW_AC1_K:
        return at
    lower_c = math.floor(start_c - BELOW_AC1_K)
    return replace(at, value=lower_c, reason=f"{at.reason}; {BELOW_AC1_K:.0f} K below the start of austenite")


def _usual(at: Pick, given_s: float | None, usual_s: float) -> tuple[float, str, str]:
    """Return a soak with its words: a time that neither recipe nor card says is common practice."""
    if given_s is not None:
        return given_s, at.reason, at.source
    usual = f"{at.reason}; {usual_s / 60:.0f} min is usual"
    return usual_s, usual, "; ".join(dict.fromkeys((at.source, PRACTICE)))


def normalise(bench: PlanFor, treatment: Normalise) -> Segments:
    """Return heats in falling steps, each with an air cool outside by a person.

    With `alone` the part cools in the shut oven after the first heat: that is an anneal by its cooling, and
    is called so. Raises ProfileError for a grade that must not be normalised.
    """
    picks = _normalise_steps(bench, treatment)
    if treatment.alone:
        return _alone(bench, treatment, picks)
    segments: Segments = ()
    for n, at in enumerate(picks, 1):
        following = picks[n].value if n < len(picks) else None
        segments += _normalise_cycle(treatment, n, at, following)
    return segments


def _normalise_steps(bench: PlanFor, treatment: Normalise) -> list[Pick]:
    steel = bench.known_steel
    if steel.do_not_normalise is not None:
        said = steel.cite(steel.do_not_normalise)
        raise ProfileError(
            f"{bench.recipe.name}: {steel.grade} must not be normalised ({said}); anneal it instead"
        )
    if treatment.at_c is not None:
        return [asked(at, treatment, bench.recipe) for at in treatment.at_c]
    if not steel.normalise:
        raise ProfileError(
            f"{bench.recipe.name}: the card of {steel.grade} has no normalise; give at = [...]"
        )
    top = _first(bench, None, treatment, steel.normalise, 0.0, "")
    lower = [
        Pick(top.value - NORMALISE_FALL_K * n, "a lower heat each time makes the grain finer", PRACTICE)
        for n in range(1, NORMALISE_CYCLES)
    ]
    return [top, *lower]


def _normalise_cycle(treatment: Normalise, n: int, at: Pick, following_c: float | None) -> Segments:
    words = Words("normalise", f"normalise {n}: heat", "so that thick and thin heat evenly", PRACTICE)
    out = (
        f"Take the part out and let it cool in still air, nothing touching it. {WEAR} "
        "Answer done when it is out."
    )
    soak_s, why, source = _usual(at, treatment.time_s, NORMALISE_SOAK_S)
    segments: Segments = (
        ramp(at.value, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),
        soak(at.value, soak_s, words.say(f"normalise {n}: soak", why, source)),
        person(
            "air cool",
            out,
            treatment.wait_s,
            words.say(
                f"normalise {n}: air cool", "still air outside the oven makes it a normalise", PRACTICE
            ),
            at.value,
        ),
    )
    if following_c is None:
        return segments
    back = f"When the part is black and hand-warm, put it back and shut the door. {WEAR} Answer done then."
    reason = "the transformation must be over before the next heat"
    return (
        *segments,
        person(
            "load", back, OUT_OF_OVEN_S, words.say(f"normalise {n}: put back", reason, PRACTICE), following_c
        ),
    )


def _alone(bench: PlanFor, treatment: Normalise, picks: list[Pick]) -> Segments:
    at = picks[0]
    words = Words("anneal", "heat", "so that thick and thin heat evenly", PRACTICE)
    reason = "nobody takes the part out: it cools in the shut oven, which is an anneal, not a normalise"
    soak_s, why, source = _usual(at, treatment.time_s, NORMALISE_SOAK_S)
    return (
        ramp(at.value, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),
        soak(at.value, soak_s, words.say("soak", why, source)),
        cool(SLOW_TO_C, words.say("cool in the shut oven", reason, PRACTICE), at_most_s=2 * LONGEST_COOL_S),
    )


def anneal(bench: PlanFor, treatment: Anneal) -> Segments:
    """Return an anneal with its controlled cooling or its hold, by the card or by the recipe.

    Raises ProfileError where the card has no such anneal and the recipe gives no temperature.
    """
    steel = bench.known_steel
    claims = tuple(claim for claim in steel.anneal if claim.type == treatment.type)
    if not claims and treatment.at_c is None:
        raise ProfileError(
            f"{bench.recipe.name}: the card of {steel.grade} has no {treatment.type} anneal; "
            "give its temperature (at)"
        )
    at = _first(bench, treatment.at_c, treatment, claims, 0.0, "")
    claim = claims[0] if claims else None
    below = claim is not None and claim.low_c < (ac1_c(steel) or 0.0) and treatment.type != "full"
    at = _below_ac1(bench, at) if below and treatment.at_c is None else at
    words = Words("anneal", f"{treatment.type} anneal: heat", "so that thick and thin heat evenly", PRACTICE)
    card_s = claim.soak_high_s if claim is not None else None
    usual_s = FULL_ANNEAL_S if treatment.type == "full" else BELOW_AC1_S
    hold_s, why, source = _usual(at, treatment.time_s or card_s, usual_s)
    return (
        ramp(at.value, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),
        soak(at.value, hold_s, words.say(f"{treatment.type} anneal: soak", why, source)),
        *_anneal_cool(bench, treatment, claim, words),
    )


def _anneal_cool(bench: PlanFor, treatment: Anneal, claim: AnnealClaim | None, words: Words) -> Segments:
    source = bench.known_steel.cite(claim) if claim else PRACTICE
    segments: Segments = ()
    if claim is not None and claim.quick_to_c is not None:
        begins = "down to where the slow cooling or the hold begins"
        quick = words.say("heat off to the start of the slow cool", begins, source)
        segments += (cool(claim.quick_to_c, quick, at_most_s=LONGEST_COOL_S),)
    if claim is not None and claim.hold_c is not None and claim.hold_s is not None:
        held = words.say("hold while the structure changes", "isothermal anneal of the card", source)
        return (*segments, soak(claim.hold_c, claim.hold_s, held), _off(words))
    given = treatment.cool_rate_c_per_h or (claim.rate_c_per_h if claim else None)
    if given is None and treatment.type == "subcritical":
        return (*segments, _off(words))
    down_to_c = treatment.down_to_c or (claim.down_to_c if claim else None) or FULL_ANNEAL_DOWN_TO_C
    rate_c_per_h = given or FULL_ANNEAL_C_PER_H
    if claim is None or claim.rate_c_per_h is None:
        source = PRACTICE if treatment.cool_rate_c_per_h is None else f"recipe {bench.recipe.name}"
    slow = words.say(
        "slow cool", f"no faster than {rate_c_per_h:.0f} °C/h down to {down_to_c:.0f} °C", source
    )
    return (*segments, cool(down_to_c, slow, rate_c_per_h), _off(words))


def _off(words: Words) -> Cool:
    """Return the end of an anneal: heat off, door shut, until the part may come out."""
    return cool(
        SLOW_TO_C,
        words.say("heat off, door shut", "nothing more changes", PRACTICE),
        at_most_s=2 * LONGEST_COOL_S,
    )


def first_firing(bench: PlanFor, treatment: FirstFiring) -> Segments:
    """Return the steps of the lining maker, oven empty and a person present."""
    words = Words(
        "first firing", "before the first firing", "vapour and binder fumes leave the lining", PRACTICE
    )
    ask = (
        "Empty the oven, set the door as the lining's maker says, air the room and keep out of the fumes. "
        "Dust of fibre and brick harms the lungs: wipe it up wet in a P3 or P100 respirator, never "
        "sweep or blow. "
        "Somebody must stay awake here for hours, so take turns. Answer done."
    )
    segments: Segments = (person("confirm", ask, 1800.0, words),)
    for n, step in enumerate(treatment.step, 1):
        why = treatment.reason or "by the lining maker's steps"
        source = treatment.source or f"recipe {bench.recipe.name}"
        segments += (
            ramp(step.to_c, words.say(f"first firing {n}: heat", why, source), step.rate_c_per_h),
            soak(step.to_c, step.time_s, words.say(f"first firing {n}: hold", why, source), clock="oven"),
        )
    end = words.say("cool, door shut", "a new lining cracks when it cools fast", PRACTICE)
    return (*segments, cool(SLOW_TO_C, end, at_most_s=2 * LONGEST_COOL_S))


def hold(bench: PlanFor, treatment: Hold) -> Segments:
    """Return an open-ended hold: a person ends it, and the recipe's maximum ends it anyway."""
    source = treatment.source or f"recipe {bench.recipe.name}"
    words = Words("hold", "heat", treatment.reason or "asked for by the recipe", source)
    ends = "Answer done when finished; the heat goes off by itself at the recipe's longest time."
    say = f"Holding. {WEAR} {ends}"
    return (
        ramp(treatment.at_c, words, treatment.rate_c_per_h or HOT_RATE_C_PER_H),
        person(
            "confirm",
            say,
            treatment.at_most_s,
            words.say("hold until answered", words.reason, source),
            treatment.at_c,
        ),
    )
