"""The I/O of one oven over bytes: off first, read-back, jumps, silence, unplugging."""

import pytest

from kilnctl.devices.interfaces import HeatRequest
from kilnctl.errors import BadReply, DeviceError, NoReply, PortLost, RunRefused
from kilnctl.readings import Quality

ON, OFF = HeatRequest(True, 1.0), HeatRequest(False, 0.0)


def heating(bench):
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    assert bench.oven_io.drive(ON)
    assert (bench.heater, bench.contactor) == (1, 1)
    return bench


def test_off_goes_out_before_anything_else(bench):
    bench.board.coils[1] = {0: 1, 1: 1}
    bench.oven_io.connect()
    assert bench.board.requests[0][1:6].hex() == "0500000000"
    assert (bench.heater, bench.contactor) == (0, 0)


def test_off_from_heat_is_read_back(bench):
    heating(bench)
    assert bench.oven_io.off() is True
    assert (bench.heater, bench.contactor) == (0, 0)


def test_off_is_not_believed_while_the_contact_at_the_element_is_live(bench):
    """Relay and contactor welded: both outputs read off, and the heat flows on."""
    heating(bench)
    bench.board.registers[1]["discrete", 1] = 1
    assert bench.oven_io.off() is False
    assert (bench.heater, bench.contactor) == (0, 0)
    assert "LIVE" in bench.oven_io.why
    began = bench.clock.real_s()
    assert bench.oven_io.off() is False  # a second oven on the line does not wait for this one again
    assert bench.clock.real_s() - began < 0.3
    bench.board.registers[1]["discrete", 1] = 0
    assert bench.oven_io.off() is True


def test_a_contactor_is_given_time_to_drop(bench):
    heating(bench)
    bench.board.registers[1]["discrete", 1] = 1
    drops_s = bench.clock.real_s() + 0.25

    def dropping(request, reply):
        if bench.clock.real_s() > drops_s:
            bench.board.registers[1]["discrete", 1] = 0
        return [(0.001, reply)]

    bench.board.fault = dropping
    assert bench.oven_io.off() is True


def test_an_oven_that_somebody_else_heats_can_still_be_watched(bench):
    bench.board.registers[1]["discrete", 1] = 1
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).heater_live is True


def test_off_holds_where_the_contact_cannot_be_read(bench):
    heating(bench)
    bench.board.fault = lambda request, reply: [] if request[1] == 2 else [(0.001, reply)]
    assert bench.oven_io.off() is True


def test_a_contactor_that_the_board_has_dropped_is_closed_anew(bench):
    """After a stall that the board's dead-man did not wait for."""
    heating(bench)
    bench.board.coils[1] = {0: 0, 1: 0}
    bench.oven_io.scan(1)
    assert bench.oven_io.drive(ON)
    assert (bench.heater, bench.contactor) == (1, 1)


def test_off_without_connect_opens_the_port_itself(bench):
    bench.board.coils[1] = {0: 1, 1: 1}
    assert bench.oven_io.off() is True
    assert bench.heater == 0


def test_off_on_a_silent_device_is_bounded_and_says_false(bench):
    heating(bench)
    bench.board.deaf.add(1)
    began = bench.clock.real_s()
    assert bench.oven_io.off() is False
    assert bench.clock.real_s() - began < 3.0
    assert "no reply" in bench.oven_io.why


def test_off_is_read_back_even_when_every_reply_to_a_write_is_lost(bench):
    heating(bench)
    bench.board.fault = lambda request, reply: [] if request[1] == 5 else [(0.001, reply)]
    assert bench.oven_io.off() is True
    assert (bench.heater, bench.contactor) == (0, 0)


def test_off_never_raises_with_the_cable_out(bench):
    heating(bench)
    bench.unplug()
    assert bench.oven_io.off() is False


def test_off_gets_through_a_board_whose_replies_are_damaged_now_and_then(bench):
    heating(bench)
    seen = []

    def flaky(request, reply):
        seen.append(request)
        return [(0.001, reply if len(seen) % 3 else reply[:-1] + b"\x00")]

    bench.board.fault = flaky
    assert bench.oven_io.off() is True
    assert bench.heater == 0


def test_off_is_not_believed_from_an_echo_alone(bench):
    """H32: an adapter that echoes makes FC05 look acknowledged with the board dead."""
    bench.board.fault = lambda request, reply: [(0.001, request)]
    bench.board.coils[1] = {0: 1}
    assert bench.oven_io.off() is False


def test_echoing_adapter_with_a_dead_board_is_refused_before_heat(bench):
    bench.board.answer = lambda request: [(0.001, request)]
    bench.line = None
    with pytest.raises(DeviceError, match="cannot be read back as off"):
        bench.oven_io.connect()


