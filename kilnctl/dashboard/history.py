"""The curve so far, in memory: what the logbook has from before we came, and what came since."""

from array import array
from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from kilnctl.dashboard.formatting import limit_in_force_c
from kilnctl.link.snapshot import Snapshot
from kilnctl.stages import LIVE

Floats = npt.NDArray[np.float64]
NAMES = ("process", "setpoint", "part", "limit", "skin")
GAP_S = 60.0  # of the heat; a slow first look at a long record is shorter


@dataclass(frozen=True, slots=True)
class CurveEvent:
    """Something a person did, at a time of the run."""

    at_s: float
    words: str


@dataclass(frozen=True, slots=True)
class Past:
    """What was recorded before: rows of time in s, measured, set-point, part in degC; events.

    `reasons` says for each segment of the plan why it is there.
    """

    rows: Floats
    events: list[tuple[float, str]]
    reasons: tuple[str, ...] = ()


class History:
    """Samples of one run: time in s, then in degC what NAMES says, NaN where none; "skin" is a thin edge."""

    def __init__(self, run: int | None) -> None:
        self.run = run
        self.events: list[CurveEvent] = []
        self.reasons: tuple[str, ...] = ()
        self._columns = [array("d") for _ in range(1 + len(NAMES))]

    def __len__(self) -> int:
        return len(self._columns[0])

    def add(self, s: Snapshot) -> None:
        """Append a snapshot; one that is not later than the last is left out."""
        times = self._columns[0]
        if times and s.elapsed_s <= times[-1]:
            return
        limit_c = limit_in_force_c(s) if s.state in LIVE else None  # it was in force then; nothing is after
        skin_c = None if s.skin_c is None else s.skin_c[0]
        row = (s.elapsed_s, s.process_c, s.setpoint_c, s.part_c, limit_c, skin_c)
        for column, value in zip(self._columns, row, strict=True):
            column.append(np.nan if value is None else value)
        if s.last_command and (not self.events or self.events[-1].words != s.last_command):
            self.events.append(CurveEvent(s.elapsed_s, s.last_command))

    def put_before(self, past: Past) -> None:
        """Put older samples in front of those that came live; a gap between them stays one.

        Between the end of a record and the first live sample lies what nobody drew: a hot oven's cooling.
        """
        self.reasons = past.reasons
        first_s = self._columns[0][0] if len(self) else np.inf
        times = past.rows[0]
        older = past.rows[:, (times < first_s) & np.append(True, np.diff(times) > 0)]
        # the record has no limits: the first one seen holds for what came before it in the same heat
        limit_c = self._columns[1 + NAMES.index("limit")][0] if len(self) else np.nan
        unkept = np.repeat([[limit_c], [np.nan]], older.shape[1], axis=1)  # limit, and a thin edge
        older = np.concatenate([older, unkept])
        if older.shape[1] and np.isfinite(first_s) and first_s - older[0, -1] > GAP_S:
            gap = np.full((older.shape[0], 1), np.nan)
            gap[0] = older[0, -1] + 1.0
            older = np.concatenate([older, gap], axis=1)
        self._columns = [
            array("d", row.tobytes()) + live for row, live in zip(older, self._columns, strict=True)
        ]
        before = [CurveEvent(at_s, words) for at_s, words in past.events if at_s < first_s]
        self.events = before + [e for e in self.events if e.at_s >= first_s]

    def line(self, name: str, from_s: float, to_s: float) -> tuple[Floats, Floats]:
        """Return times and values of one line inside a window."""
        column = self._columns[1 + NAMES.index(name)]
        times, values = (np.array(c, dtype=np.float64) for c in (self._columns[0], column))
        first, last = np.searchsorted(times, (from_s, to_s), side="left")
        return times[first : last + 1], values[first : last + 1]

    def value(self, name: str, at_s: float) -> float | None:
        """Return one line's value nearest to a time of the run; None in a gap."""
        times = self._columns[0]
        if not times:
            return None
        after = min(bisect_left(times, at_s), len(times) - 1)
        nearest = min((max(0, after - 1), after), key=lambda i: abs(times[i] - at_s))
        value = self._columns[1 + NAMES.index(name)][nearest]
        return None if abs(times[nearest] - at_s) > GAP_S or np.isnan(value) else value


def decimate(times: Floats, values: Floats, columns: int) -> tuple[Floats, Floats]:
    """Return at most two points per column, its lowest and its highest, so that no spike is lost.

    A column without any finite value gives a NaN, which is a gap.
    """
    if len(times) <= 2 * columns:
        return times, values
    edges = np.linspace(times[0], times[-1], columns + 1)[:-1]
    starts = np.unique(np.searchsorted(times, edges, side="left"))
    low, high = np.fmin.reduceat(values, starts), np.fmax.reduceat(values, starts)
    ends = np.append(starts[1:], len(times)) - 1
    rising = np.fmax.reduceat(values, starts) == values[ends]
    x = np.stack((times[starts], times[ends]), axis=1)
    y = np.where(rising[:, None], np.stack((low, high), axis=1), np.stack((high, low), axis=1))
    return x.ravel(), y.ravel()


def pieces(x: Floats, y: Floats) -> list[tuple[Floats, Floats]]:
    """Return the unbroken pieces of a line: a chart library that drops NaN would bridge the gap."""
    good = np.isfinite(y)
    if good.all():
        return [(x, y)] if len(x) else []
    cuts = np.flatnonzero(np.diff(good.astype(int))) + 1
    parts = zip(np.split(x, cuts), np.split(y, cuts), np.split(good, cuts), strict=True)
    return [(px, py) for px, py, keep in parts if len(keep) and keep[0]]
