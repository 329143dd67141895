"""A panel that takes a power only in its manual mode, which is what closes the contactor too.

Written from a sheet of our own: floats over two registers, exception 04 for what is not taken now (MODBUS
application protocol 1.1b3, 7). Its time-out holds the output at 0 and leaves the power as it was written.
"""

import struct
import time

import pytest
from foreign.wires import OnAPty, Unit, floats, rtu

from kilnctl.clock import RealClock
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.held_drills import wired_for
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.permits.dead_man_test import dead_man
from kilnctl.permits.heated_ticks import Watched
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
TEMPERATURE, OUTPUT, MODE, POWER = 0, 2, 100, 102
HOLDS_S = 3.0
BACK = 'back = { device = "panel", table = "holding", register = 2, format = "float32" }'
FILE = """
name = "hardening"
use = "hardening"
build = "brick"
power = "4000 W"
limit = "1050 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.p = { path = "PATH", timeout = "0.2 s" }
device.panel = { port = "p", address = 1 }
[signal.process]
device = "panel"
table = "holding"
register = 0
format = "float32"
unit = "C"
low = "-20 C"
high = "1200 C"
[output.heater]
kind = "duty"
device = "panel"
table = "holding"
register = 102
format = "float32"
on = 1.0
off = 0.0
holds = "3 s"
[output.contactor]
device = "panel"
table = "holding"
register = 100
on = 2
off = 0
"""


class Panel(Unit):
    """Heats only in mode 2; `leaks` puts power out though the power was refused."""

    def __init__(self, leaks: bool = False) -> None:
        cells = dict.fromkeys((0, 1, 2, 3, 100, 101, 102, 103), 0)
        cells.update(zip((0, 1), floats(21.5), strict=True))
        super().__init__(holding=cells)
        self.leaks, self.refusals, self.times_on, self._told_s = leaks, 0, 0, time.monotonic()
        self.looks = self.move
        self.line = OnAPty(rtu({1: self}))

    def move(self) -> None:
        cells = self.tables["holding"]
        power = struct.unpack(">f", struct.pack(">HH", cells[POWER], cells[POWER + 1]))[0]
        live = cells[MODE] == 2 and time.monotonic() - self._told_s <= HOLDS_S
        cells.update(zip((OUTPUT, OUTPUT + 1), floats(power if live else 0.0), strict=True))
        self.times_on += power > 0.0 and live

    def answer(self, pdu: bytes) -> bytes:
        cells, first = self.tables["holding"], int.from_bytes(pdu[1:3], "big")
        if pdu[0] == 16 and first == POWER:
            if cells[MODE] != 2:
                self.refusals += 1
                if self.leaks:  # for good or bad: it does what it says it does not
                    cells.update(zip((POWER, POWER + 1), struct.unpack(">HH", pdu[6:10]), strict=True))
                return bytes([pdu[0] | 0x80, 4])
            self._told_s = time.monotonic()
        if pdu[0] == 6 and first == MODE:
            cells.update({POWER: 0, POWER + 1: 0})
            self._told_s = time.monotonic()
        return super().answer(pdu)


@pytest.fixture
def panel():
    made = Panel()
    yield made
    made.line.close()


def the_oven(panel: Panel, text: str = FILE) -> Oven:
    return loads(text.replace("PATH", panel.line.path), Oven, ConfigError, "hardening.toml")


def drilled(panel: Panel, drill: str):
    oven, clock, told = the_oven(panel), RealClock(), []
    oven_io = open_oven_io(wired_for(drill, oven), clock)
    return drills.run(drill, oven, oven_io, clock, tell=told.append), told


def test_heat_that_is_refused_with_the_contactor_off_leaves_nothing_to_cut(panel) -> None:
    """The drop test ended there as WRONG, "no heat: ... device failure", and no heat ever came."""
    found, told = drilled(panel, "contactor_dropped")
    assert found.passed, found.line
    assert found.nothing_to_cut
    assert "refuses heat while its contactor output is off" in found.line
    assert "exception 04" in found.line
    assert "failure" not in found.line
    assert not any("the relay is held" in line for line in told)
    assert panel.refusals >= 3
    assert panel.times_on == 0


def test_a_power_that_stays_though_it_was_refused_proves_nothing(panel) -> None:
    panel.leaks = True
    found, _ = drilled(panel, "contactor_dropped")
    assert not found.passed
    assert not found.nothing_to_cut


@pytest.mark.parametrize("back", [False, True])
def test_a_read_back_that_is_only_what_was_written_is_named_before_any_other_cure(panel, back) -> None:
    """Its output was 0 after three seconds, and what it was told stayed: "NO dead-man, no live heat"."""
    oven = the_oven(panel, FILE.replace("[output.contactor]", f"{BACK if back else ''}\n[output.contactor]"))
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        found = dead_man(Watched(oven, oven_io, RealClock(), lambda: True))
    finally:
        oven_io.close()
    assert found.passed == back, found.line
    if not back:
        cure, others = "only what was written", "its list says"
        assert "kilnctl oven change hardening output.heater.back" in found.line
        assert 0 < found.line.index(cure) < found.line.index(others)
    assert panel.tables["holding"][MODE] == 0
