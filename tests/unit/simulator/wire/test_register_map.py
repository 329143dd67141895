"""Raw numbers in registers: formats, word and byte order, bits, outputs in registers.

815.5 is 444B E000 as IEEE 754 single precision; the four orders are those met in the field.
"""

import math
import struct

import pytest

from simulator.boards.board import Board, NoSuchRegister
from simulator.boards.faults import parse_fault
from simulator.oven.ovens import tempering_oven
from simulator.wire.register_map import Cell, WiredUnit
from simulator.wire.signal_encoding import Wire


def board(*faults: str) -> Board:
    unit = Board(tempering_oven(), noise_k=0.0)
    for text in faults:
        unit.begin(parse_fault(text))
    unit.step(1.0)
    return unit


def test_two_words_stand_in_two_registers() -> None:
    unit = WiredUnit(board(), [Cell(Wire("process"), "input", 30, "float32")])
    words = struct.pack(">HH", unit.get("input", 30), unit.get("input", 31))
    assert struct.unpack(">f", words)[0] == pytest.approx(20.0, abs=0.1)
    with pytest.raises(NoSuchRegister):
        unit.get("input", 32)


def test_scale_offset_and_fahrenheit() -> None:
    cells = [
        Cell(Wire("process", scale=0.1), "input", 0),
        Cell(Wire("process", unit="F", scale=0.1), "input", 1),
        Cell(Wire("process", scale=0.5, offset=-50.0), "input", 2),
        Cell(Wire("supply_v"), "input", 3),
        Cell(Wire("process", unit="mV", scale=0.001), "input", 4),
    ]
    unit = WiredUnit(board(), cells)
    seen = [unit.get("input", i) for i in range(5)]
    assert seen[:4] == [200, 680, 140, 230]
    # type K at 20 degC against terminals at 25: 0.798 - 1.000 mV (NIST Monograph 175)
    assert seen[4] - 0x10000 == pytest.approx(-202, abs=2)


def test_a_couple_beyond_its_table_stays_at_the_end() -> None:
    hot = board()
    hot.flaws.bias_k = 1400.0
    hot.flawed()
    hot.step(1.0)
    unit = WiredUnit(hot, [Cell(Wire("process", unit="mV", scale=0.01), "input", 0)])
    assert unit.get("input", 0) == pytest.approx(5389, abs=2)  # 54.886 mV at 1372 degC less 1.000 at 25


@pytest.mark.parametrize(
    ("form", "raw"), [("int16", 0x7FFF), ("uint16", 0xFFFF), ("int32", 0x7FFF), ("uint32", 0xFFFF)]
)
def test_open_sensor_is_the_top_of_the_format(form: str, raw: int) -> None:
    unit = WiredUnit(board("sensor-open@0"), [Cell(Wire("process"), "input", 0, form)])
    assert unit.get("input", 0) == raw


def test_open_sensor_as_float_is_no_number_and_as_told() -> None:
    flawed = board("sensor-open@0")
    unit = WiredUnit(flawed, [Cell(Wire("process"), "input", 0, "float32")])
    words = struct.pack(">HH", unit.get("input", 0), unit.get("input", 1))
    assert math.isnan(struct.unpack(">f", words)[0])
    told = WiredUnit(flawed, [Cell(Wire("process", open_raw=-9999.0), "input", 0)])
    assert told.get("input", 0) == 0x10000 - 9999


def test_bits_share_a_register() -> None:
    cells = [
        Cell(Wire("door_open"), "input", 5, bit=0),
        Cell(Wire("fan_on", inverted=True), "input", 5, bit=3),
        Cell(Wire("process", broken=True), "input", 5, bit=7),
    ]
    assert WiredUnit(board(), cells).get("input", 5) == 0
    assert (
        WiredUnit(board("door-open@0", "fan-stopped@0", "sensor-open@0"), cells).get("input", 5) == 0b10001001
    )


def test_outputs_in_registers_with_words_of_their_own() -> None:
    oven = board()
    cells = [
        Cell(Wire("heater", output=True, on=170, off=85), "holding", 5),
        Cell(Wire("fed", output=True, on=1, holds_s=20.0), "holding", 6),
        Cell(Wire("contactor", output=True), "coil", 7),
        Cell(Wire("contactor-contact", inverted=True), "discrete", 7),
    ]
    unit = WiredUnit(oven, cells)
    unit.set("holding", 5, 170)
    assert unit.get("holding", 5) == 85  # starved
    unit.set("holding", 6, 7)
    assert oven.fed_s == 0.0  # another word does not feed
    unit.set("holding", 6, 1)
    assert oven.fed_s == 20.0
    unit.set("holding", 5, 170)
    unit.set("coil", 7, 1)
    assert [unit.get("holding", 5), unit.get("coil", 7), unit.get("discrete", 7)] == [170, 1, 0]
    unit.set("holding", 5, 1)
    assert unit.get("holding", 5) == 85  # a word that means nothing is no "on"
    unit.set("holding", 6, 0)
    assert not oven.contactor


def test_a_set_point_feeds_and_parks() -> None:
    oven = Board(tempering_oven(), follower=True, contactor=False)
    wire = Wire("goal", output=True, unit="F", scale=0.1, feeds_s=10.0)
    unit = WiredUnit(oven, [Cell(wire, "holding", 0)])
    unit.set("holding", 0, 3920)
    assert oven.follower.goal_c == pytest.approx(200.0)
    assert unit.get("holding", 0) == 3920
    oven.step(5.0)
    assert oven.truth().heater_contact
    oven.step(8.0)
    oven.step(1.0)
    assert not oven.truth().heater_contact
    assert oven.follower.goal_c == 0.0


def test_what_is_read_only_or_unknown_is_refused() -> None:
    unit = WiredUnit(
        board(), [Cell(Wire("process"), "holding", 0), Cell(Wire("constant", on=77), "holding", 9)]
    )
    assert unit.get("holding", 9) == 77
    assert unit.get("holding", 9000) == 0x5350
    for table, register in (("holding", 0), ("holding", 50), ("input", 0), ("holding", 9000)):
        with pytest.raises(NoSuchRegister):
            unit.set(table, register, 1)
