"""Horn and lamp after a trip, at a board that refuses them since its own watchdog has tripped: real bytes.

The board is a plain script from its sheet; what its pins do is asked of it, not of the program.
"""

import time
from collections.abc import Iterator

import pytest
from foreign.keyed_board import HOLDS_S, TEXT, Keyed

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import WiredIO, open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.heat.telling.annunciator import Calls
from kilnctl.heat.telling.horn_patterns import SILENCE, Attention, attention
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
ON = HeatRequest(True, 1.0)
TICK_S = 0.25
CONSTANT = Attention("trip", horn=True, lamp=True)


@pytest.fixture
def board() -> Iterator[Keyed]:
    made = Keyed()
    yield made
    made.close()


@pytest.fixture
def oven_io(board: Keyed) -> Iterator[WiredIO]:
    made = open_oven_io(loads(TEXT.format(board.path), Oven, ConfigError, "keyed.toml"), RealClock())
    made.connect()
    made.scan(0.0)
    assert made.drive(ON), made.why
    yield made
    made.close()


def ticks(board: Keyed, oven_io: WiredIO, calls: Calls, for_s: float, attends=None, may=True) -> list[bool]:
    """Tick as a heat does that was cut: off, then horn and lamp; return in which ticks the lamp was lit."""
    lit, end_s, tick = [], time.monotonic() + for_s, 0
    while time.monotonic() < end_s:
        oven_io.scan(float(tick))
        off = oven_io.off()
        wanted = attention("trip", tick, acknowledged=False) if attends is None else attends
        calls.sound(wanted, may=may and off)
        time.sleep(TICK_S)
        lit.append(board.lit)
        assert board.pins & 3 == 0, "nothing heats for a call"
        tick += 1
    return lit


def test_the_lamp_of_a_trip_goes_on_calling_after_the_board_has_dropped(
    board: Keyed, oven_io: WiredIO
) -> None:
    calls = Calls(oven_io)
    ticks(board, oven_io, calls, HOLDS_S + 0.5)  # nobody feeds: the watchdog trips in here
    lit = ticks(board, oven_io, calls, 3.0)
    assert sum(lit) >= len(lit) * 0.6, "five of six ticks, but for the first"


def test_a_lamp_that_is_only_kept_on_is_lit_again_too(board: Keyed, oven_io: WiredIO) -> None:
    """It was written once; the board dropped it with all else, and nobody wrote it again."""
    calls = Calls(oven_io)
    ticks(board, oven_io, calls, HOLDS_S + 0.5, CONSTANT)
    assert any(ticks(board, oven_io, calls, 7.0, CONSTANT)[-4:])


def test_nothing_is_armed_where_it_may_not_be(board: Keyed, oven_io: WiredIO) -> None:
    """Heat that comes by itself: what the board holds open may be all that keeps it dead."""
    calls = Calls(oven_io)
    lit = ticks(board, oven_io, calls, HOLDS_S + 2.0, may=False)
    assert not any(lit[-4:])
    assert board.tripped


def test_it_is_fed_no_longer_than_it_calls_and_may(board: Keyed, oven_io: WiredIO) -> None:
    calls = Calls(oven_io)
    ticks(board, oven_io, calls, HOLDS_S + 1.5)
    assert board.armed
    ticks(board, oven_io, calls, HOLDS_S + 0.5, SILENCE)
    board.look()
    assert board.tripped
    ticks(board, oven_io, calls, 1.0)
    assert board.armed
    ticks(board, oven_io, calls, HOLDS_S + 0.5, may=False)
    board.look()
    assert board.tripped


def test_a_board_that_refuses_for_ever_is_armed_a_few_times_only(
    board: Keyed, oven_io: WiredIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each arming stores a number in it."""
    before = board._write
    monkeypatch.setattr(board, "_write", lambda at, value: 4 if at == 11 and value else before(at, value))
    stored = board.stored
    ticks(board, oven_io, Calls(oven_io), HOLDS_S + 4.0)
    assert 1 <= board.stored - stored <= 3


class Zeroed(Keyed):
    """The same module with another watchdog: any number feeds it, and a 0 trips it at once.

    A transistor that is `stuck` conducts until the watchdog's own relay opens.
    """

    stuck = 0

    def _write(self, register: int, value: int) -> int:
        if register == 21:
            self.number, self.fed_s = value, time.monotonic()
            if not value:
                self.trip()
            return 0
        code = super()._write(register, value)
        self.pins |= self.stuck * (not self.tripped)
        return code


@pytest.fixture
def zeroed() -> Iterator[tuple[Zeroed, WiredIO]]:
    board = Zeroed()
    text = TEXT.format(board.path).replace("counts_to = 1000", "zero_drops = true")
    made = open_oven_io(loads(text, Oven, ConfigError, "keyed.toml"), RealClock())
    made.connect()
    made.scan(0.0)
    assert made.drive(ON), made.why
    yield board, made
    made.close()
    board.close()


def test_a_board_that_a_0_drops_goes_on_calling_too(zeroed: tuple[Zeroed, WiredIO]) -> None:
    """Each off of a trip wrote the 0, and what it trips refuses the lamp until it is armed again."""
    board, oven_io = zeroed
    lit = ticks(board, oven_io, Calls(oven_io), 8.0)
    assert sum(lit) >= len(lit) * 0.6, "five of six ticks, but for the first"
    assert board.stored <= 6, "each arming stores a number in it"


def test_a_board_that_a_0_drops_is_dropped_where_its_heater_does_not_read_off(
    zeroed: tuple[Zeroed, WiredIO], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fed for a call it would hold what has stuck: the 0 takes it."""
    board, oven_io = zeroed
    ticks(board, oven_io, Calls(oven_io), 3.0)
    assert board.armed
    board.stuck = 1
    assert not board.tripped
    oven_io.off()
    assert board.tripped
    assert board.pins == 0


def test_the_last_off_drops_what_was_fed_for_a_call(zeroed: tuple[Zeroed, WiredIO]) -> None:
    board, oven_io = zeroed
    ticks(board, oven_io, Calls(oven_io), 3.0)
    oven_io.close()
    assert board.tripped
    assert board.pins == 0
