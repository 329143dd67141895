"""A current that is let up and down slowly, in a window shorter than its way: a duty is its slope, no size.

Up in 13 s and down in 3 it stays where it is at a duty of 13/16, runs to full above that and to nothing below
(own arithmetic). A PI that takes duty for heat swings for ever then, whatever its gain. Glowing ovens,
textbook plants with T^4 losses of their own; nothing here is taken from the model.
"""

from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.first_heat import FirstHeat
from kilnctl.control.time_proportioning import SwitchState, advance_switch, times_of

OVEN = load_oven(Path("profiles/ovens/hardening-furnace.toml"))
GOAL_C, OVER_K, SETTLED_K, LAST_S = 829.0, 5.0, 2.5, 1800


class Glowing:
    """Full heat lifts by `gain` K/s a store that glows and a wall that drinks; two lags, a slow current."""

    def __init__(self, gain, full_c, lags_s, up_s, down_s):
        self.gain, self.up_s, self.down_s = gain, up_s, down_s
        # At full heat it would come to rest at `full_c`.
        self.glow = gain / ((full_c + 273.0) ** 4 - 293.0**4)
        self.store_c = self.wall_c = 20.0
        self.lags_s, self.seen_c, self.lets = lags_s, [20.0] * len(lags_s), 0.0

    def step(self, on):
        wanted = float(on)
        self.lets = max(min(wanted, self.lets + 1.0 / self.up_s), self.lets - 1.0 / self.down_s)
        drinks = (self.store_c - self.wall_c) / 900.0
        self.wall_c += drinks * 0.7
        glows = self.glow * ((self.store_c + 273.0) ** 4 - 293.0**4)
        self.store_c += self.gain * self.lets - glows - drinks
        before_c = self.store_c
        for i, lag_s in enumerate(self.lags_s):
            self.seen_c[i] += (before_c - self.seen_c[i]) / lag_s
            before_c = self.seen_c[i]

    @property
    def reads_c(self):
        return round(self.seen_c[-1] * 4) / 4


def heat(plant, seconds=7200):
    first, times, course, switch, on = FirstHeat(OVEN), times_of(OVEN.switching), [], SwitchState(), False
    for t in range(seconds):
        look = ControlInput(
            at_s=float(t),
            dt_s=1.0,
            process_c=plant.reads_c,
            setpoint_c=GOAL_C,
            goal_c=GOAL_C,
            segment_kind="soak",
            heat_wanted=True,
            preview=lambda s: GOAL_C,
        )
        duty = first.step(look, float(on))
        switch, on = advance_switch(times, switch, duty, 1.0, first.window_s)
        plant.step(on)
        course.append(plant.seen_c[-1])
    return course


def judged(course):
    late_c = course[-LAST_S:]
    return max(course) - GOAL_C, (sum((c - GOAL_C) ** 2 for c in late_c) / LAST_S) ** 0.5


SLOW = [
    (1.5, 950.0, (20.0, 8.0), 13.0, 3.3),
    (1.5, 930.0, (25.0, 5.0), 13.5, 3.3),
    (1.8, 960.0, (18.0, 6.0), 12.0, 3.0),
    (1.2, 950.0, (25.0, 10.0), 14.0, 3.5),
]


@pytest.mark.parametrize("shape", SLOW)
def test_a_slow_current_is_held(shape):
    over_k, settled_k = judged(heat(Glowing(*shape)))
    assert over_k < OVER_K
    assert settled_k < SETTLED_K


@pytest.mark.parametrize("shape", SLOW)
def test_the_same_oven_with_a_quick_current_is_held_as_closely(shape):
    over_k, settled_k = judged(heat(Glowing(*shape[:3], 0.5, 0.5)))
    assert over_k < OVER_K
    assert settled_k < SETTLED_K / 2
