"""Between the furnace and the temper: the steps of the hands, in the words of the trade.

A blade still gives by hand above about 200 degC, stiffens as it turns to martensite, and breaks when it is
bent later (knifemaker forums on straightening; common practice). So a thin blade leaves the oil in time for
its own clamp, and after a full quench nobody straightens anything before the temper.
"""

import math
from dataclasses import dataclass

from kilnctl.model import part as slab
from kilnctl.profile.segments import Operator
from kilnctl.treatment.recipe.treatments import ColdTreatment, Harden, SnapTemper, Temper
from kilnctl.treatment.segment_forecast import air_cool_s
from kilnctl.treatment.segments.quench_medium import AIR, DRY, PLATES, WATER, claims_of, medium_of
from kilnctl.treatment.segments.segment_builders import WEAR, Pick, PlanFor, Segments, Words, person, soak
from kilnctl.treatment.steel.formulas import after_quench
from kilnctl.treatment.steel.quenching import UNKNOWN_EDGE_MM, transfer_s
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.treatment.steel.steels import Quench

RECOVER_S = 120.0
RECOVERS = "oven recovers"
CLAMP_S = 1800.0
FAST_OIL_S = 7.0
CLAMPED_UP_TO_MM = 6.0
FROM_BATH_C, STEP_C = 200.0, 10.0
FULL_QUENCH = "until it is at 65-95 °C"
CAUTIONS = {
    WATER: "The bath spits steam and hot drops.",
    PLATES: "The plates get hot too.",
    AIR: "Nothing that burns near it.",
}
OIL_CAUTION = "Lid and extinguisher at hand; no water in the oil, never water on burning oil."


@dataclass(frozen=True, slots=True)
class QuenchByHand:
    """One hardening as the hands see it: medium, seconds in the bath (None: to the end), clamp or not.

    `edge_mm` is how deep the edge goes in, None where the whole part does.
    """

    medium: str
    bath_s: float | None
    clamps: bool
    at_c: float
    foil: bool = False
    edge_mm: float | None = None
    ms_c: float | None = None

    @property
    def from_bath_c(self) -> float:
        """Return at what heat a blade leaves the bath for its clamp, degC: below Ms it stiffens."""
        return max(FROM_BATH_C, math.ceil((self.ms_c or 0.0) / STEP_C) * STEP_C)

    @property
    def oil(self) -> bool:
        """True for a bath of oil."""
        return self.medium.endswith("oil")


def hands_of(bench: PlanFor, treatment: Harden, at_c: float) -> QuenchByHand:
    """Return what the hands have to do. Raises ProfileError for a medium that nobody chose."""
    medium = medium_of(bench, treatment)
    thin = (bench.recipe.section_mm or 1e9) <= CLAMPED_UP_TO_MM
    oil = medium.endswith("oil")
    bath_s = treatment.in_oil_s if oil else None
    if bath_s is None and thin and medium == "fast oil":
        bath_s = FAST_OIL_S
    foil = bench.recipe.surface == "foil"
    asked = treatment.in_oil_s is not None or treatment.clamp_s is not None
    edge_mm = treatment.edge_mm if medium not in DRY else None
    clamps = (oil and (thin or asked) and edge_mm is None) or (medium == AIR and thin)
    expected = after_quench(bench.known_steel, at_c)
    ms_c = None if expected is None else expected.ms_c
    return QuenchByHand(medium, bath_s if clamps else None, clamps, at_c, foil, edge_mm, ms_c)


def quench_steps(bench: PlanFor, treatment: Harden, at: Pick) -> Segments:
    """Return quench and clamp of every blade, and the check of all."""
    hands = hands_of(bench, treatment, at.value)
    segments: Segments = ()
    blades = bench.blades(treatment)
    for n, which in enumerate(blades, 1):
        segments += _recovery(at, which) if n > 1 else ()
        segments += (_quench(bench, treatment, hands, which),)
        segments += (_clamp(bench, treatment, hands, which, n == len(blades)),) if hands.clamps else ()
    return (*segments, _check(bench, treatment))


def _words(label: str, reason: str, source: str = PRACTICE) -> Words:
    return Words("harden", label, reason, source)


def _recovery(at: Pick, which: str) -> Segments:
    words = _words(f"{RECOVERS} for part{which}", "the door was open; let it return to temperature first")
    return (soak(at.value, RECOVER_S, words, clock="oven"),)


def _quench(bench: PlanFor, treatment: Harden, hands: QuenchByHand, which: str) -> Operator:
    claims = claims_of(bench, hands.medium)
    source = bench.known_steel.cite(claims[0]) if claims else PRACTICE
    return person(
        "quench",
        _quench_words(hands, which, claims),
        treatment.wait_s,
        _words(f"quench{which}", hands.medium, source),
        hands.at_c,
        hands.medium,
        hands_s(bench, treatment, hands),
    )


