"""How faults are written, and that each of them does something and can be taken back."""

import math

import pytest

from simulator.boards.board import Board, WireError
from simulator.boards.faults import FAULTS, Fault, described, parse_fault
from simulator.oven.ovens import tempering_oven
from simulator.oven.part import Part


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("sensor-open@300", Fault("sensor-open", 300.0)),
        ("sensor-open@300s", Fault("sensor-open", 300.0)),
        ("relay-welded@2h10min", Fault("relay-welded", 7800.0)),
        ("relay-welded@1.5h~20min", Fault("relay-welded", 5400.0, None, 1200.0)),
        ("replies-late@10min:0.3~1min", Fault("replies-late", 600.0, 0.3, 60.0)),
        ("sensor-offset@0:-70", Fault("sensor-offset", 0.0, -70.0)),
    ],
)
def test_reads(text: str, fault: Fault) -> None:
    assert parse_fault(text) == fault


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("sensor-open", "needs the time"),
        ("sensor-open@", "write it like"),
        ("sensor-open@soon", "cannot read the time"),
        ("sensor-open@1h30", "cannot read the time"),
        ("sensor-open@-5", "cannot read the time"),
        ("sensor-open@1h:3", "takes no value"),
        ("sensor-opan@1h", "sensor-open"),
        ("element-dead@1h:1.5", "from 0 to 1"),
        ("sensor-noise@1h:nan", "takes a number"),
        ("sensor-noise@1h:loud", "takes a number"),
        ("smoke@1h~ever", "cannot read the time"),
        ("", "write it like"),
    ],
)
def test_refuses_in_one_line(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as caught:
        parse_fault(text)
    assert "\n" not in str(caught.value)


def test_every_fault_is_described_in_one_line() -> None:
    lines = described().splitlines()
    assert [line.split()[0] for line in lines] == list(FAULTS)
    assert all(len(line) < 100 for line in lines)


REGISTERS = (
    [("coil", i) for i in range(4)]
    + [("discrete", i) for i in range(5)]
    + [("input", i) for i in range(9)]
    + [("holding", i) for i in (0, 1, 2, 3, 100)]
)
# These show only in company, seldom, or as bytes; each has a test of its own (test_board.py,
# test_sim_text_protocol.py, test_faults_slow.py).
IN_COMPANY = {
    "limit-bridged",
    "dead-man-stuck",
    "contactor-welded",
    "relay-sticky",
    "replies-split",
    "boots-on",
    "stray-on",
}


def heating(seed: int = 3) -> Board:
    """Return a board at work in the middle of a heat, fed for a minute."""
    board = Board(tempering_oven(), seed=seed)
    board.load(Part(section_mm=5))
    for second in range(600):
        tended(board, second)
    return board


def tended(board: Board, second: int) -> None:
    """Let a second pass under a thermostat of a kind: 6 s on, 4 s off."""
    board.set("holding", 0, 60)
    board.set("coil", 1, 1)
    board.set("coil", 0, int(second % 10 < 6))
    board.step(1.0)


def seen(board: Board) -> list[object]:
    """Return all that a reader sees, errors of the line included."""
    values: list[object] = []
    for table, register in REGISTERS:
        try:
            values.append(board.read(table, register))
        except WireError as e:
            values.append(type(e))
    return [*values, board.boots, round(board.truth().element_c, 3)]


@pytest.mark.parametrize("name", sorted(set(FAULTS) - IN_COMPANY))
def test_fault_shows_while_it_lasts_and_not_before(name: str) -> None:
    sound, flawed = heating(), heating()
    flawed.schedule([parse_fault(f"{name}@700~100")])
    differs = []
    for second in range(600, 800):
        for board in (sound, flawed):
            tended(board, second)
        differs.append(seen(sound) != seen(flawed))
    assert not any(differs[:100])
    assert any(differs[100:])


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_fault_leaves_no_flaw_behind(name: str) -> None:
    sound, flawed = heating(), heating()
    flawed.schedule([parse_fault(f"{name}@650~30")])
    for second in range(600, 700):
        tended(flawed, second)
    assert flawed.flaws == sound.flaws
    assert abs(flawed.count / 10 - flawed.truth().place_c) < 2.0


def test_a_fault_without_end_stays() -> None:
    board = heating()
    board.schedule([parse_fault("sensor-open@601")])
    board.step(5.0)
    assert board.count == 32767
    for second in range(3000):
        tended(board, second)
    assert board.count == 32767
    assert math.isinf(parse_fault("sensor-open@601").for_s)


def test_a_fault_begins_inside_a_long_step() -> None:
    board = Board(tempering_oven())
    board.schedule([parse_fault("relay-welded@30"), parse_fault("contactor-welded@30")])
    board.step(60.0)
    assert board.truth().energy_j == pytest.approx(30 * 1200, rel=0.02)
    assert board.at_s == 60.0
