"""A module whose watchdog is armed by a key and whose lamp is a bit of the heater's word, over real bytes."""

import time
from collections.abc import Iterator

import pytest
from foreign.keyed_board import TEXT, Keyed

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.heat_cutter import OFF_BUDGET_S
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import WiredIO, open_oven_io
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.permits import lamp_calls, presence
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.begins_first]
ON = HeatRequest(True, 1.0)


@pytest.fixture(autouse=True)
def in_a_hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody has to count these calls; together they last longer than the board holds without a word."""
    monkeypatch.setattr(lamp_calls, "BETWEEN_S", 0.5)


@pytest.fixture
def board() -> Iterator[Keyed]:
    made = Keyed()
    yield made
    made.close()


@pytest.fixture
def oven(board: Keyed) -> Oven:
    return loads(TEXT.format(board.path), Oven, ConfigError, "keyed.toml")


@pytest.fixture
def oven_io(oven: Oven) -> Iterator[WiredIO]:
    made = open_oven_io(oven, RealClock())
    made.connect()
    made.scan(0.0)
    yield made
    made.close()


def test_a_board_that_stores_what_arms_it_is_waited_for(board: Keyed, oven_io: WiredIO) -> None:
    """Exception 06 says ask again (application protocol 1.1b3, 7); each new beginning would store again."""
    board.store_s = 0.3
    assert oven_io.drive(ON), oven_io.why
    assert (board.stored, board.pins) == (1, 3)


def test_a_board_that_stores_for_long_is_not_made_to_store_again(board: Keyed, oven_io: WiredIO) -> None:
    board.store_s = 1.0
    assert not oven_io.drive(ON)
    time.sleep(1.0)
    assert oven_io.drive(ON), oven_io.why
    assert (board.stored, board.pins) == (1, 3)


def test_an_off_after_a_busy_arming_begins_it_anew(board: Keyed, oven_io: WiredIO) -> None:
    board.store_s = 1.0
    assert not oven_io.drive(ON)
    time.sleep(1.0)
    assert oven_io.off()
    board.store_s = 0.0
    assert oven_io.drive(ON), oven_io.why
    assert board.stored == 2


def test_what_the_board_has_stored_already_is_not_stored_again(board: Keyed) -> None:
    """Each heat wrote it anew, and such a memory bears so many writes only; the key is no setting."""
    text = TEXT.format(board.path).replace("write = 10\n", "write = 10\nstored = true\n")
    oven_io = open_oven_io(loads(text, Oven, ConfigError, "keyed.toml"), RealClock())
    try:
        oven_io.connect()
        for heat in range(3):
            oven_io.scan(float(heat))
            assert oven_io.drive(ON), oven_io.why
            assert oven_io.off()
        assert (board.stored, board.time) == (1, 10)
        assert board.armed or board.tripped, "the key was written"
        board.time = 99  # somebody else has set it
        oven_io.scan(4.0)
        assert oven_io.drive(ON), oven_io.why
        assert (board.stored, board.time) == (2, 10)
    finally:
        oven_io.close()


def test_where_the_stored_number_cannot_be_read_it_is_written(
    board: Keyed, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = TEXT.format(board.path).replace("write = 10\n", "write = 10\nstored = true\n")
    oven_io = open_oven_io(loads(text, Oven, ConfigError, "keyed.toml"), RealClock())
    before = board.answer
    unread = b"\x03\x00\x13"
    monkeypatch.setattr(board, "answer", lambda pdu: b"\x83\x02" if pdu[:3] == unread else before(pdu))
    try:
        oven_io.connect()
        oven_io.scan(0.0)
        assert oven_io.drive(ON), oven_io.why
        assert board.stored == 1
    finally:
        oven_io.close()


def test_a_reading_that_was_busy_once_is_no_bad_one(board: Keyed, oven_io: WiredIO) -> None:
    board.busy_to = 1
    seen = oven_io.scan(1.0)
    assert seen.process.good, seen.process.why
    assert seen.heat_on is False


def test_an_off_that_is_busy_is_tried_on(board: Keyed, oven_io: WiredIO) -> None:
    assert oven_io.drive(ON)
    board.busy_to = 3
    assert oven_io.off()
    assert board.pins == 0


def test_an_off_of_a_board_that_stays_busy_holds_its_time_and_is_not_read(
    board: Keyed, oven_io: WiredIO
) -> None:
    assert oven_io.drive(ON)
    board.busy_to = 10_000
    began_s = time.monotonic()
    assert not oven_io.off()
    assert time.monotonic() - began_s < OFF_BUDGET_S + 1.0
    assert "busy" in oven_io.why
    board.busy_to = 0


def test_an_off_is_taken_after_a_trip_with_the_lamp_lit(board: Keyed, oven_io: WiredIO) -> None:
    """The tripped board takes no word but 0: an off that keeps the lamp's bit is refused for ever."""
    assert oven_io.drive(ON)
    assert oven_io.sound(horn=False, lamp=True) == ""
    board.trip()
    assert oven_io.off(), oven_io.why
    assert board.word == 0


