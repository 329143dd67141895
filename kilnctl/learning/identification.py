"""From a recorded heat-up to a learned oven: the fit in a process of its own, and what it says in words."""

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.model.coast import Outlook
from kilnctl.model.nameplate import BUILDS, nameplate, typical_of
from kilnctl.model.oven_model import OvenModel, advance, at_rest, holding_duty
from kilnctl.stages import HOT_C
from kilnctl.units import say_duration, say_point

_LONGEST_FIT_S = 900.0
# Between nameplate and learned oven, in the time to a third of the way: beyond it the file is wrong. One that
# is quicker lacks no element; a light oven behind a file that says brick is learned as it is.
_SLOWEST, _QUICKEST = 5.0, 10.0
_ROWS = 12
# A coast that another explanation takes further by so much is said; a fit that misses by so much is poor.
_SAID_K, _POOR_K = 1.0, 1.5
_GOALS_C = (100.0, 218.0, 400.0, 650.0, 829.0, 1000.0)


@dataclass(frozen=True, slots=True)
class Identified:
    """A fitted model with the two curves that show how well it fits, one point at each of `at_s` (s)."""

    model: OvenModel
    measured_c: tuple[float, ...]
    curve_c: tuple[float, ...]
    at_s: tuple[float, ...]


def learn_from(oven: Oven, process_c: Sequence[float], heat: Sequence[float], dt_s: float) -> Identified:
    """Fit a recorded heat-up. `heat` is 0..1 and flows until the next sample. Raises RunRefused."""
    start = nameplate(oven)
    answer = _fit_apart(oven, start, process_c, heat, dt_s)
    model = OvenModel.from_dict(answer["model"])
    refuse_another_oven(oven, start, model)
    return Identified(model, tuple(answer["measured_c"]), tuple(answer["curve_c"]), tuple(answer["at_s"]))


def learn_cooling(
    oven: Oven, start: OvenModel, process_c: Sequence[float], heat: Sequence[float], dt_s: float
) -> OvenModel:
    """Return the learned model with what a heat-up and the whole cooling after it show. Raises RunRefused."""
    answer = _fit_apart(oven, start, process_c, heat, dt_s, cooling=True)
    return replace(start, cools=OvenModel.from_dict(answer["model"]))


def _fit_apart(
    oven: Oven,
    start: OvenModel,
    process_c: Sequence[float],
    heat: Sequence[float],
    dt_s: float,
    cooling: bool = False,
) -> dict[str, Any]:
    """Fit in a process of its own, and return its answer. Raises RunRefused."""
    task = {
        "start": start.to_dict(),
        "ambient_c": oven.ambient_c,
        "dt_s": dt_s,
        "process_c": list(process_c),
        "heat": list(heat),
        "cooling": cooling,
    }
    command = [sys.executable, "-m", "kilnctl.learning.fitting"]
    try:
        done = subprocess.run(
            command,
            input=json.dumps(task),
            capture_output=True,
            text=True,
            timeout=_LONGEST_FIT_S,
            check=False,
        )
        answer: dict[str, Any] = json.loads(done.stdout)
    except (subprocess.TimeoutExpired, ValueError, OSError):
        raise RunRefused("the fit did not finish; nothing is stored. Try again from the same run") from None
    if "error" in answer:
        raise RunRefused(f"{answer['error']}; nothing is stored")
    return answer


def refuse_another_oven(oven: Oven, start: OvenModel, model: OvenModel) -> None:
    """Refuse a fit that the file cannot mean: another build or supply, half an element. Raises RunRefused.

    The file's power plays no part: the unit of heat is full power, whatever it is.
    """
    ceiling_c = oven.tune_ceiling_c if oven.tune_ceiling_c is not None else oven.limit_c
    goal_c = oven.ambient_c + 0.3 * (ceiling_c - oven.ambient_c)
    took_s = _heating_s(model, goal_c, oven.ambient_c)
    known = [start] if oven.build != "unknown" else [typical_of(build) for build in BUILDS]
    due = [_heating_s(typical, goal_c, oven.ambient_c) for typical in known]
    due_s = min(due, key=lambda due_s: abs(log(took_s / due_s)))  # an unknown oven may be of any build
    if not 1 / _QUICKEST <= took_s / due_s <= _SLOWEST:
        raise RunRefused(
            f"{say_duration(took_s)} to {say_point(goal_c)}, where {_kind(oven)} takes about "
            f"{say_duration(due_s)}; check elements, supply voltage and the file's build. Nothing is stored"
        )


def _kind(oven: Oven) -> str:
    return "no build" if oven.build == "unknown" else f"a {oven.build} oven"


def _heating_s(model: OvenModel, goal_c: float, ambient_c: float) -> float:
    state, spent_s = at_rest(ambient_c), 0.0
    while state.junction_c < goal_c and spent_s < 12 * 3600.0:
        state = advance(model, state, 1.0, ambient_c, 5.0)
        spent_s += 5.0
    return spent_s


