"""A panel that regulates by itself and refuses a set-point above its own limit, a mode after its time-out.

Exception codes as in the Modbus application protocol (1.1b3), section 7; nothing of kilnctl is in the panel.
"""

import re
import time

import pytest
from foreign.wires import OnAPty, Unit, rtu

from kilnctl.clock import RealClock
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.outputs import OWN_LIMIT
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.permits.dead_man_test import dead_man
from kilnctl.permits.heated_ticks import Watched, full_heat
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
POINT, MODE, TIME, ACK, SEEN = range(5)
HOLDS_S = 2.0
ON, OFF = HeatRequest(True, 1.0, 150.0), HeatRequest(False, 0.0)
FILE = """
name = "refusing"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "PATH", timeout = "0.2 s" }
device.panel = { port = "p", address = 1 }
[dead_man]
device = "panel"
table = "holding"
register = 1
write = 1
drops_after = "2 s"
zero_drops = true
[[arm]]
device = "panel"
table = "holding"
register = 3
write = 1
[[arm]]
device = "panel"
table = "holding"
register = 2
write = 2
[signal.process]
device = "panel"
table = "input"
register = 0
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
table = "holding"
register = 0
unit = "C"
park = "0 C"
link_loss = "drops"
back = { device = "panel", table = "holding", register = 1 }
"""  # fmt: skip


class Panel(Unit):
    """In mode 1 it heats to its set-point; after a silence it is in mode 0 until somebody acknowledges."""

    def __init__(self, own_limit: int = 1000) -> None:
        super().__init__(holding=dict.fromkeys(range(5), 0), input={0: 20})
        self.own_limit, self.stands, self.acks, self.heated = own_limit, False, 0, False
        self._heard_s = time.monotonic()
        self.line = OnAPty(rtu({1: self}))

    def answer(self, pdu: bytes) -> bytes:
        cells, now_s = self.tables["holding"], time.monotonic()
        if cells[TIME] and now_s - self._heard_s > HOLDS_S:
            self.stands, cells[MODE] = True, 0
        self._heard_s = now_s
        if pdu[0] in (6, 16):
            first = int.from_bytes(pdu[1:3], "big")
            value = int.from_bytes(pdu[-2:], "big")
            if first == POINT and value > self.own_limit:
                return bytes([pdu[0] | 0x80, 3])
            if first == MODE and value and self.stands:
                return bytes([pdu[0] | 0x80, 4])
            if first == ACK:
                self.stands, self.acks = False, self.acks + 1
        reply = super().answer(pdu)
        self.heated |= cells[MODE] == 1 and cells[POINT] > 30
        return reply


@pytest.fixture
def panel():
    made = Panel()
    yield made
    made.line.close()


def wired(panel: Panel):
    oven = loads(FILE.replace("PATH", panel.line.path), Oven, ConfigError, "refusing.toml")
    return oven, open_oven_io(oven, RealClock())


def test_a_set_point_that_is_refused_is_no_heat_though_its_mode_reads_on(panel) -> None:
    panel.own_limit = 120
    _, oven_io = wired(panel)
    try:
        oven_io.connect()
        oven_io.scan(0.0)
        assert not oven_io.drive(ON)
        assert "illegal data value" in oven_io.refused
        assert "highest set-point" in oven_io.refused
        assert "Leave it there" in oven_io.refused
    finally:
        oven_io.close()


def test_a_dead_man_test_does_not_pass_without_the_heat_that_is_to_drop(panel) -> None:
    """Only the mode was seen to drop: with the set-point refused nothing heated."""
    panel.own_limit = 120
    oven, oven_io = wired(panel)
    try:
        oven_io.connect()
        for bench in (
            Watched(oven, oven_io, RealClock(), lambda: True),
            DrillRig(oven, oven_io, RealClock()),
        ):
            began_s = time.monotonic()
            found = dead_man(bench)
            assert not found.passed
            assert "illegal data value" in found.line
            assert "highest set-point" in found.line
            assert time.monotonic() - began_s < 10.0
        assert not panel.heated
    finally:
        oven_io.close()


def test_an_instruments_own_highest_set_point_is_kept_and_never_told_to_be_raised(panel) -> None:
    """A cure said to raise it to the oven's limit: above the independent limiter, which guards it."""
    panel.own_limit = 120
    text = FILE.replace('park = "0 C"', 'park = "0 C"\nhighest = "120 C"').replace("PATH", panel.line.path)
    oven = loads(text, Oven, ConfigError, "highest.toml")
    assert oven.highest_goal_c == 120.0
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        found = dead_man(Watched(oven, oven_io, RealClock(), lambda: True))
        assert "refuses" not in found.line
        assert panel.heated
    finally:
        oven_io.close()
    assert not re.search(r"[Rr]aise|[Ss]et it (at the instrument )?to the oven's limit", OWN_LIMIT)