def watched(board: Keyed, oven: Oven, oven_io: WiredIO, tell=lambda _line: None, code="121") -> bool:
    lit = []

    class Looking(RealClock):
        def pause(self, s: float) -> None:
            super().pause(s)
            lit.append(board.lit)

    presence.prove(oven, oven_io, Looking(), lambda _: " ".join(code), code=code, say=tell)
    return any(lit)


def test_a_call_after_a_trip_arms_and_feeds_the_board_and_heats_nothing(
    board: Keyed, oven: Oven, oven_io: WiredIO
) -> None:
    board.trip()
    said: list[str] = []
    assert watched(board, oven, oven_io, said.append)
    assert any("armed" in line for line in said)
    assert not any("slower" in line for line in said)
    assert (board.heated, board.lit) == (0, False)
    time.sleep(1.5)
    board.look()
    assert board.tripped, "nobody feeds it after the call"
    assert oven_io.drive(ON), oven_io.why
    assert board.pins == 3


def test_a_board_that_refuses_after_its_arming_too_is_explained(
    board: Keyed, oven: Oven, oven_io: WiredIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    board.trip()
    before = board._write
    monkeypatch.setattr(board, "_write", lambda register, value: 4 if value else before(register, value))
    with pytest.raises(RunRefused, match="supply off and on"):
        watched(board, oven, oven_io)


def test_a_board_that_cannot_be_read_as_off_is_not_armed_for_a_call(
    board: Keyed, oven: Oven, oven_io: WiredIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    board.trip()
    monkeypatch.setattr(board, "trip", lambda: None)
    board.pins = 1  # welded: what the pins show stays on
    monkeypatch.setattr(board, "_write", lambda register, value: 4 if register == 11 and value else 0)
    with pytest.raises(RunRefused, match="not be read"):
        watched(board, oven, oven_io)
    assert not board.armed


def test_a_board_that_heats_when_it_is_armed_is_switched_off_at_once(
    board: Keyed, oven_io: WiredIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An invented fault: with its key it brings back an output that was never asked for."""
    before = board._write

    def brings_back(register: int, value: int) -> int:
        code = before(register, value)
        board.pins |= int(register == 20)
        return code

    monkeypatch.setattr(board, "_write", brings_back)
    assert not oven_io.arm_for_calls()
    assert board.armed
    assert board.pins == 0


def test_a_timer_relay_behind_a_board_is_not_fed_for_a_call(board: Keyed, oven: Oven) -> None:
    """Feeding closes its contact, which would make a welded relay heat."""
    assert oven.dead_man is not None
    timer = oven.dead_man.model_copy(update={"shown": False})
    oven_io = open_oven_io(oven.model_copy(update={"dead_man": timer}), RealClock())
    try:
        oven_io.connect()
        assert not oven_io.arm_for_calls()
        assert (board.armed, board.number) == (False, 0)
    finally:
        oven_io.close()


@pytest.mark.parametrize("lost", [1, 6])
def test_a_lost_reply_in_a_call_is_no_end(board: Keyed, oven: Oven, oven_io: WiredIO, lost: int) -> None:
    """One is asked about at once; after some the call cannot be counted, and all of it comes again."""
    said: list[str] = []
    count = 0

    class Losing(RealClock):
        def pause(self, s: float) -> None:
            nonlocal count
            super().pause(s)
            count += 1
            board.deaf_to = lost * int(count == 3)

    presence.prove(oven, oven_io, Losing(), lambda _: "121", code="121", say=said.append)
    assert len(said) == 1 + (lost > 1)
    assert all("no reply" in line and "slower" not in line for line in said[1:])
    assert not board.lit


def test_a_lost_reply_to_a_feeding_spoils_no_call(board: Keyed, oven: Oven, oven_io: WiredIO) -> None:
    """The device counted as silent for the rest of the call, and every word after it failed unsent."""
    board.trip()
    said: list[str] = []
    feed = oven_io.feed
    fed = 0

    def feeding() -> bool:
        nonlocal fed
        fed += 1
        board.deaf_to = int(fed == 3)
        return feed()

    oven_io.feed = feeding  # type: ignore[method-assign]
    assert watched(board, oven, oven_io, said.append)
    assert fed > 3
    assert len(said) == 2, said


def test_a_lamp_that_was_lit_by_a_word_without_an_answer_is_put_out(board: Keyed, oven_io: WiredIO) -> None:
    assert oven_io.sound(horn=False, lamp=False) == ""
    board.deaf_to = 1
    assert oven_io.sound(horn=False, lamp=True)
    assert board.lit
    oven_io.scan(1.0)
    assert oven_io.sound(horn=False, lamp=False) == ""
    assert not board.lit


def test_a_call_that_ends_without_answers_puts_the_lamp_out(
    board: Keyed, oven: Oven, oven_io: WiredIO
) -> None:
    """The cable was out for a second of the call: whoever walks by must not see a lamp that means nothing."""
    began_s = time.monotonic()

    class Pulled(RealClock):
        def pause(self, s: float) -> None:
            super().pause(s)
            board.cable_out = 1.0 < time.monotonic() - began_s < 1.6

    def leaves(_: str) -> str:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        presence.prove(oven, oven_io, Pulled(), leaves, code="111")
    assert not board.lit
