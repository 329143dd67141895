"""Fifty times kill -9 at a random moment of a run: heat off in five seconds, nothing acknowledged lost.

Every other kill takes supervisor and controller together, so that the board's own dead-man must do it.
About ten minutes: `pytest -m on_demand -s tests/bench/test_kill_campaign.py`.
"""

import contextlib
import os
import random
import signal
import sqlite3
import time

import pytest
from faults.live_heat import LiveHeat, live_heat
from faults.test_process_kill import off_after_s

from kilnctl.logbook.readers import Reader
from kilnctl.marks import latch

pytestmark = [pytest.mark.on_demand, pytest.mark.real_bytes]
KILLS = 50
SEED = 1
PROMISED_S = 5.0
Rows = list[tuple[float, float]]


def rows(live: LiveHeat) -> Rows:
    with Reader(live.home / "logbook.sqlite") as book:
        columns = book.samples(1)
        return list(zip(columns["elapsed_s"].tolist(), columns["process_c"].tolist(), strict=True))


def kill(live: LiveHeat, both: bool) -> None:
    controller, supervisor = live.controller(), live.supervisor()
    if both:
        os.kill(supervisor, signal.SIGSTOP)
    os.kill(controller, signal.SIGKILL)
    if both:
        os.kill(supervisor, signal.SIGKILL)


def one(both: bool, after_s: float) -> float:
    """Heat in a home of its own (the third trip of a day asks for more than a note), kill, judge."""
    with live_heat() as live:
        view = live.heat()
        time.sleep(after_s)
        known = rows(live)
        kill(live, both)
        off_s = off_after_s(live)
        assert off_s < PROMISED_S
        view.communicate(timeout=20)
        assert view.returncode == 4
        assert rows(live)[: len(known)] == known
        with contextlib.closing(sqlite3.connect(live.home / "logbook.sqlite")) as book:
            assert book.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert "INCOMPLETE" in live.say("verify", "1").stdout
        assert latch.read("small") is not None
        return off_s


def test_fifty_kills() -> None:
    draw = random.Random(SEED)
    took = {False: [0.0], True: [0.0]}
    for number in range(KILLS):
        both = number % 2 == 1
        took[both].append(one(both, draw.uniform(0.0, 3.0)))
    print(f"\n{KILLS} kills, seed {SEED}: 0 hot after {PROMISED_S:g} s, 0 rows lost, 0 called complete")
    print(f"  controller killed: heat went on for {max(took[False]):.2f} s at most (supervisor)")
    print(f"  both killed:       heat went on for {max(took[True]):.2f} s at most (dead-man of 1 s)")