def test_off_reaches_the_contactor_when_the_heater_refuses(bench):
    heating(bench)

    def stuck(request, reply):
        if request[1] == 5 and request[2:4] == b"\x00\x00":
            bench.board.coils[1][0] = 1
        return [(0.001, reply)]

    bench.board.fault = stuck
    assert bench.oven_io.off() is False
    assert bench.contactor == 0


def test_dead_man_is_zeroed_only_where_the_file_says_that_zero_drops(bench_of):
    plain = heating(bench_of())
    plain.oven_io.feed()
    plain.oven_io.off()
    assert plain.board.registers[1]["holding", 0] == 10
    text = bench_of.__init__.__defaults__[0] + "zero_drops = true\n"
    drops = heating(bench_of(text))
    drops.oven_io.feed()
    drops.oven_io.off()
    assert drops.board.registers[1]["holding", 0] == 0


def test_without_a_dead_man_the_hands_refuse_live_heat(bench_of):
    text = bench_of.__init__.__defaults__[0]
    bench = bench_of(text[: text.index("[dead_man]")])
    bench.oven_io.connect()
    assert bench.oven_io.drive(ON) is False
    assert "no dead-man" in bench.oven_io.why
    assert bench.heater == 0
    bench.board.registers[1]["coil", 0] = 1
    assert bench.oven_io.drive(OFF) is True, "off is never refused"
    assert bench.heater == 0


@pytest.mark.parametrize(
    ("keys", "first", "fed"),
    [("write = 1\ncounts_to = 4", 2, [3, 4, 1, 2]), ("write = 1\nthen = 0", 1, [1, 0, 1, 0])],
    ids=["a counter goes on where an earlier process stopped", "a timer relay is fed by edges"],
)
def test_the_dead_man_sees_another_value_at_each_feeding(bench_of, keys, first, fed):
    bench = bench_of(bench_of.__init__.__defaults__[0].replace("write = 10", keys))
    bench.board.registers[1]["holding", 0] = first
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    assert bench.oven_io.drive(ON)
    seen = [bench.board.registers[1]["holding", 0]]
    for _ in range(3):
        assert bench.oven_io.feed()
        seen.append(bench.board.registers[1]["holding", 0])
    assert seen == fed


def test_what_breaks_in_a_write_is_no_heat_and_is_told(bench, monkeypatch):
    heating(bench)

    def breaks(*_, **__):
        raise RuntimeError("the library broke")

    monkeypatch.setattr(bench.oven_io._devices["board"], "write", breaks)
    assert bench.oven_io.drive(ON) is False
    assert bench.oven_io.why == "the library broke"


def test_feed_writes_the_dead_man_and_never_closes_a_contactor_after_off(bench):
    heating(bench)
    assert bench.oven_io.feed()
    assert bench.board.registers[1]["holding", 0] == 10
    bench.oven_io.off()
    bench.oven_io.feed()
    assert bench.contactor == 0


def test_scan_reads_everything_in_three_exchanges(bench):
    heating(bench)
    bench.board.registers[1]["discrete", 0] = 1
    del bench.board.requests[:]
    scan = bench.oven_io.scan(1.0)
    assert scan.process.value == pytest.approx(20.0)
    assert scan.process.raw == 200
    assert (scan.door_open, scan.heater_live) == (True, False)
    assert (scan.heat_on, scan.contactor_on) == (True, True)
    assert scan.second is None
    assert [request[1] for request in bench.board.requests] == [2, 4, 1]


@pytest.mark.parametrize(
    ("raw", "quality"),
    [
        (32767, Quality.OPEN),
        (0x8000, Quality.OUT_OF_RANGE),
        (4001, Quality.OUT_OF_RANGE),
        (4000, Quality.GOOD),
    ],
)
def test_readings_are_bounded(bench, raw, quality):
    bench.board.registers[1]["input", 0] = raw
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).process.quality is quality


def test_an_open_sensor_is_no_lost_link(bench):
    bench.oven_io.connect()
    bench.board.registers[1]["input", 0] = 32767
    for tick in range(5):
        bench.clock.advance(1.0)
        scan = bench.oven_io.scan(float(tick))
    assert scan.process.quality is Quality.OPEN
    assert scan.link.age_s == 0.0


def test_one_damaged_value_that_passes_its_checksum_is_not_believed(bench, crc16):
    """H31: a jump is confirmed by a second look before it counts."""
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    lies = [3000]

    def lie(request, reply):
        if request[1] == 4 and lies:
            body = reply[:3] + lies.pop().to_bytes(2, "big")
            reply = body + crc16(body)
        return [(0.001, reply)]

    bench.board.fault = lie
    assert bench.oven_io.scan(1).process.value == pytest.approx(20.0)
    assert not lies