def describe(oven: Oven, result: Identified) -> list[str]:
    """Return the fit as lines: curve against measurement, what holds and what coasts, what stays unknown."""
    model, shown_s = result.model, -1.0
    lines = ["   time   measured      model   difference"]
    for at_s, measured_c, model_c in zip(result.at_s, result.measured_c, result.curve_c, strict=True):
        if at_s < shown_s:
            continue
        shown_s = at_s + result.at_s[-1] / _ROWS
        off_k, minutes = model_c - measured_c, at_s / 60
        lines.append(f"{minutes:4.0f} min {measured_c:8.1f} °C {model_c:7.1f} °C {off_k:+8.1f} K")
    worst_k = max(abs(a - b) for a, b in zip(result.curve_c, result.measured_c, strict=True))
    lines.append(
        f"fit: {model.residual_k:.2f} K rms, {worst_k:.1f} K at worst; sensor noise {model.noise_k:.2f} K"
    )
    if model.residual_k > _POOR_K:
        lines.append(
            "a poor fit: the model cannot describe how this oven is built. Heats cut early and "
            "arrive in steps; watch the first ones"
        )
    if not model.steers:
        lines.append(
            f"{model.unexplained:.0%} of its power came or went unexplained (a draught, a door ajar?): it is "
            "heated slowly, by what each heat shows. Stop the draught and learn again to heat by the model"
        )
    lines += _of_second(oven, model)
    lines += _at_goals(oven, model)
    if model.bound is not None:
        lines.append(
            "another explanation fits this heat-up nearly as well; until arrival the longer coast counts"
        )
    lines.append(
        f"seen up to {say_point(max(result.measured_c))}; above that the model relies on its physics"
    )
    lines.append(
        f"the power cannot be learned from temperatures: {oven.power_w:.0f} W is what the file says; "
        "control does not need it, energy (kWh) depends on it"
    )
    lines.append(
        "not known from one heat-up: the outer wall, and load against chamber; neither affects the coast"
    )
    return lines


def describe_cooling(oven: Oven, model: OvenModel) -> list[str]:
    """Return how long the oven cools, by its cooling and by what the heat-up alone predicted."""
    seen = model.cools
    if seen is None:
        return []
    top_c = oven.tune_ceiling_c if oven.tune_ceiling_c is not None else oven.limit_c
    lines = [f"fit of heat-up and cooling: {seen.residual_k:.2f} K rms"]
    for from_c, to_c in ((top_c, top_c / 2), (top_c, HOT_C), (top_c / 4, HOT_C)):
        if from_c > to_c > oven.ambient_c:
            took, foretold = (_cooling_s(one, from_c, to_c, oven.ambient_c) for one in (seen, model))
            lines.append(
                f"from {say_point(from_c)} to {say_point(to_c)}: {say_duration(took)} "
                f"(the heat-up alone predicted {say_duration(foretold)})"
            )
    return lines


def _cooling_s(model: OvenModel, from_c: float, to_c: float, ambient_c: float) -> float:
    state, spent_s = at_rest(ambient_c), 0.0
    while state.junction_c < from_c and spent_s < 24 * 3600.0:
        state = advance(model, state, 1.0, ambient_c, 10.0)
        spent_s += 10.0
    spent_s = 0.0
    while state.junction_c > to_c and spent_s < 96 * 3600.0:
        state = advance(model, state, 0.0, ambient_c, 20.0)
        spent_s += 20.0
    return spent_s


def _of_second(oven: Oven, model: OvenModel) -> list[str]:
    if model.second_gap_k is None:
        return []
    low_k, high_k = model.second_gap_k
    second = oven.signal.second
    elsewhere = second is not None and second.apart_k is not None
    band = "; that and a third more is its band from now on" if elsewhere else ""
    return [f"the second sensor read {low_k:+.1f} to {high_k:+.1f} K beside the first{band}"]


def _at_goals(oven: Oven, model: OvenModel) -> list[str]:
    ceiling_c = oven.tune_ceiling_c if oven.tune_ceiling_c is not None else oven.limit_c
    goals_c = [goal_c for goal_c in _GOALS_C if goal_c <= ceiling_c]
    bounds = [None] * len(goals_c) if model.bound is None else _coasts(model.bound, goals_c, oven.ambient_c)
    lines = []
    for goal_c, own, bound in zip(goals_c, _coasts(model, goals_c, oven.ambient_c), bounds, strict=True):
        duty = holding_duty(model, goal_c, oven.ambient_c)
        further = bound is not None and bound[1] - own[1] > _SAID_K
        doubt = f" (another explanation: {bound[1]:.0f} K)" if bound is not None and further else ""
        lines.append(
            f"{say_point(goal_c)}: {say_duration(own[0])} at full power, "
            f"coasts {own[1]:.0f} K after the cut{doubt}, holds on {duty:.0%}"
        )
    return lines


def _coasts(model: OvenModel, goals_c: Sequence[float], ambient_c: float) -> list[tuple[float, float]]:
    """Return for each goal, lowest first, the time to it on full power (s) and the coast after a cut (K)."""
    found, state, spent_s = [], at_rest(ambient_c), 0.0
    for goal_c in goals_c:
        while state.junction_c < goal_c and spent_s < 12 * 3600.0:
            state = advance(model, state, 1.0, ambient_c, 2.0)
            spent_s += 2.0
        found.append((spent_s, Outlook(model, state, ambient_c).peak_c(0.0) - state.junction_c))
    return found
