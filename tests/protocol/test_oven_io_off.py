"""The way to off, counted: rounds, times, words, and that nothing read before an off is believed after it."""

import pytest

from kilnctl.devices.interfaces import HeatRequest
from kilnctl.errors import ConfigError, DeviceRefused
from tests.protocol.conftest import OVEN, crc

ON, OFF = HeatRequest(True, 1.0), HeatRequest(False, 0.0)


WRITE_COIL = 5


def framed(address, code, data):
    body = bytes([address, code]) + data
    return body + crc(body)


def heating(bench):
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    assert bench.oven_io.drive(ON)
    bench.oven_io.scan(1)
    return bench


def stuck(bench, value):
    """Let every write be answered well while the coil of the heater stays as it is."""

    def answer(request, reply):
        bench.board.coils[1][0] = value
        return [(0.001, reply)]

    bench.board.coils[1][0] = value
    bench.board.fault = answer


def writes_of_off(bench, since=0):
    """Return how many times the heater's coil was told off."""
    return sum(r[1] == WRITE_COIL and r[2:6] == bytes(4) for r in bench.board.requests[since:])


CONTACTOR = 'contactor = { device = "board", table = "coil", register = 1 }\n'


@pytest.mark.parametrize("without", ["", CONTACTOR])
def test_what_was_read_before_an_off_is_not_believed_after_it(bench_of, without):
    bench = heating(bench_of(OVEN.replace(without, "") if without else OVEN))
    assert bench.oven_io.off()
    stuck(bench, 0)
    assert bench.oven_io.drive(ON) is False


def test_after_an_off_the_contactor_is_closed_anew_and_the_dead_man_fed_first(bench):
    heating(bench)
    assert bench.oven_io.off()
    since = len(bench.board.requests)
    assert bench.oven_io.drive(ON)
    assert (bench.heater, bench.contactor) == (1, 1)
    assert bench.board.requests[since][1] == 6  # the dead-man's register, before either coil


def test_a_stuck_output_gets_off_three_times_and_no_more(bench):
    heating(bench)
    stuck(bench, 1)
    since = len(bench.board.requests)
    assert bench.oven_io.off() is False
    assert writes_of_off(bench, since) == 3
    assert bench.contactor == 0


def test_only_what_is_not_off_yet_is_told_again(bench):
    heating(bench)
    stuck(bench, 1)
    since = len(bench.board.requests)
    bench.oven_io.off()
    contactor = [r for r in bench.board.requests[since:] if r[1] == WRITE_COIL and r[2:4] == b"\x00\x01"]
    assert len(contactor) == 1


def test_a_board_that_goes_silent_is_not_tried_longer_than_its_budget(bench):
    heating(bench)
    bench.board.fault = lambda request, reply: []
    began_s, since = bench.clock.real_s(), len(bench.board.requests)
    assert bench.oven_io.off() is False
    assert bench.clock.real_s() - began_s < 1.5
    assert 1 <= writes_of_off(bench, since) <= 3


def test_a_dead_board_still_gets_the_words_in_one_short_round(bench):
    heating(bench)
    bench.board.deaf.add(1)
    for tick in range(2, 10):
        bench.oven_io.scan(float(tick))
        bench.oven_io.off()
    began_s, since = bench.clock.real_s(), len(bench.board.requests)
    assert bench.oven_io.off() is False
    assert writes_of_off(bench, since) == 1
    assert bench.clock.real_s() - began_s < 1.5


def test_off_is_read_back_even_in_a_tick_in_which_the_board_was_silent(bench):
    heating(bench)
    bench.board.deaf.add(1)
    bench.oven_io.scan(2)
    bench.board.deaf.clear()
    assert bench.oven_io.off() is True
    assert (bench.heater, bench.contactor) == (0, 0)


def test_a_lost_reply_to_a_write_is_no_success_and_is_told(bench):
    heating(bench)
    bench.board.fault = lambda request, reply: [] if request[1] == WRITE_COIL else [(0.001, reply)]
    assert bench.oven_io.drive(OFF) is False
    assert "no reply" in bench.oven_io.why
    assert bench.heater == 0


def test_a_feed_that_fails_says_so_and_what_failed(bench):
    heating(bench)
    assert bench.oven_io.feed() is True
    bench.board.deaf.add(1)
    assert bench.oven_io.feed() is False
    assert "no reply" in bench.oven_io.why


