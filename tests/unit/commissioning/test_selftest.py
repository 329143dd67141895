"""The dead-man's self-test before an unattended heat: it renews the step, or refuses the heat."""

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.commissioning import results
from kilnctl.commissioning.selftest import STEP, self_test
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.logbook.book import Logbook
from kilnctl.logbook.readers import Reader
from kilnctl.rehearsal.hands import VirtualHands
from kilnctl.runtime.steps import DAY_S
from simulator import ovens
from simulator.board import Board

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")


def tried(book, **board):
    clock = VirtualClock()
    sim = Board(ovens.tempering_oven(3), seed=3, **board)
    try:
        return self_test(book, OVEN, "text", VirtualHands(OVEN, sim, clock), clock), clock
    finally:
        assert not sim.read("coil", 0)


def test_a_sound_board_renews_the_date_within_fifteen_seconds_of_silence():
    with Logbook(None) as book:
        kept, clock = tried(book)
        done = results.results(Reader(book.connection), OVEN.name)[STEP]
    assert kept.value == pytest.approx(10.0, abs=0.5)
    assert clock.now_s() < 16.0
    assert done.expires_utc == pytest.approx(clock.utc().timestamp() + 90 * DAY_S, abs=1.0)


def test_a_board_that_holds_refuses_the_heat_and_leaves_the_step_failed():
    with Logbook(None) as book:
        with pytest.raises(RunRefused, match="failed its self-test"):
            tried(book, dead_man=False)
        assert not results.results(Reader(book.connection), OVEN.name)[STEP].passed
