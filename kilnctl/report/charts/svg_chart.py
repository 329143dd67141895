"""A run's chart as SVG inside a page: named for those who cannot see it, and it answers the mouse."""

from html import escape
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.figure import Figure

from kilnctl.report.charts.chart import LINES, draw
from kilnctl.report.charts.page_svg import page_svg
from kilnctl.report.charts.time_axis import clock_of
from kilnctl.report.record import Record

WIDE_IN, NARROW_IN = (8.6, 4.8), (4.3, 5.0)
SLICES = 240


def svg_text(record: Record) -> str:
    """Return the chart as SVG. Each upright slice of the wide one says what was measured there."""

    def paint(figure: Figure) -> None:
        draw(record, *figure.subplots(2, 1, sharex=True, height_ratios=[7, 1]))

    return page_svg(
        _name(record), paint, WIDE_IN, NARROW_IN, lambda figure: _slices(record, *figure.axes[:2])
    )


def _name(record: Record) -> str:
    peak = "" if record.info.peak_c is None else f", highest {record.info.peak_c:.0f} °C"
    return f"Temperature of run {record.info.run} over time{peak}; the table of steps has the numbers"


def _slices(record: Record, temperature: Any, duty: Any) -> str:
    """Return invisible slices over both charts, each with its reading as a title."""
    columns, wide, high = record.curve.columns(), WIDE_IN[0] * 72.0, WIDE_IN[1] * 72.0
    at_s = columns["elapsed_s"]
    if not len(at_s):
        return ""
    above, below = temperature.get_position(), duty.get_position()
    top, tall = (1.0 - above.y1) * high, (above.y1 - below.y0) * high
    left_s, right_s = temperature.get_xlim()
    edges = np.linspace(left_s, right_s, SLICES + 1)
    said = []
    for start_s, stop_s in pairwise(edges):
        x = (above.x0 + above.width * (start_s - left_s) / (right_s - left_s)) * wide
        step = above.width * wide / SLICES
        nearest = int(np.argmin(np.abs(at_s - (start_s + stop_s) / 2.0)))
        if abs(at_s[nearest] - (start_s + stop_s) / 2.0) > stop_s - start_s + 5.0:
            continue  # in a gap of the record nothing is known
        words = _reading(record, columns, nearest)
        said.append(
            f'<rect class="slice" fill-opacity="0" x="{x:.1f}" y="{top:.1f}" width="{step:.2f}" '
            f'height="{tall:.1f}"><title>{escape(words)}</title></rect>'
        )
    return f"<g>{''.join(said)}</g>"


def _reading(record: Record, columns: Any, at: int) -> str:
    say, elapsed_s = clock_of(record), float(columns["elapsed_s"][at])
    hours, minutes = divmod(round(elapsed_s / 60.0), 60)
    values = [
        f"{label} {columns[name][at]:.1f} °C"
        for name, label, *_ in LINES
        if len(columns[name]) and not np.isnan(columns[name][at])
    ]
    heat = "" if np.isnan(columns["duty"][at]) else f"\nheat {columns['duty'][at] * 100.0:.0f} %"
    return f"{say(elapsed_s)} ({hours} h {minutes:02d} min after the start)\n" + "\n".join(values) + heat