def test_bad_answers_are_counted_as_a_share(bench):
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).link.bad_fraction == 0.0
    heating(bench)
    bench.board.deaf.add(1)
    seen = [bench.oven_io.scan(float(tick)).link.bad_fraction for tick in range(2, 6)]
    assert seen == sorted(seen)
    assert 0.0 < seen[0] < 1.0


def test_a_silent_spare_module_is_no_bad_wire(bench_of):
    """It is told by what it protects; the share is of the devices that sensor and heat hang on."""
    door = 'door_open = { device = "board"'
    spare = OVEN.replace(door, door.replace("board", "spare")).replace(
        "[signal]", '[device.spare]\nport = "bus"\naddress = 2\n[signal]', 1
    )
    bench = bench_of(spare)
    bench.board.deaf.add(2)
    bench.oven_io.connect()
    scans = [bench.oven_io.scan(float(tick)) for tick in range(40)]
    assert {scan.door_open for scan in scans} == {None}
    assert {scan.link.bad_fraction for scan in scans} == {0.0}


def test_horn_and_lamp_are_told_once_for_each_change(bench):
    heating(bench)
    since = len(bench.board.requests)
    for horn in (True, True, False, False):
        bench.oven_io.sound(horn, False)
    horn_or_lamp = [r for r in bench.board.requests[since:] if r[1] == WRITE_COIL]
    outputs = (bench.oven.output.horn is not None) * 2 + (bench.oven.output.lamp is not None)
    assert len(horn_or_lamp) == outputs


def test_closing_ends_with_off_and_gives_the_port_back(bench):
    heating(bench)
    bench.oven_io.close()
    assert (bench.heater, bench.contactor) == (0, 0)
    assert not bench.line.is_open


@pytest.mark.parametrize("lost", [False, True])
def test_a_pause_before_each_word_takes_no_second_try_away_from_an_off(bench_of, lost):
    """With pauses of 0.5 s one round took 3 s, and a first word that was lost was not sent again."""
    bench = heating(bench_of(OVEN.replace('path = "/dev/fake"', 'path = "/dev/fake"\ngap = "100 ms"')))
    seen = []

    def deaf_once(request, reply):
        seen.append(request)
        return [] if lost and len(seen) == 1 else [(0.001, reply)]

    bench.board.fault = deaf_once
    before_s = bench.clock.real_s()
    assert bench.oven_io.off()
    assert bench.clock.real_s() - before_s < 2.0
    assert bench.board.coils[1][0] == 0


def test_a_pause_that_an_off_cannot_wait_for_is_refused(bench_of):
    with pytest.raises(ConfigError, match="an off waits for it"):
        bench_of(OVEN.replace('path = "/dev/fake"', 'path = "/dev/fake"\ngap = "0.5 s"'))


def test_an_off_that_is_refused_is_told_as_what_was_refused_and_nobody_looks_for_wires(bench_of):
    """A pulse coil that takes only ON and cannot be read: "reading coil: illegal function: is it on?"."""
    bench = bench_of(OVEN)
    read_coils, illegal_function, illegal_value = 1, b"\x01", b"\x03"

    def refuses(request, reply):
        code = request[1]
        heater = request[2:4] == bytes(2)
        if code == read_coils:
            return [(0.001, framed(request[0], code + 128, illegal_function))]
        if code == WRITE_COIL and heater and request[4:6] == bytes(2):
            return [(0.001, framed(request[0], code + 128, illegal_value))]
        return [(0.001, reply)]

    bench.board.fault = refuses
    assert bench.oven_io.off() is False
    assert "writing 0 to coil 0: the device refuses: illegal data value" in bench.oven_io.why
    with pytest.raises(DeviceRefused, match=r"heat cannot be switched off.*writing 0 to coil 0"):
        bench.oven_io.connect()


def test_a_set_point_that_stays_is_no_contact_that_sticks(bench_of):
    panel = """[output.heater]
kind = "set-point"
device = "board"
table = "holding"
register = 122
format = "float32"
unit = "C"
park = "0 C"
link_loss = "holds"
back = { device = "board", table = "holding", register = 2, format = "float32" }
"""
    before, _, after = OVEN.partition("[output]\n")
    kept = after.partition("[dead_man]")
    bench = bench_of(f"{before}{panel}[dead_man]{kept[2]}")
    bench.board.registers[1].update({("holding", 2): 0x41A0, ("holding", 3): 0})  # 20.0 (IEEE 754)
    assert bench.oven_io.off() is False
    assert bench.oven_io.why == "heater: back (holding 2, a set-point) reads 20, off is 0"
    bench.board.registers[1]["holding", 2] = 0
    assert bench.oven_io.off() is True
