"""Heaters that are no plain relay: pulse, duty, set-point; read-back elsewhere; status bits; bare couples."""

import pytest

from kilnctl.config.wiring import Heater
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.outputs import heats, setpoint_raw, wanted_value
from kilnctl.errors import ConfigError
from kilnctl.readings import Quality

ON, OFF = HeatRequest(True, 1.0, 218.0), HeatRequest(False, 0.0)
HEATER = 'heater = { device = "board", table = "coil", register = 0 }'


def bench_with(bench_of, old, new):
    text = bench_of.__init__.__defaults__[0]
    assert old in text
    return bench_of(text.replace(old, new, 1))


def register(bench, number, value=None):
    if value is not None:
        bench.board.registers[1]["holding", number] = value
    return bench.board.registers[1]["holding", number]


def test_pulse_is_renewed_every_tick_and_is_a_dead_man(bench_of):
    heater = HEATER.replace("coil", "holding").replace("0 }", '4, kind = "pulse", on = 30, holds = "3 s" }')
    text = bench_of.__init__.__defaults__[0].replace(HEATER, heater)
    bench = bench_of(text[: text.index("[dead_man]")])
    assert bench.oven_io.oven.has_dead_man
    register(bench, 4, 0)
    bench.oven_io.connect()
    for tick in range(3):
        register(bench, 4, 12)
        bench.oven_io.scan(float(tick))
        assert bench.oven_io.drive(ON)
        assert register(bench, 4) == 30
    assert bench.oven_io.off()
    assert register(bench, 4) == 0


def test_duty_register_takes_the_fraction(bench_of):
    heater = 'heater = { device = "board", table = "holding", register = 4, kind = "duty", on = 1000 }'
    bench = bench_with(bench_of, HEATER, heater)
    register(bench, 4, 500)
    bench.oven_io.connect()
    assert register(bench, 4) == 0
    assert bench.oven_io.drive(HeatRequest(True, 0.437))
    assert register(bench, 4) == 437
    assert bench.oven_io.scan(1).heat_on is True
    assert bench.oven_io.drive(HeatRequest(False, 0.0))
    assert bench.oven_io.scan(2).heat_on is False


FOLLOWER = (
    'heater = { device = "board", table = "holding", register = 4, kind = "set-point", unit = "F", '
    'scale = 0.1, park = "0 C", link_loss = "drops" }'
)


def test_follower_gets_set_points_in_its_own_unit_and_is_parked_on_every_way_out(bench_of):
    bench = bench_with(bench_of, HEATER, FOLLOWER)
    register(bench, 4, 9999)
    bench.oven_io.connect()
    assert register(bench, 4) == 320
    assert bench.oven_io.drive(ON)
    assert register(bench, 4) == 4244
    scan = bench.oven_io.scan(1)
    assert scan.heat_on is True
    assert scan.follower_goal_c == pytest.approx(218.0, abs=0.03)
    assert bench.oven_io.drive(HeatRequest(False, 0.0, None))
    assert register(bench, 4) == 320
    assert bench.oven_io.drive(ON)
    bench.oven_io.close()
    assert register(bench, 4) == 320


def test_a_set_point_is_written_only_when_it_changes_and_parked_every_time(bench_of):
    """Many instruments keep it in a memory that bears 100,000 writes (common practice, no single source)."""
    bench = bench_with(bench_of, HEATER, FOLLOWER)
    register(bench, 4, 0)
    bench.oven_io.connect()

    def writes():
        return sum(r[1] == 6 and r[2:4] == b"\x00\x04" for r in bench.board.requests)

    before = writes()
    for tick in range(5):
        bench.oven_io.scan(float(tick))
        assert bench.oven_io.drive(HeatRequest(True, 1.0, 218.0 if tick < 4 else 219.0))
    assert writes() - before == 2
    register(bench, 4, 2000)  # somebody turned the knob
    bench.oven_io.scan(5.0)
    assert bench.oven_io.drive(HeatRequest(True, 1.0, 219.0))
    assert register(bench, 4) == 4262
    before = writes()
    assert bench.oven_io.off()
    assert bench.oven_io.off()
    assert writes() - before == 2


def test_what_a_follower_cannot_promise_is_said(bench_of):
    oven = bench_with(bench_of, HEATER, FOLLOWER.replace("drops", "holds")).oven.model_copy(
        update={"dead_man": None}
    )
    assert oven.attended_only
    assert not oven.has_dead_man
    assert any("attended runs only" in line for line in oven.weaker)


def test_read_back_from_another_place(bench_of):
    heater = (
        'heater = { device = "board", table = "coil", register = 0, '
        'back = { device = "board", table = "input", register = 7, bit = 3 } }'
    )
    bench = bench_with(bench_of, HEATER, heater)
    bench.board.registers[1]["input", 7] = 0
    bench.oven_io.connect()
    assert bench.oven_io.drive(ON) is False
    bench.board.registers[1]["input", 7] = 8
    assert bench.oven_io.drive(ON) is True
    assert bench.oven_io.scan(0).heat_on is True
    assert bench.oven_io.off() is False


