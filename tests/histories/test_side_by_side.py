"""A door that opens and a board that falls silent, over real bytes: the boards' log is the judge."""

import re
import time
from collections.abc import Iterator
from typing import Any

import pytest
from histories.forking import shared
from histories.place import Place, Said, until

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
HEATS_S, WATCH_S, DROPS_S = 40.0, 2.5, 20.0
HEATER, CONTACTOR = 0, 1


@pytest.fixture
def place() -> Iterator[Place]:
    made = Place(speed=5, nursery=shared())
    yield made
    made.close()


def heat(place: Place, oven: str) -> Said:
    """Start a run and return when its heater is on."""
    said = place.heat("one", oven, "--json")
    assert until(lambda: place.hot(oven) or said.ended_s is not None, HEATS_S)
    assert said.ended_s is None, said.err
    return said


def turns(place: Place, oven: str, since_s: float) -> list[dict[str, Any]]:
    """Return what the relays of an oven did since a moment, and what fed its dead-man."""
    return [line for line in place.truth() if line["board"] == oven and line["t"] > since_s]


def test_an_opened_door_drops_the_contactor_with_the_heater_in_one_tick(place: Place) -> None:
    """By a request, with no feed between the two: a tick feeds once, at its end. Shut, it closes again."""
    run = heat(place, "A")
    opened_s = time.monotonic()
    place.board("A", "door", open=True)
    assert until(lambda: not place.closed("A"), DROPS_S)
    done = turns(place, "A", opened_s)
    fell = [n for n, e in enumerate(done) if e["event"] == "relay" and e["coil"] == CONTACTOR and not e["on"]]
    heater = [n for n, e in enumerate(done) if e["event"] == "relay" and e["coil"] == HEATER and not e["on"]]
    assert str(done[fell[0]]["by"]).startswith("request"), done[fell[0]]
    if heater:  # else the door was opened between two pulses
        between = done[min(fell[0], heater[0]) : max(fell[0], heater[0])]
        assert not [e for e in between if e["event"] == "feed"]
    shut_s = time.monotonic()
    place.board("A", "door", open=False)
    assert until(lambda: bool(place.came_on("A", shut_s)), HEATS_S)
    assert place.closed("A")
    assert run.ended_s is None, run.err


def test_off_of_an_oven_whose_board_is_silent_leaves_the_heat_of_the_other(place: Place) -> None:
    """It cannot be read off, and says so with its switch; the controller and the other heat go on."""
    heat(place, "A")
    other = heat(place, "B")
    place.board("A", "silent", on=True)
    off = place.say("one", "off", "--oven", "A")
    assert off.code != 0, off.out
    assert re.search("cut the power.*red switch A", off.err + off.out, re.IGNORECASE | re.DOTALL)
    assert until(lambda: not place.closed("A"), DROPS_S), "its dead-man has not dropped"
    time.sleep(WATCH_S)
    assert other.ended_s is None, "the heat of another oven was ended"
    assert place.hot("B") or place.came_on("B", off.ended_s or 0.0)
