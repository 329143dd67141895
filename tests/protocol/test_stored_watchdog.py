"""A board whose watchdog's time is its only register for it, kept without power, and fed by every request.

The board is a plain script (foreign.wires). That a memory of 100 000 writings lasts 28 hours of one a second
is arithmetic: 100 000 / 3600.
"""

from collections.abc import Iterator

import pytest
from foreign.wires import OnAPty, Unit, rtu

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

TEXT = """name = "kept"
use = "tempering"
build = "fibre"
power = "1600 W"
limit = "600 C"
isolator = "red switch"
switching = {{ kind = "solid-state" }}
port.bus = {{ path = "{}", baud = 19200 }}
device.board = {{ port = "bus", address = 17 }}
dead_man = {{ device = "board", table = "holding", register = 256, write = 10, {}drops_after = "10 s" }}
[signal.process]
device = "board"
table = "input"
register = 16
scale = 0.25
unit = "C"
low = "-20 C"
high = "900 C"
[output.heater]
device = "board"
table = "coil"
register = 0
"""
STORED = "stored = true, "


@pytest.fixture
def board() -> Unit:
    return Unit(coil={0: 0, 1: 0}, input={16: 80}, holding={256: 0, 257: 0})


@pytest.fixture
def path(board: Unit) -> Iterator[str]:
    line = OnAPty(rtu({17: board}))
    yield line.path
    line.close()


def written(board: Unit, path: str, more: str, ticks: int = 5) -> list[int]:
    """Heat for a few ticks; return what the board had to store."""
    oven_io = open_oven_io(loads(TEXT.format(path, more), Oven, ConfigError, "kept.toml"), RealClock())
    asked: list[int] = []
    board.looks = lambda: asked.append(1)
    try:
        oven_io.connect()
        for tick in range(ticks):
            oven_io.scan(float(tick))
            assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
            asked.clear()
            assert oven_io.feed(), oven_io.why
            assert asked, "nothing was asked of the board in its feeding"
        assert oven_io.off()
    finally:
        oven_io.close()
    return [values[0] for table, register, values in board.written if (table, register) == ("holding", 256)]


@pytest.mark.real_bytes
def test_a_watchdog_whose_number_is_stored_is_fed_by_reading_it(board: Unit, path: str) -> None:
    assert len(written(board, path, "")) >= 5
    board.written.clear()
    board.tables["holding"][256] = 0
    assert written(board, path, STORED) == [10]
    board.written.clear()
    assert written(board, path, STORED) == []


def test_two_numbers_in_turn_cannot_be_stored() -> None:
    for more in ("then = 5, ", "counts_to = 99, "):
        with pytest.raises(ConfigError, match="stored"):
            loads(TEXT.format("/dev/ttyUSB0", STORED + more), Oven, ConfigError, "kept.toml")


def test_a_register_that_an_arm_calls_stored_is_not_written_every_second() -> None:
    arm = '[[arm]]\ndevice = "board"\ntable = "holding"\nregister = 256\nwrite = 10\nstored = true\n'
    with pytest.raises(ConfigError, match=r"keeps .* without power") as refused:
        loads(TEXT.format("/dev/ttyUSB0", "") + arm, Oven, ConfigError, "kept.toml")
    assert "stored = true" in str(refused.value)
    loads(TEXT.format("/dev/ttyUSB0", STORED) + arm, Oven, ConfigError, "kept.toml")