def test_a_jump_that_never_agrees_with_itself_is_no_reading(bench, crc16):
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    lies = [3000, 1500]

    def lie(request, reply):
        if request[1] == 4 and lies:
            body = reply[:3] + lies.pop().to_bytes(2, "big")
            reply = body + crc16(body)
        return [(0.001, reply)]

    bench.board.fault = lie
    assert bench.oven_io.scan(1).process.quality is Quality.UNCONFIRMED


def test_a_true_jump_is_accepted_after_two_looks(bench):
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    bench.board.registers[1]["input", 0] = 1500
    assert bench.oven_io.scan(1).process.value == pytest.approx(150.0)


def test_write_that_acts_but_loses_its_reply_is_read_back(bench):
    """A failed FC05 does not mean "not switched": the coil went on, the reply was lost."""
    heating(bench)
    bench.oven_io.drive(OFF)
    bench.board.fault = lambda request, reply: [] if request[1] == 5 else [(0.001, reply)]
    bench.oven_io.scan(1)
    bench.oven_io.drive(ON)
    assert bench.heater == 1
    bench.board.fault = None
    assert bench.oven_io.scan(2).heat_on is True


def test_a_repeated_write_that_fails_is_read_back_after_all(bench):
    """The scan has just read ON, but the board drops the coil while the reply to the write is lost."""
    heating(bench)
    bench.oven_io.scan(1)

    def drops(request, reply):
        if request[1] == 5:
            bench.board.coils[1][0] = 0
            return [(0.001, reply[:-1])]
        return [(0.001, reply)]

    bench.board.fault = drops
    assert bench.oven_io.drive(ON) is False


def test_drive_does_not_trust_the_echo_of_its_write(bench):
    heating(bench)

    def ignores(request, reply):
        if request[1] == 5:
            bench.board.coils[1][0] = 1
        return [(0.001, reply)]

    bench.oven_io.scan(1)
    bench.board.fault = ignores
    assert bench.oven_io.drive(OFF) is False


def test_late_replies_are_never_taken_for_the_next_answer(bench):
    """H35: reply 300 ms late, time-out 200 ms. Twenty rounds of alternating registers, no wrong value."""
    bench.oven_io.connect()
    bench.board.registers[1]["input", 5] = 3333
    bench.oven_io.scan(0)
    late = iter([True, False, False] * 60)
    bench.board.fault = lambda request, reply: [(0.25 if next(late) else 0.001, reply)]
    for tick in range(20):
        scan = bench.oven_io.scan(float(tick))
        assert scan.process.value in (None, pytest.approx(20.0))
        bench.clock.advance(1.0)


def test_a_late_reply_on_its_way_is_waited_out_before_the_next_question(bench):
    """H35, the measured hazard: the reply to one register comes while another is being asked."""
    board = bench.oven_io._devices["board"]
    bench.board.registers[1]["input", 5] = 3333
    process = bench.oven.signal.process
    other = process.model_copy(update={"register_no": 5})
    bench.oven_io.connect()
    delays = iter([0.21, 0.03])
    bench.board.fault = lambda request, reply: [(next(delays), reply)]
    board.new_tick()
    assert isinstance(board.read([process])[0], NoReply)
    board.new_tick()
    assert board.read([other]) == [3333]


def test_a_silent_device_costs_one_short_probe_a_tick(bench):
    heating(bench)
    bench.board.deaf.add(1)
    bench.oven_io.scan(1)
    for tick in range(2, 6):
        bench.clock.advance(1.0)
        before, asked = bench.clock.real_s(), len(bench.board.requests)
        scan = bench.oven_io.scan(float(tick))
        assert scan.process.quality is Quality.NO_REPLY
        assert len(bench.board.requests) - asked == 1
        assert bench.clock.real_s() - before <= 0.06
    assert scan.link.age_s > 3.0
    assert scan.link.misses >= 4


def test_a_device_that_comes_back_is_heard_at_once(bench):
    heating(bench)
    bench.board.deaf.add(1)
    bench.oven_io.scan(1)
    bench.board.deaf.clear()
    bench.clock.advance(1.0)
    scan = bench.oven_io.scan(2)
    assert scan.process.good
    assert scan.link.age_s == 0.0


def test_after_a_replug_off_comes_first_and_the_reading_is_fresh(bench):
    heating(bench)
    bench.unplug()
    assert bench.oven_io.scan(1).process.quality is Quality.NO_REPLY
    bench.clock.advance(1.0)
    bench.plugged = True
    del bench.board.requests[:]
    scan = bench.oven_io.scan(2)
    assert scan.process.good
    assert (scan.heat_on, bench.heater, bench.contactor) == (False, 0, 0)


def test_drive_after_a_reopening_refuses_heat_until_greeted(bench):
    heating(bench)
    bench.unplug()
    bench.oven_io.scan(1)
    bench.clock.advance(1.0)
    bench.plugged = True
    assert bench.oven_io.drive(ON) is False
    assert bench.heater == 0


