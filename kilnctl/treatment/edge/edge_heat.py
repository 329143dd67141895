"""A part in sight of the elements is not at the temperature of the sensor: how a plan spares its edge.

The sensor stays on its goal while a thin edge passes it, and a temper is gone without a sign. The plan goes
by what may be at most: the last stretch is gentle, and the sensor is held lower, for a temper that came out
too cold can be done again. It says so, with what it costs and what shields the part.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import inside
from kilnctl.model.part_view import view_of
from kilnctl.model.surveyed import hotter, outdated
from kilnctl.profile.segments import MOST_LOWERED_K, TEMPERS, AnySegment, Operator, Profile, Ramp, Soak
from kilnctl.treatment.consequence import LEFT_K
from kilnctl.treatment.edge.edge_forecast import (
    STRETCH_K,
    TOLERANCE_K,
    WORTH_K,
    EdgeOutlook,
    Rates,
    by_survey,
    over_k,
    quickest_gentle,
)
from kilnctl.treatment.edge.edge_words import (
    ceiling_words,
    cold_sensor,
    never_surveyed,
    surveyed_on,
    too_low,
    words,
)
from kilnctl.treatment.plan_checks import Warn, place_of
from kilnctl.treatment.segments.segment_builders import HOT_RATE_C_PER_H
from kilnctl.treatment.steel.steels import Steel

# A sensor is held lower by this at most: about one step of a hardness table, 1 HRC. Beyond that only a shield
# helps, and the plan says so.
LOWEST_K = 25.0


@dataclass(frozen=True, slots=True)
class Guarded:
    """A profile whose tempers spare a thin edge; `places` is the old place of each segment.

    `off_k` says, by a temper's place, how far below and above its goal a part in the oven may be.
    """

    profile: Profile
    places: tuple[int, ...]
    warnings: tuple[Warn, ...] = ()
    off_k: Mapping[int, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Made:
    """The segments so far, each with its old place, and what is to be read before the heat."""

    segments: tuple[AnySegment, ...] = ()
    places: tuple[int, ...] = ()
    warnings: tuple[Warn, ...] = ()
    off_k: Mapping[int, tuple[float, float]] = field(default_factory=dict)

    def add(self, segment: AnySegment, place: int, *warnings: str) -> "_Made":
        """Return it with one more segment."""
        warns = tuple(Warn(text, len(self.segments)) for text in warnings)
        return _Made((*self.segments, segment), (*self.places, place), (*self.warnings, *warns), self.off_k)

    def last_off(self, low_k: float, high_k: float) -> "_Made":
        """Return it with how far the part may be from the goal of the last segment."""
        return replace(self, off_k={**self.off_k, len(self.segments) - 1: (low_k, high_k)})


def guarded(profile: Profile, oven: Oven, model: OvenModel, steel: Steel | None = None) -> Guarded:
    """Return the profile with gentle last stretches and lowered sensors where a bare edge would be lost.

    What a survey measured at the hottest place stands in for what is estimated of it, and is taken off whole.
    Raises RunRefused where that is more than a plan may lower a sensor.
    A soak that says its own `sensor` keeps it: somebody has measured it, or a plan has been here before.
    """
    made = _Made()
    for n, segment in enumerate(profile.segments):
        if not isinstance(segment, Soak):
            made = made.add(segment, n)
        elif segment.purpose in TEMPERS and segment.clock == "part":
            made = _spared(profile, made, segment, n, oven, model)
        else:
            empty = not inside(profile, n)
            made = made.add(segment, n, *(() if empty else _too_hot(profile, segment, oven, model, steel)))
    found = profile.model_copy(update={"segments": made.segments})
    return Guarded(found, made.places, made.warnings, made.off_k)


def _spared(profile: Profile, made: _Made, soak: Soak, place: int, oven: Oven, model: OvenModel) -> _Made:
    """Return what leads to a temper, changed where an edge asks for it, and the temper."""
    view, before = view_of(oven.elements, soak.shield), made.segments[-1:]
    ramp = before[0] if before and isinstance(before[0], Ramp) else None
    hidden = view.most <= 0.0
    if soak.sensor_c is not None:
        return made.add(soak, place).last_off(soak.sensor_c - soak.at_c, LEFT_K)
    survey = hotter(model.surveyed, soak.at_c, oven.ambient_c)
    if survey is None and (soak.shield is not None or (hidden and not (model.learned and ramp))):
        return made.add(soak, place)
    approach = quickest_gentle(profile, ramp, soak, oven, model, view)
    if survey is not None:
        approach = by_survey(approach, survey)
        # A sensor that is held lower cools its hottest place by more: what lies between them shrinks too.
        share = survey.hot_k / (soak.at_c - oven.ambient_c)
        lowered_k = float(round(_above_k(approach) / (1.0 + share)))
        if lowered_k > MOST_LOWERED_K:
            raise RunRefused(f"{place_of(profile, place)}: {too_low(soak, survey, lowered_k)}")
        approach = approach.with_less(share * lowered_k)
    else:
        lowered_k = 0.0 if hidden else _lowered_k(approach, oven, model)
    below_k = 0.0 if survey is None else min(survey.hot_k, 0.0)
    if not (lowered_k or approach.gentle) and below_k >= -TOLERANCE_K and approach.most.peak_k <= TOLERANCE_K:
        return made.add(soak, place)
    if lowered_k:
        made = replace(made, segments=_lower(made.segments, soak.at_c, soak.at_c - lowered_k))
        soak = soak.model_copy(update={"sensor_c": soak.at_c - lowered_k})
    costs_s = 0.0
    if approach.gentle and ramp is not None:
        asked = Rates(*[ramp.rate_c_per_h or HOT_RATE_C_PER_H] * 2)
        costs_s = approach.rates.takes_s(oven.ambient_c, soak.at_c) - asked.takes_s(oven.ambient_c, soak.at_c)
        made = _in_two(made, approach.rates)
    said = words(oven.elements, soak, approach, costs_s, model.learned, survey)
    made = made.add(soak, place, said, *(() if survey is None else cold_sensor(soak)))
    return made.last_off(below_k - lowered_k, max(approach.most.peak_k - lowered_k, 0.0))


def _lowered_k(approach: EdgeOutlook, oven: Oven, model: OvenModel) -> float:
    """Return by how much the sensor is held lower; a guess about an unknown oven lowers nothing."""
    known = model.learned or oven.elements is not None
    return min(_above_k(approach), LOWEST_K) if known else 0.0


def _above_k(approach: EdgeOutlook) -> float:
    """Return by how much an edge passes what is tolerated, in whole kelvins; a little is nothing."""
    over_k = approach.most.peak_k - TOLERANCE_K
    return float(round(over_k)) if over_k > WORTH_K else 0.0


def _lower(before: tuple[AnySegment, ...], from_c: float, to_c: float) -> tuple[AnySegment, ...]:
    """Lower what leads to a temper: its ramp; where the oven waits hot for the part, settling and wait."""
    changed = list(before)
    for place in range(len(before) - 1, -1, -1):
        segment = before[place]
        match segment:
            case Ramp() if segment.to_c == from_c:
                changed[place] = segment.model_copy(update={"to_c": to_c})
                break
            case Soak() if segment.at_c == from_c and segment.clock == "oven":
                changed[place] = segment.model_copy(update={"at_c": to_c})
            case Operator() if segment.hold_c == from_c:
                changed[place] = segment.model_copy(update={"hold_c": to_c})
            case _:
                break
    return tuple(changed)


def _in_two(made: _Made, rates: Rates) -> _Made:
    """Return what was made with its last ramp in two: to the last stretch, and gently on."""
    ramp = made.segments[-1]
    assert isinstance(ramp, Ramp)
    why = "gently, so that elements and sensor are no further from the part than in the soak"
    first = ramp.model_copy(update={"to_c": ramp.to_c - STRETCH_K, "rate_c_per_h": rates.first})
    label = f"{ramp.label or 'heat'} gently"
    last = ramp.model_copy(update={"rate_c_per_h": rates.last, "reason": why, "label": label})
    shorter = _Made(made.segments[:-1], made.places[:-1], made.warnings, made.off_k)
    return shorter.add(first, made.places[-1]).add(last, made.places[-1])


def _too_hot(
    profile: Profile, soak: Soak, oven: Oven, model: OvenModel, steel: Steel | None
) -> tuple[str, ...]:
    """Return a warning where the skin of a part in sight is held, as a rule, above what its steel bears.

    By the rule, not by the most: that passes every ceiling on every oven with open elements, and a caution
    that stands on each plan is read on none. In rehearsals such a skin was within 2 K of the rule.
    """
    view = view_of(oven.elements, soak.shield)
    limits = steel.too_hot if steel is not None and soak.purpose == "harden" else ()
    ceilings_c = [limit.low_c for limit in limits if limit.low_c >= soak.at_c]
    if view.most <= 0.0 or not ceilings_c:
        return ()
    rates, ceiling_c = Rates(HOT_RATE_C_PER_H, HOT_RATE_C_PER_H), min(ceilings_c)
    usual = over_k(profile, rates, soak, oven, model, view.usual)
    if soak.at_c + usual.settled_k <= ceiling_c:
        return ()
    most = over_k(profile, rates, soak, oven, model, view.most, at_most=True)
    return (ceiling_words(soak, usual, most, ceiling_c),)


def unsurveyed_notes(profile: Profile, oven: Oven, model: OvenModel) -> tuple[str, ...]:
    """Return what no learned model knows of a bare part's temper: how hot its place is, by which survey."""
    soaks = [s for s in profile.segments if isinstance(s, Soak) and s.purpose in TEMPERS]
    bare = [s.at_c for s in soaks if s.clock == "part"]
    near = {c: hotter(model.surveyed, c, oven.ambient_c) for c in bare}
    told = tuple(dict.fromkeys(surveyed_on(survey) for survey in near.values() if survey is not None))
    unknown = [c for c, survey in near.items() if survey is None]
    if not model.learned or not unknown:
        return told
    return *told, never_surveyed(min(unknown), outdated(model.surveyed, min(unknown), oven.ambient_c))
