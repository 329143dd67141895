"""The reference firmware over real bytes: the host's build by the way, the emulated chip on demand.

The chip needs simavr, libsimavr-dev, libelf-dev, gcc-avr and avr-libc:
`pytest tests/firmware/test_on_a_line.py -m "on_demand or not on_demand" -s`
"""

import random
import shutil
import time
from pathlib import Path

import pytest
import serial
from foreign.firmware_board import OnALine, needs_compiler, on_the_emulated_chip, on_the_host, oven_text_for
from maker import Maker

from kilnctl.clock import RealClock
from kilnctl.commissioning import bus_check
from kilnctl.commissioning.drills import drill_rig, drills
from kilnctl.commissioning.drills.dead_man_kill_test import kill
from kilnctl.commissioning.drills.drill_rig import DrillRig
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.languages.line import framed, unframed
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

TOOLS = shutil.which("avr-gcc") and Path("/usr/include/simavr/sim_avr.h").exists()
emulated = [
    pytest.mark.on_demand,
    pytest.mark.skipif(not TOOLS, reason="no avr-gcc or no simavr: nothing was tried on an emulated chip"),
]
pytestmark = [needs_compiler, pytest.mark.real_bytes, pytest.mark.slow]
HOST, CHIP = (on_the_host, 115200), (on_the_emulated_chip, 38400)
# An emulated chip that is slower than its line has noise waiting before it: 3 s of it at a load of 12.
BACKLOG_S = 20.0
TOLD_EVERY_S, SLOW = 1.0, 0.95  # of the chip's own seconds
BOTH = [pytest.param(HOST, id="host"), pytest.param(CHIP, id="chip", marks=emulated)]
ON = HeatRequest(True, 1.0)


class Wired:
    """A board in a process, and kilnctl's ways to it, one at a time."""

    def __init__(self, board: OnALine, baud: int, write_s: int) -> None:
        self.board, self.clock = board, RealClock()
        self.text = oven_text_for(board.path, baud, write_s)
        self.oven = loads(self.text, Oven, ConfigError, "oven.toml")

    def probe(self) -> Probe:
        return Probe(self.oven, self.clock)

    def oven_io(self):
        return open_oven_io(self.oven, self.clock)

    def drill(self, name):
        """Do a drill; one that calls this machine too busy to know anything is done again, twice at most.

        A drill counts this computer's seconds: of a chip that is emulated at half its speed it knows nothing.
        """
        began_s, emulated_s = time.monotonic(), self.board.emulated_s
        for _ in range(3):
            found = drills.run(name, self.oven, self.oven_io(), self.clock)
            if "do it again" not in found.line:
                break
        real_s, chip_s = time.monotonic() - began_s, self.board.emulated_s - emulated_s
        if self.board.emulated_s and chip_s + TOLD_EVERY_S < SLOW * real_s:
            pytest.skip(
                f"this machine emulates the chip at {chip_s / real_s:.0%} of its speed: nothing known"
            )
        return found

    def say(self, *words: str) -> list[str]:
        with serial.Serial(self.board.path, self.oven.port["usb"].baud, timeout=0.5) as line:
            line.write(b"\n")
            time.sleep(0.05)
            line.reset_input_buffer()
            replies = []
            for number, word in enumerate(words):
                line.write(framed(">", number, word))
                replies.append(unframed(line.readline().decode().strip(), number, word))
            return replies

    def heating(self) -> None:
        assert self.say("FED 10", "PUT contactor 1", "PUT heater 1000")[-1] == "PUT heater 1000"
        time.sleep(0.3)


@pytest.fixture
def wired(request):
    boards = []

    def make(of, wrong="", write_s=10):
        boards.append(of[0](wrong))
        return Wired(boards[-1], of[1], write_s)

    yield make
    for board in boards:
        board.close()


@pytest.mark.parametrize("of", BOTH)
def test_the_set_up_steps_pass(wired, of, monkeypatch):
    """Bus check, dead-man test (SEE and PUT go on without FED), and the program that heats is killed."""
    monkeypatch.setattr(drill_rig, "ISOLATED_RISE_K", 1e3)  # nobody isolates the oven behind this board
    made, maker = wired(of, write_s=4), Maker()
    probe = made.probe()
    monkeypatch.setattr(probe, "still_answer", list)  # a bench without a supply to switch
    try:
        found = bus_check.check_bus(probe, maker)
    finally:
        probe.close()
    assert [f.say for f in found if not f.good] == []
    assert made.drill("bus").passed
    starved = made.drill("dead_man")
    assert starved.passed, starved.line
    assert 3.5 <= starved.value <= 4.9
    probe = made.probe()
    try:
        killed = kill(made.text, 1.0, probe, made.clock, quiet=False)
    finally:
        probe.close()
    print(f"starved {starved.value:.1f} s, killed {killed.value:.1f} s, of 4 s")
    assert killed.passed, killed.line
    assert killed.value <= 4.9


