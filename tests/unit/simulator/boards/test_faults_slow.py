"""What goes wrong slowly or seldom, each against what its own words promise in numbers."""

import pytest

from simulator.boards.board import PART_IN_S, Board
from simulator.boards.faults import parse_fault
from simulator.oven.ovens import tempering_oven
from simulator.wire.frames import crc, framed
from simulator.wire.slave import ModbusTalker

TERMINAL_C = 25.0  # a room of 20 degC and 5 K of the terminals' own


def flawed(fault: str, at_c: float | None = None) -> Board:
    board = Board(tempering_oven(), noise_k=0.0)
    if at_c is not None:
        board.plant.sensor.junction_c = board.plant.sensor.sheath_c = at_c
        board.plant.air_c = board.plant.element_c = board.plant.wall.face_c = at_c
    board.schedule([parse_fault(fault)])
    return board


def pulsed(board: Board, on: bool) -> float:
    """Return the seconds of full heat of one tick."""
    board.write("holding", 0, 60)
    board.write("coil", 1, 1)
    board.write("coil", 0, int(on))
    board.step(1.0)
    return board.share


@pytest.mark.parametrize(("fault", "share"), [("sensor-half-out@0:10", 0.5), ("sensor-slips@0:10", 0.15)])
def test_a_couple_that_creeps_out_lies_so_far_towards_the_terminals_and_stays(fault, share) -> None:
    board = flawed(fault)
    for minutes, part in ((5, 0.5), (10, 1.0), (20, 1.0)):
        board.step(minutes * 60.0 - board.at_s)
        board.plant.sensor.junction_c = 218.0
        board.step(0.5)
        due_c = board.truth().place_c - share * part * (board.truth().place_c - TERMINAL_C)
        assert board.count / 10 == pytest.approx(due_c, abs=0.5)


def test_a_late_relay_opens_three_seconds_late_each_time() -> None:
    board = flawed("relay-late@0:3")
    shares = [pulsed(board, second % 20 < 5) for second in range(60)]
    assert shares == pytest.approx(([1.0] * 8 + [0.0] * 12) * 3)


def test_a_sticky_relay_stays_closed_for_20_s_once_in_twenty_openings() -> None:
    board = flawed("relay-sticky@0:0.05")
    late = []
    for _ in range(1000):
        pulsed(board, True)
        late.append(round(sum(pulsed(board, False) for _ in range(30))))
    assert set(late) == {0, 20}
    assert late.count(20) == pytest.approx(50, abs=21)  # three standard deviations of the binomial


def test_a_flipped_reply_differs_by_one_bit_and_its_check_sum_is_good() -> None:
    board = flawed("replies-flipped@0:0.2")
    board.step(1.0)
    off = [board.read("input", 0) ^ (board.count & 0xFFFF) for _ in range(1000)]
    assert {x.bit_count() for x in off} == {0, 1}
    assert sum(map(bool, off)) == pytest.approx(200, abs=38)
    talker = ModbusTalker({7: board})
    request = framed(bytes.fromhex("070400000001"))
    replies = [talker.take(request, float(i))[0][0] for i in range(500)]
    assert {crc(reply[:-2]).to_bytes(2, "little") == reply[-2:] for reply in replies} == {True}
    assert sum(int.from_bytes(r[3:5], "big") != board.count for r in replies) == pytest.approx(100, abs=27)


def test_an_element_ages_to_its_share_within_the_hour() -> None:
    board = flawed("element-ages@0:0.7")
    for minutes, left in ((30, 0.85), (60, 0.7), (90, 0.7)):
        board.step(minutes * 60.0 - board.at_s)
        board.step(1.0)
        assert board.plant.health == pytest.approx(left, abs=0.001)


def test_a_door_ajar_loses_a_tenth_of_an_open_one_and_its_switch_says_shut() -> None:
    lost_j = []
    for fault in ("smoke@0", "door-ajar@0:0.1", "door-open@0"):
        board = flawed(fault, 218.0)
        board.step(1.0)
        lost_j.append(board.plant.lost_j)
        assert board.read("discrete", 0) == (fault == "door-open@0")
    shut, ajar, wide = lost_j
    assert (ajar - shut) / (wide - shut) == pytest.approx(0.1, abs=0.03)


def test_a_cold_part_comes_in_through_the_door() -> None:
    board = flawed("cold-part@10:25", 218.0)
    board.step(11.0)
    assert board.read("discrete", 0)
    assert board.truth().part_core_c < 25.0
    board.step(PART_IN_S)
    assert not board.read("discrete", 0)
