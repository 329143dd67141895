"""The live curve: measured, set-point, part, the predicted rest with its band, limit, segments, events."""

from collections.abc import Sequence
from typing import ClassVar

import numpy as np
from textual.binding import BindingType
from textual_hires_canvas import HiResMode
from textual_plot import PlotWidget
from textual_plot.axis_formatter import AxisFormatter

from kilnctl.dashboard.formatting import Degrees, limit_in_force_c
from kilnctl.dashboard.history import Floats, History, dashes, decimate, pieces
from kilnctl.link.snapshot import Snapshot
from kilnctl.stages import LIVE

SPANS = ("whole heat", "last 30 min", "around now")
LAST_S, AFTER_S = 1800.0, 1800.0
TICKS_S = (60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400)
TICKS_DEGREES = (1, 2, 5, 10, 20, 50, 100, 200, 250, 500, 1000)
ROOM_FOR_LIMIT = (
    10  # rows: in a lower chart a far limit would squeeze the heat flat; it stands as a number too
)
Window = tuple[float, float]


class HoursMinutes(AxisFormatter):
    """Time of the run as h:mm; `most` labels find room."""

    most = 8

    def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
        """Return round times inside the window."""
        step = next((t for t in TICKS_S if (max_ - min_) / t <= self.most), TICKS_S[-1])
        return [float(t) for t in range(int(-(-min_ // step) * step), int(max_) + 1, step)]

    def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
        """Return h:mm labels."""
        return [f"{int(t // 3600)}:{int(t % 3600 // 60):02d}" for t in ticks]


def window(s: Snapshot, span: str) -> Window:
    """Return the times of the run that a span shows."""
    if span == "last 30 min":
        return max(0.0, s.elapsed_s - LAST_S), max(s.elapsed_s, 60.0)
    if span == "around now":
        return max(0.0, s.elapsed_s - LAST_S / 2), s.elapsed_s + AFTER_S
    ends = [s.elapsed_s, 60.0]
    if s.state in LIVE:
        ends += [p[0] for p in s.prediction[-1:]]
        ends += [seg.predicted_end_s or 0.0 for seg in s.segments[-1:]]
    return 0.0, max(ends)


def heights(values: list[Floats], limit: float, whole: bool) -> Window:
    """Return round limits of the temperature axis; the limit line is left out where it lies far away."""
    flat = np.concatenate([*values, np.empty(0)])
    flat = flat[np.isfinite(flat)]
    low, high = (float(flat.min()), float(flat.max())) if len(flat) else (0.0, 100.0)
    if whole:
        low, high = min(0.0, low), max(high, limit)
    elif limit - high < 0.25 * (high - low) + 20.0:
        high = max(high, limit)
    room = max(2.0, 0.06 * (high - low))
    return low - (0.0 if whole and low == 0.0 else room), high + room


def round_ticks(low: float, high: float, most: int) -> list[float]:
    """Return round temperatures inside the axis, at most `most`."""
    step = next((t for t in TICKS_DEGREES if (high - low) / t <= max(1, most)), TICKS_DEGREES[-1])
    return [float(t) for t in range(int(-(-low // step) * step), int(high) + 1, step)]


def still_ahead(s: Snapshot, to_s: float) -> Floats:
    """Return the predicted rest of the heat: what lies before now, or after the end, is no prediction."""
    rest = [p for p in s.prediction if s.elapsed_s <= p[0] <= to_s] if s.state in LIVE else []
    return np.array(rest, dtype=np.float64).reshape(-1, 4)


class HeatCurve(PlotWidget, can_focus=False):
    """The chart. It must not take the focus, or it would own keys that belong to the screen."""

    BINDINGS: ClassVar[list[BindingType]] = []
    DEFAULT_CSS = """
    HeatCurve { height: 1fr; }
    HeatCurve > .plot--axis { color: $quiet; }
    HeatCurve > .plot--tick { color: $soft; text-style: none; }
    """

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, allow_pan_and_zoom=False)
        self.fine, self.grey = HiResMode.BRAILLE, False

    def on_mount(self) -> None:
        """Take as little room for the axes as their labels need."""
        super().on_mount()
        self.margin_top, self.margin_bottom, self.margin_left = 0, 1, 6
        self._hours = HoursMinutes()
        self.set_x_formatter(self._hours)

    def draw(
        self, s: Snapshot, history: History, span: str, degrees: Degrees, plain: bool, grey: bool = False
    ) -> None:
        """Draw everything anew; an old picture in one grey. Costs some 10 ms; called once a second.

        The grey is drawn, not an opacity of the style sheet: over rows without a style, which the library
        draws while its canvas has another size, that ends the screen.
        """
        self.grey = grey
        self.fine = HiResMode.HALFBLOCK if plain else HiResMode.BRAILLE
        from_s, to_s = window(s, span)
        columns = max(20, self.size.width - self.margin_left)
        self._hours.most = max(2, columns // 9)
        lines = {
            name: decimate(*history.line(name, from_s, to_s), columns)
            for name in ("part", "process", "setpoint")
        }
        ahead = still_ahead(s, to_s)
        shown = [*(y for _, y in lines.values()), ahead[:, 1], ahead[:, 3], np.array([s.goal_c or np.nan])]
        whole = span == SPANS[0] and self.size.height >= ROOM_FOR_LIMIT
        low_c, high_c = heights(shown, limit_in_force_c(s), whole)
        with self.app.batch_update():
            self.clear()
            self.set_xlimits(from_s, to_s)
            low, high = degrees.of(low_c), degrees.of(high_c)
            self.set_ylimits(low, high)
            self.set_yticks(round_ticks(low, high, max(2, self.size.height // 3)))
            self._background(s, degrees, (from_s, to_s), (low_c, high_c), history)
            self._prediction(ahead, degrees, columns)
            self._dashed(*lines["part"], degrees, "part", columns)
            self._dashed(*lines["setpoint"], degrees, "goal", columns // 4)
            self._line(*lines["process"], degrees, "measured")  # last: what is drawn later covers

    def _colour(self, name: str) -> str:
        return self.app.theme_variables["quiet" if self.grey else name]

    def _background(
        self, s: Snapshot, degrees: Degrees, times: Window, points_c: Window, history: History
    ) -> None:
        for segment in s.segments:
            start_s = segment.started_s
            if start_s is not None and times[0] < start_s < times[1]:
                self.add_v_line(start_s, self._colour("quiet"))
        limit_c = limit_in_force_c(s)
        if points_c[0] < limit_c < points_c[1]:
            limit = np.full(2, limit_c)
            self._dashed(np.array(times), limit, degrees, "limit", 12)
        marks = [e.at_s for e in history.events if times[0] <= e.at_s <= times[1]]
        if marks:
            top = degrees.of(points_c[0] + 0.96 * (points_c[1] - points_c[0]))
            self.scatter(marks, [top] * len(marks), marker="v", marker_style=self._colour("strong"))

    def _prediction(self, ahead: Floats, degrees: Degrees, columns: int) -> None:
        if len(ahead) < 2:
            return
        self._dashed(ahead[:, 0], ahead[:, 2], degrees, "ahead", columns // 3)
        for side in (1, 3):
            x = np.linspace(ahead[0, 0], ahead[-1, 0], columns)
            y = np.interp(x, ahead[:, 0], ahead[:, side])
            self.scatter(x, _shown(y, degrees), marker_style=self._colour("quiet"), hires_mode=self.fine)

    def _line(self, x: Floats, y: Floats, degrees: Degrees, style: str) -> None:
        for px, py in pieces(x, y):
            self.plot(px, _shown(py, degrees), line_style=self._colour(style), hires_mode=self.fine)

    def _dashed(self, x: Floats, y: Floats, degrees: Degrees, style: str, count: int) -> None:
        for px, py in pieces(x, y):
            for dx, dy in dashes(px, py, max(2, count)):
                self.plot(dx, _shown(dy, degrees), line_style=self._colour(style), hires_mode=self.fine)


def _shown(y_c: Floats, degrees: Degrees) -> Floats:
    return y_c if degrees.unit == "C" else y_c * 1.8 + 32.0
