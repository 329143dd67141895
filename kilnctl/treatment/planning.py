"""From a recipe to a checked profile with a reason and a source beside each number."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.oven_model import OvenModel, holding_duty
from kilnctl.model.part import part_of
from kilnctl.profile.segments import Cool, Profile, Ramp, Soak, goal_c
from kilnctl.tomlfile import made
from kilnctl.treatment.advice import (
    alone_warnings,
    bath_notes,
    hardness_notes,
    hot_notes,
    normalise_notes,
    notes_of_load,
    oil_notes,
    quench_notes,
    stack_notes,
    temper_soon_notes,
)
from kilnctl.treatment.chain import OVEN_FALLS, chain, is_done_in, profile_of
from kilnctl.treatment.consequence import SteelState, begun, off_goal, states
from kilnctl.treatment.edge.edge_heat import guarded, unsurveyed_notes
from kilnctl.treatment.plan_checks import Warn, check_envelope, check_steel, check_unknown_steel, place_of
from kilnctl.treatment.plan_rows import Row, row_of
from kilnctl.treatment.readiness import Readiness, readiness
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.recipe.treatments import Harden
from kilnctl.treatment.relay_ripple import ripple_warnings
from kilnctl.treatment.replanned_ramps import rate_slip, replanned
from kilnctl.treatment.segment_forecast import Span, forecast
from kilnctl.treatment.segments.card_cautions import caution_warnings
from kilnctl.treatment.segments.live_elements import told_of_live_elements
from kilnctl.treatment.segments.quench_medium import quench_warnings
from kilnctl.treatment.segments.segment_builders import HAND_WARM_C, PlanFor, Words, cool, ramp, soak
from kilnctl.treatment.sequence_rules import SOON_S, check_goal, check_order
from kilnctl.treatment.steel.cooling_names import Exposure
from kilnctl.treatment.steel.own_results import OwnFit
from kilnctl.treatment.steel.own_words import outside_lines
from kilnctl.treatment.steel.steels import Steel
from kilnctl.treatment.uncertain_steel import doubt_warnings
from kilnctl.units import say_duration, say_point

JOULES_PER_KWH = 3.6e6
LONGEST_S = 48 * 3600.0  # of one soak, as a profile may say
# A soak that is foreseen to take nearly as long as it may gets half as long again as foreseen.
NEARLY, SPARE = 0.75, 1.5


@dataclass(frozen=True, slots=True)
class Plan:
    """A checked profile and what is foreseen of it. `learned` says whether the oven's model was measured.

    `warnings` should be read before the heat, `notes` are good to know; `elsewhere` names the treatments of
    the recipe that another oven does.
    """

    profile: Profile
    oven: str
    steel: Steel | None
    rows: tuple[Row, ...]
    warnings: tuple[str, ...]
    total_s: float
    energy_kwh: float
    learned: bool
    readiness: Readiness
    exposure: Exposure
    notes: tuple[str, ...] = ()
    elsewhere: tuple[str, ...] = ()


def plan(
    recipe: Recipe,
    steel: Steel | None,
    oven: Oven,
    model: OvenModel | None = None,
    own: OwnFit | None = None,
) -> Plan:
    """Turn a recipe into a checked plan for one oven; without a learned model the nameplate's stands in.

    `own` is the shop's own results of the grade: a temper for a goal goes by them. Treatments that belong to
    another oven are left out and named in `elsewhere`. Raises ProfileError for what the steel or the order of
    the trade forbids, RunRefused for what this oven may not or cannot do.
    """
    order_warnings = check_order(recipe, steel)
    check_goal(recipe, steel)
    mine = [t for t in recipe.treatment if is_done_in(recipe, t, oven)]
    if not mine:
        copied = f"; `kilnctl recipe copy {recipe.name} --oven {oven.name}` makes one for it"
        raise RunRefused(
            f'recipe {recipe.name} is for {_ovens(recipe)}, not for the oven "{oven.name}"{copied}'
        )
    bench = PlanFor(recipe, steel, oven, own)
    found = chain(bench)
    made = plan_profile(profile_of(recipe, oven, found.segments), steel, oven, model, recipe, found.parts)
    alone = alone_warnings(recipe, steel, model or first_guess(oven), oven) if steel else ()
    quench = tuple(w for t in mine if isinstance(t, Harden) for w in quench_warnings(bench, t))
    cautions = caution_warnings(made.profile.segments, steel, recipe.surface)
    doubts = doubt_warnings(recipe, made.profile)
    return replace(
        made,
        notes=made.notes + (outside_lines(own) if own is not None else ()),
        warnings=doubts + order_warnings + found.warnings + alone + quench + made.warnings + cautions,
        elsewhere=tuple(f"{t.do} in {t.oven or recipe.oven}" for t in recipe.treatment if t not in mine),
    )


def _ovens(recipe: Recipe) -> str:
    names = dict.fromkeys(f'"{t.oven or recipe.oven}"' for t in recipe.treatment)
    return " and ".join(names)


def plan_profile(
    profile: Profile,
    steel: Steel | None,
    oven: Oven,
    model: OvenModel | None = None,
    recipe: Recipe | None = None,
    parts: tuple[SteelState, ...] | None = None,
) -> Plan:
    """Check a profile against oven and steel and forecast it; `parts` is the part after each segment.

    Raises RunRefused (another oven, above the limit, out of reach) or ProfileError (the steel forbids it).
    """
    check_envelope(profile, oven)
    warnings = check_steel(profile, steel) if steel is not None else check_unknown_steel(profile)
    chosen = model or first_guess(oven)
    check_reach(profile, chosen, oven)
    parts = states(profile, steel, begun(profile)) if parts is None else parts
    spared = guarded(profile, oven, chosen, steel)
    profile, parts = spared.profile, tuple(parts[place] for place in spared.places)
    parts = off_goal(parts, spared.off_k)
    warnings = tuple(_moved(w, spared.places) for w in warnings) + spared.warnings
    spans = forecast(_patient(profile), chosen, part_of(profile), oven.ambient_c)
    if (chosen.learned or oven.measured is not None) and any(math.isfinite(s.duration_s) for s in spans[-1:]):
        profile, places, said = replanned(profile, spans)
        parts = tuple(parts[place] for place in places)
        warnings = tuple(_moved(w, places) for w in warnings) + tuple(Warn(text) for text in said)
        spans = forecast(_patient(profile), chosen, part_of(profile), oven.ambient_c) if said else spans
    profile = told_of_live_elements(_in_time(profile, spans), oven)
    warnings += _behind(profile, spans) + _waits(profile, spans) + ripple_warnings(profile, oven, chosen)
    return Plan(
        profile=profile,
        oven=oven.name,
        steel=steel,
        rows=tuple(
            row_of(n, segment, span, [w.text for w in warnings if w.segment == n], part, steel)
            for n, (segment, span, part) in enumerate(zip(profile.segments, spans, parts, strict=True))
        ),
        warnings=_say(warnings),
        total_s=spans[-1].end_s,
        energy_kwh=sum(span.energy for span in spans) * oven.power_w / JOULES_PER_KWH,
        learned=chosen.learned,
        readiness=readiness(profile, spans),
        exposure=spans[-1].exposure,
        notes=hardness_notes(parts[-1], steel) + _notes(profile, steel, oven, chosen, recipe, spans),
    )


def _moved(warn: Warn, places: tuple[int, ...]) -> Warn:
    """Return a warning at the place that its segment has now."""
    return warn if warn.segment is None else replace(warn, segment=places.index(warn.segment))


def _patient(profile: Profile) -> Profile:
    """Return a profile whose soaks have two days, so that a thick part's lateness shows in the forecast."""
    return _with_longest(profile, lambda _, soak: LONGEST_S if soak.at_most_s is None else soak.at_most_s)


