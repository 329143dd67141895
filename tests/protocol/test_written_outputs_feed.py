"""A board whose watchdog is fed by every write to an output and latches: then it refuses the lamp too.

The file of such a board has `holds` at the heater and no `dead_man`. The board is a plain script of its own:
holding 0 to 9 are outputs (9 heats, 1 is the contactor, 7 the lamp), 256 the watchdog's time in tenths of a
second, 257 reads 1 once it has dropped them all and is cleared with 0. By the Modbus
Application Protocol 1.1b3: 6.12, function 16; 7, exception 04, "not able to perform".
"""

import struct
import time
from collections.abc import Iterator

import pytest
from foreign.wires import OnAPty, Unit, rtu

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import WiredIO, open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.permits import lamp_calls, presence
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.begins_first]
FILE = """name = "latching outputs"
use = "hardening"
build = "brick"
power = "2500 W"
limit = "1000 C"
isolator = "red switch"
switching = {{ kind = "solid-state" }}
port.bus = {{ path = "{}" }}
device.module = {{ port = "bus", address = 9 }}
[signal.process]
device = "module"
table = "holding"
register = 4096
scale = 0.1
unit = "C"
low = "-20 C"
high = "1250 C"
[output.heater]
device = "module"
table = "holding"
register = 9
multiple = true
kind = "pulse"
holds = "1.5 s"
[output.contactor]
device = "module"
table = "holding"
register = 1
multiple = true
[output.lamp]
device = "module"
table = "holding"
register = 7
multiple = true
[[arm]]
device = "module"
table = "holding"
register = 256
multiple = true
write = 15
[[arm]]
device = "module"
table = "holding"
register = 257
multiple = true
write = 0
"""
HOT = (1, 9)


class Dropping(Unit):
    """`only_lit`: it drops only what is on; else it latches in any silence. `hot_s`: when heat was on."""

    def __init__(self, only_lit: bool) -> None:
        cells = dict.fromkeys(range(10), 0) | {256: 0, 257: 0, 4096: 210}
        super().__init__(holding=cells)
        self.only_lit, self.fed_s, self.lit, self.hot = only_lit, time.monotonic(), 0, 0
        talk = rtu({9: self})
        self.line = OnAPty(talk)

    def look(self) -> None:
        cells = self.tables["holding"]
        silent = cells[256] and time.monotonic() - self.fed_s > cells[256] / 10.0
        if silent and not cells[257] and (not self.only_lit or any(cells[i] for i in range(10))):
            cells.update(dict.fromkeys(range(10), 0) | {257: 1})

    def answer(self, pdu: bytes) -> bytes:
        self.look()
        cells = self.tables["holding"]
        if pdu[0] != 16:
            return super().answer(pdu) if pdu[0] == 3 else bytes([pdu[0] | 0x80, 1])
        register, value = struct.unpack(">H", pdu[1:3])[0], struct.unpack(">H", pdu[6:8])[0]
        if register < 10 and value and cells[257]:
            return b"\x90\x04"
        reply = super().answer(pdu)
        if register < 10 or register == 256:
            self.fed_s = time.monotonic()
        self.lit += cells[7]
        self.hot += any(cells[i] for i in HOT)
        return reply


@pytest.fixture(params=[True, False], ids=["drops-what-is-on", "drops-in-any-silence"])
def board(request: pytest.FixtureRequest) -> Iterator[Dropping]:
    made = Dropping(request.param)
    yield made
    made.line.close()


@pytest.fixture
def oven(board: Dropping) -> Oven:
    return loads(FILE.format(board.line.path), Oven, ConfigError, "module.toml")


@pytest.fixture
def oven_io(oven: Oven) -> Iterator[WiredIO]:
    made = open_oven_io(oven, RealClock())
    made.connect()
    made.scan(0.0)
    yield made
    made.close()


def tripped(board: Dropping, oven_io: WiredIO) -> None:
    """A heat, then a cable that is out for longer than the watchdog holds."""
    assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
    assert board.hot
    time.sleep(1.8)
    board.look()
    assert board.tables["holding"][257] == 1
    board.hot = 0


def test_the_lamp_tells_its_numbers_after_the_board_has_dropped_all(
    board: Dropping, oven: Oven, oven_io: WiredIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five calls were refused (exception 04) and the reset ended: the arms were never sent."""
    monkeypatch.setattr(lamp_calls, "BETWEEN_S", 2.0)  # longer than the board holds: it must be fed
    tripped(board, oven_io)
    said: list[str] = []
    presence.prove(oven, oven_io, RealClock(), lambda _: "1 2 1", code="121", say=said.append)
    assert sum("failed" in line for line in said) == 1
    assert board.lit
    assert board.hot == 0
    assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why


def test_what_was_armed_for_the_lamp_drops_by_itself_once_nobody_calls(
    board: Dropping, oven_io: WiredIO
) -> None:
    tripped(board, oven_io)
    assert oven_io.arm_for_calls()
    assert oven_io.sound(horn=False, lamp=True) == ""
    time.sleep(1.8)
    board.look()
    assert not any(board.tables["holding"][i] for i in range(10))
    assert board.hot == 0


def test_feeding_for_a_call_never_writes_heat(board: Dropping, oven_io: WiredIO) -> None:
    """Off goes out again and again, and feeds; once a heat begins it is fed by its own outputs."""
    tripped(board, oven_io)
    assert oven_io.arm_for_calls()
    for _ in range(6):
        assert oven_io.feed(), oven_io.why
        time.sleep(0.4)
    board.look()
    assert board.tables["holding"][257] == 0
    assert board.hot == 0
    assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
    assert oven_io.feed()
    assert board.tables["holding"][9] == 1


def test_a_board_without_arms_is_left_alone(board: Dropping, oven: Oven) -> None:
    oven_io = open_oven_io(oven.model_copy(update={"arm": ()}), RealClock())
    try:
        oven_io.connect()
        assert not oven_io.arm_for_calls()
    finally:
        oven_io.close()
