"""The clocks of a run: heat time and real time by tick, and a wall clock that somebody sets."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.heat.tick_clocks import TickClocks


def test_a_tick_knows_how_long_after_the_last_it_is() -> None:
    clock = VirtualClock()
    clocks = TickClocks(clock)
    clock.advance(1.0)
    clocks.tick()
    clock.advance(2.5)
    assert clocks.tick().dt_s == pytest.approx(2.5)
    assert clocks.tick().elapsed_s == pytest.approx(3.5)


def test_a_sleep_of_the_machine_is_no_step_of_the_wall_clock() -> None:
    clock = VirtualClock()
    clock.suspended_s = 100.0  # before the run: not the run's
    clocks = TickClocks(clock)
    clock.advance(1.0)
    clock.suspended_s = 700.0
    clocks.tick()
    _, step_s, slept_s = clocks.wall()
    assert step_s == pytest.approx(0.0)
    assert slept_s == pytest.approx(600.0)