def _in_time(profile: Profile, spans: tuple[Span, ...]) -> Profile:
    """Return a profile in which no soak ends as not reached only because its part is as late as foreseen."""

    def longest_s(n: int, soak: Soak) -> float | None:
        takes_s = spans[n].duration_s if n < len(spans) else 0.0
        if soak.at_most_s is not None or not NEARLY * soak.longest_s < takes_s < LONGEST_S:
            return soak.at_most_s
        return min(LONGEST_S, math.ceil(SPARE * takes_s / 600.0) * 600.0)

    return _with_longest(profile, longest_s)


def _with_longest(profile: Profile, longest_s: Callable[[int, Soak], float | None]) -> Profile:
    segments = tuple(
        s.model_copy(update={"at_most_s": longest_s(n, s)}) if isinstance(s, Soak) else s
        for n, s in enumerate(profile.segments)
    )
    return profile.model_copy(update={"segments": segments})


def _waits(profile: Profile, spans: tuple[Span, ...]) -> tuple[Warn, ...]:
    """Return how long a part lies outside, quenched and untempered, until the oven has fallen."""
    found = []
    for n, (segment, span) in enumerate(zip(profile.segments, spans, strict=False)):
        falls = segment.label.startswith(OVEN_FALLS) and segment.purpose in ("temper", "snap temper")
        if falls and span.duration_s > SOON_S:
            long = say_duration(span.duration_s)
            says = (
                f"the oven needs {long} to fall, and the part waits untempered: temper in another oven, or "
                "give it a snap temper there meanwhile"
            )
            found.append(Warn(says, n))
    return tuple(found)


