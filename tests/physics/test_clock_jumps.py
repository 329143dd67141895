"""Clocks that jump while a heat runs, in virtual time: the soak stays exact, or the heat is off.

Judged on the simulated element and on the seconds of the heat. Why durations never come from the wall clock:
PEP 418 and clock_gettime(2).
"""

import itertools
from collections.abc import Callable
from functools import cache

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.rehearsal.dry_run import Rehearsal, rehearse
from kilnctl.treatment.planning import soak_job

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
SOAK_S, AT_S, DAY_S = 300.0, 400.0, 86_400.0


class Jumped:
    """A heat of five minutes at 90 degC in which a clock jumps once, some minutes after its begin."""

    def __init__(self, jump: Callable[[VirtualClock], object], at_s: float = AT_S) -> None:
        self.jump, self.at_s, self.jumped_s = jump, at_s, -1.0
        self.kinds: set[str] = set()
        self.flowed_s: list[float] = []
        profile = soak_job(90.0, SOAK_S, OVEN).model_copy(update={"section_mm": 6.0})
        self.heat: Rehearsal = rehearse(OVEN, Job(profile), on_tick=self.look)

    def look(self, runner: Runner) -> None:
        now_s = self.heat.clock.now_s()
        self.kinds |= {alarm.kind for alarm in runner.now.alarms.history}
        if self.heat.board.plant.power_w > 0.0:
            self.flowed_s.append(now_s)
        if self.jumped_s < 0.0 and now_s >= self.at_s:
            self.jumped_s = now_s
            self.jump(self.heat.clock)


def heated_seconds(jump: Callable[[VirtualClock], object]) -> tuple[str, float, set[str]]:
    jumped = Jumped(jump)
    outcome = jumped.heat.run()
    return outcome.outcome, jumped.heat.clock.now_s(), jumped.kinds


@cache
def sound_heat() -> tuple[str, float, set[str]]:
    return heated_seconds(lambda clock: None)


@pytest.mark.parametrize("by_s", [-DAY_S, 70 * 365 * DAY_S])
def test_a_wall_clock_that_is_set_changes_no_second_of_the_heat(by_s: float) -> None:
    """A day back, and beyond 2038 (where 32 bits end)."""
    sound = sound_heat()
    jumped = heated_seconds(lambda clock: clock.set_wall(by_s))
    assert sound[0] == jumped[0] == "complete"
    assert jumped[1] == sound[1]


def test_a_wall_clock_that_jumps_with_every_tick_is_told_and_touches_nothing() -> None:
    to_and_fro = itertools.cycle((DAY_S, -DAY_S))
    heat = Jumped(lambda clock: None)
    heat.jump, looked = lambda clock: None, heat.look

    def look(runner: Runner) -> None:
        looked(runner)
        heat.heat.clock.set_wall(next(to_and_fro))

    heat.heat.runner.on_tick = look
    assert heat.heat.run().outcome == "complete"
    assert "wall_clock_stepped" in heat.kinds


@pytest.mark.parametrize("by_s", [30.0, 3600.0])
def test_a_sleep_of_the_computer_ends_the_heat(by_s: float) -> None:
    """Off with the first tick that knows it. A tick that stands still is the supervisor's to cut."""

    def jump(clock: VirtualClock) -> None:
        clock.suspended_s += by_s

    jumped = Jumped(jump)
    outcome = jumped.heat.run()
    assert outcome.outcome == "tripped"
    assert outcome.heat_off
    assert [s for s in jumped.flowed_s if s > jumped.jumped_s + 2.0] == []
