"""Off while a set-up step has the port of an oven, heating or not: judged by the board's own log.

The board is the one of the histories: it shares no code with kilnctl.
"""

import os
import select
import time
from collections.abc import Iterator

import pytest
from histories.place import Place, Said, cpu_s

pytestmark = pytest.mark.real_bytes
COMES_S = 60.0


@pytest.fixture
def place() -> Iterator[Place]:
    made = Place(5)
    yield made
    made.close()


def asked(said: Said, question: str, answer: str = "y") -> None:
    """Say yes to everything until a question comes, and leave that one open."""
    end_s, seen = time.monotonic() + COMES_S, 0
    while time.monotonic() < end_s:
        if select.select([said.typed], [], [], 0.3)[0]:
            said.told += os.read(said.typed, 65536).decode(errors="replace").replace("\r\n", "\n")
            continue
        if question in said.told[seen:]:
            return
        if said.told[seen:].rstrip().endswith((":", "?", "]")):
            seen = len(said.told)
            os.write(said.typed, answer.encode())
    raise AssertionError(said.told[-1500:])


def is_off_at_once(place: Place, oven: str) -> None:
    """A hand at the board has switched heater and contactor on: off finds and cuts them, and says so."""
    for coil in (1, 0):
        place.board(oven, "hand", coil=coil, on=True)
    off = place.say("one", "off", "--oven", oven)
    assert (off.code, place.closed(oven)) == (0, False), off.err
    assert off.ended_s is not None
    assert not place.came_on(oven, off.ended_s)


def test_off_while_a_question_is_open_and_the_port_is_held(place: Place) -> None:
    walk = place.start(
        "one", "commission", str(place.oven_file("one", "A")), "--step", "bus check", terminal=True
    )
    asked(walk, "Switch the board's supply off")
    is_off_at_once(place, "A")
    assert walk.ended_s is None


def test_off_while_somebody_counts_the_lamp() -> None:
    made = Place(1, simulated=(), drops_s=3)
    try:
        walk = made.start("one", "commission", str(made.oven_file("one", "A")), terminal=True)
        asked(walk, "numbers after one long call")
        is_off_at_once(made, "A")
        assert cpu_s(walk.process.pid) < COMES_S
    finally:
        made.close()
