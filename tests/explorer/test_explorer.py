"""The protocol's own functions walked through exhaustively; each promise is seen to break with one of them.

The whole, by name: `python -m explorer.explore --size 2 --faults 1` from the folder of the tests.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from explorer.explore import (
    DRILL_A,
    OFF,
    OFF_A,
    OFF_B,
    OFF_TWO,
    RESET_A,
    RESUME_A,
    RUN_A,
    RUN_A_TWO,
    Found,
    walk,
)
from explorer.world import CLEAR, TRIPPED

from kilnctl.marks import off_means, off_stamp, protocol
from kilnctl.marks.off_means import Means, Off
from kilnctl.marks.protocol import LatchWord

SAMPLE: list[tuple[tuple[Any, ...], int]] = [
    ((RUN_A, OFF), 0),
    ((RUN_A, RESUME_A), 1),
    ((RUN_A, RUN_A), 1),
    ((RUN_A, RESET_A), 1),
    ((RUN_A, RUN_A_TWO), 1),
    ((DRILL_A, OFF), 0),
    ((RUN_A, OFF_TWO), 0),
    ((DRILL_A, OFF_A), 0),
    ((RUN_A, OFF_B), 0),
]


@pytest.mark.slow
def test_a_sample_of_what_may_happen_keeps_every_promise() -> None:
    began_s, states, deepest = time.monotonic(), 0, 0
    for commands, faults in SAMPLE:
        found = walk(commands, faults)
        assert not found.wrong, (found.wrong, *found.way)
        assert found.whole
        states, deepest = states + found.states, max(deepest, found.depth)
    print(f"\n{states} states, {deepest} steps deep, {time.monotonic() - began_s:.0f} s")
    assert states > 10_000


def test_a_torn_slot_makes_no_interruption_of_a_trip() -> None:
    found = walk((RESUME_A,), 1, **TRIPPED_ONCE)
    assert not found.wrong, (found.wrong, *found.way)


@pytest.mark.slow
def test_an_off_of_another_home_whose_stamp_cannot_be_left_does_not_lie() -> None:
    found = walk((RUN_A, OFF_TWO), 1)
    assert not found.wrong, (found.wrong, *found.way)


@pytest.mark.slow
def test_an_off_by_name_never_ends_the_heat_of_another_oven() -> None:
    found = walk((RUN_A, OFF_B), 1)
    assert not found.wrong, (found.wrong, *found.way)


def broken(monkeypatch: pytest.MonkeyPatch, where: Any, name: str, instead: Callable[..., Any]) -> None:
    monkeypatch.setattr(where, name, instead)


def tells(found: Found, what: str) -> None:
    assert what in found.wrong, found
    assert found.way


real = protocol.why_no_heat
# A heat of the first home has tripped: the newer slot of its latch says so.
TRIPPED_ONCE: dict[str, Any] = {
    "latch": ((("whole", 1, "armed"), ("whole", 2, "tripped")), None, None, None),
    "heated": (True, False, False, False),
    "truth": (TRIPPED, CLEAR, CLEAR, CLEAR),
}


def test_a_writer_that_does_not_look_at_the_stamps_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    real_look = protocol.why_go_off
    broken(monkeypatch, protocol, "why_go_off", lambda _off, supervised: real_look(None, supervised))
    tells(walk((RUN_A, OFF), 0), "an off returned 0")


def test_a_stamp_that_is_compared_wrongly_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    broken(monkeypatch, off_stamp, "off_since", lambda *_: None)
    tells(walk((RUN_A, OFF), 0), "an off returned 0")


def test_an_off_that_takes_nobody_answers_for_nobody_is_there_is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def first_code(off: Off) -> Means:
        return Means.STAMP if Means.STAMP not in off.used else Means.DONE

    broken(monkeypatch, off_means, "next_means", first_code)
    monkeypatch.setattr(Off, "good", property(lambda off: True))
    tells(walk((RUN_A, OFF), 0), "an off returned 0 while the relay")


def test_a_latch_whose_armed_slot_speaks_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    real_word = protocol.latch_word

    def word(slots: Any, heated_before: bool) -> LatchWord:
        armed = slots is not None and any(slot.state == "armed" for slot in slots)
        return LatchWord.ARMED if armed else real_word(slots, heated_before)

    broken(monkeypatch, protocol, "latch_word", word)
    tells(walk((RESUME_A,), 0, **TRIPPED_ONCE), "a trip became an interruption")


def test_a_missing_latch_that_counts_as_free_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    real_word = protocol.latch_word
    broken(monkeypatch, protocol, "latch_word", lambda slots, _heated: real_word(slots, False))
    tells(walk((RUN_A,), 1, **TRIPPED_ONCE), "a latch was lost")


def test_a_torn_latch_that_counts_as_free_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    real_word = protocol.latch_word

    def careless(slots: Any, heated: bool) -> LatchWord:
        said = real_word(slots, heated)
        return LatchWord.FREE if said is LatchWord.TORN else said

    broken(monkeypatch, protocol, "latch_word", careless)
    freed_before = ((("whole", 1, "free"), ("whole", 2, "tripped")), None, None, None)
    tells(walk((RUN_A,), 1, **{**TRIPPED_ONCE, "latch": freed_before}), "a latch was lost")


def test_a_device_that_is_held_by_another_is_no_bar_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    broken(monkeypatch, protocol, "why_no_heat", lambda seen: real(replace(seen, held_by="")))
    tells(walk((RUN_A, RUN_A_TWO), 0), "heat without permission")
