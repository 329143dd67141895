"""A text board that echoes, prompts, sums its lines and restarts when its port is opened, over real bytes.

What its port's opening does, and that it hears nothing until its first words, is common practice of boards
with a socket for USB, no single source. The sums are reckoned here; nothing of kilnctl is in the board.
"""

import time

import pytest
from foreign.wires import OnAPty

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.emergency_off import off_all
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.port import open_line
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
STARTS_S = 1.5
FILE = """
name = "echoing"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "240 C"
isolator = "red switch"
switching = { kind = "solid-state" }
[port.p]
path = "PATH"
timeout = "0.3 s"
[device.micro]
kind = "text"
port = "p"
line_end = "CR"
answer_end = "CR LF"
checksum = "lrc8"
checksum_mark = ";"
echoes = true
prompt = ">"
banner = "!READY"
banner_wait = "3 s"
unasked = "!"
open_words = ["OPEN"]
[[device.micro.ask]]
send = "RD T1"
reply = "T1 = {process} C"
[[device.micro.ask]]
send = "OUT?"
reply = "OUT = 00{contactor:0}{heater:0}"
[device.micro.tell]
heater = { send = "OUT 1 {value}", reply = "OK" }
contactor = { send = "OUT 2 {value}", reply = "OK" }
hold = { send = "HOLD {value}", reply = "OK" }
[signal.process]
device = "micro"
field = "process"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
device = "micro"
field = "heater"
[output.contactor]
device = "micro"
field = "contactor"
[dead_man]
device = "micro"
field = "hold"
write = 5
drops_after = "5 s"
"""


def summed(text: str) -> str:
    return f"{text};{-sum(text.encode()) & 0xFF:02X}\r\n"


class Echoing:
    """Deaf for 1.5 s after each opening or power-up; then it greets, echoes and prompts."""

    def __init__(self) -> None:
        self.outs, self.said, self.late_s, self.stale = ["0", "0"], [], 0.0, ""
        self.starts_s, self.greeted = 0.0, True
        self.line = OnAPty(self._talk)

    def restart(self) -> None:
        self.outs, self.greeted, self.starts_s = ["0", "0"], False, time.monotonic() + STARTS_S

    def opened(self, port, exclusive):
        line = open_line(port, exclusive)
        self.restart()
        return line

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        if time.monotonic() < self.starts_s:
            return len(came), b""
        if not self.greeted:
            self.greeted = True
            return len(came), b"\r\nEchoing board v1\r\n" + summed("!READY").encode() + b">"
        line, found, _ = came.partition(b"\r")
        if not found:
            return 0, b""
        text = line.decode().rpartition(";")[0]
        self.said.append(text)
        stale, self.stale = self.stale, ""
        if self.late_s:
            time.sleep(self.late_s)
        return len(line) + 1, f"{stale}{line.decode()}\r\n{summed(self._does(text))}>".encode()

    def _does(self, text: str) -> str:
        match text.split():
            case ["RD", "T1"]:
                return "T1 = +0021.5 C"
            case ["OUT?"]:
                return f"OUT = 00{self.outs[1]}{self.outs[0]}"
            case ["OUT", which, on]:
                self.outs[int(which) - 1] = on
                return "OK"
            case ["HOLD", _]:
                return "OK"
        return "ERR 1"


@pytest.fixture
def board():
    made = Echoing()
    yield made
    made.line.close()


def oven(board: Echoing) -> Oven:
    return loads(FILE.replace("PATH", board.line.path), Oven, ConfigError, "echoing.toml")


def test_off_at_a_port_whose_opening_restarts_the_board_is_read_back(board, monkeypatch) -> None:
    """It waited for all of the banner's time, because a prompt follows the banner, and gave the port up."""
    monkeypatch.setattr("kilnctl.devices.bus.open_line", board.opened)
    monkeypatch.setattr(Buses.__init__, "__defaults__", (True, board.opened))
    told: list[str] = []
    assert off_all([oven(board)], RealClock(), tell=told.append, reads=3) == {"echoing": True}, told
    assert board.said.count("OUT 1 0") == 3


def test_the_outputs_are_read_after_a_power_up_while_the_port_stays_open(board) -> None:
    """The prompt after the banner was taken for the beginning of each answer from then on."""
    probe = Probe(oven(board), RealClock(), opener=board.opened)
    try:
        assert all(one.good for one in probe.answers())
        board.restart()
        time.sleep(STARTS_S + 0.5)
        found = probe.power_up()
        assert found.good, found.say
    finally:
        probe.close()


def test_a_board_that_answers_has_power_from_somewhere(board) -> None:
    probe = Probe(oven(board), RealClock())
    try:
        assert probe.still_answer() == ["micro"]
        board.starts_s = time.monotonic() + 60.0
        assert probe.still_answer() == []
    finally:
        probe.close()


def heated(board: Echoing):
    oven_io = open_oven_io(oven(board), RealClock())
    oven_io.connect()
    oven_io.scan(0.0)
    assert oven_io.drive(HeatRequest(True, 1.0)), oven_io.why
    return oven_io


def test_the_echo_of_an_older_line_is_never_the_answer_to_a_newer_one(board) -> None:
    oven_io = heated(board)
    try:
        board.stale = "OUT 2 0;B0\r\n" + summed("OK") + ">"
        assert oven_io.scan(1.0).process.value == 21.5
        board.stale = summed("OK") + ">"  # a late answer to an older write, with a sum that is right
        board._does, does = lambda _text: "ERR 7", board._does
        assert not oven_io.feed()
        board._does = does
        assert oven_io.off()
    finally:
        oven_io.close()


def test_a_restart_that_is_told_in_mid_exchange_is_noticed(board) -> None:
    oven_io = heated(board)
    try:
        board.stale = "\r\n" + summed("!READY") + ">"
        before = oven_io.scan(1.0).link.restarts
        assert oven_io.scan(2.0).link.restarts + before >= 1
    finally:
        oven_io.close()


def test_answers_that_come_too_late_leave_it_in_step(board) -> None:
    oven_io = heated(board)
    try:
        board.late_s = 0.7
        assert not oven_io.scan(1.0).process.good
        board.late_s = 0.0
        time.sleep(1.0)
        assert oven_io.off(), oven_io.why
        assert board.outs == ["0", "0"]
    finally:
        oven_io.close()
