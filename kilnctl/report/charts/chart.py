"""The curve of a heat on paper: PNG, SVG, or drawn into a page. Only this room loads matplotlib."""

from itertools import pairwise
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from kilnctl.profile.segments import Soak
from kilnctl.report.achieved import Achieved, achieved
from kilnctl.report.charts import legend
from kilnctl.report.charts.forecast_series import ForecastSeries
from kilnctl.report.charts.time_axis import axis_words, clock_of, merged, ticks_s
from kilnctl.report.layout.style import STYLE, TYPE_PT, UNDATED
from kilnctl.report.layout.type_setting import width_pt
from kilnctl.report.record import Record
from kilnctl.units import c_from_f, f_from_c

Column = NDArray[np.float64]
# Line styles differ as well as colours, for paper without colour and eyes without red.
LINES = (
    ("setpoint_c", "set-point", "#8a6d1d", (0, (5, 2)), 1.1),
    ("process_c", "oven", "#1f3b57", "solid", 1.4),
    ("part_c", "part, estimated", "#b3471f", (0, (1, 1)), 1.6),
    ("load_c", "part, measured", "#7a1f5c", "dashdot", 1.4),
    ("second_c", "second sensor", "#5f7f8f", (0, (3, 1, 1, 1)), 0.8),
)
HEAT, BAND = "#a87f2c", "#dfe6d8"
POINTS = 900
# A segment narrower than this share of the chart gets no number: they would lie on each other.
NARROW = 0.022
APART_PT = 3.0  # between the numbers of two segments
# Gaps of the record closer than a hair on paper are drawn as one.
HAIRS = 600
TIME_PT = 40.0  # of a time below the chart, with room beside it
STAMP_PT, STAMP_LETTERS = 34.0, 12.0  # across the chart, and never wider than it
OUT_TIMES = 4.0  # a longer pause than this in an evenly noted course is a part in the air
# A limit further above the curve than this share of it would press the curve flat.
LIMIT_NEAR = 1.25


def thin(at: Column, values: Column, points: int = POINTS) -> tuple[Column, Column]:
    """Return fewer points that keep every extreme: lowest and highest of each stretch, NaN where all is."""
    if len(at) <= 2 * points:
        return at, values
    edges = np.linspace(0, len(at), points + 1).astype(int)
    keep: list[int] = []
    nothing = np.isnan(values)
    low, high = np.where(nothing, np.inf, values), np.where(nothing, -np.inf, values)
    for start, stop in pairwise(edges):
        if nothing[start:stop].all():
            keep.append(start)
        else:
            keep += sorted({start + int(low[start:stop].argmin()), start + int(high[start:stop].argmax())})
    return at[keep], values[keep]


def with_breaks(record: Record, at_s: Column, values: Column) -> tuple[Column, Column]:
    """Return a line with a break in every gap of the record: nobody knows what was in between."""
    breaks = [start_s for start_s, _ in record.gaps]
    places = np.searchsorted(at_s, breaks, side="right")
    return np.insert(at_s, places, breaks), np.insert(values, places, np.nan)


def draw_band(axes: Any, told: ForecastSeries, unit_s: float, alone: bool) -> None:
    """Draw what was predicted: the band where it has a width, and its middle, paler below a run."""
    at, low, middle, high = np.array(told.points, dtype=float).T
    if np.any(high > low):
        axes.fill_between(at / unit_s, low, high, color="#c9d3dd", linewidth=0, zorder=0.5, label="band")
    colour, style, width = ("#1f3b57", "solid", 1.4) if alone else ("#7d8b98", (0, (1, 2)), 0.9)
    axes.plot(
        at / unit_s, middle, color=colour, linestyle=style, linewidth=width, zorder=0.6, label="predicted"
    )


