"""Boards that speak lines of text, as the simulator plays them: exact bytes, bad lines, and the real master.

The CRC in the expected bytes comes from pymodbus, which shares no code with the simulator or with kilnctl.
"""

import time
from pathlib import Path

import pytest
from pymodbus.framer import FramerRTU

from kilnctl.cli.oven.simulate import start
from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import WiredIO
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven.ovens import tempering_oven
from simulator.wire.line import Protocol
from simulator.wire.signal_encoding import Wire
from simulator.wire.text import Language, TextTalker, checksum

FIELDS = {
    "temp": Wire("process"),
    "live": Wire("heater_live"),
    "heater": Wire("heater", output=True),
    "contactor": Wire("contactor", output=True),
    "horn": Wire("horn", output=True),
}


def framed(text: str) -> bytes:
    # pymodbus gives the CRC as it stands on a Modbus wire, low byte in the high place
    wire = FramerRTU.compute_CRC(text.encode())
    return f"{text}*{(wire & 0xFF) << 8 | wire >> 8:04X}\n".encode()


def line_board(*faults: str) -> tuple[Board, Protocol]:
    board = Board(tempering_oven(), noise_k=0.0, speed=20.0)
    for text in faults:
        name, _, value = text.partition(":")
        board.begin(parse_fault(f"{name}@0" + (value and f":{value}")))
    talker = Protocol(board, FIELDS)
    assert talker.take(b"", 0.0) == (
        [] if "replies-silent" in faults else [(b"\n!HELLO simulated_board 1\n", 0.0)]
    )
    return board, talker


def ask(talker: Protocol | TextTalker, data: bytes) -> bytes:
    return b"".join(reply for reply, _ in talker.take(data, 1.0))


def test_the_crc_of_the_expected_bytes() -> None:
    assert framed("123456789") == b"123456789*4B37\n"


@pytest.mark.parametrize(
    ("request_text", "reply_text"),
    [
        (">07 WHO", "<07 WHO simulated_board 1 SIM 20"),
        (">08 SEE", "<08 SEE temp=20 live=0 heater=0 contactor=0 horn=0"),
        (">0A FED 10", "<0A FED 10"),
        (">0A FED 31", "<0A ERR value"),
        (">0A FED 0", "<0A ERR value"),
        (">09 PUT horn 1", "<09 PUT horn 1"),
        (">09 PUT heater 1", "<09 ERR hungry"),
        (">09 PUT heater 0", "<09 PUT heater 0"),
        (">09 PUT temp 5", "<09 ERR unknown"),
        (">09 PUT heater on", "<09 ERR value"),
        (">FF OFF", "<FF OFF"),
        (">FF SING", "<FF ERR unknown"),
    ],
)
def test_requests_of_the_line_protocol(request_text: str, reply_text: str) -> None:
    assert ask(line_board()[1], framed(request_text)) == framed(reply_text)


def test_carriage_returns_are_ignored() -> None:
    assert ask(line_board()[1], framed(">FF OFF").replace(b"\n", b"\r\n")) == framed("<FF OFF")


@pytest.mark.parametrize(
    "data",
    [
        b"PUT heater 1\n",
        b">07 WHO*0000\n",
        framed(">07 WHO").replace(b"WHO", b"WHQ"),
        framed(">7 WHO"),
        framed("<07 WHO"),
        framed(">07 " + "A" * 260),
        b"\xff\xfe\x00\n",
        b"\n",
    ],
)
def test_damaged_foreign_and_too_long_lines_get_no_reply(data: bytes) -> None:
    _, talker = line_board()
    assert ask(talker, data) == b""
    assert ask(talker, framed(">07 OFF")) == framed("<07 OFF")


