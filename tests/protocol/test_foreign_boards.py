"""Boards as they are sold, plain scripts: words, several lines, floats, timed pulses, a timer relay."""

import math
import struct

import pytest
from foreign.wires import OnAPty, TimerRelay, Unit, crc, floats, lines, rtu

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices import heat_cutter
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.permits.dead_man_test import dead_man
from kilnctl.permits.heated_ticks import Watched
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
ON, OFF = HeatRequest(True, 1.0), HeatRequest(False, 0.0)

TICK = '#tick\ntick = "{} s"\n'
HEAD = """
name = "foreign"
use = "hardening"
build = "brick"
power = "2400 W"
limit = "1000 C"
isolator = "red switch"
switching = { kind = "solid-state" }
[port.p]
path = "PATH"
timeout = "0.3 s"
"""
PROCESS = 'unit = "C"\nlow = "-20 C"\nhigh = "1300 C"\n'


def oven(text: str, path: str) -> Oven:
    text, _, tick = text.partition("#tick")
    return loads((tick + HEAD + text).replace("PATH", path), Oven, ConfigError, "foreign.toml")


@pytest.fixture
def on_line():
    left = []

    def opened(talk, text):
        end = OnAPty(talk)
        oven_io = open_oven_io(oven(text, end.path), RealClock())
        left.extend([end, oven_io])
        return end, oven_io

    yield opened
    for one in reversed(left):
        one.close()


WORDS = """
[device.board]
kind = "text"
port = "p"
open_words = ["FAULT"]
words = { heater = ["OFF", "ON"], door = ["SHUT", "OPEN"] }
ask = [{ send = "READ", reply = "T={process}\\nDOOR {door}\\nHEAT {heater}\\nEND" }]
[device.board.tell.heater]
send = "HEAT {value}"
reply = "HEAT IS {value}"
[device.board.tell.alive]
send = "ALIVE"
reply = "OK"
[signal.process]
device = "board"
field = "process"
""" + PROCESS + """
[signal.door_open]
device = "board"
field = "door"
[output.heater]
device = "board"
field = "heater"
[dead_man]
device = "board"
field = "alive"
write = 1
drops_after = "5 s"
"""  # fmt: skip


class Words:
    """A microcontroller with words of its own and an answer of several lines."""

    def __init__(self) -> None:
        self.heat, self.t, self.door, self.said = "OFF", "21.50", "SHUT", []

    def __call__(self, line: str) -> str | None:
        self.said.append(line)
        if line == "READ":
            return f"T={self.t}\nDOOR {self.door}\nHEAT {self.heat}\nEND\n"
        if line in ("HEAT ON", "HEAT OFF"):
            self.heat = line.split()[1]
            return f"HEAT IS {self.heat}\n"
        return "OK\n" if line == "ALIVE" else None


def test_a_board_with_words_and_several_lines_heats_and_goes_off(on_line) -> None:
    board = Words()
    _, oven_io = on_line(lines(board), WORDS)
    oven_io.connect()
    seen = oven_io.scan(0.0)
    assert (seen.process.value, seen.door_open, seen.heat_on) == (21.5, False, False)
    assert oven_io.drive(ON)
    assert oven_io.feed()
    assert board.heat == "ON"
    board.door = "OPEN"
    seen = oven_io.scan(1.0)
    assert (seen.heat_on, seen.door_open) == (True, True)
    assert oven_io.off()
    assert board.heat == "OFF"
    assert board.said.count("READ") < 8  # a reply of several lines is asked for once a look


@pytest.mark.parametrize(("field", "said"), [("heat", "MAYBE"), ("door", "AJAR"), ("t", "hot")])
def test_a_word_that_the_file_does_not_have_is_no_reading(on_line, field: str, said: str) -> None:
    board = Words()
    _, oven_io = on_line(lines(board), WORDS)
    oven_io.connect()
    setattr(board, field, said)
    seen = oven_io.scan(0.0)
    assert (seen.process.quality, seen.heat_on) == (Quality.BAD_REPLY, None)


def test_lines_that_are_missing_are_no_reading_and_do_not_pass_for_the_next(on_line) -> None:
    board = Words()
    whole = board.__call__

    def short(line: str) -> str | None:
        said = whole(line)
        return said.replace("END\n", "") if line == "READ" else said

    _, oven_io = on_line(lines(lambda line: short(line) if board.door == "OPEN" else whole(line)), WORDS)
    oven_io.connect()
    board.door = "OPEN"
    assert not oven_io.scan(0.0).process.good
    board.door = "SHUT"
    assert oven_io.scan(1.0).process.value == 21.5


def test_a_broken_sensor_in_words(on_line) -> None:
    board = Words()
    end, oven_io = on_line(lines(board), WORDS)
    oven_io.connect()
    board.t = "FAULT"
    assert oven_io.scan(0.0).process.quality is Quality.OPEN
    oven_io.close()
    found = Probe(oven(WORDS, end.path), RealClock())
    said = found.temperatures(20.0)
    found.close()
    assert "the device reports an open sensor" in said[0].say