def _quench_words(hands: QuenchByHand, which: str, claims: tuple[Quench, ...]) -> str:
    card = "" if hands.clamps else _by_the_card(claims)
    caution = OIL_CAUTION if hands.oil else CAUTIONS[hands.medium]
    return f"Quench{which}: {_way(hands)}.{card} {WEAR} {caution} Answer done."


def _by_the_card(claims: tuple[Quench, ...]) -> str:
    notes = "; ".join(dict.fromkeys(q.note for q in claims if q.note))
    return f" By the card: {notes}." if notes else ""


def _way(hands: QuenchByHand) -> str:
    """Return what happens to the part from the furnace on, in the words of the bench."""
    if hands.medium == PLATES:
        return f"out and between the plates{', still in its foil' * hands.foil}, pressed {FULL_QUENCH}"
    if hands.medium == AIR:
        return "out into still air, hung or laid on edge, nothing touching it"
    opened = "a step away from the bath cut the foil open and off, none of it goes over or into it; then " * (
        hands.foil
    )
    if hands.edge_mm is not None:
        return (
            f"{opened}the edge {hands.edge_mm:g} mm deep and level into {hands.medium}, rocked a little so "
            "that no hard line forms, until the spine has lost its glow in the dark and 10 s more; then all "
            f"of it under, {FULL_QUENCH}"
        )
    bath = f"{opened}straight into {hands.medium}, fully under, moving up and down"
    if not hands.clamps:
        return f"{bath}, {FULL_QUENCH}"
    about = f" after about {hands.bath_s:.0f} s" if hands.bath_s else ""
    return f"{bath}; out{about} at about {hands.from_bath_c:.0f} °C, while it smokes but does not flame"


def _clamp(bench: PlanFor, treatment: Harden, hands: QuenchByHand, which: str, last: bool) -> Operator:
    turns = "Ms is near or below that" if hands.ms_c is None else f"Ms is near {hands.ms_c:.0f} °C"
    say = (
        f"Into the clamp at once, while it is above about {hands.from_bath_c:.0f} °C and still gives by "
        f"hand ({turns}). Straighten gently; stop when it stiffens: after that it breaks. "
        f"Leave it clamped until it is hand-warm. "
        f"{'' if last else 'The furnace stays hot. '}{WEAR} Answer done."
    )
    words = _words(f"clamp{which}", "above and around Ms it still bends; martensite breaks")
    longest_s = CLAMP_S if last else treatment.wait_s
    return person("clamp", say, longest_s, words, None if last else hands.at_c)


def _check(bench: PlanFor, treatment: Harden) -> Operator:
    foil = "cut the foil open, " if bench.recipe.surface == "foil" else ""
    say = (
        f"When it is hand-warm: {foil}clean to bare metal, file test, look for warp and cracks. "
        "Never straighten it now: hard and untempered, it breaks. "
        "Clamp it straight in the temper instead. "
        f"Then {_after(bench, treatment)}. Answer done."
    )
    return person("check", say, 3600.0, _words("check", "scale and soft skin fool the file"))


def _after(bench: PlanFor, treatment: Harden) -> str:
    """Return what comes after the check: the temper, or what stands before it, and in which oven."""
    following = bench.recipe.treatment[bench.recipe.treatment.index(treatment) + 1 :]
    match following[0] if following else None:
        case ColdTreatment():
            return "straight on to the cold treatment, and the temper after it"
        case SnapTemper():
            return f"the snap temper at once{bench.elsewhere(following[0])}"
        case Temper():
            return f"temper at once{bench.elsewhere(following[0])}"
        case _:
            return "temper at once"


def hands_s(bench: PlanFor, treatment: Harden, hands: QuenchByHand) -> dict[str, float | None]:
    """Return the seconds that the hands are allowed after the oven, None where nobody can say.

    `transfer` and `warm` are estimates of the part's slab, the thinnest place taken as 1 mm where nobody
    says it; `bath` and `clamp` are the recipe's, or practice.
    """
    dry, edge_mm = hands.medium in DRY, edge_of(bench.recipe.thinnest_mm, bench.recipe.section_mm)
    return {
        "transfer": None if dry else transfer_s(edge_mm, hands.at_c, bench.known_steel),
        "bath": hands.bath_s,
        "clamp": treatment.clamp_s,
        "warm": _warm_s(bench) if dry or hands.bath_s is not None else None,
    }


def edge_of(thinnest_mm: float | None, section_mm: float | None) -> float:
    """Return the thickness that the way to the bath is judged by: the thinnest place, unknown 1 mm."""
    return thinnest_mm or min(UNKNOWN_EDGE_MM, section_mm or UNKNOWN_EDGE_MM)


def _warm_s(bench: PlanFor) -> float | None:
    """Return the seconds in still air from about Ms to hand-warm: no more than that, a clamp is faster."""
    recipe = bench.recipe
    if recipe.section_mm is None:
        return None
    model = slab.slab(slab.as_slab_mm(recipe.section_mm, recipe.shape), recipe.surface)
    return air_cool_s(model, slab.start(model, FROM_BATH_C), bench.oven.ambient_c, bench.hand_warm_c)
