"""By how much a thin edge in sight of the elements passes the goal of its soak, by the oven's model.

What a part sees of the elements, and how hot they are, is known to a factor of two at best: estimates.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from kilnctl.config.oven import Oven
from kilnctl.forecast.heat_simulation import STEP_S, HeatSimulation, SimulatedState, resting
from kilnctl.model import part as slab
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import PartModel
from kilnctl.model.part_view import Sight, hottest_face_c, seen_c
from kilnctl.model.surveyed import Surveyed
from kilnctl.profile.segments import Profile, Ramp, Soak

TOLERANCE_K = 5.0
# By so much more than in the hold an edge may pass on the way. On held ovens the way was twice as much as
# foreseen (6 K for 3).
GENTLE_K = 2.5
# The edge that is judged, where no thinner section is told.
EDGE_MM = 2.0
# The last stretch before a temper: long enough for what went before to leave the element.
STRETCH_K = 40.0
# What is tried for a ramp and its last stretch, quickest first, in degC/h.
_GENTLER = ((400.0, 200.0), (400.0, 100.0), (200.0, 100.0), (200.0, 60.0), (100.0, 60.0), (100.0, 40.0))
# Of what a place ran ahead on the way so much is taken to be left at the gentlest, however quick it was.
_LEFT_AHEAD = 0.25
_NO_WORDS = {"label": "", "reason": "", "source": ""}
_AT_ONCE_C_PER_H, _SETTLES_S, WORTH_K = 10_000.0, 1800.0, 1.0


class Rates(NamedTuple):
    """How a ramp goes, and its last stretch, in degC/h."""

    first: float
    last: float

    def takes_s(self, from_c: float, to_c: float) -> float:
        """Return how long it takes if the oven follows."""
        stretch_k = min(STRETCH_K, to_c - from_c)
        return 3600.0 * ((to_c - from_c - stretch_k) / self.first + stretch_k / self.last)


@dataclass(frozen=True, slots=True)
class Over:
    """By how much (K) a thin edge passes the goal of a soak: on the way, and once it has settled."""

    peak_k: float
    settled_k: float


@dataclass(frozen=True, slots=True)
class EdgeOutlook:
    """How a soak is come to, and what its edge does then, at most and as a rule; `gentle`: slower."""

    rates: Rates
    gentle: bool
    most: Over
    usual: Over

    def with_less(self, k: float) -> "EdgeOutlook":
        """Return it with an edge that is so much cooler throughout, in K."""
        most, usual = (Over(o.peak_k - k, o.settled_k - k) for o in (self.most, self.usual))
        return replace(self, most=most, usual=usual)


def by_survey(outlook: EdgeOutlook, survey: Surveyed) -> EdgeOutlook:
    """Return an outlook by what was measured at the hottest place, in place of what was estimated of it.

    Where it ran ahead of the hold on the way the approach is gentler: what runs ahead goes with the rate of
    the last stretch (the survey was made in this heat as it was planned before it). Where nobody has written
    down the way, it runs ahead by what the model says.
    """
    if survey.way_k is None:
        ahead_k = max(outlook.most.peak_k - outlook.most.settled_k, 0.0)
    else:
        ran_k = ahead_k = max(survey.way_k - survey.hot_k, 0.0)
        was, borne_k = outlook.rates, max(GENTLE_K, TOLERANCE_K - survey.hot_k)
        for first, last in _GENTLER:
            if ahead_k <= borne_k:
                break
            if last < was.last:
                ahead_k = ran_k * max(last / was.last, _LEFT_AHEAD)
                outlook = replace(outlook, rates=Rates(min(first, was.first), last), gentle=True)
    found = Over(survey.hot_k + ahead_k, survey.hot_k)
    return replace(outlook, most=found, usual=found)


def quickest_gentle(
    profile: Profile, ramp: Ramp | None, soak: Soak, oven: Oven, model: OvenModel, view: Sight
) -> EdgeOutlook:
    """Return the quickest approach whose edge is no further over its goal than the tolerance and the hold.

    Where none is, the quickest of the kindest. Without a ramp the part comes into a hot oven.
    """
    if ramp is None:
        last = Rates(*_GENTLER[-1])
        most = over_k(profile, last, soak, oven, model, view.most, at_most=True)
        usual = over_k(profile, last, soak, oven, model, view.usual)
        return EdgeOutlook(last, False, most, usual)
    asked = Rates(*[ramp.rate_c_per_h or _AT_ONCE_C_PER_H] * 2)
    gentler = [Rates(min(f, asked.first), last) for f, last in _GENTLER if last < asked.last]
    tried: list[tuple[Rates, Over]] = []
    # Full heat that nobody asked a rate of never goes all the way where the elements are in sight: a blade
    # passed by 7 K more on the way than in the hold, where 2 were predicted.
    straight = (asked,) if ramp.rate_c_per_h is not None or view.most <= 0.0 else ()
    for rates in (*straight, *gentler):
        tried.append((rates, over_k(profile, rates, soak, oven, model, view.most, at_most=True)))
        if tried[-1][1].peak_k <= max(tried[-1][1].settled_k, 0.0) + GENTLE_K:
            break
    else:
        least_k = min(over.peak_k for _, over in tried) + WORTH_K
        tried.append(next(one for one in tried if one[1].peak_k <= least_k))
    rates, most = tried[-1]
    return EdgeOutlook(rates, rates != asked, most, over_k(profile, rates, soak, oven, model, view.usual))


def over_k(
    profile: Profile,
    rates: Rates,
    soak: Soak,
    oven: Oven,
    model: OvenModel,
    view: float,
    at_most: bool = False,
) -> Over:
    """Return by how much an edge passes the goal of a soak by the kindest plausible explanation of the oven.

    `at_most`: with a face as hot as it may be.

    A heat-up is explained nearly as well by hot small elements as by cool large ones; on held ovens the
    cooler ones were right more often.
    """
    models = (model,) if model.bound is None else (model, model.bound)
    held = soak.model_copy(update={"soak_s": _SETTLES_S, "clock": "oven", "sensor_c": None, **_NO_WORDS})
    edge, room_c = edge_of(profile), oven.ambient_c
    found = [_way_k(edge, rates, held, room_c, each, view, at_most) for each in models]
    return Over(min(f.peak_k for f in found), min(f.settled_k for f in found))


@lru_cache(maxsize=64)  # the second temper of a part goes the way of the first
def _way_k(
    edge: PartModel,
    rates: Rates,
    held: Soak,
    room_c: float,
    model: OvenModel,
    view: float,
    at_most: bool,
) -> Over:
    """Return what an edge does on the way to a soak and in it, by one explanation of the oven."""
    first = Ramp.model_construct(to_c=held.at_c - STRETCH_K, rate_c_per_h=rates.first)
    last = first.model_copy(update={"to_c": held.at_c, "rate_c_per_h": rates.last})
    lone = Profile.model_construct(name="edge", segments=(first, last, held))
    simulation = HeatSimulation(lone, model, room_c, SimulatedState(resting(room_c, room_c)))
    state, hottest_c = slab.start(edge, room_c), room_c
    while not simulation.over:
        simulation.step()
        now = simulation.oven
        face_c = hottest_face_c(now.face_c, now.junction_c) if at_most else now.face_c
        state = slab.advance(edge, state, seen_c(edge, face_c, now.element_c, view), STEP_S)
        hottest_c = max(hottest_c, state.surface_c)
    return Over(hottest_c - held.at_c, state.surface_c - held.at_c)


def edge_of(profile: Profile) -> PartModel:
    """Return the thin edge that is judged: of the part's own section where that is thinner."""
    return slab.slab(
        min(profile.section_mm or EDGE_MM, EDGE_MM), profile.surface, fan=profile.fan, peak_c=profile.peak_c
    )
