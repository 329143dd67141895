"""A recipe that goes on in another oven: the step that leads there, and what is to be started beforehand."""

from kilnctl.model.part import inside as part_inside
from kilnctl.profile.segments import Cool, Profile, Purpose, Ramp, Soak
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.recipe.treatments import AnyTreatment, ColdTreatment, Harden, SnapTemper, Temper
from kilnctl.treatment.segments.segment_builders import LONGEST_COOL_S, PlanFor, Segments, Words, cool, person
from kilnctl.treatment.sequence_rules import SOON_S
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.units import say_duration

_TO_THE_MINUTE_S, _AMBIENT_C, _HAND_C_PER_H = 300.0, 20.0, 400.0


def oven_of(recipe: Recipe, treatment: AnyTreatment) -> str:
    """Return the name of the oven that a treatment is done in, empty where the recipe does not say."""
    return treatment.oven or recipe.oven or ""


def command_for(recipe: Recipe, oven: str, *more: str) -> str:
    """Return the command that goes on with a recipe in an oven."""
    return f"`{' '.join(('kilnctl run', recipe.name, '--oven', oven, *more))}`"


def longest_s(recipe: Recipe, treatment: AnyTreatment) -> float:
    """Return how long a part may be on its way from this treatment: an hour while hard and untempered.

    The cold makes fresh martensite: after it a part is untempered again.
    """
    done = recipe.treatment[: next(n for n, t in enumerate(recipe.treatment) if t is treatment) + 1]
    hard = False
    for one in done:
        hard = (hard or isinstance(one, Harden | ColdTreatment)) and not isinstance(one, Temper | SnapTemper)
    return SOON_S if hard else LONGEST_COOL_S


def hand_over(bench: PlanFor, treatment: AnyTreatment, following: AnyTreatment, made: Profile) -> Segments:
    """Return the steps by which a part leaves for the oven of the next treatment, cooled where it is hot."""
    recipe, name = bench.recipe, oven_of(bench.recipe, following)
    within = part_inside(made, len(made.segments))
    at_most_s = longest_s(recipe, treatment)
    purpose: Purpose = "harden" if isinstance(treatment, Harden) else "hold"
    words = Words(purpose, f"hand over to {name}", "the next treatment is in another oven", PRACTICE)
    takes = "Take the hand-warm part out" if within else "The part goes on"
    hurry = ""
    if at_most_s == SOON_S:
        soon = say_duration(SOON_S).removesuffix(" 00 min")
        hurry = f" Within {soon}: untempered, it may crack on its own."
    say = f"{takes} to {name} for the {following.do}: {command_for(recipe, name)}.{hurry} Answer done."
    cooling: Segments = ()
    if within and _hot(made, bench.hand_warm_c):
        cold = Words("hold", "cool to hand-warm", "heat off; hand-warm before it is handled", PRACTICE)
        cooling = (cool(bench.hand_warm_c, cold, measure="part", at_most_s=LONGEST_COOL_S),)
    return (*cooling, person("unload" if within else "confirm", say, at_most_s, words))


def _hot(made: Profile, hand_warm_c: float) -> bool:
    last = made.segments[-1]
    return not isinstance(last, Cool) or last.to_c > hand_warm_c + 1.0


def waits_hot_after_s(segments: Segments, at_least_s: float = 0.0) -> float:
    """Return how long a job takes until it waits hot for the part: ramps and soaks, to five minutes up."""
    lead_s = 0.0
    for segment in segments:
        if isinstance(segment, Ramp):
            lead_s += (segment.to_c - _AMBIENT_C) / (segment.rate_c_per_h or _HAND_C_PER_H) * 3600.0
        elif isinstance(segment, Soak):
            lead_s += segment.soak_s
        else:
            break
    return -(-max(lead_s, at_least_s) // _TO_THE_MINUTE_S) * _TO_THE_MINUTE_S


def start_before(recipe: Recipe, treatment: Temper, segments: Segments) -> str:
    """Say when the other oven is started that shall wait hot for the part, empty where none shall."""
    if treatment.load != "hot":
        return ""
    name = oven_of(recipe, treatment)
    about = say_duration(waits_hot_after_s(segments))
    wait = say_duration(treatment.wait_s).removesuffix(" 00 min")
    return (
        f"start {name} about {about} before the part is ready: {command_for(recipe, name)}; it waits "
        f"hot for the part, for {wait} at most. With --unattended nobody has to stay with it"
    )


def comes_from(recipe: Recipe, treatment: AnyTreatment) -> str:
    """Say where a part comes from that was treated in another oven before, and how long it may take."""
    place = next(n for n, t in enumerate(recipe.treatment) if t is treatment)
    if place == 0 or oven_of(recipe, recipe.treatment[place - 1]) == oven_of(recipe, treatment):
        return ""
    before = recipe.treatment[place - 1]
    long = say_duration(longest_s(recipe, before)).removesuffix(" 00 min")
    said = f"the part comes from {oven_of(recipe, before)} ({before.do}), {long} on its way at most"
    return said if isinstance(treatment, Temper | SnapTemper | ColdTreatment) else f"{said}, hand-warm"
