"""A sound panel that takes 0.2 s for every answer: a drill must neither doubt it nor be killed over it."""

from itertools import pairwise

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.drills import drills
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.processes.supervisor import SILENCE_S
from kilnctl.readings import Reading, Scan

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
ANSWERS_S, LOOKS, OFF_WORDS = 0.21, 5, 5
DROPS_S = 10.0  # without any request: such an instrument counts a reading as a sign of life


class SlowPanel:
    """The I/O of an instrument whose output drops ten seconds after the last request of any kind."""

    why, has_dead_man = "", True

    def __init__(self, clock: VirtualClock) -> None:
        self._clock, self._on, self._asked_s = clock, False, 0.0

    def _ask(self, times: int) -> None:
        for _ in range(times):
            if self._clock.now_s() - self._asked_s > DROPS_S:
                self._on = False
            self._asked_s = self._clock.now_s()
            self._clock.advance(ANSWERS_S)

    def connect(self) -> None:
        self.off()

    def scan(self, at_s: float) -> Scan:
        self._ask(LOOKS)
        return Scan(at_s, Reading(20.0, at_s), self._on)

    def drive(self, request: HeatRequest) -> bool:
        if request.on is not self._on:
            self._ask(4)
        self._on = request.on
        return True

    def feed(self) -> bool:
        return True

    def off(self) -> bool:
        self._ask(OFF_WORDS)
        self._on = False
        return True

    def sound(self, horn: bool, lamp: bool) -> str:
        return ""

    def close(self) -> None:
        self.off()


def test_the_silence_begins_with_the_last_word_on_the_line_not_with_the_tick_before_it() -> None:
    clock = VirtualClock()
    found = drills.run("dead_man", OVEN, SlowPanel(clock), clock)
    assert found.passed, found.line
    assert found.any_traffic


def test_its_supervisor_is_never_without_a_beat_for_three_seconds() -> None:
    clock, beats = VirtualClock(), [0.0]

    def go_on() -> bool:
        beats.append(clock.now_s())
        return True

    drills.run("dead_man", OVEN, SlowPanel(clock), clock, go_on=go_on)
    beats.append(clock.now_s())
    assert max(later - sooner for sooner, later in pairwise(beats)) < SILENCE_S


PANEL = load_oven(bundled("ovens") / "tempering-oven.toml").model_copy(
    update={"output": OVEN.output.model_copy(update={"heater": OVEN.output.heater.model_copy(
        update={"kind": "set-point", "unit": "C", "link_loss": "drops"})})}
)  # fmt: skip


class KeepsItsSetPoint(SlowPanel):
    """In a silence it cuts its output and keeps its set-point; the first word brings its output back."""

    def scan(self, at_s: float) -> Scan:
        live = self._on and self._clock.now_s() - self._asked_s <= DROPS_S
        self._asked_s = self._clock.now_s()
        self._clock.advance(ANSWERS_S * LOOKS)
        return Scan(at_s, Reading(20.0, at_s), self._on, heater_live=live)


def test_an_instrument_that_keeps_its_set_point_is_seen_to_drop_at_the_element() -> None:
    clock = VirtualClock()
    assert PANEL.drops_at_the_element
    found = drills.run("dead_man", PANEL, KeepsItsSetPoint(clock), clock)
    assert found.passed, found.line
    assert found.any_traffic


class MustBeRenewed(KeepsItsSetPoint):
    """Its set-point has to be written again within a time; reading it is no sign of life."""

    def __init__(self, clock: VirtualClock, holds_s: float) -> None:
        super().__init__(clock)
        self._holds_s, self._written_s = holds_s, float("-inf")

    def drive(self, request: HeatRequest) -> bool:
        self._on, self._written_s = request.on, self._clock.now_s()
        return True

    def scan(self, at_s: float) -> Scan:
        live = self._on and self._clock.now_s() - self._written_s <= self._holds_s
        self._clock.advance(ANSWERS_S)
        return Scan(at_s, Reading(20.0, at_s), self._on, heater_live=live)


@pytest.mark.parametrize(("holds_s", "passes"), [(8.0, True), (20.0, False), (float("inf"), False)])
def test_a_set_point_that_must_come_again_is_proved_like_any_dead_man(holds_s: float, passes: bool) -> None:
    clock = VirtualClock()
    heater = PANEL.output.heater.model_copy(update={"holds_s": 8.0})
    oven = PANEL.model_copy(
        update={"dead_man": None, "output": PANEL.output.model_copy(update={"heater": heater})}
    )
    assert oven.has_dead_man
    found = drills.run("dead_man", oven, MustBeRenewed(clock, holds_s), clock)
    assert found.passed is passes, found.line
    assert not found.any_traffic
    if passes:
        assert found.value == pytest.approx(8.0, abs=0.6)
