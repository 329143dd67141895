"""Exact bytes both ways. Frames are the examples of the Modbus Application Protocol V1.1b3, unit 01 added.

CRCs: 74 17 and 05 7A stand in two unrelated public test suites; "123456789" gives 4B37 (check value).
Two wrong CRCs circulate for the first frame (76 87 belongs to unit 11).
"""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config.device_keys import ModbusDevice
from kilnctl.config.places import Place
from kilnctl.config.wiring import Output
from kilnctl.devices.languages.modbus import ModbusBoard
from kilnctl.errors import BadReply, DeviceRefused, NoReply


def device(bus, address=1):
    board = ModbusBoard("board", ModbusDevice(port="bus", address=address), bus, VirtualClock())
    bus.open()
    board.greeted = board.epoch
    return board


def place(table, register, **more):
    return Place(device="board", table=table, register=register, **more)


def output(table, register, **more):
    return Output(device="board", table=table, register=register, **more)


def test_checksum_reference(crc16):
    assert crc16(b"123456789").hex() == "374b"
    assert crc16(bytes.fromhex("02 07")).hex(" ") == "41 12"


def test_fc03_three_registers(script):
    bus = script([("01 03 00 6b 00 03 74 17", "01 03 06 02 2B 00 00 00 64 05 7A")])
    found = device(bus).read([place("holding", n, format="uint16") for n in (107, 108, 109)])
    assert found == [555, 0, 100]


def test_fc03_for_unit_11_hex(script):
    reply = "11 03 06 AE 41 56 52 43 40 49 AD"
    bus = script([("11 03 00 6b 00 03 76 87", reply)])
    found = device(bus, 0x11).read([place("holding", n, format="uint16") for n in (107, 108, 109)])
    assert found == [0xAE41, 0x5652, 0x4340]


def test_fc01_nineteen_coils(script, crc16):
    reply = bytes.fromhex("01 01 03 CD 6B 05")
    bus = script([("01 01 00 13 00 13 8c 02", (reply + crc16(reply)).hex())])
    found = device(bus).read([place("coil", n) for n in range(19, 38)])
    assert found == [1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1]


def test_fc02_twenty_two_inputs(script, crc16):
    reply = bytes.fromhex("01 02 03 AC DB 35")
    bus = script([("01 02 00 c4 00 16 b8 39", (reply + crc16(reply)).hex())])
    found = device(bus).read([place("discrete", n) for n in range(196, 218)])
    assert [int(v) for v in found[:8]] == [0, 0, 1, 1, 0, 1, 0, 1]
    assert [int(v) for v in found[16:]] == [1, 0, 1, 0, 1, 1]


def test_fc04_one_input_register(script):
    bus = script([("01 04 00 08 00 01 b0 08", "01 04 02 00 0A 39 37")])
    assert device(bus).read([place("input", 8)]) == [10]


def test_fc05_on_and_off(script):
    on, off = "01 05 00 ac ff 00 4c 1b", "01 05 00 ac 00 00 0d eb"
    board = device(script([(on, on), (off, off)]))
    board.write(output("coil", 172), 1)
    board.write(output("coil", 172), 0)


def test_fc06(script):
    frame = "01 06 00 01 00 03 98 0b"
    device(script([(frame, frame)])).write(output("holding", 1), 3)


def test_fc15_one_coil(script, crc16):
    body, reply = bytes.fromhex("01 0F 00 13 00 01 01 01"), bytes.fromhex("01 0F 00 13 00 01")
    bus = script([((body + crc16(body)).hex(" "), (reply + crc16(reply)).hex())])
    device(bus).write(output("coil", 19, multiple=True), 1)


def test_fc16_two_registers(script):
    bus = script([("01 10 00 01 00 02 04 00 0a 01 02 92 30", "01 10 00 01 00 02 10 08")])
    device(bus).write(output("holding", 1, format="int32"), 0x000A0102)


