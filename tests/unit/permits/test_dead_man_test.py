"""Boards that do not drop the heat by themselves, and what makes them seem to: none may pass."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.permits.dead_man_test import Finding, dead_man
from kilnctl.readings import Quality, Reading, Scan

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
GOOD = Reading(20.0, 0.0)
BAD = Reading.bad(Quality.NO_REPLY, "no reply", 0.0)


class Scripted:
    """Ticks on a board that says at each look whether its output is on, and what its sensor reads.

    `say` is asked with the seconds since the last feed. `stalls` is how long one look may hang.
    """

    why = refused = ""
    taken = True

    def __init__(
        self, say: Callable[[float], tuple[bool | None, Reading]], stalls: dict[int, float] | None = None
    ) -> None:
        self.oven, self.clock = OVEN, VirtualClock()
        self._say, self._stalls, self._looks, self._fed_s = say, stalls or {}, 0, 0.0

    def tick(
        self,
        heat: bool,
        feed: bool = True,
        watched: bool = True,
        every_s: float | None = None,
        again: bool = False,
    ) -> Scan:
        self._looks += 1
        self.clock.advance((every_s or 1.0) + self._stalls.get(self._looks, 0.0))
        on, process = self._say(self.clock.now_s() - self._fed_s)
        if feed:
            self._fed_s = self.clock.now_s()
        return Scan(self.clock.now_s(), process, on)

    def silence(self, for_s: float) -> None:
        self.clock.advance(for_s)


def tried(say: Callable[[float], tuple[bool | None, Reading]], **stalls: dict[int, float]) -> Finding:
    return dead_man(Scripted(say, **stalls))


def test_a_sound_board_passes() -> None:
    found = tried(lambda unfed_s: (unfed_s < 9.0, GOOD))
    assert found.passed
    assert found.value == pytest.approx(9.0, abs=0.3)


def test_one_that_never_drops() -> None:
    assert not tried(lambda _unfed_s: (True, GOOD)).passed


def test_one_that_never_drops_and_is_not_heard_for_a_moment() -> None:
    """The port was lost: when it is opened again the board restarts, which a heat would not see to."""
    found = tried(lambda unfed_s: (True if unfed_s < 4.0 else None if unfed_s < 5.0 else False, GOOD))
    assert not found.passed
    assert "the dead-man is not proved" in found.line


def test_one_whose_output_is_never_heard_after_it_came_on() -> None:
    seen = iter([True] * 4)
    assert not tried(lambda _unfed_s: (next(seen, None), GOOD)).passed


@pytest.mark.parametrize("look", [7, 20])
def test_one_that_drops_late_while_the_program_hangs(look: int) -> None:
    """Soon after the last feed, and when the output has been seen on for a while: nobody saw when it fell."""
    found = tried(lambda unfed_s: (unfed_s < 20.0, GOOD), stalls={look: 30.0})
    assert not found.passed


def test_one_that_readings_keep_on_and_that_does_not_come_on_again() -> None:
    """Off after the silence proves a dead-man only for what was on before it."""
    looks: list[float] = []

    def say(unfed_s: float) -> tuple[bool | None, Reading]:
        looks.append(unfed_s)
        return max(looks) <= 12.2 and len(looks) < 66, GOOD

    assert not tried(say).passed


def test_one_that_drops_as_a_reading_fails() -> None:
    assert not tried(lambda unfed_s: (True, GOOD) if unfed_s < 3.0 else (True, BAD)).passed


def test_one_that_drops_sooner_than_it_is_fed_though_a_hurried_look_saw_it_on() -> None:
    """On a busy machine a look follows closely on a late tick and sees a board on that holds for 0.7 s."""
    found = tried(lambda unfed_s: (unfed_s < 0.7 or unfed_s == pytest.approx(1.0), GOOD))
    assert not found.passed
    assert "sooner than it is fed" in found.line


def test_one_that_nobody_looked_at_is_not_called_too_quick() -> None:
    """It is tried anew; where the machine stays so busy, that is said."""
    found = tried(lambda unfed_s: (unfed_s < 2.0, GOOD), stalls={5: 3.0})
    assert found.passed
    assert found.value == pytest.approx(2.0, abs=0.3)
    found = tried(lambda unfed_s: (unfed_s < 2.0, GOOD), stalls=dict.fromkeys(range(5, 200, 6), 3.0))
    assert not found.passed
    assert "too busy; do it again" in found.line


def test_one_that_drops_in_a_tick_that_came_late_is_tried_anew() -> None:
    """Its time ran out in the stall, before anything was tested: it "did not come on"."""
    fed_late = [0.0]

    def say(unfed_s: float) -> tuple[bool | None, Reading]:
        fed_late[0] = max(fed_late[0], 4.0) if unfed_s > 3.5 else max(0.0, fed_late[0] - 1.0)
        return unfed_s < 3.0 and fed_late[0] == 0.0, GOOD

    found = tried(say, stalls={4: 3.0})
    assert found.passed, found.line
    assert found.value == pytest.approx(3.0, abs=0.3)


def now_and_then(missed: set[int], holds_s: float) -> Callable[[float], tuple[bool | None, Reading]]:
    """A board of which some looks are missed, each for itself; what was missed is switched off, as by off."""
    looks, off = 0, False

    def say(unfed_s: float) -> tuple[bool | None, Reading]:
        nonlocal looks, off
        looks += 1
        if looks in missed:
            off = True
            return None, BAD
        off = off and unfed_s > 1.0  # switched on again
        return not off and unfed_s < holds_s, GOOD

    return say


@pytest.mark.parametrize("missed", [{4}, {6}, {20}, {20, 60}, {4, 30}])
def test_one_missed_look_is_asked_for_again_and_proves_nothing(missed: set[int]) -> None:
    """It failed the whole test, or was taken for a restart of the board."""
    found = tried(now_and_then(missed, holds_s=5.0))
    assert found.passed, found.line
    assert not found.any_traffic
    assert found.value == pytest.approx(5.0, abs=0.3)


@pytest.mark.parametrize("missed", [{4}, {20}, {20, 60}, set(range(20, 400, 17))])
def test_a_board_without_a_dead_man_never_passes_by_missed_looks(missed: set[int]) -> None:
    assert not tried(now_and_then(missed, holds_s=1e9)).passed


@pytest.mark.parametrize("late_s", [2.0, 30.0])
def test_a_silence_longer_than_is_said_is_no_proof(late_s: float) -> None:
    """A board that any reading keeps on and that holds for longer than the silence that was asked for."""
    board = Scripted(lambda unfed_s: (True, GOOD))
    heard_s, quiet_s = 0.0, 10.6

    def silence(for_s: float) -> None:
        nonlocal heard_s
        board.clock.advance(for_s + late_s)
        heard_s = for_s + late_s

    board.silence = silence  # type: ignore[method-assign]
    board._say = lambda unfed_s: (heard_s < quiet_s, GOOD)
    assert not dead_man(board).passed


def test_a_sensor_that_gives_no_reading_is_named_and_not_the_output() -> None:
    """Words in the other order: the reading was absurd, nothing was heated, and the output was blamed."""
    found = tried(lambda _unfed_s: (False, Reading.bad(Quality.OUT_OF_RANGE, "-3.9e33 C: out of range", 0.0)))
    assert not found.passed
    assert "no reading: -3.9e33 C: out of range" in found.line
    assert "cold check" in found.line


@pytest.mark.parametrize(("live", "told"), [(False, True), (True, False), (None, False)])
def test_a_register_that_can_be_written_and_does_nothing_is_named_too(live: bool | None, told: bool) -> None:
    """It keeps what is written for ever: that looks like a missing dead-man."""

    board = Scripted(lambda _unfed_s: (True, GOOD))
    look = board.tick
    board.tick = lambda *args, **how: replace(look(*args, **how), heater_live=live)  # type: ignore[method-assign]
    found = dead_man(board)
    assert "NO dead-man" in found.line
    assert ("is not the place that heats" in found.line) is told
