"""Clocks: virtual time moves only when somebody waits; a scaled clock scales the heat and nothing else."""

import threading

import pytest

from kilnctl.clock import RealClock, VirtualClock


def test_virtual_time_jumps_to_the_deadline_and_never_back() -> None:
    clock, stop = VirtualClock(), threading.Event()
    assert clock.wait_until(7200.0, stop) is False
    assert clock.now_s() == clock.real_s() == 7200.0
    clock.wait_until(10.0, stop)
    assert clock.now_s() == 7200.0


def test_a_stop_is_seen_in_virtual_time() -> None:
    stop = threading.Event()
    stop.set()
    assert VirtualClock().wait_until(1.0, stop) is True


def test_a_suspend_shows_between_boot_and_monotonic_time() -> None:
    clock = VirtualClock()
    clock.suspended_s = 2400.0
    assert clock.boot_s() - clock.real_s() == 2400.0


def test_wall_time_follows_virtual_seconds() -> None:
    clock = VirtualClock()
    before = clock.utc()
    clock.pause(90.0)
    assert (clock.utc() - before).total_seconds() == 90.0


@pytest.mark.real_bytes
def test_a_scaled_clock_reaches_its_deadline_early_in_real_time() -> None:
    clock = RealClock(scale=100.0)
    real_s = clock.real_s()
    assert clock.wait_until(2.0, threading.Event()) is False
    assert clock.now_s() >= 2.0
    assert clock.real_s() - real_s < 1.0
