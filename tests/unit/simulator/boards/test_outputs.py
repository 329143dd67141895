"""A timer relay behind a board that keeps its coils: it gives the heat, and takes it, and no coil moves."""

import pytest

from simulator.boards.board import Board
from simulator.oven import ovens


@pytest.fixture
def board() -> Board:
    return Board(ovens.tempering_oven(), contactor=False, timer=True)


def test_a_coil_alone_gives_no_heat_and_stays(board: Board) -> None:
    board.write("coil", 0, 1)
    board.step(1.0)
    assert (board.read("coil", 0), board.live(), board.relay_closed) == (1, False, False)


def test_a_starved_timer_takes_the_heat_and_leaves_the_coil(board: Board) -> None:
    board.write("coil", 0, 1)
    board.feed(5.0)
    board.step(4.0)
    assert board.live()
    board.step(2.0)
    board.step(1.0)
    assert (board.read("coil", 0), board.live(), board.relay_closed) == (1, False, False)
    board.feed(5.0)
    board.step(1.0)
    assert board.live()  # the coil was never taken back: whoever feeds again, heats