def draw(record: Record, temperature: Any, duty: Any, told: ForecastSeries | None = None) -> None:
    """Draw a run into two axes that share their time axis, over what was predicted where that is given."""
    columns = record.curve.columns()
    at_s = columns["elapsed_s"]
    if told is not None:
        draw_band(temperature, told, 1.0, alone=False)
    for name, label, colour, style, width in LINES:
        values = columns[name]
        if len(values) and not np.isnan(values).all():
            temperature.plot(
                *with_breaks(record, *thin(at_s, values)),
                label=label,
                color=colour,
                linestyle=style,
                linewidth=width,
            )
    if len(at_s):
        heat = with_breaks(record, *thin(at_s, columns["duty"] * 100.0))
        duty.fill_between(*heat, color=HEAT, linewidth=0, step="post")
        temperature.set_xlim(0.0, max(float(at_s[-1]), 1.0))
        parts = achieved(record)
        _bands(record, parts, temperature)
        _edge(record, temperature)
        _limit(record, temperature)
        _segments(parts, temperature, duty)
        _gaps(record, float(at_s[-1]), temperature)
        temperature.set_ylim(bottom=0.0)
    _events(record, temperature)
    _dress(record, temperature, duty)
    _stamp(record, temperature)


def _bands(record: Record, parts: tuple[Achieved, ...], axes: Any) -> None:
    """Shade what was asked of each soak: its goal and the band around it."""
    profile, label = record.profile, "asked: goal and band"
    for part in parts:
        segment = None if profile is None else profile.segments[part.index]
        if isinstance(segment, Soak):
            low_c, high_c = segment.at_c - segment.band_k, segment.at_c + segment.band_k
            axes.fill_between(
                [part.started_s, part.ended_s],
                low_c,
                high_c,
                color=BAND,
                linewidth=0,
                zorder=0.4,
                label=label,
            )
            label = "_nolegend_"


def _edge(record: Record, axes: Any) -> None:
    """Draw the skin of a thin edge in sight of the elements: as a rule, and up to what it may be at most."""
    told = record.summary.get("treatment", {})
    course = np.array(told.get("thin edge course") or (), dtype=float)
    if course.ndim != 2 or course.shape[1] != 3:
        return
    at_s, likely_c, most_c = _apart(course).T
    known = not str(told.get("thin edge", "")).startswith("not known")
    label = "thin edge, estimated" if known else "thin edge, a guess"
    axes.fill_between(at_s, likely_c, most_c, color="#e8d3c8", linewidth=0, zorder=0.5, label=label)
    axes.plot(at_s, likely_c, color="#c98a6e", linewidth=0.8, zorder=0.6, label="_nolegend_")


def _apart(course: Column) -> Column:
    """Return a course with a break wherever the part was out of the oven: nobody estimates it there."""
    steps_s = np.diff(course[:, 0])
    if not len(steps_s):
        return course
    out = np.flatnonzero(steps_s > OUT_TIMES * np.median(steps_s))
    return np.insert(course, out + 1, np.nan, axis=0)


def _limit(record: Record, axes: Any) -> None:
    """Draw the oven's limit where it lies near enough to the curve to say something."""
    oven, process_c = record.oven, record.curve.column("process_c")
    if oven is None or np.isnan(process_c).all():
        return
    if oven.limit_c <= LIMIT_NEAR * float(np.nanmax(process_c)):
        label = f"oven's limit {oven.limit_c:.0f} °C"
        axes.axhline(oven.limit_c, color="#a01010", linewidth=1.0, linestyle=(0, (8, 3)), label=label)


