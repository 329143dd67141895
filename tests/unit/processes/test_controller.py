"""What the controller tells each oven of its supervisor, and when it is silent."""

import os
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.link.snapshot import Command
from kilnctl.processes.controller import Controller
from kilnctl.processes.heartbeat import Beat, Listener


class Oven:
    """As much of a hosted oven as the controller's loop knows."""

    def __init__(self) -> None:
        self.runner = SimpleNamespace(supervisor_age_s=0.0)
        self.ticks = True
        self.name, self.busy, self.left = "left", True, False

    def let_go(self) -> None:
        self.left = True

    def ticking(self, _now_s: float) -> bool:
        return self.ticks


class Bench:
    """A controller, both ends of its pipe, and two ovens."""

    def __init__(self) -> None:
        ear, mouth = os.pipe()
        self.ends = (ear, mouth)
        self.listener = Listener(ear, VirtualClock())
        self.controller = Controller(Beat(mouth))
        self.left, self.right = Oven(), Oven()
        ovens: Any = {"left": self.left, "right": self.right}
        self.controller.ovens = ovens
        self.start_s = self.controller.clock.real_s()

    def beat(self, after_s: float) -> None:
        self.controller._beat(self.start_s + after_s)

    def heard(self) -> bool:
        before, self.listener.began = self.listener.began, False
        self.listener.listen(0.0)
        heard, self.listener.began = self.listener.began, before or self.listener.began
        return heard

    def ages_s(self) -> list[float]:
        return [round(oven.runner.supervisor_age_s, 1) for oven in (self.left, self.right)]


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    bench = Bench()
    yield bench
    bench.controller.link.close()
    for end in bench.ends:
        os.close(end)


def test_it_beats_only_while_every_oven_ticks(bench: Bench) -> None:
    bench.beat(0.1)
    assert bench.heard()
    bench.right.ticks = False
    bench.beat(0.2)
    assert not bench.heard()
    bench.right.ticks = True
    bench.beat(0.3)
    assert bench.heard()


def test_a_supervisor_that_listens_is_never_old(bench: Bench) -> None:
    for second in range(60):
        bench.beat(float(second))
        assert bench.heard()
    assert bench.ages_s() == [0.0, 0.0]


def test_one_that_does_not_listen_grows_old_for_every_oven_and_young_again(bench: Bench) -> None:
    for second in range(1, 13):
        bench.beat(float(second))
    assert bench.ages_s() == [11.0, 11.0]  # the beat of the first second lies there since
    assert bench.heard()
    bench.beat(13.0)
    assert bench.ages_s() == [0.0, 0.0]


def test_only_an_oven_without_heat_is_let_go(bench: Bench) -> None:
    bench.right.busy = False
    answer = bench.controller.handle(Command("let go"))
    assert not answer.accepted
    assert "still running: left" in answer.why
    assert not bench.right.left
    assert bench.controller.handle(Command("let go", "right")).accepted
    assert (bench.left.left, bench.right.left) == (False, True)


def test_a_hung_oven_is_no_sign_of_a_dead_supervisor(bench: Bench) -> None:
    bench.right.ticks = False
    for second in range(60):
        bench.beat(float(second))
    assert bench.ages_s() == [0.0, 0.0]