def test_words_in_on_and_off_say_where_words_stand() -> None:
    with pytest.raises(ConfigError, match=r"words = \{ heater = \[.OFF., .ON.\] \}"):
        oven(WORDS.replace('field = "heater"\n', 'field = "heater"\non = "ON"\noff = "OFF"\n'), "/dev/x")


FLOAT = """
[device.panel]
port = "p"
address = 5
[signal.process]
device = "panel"
table = "holding"
register = 0
format = "float32"
word_order = "low first"
""" + PROCESS + """
[output.heater]
device = "panel"
table = "holding"
register = 10
format = "float32"
word_order = "low first"
kind = "set-point"
unit = "C"
park = "20 C"
link_loss = "drops"
"""  # fmt: skip


def test_a_panel_with_floats_takes_a_set_point(on_line) -> None:
    unit = Unit(holding=dict(enumerate([*floats(21.25, True), *[0] * 20])))
    _, oven_io = on_line(rtu({5: unit}), FLOAT)
    oven_io.connect()
    assert oven_io.scan(0.0).process.value == pytest.approx(21.25)
    assert oven_io.drive(HeatRequest(True, 1.0, 218.37))
    low, high = (unit.tables["holding"][n] for n in (10, 11))
    assert struct.unpack(">f", struct.pack(">HH", high, low))[0] == pytest.approx(218.4, abs=0.001)
    seen = oven_io.scan(1.0)
    assert seen.heat_on is True
    assert seen.follower_goal_c == pytest.approx(218.4, abs=0.01)
    assert oven_io.off()
    low, high = (unit.tables["holding"][n] for n in (10, 11))
    assert struct.unpack(">f", struct.pack(">HH", high, low))[0] == 20.0
    assert {len(values) for _, _, values in unit.written} == {2}


def test_a_panel_that_rounds_is_believed_and_one_that_does_not_take_it_is_not(
    on_line,
) -> None:
    unit = Unit(holding=dict(enumerate([*floats(21.0, True), *[0] * 20])))
    unit.wrote = lambda table, first, _: unit.tables[table].update(
        zip((first, first + 1), floats(round(_float(unit, first), 1), True), strict=True)
    )
    _, oven_io = on_line(rtu({5: unit}), FLOAT)
    oven_io.connect()
    assert oven_io.drive(HeatRequest(True, 1.0, 199.96))
    unit.wrote = lambda table, first, _: unit.tables[table].update({10: 0, 11: 0})
    assert not oven_io.drive(HeatRequest(True, 1.0, 300.0))


def _float(unit: Unit, first: int) -> float:
    low, high = (unit.tables["holding"][n] for n in (first, first + 1))
    return struct.unpack(">f", struct.pack(">HH", high, low))[0]


def test_a_float_that_is_no_number_at_the_set_point_is_not_off(on_line) -> None:
    unit = Unit(holding=dict(enumerate([*floats(21.0, True), *[0] * 20])))
    unit.wrote = lambda *_: unit.tables["holding"].update(zip((10, 11), floats(math.nan, True), strict=True))
    _, oven_io = on_line(rtu({5: unit}), FLOAT)
    assert not oven_io.off()


PULSE = """
[device.relays]
port = "p"
address = 1
[signal.process]
device = "relays"
table = "input"
register = 0
scale = 0.1
""" + PROCESS + """
[output.heater]
device = "relays"
table = "holding"
register = 3
kind = "pulse"
on = [4, 30]
off = [2, 0]
holds = "3 s"
back = { device = "relays", table = "coil", register = 0 }
"""  # fmt: skip


def test_a_pulse_of_mode_and_time_is_one_write_and_its_coil_is_the_read_back(on_line) -> None:
    unit = Unit(input={0: 213}, coil={0: 0}, holding={3: 0, 4: 0})
    unit.wrote = lambda table, first, values: unit.tables["coil"].update({0: int(values[0] == 4)})
    _, oven_io = on_line(rtu({1: unit}), PULSE)
    oven_io.connect()
    assert oven_io.drive(ON)
    assert unit.written[-1] == ("holding", 3, [4, 30])
    assert oven_io.scan(0.0).heat_on is True
    assert oven_io.off()
    assert unit.written[-1] == ("holding", 3, [2, 0])


def test_two_numbers_for_on_and_one_for_off_is_refused() -> None:
    with pytest.raises(ConfigError, match="two numbers each"):
        oven(PULSE.replace("off = [2, 0]", "off = 2"), "/dev/x")