def _segments(parts: tuple[Achieved, ...], temperature: Any, duty: Any) -> None:
    """Mark where the steps begin; above each stands its number, and its name where there is room."""
    wide_pt = legend.wide_pt(temperature)
    for part in parts:
        for axes in (temperature, duty):
            axes.axvline(part.started_s, color="#b8b8b0", linewidth=0.5, zorder=0)
        share = (part.ended_s - part.started_s) / max(parts[-1].ended_s, 1.0)
        number = str(part.index + 1)
        if share < NARROW or share * wide_pt < width_pt(number, TYPE_PT) + APART_PT:
            continue
        name = f"{number} {part.label}"
        temperature.annotate(
            name if width_pt(name, TYPE_PT) < share * wide_pt - 4.0 else number,
            ((part.started_s + part.ended_s) / 2.0, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            color="#45453f",
        )


def _gaps(record: Record, long_s: float, axes: Any) -> None:
    for place, span in enumerate(merged(record.gaps, long_s / HAIRS)):
        label = "no record" if place == 0 else None
        axes.axvspan(*span, color="#bdbdb6", linewidth=0, label=label)


def _events(record: Record, axes: Any) -> None:
    shown = {
        "trip": ("X", "#a01010", "trip"),
        "alarm": ("v", "#a85800", "alarm"),
        "adjust": ("D", "#37663a", "changed by hand"),
    }
    for kind, (marker, colour, label) in shown.items():
        at_s = [e.at_s for e in record.events if e.kind == kind]
        if at_s:
            where = axes.get_xaxis_transform()
            axes.plot(
                at_s, [0.95] * len(at_s), marker, color=colour, markersize=6, transform=where, label=label
            )


def fahrenheit(axes: Any) -> None:
    """Give axes of degC a second scale in degF."""
    axes.secondary_yaxis("right", functions=(f_from_c, c_from_f)).set_ylabel("°F")


def _dress(record: Record, temperature: Any, duty: Any) -> None:
    temperature.set_ylabel("temperature, °C")
    temperature.grid(axis="y", color="#e4e4de", linewidth=0.5)
    fahrenheit(temperature)
    legend.put_above(temperature)
    temperature.tick_params(labelbottom=False)
    duty.set_ylim(0, 100)
    duty.set_yticks([0, 100], ["0", "100 %"])
    duty.set_ylabel("heat")
    if len(record.curve):
        most, say = int(legend.wide_pt(duty) / TIME_PT), clock_of(record)
        marks = ticks_s(record, float(record.curve.column("elapsed_s")[-1]), most)
        duty.set_xticks(marks, [say(at_s) for at_s in marks])
    duty.set_xlabel(axis_words(record))


def _stamp(record: Record, axes: Any) -> None:
    if record.marks:
        axes.text(
            0.5,
            0.5,
            "\n".join(record.marks),
            transform=axes.transAxes,
            ha="center",
            va="center",
            fontsize=min(STAMP_PT, legend.wide_pt(axes) / STAMP_LETTERS),
            fontweight="bold",
            color="#a01010",
            alpha=0.14,
            rotation=20,
            zorder=0.3,  # behind the lines: it must be seen and must hide nothing
        )


def title(record: Record) -> str:
    """Return the one line that names a run on paper."""
    marks = f"  [{', '.join(record.marks)}]" if record.marks else ""
    return f"run {record.info.run}: {record.info.profile_name}, {record.info.oven}{marks}"


def figure(record: Record, alone: bool = True, told: ForecastSeries | None = None) -> Figure:
    """Return the chart of a run; with its title and hash where it stands alone."""
    with mpl.rc_context(STYLE):
        made = Figure(figsize=(10, 5.6), layout="constrained")
        temperature, duty = made.subplots(2, 1, sharex=True, height_ratios=[5, 1])
        draw(record, temperature, duty, told)
        if alone:
            made.suptitle(title(record), fontsize=10, x=0.01, ha="left")
            foot = f"hash {record.verdict.short}; supports a statement about this heat, claims no compliance"
            made.supxlabel(foot if told is None else told.basis, fontsize=8, x=0.99, ha="right")
        return made


def write_chart(record: Record, path: Path, kind: str, told: ForecastSeries | None = None) -> None:
    """Write the chart as png, svg or pdf. Raises OSError."""
    with mpl.rc_context(STYLE):
        figure(record, told=told).savefig(path, format=kind, dpi=160, metadata=UNDATED.get(kind, {}))
