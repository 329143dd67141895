"""From a recipe to a checked profile with a reason and a source beside each number."""

import math
from dataclasses import dataclass, replace

from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.model.oven import OvenModel, holding_duty, nameplate
from kilnctl.model.part import inside as part_inside
from kilnctl.model.part import part_of
from kilnctl.profile.segments import Cool, Profile, Ramp, goal_c
from kilnctl.tomlfile import made
from kilnctl.treatment.advice import (
    alone_warnings,
    hardness_notes,
    hot_notes,
    load_notes,
    normalise_notes,
    oil_notes,
    quench_notes,
    temper_soon_notes,
)
from kilnctl.treatment.cautions import caution_warnings, with_cautions
from kilnctl.treatment.checks import Warn, check_envelope, check_steel, where
from kilnctl.treatment.finishing import Readiness, readiness
from kilnctl.treatment.forecast import Span, forecast
from kilnctl.treatment.hardening import harden
from kilnctl.treatment.heating import anneal, first_firing, hold, normalise, stress_relief
from kilnctl.treatment.making import HAND_WARM_C, Bench, Segments, Words, cool, put_back, ramp, soak
from kilnctl.treatment.naming import Exposure
from kilnctl.treatment.order import check_goal, check_order
from kilnctl.treatment.quench_steps import quench_warnings
from kilnctl.treatment.recipes import (
    Anneal,
    AnyTreatment,
    ColdTreatment,
    FirstFiring,
    Harden,
    Hold,
    Normalise,
    Recipe,
    SnapTemper,
    StressRelief,
    Temper,
)
from kilnctl.treatment.rows import Row, row_of
from kilnctl.treatment.steels import Steel
from kilnctl.treatment.tempering import cold_treatment, snap_temper, temper
from kilnctl.units import say_point

JOULES_PER_KWH = 3.6e6


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


def plan(recipe: Recipe, steel: Steel | None, oven: Oven, model: OvenModel | None = None) -> Plan:
    """Turn a recipe into a checked plan for one oven; without a learned model the nameplate's stands in.

    Treatments that belong to another oven are left out and named in `elsewhere`. Raises ProfileError for
    what the steel or the order of the trade forbids, RunRefused for what this oven may not or cannot do.
    """
    order_warnings = check_order(recipe, steel)
    check_goal(recipe, steel)
    here = [t for t in recipe.treatment if (t.oven or recipe.oven or oven.name) == oven.name]
    if not here:
        raise RunRefused(f'recipe {recipe.name} is for {_ovens(recipe)}, not for the oven "{oven.name}"')
    bench = Bench(recipe, steel, oven)
    made = plan_profile(_profile(recipe, oven, _chain(bench, here)), steel, oven, model, recipe)
    alone = alone_warnings(recipe, steel, model or nameplate(oven), oven) if steel else ()
    quench = tuple(w for t in here if isinstance(t, Harden) for w in quench_warnings(bench, t))
    cautions = caution_warnings(made.profile.segments, steel)
    return replace(
        made,
        warnings=order_warnings + alone + quench + made.warnings + cautions,
        elsewhere=tuple(f"{t.do} in {t.oven or recipe.oven}" for t in recipe.treatment if t not in here),
    )


def _ovens(recipe: Recipe) -> str:
    names = dict.fromkeys(f'"{t.oven or recipe.oven}"' for t in recipe.treatment)
    return " and ".join(names)


def _chain(bench: Bench, treatments: list[AnyTreatment]) -> Segments:
    """Return the segments of one oven's treatments; where the part is outside in between, it is put back."""
    chain: Segments = ()
    for treatment in treatments:
        hot = isinstance(treatment, ColdTreatment) or getattr(treatment, "load", "") == "hot"
        if chain and not hot and not part_inside(_profile(bench.recipe, bench.oven, chain), len(chain)):
            chain += (put_back(treatment.do),)
        chain += with_cautions(_segments(bench, treatment), bench.steel)
    return chain


def _segments(bench: Bench, treatment: AnyTreatment) -> Segments:
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


