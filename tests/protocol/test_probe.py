"""Finding mistakes on the wire: each case a mistake that a maker makes, with the sentence that he needs."""

import pytest
from maker import Maker

from kilnctl.commissioning.bus_check import check_bus
from kilnctl.config.device_keys import Port
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.heat_cutter import HeatCutter
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import RunRefused


class Wires:
    """A board that answers only at its own speed and parity; the probe opens ports on it."""

    def __init__(self, bench, baud=9600, parity="none"):
        self.bench, self.baud, self.parity = bench, baud, parity
        self.probe = Probe(bench.oven, bench.clock, opener=self._open)

    def _open(self, port: Port, exclusive: bool):
        line = self.bench._open(port, exclusive)
        if (port.baud, port.parity) != (self.baud, self.parity):
            line._answer = lambda request: []
        return line


@pytest.fixture
def wires(bench):
    return Wires(bench)


def said(findings):
    return [(finding.good, finding.say) for finding in findings]


def test_a_sound_set_up_has_nothing_to_say(wires):
    probe = wires.probe
    found = [*probe.ports(), *probe.answers(), *probe.echo(), *probe.identities(), *probe.temperatures(20.0)]
    found += [*probe.strangers(range(1, 5)), probe.power_up()]
    assert [f.say for f in found if not f.good] == []
    assert len(found) == 7


def test_nothing_is_ever_written(wires):
    probe = wires.probe
    for step in (probe.answers, probe.echo, probe.identities, probe.strangers, probe.power_up):
        step()
    probe.temperatures(20.0)
    assert {request[1] for request in wires.bench.board.requests} <= {1, 2, 3, 4}


def test_missing_port(wires):
    wires.bench.plugged = False
    assert said(wires.probe.ports()) == [(False, "/dev/fake: there is no such port.")]


@pytest.mark.parametrize(("baud", "parity"), [(19200, "none"), (9600, "even"), (115200, "odd")])
def test_wrong_speed_or_parity_is_tried_and_told(bench, baud, parity):
    wires = Wires(bench, baud, parity)
    good, say = said(wires.probe.answers())[0]
    assert not good
    assert f'it does with baud = {baud}, parity = "{parity}"' in say


def test_a_dead_board_says_what_to_check(wires):
    wires.bench.board.deaf.add(1)
    good, say = said(wires.probe.answers())[0]
    assert not good
    assert "nothing answers at address 1" in say
    assert "swap the two data wires" in say


def test_an_echoing_adapter_is_found_by_an_address_that_nobody_has(wires):
    wires.bench.board.answer = lambda request: [(0.001, request)]
    good, say = said(wires.probe.echo())[0]
    assert not good
    assert "an echo. Switch its echo off" in say


def test_a_device_that_answers_to_every_address(wires):
    wires.bench.board.add(247)
    good, say = said(wires.probe.echo())[0]
    assert not good
    assert "a device answers to address 247 too" in say


def test_two_devices_with_one_address(wires):
    """Both replies come at once and spoil each other."""
    wires.bench.board.fault = lambda request, reply: [(0.001, bytes(a | 0x35 for a in reply))]
    good, say = said(wires.probe.answers())[0]
    assert not good
    assert "Two devices with one address" in say


def test_a_stranger_on_the_line(wires):
    wires.bench.board.add(3)
    wires.bench.board.registers[3]["holding", 0] = 1
    found = wires.probe.strangers(range(1, 6))
    assert said(found) == [
        (False, "/dev/fake: address 3 answers, which the oven file does not have. "
         "Is it another oven's, or the address you meant?")
    ]  # fmt: skip


def test_the_look_for_strangers_does_not_wait_as_long_as_a_slow_device_may_take(bench_of):
    """With a timeout of 2 s it took a minute; 0.2 s for each of 30 addresses, and quiet after it, will do."""
    text = bench_of.__init__.__defaults__[0].replace("[port.bus]\n", '[port.bus]\ntimeout = "2 s"\n')
    assert 'timeout = "2 s"' in text
    wires = Wires(bench_of(text))
    before_s = wires.bench.clock.real_s()
    assert said(wires.probe.strangers(range(1, 31))) == [(True, "Nothing else answers.")]
    assert wires.bench.clock.real_s() - before_s < 12.0


def test_wrong_identity(bench_of):
    text = bench_of.__init__.__defaults__[0]
    text += '[[identity]]\ndevice = "board"\ntable = "holding"\nregister = 0\nexpect = 77\n'
    good, say = said(Wires(bench_of(text)).probe.identities())[0]
    assert not good
    assert "holds 0, not 77: another device answers" in say


