"""Time itself: a late tick, a computer that slept, a wall clock that jumped, a supervisor that is mute."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, Reaction, Trip

LATE_TICKS = 2.0
LATE_REAL_S = 0.5
SLEPT_S = 2.0
STEP_S = 2.0
SUPERVISOR_S = 10.0


class Stalled:
    """A tick later than two periods (half a real second at least): meanwhile nobody watched."""

    kind: ClassVar[str] = "stalled"
    label: ClassVar[str] = "late tick"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._allowed_s = LATE_TICKS * oven.tick_s
        self._limit_s, self._late_s = self._allowed_s, 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Compare lateness in seconds of the heat with the limit at this time scale."""
        self._late_s = late_s = seen.late_s
        if late_s <= self._allowed_s:
            return None
        scale = seen.dt_s / seen.real_dt_s if seen.real_dt_s > 0.0 else 1.0
        self._limit_s = max(self._allowed_s, LATE_REAL_S * scale)
        if late_s <= self._limit_s:
            return None
        return Trip(self.kind, f"by {late_s:.1f} s, {self._limit_s:.1f} s allowed", seen.at_s)

    def distance(self) -> Distance:
        """Return the last tick's lateness."""
        return Distance(self._late_s, self._limit_s, "s", near(self._late_s, self._limit_s))


class Suspended:
    """The computer asleep: the plan stood still and the oven did not."""

    kind: ClassVar[str] = "suspended"
    label: ClassVar[str] = "computer asleep"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._slept_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Judge the seconds that only the clock of the machine's boot has counted."""
        self._slept_s = seen.suspended_s
        if self._slept_s <= SLEPT_S:
            return None
        return Trip(self.kind, f"for {self._slept_s:.0f} s in the heat", seen.at_s)

    def distance(self) -> Distance:
        """Return seconds slept."""
        return Distance(self._slept_s, SLEPT_S, "s", near(self._slept_s, SLEPT_S))


class WallClockStepped:
    """The wall clock was set. Told only: durations do not come from it, heat off would help nobody."""

    kind: ClassVar[str] = "wall_clock_stepped"
    label: ClassVar[str] = "wall clock"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._step_s = 0.0

    def check(self, seen: Observation) -> Alarm | None:
        """Judge the step since the last tick."""
        self._step_s = seen.wall_step_s
        if -STEP_S <= self._step_s <= STEP_S:
            return None
        reason = f"jumped by {self._step_s:+.0f} s; the heat is not affected"
        return Alarm(self.kind, reason, seen.at_s, Priority.LATER)

    def distance(self) -> Distance:
        """Return the last step."""
        return Distance(self._step_s, STEP_S, "s", near(abs(self._step_s), STEP_S))


class SupervisorMute:
    """The supervisor no longer answers: one layer is missing, so no heat."""

    kind: ClassVar[str] = "supervisor_mute"
    label: ClassVar[str] = "supervisor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._age_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Judge the age of its last sign of life, in unscaled seconds."""
        self._age_s = seen.supervisor_age_s
        if self._age_s <= SUPERVISOR_S:
            return None
        reason = f"no sign of it for {self._age_s:.0f} s"
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP)

    def distance(self) -> Distance:
        """Return the age of its last sign of life."""
        return Distance(self._age_s, SUPERVISOR_S, "s", near(self._age_s, SUPERVISOR_S))