def test_identity_that_is_refused_means_another_device_too(bench_of):
    text = bench_of.__init__.__defaults__[0]
    text += '[[identity]]\ndevice = "board"\ntable = "holding"\nregister = 999\nexpect = 77\n'
    with pytest.raises(BadReply, match="holding 999, which should hold 77, is refused: another device"):
        bench_of(text).oven_io.connect()


def test_wrong_identity_is_refused(bench_of):
    text = bench_of.__init__.__defaults__[0]
    text += '[[identity]]\ndevice = "board"\ntable = "holding"\nregister = 0\nexpect = 77\n'
    bench = bench_of(text)
    with pytest.raises(BadReply, match="holds 0, not 77"):
        bench.oven_io.connect()


@pytest.fixture
def named(bench_of):
    text = bench_of.__init__.__defaults__[0]
    text += '[[identity]]\ndevice = "board"\ntable = "holding"\nregister = 50\nexpect = 77\n'
    bench = bench_of(text)
    bench.board.registers[1]["holding", 50] = 77
    return bench


def test_another_device_that_answers_in_mid_run_is_noticed_in_the_same_tick(named):
    """H33: addresses swapped while running."""
    heating(named)
    named.board.registers[1]["holding", 50] = 78
    scan = named.oven_io.scan(1)
    assert scan.process.quality is Quality.BAD_REPLY
    assert "another device answers" in scan.process.why
    assert scan.heat_on is None


def test_another_device_after_a_replug_gets_off_and_no_heat(named):
    """H37: port names swapped."""
    heating(named)
    named.unplug()
    named.oven_io.scan(1)
    named.clock.advance(1.0)
    named.plugged = True
    named.board.registers[1]["holding", 50] = 78
    assert not named.oven_io.scan(2).process.good
    assert named.heater == 0
    assert named.oven_io.drive(ON) is False
    assert named.heater == 0
    named.board.registers[1]["holding", 50] = 77
    named.clock.advance(1.0)
    assert named.oven_io.scan(3).process.good


def test_silence_at_connect_is_refused(bench):
    bench.board.deaf.add(1)
    with pytest.raises(NoReply, match="cannot be read back as off"):
        bench.oven_io.connect()


def test_missing_port_at_connect(bench):
    bench.plugged = False
    with pytest.raises(PortLost, match="no such port"):
        bench.oven_io.connect()


def test_marked_simulated_on_a_real_port_is_refused(bench_of):
    text = "simulated = true\n" + bench_of.__init__.__defaults__[0]
    with pytest.raises(RunRefused, match="is a real port"):
        bench_of(text).oven_io.connect()


def test_time_scale_needs_a_simulated_oven(bench):
    bench.oven_io._time_scale = 60
    with pytest.raises(RunRefused, match="time scale"):
        bench.oven_io.connect()


def test_foreign_frames_are_counted(bench):
    bench.oven_io.connect()
    bench.oven_io.scan(0)
    bench.line.say(0.0, bytes.fromhex("0204 0200 0A"))
    scan = bench.oven_io.scan(1)
    assert scan.process.good
    assert scan.link.foreign == 1


def test_a_line_that_never_gets_quiet_is_no_reading_but_off_goes_out(bench):
    heating(bench)
    for i in range(400):
        bench.line.say(i * 0.02, b"\x55")
    assert not bench.oven_io.scan(1).process.good
    bench.oven_io.off()
    assert bench.heater == 0


def test_horn_and_close(bench):
    heating(bench)
    bench.oven_io.sound(horn=True, lamp=True)
    assert bench.board.coils[1][2] == 1
    del bench.board.requests[:]
    bench.oven_io.sound(horn=True, lamp=True)
    assert bench.board.requests == []
    bench.oven_io.sound(horn=False, lamp=False)
    assert bench.board.coils[1][2] == 0
    bench.oven_io.close()
    assert (bench.heater, bench.line.is_open) == (0, False)


def test_a_call_that_the_board_refuses_is_told(bench):
    """A lamp of which the board refused each call was counted as if it had shown them."""
    heating(bench)
    assert bench.oven_io.sound(horn=True, lamp=False) == ""
    bench.board.fault = lambda request, reply: []
    assert "no reply" in bench.oven_io.sound(horn=False, lamp=False)


def test_the_element_is_read_before_anything_else(bench):
    """An instrument that has cut its output in a silence has it back with the next word on the line."""
    heating(bench)
    bench.board.requests.clear()
    bench.oven_io.scan(1.0)
    table, first = bench.board.requests[0][1], bench.board.requests[0][2:4]
    assert (table, first) == (2, b"\x00\x00"), "discrete 0 and 1 come in one request"