def test_heat_needs_feeding_and_drops_by_itself() -> None:
    board, talker = line_board()
    ask(talker, framed(">01 FED 5"))
    ask(talker, framed(">02 PUT contactor 1"))
    assert ask(talker, framed(">03 PUT heater 1")) == framed("<03 PUT heater 1")
    board.step(3.0)
    assert board.truth().heater_contact
    board.step(3.0)
    assert ask(talker, framed(">04 PUT heater 1")) == framed("<04 ERR hungry")
    assert not board.heater


def test_bare_off_needs_no_frame() -> None:
    board, talker = line_board()
    ask(talker, framed(">01 FED 30") + framed(">02 PUT contactor 1") + framed(">03 PUT heater 1"))
    assert board.heater
    assert ask(talker, b"OFF\n") == b""
    assert (board.heater, board.contactor) == (False, False)


def test_open_sensor_is_a_word() -> None:
    board, talker = line_board("sensor-open")
    board.step(1.0)
    assert b"temp=open" in ask(talker, framed(">07 SEE"))


def test_a_request_in_pieces_and_a_reply_in_two() -> None:
    _, talker = line_board("replies-split:0.05")
    request = framed(">07 OFF")
    assert talker.take(request[:4], 1.0) == []
    (first, at_once), (second, later) = talker.take(request[4:], 1.1)
    assert first + second == framed("<07 OFF")
    assert (at_once, later) == (0.0, 0.05)


def test_a_restart_in_mid_run_greets_again_with_everything_off() -> None:
    board, talker = line_board()
    ask(talker, framed(">01 FED 30") + framed(">02 PUT contactor 1") + framed(">03 PUT heater 1"))
    board.begin(parse_fault("board-reset@0"))
    assert ask(talker, framed(">04 SEE")).startswith(b"\n!HELLO simulated_board 1\n<04 SEE")
    assert not board.heater


@pytest.mark.parametrize(
    ("fault", "reply"),
    [
        ("replies-silent", b""),
        ("replies-lost", b""),
        ("replies-echoed", framed(">07 OFF")),
        ("replies-other-address", framed("<08 OFF")),
    ],
)
def test_bad_lines(fault: str, reply: bytes) -> None:
    assert ask(line_board(fault)[1], framed(">07 OFF")) == reply


def test_late_damaged_short_and_foreign_lines() -> None:
    good = framed("<07 OFF")
    assert line_board("replies-late:0.3")[1].take(framed(">07 OFF"), 1.0) == [(good, 0.3)]
    damaged = ask(line_board("replies-damaged")[1], framed(">07 OFF"))
    assert len(damaged) == len(good)
    assert sum(a != b for a, b in zip(damaged, good, strict=True)) == 1
    assert good.startswith(ask(line_board("replies-short")[1], framed(">07 OFF")))
    assert ask(line_board("foreign-frames")[1], framed(">07 OFF")).endswith(good)
    assert ask(line_board("foreign-frames")[1], framed(">07 OFF")) != good


# ---- plain text ----

PLAIN = Language(
    asks=[("T?", "T={temp};L={live}"), ("H?", "H={heater}")],
    tells={"heater": ("H {value}", "H={value}"), "keep": ("K {value}", "OK {value}")},
    end=b"\r",
    checksum="xor8",
    who="ID?",
    banner="READY",
)


def text_board(**other: object) -> tuple[Board, TextTalker]:
    from dataclasses import replace

    board = Board(tempering_oven(), noise_k=0.0, contactor=False, speed=7.0)
    fields = {**FIELDS, "keep": Wire("fed", output=True, on=5, holds_s=5.0)}
    return board, TextTalker(board, replace(PLAIN, **other), fields)  # type: ignore[arg-type]


def summed(text: str) -> bytes:
    xor = 0
    for char in text:
        xor ^= ord(char)
    return f"{text}*{xor:02X}\r".encode()