def test_a_counter_has_no_bounds(bench_of):
    """Two counts a second pass a million within a week."""
    counter = 'counter = { device = "board", table = "input", register = 5, format = "uint32" }\n'
    bench = bench_with(bench_of, "door_open", counter + "door_open")
    bench.board.registers[1] |= {("input", 5): 0xFFFF, ("input", 6): 0xFFFE}
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).counter == 0xFFFFFFFE
    bench.board.deaf.add(1)
    assert bench.oven_io.scan(1).counter is None


def test_a_status_bit_says_that_the_sensor_is_broken(bench_of):
    bench = bench_with(
        bench_of,
        "open_values = [32767] }",
        'fault = { device = "board", table = "input", register = 1, bit = 2 } }',
    )
    bench.board.registers[1]["input", 1] = 0
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).process.good
    bench.board.registers[1]["input", 1] = 4
    assert bench.oven_io.scan(1).process.quality is Quality.OPEN


def test_a_bare_couple_needs_its_cold_junction(bench_of):
    old = 'process = { device = "board", table = "input", register = 0, scale = 0.1, unit = "C",'
    new = (
        'cold_junction = { device = "board", table = "input", register = 1, scale = 0.1, unit = "C", '
        'low = "-10 C", high = "60 C" }\n'
        'process = { device = "board", table = "input", register = 0, scale = 0.001, '
        'unit = "mV", couple = "K",'
    )
    bench = bench_with(bench_of, old, new)
    # NIST ITS-90 type K: 830 C is 34.501 mV, 25 C is 1.000 mV, so 33.501 mV at the terminals
    bench.board.registers[1] |= {("input", 0): 33501, ("input", 1): 250}
    text = bench.oven.signal.process
    assert text.couple == "K"
    bench.oven.signal.process.__dict__["high_c"] = 1200.0
    bench.oven.signal.process.__dict__["format"] = "uint16"
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).process.value == pytest.approx(830.0, abs=0.05)
    bench.board.registers[1]["input", 1] = 999
    assert bench.oven_io.scan(1).process.quality is Quality.OUT_OF_RANGE


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('kind = "duty"\non = 1', "little more than off and on"),
        ('kind = "duty"\non = 255\nstep = 2.0', "no whole number of steps"),
        ('kind = "duty"\non = 100\nreads_off = 50', "reads as it is written"),
        ('kind = "set-point"\nunit = "C"\npark = "0 C"\nlink_loss = "drops"\nstep = 50.0', "too coarse"),
        ("on = 256\noff = 512\nreads_on = 1\nreads_off = 1", "read alike"),
    ],
)
def test_outputs_whose_steps_or_readings_would_hide_an_off(bench_of, keys, said):
    place = 'device = "board", table = "holding", register = 5'
    inline = f"heater = {{ {place}, {', '.join(keys.splitlines())} }}"
    with pytest.raises(ConfigError, match=said):
        bench_with(bench_of, HEATER, inline)


def test_a_set_point_that_must_come_again_is_written_in_every_tick_and_is_a_dead_man(bench_of):
    """A panel for which reading is no sign of life: its time could be said nowhere."""
    heater = FOLLOWER.replace(" }", ', holds = "10 s" }')
    text = bench_of.__init__.__defaults__[0].replace(HEATER, heater)
    bench = bench_of(text[: text.index("[dead_man]")])
    assert bench.oven_io.oven.has_dead_man
    register(bench, 4, 0)
    bench.oven_io.connect()

    def writes():
        return sum(r[1] == 6 and r[2:4] == b"\x00\x04" for r in bench.board.requests)

    before = writes()
    for tick in range(5):
        bench.oven_io.scan(float(tick))
        assert writes() - before == tick  # looking writes nothing
        assert bench.oven_io.drive(ON)
    assert writes() - before == 5
    assert bench.oven_io.feed()
    assert writes() - before == 5
    assert bench.oven_io.off()
    assert register(bench, 4) == 320  # parked at 0 C, which is 32 F


def test_a_set_point_of_coarse_steps_is_written_below_what_is_asked_never_above():
    heater = Heater.model_validate(
        {
            "device": "b",
            "table": "holding",
            "register": 0,
            "kind": "set-point",
            "unit": "C",
            "park": "0 C",
            "link_loss": "drops",
            "step": 5.0,
        }
    )
    assert [setpoint_raw(heater, point_c) for point_c in (0.0, 4.9, 217.9, 220.0)] == [0, 0, 215, 220]
    tens = heater.model_copy(update={"step": 1.0, "scale": 10.0})
    assert [setpoint_raw(tens, point_c) for point_c in (836.0, 840.0)] == [83, 84]
    tenths = heater.model_copy(update={"step": 0.1})
    assert [setpoint_raw(tenths, point_c) for point_c in (85.3, 85.39, 0.0)] == [85.3, 85.3, 0.0]


def test_a_duty_in_steps_begins_at_off_whatever_off_is():
    """off = 860 in steps of 100 wrote 900 for no heat at all."""
    heater = Heater.model_validate(
        {
            "device": "b",
            "table": "holding",
            "register": 0,
            "kind": "duty",
            "on": 4860,
            "off": 860,
            "step": 100.0,
        }
    )
    assert wanted_value(heater, HeatRequest(False, 0.0)) == 860
    assert not heats(heater, HeatRequest(False, 0.0))
    assert wanted_value(heater, HeatRequest(True, 1.0)) == 4860
    assert (wanted_value(heater, HeatRequest(True, 0.33)) - 860) % 100 == 0
