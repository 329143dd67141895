"""The live curve: measured, set-point, part, the predicted rest with its band, limit, segments, events."""

import numpy as np
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.content import Content
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.drawing.dots import Dots, Row, Run, Window, framed
from kilnctl.dashboard.drawing.text_layout import first_that_fit, fit, text
from kilnctl.dashboard.formatting import Degrees, limit_in_force_c
from kilnctl.dashboard.history import Floats, History, decimate
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import Snapshot
from kilnctl.stages import LIVE

SPANS = ("whole heat", "last 30 min", "around now")
LAST_S, AFTER_S = 1800.0, 1800.0
TICKS_S = (60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400)
TICKS_DEGREES = (1, 2, 5, 10, 20, 50, 100, 200, 250, 500, 1000)
# rows: in a lower chart a far limit would squeeze the heat flat; it stands as a number too
ROOM_FOR_LIMIT = 10
MARGIN, FOOT = 6, 2
LOW = 6  # rows: in a chart lower than this the times stand without their axis
MOST_TICKS = 8
READ = (("measured", "process"), ("set-point", "setpoint"), ("part", "part"), ("thin edge", "skin"))
THERE_K = 2.0  # this near the goal a prediction has arrived


def hours(at_s: float) -> str:
    """Return a time of the run as h:mm."""
    return f"{int(at_s // 3600)}:{int(at_s % 3600 // 60):02d}"