def _say(warnings: tuple[Warn, ...]) -> tuple[str, ...]:
    """Return each warning once, with the steps it belongs to."""
    steps: dict[str, list[str]] = {}
    for warn in warnings:
        steps.setdefault(warn.text, []).extend([] if warn.segment is None else [str(warn.segment + 1)])
    return tuple(f"{_steps(of)}: {text}" if of else text for text, of in steps.items())


def _steps(numbers: list[str]) -> str:
    """Return "step 2", or "steps 2, 5 and 8"."""
    *first, last = numbers
    return f"steps {', '.join(first)} and {last}" if first else f"step {last}"


def _notes(
    profile: Profile,
    steel: Steel | None,
    oven: Oven,
    model: OvenModel,
    recipe: Recipe | None,
    spans: tuple[Span, ...],
) -> tuple[str, ...]:
    notes: tuple[str, ...] = ()
    if steel is not None:
        notes += quench_notes(profile, steel, recipe)
        notes += normalise_notes(profile, steel, model, oven)
    if recipe is not None:
        notes += stack_notes(recipe)
    if recipe is not None and any(s.purpose == "harden" for s in profile.segments):
        bench = PlanFor(recipe, steel, oven)
        notes += oil_notes(bench, profile.peak_c) + bath_notes(bench) + temper_soon_notes(recipe, steel)
    notes += unsurveyed_notes(profile, oven, model)
    return notes + hot_notes(profile, spans, recipe) + notes_of_load(profile, spans)


def check_reach(profile: Profile, model: OvenModel, oven: Oven) -> None:
    """Refuse what full power cannot hold. Raises RunRefused, naming the segment."""
    for n, segment in enumerate(profile.segments):
        goal = goal_c(segment)
        if goal is None or goal <= oven.ambient_c:
            continue
        if holding_duty(model, goal, oven.ambient_c) > 1.0:
            raise RunRefused(
                f"{place_of(profile, n)}: {say_point(goal)} is out of reach of {oven.name}: "
                f"even full power ({oven.power_w:.0f} W) does not hold it"
            )


def _behind(profile: Profile, spans: tuple[Span, ...]) -> tuple[Warn, ...]:
    """Return where a rate cannot be followed. Raises RunRefused for a segment that never ends."""
    found = []
    for n, (segment, span) in enumerate(zip(profile.segments, spans, strict=False)):
        if not math.isfinite(span.duration_s):
            slow = ': write a higher gate in the temper, like gate = "80 C", or use another oven'
            hint = slow if isinstance(segment, Cool) else ""
            raise RunRefused(f"{place_of(profile, n)}: would not end within 60 hours in this oven{hint}")
        if isinstance(segment, Ramp) and span.behind_c is not None:
            says = f"is kept only to about {span.behind_c:.0f} °C; then full power, and the set-point waits"
            rate_c_per_h = segment.rate_c_per_h or 0.0
            found.append(Warn(f"{rate_c_per_h:.0f} °C/h {says}{rate_slip(segment, span)}", n))
        if isinstance(segment, Cool) and span.behind_c is not None:
            says = f"below about {span.behind_c:.0f} °C the shut oven cools more slowly than"
            found.append(Warn(f"{says} {segment.rate_c_per_h:.0f} °C/h", n))
    return tuple(found)


def soak_job(at_c: float, soak_s: float, oven: Oven) -> Profile:
    """Return the profile of a job without a file: heat, hold by the oven's own sensor, cool to hand-warm.

    Raises RunRefused above the oven's limit, ProfileError for a hold that no profile may have.
    """
    words = Words("hold", "heat", "as asked on the command line", "command line")
    keys = {
        "name": f"soak {at_c:.0f} C",
        "oven": oven.name,
        "segment": (
            ramp(at_c, words),
            soak(at_c, soak_s, words.say("soak", words.reason, words.source), clock="oven"),
            cool(max(HAND_WARM_C, oven.ambient_c + 10.0), words.say("cool with the heat off")),
        ),
    }
    profile = made(keys, Profile, ProfileError, "soak")
    check_envelope(profile, oven)
    return profile