def _profile(recipe: Recipe, oven: Oven, segments: Segments) -> Profile:
    keys: dict[str, object] = {
        "name": recipe.name,
        "oven": oven.name,
        "recipe": recipe.name,
        "revision": recipe.revision,
        "steel": recipe.steel,
        "surface": recipe.surface,
        "faces": recipe.faces,
        "fan": recipe.fan,
        "goal_hrc": recipe.goal_hrc,
        "segment": segments,
    }
    if recipe.section_mm is not None:
        keys["section"] = f"{recipe.section_mm:.3f} mm"
    return made(keys, Profile, ProfileError, recipe.name)


def plan_profile(
    profile: Profile,
    steel: Steel | None,
    oven: Oven,
    model: OvenModel | None = None,
    recipe: Recipe | None = None,
) -> Plan:
    """Check a profile against oven and steel and forecast it.

    Raises RunRefused (another oven, above the limit, out of reach) or ProfileError (the steel forbids it).
    """
    check_envelope(profile, oven)
    warnings = check_steel(profile, steel) if steel is not None else ()
    chosen = model or nameplate(oven)
    check_reach(profile, chosen, oven)
    spans = forecast(profile, chosen, part_of(profile), oven.ambient_c)
    warnings += _behind(profile, spans)
    return Plan(
        profile=profile,
        oven=oven.name,
        steel=steel,
        rows=tuple(
            row_of(n, segment, span, [w.text for w in warnings if w.segment == n])
            for n, (segment, span) in enumerate(zip(profile.segments, spans, strict=True))
        ),
        warnings=_say(warnings),
        total_s=spans[-1].end_s,
        energy_kwh=sum(span.energy for span in spans) * oven.power_w / JOULES_PER_KWH,
        learned=chosen.learned,
        readiness=readiness(profile, spans),
        exposure=spans[-1].exposure,
        notes=_notes(profile, steel, oven, chosen, recipe, spans),
    )


def _say(warnings: tuple[Warn, ...]) -> tuple[str, ...]:
    """Return each warning once, with the steps it belongs to."""
    steps: dict[str, list[str]] = {}
    for warn in warnings:
        steps.setdefault(warn.text, []).extend([] if warn.segment is None else [str(warn.segment + 1)])
    return tuple(f"step {', '.join(of)}: {text}" if of else text for text, of in steps.items())


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
        notes += hardness_notes(profile, steel) + quench_notes(profile, steel, recipe)
        notes += normalise_notes(profile, steel, model, oven)
    if recipe is not None and any(s.purpose == "harden" for s in profile.segments):
        notes += oil_notes(recipe, profile.peak_c) + temper_soon_notes(recipe)
    return notes + hot_notes(profile, spans, recipe) + load_notes(profile, spans)


def check_reach(profile: Profile, model: OvenModel, oven: Oven) -> None:
    """Refuse what full power cannot hold. Raises RunRefused, naming the segment."""
    for n, segment in enumerate(profile.segments):
        goal = goal_c(segment)
        if goal is None or goal <= oven.ambient_c:
            continue
        if holding_duty(model, goal, oven.ambient_c) > 1.0:
            raise RunRefused(
                f"{where(profile, n)}: {say_point(goal)} is out of reach of {oven.name}: "
                f"full power ({oven.power_w:.0f} W) does not hold it"
            )


def _behind(profile: Profile, spans: tuple[Span, ...]) -> tuple[Warn, ...]:
    """Return where a rate cannot be followed. Raises RunRefused for a segment that never ends."""
    found = []
    for n, (segment, span) in enumerate(zip(profile.segments, spans, strict=False)):
        if not math.isfinite(span.duration_s):
            raise RunRefused(f"{where(profile, n)}: would not end within 60 hours in this oven")
        if isinstance(segment, Ramp) and span.behind_c is not None:
            says = f"holds only to about {span.behind_c:.0f} °C, then full power: the set-point waits"
            found.append(Warn(f"{segment.rate_c_per_h:.0f} °C/h {says}", n))
        if isinstance(segment, Cool) and span.behind_c is not None:
            says = f"below about {span.behind_c:.0f} °C the shut oven cools slower than"
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
