"""When each segment of a profile will start and end, and what it will cost.

The one engine is `forecast.heat_simulation`; here what it found is told apart by segments, with the times
that people take and what the heat does to the part.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from kilnctl.forecast.heat_simulation import STEP_S, HeatSimulation, SimulatedState, resting
from kilnctl.model import oven_model as ovens
from kilnctl.model import part as parts
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.part import PartModel, PartState
from kilnctl.profile.segments import AnySegment, Cool, Operator, Profile, Ramp, Soak, goal_c
from kilnctl.stages import HOT_C
from kilnctl.treatment.steel.cooling_names import NO_EXPOSURE, TO_C, Exposure, expose, rate_700_500

COOLING_STEP_S = 60.0
LONGEST_S = 60 * 3600.0
_BEHIND_S = 600.0
# How long a person usually takes (common practice); the longest wait stands in the segment.
_PERSON_S = {
    "quench": 60.0,
    "air cool": 60.0,
    "load": 120.0,
    "unload": 120.0,
    "clamp": 300.0,
    "check": 600.0,
    "crack door": 60.0,
    "confirm": 300.0,
    "cold": 7200.0,
}


@dataclass(frozen=True, slots=True)
class Span:
    """The forecast of one segment.

    `energy` in full-power seconds; `part_late_s` is how long a soak waits for the part; `behind_c` the
    temperature from which the oven cannot follow the rate any more, None where it follows, and `behind_s`
    how long the segment has lasted then; an infinite
    duration means that it never ends; `exposure` is the part's, from the start to the end of this segment.
    """

    start_s: float
    duration_s: float
    energy: float
    part_late_s: float = 0.0
    behind_c: float | None = None
    behind_s: float = 0.0
    exposure: Exposure = NO_EXPOSURE

    @property
    def end_s(self) -> float:
        """Return the end, in seconds from the start of the run."""
        return self.start_s + self.duration_s


@dataclass(frozen=True, slots=True)
class _Step:
    """One step of a simulation: what the sensor reads after it, the duty in it, the exposure up to it."""

    process_c: float
    duty: float
    exposure: Exposure


def forecast(
    profile: Profile, model: OvenModel, part: PartModel | None, ambient_c: float
) -> tuple[Span, ...]:
    """Return the forecast of every segment, oven and part starting from the room's temperature."""
    waits_s = person_times_s(profile, part, ambient_c)
    simulation = HeatSimulation(
        profile, model, ambient_c, SimulatedState(resting(ambient_c, ambient_c)), waits_s
    )
    steps: dict[int, list[_Step]] = {}
    exposure = NO_EXPOSURE
    while not simulation.over:
        segment = simulation.segment
        simulation.step()
        if simulation.part is not None:
            exposure = expose(exposure, simulation.part.core_c, STEP_S)
        steps.setdefault(segment, []).append(_Step(simulation.curve_c[-1], simulation.duty, exposure))
    return tuple(_spans(profile, simulation, steps))


def _spans(profile: Profile, simulation: HeatSimulation, steps: dict[int, list[_Step]]) -> Iterator[Span]:
    """Yield the segments up to the first that never ends."""
    start_s, exposure = 0.0, NO_EXPOSURE
    for index, segment in enumerate(profile.segments):
        end_s, made = simulation.ends_s.get(index, math.inf), steps.get(index, [])
        exposure = made[-1].exposure if made else exposure
        behind_c, behind_s = _behind(segment, made)
        yield Span(
            start_s=start_s,
            duration_s=end_s - start_s,
            energy=sum(step.duty for step in made) * STEP_S,
            part_late_s=_late_s(segment, end_s - start_s),
            behind_c=behind_c,
            behind_s=behind_s,
            exposure=exposure,
        )
        if math.isinf(end_s):
            return
        start_s = end_s


def _late_s(segment: AnySegment, takes_s: float) -> float:
    if not isinstance(segment, Soak) or math.isinf(takes_s):
        return 0.0
    return max(0.0, takes_s - segment.soak_s)


def _behind(segment: AnySegment, made: list[_Step]) -> tuple[float | None, float]:
    """Return where and when the duty ran into its limit for ten minutes or more; None where it did not."""
    if not isinstance(segment, Ramp | Cool) or segment.rate_c_per_h is None:
        return None, 0.0
    limit, stuck_s, since_c = (1.0 if isinstance(segment, Ramp) else 0.0), 0.0, 0.0
    for n, step in enumerate(made, 1):
        if abs(step.duty - limit) > 1e-6:
            stuck_s = 0.0
            continue
        since_c = step.process_c if stuck_s == 0.0 else since_c
        stuck_s += STEP_S
        if stuck_s > _BEHIND_S:
            return since_c, n * STEP_S - stuck_s
    return None, 0.0


def person_times_s(profile: Profile, part: PartModel | None, ambient_c: float) -> tuple[float | None, ...]:
    """Return for each operator step how long a person usually takes, in s, None for other segments.

    Before a load comes the time in which the part cools outside to where hands can hold it.
    """
    times: list[float | None] = []
    outside_s, hot_c = 0.0, ambient_c
    for index, segment in enumerate(profile.segments):
        hot_c = goal_c(segment) or hot_c
        if (
            part is not None
            and index
            and parts.inside(profile, index - 1)
            and not parts.inside(profile, index)
        ):
            outside_s = air_cool_s(part, parts.start(part, hot_c), ambient_c, HOT_C)
        if not isinstance(segment, Operator):
            times.append(None)
            continue
        usual_s = _PERSON_S.get(segment.step, segment.at_most_s)
        if segment.step == "load":
            usual_s += outside_s
        times.append(min(usual_s, segment.at_most_s - STEP_S))
    return tuple(times)


def air_cool_s(model: PartModel, state: PartState, air_c: float, to_c: float) -> float:
    """Return the time a part takes in still air until its middle is at `to_c`, 0 where it is there."""
    elapsed_s = 0.0
    while state.core_c > to_c and elapsed_s < LONGEST_S:
        state = parts.advance(model, state, air_c, 5.0)
        elapsed_s += 5.0
    return elapsed_s


def still_air_curve(part: PartModel, from_c: float, air_c: float) -> list[tuple[float, float]]:
    """Return (seconds, degC) of a part hung in still air, down to 500 degC."""
    state, curve = parts.start(part, from_c), [(0.0, from_c)]
    while curve[-1][1] > TO_C:
        state = parts.advance(part, state, air_c, 1.0)
        curve.append((curve[-1][0] + 1.0, state.core_c))
    return curve


def shut_cooling_c_per_s(model: OvenModel, from_c: float, ambient_c: float) -> float | None:
    """Return the mean rate from 700 to 500 degC of the shut oven after a soak at `from_c`, or None."""
    state = ovens.at_rest(from_c, ambient_c)
    curve = [(0.0, from_c)]
    while curve[-1][1] > TO_C and curve[-1][0] < LONGEST_S:
        state = ovens.advance(model, state, 0.0, ambient_c, COOLING_STEP_S)
        curve.append((curve[-1][0] + COOLING_STEP_S, ovens.sensor_c(state)))
    return rate_700_500(curve)
