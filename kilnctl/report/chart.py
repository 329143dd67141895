"""The curve of a heat on paper: PNG, SVG, or drawn into a page. Only this room loads matplotlib."""

import io
from itertools import pairwise
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from kilnctl.report.achieved import Achieved, achieved
from kilnctl.report.predicted_series import Foretold
from kilnctl.report.record import Record
from kilnctl.units import c_from_f, f_from_c

Column = NDArray[np.float64]
# Line styles differ as well as colours, for paper without colour and eyes without red.
LINES = (
    ("setpoint_c", "set-point", "#8a6d1d", (0, (5, 2)), 1.1),
    ("process_c", "oven, corrected", "#1f3b57", "solid", 1.4),
    ("part_c", "part, estimated", "#b3471f", (0, (1, 1)), 1.6),
    ("load_c", "part, measured", "#7a1f5c", "dashdot", 1.4),
    ("second_c", "second sensor", "#5f7f8f", (0, (3, 1, 1, 1)), 0.8),
)
POINTS = 900
LONG_S = 7200.0
# A segment narrower than this share of the chart gets no number: they would lie on each other.
NARROW = 0.02
# So that the same heat gives the same file.
UNDATED: dict[str, Any] = {"svg": {"Date": None}, "pdf": {"CreationDate": None}}
STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "kilnctl",
    "pdf.fonttype": 42,
    "font.family": "DejaVu Sans",
    "font.size": 8,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
}


def thin(at: Column, values: Column, points: int = POINTS) -> tuple[Column, Column]:
    """Return fewer points that keep every extreme: lowest and highest of each stretch, NaN where all is."""
    if len(at) <= 2 * points:
        return at, values
    edges = np.linspace(0, len(at), points + 1).astype(int)
    keep: list[int] = []
    for start, stop in pairwise(edges):
        part = values[start:stop]
        if np.isnan(part).all():
            keep.append(start)
        else:
            keep += sorted({start + int(np.nanargmin(part)), start + int(np.nanargmax(part))})
    return at[keep], values[keep]


def broken(record: Record, unit_s: float, at: Column, values: Column) -> tuple[Column, Column]:
    """Return a line with a break in every gap of the record: nobody knows what was in between."""
    breaks = [start_s / unit_s for start_s, _ in record.gaps]
    places = np.searchsorted(at, breaks, side="right")
    return np.insert(at, places, breaks), np.insert(values, places, np.nan)


def draw_band(axes: Any, told: Foretold, unit_s: float, alone: bool) -> None:
    """Draw what was foreseen: a band where it has a width, and its middle, paler where a run lies over it."""
    at, low, middle, high = np.array(told.points, dtype=float).T
    if np.any(high > low):
        axes.fill_between(at / unit_s, low, high, color="#c9d3dd", linewidth=0, zorder=0.5, label="band")
    colour, style, width = ("#1f3b57", "solid", 1.4) if alone else ("#7d8b98", (0, (1, 2)), 0.9)
    axes.plot(
        at / unit_s, middle, color=colour, linestyle=style, linewidth=width, zorder=0.6, label="foreseen"
    )


def draw(record: Record, temperature: Any, duty: Any, told: Foretold | None = None) -> None:
    """Draw a run into two axes that share their time axis, over what was foreseen where that is given."""
    columns = record.curve.columns()
    unit_s, unit = (3600.0, "hours") if record.curve.duration_s >= LONG_S else (60.0, "minutes")
    if told is not None:
        draw_band(temperature, told, unit_s, alone=False)
    at = columns["elapsed_s"] / unit_s
    for name, label, colour, style, width in LINES:
        values = columns[name]
        if len(values) and not np.isnan(values).all():
            temperature.plot(
                *broken(record, unit_s, *thin(at, values)),
                label=label,
                color=colour,
                linestyle=style,
                linewidth=width,
            )
    if len(at):
        heat = broken(record, unit_s, *thin(at, columns["duty"] * 100.0))
        duty.fill_between(*heat, color="#c9a45c", linewidth=0, step="post")
        _segments(achieved(record), unit_s, temperature, duty)
        _gaps(record, unit_s, temperature)
        temperature.set_xlim(0.0, max(float(at[-1]), 1e-3))
    _events(record, unit_s, temperature)
    _dress(temperature, duty, unit)
    _stamp(record, temperature)