TIMER = """
[device.relays]
port = "p"
address = 1
[signal.process]
device = "relays"
table = "input"
register = 0
scale = 0.1
""" + PROCESS + """
[output.heater]
device = "relays"
table = "coil"
register = 0
BACK
[dead_man]
device = "relays"
table = "coil"
register = 1
write = 1
then = 0
drops_after = "5 s"
"""  # fmt: skip
BACK = 'back = { device = "relays", table = "discrete", register = 0 }'
LIVE = '[signal.heater_live]\ndevice = "relays"\ntable = "discrete"\nregister = 0'


def drill(oven_io, text):
    oven_io.connect()
    return dead_man(Watched(oven_io.oven, oven_io, RealClock(), lambda: True))


@pytest.mark.slow
@pytest.mark.parametrize("witness", [BACK, LIVE], ids=["back", "live"])
def test_the_commonest_relay_board_with_a_timer_relay_behind_it(on_line, witness: str) -> None:
    """Edges keep the timer up; without them its contact drops, and that is what the drill measures."""
    unit = Unit(input={0: 213}, coil={0: 0, 1: 1}, discrete={0: 0})  # an earlier heat left the level at 1
    timer = TimerRelay(unit, keep_alive=1, heater=0, contact=0, for_s=0.9)
    text = TIMER.replace("BACK", witness).replace('"5 s"', '"0.9 s"') + TICK.format(0.2)
    _, oven_io = on_line(rtu({1: unit}), text)
    found = drill(oven_io, text)
    assert found.passed, found.line
    assert 0.4 <= found.value <= 1.5
    assert oven_io.off()
    assert unit.tables["coil"][0] == 0  # also where the timer has dropped already
    assert not timer.heats


@pytest.mark.on_demand  # it is waited for as long as a timer may hold
def test_a_timer_that_never_drops_is_found(on_line) -> None:
    unit = Unit(input={0: 213}, coil={0: 0, 1: 0}, discrete={0: 0})
    TimerRelay(unit, keep_alive=1, heater=0, contact=0, for_s=600.0)
    text = TIMER.replace("BACK", LIVE).replace('"5 s"', '"2.5 s"') + TICK.format(0.2)
    _, oven_io = on_line(rtu({1: unit}), text)
    found = drill(oven_io, text)
    assert not found.passed
    assert "NO dead-man" in found.line


def test_off_is_not_believed_from_the_contact_alone(on_line) -> None:
    """The timer has dropped, so the contact says off whatever the coil does."""
    unit = Unit(input={0: 213}, coil={0: 1, 1: 0}, discrete={0: 0})
    good, deaf = rtu({1: unit}), []

    def talk(came: bytes) -> tuple[int, bytes]:
        if deaf and len(came) >= 8 and came[1] == 5:
            return len(came), b""
        return good(came)

    TimerRelay(unit, keep_alive=1, heater=0, contact=0, for_s=5.0)
    _, oven_io = on_line(talk, TIMER.replace("BACK", BACK))
    deaf.append(True)
    assert not oven_io.off()
    deaf.clear()
    assert oven_io.off()
    assert unit.tables["coil"][0] == 0


def test_a_timer_that_is_too_short_for_the_ticks_is_refused() -> None:
    with pytest.raises(ConfigError, match="one edge in two ticks"):
        oven(TIMER.replace("BACK", BACK).replace('"5 s"', '"2 s"'), "/dev/x")


def test_a_gateway_that_refuses_for_every_address_is_no_echo_and_no_stranger(on_line) -> None:
    """Exception 0B, target failed to respond: application protocol 1.1b3, section 7."""
    unit = Unit(input={0: 213}, coil={0: 0}, holding={3: 0, 4: 0})
    mine = rtu({1: unit})

    def talk(came: bytes) -> tuple[int, bytes]:
        if len(came) >= 8 and came[0] != 1:
            refused = bytes([came[0], came[1] | 0x80, 0x0B])
            return 8, refused + crc(refused)
        return mine(came)

    end, oven_io = on_line(talk, PULSE)
    oven_io.close()
    probe = Probe(oven(PULSE, end.path), RealClock(), addresses=range(1, 5))
    found = [*probe.echo(), *probe.answers(), *probe.strangers(range(1, 5))]
    probe.close()
    assert all(one.good for one in found), found


def test_a_contact_that_stays_on_is_told_and_not_waited_for_again_and_again(on_line, monkeypatch) -> None:
    """The wait is long here, so that a busy machine is not taken for a second one."""
    monkeypatch.setattr(heat_cutter, "DROP_S", 3.0)
    unit = Unit(input={0: 213}, coil={0: 0, 1: 0}, discrete={0: 1})
    _, oven_io = on_line(rtu({1: unit}), TIMER.replace("BACK", BACK))
    clock = RealClock()
    assert not oven_io.off()
    began_s = clock.real_s()
    assert not oven_io.off()
    assert clock.real_s() - began_s < 2.5
    unit.tables["discrete"][0] = 0
    assert oven_io.off()
