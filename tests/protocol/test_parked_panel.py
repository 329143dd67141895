"""Heats with moments in which nothing is to heat, on a panel whose mode stands at run meanwhile."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from protocol.parked_panel import WARM_C, Makes, ParkedPanel, file_for
from protocol.real_heat import heat

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.emergency_off import off_all
from kilnctl.errors import ConfigError
from kilnctl.heat.runner import Runner
from kilnctl.link.snapshot import Command
from kilnctl.marks import known_wiring
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.real_bytes, pytest.mark.slow]
SETTLED_S = 1.6  # a tick, an off over two rounds with the wait for a contact, and the panel's own turn
SOAK = {"kind": "soak", "at": "45 C", "time": "3 s", "band": "8 K"}
LOAD = {"kind": "operator", "step": "load", "say": "put it in", "at_most": "5 min"}


MAKES = "any", "write", "point"


@pytest.fixture
def panel(request: pytest.FixtureRequest) -> Iterator[ParkedPanel]:
    made = ParkedPanel(Makes(getattr(request, "param", "point")))
    yield made
    made.close()


class Hands:
    """A person at the oven: for `for_s` at each step, then done. `at_s` when the step was first seen."""

    def __init__(self, panel: ParkedPanel, for_s: float = 4.0, begins: Callable[[], object] = int) -> None:
        self.panel, self.for_s, self.begins = panel, for_s, begins
        self.at_s = self.done_s = 0.0

    def __call__(self, runner: Runner) -> None:
        now_s = time.monotonic()
        if runner.now.elapsed_s > 40.0:
            runner.off("the test takes too long")
        if runner.now.segment_kind != "operator" or self.done_s:
            return
        if not self.at_s:
            self.at_s = now_s
            self.begins()
        if now_s - self.at_s > self.for_s:
            runner.command(Command("answer", "a person", {"reply": "done"}))
            self.done_s = now_s


@pytest.mark.parametrize("panel", [*MAKES, "text"], indirect=True)
def test_nothing_heats_while_hands_are_in_the_oven_and_the_heat_goes_on_after(
    panel: ParkedPanel, tmp_path: Path
) -> None:
    hands = Hands(panel)
    outcome = heat(file_for(panel.makes, panel.line.path), tmp_path, [SOAK, LOAD, SOAK], hands)
    assert outcome.outcome == "complete"
    assert panel.seen.live_s(0.0, hands.at_s) > 1.0
    assert panel.seen.live_s(hands.at_s + SETTLED_S, hands.done_s) == 0.0
    assert panel.seen.live_s(hands.done_s) > 1.0
    assert not panel.live
    assert panel.mode == 0
    assert panel.stood_by == 0


def test_a_contactor_falls_while_hands_are_in_the_oven_of_a_panel_that_is_only_parked(tmp_path: Path) -> None:
    """It has no mode that stops it: what it puts out by itself only the contactor cuts."""
    panel = ParkedPanel(Makes(contactor=True))
    try:
        hands = Hands(panel)
        outcome = heat(file_for(panel.makes, panel.line.path), tmp_path, [SOAK, LOAD, SOAK], hands)
        assert outcome.outcome == "complete"
        assert panel.seen.live_s(0.0, hands.at_s) > 1.0
        assert panel.seen.live_s(hands.at_s + SETTLED_S, hands.done_s) == 0.0
        assert panel.seen.live_s(hands.done_s) > 1.0
        assert not panel.live
    finally:
        panel.close()


def test_a_lost_answer_as_the_step_begins_is_no_time_out_of_the_panels_own(
    panel: ParkedPanel, tmp_path: Path
) -> None:
    """Whether it stood by before it was told to is not heard: it is told a tick later, and nothing trips."""
    hands = Hands(panel, begins=lambda: setattr(panel, "lost_looks", 1))
    outcome = heat(file_for(panel.makes, panel.line.path), tmp_path, [SOAK, LOAD, SOAK], hands)
    assert outcome.outcome == "complete"
    assert panel.lost_looks == 0
    assert panel.seen.live_s(hands.at_s + SETTLED_S + 1.0, hands.done_s) == 0.0
    assert panel.seen.live_s(hands.done_s) > 1.0


@pytest.mark.parametrize("panel", MAKES, indirect=True)
def test_nothing_heats_while_its_door_stands_open_and_the_heat_goes_on_after(
    panel: ParkedPanel, tmp_path: Path
) -> None:
    class Door(Hands):
        def __call__(self, runner: Runner) -> None:
            super().__call__(runner)
            since_s = runner.now.elapsed_s
            self.at_s = self.at_s or (time.monotonic() if since_s >= 2.0 else 0.0)
            self.panel.door = 2.0 <= since_s < 6.0
            self.done_s = self.done_s or (time.monotonic() if since_s >= 6.0 else 0.0)

    door = Door(panel)
    outcome = heat(file_for(panel.makes, panel.line.path), tmp_path, [SOAK, SOAK], door)
    assert outcome.outcome == "complete"
    assert panel.seen.live_s(door.at_s + SETTLED_S, door.done_s) == 0.0
    assert panel.seen.live_s(door.done_s) > 1.0


@pytest.mark.parametrize("way", ["off", "trip"])
def test_an_end_at_a_step_leaves_it_standing_by(panel: ParkedPanel, tmp_path: Path, way: str) -> None:
    ended: list[float] = []

    class Ends(Hands):
        def __call__(self, runner: Runner) -> None:
            super().__call__(runner)
            if self.at_s and time.monotonic() - self.at_s > 2.0 and not ended:
                ended.append(time.monotonic())
                if way == "trip":
                    self.panel.air_c = 230.0
                else:
                    runner.off("by a person")

    text = file_for(panel.makes, panel.line.path)
    outcome = heat(text, tmp_path, [SOAK, LOAD, SOAK], Ends(panel))
    assert outcome.outcome == ("tripped" if way == "trip" else "stopped")
    assert outcome.heat_off
    assert panel.mode == 0
    assert panel.seen.live_s(ended[0] + SETTLED_S) == 0.0
    anew_s, panel.air_c = time.monotonic(), WARM_C
    assert heat(text, tmp_path, [SOAK], Hands(panel)).outcome == "complete"
    assert panel.seen.live_s(anew_s) > 1.0


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("kept", [False, True], ids=["read", "kept"])
def test_an_off_past_the_controller_reads_off_at_once(panel: ParkedPanel, kept: bool) -> None:
    """What is written last is read: a panel that was told to stand by is off with the first round."""
    text = file_for(panel.makes, panel.line.path)
    oven = loads(text, Oven, ConfigError, "parked")
    if kept:
        known_wiring.keep(oven, text)
        found = known_wiring.recall("parked", text)
        assert found is not None
        oven = found
    panel.tables["holding"].update({0: 45, 1: 1})
    said: list[str] = []
    began_s = time.monotonic()
    assert off_all([oven], RealClock(), tell=said.append) == {"parked": True}, said
    took_s = time.monotonic() - began_s
    assert panel.mode == 0
    assert panel.tables["holding"][0] == 0
    assert took_s < 0.35
    assert said == []


def test_a_reading_that_fails_once_is_no_time_out_of_the_panels_own(
    panel: ParkedPanel, tmp_path: Path
) -> None:
    def on_tick(runner: Runner) -> None:
        hands(runner)
        bad = 2.0 <= runner.now.elapsed_s < 2.5
        panel.broken = bad

    hands = Hands(panel)
    outcome = heat(file_for(panel.makes, panel.line.path), tmp_path, [SOAK], on_tick)
    assert outcome.outcome == "complete"
    assert panel.seen.live_s(0.0) > 1.0
