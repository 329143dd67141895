"""A heat that has not been run yet, on paper: the predicted curve with its band and the steps of the plan."""

from collections.abc import Sequence
from itertools import chain, repeat
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.figure import Figure

from kilnctl.report.charts import legend
from kilnctl.report.charts.chart import APART_PT, NARROW, draw_band, fahrenheit
from kilnctl.report.charts.forecast_series import ForecastSeries
from kilnctl.report.charts.time_axis import unit_of
from kilnctl.report.layout.style import STYLE, TYPE_PT, UNDATED
from kilnctl.report.layout.type_setting import width_pt

SPAN = "a step may end within this span"


def figure(told: ForecastSeries, title: str) -> Figure:
    """Return the chart of a plan."""
    with mpl.rc_context(STYLE):
        made = Figure(figsize=(10, 4.6), layout="constrained")
        draw_plan(made.subplots(), told)
        made.suptitle(title, fontsize=11, x=0.01, ha="left")
        made.supxlabel(told.basis, fontsize=8, x=0.99, ha="right")
        return made


def draw_plan(axes: Any, told: ForecastSeries) -> None:
    """Draw the predicted curve with its band and the plan's steps."""
    unit_s, unit = unit_of(told.points[-1][0])
    draw_band(axes, told, unit_s, alone=True)
    _steps(axes, told, unit_s)
    axes.set_xlim(0.0, told.points[-1][0] / unit_s)
    axes.set_ylim(bottom=0.0)
    axes.set_xlabel(f"{unit} since the start")
    axes.set_ylabel("temperature, °C")
    axes.grid(axis="y", color="#e4e4de", linewidth=0.5)
    fahrenheit(axes)
    legend.put_above(axes)


def _steps(axes: Any, told: ForecastSeries, unit_s: float) -> None:
    """Mark the steps' ends, with the number of each step that is wide enough to carry one."""
    total_s, start_s, wide_pt = told.points[-1][0], 0.0, legend.wide_pt(axes)
    for number, (end_s, _, _) in enumerate(told.ends, 1):
        axes.axvline(end_s / unit_s, color="#b8b8b0", linewidth=0.5, zorder=0)
        share, name = (end_s - start_s) / total_s, str(number)
        if share >= NARROW and share * wide_pt >= width_pt(name, TYPE_PT) + APART_PT:
            axes.annotate(
                name,
                ((start_s + end_s) / 2.0 / unit_s, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(0, 3),
                textcoords="offset points",
                ha="center",
                color="#555550",
            )
        start_s = end_s
    for label, span in zip(chain((SPAN,), repeat("")), apart(told.ends), strict=False):
        style: Any = {"color": "#b3471f", "linewidth": 1.4, "transform": axes.get_xaxis_transform()}
        axes.plot([s / unit_s for s in span], [0.985] * 2, label=label, **style)


def apart(ends: Sequence[tuple[float, float, float | None]]) -> list[tuple[float, float]]:
    """Return earliest and latest of the steps' ends, without those that would lie on one before."""
    spans: list[tuple[float, float]] = []
    for _, early_s, late_s in ends:
        if late_s is not None and late_s > early_s and (not spans or early_s > spans[-1][1]):
            spans.append((early_s, late_s))
    return spans


def write_forecast(told: ForecastSeries, title: str, path: Path, kind: str) -> None:
    """Write the chart of a plan as png, svg or pdf. Raises OSError."""
    with mpl.rc_context(STYLE):
        figure(told, title).savefig(path, format=kind, dpi=160, metadata=UNDATED.get(kind, {}))
