"""A thin edge in sight of the elements gets hotter than the sensor: its temper is lost, and nothing tells.

The sensor stays on its goal. How much hotter the edge gets is foreseen from the oven's model, whose element
is known to a factor of two at best, so it is said as an estimate, with the usual remedy.
"""

from kilnctl.config.oven import Oven
from kilnctl.forecast.heat_simulation import STEP_S, HeatSimulation, SimulatedState, resting
from kilnctl.model import part as slab
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import PartModel
from kilnctl.model.part_view import VIEWS, seen_c
from kilnctl.profile.segments import Profile, Ramp, Soak
from kilnctl.treatment.plan_checks import Warn

TOLERANCE_K = 5.0
# The edge that is judged, where no thinner section is told.
EDGE_MM = 2.0
# What patience alone would do is said beside it: the elements of a hold are hotter than the part, too.
GENTLY_C_PER_H = 60.0
_SAVED = ("temper", "snap temper")


def edge_warnings(profile: Profile, oven: Oven, model: OvenModel) -> tuple[Warn, ...]:
    """Return for each temper by how much a thin edge would pass its goal, where that is too much."""
    view = VIEWS.get(oven.elements or "", 0.0)
    found: list[Warn] = []
    for n, segment in enumerate(profile.segments[1:], 1):
        before = profile.segments[n - 1]
        if (
            view > 0.0
            and isinstance(segment, Soak)
            and segment.purpose in _SAVED
            and isinstance(before, Ramp)
        ):
            over_k = edge_over_k(profile, before, segment, oven, model)
            if over_k > TOLERANCE_K:
                gently = before.model_copy(update={"rate_c_per_h": GENTLY_C_PER_H})
                gently_k = edge_over_k(profile, gently, segment, oven, model)
                found.append(Warn(_words(over_k, min(gently_k, over_k)), n))
    return tuple(found)


def edge_over_k(profile: Profile, ramp: Ramp, soak: Soak, oven: Oven, model: OvenModel) -> float:
    """Return by how much (K) a thin edge passes the goal of a soak, heated from cold at the ramp's rate."""
    lone = profile.model_copy(update={"segments": (ramp, soak), "section_mm": None})
    start = SimulatedState(resting(oven.ambient_c, oven.ambient_c))
    simulation = HeatSimulation(lone, model, oven.ambient_c, start)
    edge, view = _edge(profile), VIEWS.get(oven.elements or "", 0.0)
    state, hottest_c = slab.start(edge, oven.ambient_c), oven.ambient_c
    while not simulation.over:
        simulation.step()
        now = simulation.oven
        state = slab.advance(edge, state, seen_c(edge, now.face_c, now.element_c, view), STEP_S)
        hottest_c = max(hottest_c, state.surface_c)
    return hottest_c - soak.at_c


def _edge(profile: Profile) -> PartModel:
    return slab.slab(
        min(profile.section_mm or EDGE_MM, EDGE_MM), profile.surface, fan=profile.fan, peak_c=profile.peak_c
    )


def _words(over_k: float, gently_k: float) -> str:
    hot, mild = f"{over_k:.0f} K hotter than the sensor says", f"{gently_k:.0f} K"
    return (
        f"the elements see the part: a thin edge gets about {hot}, at {GENTLY_C_PER_H:.0f} °C/h {mild} "
        "(estimates). Shield it with a box, a tray of sand or a plate (common practice)"
    )