def _segments(parts: tuple[Achieved, ...], unit_s: float, temperature: Any, duty: Any) -> None:
    for part in parts:
        for axes in (temperature, duty):
            axes.axvline(part.started_s / unit_s, color="#b8b8b0", linewidth=0.5, zorder=0)
        if part.ended_s - part.started_s < NARROW * parts[-1].ended_s:
            continue
        temperature.annotate(
            str(part.index + 1),
            ((part.started_s + part.ended_s) / 2.0 / unit_s, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            fontsize=7,
            color="#555550",
        )


def _gaps(record: Record, unit_s: float, axes: Any) -> None:
    for place, (start_s, stop_s) in enumerate(record.gaps):
        label = "no record" if place == 0 else None
        axes.axvspan(start_s / unit_s, stop_s / unit_s, color="#d9d9d4", linewidth=0, label=label)


def _events(record: Record, unit_s: float, axes: Any) -> None:
    shown = {
        "trip": ("v", "#a01010", "trip"),
        "alarm": ("v", "#c06a00", "alarm"),
        "adjust": ("D", "#37663a", "changed by hand"),
    }
    for kind, (marker, colour, label) in shown.items():
        at = [e.at_s / unit_s for e in record.events if e.kind == kind]
        if at:
            where = axes.get_xaxis_transform()
            axes.plot(at, [0.97] * len(at), marker, color=colour, markersize=5, transform=where, label=label)


def fahrenheit(axes: Any) -> None:
    """Give axes of degC a second scale in degF."""
    axes.secondary_yaxis("right", functions=(f_from_c, c_from_f)).set_ylabel("°F")


def _dress(temperature: Any, duty: Any, unit: str) -> None:
    temperature.set_ylabel("temperature, °C")
    temperature.grid(axis="y", color="#e4e4de", linewidth=0.5)
    fahrenheit(temperature)
    if temperature.get_legend_handles_labels()[0]:
        temperature.legend(
            loc="lower left", bbox_to_anchor=(0.0, 1.04), ncols=8, frameon=False, fontsize=7, borderpad=0.0
        )
    temperature.tick_params(labelbottom=False)
    duty.set_ylim(0, 100)
    duty.set_yticks([0, 50, 100])
    duty.set_ylabel("heat, %")
    duty.set_xlabel(f"{unit} since the start")


def _stamp(record: Record, axes: Any) -> None:
    if record.marks:
        axes.text(
            0.5,
            0.5,
            "\n".join(record.marks),
            transform=axes.transAxes,
            ha="center",
            va="center",
            fontsize=34,
            fontweight="bold",
            color="#a01010",
            alpha=0.16,
            rotation=20,
        )


def title(record: Record) -> str:
    """Return the one line that names a run on paper."""
    marks = f"  [{', '.join(record.marks)}]" if record.marks else ""
    return f"run {record.info.run}: {record.info.profile_name}, {record.info.oven}{marks}"


def figure(record: Record, alone: bool = True, told: Foretold | None = None) -> Figure:
    """Return the chart of a run; with its title and hash where it stands alone."""
    with mpl.rc_context(STYLE):
        made = Figure(figsize=(10, 5.6), layout="constrained")
        temperature, duty = made.subplots(2, 1, sharex=True, height_ratios=[5, 1])
        draw(record, temperature, duty, told)
        if alone:
            made.suptitle(title(record), fontsize=10, x=0.01, ha="left")
            foot = f"short hash {record.verdict.short}   records to support; no claim of compliance"
            foot = foot if told is None else told.basis
            made.supxlabel(foot, fontsize=6, x=0.99, ha="right")
        return made


def write_chart(record: Record, path: Path, kind: str, told: Foretold | None = None) -> None:
    """Write the chart as png, svg or pdf. Raises OSError."""
    with mpl.rc_context(STYLE):
        figure(record, told=told).savefig(path, format=kind, dpi=160, metadata=UNDATED.get(kind, {}))


def svg_text(record: Record) -> str:
    """Return the chart as SVG that can stand inside a page."""
    out = io.StringIO()
    with mpl.rc_context(STYLE):
        figure(record, alone=False).savefig(out, format="svg", metadata={"Date": None})
    text = out.getvalue()
    return text[text.index("<svg") :]
