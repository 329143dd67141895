"""What a board says by itself: never taken for an answer, never older than what was written."""

import re

from kilnctl.clock import VirtualClock
from kilnctl.devices.bus import OVERHEARD
from kilnctl.devices.languages.unasked import FRESH_S, Unasked

SEEN = re.compile("> (?P<t>[0-9.]+) C")


def talker() -> tuple[Unasked, VirtualClock, list[str | None]]:
    clock, coming = VirtualClock(), []
    return Unasked(">", b"\n", clock), clock, coming


def newest(unasked: Unasked, clock: VirtualClock, coming: list[str | None]) -> str | None:
    found = unasked.newest(SEEN, lambda: coming.pop(0) if coming else None, clock.real_s() + 1.0)
    return found and found["t"]


def test_a_line_that_waited_for_who_knows_how_long_is_no_reading() -> None:
    unasked, clock, coming = talker()
    unasked.take(b"> 20.0 C\n")
    assert newest(unasked, clock, coming) is None
    assert newest(unasked, clock, ["> 21.0 C"]) == "21.0"
    clock.advance(1.0)
    unasked.take(b"> 22.0 C\n> 23.")
    assert newest(unasked, clock, coming) == "22.0"
    unasked.take(b"0 C\n")
    assert newest(unasked, clock, coming) == "23.0"
    clock.advance(FRESH_S + 0.1)
    assert newest(unasked, clock, coming) is None


def test_a_line_of_somebody_else_is_counted() -> None:
    unasked, _, _ = talker()
    assert unasked.take(b"> 20.0 C\nheat OFF\n\n> 21.0 C\n") == 1
    assert unasked.take(b"> 20.0 C\n") == 0


def test_of_more_than_is_kept_between_two_looks_the_first_piece_is_no_line() -> None:
    """A board that said 20 lines a second passed for a stranger once a tick."""
    unasked, clock, coming = talker()
    unasked.take(b"")
    assert unasked.take((b"> 21.0 C\n" * 60)[-OVERHEARD:]) == 0
    assert newest(unasked, clock, coming) == "21.0"


def test_what_was_said_before_a_writing_shows_nothing_of_it() -> None:
    unasked, clock, coming = talker()
    unasked.take(b"")
    unasked.take(b"> 20.0 C\n")
    unasked.written(answered=True)
    assert newest(unasked, clock, coming) is None
    unasked.written(answered=False)
    assert newest(unasked, clock, ["> 20.0 C"]) is None
    assert newest(unasked, clock, ["> 24.0 C"]) == "24.0"


def test_an_answer_among_such_lines_is_found_also_behind_one_that_had_begun() -> None:
    unasked, clock, _ = talker()
    unasked.take(b"> 20.")
    lines: list[str | None] = ["0 C", "> 21.0 C", "done"]
    assert unasked.answer(lambda: lines.pop(0), clock.real_s() + 1.0) == "done"
    assert unasked.answer(lambda: None, clock.real_s() + 1.0) is None
