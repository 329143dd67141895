"""Runs drawn over each other: whole ones from their starts, or segment by segment."""

from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from kilnctl.report.achieved import achieved
from kilnctl.report.charts import legend
from kilnctl.report.charts.chart import thin
from kilnctl.report.charts.page_svg import page_svg
from kilnctl.report.charts.time_axis import unit_of
from kilnctl.report.compare import segment_curve
from kilnctl.report.layout.style import STYLE, UNDATED
from kilnctl.report.record import Record

WIDE_IN, NARROW_IN = (8.6, 3.8), (4.3, 4.2)
COLOURS = ("#1f3b57", "#b3471f", "#37663a", "#7a1f5c", "#8a6d1d", "#5f7f8f")
STYLES = ("solid", (0, (5, 2)), (0, (1, 1)), "dashdot", (0, (3, 1, 1, 1)), (0, (8, 2)))


def draw_overlay(records: tuple[Record, ...], axes: Any) -> None:
    """Draw the runs over each other from the start of each, short ones in minutes."""
    longest_s = max(record.curve.duration_s if len(record.curve) else 0.0 for record in records)
    unit_s, unit = unit_of(longest_s)
    for place, record in enumerate(records):
        columns = record.curve.columns()
        axes.plot(
            *thin(columns["elapsed_s"] / unit_s, columns["process_c"]),
            color=COLOURS[place % len(COLOURS)],
            linestyle=STYLES[place % len(STYLES)],
            linewidth=1.2,
            label=_name(record),
        )
    axes.set_ylim(bottom=0.0)
    axes.set_xlim(left=0.0)
    axes.set_ylabel("oven temperature, °C")
    axes.set_xlabel(f"{unit} since the start of each run")
    axes.grid(axis="y", color="#e4e4de", linewidth=0.5)
    legend.put_above(axes)


def _name(record: Record) -> str:
    marks = f" [{', '.join(record.marks)}]" if record.marks else ""
    return f"run {record.info.run}{marks}"


def overlay_svg(records: tuple[Record, ...]) -> str:
    """Return the runs over each other as SVG for a page."""
    name = "The runs over each other; the table has the differences in numbers"
    return page_svg(name, lambda figure: draw_overlay(records, figure.subplots()), WIDE_IN, NARROW_IN)


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
        figure.supxlabel("minutes since the step began")
        figure.savefig(path, format=kind, dpi=160, metadata=UNDATED.get(kind, {}))


def _panel(axes: Any, records: tuple[Record, ...], index: int, name: str) -> None:
    for place, record in enumerate(records):
        at_s, process_c = segment_curve(record, index)
        axes.plot(
            *thin(at_s / 60.0, process_c),
            color=COLOURS[place % len(COLOURS)],
            linestyle=STYLES[place % len(STYLES)],
            linewidth=1.1,
            label=f"run {record.info.run}",
        )
    axes.set_title(name, fontsize=9)
    axes.grid(axis="y", color="#e4e4de", linewidth=0.5)