def test_plain_text_language() -> None:
    board, talker = text_board()
    assert ask(talker, b"") == b"READY\r"
    assert ask(talker, summed("T?")) == summed("T=20;L=0")
    assert ask(talker, summed("ID?")) == summed("simulated plant 7")
    assert ask(talker, summed("H 1")) == summed("H=0")  # starved: says what the pin does
    assert ask(talker, summed("K 5")) == summed("OK 5")
    assert ask(talker, summed("H 1")) == summed("H=1")
    board.step(1.0)
    assert board.truth().heater_contact
    assert ask(talker, summed("T?")).startswith(b"T=2")
    assert ask(talker, b"T?*00\r") + ask(talker, b"T?\r") + ask(talker, summed("X?")) == b""


def test_plain_text_echo_and_open_word() -> None:
    board, talker = text_board(echoes=True, checksum="none", open_word="ERR", end=b"\n", banner="")
    board.begin(parse_fault("sensor-open@0"))
    board.step(1.0)
    assert ask(talker, b"T?\n") == b"T?\nT=ERR;L=0\n"


# Check values of the published CRC catalogue (CRC-16 Modbus); xor and sum worked by hand for "AB" (41, 42).
@pytest.mark.parametrize(
    ("kind", "text", "digits"), [("crc16", "123456789", "4B37"), ("xor8", "AB", "03"), ("sum8", "AB", "83")]
)
def test_checksums(kind: str, text: str, digits: str) -> None:
    assert checksum(kind, text) == digits


# ---- the real master over real bytes, one oven file for each way of wiring ----

HEAD = """
name = "wired-so"
simulated = true
use = "tempering"
build = "leaky"
power = "1200 W"
limit = "260 C"
isolator = "none, it is simulated"
[switching]
kind = "solid-state"
[port.bus]
path = "{link}"
baud = 115200
"""
PROCESS = '[signal.process]\ndevice = "board"\nunit = "C"\nlow = "-30 C"\nhigh = "400 C"\n'
MODBUS = '[device.board]\nport = "bus"\naddress = 17\n'
FEED = '[dead_man]\ndevice = "board"\ntable = "holding"\nregister = 70\nwrite = 1\ndrops_after = "20 s"\n'
PLACES = 'table = "input"\nregister = 30\n'
COIL = '[output.heater]\ndevice = "board"\ntable = "coil"\nregister = 9\n'
WIRINGS = {
    "float, low word first": MODBUS
    + PROCESS
    + PLACES
    + 'format = "float32"\nword_order = "low first"\n'
    + '[output.heater]\ndevice = "board"\ntable = "holding"\nregister = 50\non = 7\noff = 3\n'
    + FEED,
    "fahrenheit, bytes swapped, fault bit": MODBUS
    + PROCESS.replace('"C"', '"F"')
    + PLACES
    + 'byte_order = "little"\nscale = 0.1\n'
    + '[signal.process.fault]\ndevice = "board"\ntable = "input"\nregister = 40\nbit = 3\n'
    + COIL
    + FEED,
    "millivolt of a couple": MODBUS
    + PROCESS.replace('"C"', '"mV"')
    + PLACES
    + 'scale = 0.001\ncouple = "K"\n'
    + '[signal.cold_junction]\ndevice = "board"\ntable = "input"\nregister = 31\nscale = 0.1\nunit = "C"\n'
    + 'low = "-10 C"\nhigh = "60 C"\n'
    + COIL
    + FEED,
    "pulse": MODBUS
    + PROCESS
    + PLACES
    + 'scale = 0.1\n[output.heater]\ndevice = "board"\ntable = "coil"\nregister = 9\nkind = "pulse"\n'
    + 'holds = "20 s"\n',
    "duty, read back elsewhere": MODBUS
    + PROCESS
    + PLACES
    + 'scale = 0.1\n[output.heater]\ndevice = "board"\ntable = "holding"\nregister = 50\n'
    + 'kind = "duty"\non = 200\n'
    + '[output.contactor]\ndevice = "board"\ntable = "coil"\nregister = 11\n'
    + '[output.contactor.back]\ndevice = "board"\ntable = "discrete"\nregister = 12\n'
    + FEED,
    "set-point": MODBUS
    + PROCESS
    + PLACES
    + 'scale = 0.1\n[output.heater]\ndevice = "board"\ntable = "holding"\nregister = 50\nkind = "set-point"\n'
    + 'unit = "C"\nscale = 0.1\npark = "0 C"\nlink_loss = "drops"\n',
    "line": '[device.board]\nkind = "line"\nport = "bus"\nbanner_wait = "0 s"\n'
    + PROCESS
    + 'field = "temp"\n[output.heater]\ndevice = "board"\nfield = "heater"\n'
    + '[output.contactor]\ndevice = "board"\nfield = "contactor"\n'
    + '[dead_man]\ndevice = "board"\nwrite = 20\ndrops_after = "20 s"\n',
    "text": '[device.board]\nkind = "text"\nport = "bus"\n'
    + 'checksum = "sum8"\nline_end = "CR LF"\nechoes = true\n'
    + 'who = "ID?"\nopen_words = ["nan"]\n'
    + '[[device.board.ask]]\nsend = "T?"\nreply = "T={temp}"\n'
    + '[[device.board.ask]]\nsend = "H?"\nreply = "H={heat}"\n'
    + '[device.board.tell.heat]\nsend = "H{value}"\nreply = "H={value}"\n'
    + '[device.board.tell.keep]\nsend = "K{value}"\nreply = "K={value}"\n'
    + PROCESS
    + 'field = "temp"\n[output.heater]\ndevice = "board"\nfield = "heat"\n'
    + '[dead_man]\ndevice = "board"\nfield = "keep"\nwrite = 20\ndrops_after = "20 s"\n',
}


