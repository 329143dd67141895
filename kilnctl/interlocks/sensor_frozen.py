"""A reading that no longer moves. An energy balance does not find it in a soak; a nudge of the heat does."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, Trip

# How long the nudge (the runner's: 5 % of duty up, then down) may stay unanswered.
NUDGE_S = 60.0
# In a ramp a count that stands eight times longer than it lately did, and while the goal moves, is frozen.
RAMP_S, RAMP_FACTOR, RAMP_MOVE_K = 25.0, 8.0, 1.0
MEMORY_S = 300.0
# A count coarser than this may stand still through a nudge: not detectable.
COARSEST_K = 0.5


class SensorFrozen:
    """The raw count stands still: in a ramp it trips, in a soak it asks for a nudge, unanswered it trips.

    `dither` tells the runner which way to nudge the duty: 0, +1 or -1; the runner reports what it does in
    `Observation.dither`.
    """

    kind: ClassVar[str] = "sensor_frozen"
    label: ClassVar[str] = "frozen sensor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._same_limit_s = limits.same_count_s
        self._blind = oven.signal.process.step_k > COARSEST_K
        self._raw: float | None = None
        self._counter: int | None = None
        self._same_s = self._nudged_s = self._counter_s = 0.0
        self._moved_from_c: float | None = None
        self._longest_s = self._longest_before_s = self._bucket_s = 0.0

    @property
    def dither(self) -> int:
        """Return which way the duty should be nudged now."""
        if self._blind or self._same_s < self._same_limit_s:
            return 0
        return 1 if self._nudged_s < NUDGE_S / 2 else -1

    def check(self, seen: Observation) -> Trip | None:
        """Count how long the raw value has been the same."""
        process = seen.scan.process
        if process.value is None:
            return None
        if seen.scan.counter is not None and self._counter_stands(seen, seen.scan.counter):
            return Trip(self.kind, "the module has made no new reading for 30 s", seen.at_s)
        self._bucket_s += seen.dt_s
        if self._bucket_s > MEMORY_S:
            self._longest_before_s, self._longest_s, self._bucket_s = self._longest_s, 0.0, 0.0
        raw = process.raw if process.raw is not None else process.value
        if raw != self._raw or seen.setpoint_c is None or self._blind:
            self._move(raw, seen)
            return None
        self._same_s += seen.dt_s
        return self._judge(seen) if self._same_s >= RAMP_S else None

    def _counter_stands(self, seen: Observation, counter: int) -> bool:
        self._counter_s = self._counter_s + seen.dt_s if counter == self._counter else 0.0
        self._counter = counter
        return self._counter_s >= 30.0

    def _move(self, raw: float, seen: Observation) -> None:
        if raw != self._raw and self._same_s > self._longest_s:
            self._longest_s = self._same_s
        self._raw, self._moved_from_c = raw, seen.setpoint_c
        self._same_s = self._nudged_s = 0.0

    def _judge(self, seen: Observation) -> Trip | None:
        usual_s = max(self._longest_s, self._longest_before_s)
        if usual_s > 0.0 and self._same_s > RAMP_FACTOR * usual_s and self._goal_moved(seen):
            return self._trip(
                f"the goal is moving, and lately no reading stood longer than {usual_s:.0f} s", seen
            )
        if seen.dither != 0 and self._same_s >= self._same_limit_s:
            self._nudged_s += seen.dt_s
        if self._nudged_s < NUDGE_S:
            return None
        return self._trip(f"a nudge of the heat for {self._nudged_s:.0f} s changed nothing", seen)

    def _goal_moved(self, seen: Observation) -> bool:
        start_c, goal_c = self._moved_from_c, seen.setpoint_c
        return start_c is not None and goal_c is not None and abs(goal_c - start_c) >= RAMP_MOVE_K

    def _trip(self, why: str, seen: Observation) -> Trip:
        return Trip(self.kind, f"the reading has not changed for {self._same_s:.0f} s; {why}", seen.at_s)

    def distance(self) -> Distance:
        """Return how long the count has stood still."""
        limit_s = self._same_limit_s + NUDGE_S
        if self._blind:
            return Distance(None, None, "s", 0.0, "not detectable: the sensor's count is too coarse")
        return Distance(self._same_s, limit_s, "s", near(self._same_s, limit_s))
