"""A horn or lamp at a number that its board does not have or refuses: told, and no end of a heat."""

import time
from collections.abc import Callable, Iterator

import pytest
from foreign.wires import OnAPty, Unit, lines, rtu

from kilnctl.clock import RealClock
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.commissioning.drills.drills import bus
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.heat.telling.annunciator import Calls
from kilnctl.heat.telling.horn_patterns import attention
from kilnctl.interlocks.link_lost import most_bad
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
ON, OFF = HeatRequest(True, 1.0), HeatRequest(False, 0.0)
HEAD = """name = "bench"
use = "tempering"
build = "fibre"
power = "2400 W"
limit = "300 C"
isolator = "red switch"
switching = { kind = "solid-state" }
port.bus = { path = "PATH", baud = 19200 }
"""
MODBUS = """device.board = { port = "bus", address = 1 }
signal.process = { device = "board", table = "input", register = 0, scale = 0.1, unit = "C", low = "-20 C", high = "400 C" }
output.heater = { device = "board", table = "coil", register = 0 }
output.horn = { device = "board", table = "coil", register = 2 }
output.lamp = { device = "board", table = "coil", register = 40 }
dead_man = { device = "board", table = "holding", register = 0, write = 5, drops_after = "5 s" }
"""  # noqa: E501
TEXT = """[device.board]
kind = "text"
port = "bus"
ask = [{ send = "S", reply = "T={process} H={heater}" }]
tell.heater = { send = "H {value}", reply = "H={value}" }
tell.horn = { send = "B {value}", reply = "B={value}" }
tell.lamp = { send = "L {value}", reply = "L={value}" }
tell.alive = { send = "K {value}", reply = "K={value}" }
[signal.process]
device = "board"
field = "process"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
device = "board"
field = "heater"
[output.horn]
device = "board"
field = "horn"
[output.lamp]
device = "board"
field = "lamp"
[dead_man]
device = "board"
field = "alive"
write = 5
drops_after = "5 s"
"""


class Board:
    """Heater and horn; whatever else it is told it answers with `odd`, None for silence."""

    def __init__(self, odd: str | None) -> None:
        self.odd, self.heats, self.horn, self.words = odd, 0, 0, 0

    def answer(self, line: str) -> str | None:
        word, _, value = line.partition(" ")
        self.words += word in "BL"
        if word == "S":
            return f"T=21.0 H={self.heats}\n"
        if word not in ("H", "B", "K"):
            return self.odd and f"{self.odd}\n"
        self.heats = int(value) if word == "H" else self.heats
        self.horn = int(value) if word == "B" else self.horn
        return f"{word}={value}\n"


def modbus() -> tuple[str, str, Callable[[], int], OnAPty]:
    unit = Unit(coil={n: 0 for n in range(4)}, input={0: 210}, holding={0: 0})
    line = OnAPty(rtu({1: unit}))
    return HEAD + MODBUS, line.path, lambda: unit.tables["coil"][2], line


def text(odd: str | None) -> Callable[[], tuple[str, str, Callable[[], int], OnAPty]]:
    def made() -> tuple[str, str, Callable[[], int], OnAPty]:
        board = Board(odd)
        line = OnAPty(lines(board.answer))
        return HEAD + TEXT, line.path, lambda: board.horn, line

    return made


@pytest.fixture(
    params=[modbus, text("ERR"), text("WHAT? L"), text(None)], ids=["exception", "err", "what", "mute"]
)
def bench(request) -> Iterator[tuple[Oven, Callable[[], int]]]:
    file, path, horn, line = request.param()
    yield loads(file.replace("PATH", path), Oven, ConfigError, "bench.toml"), horn
    line.close()


def test_a_heat_goes_on_and_the_lamp_is_an_alarm(bench) -> None:
    """Every second tick writes it, as at a step that waits. Thirty seconds of ticks without their pauses."""
    oven, horn = bench
    oven_io, calls = open_oven_io(oven, RealClock()), None
    try:
        oven_io.connect()
        calls, heard, worst = Calls(oven_io), 0, 0.0
        for tick in range(60):
            scan = oven_io.scan(float(tick))
            assert scan.process.good, scan.process.why
            assert scan.heat_on is (tick > 0)
            link = scan.link
            worst = max(worst, link.bad_fraction * link.answers)
            assert worst <= most_bad(link.answers) / 2.0
            assert oven_io.drive(ON), oven_io.why
            assert oven_io.feed(), oven_io.why
            calls.sound(attention("ready", tick, acknowledged=False), may=False)
            heard += horn()
        assert heard >= 25, "the horn that is there goes on sounding"
        assert "lamp" in calls.refused
    finally:
        oven_io.close()


def test_one_lost_answer_is_no_alarm() -> None:
    file, path, _, line = modbus()
    oven = loads(
        file.replace("PATH", path).replace("register = 40", "register = 3"), Oven, ConfigError, "b.toml"
    )
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        oven_io.scan(0.0)
        calls = Calls(oven_io)
        said = [oven_io.sound, lambda horn, lamp: "no reply"]
        for tick in range(8):
            oven_io.sound = said[tick in (2, 5)]  # type: ignore[method-assign]
            calls.sound(attention("ready", tick, acknowledged=False), may=False)
            assert calls.refused == ""
    finally:
        oven_io.sound = said[0]  # type: ignore[method-assign]
        oven_io.close()
        line.close()


def test_the_bus_check_tells_which_output_takes_no_word(bench) -> None:
    oven, _ = bench
    oven_io = open_oven_io(oven, RealClock())
    try:
        oven_io.connect()
        found = bus(DrillRig(oven, oven_io, RealClock()))
        assert not found.passed
        assert "output.lamp" in found.line
        assert "oven change" in found.line
        assert "output.horn" not in found.line
    finally:
        oven_io.close()


def test_nothing_waits_long_for_a_lamp_that_is_not_there() -> None:
    """A silent number costs its wait in few ticks only."""
    file, path, _, line = text(None)()
    oven_io = open_oven_io(loads(file.replace("PATH", path), Oven, ConfigError, "b.toml"), RealClock())
    try:
        oven_io.connect()
        took_s = []
        for tick in range(20):
            began_s = time.monotonic()
            oven_io.scan(float(tick))
            oven_io.sound(horn=False, lamp=bool(tick % 2))
            took_s.append(time.monotonic() - began_s)
        assert sum(one > 0.2 for one in took_s) <= 4
    finally:
        oven_io.close()
        line.close()
