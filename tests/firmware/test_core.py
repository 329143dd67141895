"""The portable core of the reference firmware, compiled here and driven in virtual time.

It is judged by the page (tests/firmware_page.py), by noise, and by kilnctl's own set-up steps, which must
find each of the boards that are wrong in a dangerous way.
"""

import random
import subprocess

import pytest
from foreign.firmware_board import FIRMWARE, OVEN, WRONGS, Desk, DeskLine, built, core_of, needs_compiler
from foreign.firmware_page import CONVERSATION, OWN_SENSOR, play

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.drills import drills
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.languages.line import framed
from kilnctl.devices.oven_io import WiredIO
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.permits.dead_man_test import dead_man
from kilnctl.permits.heated_ticks import Watched
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

pytestmark = needs_compiler
ON = HeatRequest(True, 1.0)


def words(number, text):
    return framed(">", number, text)


def heating(desk, seconds=10):
    for number, text in enumerate((f"FED {seconds}", "PUT contactor 1", "PUT heater 500")):
        desk.take(words(number, text))
    assert desk.pins()[:2] == (500, 1)
    return desk


@pytest.mark.parametrize("standard", ["c99", "c11"])
def test_the_core_compiles_without_a_warning(standard):
    built("strict", f"-std={standard}", "-O1", "-Wconversion", "-Wshadow", "-c", *core_of(""))


def test_the_core_needs_no_library_but_string():
    made = built("core.o", "-c", "-ffreestanding", *core_of(""))
    wanted = subprocess.run(["nm", "-u", made], capture_output=True, text=True, check=True).stdout.split()[
        1::2
    ]
    own = {name for name in wanted if name.startswith("board_")}
    libc = set(wanted) - own - {"__stack_chk_fail", "_GLOBAL_OFFSET_TABLE_"}
    assert libc <= {"strcmp", "strncmp", "strchr", "memcmp", "memcpy", "memset"}


def test_every_line_of_the_page():
    desk = Desk()
    happens = {"pass": desk.step, "the board starts": desk.start}
    desk.said()
    assert play(CONVERSATION, desk.take, happens) == []


def test_every_line_of_the_page_about_an_open_sensor():
    desk = Desk()
    happens = {
        "pass": desk.step,
        "the sensor opens": lambda: (desk.sensor(None), desk.step(0.02)),
        "the sensor is whole": lambda: (desk.sensor(20.0), desk.step(0.02)),
    }
    desk.said()
    assert play(OWN_SENSOR, desk.take, happens) == []


@pytest.mark.parametrize("wrong", WRONGS)
def test_the_page_finds_a_wrong_board(wrong):
    desk = Desk(wrong)
    desk.said()
    assert play(CONVERSATION, desk.take, {"pass": desk.step, "the board starts": desk.start}) != []


def test_lines_of_250_characters_are_heard_and_longer_ones_are_not():
    desk = Desk()
    desk.said()
    for size, answered in ((250, True), (251, False), (10_000, False), (65_536 + 20, False)):
        line = words(1, "A" * (size - len(">01 *0000")))
        assert len(line) == size + 1
        assert bool(desk.take(line)) is answered, size
        assert desk.take(words(2, "WHO")) == framed("<", 2, "WHO carver_bench 1")


def test_a_line_so_long_that_its_counter_would_run_over_is_no_request():
    desk = Desk()
    desk.said()
    assert desk.take(b"A" * 65_536 + words(1, "WHO")) == b""


def test_a_hundred_thousand_bytes_of_noise():
    """No reply to noise, no heat from it, and the board still hears; half of it looks like lines."""
    desk, draw = Desk(), random.Random(1507)
    desk.said()
    pieces = [words(7, "SEE"), words(8, "FED 30"), words(9, "PUT heater 1000"), b"OFF\n", b"\n", b">"]
    noise = b""
    while len(noise) < 100_000:
        piece = bytearray(
            draw.choice(pieces) if draw.random() < 0.5 else draw.randbytes(draw.randrange(1, 90))
        )
        piece[draw.randrange(len(piece))] ^= 1 << draw.randrange(8)
        noise += bytes(piece)
    for start in range(0, len(noise), 64):
        # a piece of one byte that was flipped back into a line end is no request either
        assert desk.take(noise[start : start + 64]) == b""
        assert desk.pins() == (0, 0, 0)
    desk.take(b"\n")
    assert desk.take(words(1, "WHO")) == framed("<", 1, "WHO carver_bench 1")


@pytest.mark.parametrize("run_over_in_s", [0.05, 0.5, 5.0, 20.0, 3e6])
@pytest.mark.parametrize("seconds", [1, 10, 30])
def test_the_dead_man_drops_within_100_ms_also_when_the_clock_runs_over(run_over_in_s, seconds):
    """32 bits of milliseconds run over after 49.7 days."""
    desk = Desk()
    desk.clock(2**32 - round(run_over_in_s * 1000))
    heating(desk, seconds)
    desk.step(seconds - 0.1)
    assert desk.pins()[:2] == (500, 1)
    desk.step(0.2)
    assert desk.pins()[:2] == (0, 0)
    desk.step(60.0)
    assert desk.pins()[:2] == (0, 0)


def test_no_reading_and_no_write_keeps_the_heat_on():
    desk = heating(Desk())
    for number in range(101):
        desk.step(0.1)
        desk.take(words(number % 250, ("SEE", "PUT heater 500", "WHO", "PUT lamp 1")[number % 4]))
    assert desk.pins()[:2] == (0, 0)


