"""The door. Heat is off at once while it is open (the runner's); open for too long ends the run."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, Reaction, Trip

TELL_S = 30.0


class DoorOpen:
    """Told after 30 s, stopped after two minutes; operator steps and heatless coolings may take longer."""

    kind: ClassVar[str] = "door_open"
    label: ClassVar[str] = "door"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = oven.signal.door_open is None
        self._limit_s, self._open_s = limits.door_s, 0.0

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Count the seconds of an open door while heat is wanted."""
        if seen.setpoint_c is None or seen.segment_kind == "operator":
            self._open_s = 0.0
            return None
        if not seen.scan.door_open:
            if self._open_s:  # a switch that bounces does not begin anew
                self._open_s = max(0.0, self._open_s - seen.dt_s)
            return None
        self._open_s += seen.dt_s
        if self._open_s < TELL_S:
            return None
        if self._open_s < self._limit_s:
            reason = f"open for {self._open_s:.0f} s; at {self._limit_s:.0f} s the run ends"
            return Alarm(self.kind, reason, seen.at_s, Priority.URGENT)
        return Trip(self.kind, f"open for {self._open_s:.0f} s", seen.at_s, Reaction.STOP)

    def distance(self) -> Distance:
        """Return how long the door has been open."""
        note = "no door switch" if self.blind else ""
        return Distance(self._open_s, self._limit_s, "s", near(self._open_s, self._limit_s), note)
