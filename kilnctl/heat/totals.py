"""What a run amounts to: one line per segment, peak, energy. A new value each tick."""

import math
from dataclasses import replace
from typing import Any

from kilnctl.profile.cursor import TOUCH_K
from kilnctl.profile.segments import AnySegment, Profile, Soak, sensor_goal_c
from kilnctl.values import value


@value
class SegmentTotals:
    """One segment as it really went. Times in seconds since the run began, temperatures in degC.

    Overshoot and rms count from the moment the goal was first touched, and so do the extremes; those of a
    soak are of the seconds that were counted, whatever came before and in between.
    """

    segment: int
    kind: str
    label: str
    goal_c: float | None
    started_s: float
    reached_s: float | None = None
    ended_s: float | None = None
    min_c: float | None = None
    max_c: float | None = None
    soak_credited_s: float = 0.0
    from_c: float | None = None
    squares: float = 0.0
    samples: int = 0
    top_c: float | None = None

    def see(self, at_s: float, process_c: float, credited_s: float, counted: bool) -> "SegmentTotals":
        """Take one good reading into account.

        `credited_s` is the soak credit of the segment so far, `counted` says whether this reading adds to it.
        """
        goal, reached_s, from_c, top_c = self.goal_c, self.reached_s, self.from_c, self.top_c
        min_c, max_c, credit_s = self.min_c, self.max_c, self.soak_credited_s
        squares, samples = self.squares, self.samples
        if reached_s is None and goal is not None and from_c is None:
            from_c = process_c
        if reached_s is None and _touches(process_c, goal, from_c):
            reached_s = at_s
        if reached_s is not None and goal is not None:
            top_c = process_c if top_c is None or process_c > top_c else top_c
            squares, samples = squares + (process_c - goal) ** 2, samples + 1
        if counted if self.kind == "soak" else reached_s is not None:
            max_c = process_c if max_c is None or process_c > max_c else max_c
            min_c = process_c if min_c is None or process_c < min_c else min_c
        if self.kind == "soak" and credited_s > credit_s:
            credit_s = credited_s
        return SegmentTotals(
            self.segment,
            self.kind,
            self.label,
            goal,
            self.started_s,
            reached_s,
            self.ended_s,
            min_c,
            max_c,
            credit_s,
            from_c,
            squares,
            samples,
            top_c,
        )

    def result(self) -> dict[str, Any]:
        """Return the segment's line of the summary."""
        over = None
        if self.top_c is not None and self.goal_c is not None and self.kind in ("ramp", "soak"):
            over = round(self.top_c - self.goal_c, 2)
        rms = math.sqrt(self.squares / self.samples) if self.samples and self.kind == "soak" else None
        return {
            "index": self.segment,
            "kind": self.kind,
            "label": self.label,
            "goal_c": self.goal_c,
            "started_s": _round(self.started_s),
            "reached_s": _round(self.reached_s),
            "ended_s": _round(self.ended_s),
            "overshoot_k": over,
            "min_c": _round(self.min_c, 2),
            "max_c": _round(self.max_c, 2),
            "rms_error_k": _round(rms, 3),
            "soak_credited_s": _round(self.soak_credited_s),
        }


def _touches(process_c: float, goal: float | None, from_c: float | None) -> bool:
    if goal is None or from_c is None:
        return False
    return process_c <= goal + TOUCH_K if from_c > goal else process_c >= goal - TOUCH_K


def _round(value: float | None, digits: int = 1) -> float | None:
    return None if value is None else round(value, digits)


@value
class RunTotals:
    """The run so far: peak in degC, energy in kWh, its segments, of which the last is running."""

    peak_c: float | None = None
    energy_kwh: float = 0.0
    segments: tuple[SegmentTotals, ...] = ()

    def enter(self, profile: Profile, index: int, at_s: float) -> "RunTotals":
        """Close the segment that was running and open the next one, if there is one."""
        closed = self.close(at_s)
        if index >= len(profile.segments):
            return closed
        segment = profile.segments[index]
        label = segment.label or f"{segment.purpose}: {segment.kind}"
        opened = SegmentTotals(index, segment.kind, label, sensor_goal_c(segment), at_s)
        return replace(closed, segments=(*closed.segments, opened))

    def close(self, at_s: float) -> "RunTotals":
        """Stamp the end of the segment that is running."""
        if not self.segments or self.segments[-1].ended_s is not None:
            return self
        return self._with_last(replace(self.segments[-1], ended_s=at_s))

    def see(self, at_s: float, process_c: float, credited_s: float, counted: bool) -> "RunTotals":
        """Take one good reading into account; `credited_s` is the soak credit of the running segment.

        `counted` says whether this reading adds to it.
        """
        peak_c, segments = self.peak_c, self.segments
        if peak_c is None or process_c > peak_c:
            peak_c = process_c
        if segments:
            segments = (*segments[:-1], segments[-1].see(at_s, process_c, credited_s, counted))
        return RunTotals(peak_c, self.energy_kwh, segments)

    def more_energy(self, kwh: float) -> "RunTotals":
        """Return the totals after some more energy."""
        return RunTotals(self.peak_c, self.energy_kwh + kwh, self.segments)

    def soak_done(self, segment: AnySegment) -> "RunTotals":
        """Credit a soak that has just been completed with its last tick too."""
        if not self.segments or not isinstance(segment, Soak):
            return self
        return self._with_last(replace(self.segments[-1], soak_credited_s=segment.soak_s))

    def _with_last(self, last: SegmentTotals) -> "RunTotals":
        return replace(self, segments=(*self.segments[:-1], last))
