"""The project's own line protocol: exact lines, late, damaged, silent, restarted boards."""

import itertools

import pytest

from kilnctl.devices.checksums import crc16, sum8, xor8
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.languages.line import fields_of, framed, unframed
from kilnctl.devices.signals import OPEN_RAW
from kilnctl.errors import BadReply, DeviceRefused
from kilnctl.readings import Quality

ON, OFF = HeatRequest(True, 1.0), HeatRequest(False, 0.0)


def heating(bench):
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    assert bench.oven_io.drive(ON)
    assert bench.oven_io.feed()
    return bench


def test_checksums_against_the_usual_check_value():
    assert crc16(b"123456789") == 0x4B37
    assert (xor8(b"\x01\x02\x04"), sum8(b"\xff\x02")) == (7, 1)


def test_a_whole_line():
    # CRC worked out with pymodbus 3.16.1 (its compute_CRC has the two bytes swapped)
    assert framed(">", 8, "SEE") == b">08 SEE*4468\n"


@pytest.mark.parametrize(
    "line",
    ["", "<08 SEE", "<08 SEE x=1*0000", "<08 SEE x=1", "!HELLO", "<8 SEE*1234", "\ufffd<08 SEE*1111"],
)
def test_damaged_lines_are_refused(line):
    with pytest.raises(BadReply):
        unframed(line, 8, "board")


def test_a_reply_to_another_request_is_refused():
    line = framed("<", 7, "SEE process=20").decode().strip()
    assert unframed(line, 7, "board") == "SEE process=20"
    with pytest.raises(BadReply, match="another request"):
        unframed(line, 8, "board")


def test_the_board_may_refuse():
    with pytest.raises(DeviceRefused, match="hungry"):
        unframed(framed("<", 1, "ERR hungry").decode().strip(), 1, "board")


def test_values():
    assert fields_of("SEE process=-12.5 second=open heater=1") == {
        "process": -12.5,
        "second": OPEN_RAW,
        "heater": 1.0,
    }
    for bad in ("SEE process=nan", "SEE process=1e9", "SEE process", "PUT process=1", "SEE process=--1"):
        with pytest.raises(BadReply):
            fields_of(bad)


def test_off_comes_first_then_heat_with_dead_man_and_contactor(line_bench):
    heating(line_bench)
    words = [r.decode().split("*")[0][4:] for r in line_bench.board.requests]
    assert words[:2] == ["PUT heater 0", "SEE"]
    assert words.index("FED 10") < words.index("PUT contactor 1") < words.index("PUT heater 1")
    assert line_bench.oven_io.off() is True
    assert (line_bench.heater, line_bench.contactor) == (0, 0)


def test_one_exchange_sees_everything(line_bench):
    heating(line_bench)
    del line_bench.board.requests[:]
    scan = line_bench.oven_io.scan(1)
    assert len(line_bench.board.requests) == 1
    assert (scan.process.value, scan.door_open, scan.heat_on, scan.contactor_on) == (20.0, False, True, True)


def test_sequence_numbers_never_repeat_in_a_row(line_bench):
    heating(line_bench)
    for tick in range(300):
        line_bench.oven_io.scan(float(tick))
    numbers = [request[1:3] for request in line_bench.board.requests]
    assert all(a != b for a, b in itertools.pairwise(numbers))


def test_open_sensor_and_missing_value(line_bench):
    line_bench.oven_io.connect()
    line_bench.board.values["process"] = "open"
    assert line_bench.oven_io.scan(0).process.quality is Quality.OPEN
    del line_bench.board.values["process"]
    assert line_bench.oven_io.scan(1).process.quality is Quality.BAD_REPLY


def test_late_line_is_never_taken_for_the_next(line_bench):
    line_bench.oven_io.connect()
    line_bench.oven_io.scan(0)
    line_bench.board.fault = lambda request, reply: [(0.25, reply)]
    assert line_bench.oven_io.scan(1).process.quality is Quality.NO_REPLY
    line_bench.board.fault = None
    line_bench.board.values["process"] = "30.0"
    line_bench.clock.advance(0.1)
    line_bench.oven_io.scan(2)
    line_bench.clock.advance(1.0)
    assert line_bench.oven_io.scan(3).process.value == 30.0


def test_split_lines_are_read_whole(line_bench):
    line_bench.board.fault = lambda request, reply: (
        [(0.01 * i, bytes([b])) for i, b in enumerate(reply[:12])] + [(0.15, reply[12:])]
    )
    line_bench.oven_io.connect()
    assert line_bench.oven_io.scan(0).process.value == 20.0


def test_echoed_lines_are_refused_before_heat(line_bench):
    line_bench.board.fault = lambda request, reply: [(0.001, request), (0.002, reply)]
    with pytest.raises(Exception, match="cannot be read back as off"):
        line_bench.oven_io.connect()


def test_a_board_that_restarts_gets_off_and_a_greeting_before_heat(line_bench):
    heating(line_bench)
    banner = line_bench.board.restart()
    line_bench.board.fault = lambda request, reply: [(0.001, banner)]
    line_bench.oven_io.scan(1)
    line_bench.board.fault = None
    del line_bench.board.requests[:]
    line_bench.clock.advance(1)
    scan = line_bench.oven_io.scan(2)
    assert scan.heat_on is False
    assert any(b"PUT heater 0" in request for request in line_bench.board.requests)


def test_drive_right_after_a_restart_goes_off_instead(line_bench):
    heating(line_bench)
    banner = line_bench.board.restart()
    line_bench.board.fault = lambda request, reply: [(0.001, banner)]
    line_bench.oven_io.scan(1)
    line_bench.board.fault = None
    line_bench.oven_io._devices["board"].greeted = (0, 0)
    assert line_bench.oven_io.drive(ON) is False
    assert line_bench.heater == 0


def test_off_alone_does_not_wait_for_a_board_that_has_not_restarted(line_bench):
    line_bench.board.outputs["heater"] = 1
    assert line_bench.oven_io.off() is True
    assert line_bench.heater == 0
    assert line_bench.clock.real_s() < 0.3


def restarts(bench, after_s):
    """Let the board start anew at every opening: deaf, all off, then its banner."""
    started_s = []

    def opened(line):
        started_s[:] = [bench.clock.real_s() + after_s]
        line.say(after_s, bench.board.restart())

    bench.on_open = opened
    bench.board.fault = lambda request, reply: (
        [(0.002, reply)] if bench.clock.real_s() >= started_s[0] else []
    )


def test_off_alone_waits_for_a_board_that_is_just_starting(line_bench):
    restarts(line_bench, 1.5)
    assert line_bench.oven_io.off() is True
    assert line_bench.clock.real_s() < 2.2


def test_opening_waits_for_the_banner_then_off_first(line_bench):
    restarts(line_bench, 1.2)
    line_bench.oven_io.connect()
    assert 1.2 <= line_bench.clock.real_s() < 1.5
    assert b"PUT heater 0" in line_bench.board.requests[0]
