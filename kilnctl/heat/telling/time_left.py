"""How much longer a heat takes: counted where it is being counted, foreseen from now, else as planned."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from kilnctl.heat.heat_state import HeatState
from kilnctl.heat.job import Job
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import AnySegment, Cool, Operator, Ramp, Soak

Point = tuple[float, float, float, float]


class RestOfHeat(NamedTuple):
    """What is foreseen of the rest of a heat. `points` are (run time s, low, middle, high degC), thinned.

    `ends_s` says when each segment that is not over yet will be, in s of the run; a segment that cannot be
    finished within four days is missing. Both are empty while nothing is foreseen.
    """

    points: tuple[Point, ...] = ()
    ends_s: Mapping[int, float] = MappingProxyType({})


NO_FORECAST = RestOfHeat()


def segment_left_s(
    job: Job, now: HeatState, forecast: RestOfHeat, segment: AnySegment | None
) -> float | None:
    """Return the seconds left in the running segment, None where nobody can know.

    A soak that is being credited counts down by its credit and a step by its deadline; else it is what is
    foreseen from the oven as it stands now.
    """
    cursor = now.cursor
    match segment:
        case Operator():
            return max(0.0, segment.at_most_s - cursor.waited_s)
        case Soak():
            done_s = cursor.soak_part_s if segment.clock == "part" else cursor.soak_oven_s
            credit_s = max(0.0, segment.soak_s - done_s)
            coming_s = None if done_s > 0.0 else _foreseen_left_s(job, now, forecast, cursor.segment)
            return coming_s or credit_s
        case Ramp() | Cool():
            if forecast.points:  # what it does not see the end of, nobody knows: the plan promised more
                return _foreseen_left_s(job, now, forecast, cursor.segment)
            return _planned_left_s(job, cursor, segment)
    return None


def _foreseen_left_s(job: Job, now: HeatState, forecast: RestOfHeat, index: int) -> float | None:
    """Return in how many seconds a segment will be over as foreseen, None where it is not."""
    if index not in forecast.ends_s:
        return None
    return max(0.0, forecast.ends_s[index] - max(now.elapsed_s, job.wait_s if now.waiting else 0.0))


def _planned_left_s(job: Job, cursor: Cursor, segment: Ramp | Cool) -> float | None:
    """Return what the plan leaves of a ramp or cooling; a late one without a rate ends nobody knows when."""
    if segment.rate_c_per_h is not None and cursor.setpoint_c is not None:
        return abs(segment.to_c - cursor.setpoint_c) / segment.rate_c_per_h * 3600.0
    planned_s = job.planned(cursor.segment)
    return None if planned_s is None or planned_s < cursor.segment_s else planned_s - cursor.segment_s


def wait_left_s(job: Job, now: HeatState) -> float:
    """Return how long the heat still waits to start, in seconds of the run."""
    return max(0.0, job.wait_s - now.elapsed_s) if now.waiting else 0.0


def ends_s(job: Job, now: HeatState, forecast: RestOfHeat, left_s: float | None) -> list[float | None]:
    """Return when each segment was or will be over, in s of the run: foreseen from now, else as planned.

    `left_s` is what the screen counts down for the running one; the rest moves with it, to the second. None
    from a segment on whose end nobody can know. At a step a person is taken to need the plan's time.
    """
    done = {s.segment: s.ended_s for s in now.totals.segments}
    coming_s = forecast.ends_s
    here, now_s = now.cursor.segment, now.elapsed_s + wait_left_s(job, now)
    found: list[float | None] = []
    shift_s, end_s = 0.0, None
    for index, segment in enumerate(now.profile.segments):
        if index < here:
            end_s = done.get(index)
        elif index == here and not isinstance(segment, Operator):
            end_s = None if left_s is None else now_s + left_s
            shift_s = 0.0 if end_s is None else end_s - coming_s.get(index, end_s)
        elif index in coming_s:
            end_s = coming_s[index] + shift_s
        elif index == here or end_s is not None:
            end_s = max(now_s, end_s or 0.0) + (job.planned(index) or 0.0)
        found.append(end_s)
    return found


def total_left_s(now: HeatState, ends_s: list[float | None]) -> float | None:
    """Return the seconds left in the run, None where nobody can know."""
    return None if not ends_s or ends_s[-1] is None else max(0.0, ends_s[-1] - now.elapsed_s)
