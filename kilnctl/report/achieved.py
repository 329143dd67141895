"""What each segment really was, computed from the samples: the same for a whole run and for a broken one."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from kilnctl.profile.cursor import TOUCH_K
from kilnctl.profile.segments import AnySegment, Cool, Profile, Ramp, Soak, goal_c, sensor_goal_c
from kilnctl.report.record import Record

Column = NDArray[np.float64]
STEP_DOWN_K = 10.0


@dataclass(frozen=True, slots=True)
class Achieved:
    """One segment asked and achieved. Times in seconds, temperatures in degC, None where it does not apply.

    `rate_c_per_h` is the mean over the segment, `soak_s` the credited time of a soak, low, high and
    mean its readings in just that time; `lowest_c` the lowest one since the goal was touched, counted or not,
    `overshoot_k` the highest of a ramp or soak since then, above its goal.
    `unseen_s` passed between its last sample and the first of the next segment.
    `medium` is what a quench went into.
    """

    index: int
    kind: str
    label: str
    goal_c: float | None
    rate_asked_c_per_h: float | None
    soak_asked_s: float | None
    started_s: float
    ended_s: float
    rate_c_per_h: float | None
    soak_s: float | None
    low_c: float | None
    high_c: float | None
    mean_c: float | None
    overshoot_k: float | None
    energy_kwh: float
    unseen_s: float = 0.0
    medium: str = ""
    lowest_c: float | None = None


def counted_s(was: Achieved, period_s: float | None) -> float | None:
    """Return what a soak was credited with; up to a tick less than asked is all of it.

    The tick in which a soak is full is the first of the next step: it is not in the soak's own samples. Where
    the record has a gap just there, the last of the soak is in the gap, and the page is marked for it.
    """
    if was.soak_s is None or was.soak_asked_s is None:
        return was.soak_s
    whole = was.soak_s >= was.soak_asked_s - max(1.0, 1.5 * (period_s or 0.0), was.unseen_s)
    return max(was.soak_s, was.soak_asked_s) if whole else was.soak_s


def achieved(record: Record) -> tuple[Achieved, ...]:
    """Return what the samples say of every segment that was begun."""
    if record.profile is None or len(record.curve) == 0:
        return ()
    columns = record.curve.columns()
    found = tuple(
        _one(record.profile, index, {name: c[mask] for name, c in columns.items()})
        for index in range(len(record.profile.segments))
        if (mask := columns["segment"] == index).any()
    )
    nexts = [was.started_s for was in found[1:]]
    return tuple(
        replace(was, unseen_s=max(0.0, next_s - was.ended_s))
        for was, next_s in zip(found, [*nexts, found[-1].ended_s], strict=True)
    )


def _one(profile: Profile, index: int, columns: Mapping[str, Column]) -> Achieved:
    segment = profile.segments[index]
    at_s, process_c = columns["elapsed_s"], columns["process_c"]
    goal = goal_c(segment)
    sensor_c = sensor_goal_c(segment)  # a spared temper's goal is the part's: the oven is held lower
    reached_c = _reached(process_c, sensor_c) if isinstance(segment, Ramp | Soak) else process_c[:0]
    held_c = _counted(segment, columns)
    return Achieved(
        index=index,
        kind=segment.kind,
        label=segment.label or f"{segment.purpose}: {segment.kind}",
        goal_c=goal,
        rate_asked_c_per_h=getattr(segment, "rate_c_per_h", None),
        soak_asked_s=segment.soak_s if isinstance(segment, Soak) else None,
        started_s=float(at_s[0]),
        ended_s=float(at_s[-1]),
        rate_c_per_h=_rate(at_s, process_c) if isinstance(segment, Ramp | Cool) else None,
        soak_s=_credited(segment, columns),
        low_c=_or_none(np.min, held_c),
        high_c=_or_none(np.max, held_c),
        mean_c=_or_none(np.mean, held_c),
        overshoot_k=_over_k(reached_c, sensor_c),
        energy_kwh=_spent(columns["energy_kwh"]),
        medium=getattr(segment, "medium", ""),
        lowest_c=_or_none(np.min, reached_c) if isinstance(segment, Soak) else None,
    )


def _reached(process_c: Column, goal_c: float | None) -> Column:
    """Return the readings from the goal on; it is come to from above after a step down."""
    known = process_c[~np.isnan(process_c)]
    if goal_c is None or len(known) == 0:
        return known[:0]
    down = known[0] > goal_c + STEP_DOWN_K
    touched = np.flatnonzero(known <= goal_c + TOUCH_K if down else known >= goal_c - TOUCH_K)
    return known[touched[0] :] if len(touched) else known[:0]


def _over_k(reached_c: Column, sensor_c: float | None) -> float | None:
    return None if sensor_c is None or len(reached_c) == 0 else float(np.max(reached_c) - sensor_c)


def _or_none(what: object, values: Column) -> float | None:
    return float(what(values)) if len(values) else None  # type: ignore[operator]


def _rate(at_s: Column, process_c: Column) -> float | None:
    known = np.flatnonzero(~np.isnan(process_c))
    if len(known) < 2:
        return None
    first, last = known[0], known[-1]
    return float((process_c[last] - process_c[first]) / (at_s[last] - at_s[first]) * 3600.0)


def _credited(segment: AnySegment, columns: Mapping[str, Column]) -> float | None:
    if not isinstance(segment, Soak):
        return None
    values = _credit(segment, columns)
    return 0.0 if np.isnan(values).all() else float(np.nanmax(values))


def _credit(soak: Soak, columns: Mapping[str, Column]) -> Column:
    return columns["soak_part_s" if soak.clock == "part" else "soak_oven_s"]


def _counted(segment: AnySegment, columns: Mapping[str, Column]) -> Column:
    """Return the readings of the seconds that a soak was credited with: those in which its credit rises.

    What a soak begins with, of a heat that was taken up again, was counted there.
    """
    if not isinstance(segment, Soak):
        return np.empty(0)
    known = ~np.isnan(_credit(segment, columns))
    credit_s, process_c = _credit(segment, columns)[known], columns["process_c"][known]
    if len(credit_s) == 0:
        return credit_s
    begun_s = max(0.0, credit_s[0] - np.nan_to_num(columns["segment_s"][known][0]))
    counted_c: Column = process_c[np.diff(credit_s, prepend=begun_s) > 0.0]
    return counted_c[~np.isnan(counted_c)]


def _spent(energy_kwh: Column) -> float:
    known = energy_kwh[~np.isnan(energy_kwh)]
    return float(known[-1] - known[0]) if len(known) else 0.0
