"""Full heat that comes back into a coast: it goes by what the first pulse of the same heat gave."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.approach import Approach
from kilnctl.control.control_io import ControlInput
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.foresight import Foresight
from kilnctl.control.second_pulse import SecondPulse
from kilnctl.model.filter import OvenFilter
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import Coasted, at_rest
from kilnctl.model.trust import TRUST

OVEN = load_oven(Path("profiles/ovens/hardening-furnace.toml"))


class LateOven:
    """An integrator behind two equal lags (textbook): 0.3 K for a second of full heat, 60 s each."""

    def __init__(self):
        self.heat_k, self.between_k, self.reads_c = 0.0, 0.0, 20.0

    def step(self, heat):
        before_k = self.between_k
        self.heat_k += 0.3 * heat
        self.between_k += (self.heat_k - self.between_k) / 60.0
        self.reads_c += (before_k - (self.reads_c - 20.0)) / 60.0


def heated(seconds, oven, pulses):
    for _ in range(seconds):
        oven.step(1.0)
        pulses.heat(1.0, 1.0)


def test_what_the_first_pulse_gave_bounds_the_second():
    """Taken back into a coast that has 20 K to go, it is cut so that the oven ends at its goal."""
    oven, goal_c = LateOven(), 218.0
    pulses = SecondPulse(20.0)
    heated(500, oven, pulses)
    for _ in range(60):
        oven.step(0.0)
    rises_k = 170.0 - oven.reads_c
    assert 15.0 < rises_k < 30.0
    assert pulses.first
    assert pulses.room_k(oven.reads_c, goal_c) == pulses.longest_on_s(oven.reads_c, goal_c) == math.inf
    pulses.again(oven.reads_c, rises_k)
    assert not pulses.first
    on_s = 0
    while pulses.room_k(oven.reads_c, goal_c) > 0.0:
        heated(1, oven, pulses)
        pulses.hide(1.0, 120.0, 1.0)
        on_s += 1
    assert 100 < on_s < 300
    assert pulses.longest_on_s(oven.reads_c, goal_c) == 0.0
    ends_c = 20.0 + oven.heat_k
    assert goal_c - 25.0 < ends_c < goal_c + 0.5


def test_heat_that_only_holds_lifts_nothing():
    pulses = SecondPulse(20.0)
    pulses.heat(1.0, 300.0)
    pulses.again(170.0, 0.0)
    for _ in range(600):
        pulses.hide(-0.02, 100.0, 1.0)
    assert pulses.room_k(170.0, 218.0) == pytest.approx(48.0)


def test_a_hold_that_does_not_rise_says_for_how_long():
    pulses = SecondPulse(20.0)
    for second in range(100):
        pulses.sees(200.0 + 0.1 * min(second, 40), 1.0)
    assert 55.0 < pulses.still_s < 65.0
    pulses.again(204.0, 0.0)
    pulses.sees(190.0, 1.0)
    assert pulses.still_s == 0.0


def test_a_hold_that_was_left_short_asks_no_more_than_stays_in_hiding():
    """0.5 K a second, hidden for 151 s: for 15 K that is a fifth of full heat."""
    pulses = SecondPulse(20.0)
    pulses.heat(1.0, 300.0)
    pulses.again(170.0, 0.0)
    assert pulses.most_lift(203.0, 100.0, 218.0) == pytest.approx(15.0 / (0.5 * 151.0))
    assert pulses.most_lift(219.0, 100.0, 218.0) == 0.0


@pytest.mark.parametrize(
    ("surprise", "unknown", "bounded"), [(30.0, 0.2, True), (6.0, 0.2, False), (30.0, -0.2, False)]
)
def test_only_a_model_astonished_by_more_heat_is_bounded_by_the_first_pulse(surprise, unknown, bounded):
    """Muffle, sensor half as slow again: 10 K over. A calm model, or one short of heat, is twice as quick."""
    model = replace(nameplate(OVEN), coasts=(Coasted(150.0, 110.0), Coasted(800.0, 15.0)))
    seen = OvenFilter(model, TRUST)
    seen.step(20.0, 0.0, 20.0, 1.0)
    approach = Approach(OVEN, model, Foresight(OVEN, seen, AfterDoor()))

    def look(at_s, process_c):
        return ControlInput(at_s, 1.0, process_c, 218.0, 218.0, "soak", True, lambda ahead_s: 218.0, False)

    for second in range(400):
        approach.follow("approach", look(second, 20.0), at_rest(20.0), 1.0)
    approach.cut(at_rest(140.0, 20.0))
    for second in range(30):
        approach.see(look(400 + second, 170.0 + 0.1 * second), at_rest(170.0 + 0.1 * second, 20.0), 0.0)
    approach._twins, seen.surprise, seen.unknown = None, surprise, unknown
    late = replace(at_rest(173.0, 20.0), element_c=400.0)
    approach.follow("approach", look(430.0, 173.0), late, 0.0)
    assert approach._pulses is not None
    assert approach._pulses.first is not bounded
    most = approach.most(look(431.0, 205.0), late, 218.0)
    assert most < 0.6 if bounded else most == 1.0
    assert approach.most(look(431.0, 218.0), late, 218.0) == 1.0
    assert (approach._pulses is None) is bounded


def test_a_hold_that_stands_still_below_its_goal_is_bounded_no_more():
    """What leaves the chamber is the model's word: bounded by it, a hold might never arrive."""
    model = replace(nameplate(OVEN), coasts=(Coasted(150.0, 110.0), Coasted(800.0, 15.0)))
    approach = Approach(OVEN, model, Foresight(OVEN, OvenFilter(model, TRUST), AfterDoor()))
    approach._goal_c, approach._pulses = 218.0, SecondPulse(20.0)
    approach._pulses.heat(1.0, 300.0)
    approach._pulses.again(170.0, 0.0)
    state, bounds = at_rest(205.0, 20.0), []
    for second in range(1200):
        seen = ControlInput(second, 1.0, 205.0, 218.0, 218.0, "soak", True, lambda ahead_s: 218.0, False)
        bounds.append(approach.most(seen, state, 218.0))
    assert bounds[0] < 1.0
    assert bounds[-1] == 1.0