@pytest.mark.parametrize("wrong", ["PUT_FEEDS", "SEE_FEEDS", "NEVER_DROPS"])
@pytest.mark.parametrize("of", [pytest.param(HOST, id="host", marks=pytest.mark.on_demand), BOTH[1]])
def test_the_dead_man_test_finds_a_wrong_board(wired, of, wrong):
    found = wired(of, wrong).drill("dead_man")
    print(found.line)
    assert not found.passed  # in which words: test_core.py, where no busy machine makes replies late


@pytest.mark.parametrize("of", BOTH)
def test_the_bus_check_finds_a_board_that_comes_up_on(wired, of, monkeypatch):
    probe = wired(of, "ON_AT_BOOT").probe()
    monkeypatch.setattr(probe, "still_answer", list)  # as above
    try:
        found = bus_check.check_bus(probe, Maker())
    finally:
        probe.close()
    assert [f.kind for f in found if not f.good] == ["power-up state"]


@pytest.mark.parametrize("of", BOTH)
def test_noise_on_the_line(wired, of):
    """Nothing comes on, nothing hangs, and the next request is answered. 100 kB to the chip, 20 kB here."""
    made, draw = wired(of), random.Random(38400)
    size, rate = (20_000, 400_000) if of is HOST else (100_000, 3_400)
    with serial.Serial(made.board.path, of[1], timeout=0.5) as line:
        for _ in range(0, size, 200):
            line.write(draw.randbytes(200))
            time.sleep(200 / rate)
        line.write(b"\n" + framed(">", 7, "WHO"))
        heard, give_up_s = b"", time.monotonic() + BACKLOG_S
        while b"<07 WHO carver_bench 1*" not in heard and time.monotonic() < give_up_s:
            heard += line.read(max(1, line.in_waiting))
    assert b"<07 WHO carver_bench 1*" in heard, heard
    assert heard.count(b"!HELLO") <= 1  # the one of its start: noise has not restarted it
    assert "heater=0 contactor=0" in made.say("SEE")[0]
    assert not any("1" in pins for _, pins in made.board.seen)


@pytest.mark.parametrize("of", BOTH)
def test_a_short_heat(wired, of):
    """To 30 °C and off, by I/O and interlocks that judge it as in every drill."""
    made = wired(of)
    oven_io = made.oven_io()
    try:
        oven_io.connect()
        bench = DrillRig(made.oven, oven_io, made.clock)
        scan = bench.heat_to(30.0, 90.0, lambda scan: (scan.process.value or 0.0) >= 30.0)
        assert bench.trip is None
        assert scan is not None
        assert oven_io.off()
    finally:
        oven_io.close()
    assert "heater=0 contactor=0" in made.say("SEE")[0]


@pytest.mark.parametrize("of", [pytest.param(CHIP, id="chip", marks=emulated)])
@pytest.mark.parametrize(("what", "within_s"), [("hang", 1.0), ("brown", 0.6)])
def test_a_chip_that_hangs_or_browns_out_starts_off(wired, of, what, within_s):
    """The main loop hangs while interrupts go on: the watchdog restarts it. It is greeted with off."""
    made = wired(of)
    oven_io = made.oven_io()
    try:
        oven_io.connect()
        oven_io.scan(0.0)
        assert oven_io.drive(ON)
        assert oven_io.feed()
        time.sleep(0.2)
        before = oven_io.scan(1.0).link.restarts
        made.board.tell(what)
        time.sleep(within_s + 0.5)
        gone_s = made.board.off_after_s("told")
        print(f"{what}: off after {gone_s * 1000:.0f} ms")
        assert gone_s < within_s
        scans = [oven_io.scan(float(at_s)) for at_s in range(3)]
        assert scans[-1].link.restarts == before + 1
        assert scans[-1].heat_on is False
        assert oven_io.off()
    finally:
        oven_io.close()


@pytest.mark.parametrize("of", [pytest.param(CHIP, id="chip", marks=emulated)])
@pytest.mark.parametrize("code", ["open", "short", "absent", "dead"])
def test_every_way_of_the_converter_to_say_no_is_an_open_sensor(wired, of, code):
    """The board drops by itself after 3 s and refuses; whole again it needs a PUT."""
    made = wired(of)
    made.heating()
    made.board.tell(code)
    time.sleep(0.6)
    gone_s = made.board.off_after_s("told")
    oven_io = made.oven_io()
    assert "process=open" in made.say("SEE")[0]
    print(f"{code}: off after {gone_s:.1f} s")
    assert 2.9 < gone_s < 3.6
    oven_io.connect()
    assert oven_io.scan(0.0).process.quality is Quality.OPEN
    oven_io.close()
    made.board.tell("whole")
    time.sleep(0.6)
    assert "heater=0 contactor=0" in made.say("SEE")[0]


@pytest.mark.parametrize("of", [pytest.param(CHIP, id="chip", marks=emulated)])
def test_a_computer_that_goes_away(wired, of):
    made = wired(of)
    made.heating()
    assert 9.0 < made.board.off_after_s("heater=1 contactor=1") < 10.2
