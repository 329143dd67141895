"""Runs beside each other, aligned at the starts of their segments."""

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from kilnctl.report.achieved import Achieved, achieved
from kilnctl.report.charts.chart import thin
from kilnctl.report.layout.style import STYLE, UNDATED
from kilnctl.report.record import Record

Column = NDArray[np.float64]
COLOURS = ("#1f3b57", "#b3471f", "#37663a", "#7a1f5c", "#8a6d1d", "#5f7f8f")
STYLES = ("solid", (0, (5, 2)), (0, (1, 1)), "dashdot", (0, (3, 1, 1, 1)), (0, (8, 2)))


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


def _segment(record: Record, index: int) -> tuple[Column, Column]:
    """Return (seconds since the segment began, oven temperature) where the temperature is known."""
    columns = record.curve.columns()
    mask = (columns["segment"] == index) & ~np.isnan(columns["process_c"])
    at_s = columns["elapsed_s"][mask]
    return (at_s - at_s[0] if len(at_s) else at_s), columns["process_c"][mask]


def _apart_k(first: Record, other: Record, index: int) -> Column:
    """Return the other run's temperature less the first's over the time both have, at the first's seconds."""
    at_s, first_c = _segment(first, index)
    other_at_s, other_c = _segment(other, index)
    if len(at_s) == 0 or len(other_at_s) == 0:
        return np.empty(0)
    shared = at_s <= other_at_s[-1]
    return np.asarray(np.interp(at_s[shared], other_at_s, other_c) - first_c[shared])


def draw_overlay(records: tuple[Record, ...], axes: Any) -> None:
    """Draw the runs over each other from the start of each, in hours."""
    for place, record in enumerate(records):
        columns = record.curve.columns()
        axes.plot(
            *thin(columns["elapsed_s"] / 3600.0, columns["process_c"]),
            color=COLOURS[place % len(COLOURS)],
            linestyle=STYLES[place % len(STYLES)],
            linewidth=1.2,
            label=_name(record),
        )
    axes.set_ylim(bottom=0.0)
    axes.set_xlim(left=0.0)
    axes.set_ylabel("oven temperature, °C")
    axes.set_xlabel("hours since the start of each run")
    axes.grid(axis="y", color="#e4e4de", linewidth=0.5)
    axes.legend(loc="lower left", bbox_to_anchor=(-0.02, 1.02), ncols=3, frameon=False)


def _name(record: Record) -> str:
    marks = f" [{', '.join(record.marks)}]" if record.marks else ""
    return f"run {record.info.run}{marks}"


def overlay_svg(records: tuple[Record, ...]) -> str:
    """Return the runs over each other as SVG for a page."""
    out = io.StringIO()
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(8.6, 3.8), layout="constrained")
        draw_overlay(records, figure.subplots())
        figure.savefig(out, format="svg", metadata={"Date": None})
    text = out.getvalue()
    name = "The runs over each other; the table has the differences in numbers"
    return f'<svg role="img" aria-label="{name}"' + text[text.index("<svg") + 4 :]


def write_overlay(records: tuple[Record, ...], path: Path, kind: str) -> None:
    """Write the runs as png or svg, one panel a segment, aligned at its start. Raises OSError."""
    shown = sorted({segment.index: segment for r in reversed(records) for segment in achieved(r)}.items())
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(max(6.0, 2.6 * len(shown)), 4.6), layout="constrained")
        axes = np.atleast_1d(figure.subplots(1, max(1, len(shown)), sharey=True))
        for panel, (index, segment) in zip(axes, shown, strict=False):
            _panel(panel, records, index, f"{index + 1} {segment.label}")
        axes[0].set_ylabel("oven temperature, °C")
        axes[0].legend(loc="best", frameon=False)
        names = "; ".join(f"{_name(r)} {r.info.profile_name}, {r.info.oven}" for r in records)
        figure.suptitle(names, x=0.01, ha="left")
        figure.supxlabel("minutes since the segment began")
        figure.savefig(path, format=kind, dpi=160, metadata=UNDATED.get(kind, {}))


def _panel(axes: Any, records: tuple[Record, ...], index: int, name: str) -> None:
    for place, record in enumerate(records):
        at_s, process_c = _segment(record, index)
        axes.plot(
            *thin(at_s / 60.0, process_c),
            color=COLOURS[place % len(COLOURS)],
            linestyle=STYLES[place % len(STYLES)],
            linewidth=1.1,
            label=f"run {record.info.run}",
        )
    axes.set_title(name, fontsize=9)
    axes.grid(axis="y", color="#e4e4de", linewidth=0.5)
