"""The protocol's own functions walked through exhaustively, and each of its promises seen to break when they do.

The whole, by name: `python -m explorer.explore --size 2 --faults 1` from the folder of the tests.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from explorer.explore import (
    OFF,
    OFF_A,
    OFF_TWO,
    RESET_A,
    RESUME_A,
    RUN_A,
    RUN_A_TWO,
    DRILL_A,
    Found,
    walk,
)

from kilnctl.runtime import off_stamp, protocol
from kilnctl.runtime.protocol import LatchWord, Means, Off, Seen, Slot

SAMPLE: list[tuple[tuple[Any, ...], int]] = [
    ((RUN_A, OFF), 0),
    ((RUN_A, RESUME_A), 1),
    ((RUN_A, RUN_A), 1),
    ((RUN_A, RESET_A), 1),
    ((RUN_A, RUN_A_TWO), 1),
    ((DRILL_A, OFF), 0),
    ((RUN_A, OFF_TWO), 0),
    ((RUN_A, OFF_A), 1),
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


def broken(monkeypatch: pytest.MonkeyPatch, where: Any, name: str, instead: Callable[..., Any]) -> None:
    monkeypatch.setattr(where, name, instead)


def tells(found: Found, what: str) -> None:
    assert what in found.wrong, found
    assert found.way


def test_an_off_that_trusts_one_read_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def trusting(answer: Any) -> dict[str, bool]:
        return {name: True for name in answer["ovens"]}

    # Told of an oven whose controller has not obeyed: what is read must count, not that somebody answered.
    broken(monkeypatch, protocol, "told_off", trusting)
    broken(monkeypatch, protocol, "why_no_heat", lambda seen: "" if seen.off else real(seen))
    tells(walk((RUN_A, OFF), 1), "an off returned 0")


real = protocol.why_no_heat


def test_a_writer_that_does_not_look_at_the_stamps_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def blind(seen: Seen) -> str:
        return real(replace(seen, off=None))

    broken(monkeypatch, protocol, "why_no_heat", blind)
    tells(walk((RUN_A, OFF), 0), "an older start switched on after it")


def test_a_stamp_that_is_compared_wrongly_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    broken(monkeypatch, off_stamp, "off_since", lambda *_: None)
    tells(walk((RUN_A, OFF), 0), "an older start switched on after it")


def test_an_off_that_takes_nobody_answers_for_nobody_is_there_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def first_code(off: Off) -> Means:
        return Means.STAMP if Means.STAMP not in off.used else Means.DONE

    broken(monkeypatch, protocol, "next_means", first_code)
    monkeypatch.setattr(Off, "good", property(lambda off: True))
    tells(walk((RUN_A, OFF), 0), "an off returned 0 while the relay")


def test_a_latch_whose_older_slot_speaks_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def oldest(slots: Any) -> Slot:
        return min(slots, key=lambda slot: slot.number)

    real_word = protocol.latch_word

    def word(slots: Any, heated_before: bool) -> LatchWord:
        if slots is None or any(slot.kind != "whole" for slot in slots):
            return real_word(slots, heated_before)
        return LatchWord(oldest(slots).state)

    broken(monkeypatch, protocol, "latch_word", word)
    tells(walk((RUN_A, RESUME_A), 1), "a trip became an interruption")


def test_a_missing_latch_that_counts_as_free_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    real_word = protocol.latch_word
    broken(monkeypatch, protocol, "latch_word", lambda slots, _heated: real_word(slots, False))
    tells(walk((RUN_A, RUN_A), 2), "a latch was lost")


def test_a_torn_latch_that_counts_as_free_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    real_word = protocol.latch_word

    def careless(slots: Any, heated: bool) -> LatchWord:
        said = real_word(slots, heated)
        return LatchWord.FREE if said is LatchWord.TORN else said

    broken(monkeypatch, protocol, "latch_word", careless)
    tells(walk((RUN_A, RUN_A), 2), "a latch was lost")


def test_a_device_that_is_held_by_another_is_no_bar_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    broken(monkeypatch, protocol, "why_no_heat", lambda seen: real(replace(seen, held_by="")))
    tells(walk((RUN_A, RUN_A_TWO), 0), "heat without permission")
