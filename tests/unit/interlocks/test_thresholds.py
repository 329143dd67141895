from dataclasses import replace

import pytest

from kilnctl.interlocks import Thresholds
from kilnctl.interlocks.thresholds import COAST_FLOOR_S, FALL_FLOOR_K_PER_S, RISE_FLOOR_K_PER_S


def test_limits_of_a_learned_oven_are_tighter_and_say_where_they_come_from(oven, limits):
    learned = Thresholds.of(oven, limits.model)
    assert learned.fall_k_per_s == pytest.approx(limits.fall_k_per_s / 2)
    assert learned.rise_k_per_s <= limits.rise_k_per_s
    assert "learned" in learned.shown()[0]
    assert "not learned" in limits.shown()[0]


def test_no_limit_goes_below_its_floor(oven, limits):
    inert = replace(limits.model, power=0.01)
    lame = Thresholds.of(oven, inert)
    assert lame.fall_k_per_s >= FALL_FLOOR_K_PER_S
    assert lame.rise_k_per_s >= RISE_FLOOR_K_PER_S
    assert lame.coast_s >= COAST_FLOOR_S


def test_the_count_may_stand_five_times_as_long_as_at_commissioning(oven):
    assert Thresholds.of(oven, None, 60.0).same_count_s == 300.0
    assert Thresholds.of(oven, None, 2.0).same_count_s == 120.0