def test_a_drill_asks_for_little_more_than_the_oven_reads() -> None:
    """A pulse from cold wrote 1090 C: with computer and program dead only a time-out was before full heat."""
    text = FILE.replace('limit = "200 C"', 'limit = "1200 C"').replace('high = "400 C"', 'high = "1300 C"')
    oven = loads(text, Oven, ConfigError, "hot.toml")
    asked_c = full_heat(oven, 20.0).setpoint_c
    assert asked_c is not None
    # The widest rise that a pulse passes with is 150 K, and a band of 100 K is wide (common practice).
    assert 20.0 + 150.0 + 100.0 <= asked_c <= 300.0
    assert full_heat(oven, 1180.0).setpoint_c == oven.highest_goal_c


@pytest.mark.parametrize("drill", [drills.hold, drills.starved])
def test_nobody_counts_seconds_at_a_lamp_that_was_refused_its_heat(panel, drill) -> None:
    panel.own_limit = 120
    oven, oven_io = wired(panel)
    try:
        oven_io.connect()
        told: list[str] = []
        began_s = time.monotonic()
        found = drill(DrillRig(oven, oven_io, RealClock(), tell=told.append))
        assert not found.passed
        assert "illegal data value" in found.line
        assert not any("lamp must be on" in line for line in told)
        assert time.monotonic() - began_s < 10.0
    finally:
        oven_io.close()


def test_where_only_a_set_point_is_looked_at_the_place_back_is_named_as_a_cure(panel) -> None:
    """It had dropped, into a mode that the file did not read; an arm was named as the cure."""
    oven = loads(
        "\n".join(line for line in FILE.replace("PATH", panel.line.path).splitlines() if line[:4] != "back"),
        Oven, ConfigError, "refusing.toml",
    )  # fmt: skip
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        found = dead_man(Watched(oven, oven_io, RealClock(), lambda: True))
        assert not found.passed
        assert "write that as back of output.heater" in found.line
    finally:
        oven_io.close()


def test_a_drill_that_heats_ends_where_the_set_point_is_refused(panel) -> None:
    panel.own_limit = 120
    oven, oven_io = wired(panel)
    try:
        oven_io.connect()
        bench = DrillRig(oven, oven_io, RealClock())
        bench.tick(heat=True)
        bench.tick(heat=True)
        with pytest.raises(RunRefused, match="illegal data value"):
            bench.tick(heat=True)
        assert panel.tables["holding"][MODE] == 0
    finally:
        oven_io.close()


def test_before_a_heat_the_arms_are_written_again_where_a_time_out_stands(panel) -> None:
    """The first feeding came before the arms and was refused, so that these were never written."""
    _, oven_io = wired(panel)
    try:
        oven_io.connect()
        panel.stands = True
        oven_io.scan(0.0)
        assert oven_io.drive(OFF)
        assert oven_io.feed(), oven_io.why
        assert oven_io.drive(ON), oven_io.why
        assert panel.heated
        assert oven_io.refused == ""
    finally:
        oven_io.close()


def test_a_time_out_that_never_goes_is_acknowledged_a_few_times_and_told(panel) -> None:
    _, oven_io = wired(panel)
    try:
        oven_io.connect()
        wrote = panel.wrote
        panel.wrote = lambda table, first, values: (
            wrote(table, first, values),
            setattr(panel, "stands", True),
        )
        panel.stands = True
        for at_s in range(20):
            oven_io.scan(at_s)
            assert not oven_io.drive(ON)
            oven_io.drive(OFF)  # as a heat does between two that were refused
            oven_io.feed()
        assert 1 <= panel.acks <= 5
        assert "the device refuses" in oven_io.refused
        assert not panel.heated
    finally:
        oven_io.close()


def test_what_has_dropped_in_a_heat_is_not_armed_again(panel) -> None:
    _, oven_io = wired(panel)
    try:
        oven_io.connect()
        oven_io.scan(0.0)
        assert oven_io.drive(ON)
        assert oven_io.feed()
        acks = panel.acks
        time.sleep(HOLDS_S + 0.5)
        for at_s in range(3):
            oven_io.scan(at_s)
            oven_io.drive(ON)
            assert not oven_io.feed()
        assert panel.acks == acks
        assert panel.tables["holding"][MODE] == 0
        assert "the device refuses" in oven_io.refused
    finally:
        oven_io.close()