def oven_wired(so: str, link: Path) -> Oven:
    return loads(HEAD.format(link=link) + WIRINGS[so], Oven, ConfigError, "wired-so.toml")


@pytest.mark.real_bytes
@pytest.mark.parametrize("so", WIRINGS)
def test_kilnctl_heats_the_simulator_however_it_is_wired(so: str, tmp_path: Path) -> None:
    link = tmp_path / "line"
    oven = oven_wired(so, link)
    running = start(oven, link=link, speed=20)
    clock = RealClock(20)
    oven_io = WiredIO(oven, Buses(clock), clock, time_scale=20)
    try:
        oven_io.connect()
        oven_io.scan(clock.now_s())
        oven_io.feed()
        for _ in range(3):
            assert oven_io.drive(HeatRequest(on=True, duty=1.0, setpoint_c=150.0)), oven_io.why
            oven_io.feed()
            time.sleep(0.1)
        scan = oven_io.scan(clock.now_s())
        truth = running.board.truth()
        assert truth.heater_contact
        assert truth.energy_j > 2500
        assert scan.heat_on is True
        assert scan.process.value == pytest.approx(truth.place_c, abs=2.0)
        assert oven_io.off()
        time.sleep(0.1)
        assert not running.board.truth().heater_contact
    finally:
        oven_io.close()
        running.close()


@pytest.mark.real_bytes
@pytest.mark.parametrize("so", WIRINGS)
def test_an_open_sensor_and_a_dead_man_however_it_is_wired(so: str, tmp_path: Path) -> None:
    link = tmp_path / "line"
    oven = oven_wired(so, link)
    running = start(oven, link=link, speed=100, fault=["sensor-open@30"])
    clock = RealClock(100)
    oven_io = WiredIO(oven, Buses(clock), clock, time_scale=100)
    try:
        oven_io.connect()
        oven_io.feed()
        oven_io.drive(HeatRequest(on=True, duty=1.0, setpoint_c=150.0))
        oven_io.feed()
        fed_by_s = running.board.truth().at_s  # of the simulated board; a busy machine feeds late
        time.sleep(0.45)
        assert not running.board.truth().heater_contact
        assert running.board.truth().energy_j < 1200 * (fed_by_s + 20)
        reading = oven_io.scan(clock.now_s()).process
        assert not reading.good
    finally:
        oven_io.close()
        running.close()
