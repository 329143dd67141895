"""The treatments of a recipe as one chain of segments for one oven, and the part's state after each."""

from dataclasses import dataclass

from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError
from kilnctl.model.part import inside as part_inside
from kilnctl.profile.segments import Cool, Operator, Profile, Soak, goal_c
from kilnctl.tomlfile import made
from kilnctl.treatment.consequence import SteelState, begun, states
from kilnctl.treatment.hand_over import comes_from, hand_over, longest_s, start_before
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.recipe.treatments import (
    Anneal,
    AnyTreatment,
    ColdTreatment,
    FirstFiring,
    Harden,
    Hold,
    Normalise,
    SnapTemper,
    StressRelief,
    Temper,
    Wait,
)
from kilnctl.treatment.segments.card_cautions import with_cautions
from kilnctl.treatment.segments.hardening import harden
from kilnctl.treatment.segments.heating import anneal, first_firing, hold, normalise, stress_relief
from kilnctl.treatment.segments.segment_builders import (
    LONGEST_COOL_S,
    PlanFor,
    Segments,
    Words,
    cool,
    put_back,
)
from kilnctl.treatment.segments.tempering import cold_treatment, snap_temper, temper, wait
from kilnctl.treatment.sequence_rules import check_consequence
from kilnctl.treatment.steel.sourced_values import PRACTICE
from kilnctl.treatment.uncertain_steel import doubt_of, marked
from kilnctl.units import say_point

OVEN_FALLS = "oven falls"
PUT_BACK_S = 4 * 3600.0


@dataclass(frozen=True, slots=True)
class Chain:
    """The segments of one oven, the part after each of them, and what is undone for a reason."""

    segments: Segments = ()
    parts: tuple[SteelState, ...] = ()
    warnings: tuple[str, ...] = ()


def is_done_in(recipe: Recipe, treatment: AnyTreatment, oven: Oven) -> bool:
    """Return whether a treatment of a recipe is done in an oven."""
    return (treatment.oven or recipe.oven or oven.name) == oven.name


def chain(bench: PlanFor) -> Chain:
    """Return one oven's chain; the treatments of another oven count for the part's state.

    Raises ProfileError for what undoes a hardening without a reason.
    """
    recipe, found = bench.recipe, Chain()
    planned = [(t, marked(_cautioned(bench, t), recipe)) for t in recipe.treatment]
    temper_c = max((_peak_c(segments) for t, segments in planned if isinstance(t, Temper)), default=-300.0)
    part = begun(recipe)
    for treatment, own in planned:
        undone = (
            check_consequence(recipe, treatment, _peak_c(own), part, temper_c, bench.steel)
            if bench.steel
            else ""
        )
        mine = is_done_in(recipe, treatment, bench.oven)
        if mine:
            away = _handed_over(bench, treatment, (*found.segments, *own))
            segments = (*_going_back(bench, found.segments, treatment, own), *own, *away)
        else:
            segments = own
        parts = _fold(bench, part, segments)
        part = parts[-1]
        leads = _led(bench, treatment, own, mine)
        warnings = (*found.warnings, *filter(None, (undone, leads)))
        found = (
            Chain((*found.segments, *segments), (*found.parts, *parts), warnings)
            if mine
            else Chain(found.segments, found.parts, warnings)
        )
    return found


def _cautioned(bench: PlanFor, treatment: AnyTreatment) -> Segments:
    return with_cautions(_segments(bench, treatment), bench.steel, bench.recipe.surface)


def _led(bench: PlanFor, treatment: AnyTreatment, own: Segments, mine: bool) -> str:
    """Say what is to be known of the oven before or after this one, nothing where the part stays."""
    if mine:
        return comes_from(bench.recipe, treatment)
    return start_before(bench.recipe, treatment, own) if isinstance(treatment, Temper) else ""


def _fold(bench: PlanFor, part: SteelState, segments: Segments) -> tuple[SteelState, ...]:
    profile = profile_of(bench.recipe, bench.oven, segments)
    return states(profile, bench.steel, part)


def _peak_c(segments: Segments) -> float:
    """Return the highest temperature that the segments heat to."""
    heats = (goal_c(s) for s in segments if not isinstance(s, Cool))
    return max((c for c in heats if c is not None), default=-300.0)


