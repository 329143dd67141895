"""The dead-man's self-test before an unattended heat: it renews the step, or refuses the heat."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.permits import step_results
from kilnctl.permits.heated_ticks import Watched
from kilnctl.processes.unattended_trial import STEP, self_test
from kilnctl.rehearsal.virtual_io import VirtualIO
from kilnctl.units import DAY_S
from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven import ovens

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")


def tried(book, go_on=lambda: True, fault="", **board):
    clock = VirtualClock()
    sim = Board(ovens.tempering_oven(3), seed=3, **board)
    sim.schedule([parse_fault(fault)] if fault else [])
    oven_io = VirtualIO(OVEN, sim, clock)
    oven_io.connect()
    try:
        return self_test(book, OVEN, "text", Watched(OVEN, oven_io, clock, go_on)), clock
    finally:
        oven_io.off()
        assert not sim.read("coil", 0)


def test_a_sound_board_renews_the_date_within_fifteen_seconds_of_silence():
    with Logbook(None) as book:
        kept, clock = tried(book)
        done = step_results.results(Reader(book.connection), OVEN.name)[STEP]
    assert kept.value == pytest.approx(10.0, abs=0.5)
    assert clock.now_s() < 16.0
    assert done.expires_utc == pytest.approx(clock.utc().timestamp() + 90 * DAY_S, abs=1.0)


def test_a_board_that_holds_refuses_the_heat_and_leaves_the_step_failed():
    with Logbook(None) as book:
        with pytest.raises(RunRefused, match="failed its self-test"):
            tried(book, dead_man=False)
        assert not step_results.results(Reader(book.connection), OVEN.name)[STEP].passed


def test_a_reading_that_fails_meanwhile_does_not_pass_for_a_board_that_drops():
    """Off is sent for a bad reading: a board that never drops would seem to have dropped by itself."""
    with Logbook(None) as book, pytest.raises(RunRefused, match="a reading failed meanwhile"):
        tried(book, dead_man=False, fault="sensor-open@8s~1s")


@pytest.mark.parametrize("fault", ["replies-silent@8s~1s", "replies-damaged@8s~1s"])
def test_a_board_that_holds_and_is_not_heard_for_a_moment_is_found_in_the_next_try(fault):
    with Logbook(None) as book, pytest.raises(RunRefused, match="NO dead-man"):
        tried(book, dead_man=False, fault=fault)


@pytest.mark.parametrize("fault", ["replies-silent@8s~1s", "replies-damaged@8s~1s"])
def test_a_sound_board_that_is_not_heard_for_a_moment_is_proved_in_the_next_try(fault):
    with Logbook(None) as book:
        kept, _ = tried(book, fault=fault)
    assert kept.value == pytest.approx(10.0, abs=0.5)
    assert "readings go on" in kept.note


def test_off_ends_it_at_once_with_the_heat_off_and_nothing_stored():
    asked = iter([True] * 12 + [False] * 99)
    with Logbook(None) as book:
        with pytest.raises(RunRefused, match="off was asked"):
            tried(book, go_on=lambda: next(asked))
        assert step_results.results(Reader(book.connection), OVEN.name) == {}
