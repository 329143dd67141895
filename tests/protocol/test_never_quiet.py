"""A line on which somebody never stops talking: what a tick of several exchanges may cost."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config.device_keys import Port
from kilnctl.devices.bus import NEVER_QUIET_S, Bus
from kilnctl.errors import BadReply


class Talker:
    """A line with a byte on it at every look."""

    port, baudrate, timeout, is_open, in_waiting = "/dev/fake", 19200, 0.2, True, 1

    def read(self, size: int = 1) -> bytes:
        return b"?" * size


def bus_at(clock: VirtualClock) -> Bus:
    return Bus(Port(path="/dev/fake"), clock, opener=lambda port, exclusive: Talker())


def test_a_tick_of_many_exchanges_is_over_before_the_supervisor_loses_patience() -> None:
    clock = VirtualClock()
    bus = bus_at(clock)
    for _ in range(6):
        with pytest.raises(BadReply, match="never quiet"):
            bus.exchange("reading", lambda line: line.read(1))
    assert NEVER_QUIET_S < clock.real_s() < 2.5
    assert bus.foreign >= 6


def test_off_goes_out_all_the_same() -> None:
    clock, sent = VirtualClock(), []
    bus = bus_at(clock)
    for _ in range(3):
        bus.exchange("off", sent.append, force=True)
    assert len(sent) == 3
    assert clock.real_s() < 2.0


def test_a_line_that_had_time_to_calm_down_is_waited_for_anew() -> None:
    clock = VirtualClock()
    bus = bus_at(clock)
    for _ in range(2):
        began_s = clock.real_s()
        with pytest.raises(BadReply):
            bus.exchange("reading", lambda line: line.read(1))
        assert clock.real_s() - began_s > NEVER_QUIET_S
        clock.advance(2.0 * NEVER_QUIET_S)
