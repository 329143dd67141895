"""The slave's frames, byte for byte.

PDU examples of Modbus Application Protocol V1.1b3, CRCs of Modbus over Serial Line V1.02; the check value of
"123456789" is that of the published CRC-16 catalogue (reflected 8005, start FFFF).
"""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from simulator.boards.board import BadValue, Board, NoSuchRegister
from simulator.boards.faults import parse_fault
from simulator.boards.two_ovens import schedule_pair
from simulator.oven.ovens import hardening_furnace, tempering_oven
from simulator.wire.frames import answer, crc, framed, request_length
from simulator.wire.slave import ModbusTalker, Requests

SPECIFIED = [
    ("01 03 00 6B 00 03", "74 17"),
    ("11 03 00 6B 00 03", "76 87"),
    ("01 01 00 13 00 13", "8C 02"),
    ("01 02 00 C4 00 16", "B8 39"),
    ("01 04 00 08 00 01", "B0 08"),
    ("01 05 00 AC FF 00", "4C 1B"),
    ("01 05 00 AC 00 00", "0D EB"),
    ("01 06 00 01 00 03", "98 0B"),
    ("01 0F 00 13 00 0A 02 CD 01", "72 CB"),
    ("01 10 00 01 00 02 04 00 0A 01 02", "92 30"),
    ("02 07", "41 12"),
]


class Memory:
    """A unit that is all registers of one size, as the examples of the specification need."""

    def __init__(self, **tables: dict[int, int]) -> None:
        self.tables = tables

    def get(self, table: str, register: int) -> int:
        try:
            return self.tables[table][register]
        except KeyError:
            raise NoSuchRegister(f"{table} {register}") from None

    def set(self, table: str, register: int, value: int) -> None:
        self.get(table, register)
        if value == 0xDEAD:
            raise BadValue("not that")
        self.tables[table][register] = value


