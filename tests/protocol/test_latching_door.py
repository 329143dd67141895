"""A board whose watchdog latches, no contactor, and a door that stands open for longer than it holds.

The board is a plain script: coil 0 heats; register 0 feeds its watchdog for 2 s once register 1 has armed it,
and arming is taken only while the coil is off. Tripped it drops the coil and refuses it, and feeding, until
it is armed again.
"""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from foreign.wires import OnAPty, Unit, rtu
from protocol.real_heat import heat

from kilnctl.heat.runner import Runner

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
HOLDS_S = 2.0
FILE = """
name = "latching"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
tick = "0.5 s"
switching = { kind = "solid-state" }
port.p = { path = "PATH", timeout = "0.2 s" }
device.board = { port = "p", address = 1 }
dead_man = { device = "board", table = "holding", register = 0, write = 1, drops_after = "2 s" }
arm = [{ device = "board", table = "holding", register = 1, write = 1 }]
[signal.process]
device = "board"
table = "input"
register = 0
scale = 0.1
unit = "C"
low = "-20 C"
high = "400 C"
[signal.door_open]
device = "board"
table = "discrete"
register = 0
[output.heater]
device = "board"
table = "coil"
register = 0
"""


class Latching(Unit):
    def __init__(self, refuses_feeding: bool) -> None:
        super().__init__(coil={0: 0}, holding={0: 0, 1: 0}, input={0: 410}, discrete={0: 0})
        self.refuses_feeding = refuses_feeding
        self.armed, self.fed_s, self.air_c, self.trips = False, 0.0, 41.0, 0
        self.live_s: list[float] = []
        self._at_s = time.monotonic()
        talk = rtu({1: self})

        def turn(came: bytes) -> tuple[int, bytes]:
            self._pass()
            return talk(came)

        self.line = OnAPty(turn)

    def _pass(self) -> None:
        now_s, coils = time.monotonic(), self.tables["coil"]
        dt_s, self._at_s = now_s - self._at_s, now_s
        if self.armed and now_s - self.fed_s > HOLDS_S:
            self.armed, coils[0], self.trips = False, 0, self.trips + 1
        if coils[0]:
            self.live_s.append(now_s)
        self.air_c += dt_s * (0.6 * coils[0] - (self.air_c - 20.0) / 200.0)
        self.tables["input"][0] = round(10 * self.air_c)

    def answer(self, pdu: bytes) -> bytes:
        place, on = pdu[:3], pdu[3:5] != b"\0\0"
        if place == b"\x05\0\0" and on and not self.armed:
            return b"\x85\x04"
        if place == b"\x06\0\0" and not self.armed and self.refuses_feeding:
            return b"\x86\x04"
        if place == b"\x06\0\1" and self.tables["coil"][0]:
            return b"\x86\x04"
        reply = super().answer(pdu)
        if place == b"\x06\0\1":
            self.armed, self.fed_s = True, time.monotonic()
        if place == b"\x06\0\0":
            self.fed_s = time.monotonic()
        return reply


@pytest.fixture(params=[True, False], ids=["refuses-feeding", "takes-feeding"])
def board(request: pytest.FixtureRequest) -> Iterator[Latching]:
    made = Latching(request.param)
    yield made
    made.line.close()


def test_a_heat_goes_on_after_a_door_that_stood_open_for_longer_than_the_watchdog_holds(
    board: Latching, tmp_path: Path
) -> None:
    opened: list[float] = []
    shut: list[float] = []

    def on_tick(runner: Runner) -> None:
        at_s = runner.now.elapsed_s
        board.tables["discrete"][0] = int(2.0 <= at_s < 8.0)
        if at_s >= 2.0 and not opened:
            opened.append(time.monotonic())
        if at_s >= 8.0 and not shut:
            shut.append(time.monotonic())
        if at_s > 40.0:
            runner.off("the test takes too long")

    soak = {"kind": "soak", "at": "45 C", "time": "8 s", "band": "8 K"}
    outcome = heat(FILE.replace("PATH", board.line.path), tmp_path, [soak], on_tick)
    assert outcome.outcome == "complete"
    assert board.trips >= 1
    assert not [s for s in board.live_s if opened[0] + 1.2 < s < shut[0]]
    assert [s for s in board.live_s if s > shut[0]]
    assert board.tables["coil"][0] == 0
