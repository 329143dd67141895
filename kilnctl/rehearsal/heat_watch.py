"""Follows one heat from the outside, tick by tick, with the eyes of the simulator's truth."""

from dataclasses import dataclass, field
from math import inf

from kilnctl.config.oven import Oven
from kilnctl.heat.runner import Runner
from kilnctl.profile.segments import Soak
from kilnctl.rehearsal.dry_run import Rehearsal
from kilnctl.rehearsal.lateness import (
    COLD_K,
    COUNTS,
    DOOR_S,
    SEEN_WHOLE_S,
    WRAPS_C,
    WRAPS_K,
    Counts,
    Where,
    ends_at,
)
from kilnctl.stages import LIVE
from simulator.boards.board import Board
from simulator.boards.faults import Fault

# A soak in which this was the mean error, or less than this share was near its goal, was not that soak.
FAR_K, NEAR_SHARE = 12.0, 0.95
# With this mean error it is still called complete, and counted as untrue.
UNTRUE_K = 5.0
FULL = 0.7


@dataclass(slots=True)
class Soaked:
    """What a soak truly was: sum of errors, seconds, and seconds inside its band and the margin."""

    error_k: float = 0.0
    seconds: float = 0.0
    inside_s: float = 0.0


@dataclass(slots=True)
class Exposed:
    """One fault in one heat: where it began, and for how long it went on, in each way of counting.

    `after_step_s` is how long after an operator step it began, `heated_s` how long after the first heat,
    `reached_c` the highest true temperature since, until the heat was cut.
    """

    fault: Fault
    until_s: float
    segment_kind: str = ""
    after_step_s: float = inf
    heated_s: float = 0.0
    before_c: float = 0.0
    reached_c: float = -inf
    counted: dict[Counts, float] = field(default_factory=lambda: dict.fromkeys(COUNTS, 0.0))

    def places(self, oven: Oven) -> set[Where]:
        """Return what the numbers tell apart of the place where it began."""
        cold, unseen = self.before_c - oven.ambient_c <= COLD_K, oven.signal.door_open is None
        found: dict[Where, bool] = {
            "cold": cold,
            "cold unseen": cold and unseen and self.heated_s > 0.0,
            "cold moved": cold and self.heated_s > 0.0,
            "ramp": self.segment_kind == "ramp",
            "step": unseen and self.after_step_s <= DOOR_S,
            "wraps": abs(self.before_c - WRAPS_C) <= WRAPS_K,
            "never whole": self.heated_s < SEEN_WHOLE_S and oven.signal.supply_v is None,
        }
        return {place for place, here in found.items() if here}

    def see(
        self, runner: Runner, true_c: float, passed: dict[Counts, bool], step_s: float, heat_s: float
    ) -> None:
        """Count the second that has just passed, by what was so when it began.

        `step_s` is when an operator step was seen last, `heat_s` when heat was asked first.
        """
        if not self.segment_kind:
            self.segment_kind, self.before_c = runner.now.segment_kind or "end", true_c
            self.after_step_s = runner.now.elapsed_s - step_s
            self.heated_s = max(runner.now.elapsed_s - heat_s, 0.0)
        self.reached_c = max(self.reached_c, true_c)
        if runner.now.elapsed_s <= self.until_s + 1.0:
            for counts, counted in passed.items():
                self.counted[counts] += counted


def _now(runner: Runner, contactor_closed: bool) -> dict[Counts, bool]:
    """Return what is so from now on, in each way of counting; `flows` shows only when the second is over."""
    if runner.now.state not in LIVE:
        return {}
    held, asked = runner.now.cursor.setpoint_c is not None, runner.now.request.on
    return {
        "live": True,
        "wanted": held and runner.now.state == "running",
        "asked": asked,
        "full": runner.now.duty >= FULL,
        "unasked": not asked and contactor_closed,
        "door": held and runner.now.segment_kind != "operator",
        "flows": not asked,
    }


@dataclass(slots=True)
class Watch:
    """What is kept of one heat.

    A heat that is not over after `longest_s` is stopped: a reading that is wrong may never reach its goal.
    `door_heat_s` is the longest time in a row in which heat flowed with the door open, as its switch knew.
    """

    faults: tuple[Fault, ...] = ()
    rehearsal: Rehearsal | None = None
    longest_s: float = inf
    exposed: list[Exposed] = field(init=False)
    soaks: dict[int, Soaked] = field(default_factory=dict)
    heat_after_trip_s: float = 0.0
    door_heat_s: float = 0.0
    _door_s: float = 0.0
    _step_s: float = -inf
    _heat_s: float = inf
    _passed: dict[Counts, bool] = field(default_factory=dict)
    _cut: bool = False
    ticks: int = 0

    def __post_init__(self) -> None:
        self.exposed = [Exposed(fault, ends_at(fault, self.faults)) for fault in self.faults]

    def __call__(self, runner: Runner) -> None:
        """See one tick."""
        assert self.rehearsal is not None
        now = runner.now
        plant, here = self.rehearsal.board.plant, now.current
        self.ticks += 1
        if now.elapsed_s > self.longest_s:
            runner.off("the rehearsal's time is over")
        if here.kind == "operator":
            self._step_s = now.elapsed_s
        if now.request.on and self._heat_s == inf:
            self._heat_s = now.elapsed_s
        if self.exposed:
            self._count(runner, self.rehearsal.board)
        if now.state == "tripped":
            self.heat_after_trip_s += self._cut and plant.power_w > 0.0
            self._cut = True
            return
        if plant.door_open and plant.power_w > 0.0:
            self._door_s += 1.0
            self.door_heat_s = max(self.door_heat_s, self._door_s)
        else:
            self._door_s = 0.0
        soak, cursor, scan = here.soak, now.cursor, now.scan
        if soak is not None and cursor.reached and scan is not None:
            read_c, held_c = scan.process.value, soak.held_c
            if read_c is not None and abs(read_c - held_c) <= soak.band_k:  # else it is not credited
                self._soak(cursor.segment, plant.sensor.junction_c - held_c, soak.band_k + FAR_K)

    def _count(self, runner: Runner, board: Board) -> None:
        """Count the second that has passed for each fault that goes on."""
        plant, passed = board.plant, self._passed
        if passed:
            passed["flows"] = passed["flows"] and plant.power_w > 0.0
            for exposed in self.exposed:
                if runner.now.elapsed_s > exposed.fault.at_s:
                    exposed.see(runner, plant.sensor.junction_c, passed, self._step_s, self._heat_s)
        self._passed = _now(runner, board.contactor_closed())

    def _soak(self, index: int, error_k: float, near_k: float) -> None:
        soaked = self.soaks.get(index)
        if soaked is None:
            soaked = self.soaks[index] = Soaked()
        soaked.error_k += error_k
        soaked.seconds += 1.0
        soaked.inside_s += abs(error_k) <= near_k

    def off_goal(self) -> tuple[str, bool]:
        """Say which soak was not truly what it should have been, and whether it was far from it."""
        assert self.rehearsal is not None
        said = ""
        for index, soaked in self.soaks.items():
            segment = self.rehearsal.runner.now.profile.segments[index]
            assert isinstance(segment, Soak)
            mean_k = soaked.error_k / soaked.seconds
            if abs(mean_k) > FAR_K:
                return f"a soak was {mean_k:+.0f} K off", True
            if soaked.inside_s < NEAR_SHARE * segment.soak_s:
                return f"a soak of {segment.soak_s:.0f} s was {soaked.inside_s:.0f} s near its goal", True
            if abs(mean_k) > UNTRUE_K:
                said = f"a soak was {mean_k:+.0f} K off"
        return said, False