def bits(packed: str, first: int, count: int) -> dict[int, int]:
    data = bytes.fromhex(packed)
    return {first + i: data[i // 8] >> (i % 8) & 1 for i in range(count)}


def ask(unit: Memory, request: str, address: int = 1) -> str | None:
    reply = answer({address: unit}, framed(bytes.fromhex(request)))
    return None if reply is None else reply.hex(" ").upper()


@pytest.mark.parametrize(("body", "tail"), SPECIFIED)
def test_crc_on_the_wire(body: str, tail: str) -> None:
    assert framed(bytes.fromhex(body)).hex(" ").upper() == f"{body} {tail}"


def test_crc_check_value() -> None:
    assert crc(b"123456789") == 0x4B37


def test_read_coils_example() -> None:
    unit = Memory(coil=bits("CD 6B 05", 0x13, 19))
    assert ask(unit, "01 01 00 13 00 13").startswith("01 01 03 CD 6B 05")


def test_read_discrete_inputs_example() -> None:
    unit = Memory(discrete=bits("AC DB 35", 0xC4, 22))
    assert ask(unit, "01 02 00 C4 00 16").startswith("01 02 03 AC DB 35")


def test_read_holding_registers_example() -> None:
    unit = Memory(holding={0x6B: 0x022B, 0x6C: 0x0000, 0x6D: 0x0064})
    assert ask(unit, "01 03 00 6B 00 03") == "01 03 06 02 2B 00 00 00 64 05 7A"


def test_read_input_registers_example() -> None:
    unit = Memory(input={8: 0x000A})
    assert ask(unit, "01 04 00 08 00 01") == "01 04 02 00 0A 39 37"


def test_write_single_coil_example() -> None:
    unit = Memory(coil={0xAC: 0})
    assert ask(unit, "01 05 00 AC FF 00") == "01 05 00 AC FF 00 4C 1B"
    assert unit.tables["coil"][0xAC] == 1
    ask(unit, "01 05 00 AC 00 00")
    assert unit.tables["coil"][0xAC] == 0


def test_write_single_register_example() -> None:
    unit = Memory(holding={1: 0})
    assert ask(unit, "01 06 00 01 00 03") == "01 06 00 01 00 03 98 0B"
    assert unit.tables["holding"] == {1: 3}


def test_write_multiple_coils_example() -> None:
    unit = Memory(coil=dict.fromkeys(range(0x13, 0x1D), 0))
    assert ask(unit, "01 0F 00 13 00 0A 02 CD 01").startswith("01 0F 00 13 00 0A")
    assert unit.tables["coil"] == bits("CD 01", 0x13, 10)


def test_write_multiple_registers_example() -> None:
    unit = Memory(holding={1: 0, 2: 0})
    assert ask(unit, "01 10 00 01 00 02 04 00 0A 01 02") == "01 10 00 01 00 02 10 08"
    assert unit.tables["holding"] == {1: 0x000A, 2: 0x0102}


@pytest.mark.parametrize(
    ("request_hex", "reply"),
    [
        ("01 03 00 99 00 01", "01 83 02 C0 F1"),
        ("01 03 00 01 00 00", "01 83 03"),
        ("01 03 00 01 00 7E", "01 83 03"),
        ("01 05 00 00 12 34", "01 85 03"),
        ("01 06 00 01 DE AD", "01 86 03"),
        ("01 06 00 99 00 01", "01 86 02"),
        ("01 10 00 01 00 02 02 00 0A", "01 90 03"),
        ("01 2B 0E 01 00 00", "01 AB 01"),
        ("01 07 00 00 00 00", "01 87 01"),
    ],
)
def test_exceptions(request_hex: str, reply: str) -> None:
    unit = Memory(holding={1: 7}, coil={0: 0})
    assert ask(unit, request_hex).startswith(reply)
    assert unit.tables["holding"] == {1: 7}


def test_silent_for_a_damaged_request_and_for_other_addresses() -> None:
    unit = Memory(coil={0: 0})
    whole = framed(bytes.fromhex("01 05 00 00 FF 00"))
    for i in range(len(whole)):
        assert answer({1: unit}, whole[:i] + bytes([whole[i] ^ 0x10]) + whole[i + 1 :]) is None
    assert ask(unit, "02 05 00 00 FF 00") is None
    assert unit.tables["coil"] == {0: 0}


def test_broadcast_acts_without_reply() -> None:
    unit = Memory(coil={0: 1})
    assert ask(unit, "00 05 00 00 00 00") is None
    assert unit.tables["coil"] == {0: 0}


@given(st.binary(max_size=300))
@example(b"\x0f\x00\x00\x01")  # a write of bits that ends before it says how many
@example(b"\x10\x00\x00\x00\x01")
def test_no_bytes_make_it_fail(data: bytes) -> None:
    unit = Memory(coil={0: 0}, holding={0: 0})
    answer({1: unit}, data)
    answer({1: unit}, framed(b"\x01" + data))
    Requests().take(data, 0.0)


def test_length_of_a_request() -> None:
    assert request_length(b"\x01") is None
    assert request_length(bytes.fromhex("01 03")) == 8
    assert request_length(bytes.fromhex("01 0F 00 13 00 0A")) is None
    assert request_length(bytes.fromhex("01 0F 00 13 00 0A 02")) == 11


def test_a_request_in_two_pieces_is_one_request() -> None:
    whole = framed(bytes.fromhex("01 03 00 6B 00 03"))
    requests = Requests()
    assert requests.take(whole[:3], 10.000) == []
    assert requests.take(whole[3:], 10.003) == [whole]


def test_a_piece_that_is_too_old_is_dropped_and_the_next_request_works() -> None:
    whole = framed(bytes.fromhex("01 03 00 6B 00 03"))
    requests = Requests()
    assert requests.take(whole[:3], 10.00) == []
    assert requests.take(whole, 10.05) == [whole]


def test_two_requests_in_one_piece() -> None:
    one, two = framed(bytes.fromhex("01 03 00 6B 00 03")), framed(bytes.fromhex("01 06 00 01 00 03"))
    assert Requests().take(one + two, 0.0) == [one, two]


# ---- what a bad line does to a reply; the question is always for the identity, 4242 = 1092 hex ----

QUESTION = framed(bytes.fromhex("01 03 00 64 00 01"))
GOOD = framed(bytes.fromhex("01 03 02 10 92"))


def replies(*faults: str) -> list[tuple[bytes, float]]:
    board = Board(tempering_oven())
    for text in faults:
        board.begin(parse_fault(text))
    return ModbusTalker({1: board}).take(QUESTION, 0.0)


def test_a_sound_line() -> None:
    assert replies() == [(GOOD, 0.0)]


@pytest.mark.parametrize("fault", ["replies-silent@0", "power-cut@0", "replies-lost@0"])
def test_no_reply(fault: str) -> None:
    assert replies(fault) == []


def test_echo_and_delay_and_another_address() -> None:
    assert replies("replies-echoed@0") == [(QUESTION, 0.0)]
    assert replies("replies-late@0:0.25") == [(GOOD, 0.25)]
    assert replies("replies-other-address@0") == [(framed(bytes.fromhex("02 03 02 10 92")), 0.0)]
    assert replies("wrong-device@0") == [(framed(bytes.fromhex("01 03 02 13 87")), 0.0)]


def test_split_reply_keeps_its_bytes_and_its_gap() -> None:
    (first, at_once), (second, later) = replies("replies-split@0:0.04", "replies-late@0:0.1")
    assert first + second == GOOD
    assert first
    assert second
    assert (at_once, later) == (pytest.approx(0.1), pytest.approx(0.14))


def test_damaged_short_and_junk_replies_are_never_good_frames() -> None:
    for seed in range(50):
        for fault in ("replies-damaged@0", "replies-short@0", "replies-junk@0"):
            board = Board(tempering_oven())
            board.begin(parse_fault(fault))
            ((reply, _),) = ModbusTalker({1: board}, seed=seed).take(QUESTION, 0.0)
            assert reply != GOOD
            assert crc(reply[:-2]) != int.from_bytes(reply[-2:], "little")


def test_share_of_damaged_replies() -> None:
    board = Board(tempering_oven())
    board.begin(parse_fault("replies-damaged@0:0.3"))
    talker = ModbusTalker({1: board})
    damaged = sum(talker.take(QUESTION, i)[0][0] != GOOD for i in range(1000))
    assert 240 < damaged < 360


def test_foreign_frame_stands_before_the_reply() -> None:
    ((reply, _),) = replies("foreign-frames@0")
    assert reply.endswith(GOOD)
    foreign = reply[: -len(GOOD)]
    assert crc(foreign[:-2]) == int.from_bytes(foreign[-2:], "little")


def test_two_boards_at_one_address_flicker_and_collide() -> None:
    one, other = Board(tempering_oven()), Board(hardening_furnace(), identity=4243)
    schedule_pair("address-doubled@0", one, other)
    one.step(1.0)
    talker = ModbusTalker({1: one})
    seen = [talker.take(QUESTION, i)[0][0] for i in range(200)]
    assert {GOOD, framed(bytes.fromhex("01 03 02 10 93"))} <= set(seen)
    assert len(set(seen)) > 10