def test_fc16_one_register_for_devices_that_lack_fc06(script, crc16):
    body, reply = bytes.fromhex("01 10 00 01 00 01 02 00 03"), bytes.fromhex("01 10 00 01 00 01")
    bus = script([((body + crc16(body)).hex(" "), (reply + crc16(reply)).hex())])
    device(bus).write(output("holding", 1, multiple=True), 3)


def test_exception_reply(script):
    bus = script([("01 03 00 6b 00 01 f5 d6", "01 83 02 C0 F1")])
    found = device(bus).read([place("holding", 107)])[0]
    assert isinstance(found, DeviceRefused)
    assert "board (address 1 on /dev/fake), reading holding 107" in str(found)


@pytest.mark.parametrize(
    ("reply", "error"),
    [
        ("", NoReply),
        ("01 04 02 00 0A 39 36", BadReply),
        ("01 04 02 00", BadReply),
        ("02 04 02 00 0A 39 37", BadReply),
        ("01 03 02 00 0A 38 43", BadReply),
        ("55 01 04 02 00 0A 39 37", BadReply),
        ("01 04 00 08 00 01 b0 08", BadReply),
    ],
    ids=["silent", "bad CRC", "short", "other address", "other function", "junk before", "echo"],
)
def test_bad_replies_are_never_values(script, reply, error):
    bus = script([("01 04 00 08 00 01 b0 08", reply)])
    assert isinstance(device(bus).read([place("input", 8)])[0], error)


# 815.5 as IEEE 754 single is 444BE000; the four orders are those that devices use.
@pytest.mark.parametrize(
    ("words", "order"),
    [
        ((0x444B, 0xE000), {}),
        ((0xE000, 0x444B), {"word_order": "low first"}),
        ((0x4B44, 0x00E0), {"byte_order": "little"}),
        ((0x00E0, 0x4B44), {"word_order": "low first", "byte_order": "little"}),
    ],
)
def test_float_orders(script, crc16, words, order):
    body = bytes.fromhex("01 04 04") + b"".join(w.to_bytes(2, "big") for w in words)
    ask = bytes.fromhex("01 04 00 00 00 02")
    bus = script([((ask + crc16(ask)).hex(" "), (body + crc16(body)).hex())])
    assert device(bus).read([place("input", 0, format="float32", **order)]) == [815.5]


def test_negative_tenths(script, crc16):
    body = bytes.fromhex("01 04 02 FF C9")
    bus = script([("01 04 00 08 00 01 b0 08", (body + crc16(body)).hex())])
    assert device(bus).read([place("input", 8)]) == [-55]


def test_bits_of_one_status_word_are_one_exchange(script):
    bus = script([("01 04 00 08 00 01 b0 08", "01 04 02 00 0A 39 37")])
    found = device(bus).read([place("input", 8, bit=n) for n in range(4)])
    assert found == [0, 1, 0, 1]


def test_places_apart_are_not_read_across_the_gap_and_what_is_asked_first_comes_first(script, crc16):
    body = bytes.fromhex("01 04 00 0A 00 01")
    reply = bytes.fromhex("01 04 02 00 07")
    other = ((body + crc16(body)).hex(" "), (reply + crc16(reply)).hex())
    bus = script([other, ("01 04 00 08 00 01 b0 08", "01 04 02 00 0A 39 37")])
    assert device(bus).read([place("input", 10), place("input", 8)]) == [7, 10]


def test_writing_what_does_not_fit_is_refused_before_it_is_sent(script):
    with pytest.raises(BadReply, match="does not fit"):
        device(script([])).write(output("holding", 0), 70000)


def test_nothing_but_off_is_written_before_the_greeting(script):
    board = device(script([("01 05 00 ac 00 00 0d eb", "01 05 00 ac 00 00 0d eb")]))
    board.greeted = (0, 0)
    with pytest.raises(Exception, match="has restarted; switching off first"):
        board.write(output("coil", 172), 1)
    board.write(output("coil", 172), 0, force=True)
