"""Two ovens whose wires are crossed: who heats, who is seen, who answers."""

import contextlib

import pytest

from simulator.boards.board import Board, DamagedAnswer
from simulator.boards.two_ovens import PAIR_FAULTS, schedule_pair
from simulator.oven.ovens import hardening_furnace, tempering_oven


def pair() -> tuple[Board, Board]:
    return Board(hardening_furnace(), seed=1), Board(tempering_oven(), seed=2, identity=4243)


def run(a: Board, b: Board, seconds: int) -> None:
    for _ in range(seconds):
        a.step(1.0)
        b.step(1.0)


def heat(board: Board) -> None:
    board.write("holding", 0, 60)
    board.write("coil", 1, 1)
    board.write("coil", 0, 1)


def test_crossed_outputs_heat_the_other_oven() -> None:
    a, b = pair()
    schedule_pair("outputs-crossed@10", a, b)
    run(a, b, 11)
    heat(a)
    run(a, b, 50)
    assert a.truth().energy_j == 0.0
    assert b.truth().energy_j > 50_000
    assert b.truth().heater_contact


def test_crossed_sensors_read_the_other_oven() -> None:
    a, b = pair()
    schedule_pair("sensors-crossed@0", a, b)
    for _ in range(5):
        heat(b)
        run(a, b, 60)
    assert a.count > 600
    assert b.count < 250
    assert b.truth().place_c > 60.0


def test_swapped_addresses_answer_for_each_other_and_back() -> None:
    a, b = pair()
    schedule_pair("addresses-swapped@10~10s", a, b)
    run(a, b, 12)
    assert [a.read("holding", 100), b.read("holding", 100)] == [4243, 4242]
    a.write("coil", 2, 1)
    assert (a.horn, b.horn) == (False, True)
    run(a, b, 12)
    assert [a.read("holding", 100), b.read("holding", 100)] == [4242, 4243]


def test_a_doubled_address_collides_now_and_then() -> None:
    a, b = pair()
    schedule_pair("address-doubled@0", a, b)
    run(a, b, 1)
    damaged = 0
    for _ in range(200):
        try:
            a.read("input", 0)
        except DamagedAnswer:
            damaged += 1
    assert 40 < damaged < 130


def test_a_doubled_address_flickers_between_two_temperatures() -> None:
    a, b = pair()
    heat(a)
    run(a, b, 55)
    for _ in range(10):
        heat(a)
        run(a, b, 55)
    schedule_pair("address-doubled@0", a, b)
    a.step(1.0)
    seen = set()
    for _ in range(100):
        with contextlib.suppress(DamagedAnswer):
            seen.add(a.read("input", 0))
    assert seen == {a.count, b.count}


@pytest.mark.parametrize("text", ["crossed@0", "sensors-crossed", "sensors-crossed@soon", ""])
def test_bad_text_is_one_line(text: str) -> None:
    with pytest.raises(ValueError, match=r"time|two ovens") as caught:
        schedule_pair(text, *pair())
    assert "\n" not in str(caught.value)


def test_every_pair_fault_undoes_itself() -> None:
    for _, act in PAIR_FAULTS.values():
        a, b = pair()
        act(a, b)
        act(a, b)
        assert (a.sensed, a.heated, a.voice, a.rival) == (a.plant, a.plant, a, None)
        assert a.flaws.collisions == 0.0