def _going_back(bench: PlanFor, before: Segments, treatment: AnyTreatment, segments: Segments) -> Segments:
    """Return what stands between two treatments: the oven falls to the next heat, the part is put back."""
    if not before or isinstance(treatment, ColdTreatment | Wait):
        return ()
    within = part_inside(profile_of(bench.recipe, bench.oven, before), len(before))
    first_c = next(c for s in segments if (c := goal_c(s)) is not None)
    gate: Segments = ()
    if _as_hot_as_c(before) > first_c + 1.0:
        reason = f"no part goes into an oven hotter than its step: it waits until {say_point(first_c)}"
        words = Words(treatment.do, OVEN_FALLS + ("" if within else ", empty"), reason, PRACTICE)
        gate = (cool(first_c, words, at_most_s=2 * LONGEST_COOL_S),)
    loads_itself = isinstance(treatment, Harden | Temper) and treatment.load == "hot"
    if within or loads_itself:
        return gate
    chain = bench.recipe.treatment
    last = chain[max(next(n for n, t in enumerate(chain) if t is treatment) - 1, 0)]
    return (*gate, put_back(treatment.do, min(longest_s(bench.recipe, last), PUT_BACK_S)))


def _handed_over(bench: PlanFor, treatment: AnyTreatment, made: Segments) -> Segments:
    """Return the steps that lead a part to the next treatment's oven, none where it stays in this one."""
    chain = bench.recipe.treatment
    following = chain[next(n for n, t in enumerate(chain) if t is treatment) + 1 :][:1]
    if not following or is_done_in(bench.recipe, following[0], bench.oven):
        return ()
    return hand_over(bench, treatment, following[0], profile_of(bench.recipe, bench.oven, made))


def _as_hot_as_c(segments: Segments) -> float:
    """Return how hot the oven may still be after its segments."""
    hottest_c = -300.0
    for segment in segments:
        goal = goal_c(segment)
        if isinstance(segment, Cool):
            hottest_c = segment.to_c
        elif isinstance(segment, Soak) or (isinstance(segment, Operator) and goal is not None):
            hottest_c = max(hottest_c, goal if goal is not None else hottest_c)
    return hottest_c


def _segments(bench: PlanFor, treatment: AnyTreatment) -> Segments:
    match treatment:
        case StressRelief():
            return stress_relief(bench, treatment)
        case Normalise():
            return normalise(bench, treatment)
        case Anneal():
            return anneal(bench, treatment)
        case Harden():
            return harden(bench, treatment)
        case Temper():
            return temper(bench, treatment)
        case SnapTemper():
            return snap_temper(bench, treatment)
        case ColdTreatment():
            return cold_treatment(bench, treatment)
        case FirstFiring():
            return first_firing(bench, treatment)
        case Hold():
            return hold(bench, treatment)
        case Wait():
            return wait(treatment)


def profile_of(recipe: Recipe, oven: Oven, segments: Segments) -> Profile:
    """Return the profile of a recipe's segments. Raises ProfileError."""
    keys: dict[str, object] = {
        "name": recipe.name,
        "oven": oven.name,
        "recipe": recipe.name,
        "revision": recipe.revision,
        "steel": recipe.steel,
        "parts": tuple(part.name for part in recipe.parts),
        "surface": _surface(recipe, oven),
        "shape": recipe.shape,
        "faces": recipe.faces,
        "fan": recipe.fan,
        "goal_hrc": recipe.goal_hrc,
        "cladding": recipe.cladding or "",
        "doubt": doubt_of(recipe),
        "segment": segments,
    }
    if recipe.section_mm is not None:
        keys["section"] = f"{recipe.section_mm:.3f} mm"
    return made(keys, Profile, ProfileError, recipe.name)


def _surface(recipe: Recipe, oven: Oven) -> str:
    """Return the part's surface in an oven: the check after a quench leaves it bright for the temper."""
    doings = [type(t) for t in recipe.treatment if is_done_in(recipe, t, oven)]
    hardened = any(isinstance(t, Harden) and not is_done_in(recipe, t, oven) for t in recipe.treatment)
    only_tempers = all(doing in (Temper, SnapTemper, ColdTreatment) for doing in doings)
    return "bright" if hardened and only_tempers else recipe.surface