def round_times(from_s: float, to_s: float, most: int) -> list[float]:
    """Return round times inside a window, at most `most` or so."""
    step = next((t for t in TICKS_S if (to_s - from_s) / t <= most), TICKS_S[-1])
    return [float(t) for t in range(int(-(-from_s // step) * step), int(to_s) + 1, step)]


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


def arrival(s: Snapshot) -> str:
    """Return when the goal will be reached and how surely: "800 °C 13:41 (13:35–13:58)", empty where unknown.

    A bound that the band does not reach is left out.
    """
    ahead, goal_c = still_ahead(s, np.inf), s.goal_c
    if (
        s.waits_for
        or goal_c is None
        or s.process_c is None
        or len(ahead) < 2
        or abs(goal_c - s.process_c) < 2 * THERE_K
    ):
        return ""
    rising = goal_c > s.process_c
    found = []
    for line in (3, 2, 1) if rising else (1, 2, 3):
        there = ahead[:, line] >= goal_c - THERE_K if rising else ahead[:, line] <= goal_c + THERE_K
        found.append(float(ahead[int(np.argmax(there)), 0]) if there.any() else None)
    first, middle, last = (None if at is None else words.later_time(s, at - s.elapsed_s) for at in found)
    if middle is None:
        return ""
    return f"{middle} ({first}–{last})" if first and last and first != last else middle


class HeatCurve(Widget, can_focus=False):
    """The chart. It must not take the focus, or it would own keys that belong to the screen."""

    DEFAULT_CSS = "HeatCurve { height: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.rows: list[Row] = []
        self.times: Window = (0.0, 1.0)
        self._theme, self._styles = "", {"": Style()}

    def draw(
        self,
        s: Snapshot,
        history: History,
        span: str,
        degrees: Degrees,
        plain: bool,
        grey: bool = False,
        cursor_s: float | None = None,
    ) -> None:
        """Draw everything anew, an old picture in one grey; what has changed is sent to the terminal."""
        low = self.size.height < LOW
        width, height = self.size.width - MARGIN, self.size.height - (1 if low else FOOT)
        self.times = window(s, span)
        if width < 10 or height < 2:
            self._put([])
            return
        rows = picture(s, history, span, degrees, plain, width, height, cursor_s, low)
        self._put([tuple(run._replace(style="quiet") for run in row) for row in rows] if grey else rows)

    def _put(self, rows: list[Row]) -> None:
        """Keep the rows; where the look and the height are the same, only other rows are drawn again."""
        before, self.rows = self.rows, rows
        if self.app.theme != self._theme or len(before) != len(rows):
            self._theme = self.app.theme
            self._styles = {"": Style()}
            self.refresh()
            return
        changed = [i for i, (old, new) in enumerate(zip(before, rows, strict=True)) if old != new]
        if changed:
            self.refresh(*(Region(0, i, self.size.width, 1) for i in changed))

    def render_line(self, y: int) -> Strip:
        """Return one row: made here, because words with styles cost three times as much."""
        width, usual = self.size.width, self.visual_style.rich_style
        if y >= len(self.rows):
            return Strip.blank(width, usual)
        made = [Segment(run.text, usual + self._style(run.style, run.ground)) for run in self.rows[y]]
        return Strip(made).adjust_cell_length(width, usual)

    def _style(self, name: str, ground: str) -> Style:
        key = f"{name} {ground}"
        if key not in self._styles:
            colours = self.app.theme_variables
            self._styles[key] = Style(color=colours.get(name), bgcolor=colours.get(ground))
        return self._styles[key]

    def step_s(self) -> float:
        """Return how many seconds of the run a column is."""
        return (self.times[1] - self.times[0]) / max(1, self.size.width - MARGIN)

    def time_at(self, column: int) -> float:
        """Return the time of the run in a column of the widget."""
        return self.times[0] + (max(0, column - MARGIN) + 0.5) * self.step_s()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Read the curve where the mouse is."""
        self.post_message(self.Read(self.time_at(event.x)))

    def on_leave(self) -> None:
        """The mouse has gone: so has what it read."""
        self.post_message(self.Read(None))

    class Read(Message):
        """Somebody wants to know what was at a time of the run; None: nobody does any more."""

        def __init__(self, at_s: float | None) -> None:
            super().__init__()
            self.at_s = at_s


def picture(
    s: Snapshot,
    history: History,
    span: str,
    degrees: Degrees,
    plain: bool,
    width: int,
    height: int,
    cursor_s: float | None = None,
    low: bool = False,
) -> list[Row]:
    """Return the chart: `width` by `height` cells inside its axes; a `low` one has times below, no axis."""
    from_s, to_s = window(s, span)
    names = ("part", "process", "setpoint", "limit", "skin")
    found = {name: decimate(*history.line(name, from_s, to_s), 4 * width) for name in names}
    ahead = still_ahead(s, to_s)
    shown = [
        found["part"][1],
        found["skin"][1],
        found["process"][1],
        found["setpoint"][1],
        ahead[:, 1],
        ahead[:, 3],
    ]
    whole = span == SPANS[0] and height + FOOT >= ROOM_FOR_LIMIT
    points_c = heights([*shown, np.array([s.goal_c or np.nan])], limit_in_force_c(s), whole)
    (low_c, high_c), lift_k = limit_apart(points_c, height, limit_in_force_c(s), [*shown[2:3], ahead[:, 2]])
    dots = Dots(width, height, (from_s, to_s), (low_c, high_c), fine=not plain)
    if cursor_s is not None:
        for row in range(height):
            dots.words(dots.column(cursor_s), row, "|" if plain else "│", "strong")
    limit_row = _limit(dots, s, found["limit"], to_s, (low_c, high_c), lift_k)
    dots.thin(*found["part"], "·", "part")
    dots.thin(*found["skin"], "~", "part")
    dots.thin(*found["setpoint"], "╌", "goal")
    dots.shade(ahead[:, 0], ahead[:, 1], ahead[:, 3])
    dots.line(ahead[:, 0], ahead[:, 2], "ahead", broken=True)
    dots.line(*found["process"], "measured")  # last: what is drawn later covers
    for event in history.events:
        if from_s <= event.at_s <= to_s:
            dots.words(dots.column(event.at_s), 0, "v", "strong")
    _labels(dots, s, degrees, limit_row)
    bottom, top = degrees.of(low_c), degrees.of(high_c)
    ticks: dict[int, str] = {}
    for tick in round_ticks(bottom, top, min(MOST_TICKS, max(3, height // 3))):
        ticks[int((top - tick) / (top - bottom) * height)] = f"{tick:.0f}"
    ticks.pop(-1 if limit_row is None else limit_row, "")  # its own label has another number
    times = _times(dots, from_s, to_s, degrees.mark if low else "")
    foot = [times] if low else [_axis(dots, s, (from_s, to_s), plain, degrees.mark), times]
    return framed(dots.rows(), ticks, foot, MARGIN)


def curve_reading(v: View, history: History, at_s: float, width: int) -> Content:
    """Return what the curve was at a time of the run, or what is predicted for it."""
    s, d = v.s, v.degrees
    head = f"── at {hours(at_s)} ({words.later_time(s, at_s - s.elapsed_s)})"
    ahead = still_ahead(s, np.inf)
    if at_s > s.elapsed_s and len(ahead) > 1:
        low, middle, high = (float(np.interp(at_s, ahead[:, 0], ahead[:, n])) for n in (1, 2, 3))
        return text(
            (
                fit(f"{head} predicted {d.point(middle)}, {d.number(low)}–{d.number(high)}", width),
                "bold $strong",
            )
        )
    found = [(name, value) for name, line in READ if (value := history.value(line, at_s)) is not None]
    read = [f"{name} {d.number(value, 1)}" for name, value in found]
    said = f"{first_that_fit(read, width - len(head) - 4)} {d.mark}" if read else "nothing recorded"
    return text((fit(f"{head} {said}", width), "bold $strong"))


def limit_apart(points_c: Window, height: int, limit_c: float, below: list[Floats]) -> tuple[Window, float]:
    """Return the axis, and by how many kelvin the limit is drawn higher: a cell where it is a cell's affair.

    A limit that shares a cell with a lower curve would be drawn in its middle, and the curve above it.
    """
    low, high = points_c
    flat = np.concatenate(below)
    flat = flat[flat < limit_c]  # NaN is not below
    if not len(flat) or not low < limit_c < high or height < 3:
        return points_c, 0.0
    top_c, cell = float(flat.max()), (high - low) / height
    if int((high - limit_c) / cell) == 0 and int((high - top_c) / cell) == 0:
        high += cell
        cell = (high - low) / height
    shared = int((high - limit_c) / cell) >= int((high - top_c) / cell)
    return (low, high), cell if shared else 0.0


def _limit(
    dots: Dots, s: Snapshot, past: tuple[Floats, Floats], to_s: float, points_c: Window, lift_k: float
) -> int | None:
    """Draw the limit as it was in force at each time, and from now on the one of now; return its row."""
    (x, y), limit_c = past, limit_in_force_c(s)
    y = np.where((y > points_c[0]) & (y < points_c[1]), y, np.nan)
    dots.thin(x, np.where(np.abs(y - limit_c) < THERE_K, y + lift_k, y), "═", "limit")
    if s.state not in LIVE or not points_c[0] < limit_c < points_c[1]:
        return None
    dots.thin(np.array([s.elapsed_s, to_s]), np.full(2, limit_c + lift_k), "═", "limit")
    return dots.row(limit_c + lift_k) // 2


def _labels(dots: Dots, s: Snapshot, degrees: Degrees, limit_row: int | None) -> None:
    """Name limit and goal on their lines, and when the goal will be reached, where there is room."""
    if limit_row is not None:
        said = f" trips at {degrees.number(limit_in_force_c(s))} "
        if (column := _room_at(dots, limit_row, len(said))) is not None:
            dots.words(column, limit_row, said, "limit")
    if s.goal_c is None or s.state not in LIVE:
        return
    when, goal = arrival(s), f"goal {degrees.point(s.goal_c)}"
    row = dots.row(s.goal_c) // 2
    choices = (f" {goal} at {when} ", f" {goal} at {when.partition(' ')[0]} ") if when else ()
    for said in (*choices, f" {goal} "):
        for at in (row, row + 1, row - 1):
            if 0 <= at != limit_row and (column := _room_at(dots, at, len(said))) is not None:
                dots.words(column, at, said, "soft")
                return


def _room_at(dots: Dots, row: int, length: int) -> int | None:
    """Return the first column in a row where words touch no solid line."""
    return next((c for c in range(1, dots.width - length) if dots.free(c, row, length)), None)


def _axis(dots: Dots, s: Snapshot, times: Window, plain: bool, mark: str) -> Row:
    """Return the axis of time: the unit of the other axis, where segments begin, by number, and now."""
    cells = ["─"] * dots.width
    for segment in s.segments:
        if segment.started_s is not None and times[0] <= segment.started_s <= times[1]:
            column, number = dots.column(segment.started_s), str(segment.index + 1)
            if cells[max(0, column - 1)] == "─":  # numbers that touch would read as one
                cells[column : column + len(number)] = list(number)
    now = "^now" if plain else "▲now"
    column = min(dots.column(s.elapsed_s), dots.width - len(now))
    cells[column : column + len(now)] = list(now)
    return (Run(f"{mark:>{MARGIN - 1}}└" + "".join(cells[: dots.width]), "quiet"),)


def _times(dots: Dots, from_s: float, to_s: float, mark: str) -> Row:
    cells = list(mark.rjust(MARGIN - 2).ljust(dots.width + MARGIN))
    for at_s in round_times(from_s, to_s, max(2, dots.width // 9)):
        label = hours(at_s)
        column = min(MARGIN + dots.column(at_s) - 1, dots.width + MARGIN - len(label) - 2)
        cells[column : column + len(label)] = list(label)
    cells[-2:] = [" ", "h"]
    return (Run("".join(cells), "soft"),)