def test_a_sensor_that_flickers_does_not_drop_and_one_that_stays_open_does():
    desk = heating(Desk(), 30)
    for _ in range(4):
        desk.sensor(None)
        desk.step(2.5)
        desk.sensor(20.0)
        desk.step(0.1)
    assert desk.pins()[:2] == (500, 1)
    desk.sensor(None)
    desk.step(3.1)
    assert desk.pins()[:2] == (0, 0)
    desk.sensor(20.0)
    desk.step(1.0)
    assert desk.pins()[:2] == (0, 0)


@pytest.mark.parametrize(
    ("at_c", "shown"),
    [
        (-12.0, "-12"),
        (218.25, "218.25"),
        (0.5, "0.5"),
        (-0.05, "-0.05"),
        (1300.1, "1300.1"),
        (0.0, "0"),
        (None, "open"),
    ],
)
def test_how_values_are_written(at_c, shown):
    desk = Desk()
    desk.said()
    desk.sensor(at_c)
    assert f"process={shown} " in desk.take(words(1, "SEE")).decode()


# ---- kilnctl itself against the core, in virtual time ----


class Wired:
    """An oven whose board is the core: I/O, probe and clock."""

    def __init__(self, wrong=""):
        self.oven = loads(OVEN, Oven, ConfigError, "oven.toml")
        self.clock, self.desk = VirtualClock(), Desk(wrong)
        self.desk.said()
        self.oven_io = WiredIO(self.oven, Buses(self.clock, opener=self.open), self.clock)

    def open(self, port, exclusive):
        return DeskLine(self.desk, self.clock)

    def probe(self):
        return Probe(self.oven, self.clock, opener=self.open)

    def drill(self, name):
        return drills.run(name, self.oven, self.oven_io, self.clock)


def test_the_bus_check_and_the_dead_man_test_pass_on_the_sound_board():
    wired = Wired()
    probe = wired.probe()
    findings = [*probe.answers(), probe.power_up(), *probe.identities(), *probe.places()]
    assert [f.say for f in findings if not f.good] == []
    assert wired.drill("bus").passed
    found = wired.drill("dead_man")
    assert found.passed, found.line
    assert found.value == pytest.approx(10.0, abs=0.5)
    assert not found.any_traffic
    assert wired.desk.pins()[:2] == (0, 0)


def test_a_board_that_answers_costs_no_wait_for_its_banner():
    wired = Wired()
    wired.oven_io.connect()
    assert wired.clock.real_s() < 0.3
    wired.oven_io.scan(1.0)
    assert wired.clock.real_s() < 0.3


@pytest.mark.parametrize("wrong", ["PUT_FEEDS", "SEE_FEEDS", "NEVER_DROPS"])
@pytest.mark.parametrize("by", ["set-up", "before an unattended heat"])
def test_the_dead_man_test_finds_a_board_that_is_kept_on(wrong, by):
    wired = Wired(wrong)
    if by == "set-up":
        found = wired.drill("dead_man")
    else:
        wired.oven_io.connect()
        found = dead_man(Watched(wired.oven, wired.oven_io, wired.clock, lambda: True))
        wired.oven_io.off()
    assert not found.passed
    assert "this firmware lets SEE or PUT keep the heat on" in found.line
    assert wired.desk.pins()[:2] == (0, 0)


def test_the_bus_check_finds_a_board_that_comes_up_on():
    assert Wired().probe().power_up().good
    assert not Wired("ON_AT_BOOT").probe().power_up().good


def test_a_restart_in_mid_heat_is_greeted_with_off():
    wired = Wired()
    wired.oven_io.connect()
    wired.oven_io.scan(0.0)
    wired.oven_io.drive(ON)
    wired.oven_io.feed()
    assert wired.desk.pins()[:2] == (1000, 1)
    wired.desk.start()
    scans = []
    for at_s in (1.0, 2.0):
        wired.clock.advance(1.0)
        scans.append(wired.oven_io.scan(at_s))
    assert [scan.heat_on for scan in scans][-1] is False
    assert scans[-1].link.restarts == 1


def test_an_open_sensor_is_seen_by_kilnctl_and_dropped_by_the_board_alone():
    wired = Wired()
    wired.oven_io.connect()
    wired.oven_io.scan(0.0)
    wired.oven_io.drive(ON)
    wired.oven_io.feed()
    wired.desk.sensor(None)
    wired.clock.advance(1.0)
    assert wired.oven_io.scan(1.0).process.quality is Quality.OPEN
    wired.clock.advance(2.5)
    assert wired.oven_io.scan(3.5).heat_on is False
    assert not wired.oven_io.drive(ON)
    assert "ERR sensor" in wired.oven_io.why


def test_every_reply_is_one_line_of_at_most_250_characters():
    desk = Desk()
    desk.said()
    said = [desk.take(row.sent) for row in CONVERSATION if row.sent.strip()]
    assert {text.count(b"\n") for text in said} == {0, 1}
    assert max(len(text) for text in said) <= 251


def test_the_firmware_lies_beside_the_program():
    names = {path.name for path in FIRMWARE.iterdir()}
    assert {"README.md", "board_core.c", "board_core.h", "avr_layer.c", "host_layer.c"} <= names
