"""What a run amounts to: one line per segment, peak, energy. Kept up to date tick by tick."""

import math
from dataclasses import dataclass, field
from typing import Any

from kilnctl.profile.segments import AnySegment, Profile, Soak, goal_c

# Nearer than this the goal counts as touched, from whichever side the oven comes.
TOUCH_K = 1.0


@dataclass(slots=True)
class SegmentTally:
    """One segment as it really went. Times in seconds since the run began, temperatures in degC.

    Overshoot, extremes and rms count from the moment the goal was first touched.
    """

    index: int
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

    def see(self, at_s: float, process_c: float) -> None:
        """Take one good reading into account."""
        goal = self.goal_c
        if self.reached_s is None:
            if goal is None or not self._touches(process_c, goal):
                return
            self.reached_s = at_s
            self.min_c = self.max_c = process_c
        if process_c > self.max_c:  # type: ignore[operator]
            self.max_c = process_c
        elif process_c < self.min_c:  # type: ignore[operator]
            self.min_c = process_c
        if goal is not None:
            self.squares += (process_c - goal) ** 2
            self.samples += 1

    def _touches(self, process_c: float, goal: float) -> bool:
        if self.from_c is None:
            self.from_c = process_c
        return process_c <= goal + TOUCH_K if self.from_c > goal else process_c >= goal - TOUCH_K

    def result(self) -> dict[str, Any]:
        """Return the segment's line of the summary."""
        over = None
        if self.max_c is not None and self.goal_c is not None and self.kind in ("ramp", "soak"):
            over = round(self.max_c - self.goal_c, 2)
        rms = math.sqrt(self.squares / self.samples) if self.samples and self.kind == "soak" else None
        return {
            "index": self.index,
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


def _round(value: float | None, digits: int = 1) -> float | None:
    return None if value is None else round(value, digits)


@dataclass(slots=True)
class Tally:
    """The run so far."""

    profile: Profile
    peak_c: float | None = None
    energy_kwh: float = 0.0
    segments: list[SegmentTally] = field(default_factory=list)

    def enter(self, index: int, at_s: float) -> None:
        """Close the segment that was running and open the next one, if there is one."""
        self.close(at_s)
        if index >= len(self.profile.segments):
            return
        segment = self.profile.segments[index]
        label = segment.label or f"{segment.purpose}: {segment.kind}"
        self.segments.append(SegmentTally(index, segment.kind, label, goal_c(segment), at_s))

    def close(self, at_s: float) -> None:
        """Stamp the end of the segment that is running."""
        if self.segments and self.segments[-1].ended_s is None:
            self.segments[-1].ended_s = at_s

    def see(self, at_s: float, process_c: float, credited_s: float) -> None:
        """Take one good reading into account; `credited_s` is the soak credit of the running segment."""
        if self.peak_c is None or process_c > self.peak_c:
            self.peak_c = process_c
        if self.segments:
            running = self.segments[-1]
            running.see(at_s, process_c)
            if running.kind == "soak" and credited_s > running.soak_credited_s:
                running.soak_credited_s = credited_s

    def soak_done(self, segment: AnySegment) -> None:
        """Credit a soak that has just been completed with its last tick too."""
        if self.segments and isinstance(segment, Soak):
            self.segments[-1].soak_credited_s = segment.soak_s