def test_a_board_that_powers_up_on(wires):
    wires.bench.board.coils[1][0] = 1
    finding = wires.probe.power_up()
    assert not finding.good
    assert "heater came up ON. output.heater (coil 0 of board) reads 1, off is 0. A board" in finding.say


@pytest.mark.parametrize(
    ("registers", "wired", "keys"),
    [
        ({0: 680}, "", 'unit = "F"'),
        ({0: 20}, "", "scale = 1"),
        ({0: 2000}, "", "scale = 0.01"),
        ({0: 0x3333, 1: 0x41A3}, 'format = "float32"', 'word_order = "low first"'),
        # two floats, low word first: the register between them reads 20.375, nearer to the room than 20.4
        ({0: 0x3333, 1: 0x41A3, 2: 0, 3: 0x41A3}, 'format = "float32"', 'word_order = "low first"'),
        ({0: 0xA341, 1: 0x3333}, 'format = "float32"', 'byte_order = "little"'),
        ({0: 12, 1: 200}, "", "register = 1"),
    ],
    ids=[
        "Fahrenheit",
        "whole degrees",
        "hundredths",
        "word order",
        "word order between two",
        "byte order",
        "numbering",
    ],
)
def test_absurd_cold_temperatures_are_explained(bench_of, registers, wired, keys):
    text = bench_of.__init__.__defaults__[0]
    if wired:
        text = text.replace("register = 0, scale = 0.1,", f"register = 0, {wired},", 1)
    bench = bench_of(text)
    del bench.board.registers[1]["input", 0]
    bench.board.registers[1] |= {("input", n): value for n, value in registers.items()}
    good, say = said(Wires(bench).probe.temperatures(20.0))[0]
    assert not good
    assert keys in say, say


def test_register_numbers_that_count_from_one(bench_of):
    text = bench_of.__init__.__defaults__[0].replace('"input", register = 0', '"input", register = 1', 1)
    good, say = said(Wires(bench_of(text)).probe.temperatures(20.0))[0]
    assert not good
    assert "has no input 1, but input 0" in say
    assert "try register = 0" in say


def test_no_meaning_at_all(bench):
    bench.board.registers[1]["input", 0] = 3999
    good, say = said(Wires(bench).probe.temperatures(20.0))[0]
    assert not good
    assert "check sensor" in say


def test_silent_sensor_board(wires):
    wires.bench.board.deaf.add(1)
    good, say = said(wires.probe.temperatures(20.0))[0]
    assert not good
    assert "no reply" in say


def test_close_gives_the_port_back(wires):
    wires.probe.ports()
    wires.probe.close()
    assert not wires.bench.line.is_open


def test_text_boards_are_looked_at_too(text_bench):
    probe = Wires(text_bench).probe
    assert said(probe.answers()) == [(True, "board answers.")]
    text_bench.board.shown = "68.5"
    good, say = said(probe.temperatures(20.0))[0]
    assert not good
    assert 'unit = "F"' in say


def test_the_walk_says_wrong_parity_and_goes_no_further(bench):
    wires = Wires(bench, 19200, "even")
    maker = Maker()
    found = check_bus(wires.probe, maker, range(1, 3))
    assert 'it does with baud = 19200, parity = "even"' in maker.text
    assert not all(f.good for f in found)
    assert "supply off" not in maker.text


def test_an_off_ends_a_look_with_other_settings_and_has_the_port_next(bench):
    """While strange speeds are tried the file's own settings are not on the port: off must get its turn."""
    wires = Wires(bench, baud=38400)
    asked = iter([None, None, None, "off was asked at 14:05:03"])
    buses = Buses(bench.clock, opener=wires._open)
    probe = Probe(bench.oven, bench.clock, opener=wires._open, buses=buses, why_stop=lambda: next(asked))
    with pytest.raises(RunRefused, match="off was asked at 14:05:03; do this step again"):
        probe.answers()
    wires.baud = 9600
    bench.board.coils[0] = 1
    assert HeatCutter(bench.oven, buses, bench.clock).off()


@pytest.mark.parametrize(("starts_s", "good"), [(4.0, True), (60.0, False)])
def test_a_board_that_starts_slowly_is_waited_for_and_one_that_stays_silent_has_a_cure(wires, starts_s, good):
    bench, from_s = wires.bench, wires.bench.clock.real_s()
    bench.board.fault = lambda request, reply: (
        [] if bench.clock.real_s() < from_s + starts_s else [(0.001, reply)]
    )
    found = wires.probe.power_up()
    assert found.good is good, found.say
    assert good or "supply on again" in found.say
    assert bench.clock.real_s() - from_s < 20.0
