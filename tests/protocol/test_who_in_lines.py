"""A text board that says who it is in several lines, and lines that nobody asked for, over real bytes.

A plain script on a pseudo-terminal, written from an invented sheet: every answer ends with the line DONE.
"""

import contextlib
from collections.abc import Iterator

import pytest
from foreign.wires import OnAPty, lines

from kilnctl.clock import RealClock
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.commissioning.drills.drills import bus
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.permits.dead_man_test import Finding
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
FILE = """
name = "words"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "240 C"
isolator = "red switch"
switching = { kind = "solid-state" }
[port.p]
path = "PATH"
timeout = "0.2 s"
[device.box]
kind = "text"
port = "p"
line_end = "CR"
answer_end = "CR LF"
who = "WHO"
ask = [{ send = "ASK OVEN", reply = "OVEN {process} C\\nDONE" }, { send = "ASK A", reply = "A {a}\\nDONE" }]
words = { a = ["OFF", "ON"] }
tell = { a = { send = "TURN A {value}", reply = "A {value}\\nDONE" }, feed = { send = "FEED", reply = "FED 5\\nDONE" } }
[signal.process]
device = "box"
field = "process"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
device = "box"
field = "a"
[dead_man]
device = "box"
field = "feed"
write = 1
drops_after = "5 s"
"""  # noqa: E501


class Box:
    """`after` follows the answer to ASK A; with `refuses` it takes no ON."""

    def __init__(self, after: tuple[str, ...] = (), refuses: bool = False) -> None:
        self.on, self._after, self._refuses = "OFF", after, refuses

    def __call__(self, line: str) -> str:
        return "".join(f"{one}\r\n" for one in self._says(line))

    def _says(self, line: str) -> tuple[str, ...]:
        if line == "WHO":
            return "BENCH BOX 3", "BUILD 2.1", "DONE"
        if line == "ASK OVEN":
            return "OVEN 21.5 C", "DONE"
        if line == "ASK A":
            return f"A {self.on}", "DONE", *self._after
        if line == "FEED":
            return "FED 5", "DONE"
        if line == "TURN A ON" and self._refuses:
            return ("SORRY GUARD",)
        self.on = line.rpartition(" ")[2]
        return f"A {self.on}", "DONE"


@contextlib.contextmanager
def served(box: Box) -> Iterator[str]:
    line = OnAPty(lines(box, b"\r"))
    try:
        yield line.path
    finally:
        line.close()


def checked(box: Box) -> Finding:
    with served(box) as path:
        oven = loads(FILE.replace("PATH", path), Oven, ConfigError, "words.toml")
        oven_io = open_oven_io(oven, RealClock())
        try:
            oven_io.connect()
            rig = DrillRig(oven, oven_io, RealClock())
            rig.tick(heat=False)
            return bus(rig)
        finally:
            oven_io.close()


def test_a_board_that_names_itself_in_several_lines_passes() -> None:
    """Its second line and DONE stayed on the line, as "1 frames that nobody asked for", for ever."""
    found = checked(Box())
    assert found.passed, found.line


def test_lines_that_nobody_asked_for_are_quoted_with_the_keys_that_cure_them() -> None:
    """Neither the line was told nor what to write."""
    found = checked(Box(after=("LOAD 3", "TIME 11")))
    assert not found.passed
    assert "'LOAD 3', 'TIME 11'" in found.line
    assert "frames" not in found.line
    for key in ("reply", "unasked", "banner"):
        assert key in found.line


def test_a_refusal_of_one_line_is_one_where_the_answer_has_several() -> None:
    """The rest of the answer was waited for, and the board told as silent."""
    with served(Box(refuses=True)) as path:
        oven = loads(FILE.replace("PATH", path), Oven, ConfigError, "words.toml")
        oven_io = open_oven_io(oven, RealClock())
        try:
            oven_io.connect()
            oven_io.scan(0.0)
            assert not oven_io.drive(HeatRequest(True, 1.0))
            assert "SORRY GUARD" in oven_io.why
        finally:
            oven_io.close()
