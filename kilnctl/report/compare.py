"""Runs beside each other, aligned at the starts of their segments."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kilnctl.report.achieved import Achieved, achieved
from kilnctl.report.record import Record

Column = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Beside:
    """One segment of a run less the same segment of the first run.

    `mean_k` and `rms_k` compare the oven temperatures second by second over the time both have; the rest are
    differences of what achieved.py says (None where either run has nothing).
    """

    index: int
    label: str
    duration_s: float
    rate_c_per_h: float | None
    soak_s: float | None
    overshoot_k: float | None
    energy_kwh: float
    mean_k: float | None
    rms_k: float | None


@dataclass(frozen=True, slots=True)
class Difference:
    """A run less the first run, whole and by segment; equivalence in seconds at the goal temperature."""

    run: int
    duration_s: float
    energy_kwh: float
    equivalence20_s: float
    equivalence_c_s: float
    segments: tuple[Beside, ...]
    only_first: tuple[str, ...]
    only_other: tuple[str, ...]


def compare(records: tuple[Record, ...]) -> tuple[Difference, ...]:
    """Return what every further run differs by from the first."""
    first = records[0]
    return tuple(_difference(first, other) for other in records[1:])


def _difference(first: Record, other: Record) -> Difference:
    ours, theirs = ({segment.index: segment for segment in achieved(r)} for r in (first, other))
    both = [index for index in ours if index in theirs]
    return Difference(
        run=other.info.run,
        duration_s=other.curve.duration_s - first.curve.duration_s,
        energy_kwh=_last(other, "energy_kwh") - _last(first, "energy_kwh"),
        equivalence20_s=_last(other, "dose20_s") - _last(first, "dose20_s"),
        equivalence_c_s=_last(other, "dose_c_s") - _last(first, "dose_c_s"),
        segments=tuple(_beside(first, other, ours[i], theirs[i]) for i in both),
        only_first=tuple(segment.label for i, segment in ours.items() if i not in theirs),
        only_other=tuple(segment.label for i, segment in theirs.items() if i not in ours),
    )


def _last(record: Record, name: str) -> float:
    known = record.curve.column(name)
    known = known[~np.isnan(known)]
    return float(known[-1]) if len(known) else 0.0


def _beside(first: Record, other: Record, ours: Achieved, theirs: Achieved) -> Beside:
    apart = _apart_k(first, other, ours.index)
    return Beside(
        index=ours.index,
        label=ours.label,
        duration_s=(theirs.ended_s - theirs.started_s) - (ours.ended_s - ours.started_s),
        rate_c_per_h=_less(theirs.rate_c_per_h, ours.rate_c_per_h),
        soak_s=_less(theirs.soak_s, ours.soak_s),
        overshoot_k=_less(theirs.overshoot_k, ours.overshoot_k),
        energy_kwh=theirs.energy_kwh - ours.energy_kwh,
        mean_k=float(np.mean(apart)) if len(apart) else None,
        rms_k=float(np.sqrt(np.mean(apart**2))) if len(apart) else None,
    )


def _less(value: float | None, than: float | None) -> float | None:
    return None if value is None or than is None else value - than


def segment_curve(record: Record, index: int) -> tuple[Column, Column]:
    """Return (seconds since the segment began, oven temperature) where the temperature is known."""
    columns = record.curve.columns()
    mask = (columns["segment"] == index) & ~np.isnan(columns["process_c"])
    at_s = columns["elapsed_s"][mask]
    return (at_s - at_s[0] if len(at_s) else at_s), columns["process_c"][mask]


def _apart_k(first: Record, other: Record, index: int) -> Column:
    """Return the other run's temperature less the first's over the time both have, at the first's seconds."""
    at_s, first_c = segment_curve(first, index)
    other_at_s, other_c = segment_curve(other, index)
    if len(at_s) == 0 or len(other_at_s) == 0:
        return np.empty(0)
    shared = at_s <= other_at_s[-1]
    return np.asarray(np.interp(at_s[shared], other_at_s, other_c) - first_c[shared])
