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


def test_a_sensor_that_stands_still_at_first_has_its_own_coast(oven, limits):
    """Behind a muffle nothing rises in ten seconds: once taken for an oven at its height, with no coast."""
    late = replace(
        limits.model, warm_air=1e-6, sees_element=1e-6, sheath_s=400.0, junction_s=60.0, learned=True
    )
    told = Thresholds.of(oven, late)
    assert told.coast_s > 2 * COAST_FLOOR_S
    assert told.coast_k > 60.0


def test_the_count_may_stand_five_times_as_long_as_at_commissioning(oven):
    assert Thresholds.of(oven, None, 60.0).same_count_s == 300.0
    assert Thresholds.of(oven, None, 2.0).same_count_s == 120.0


@pytest.mark.parametrize(("seen", "limit"), [(0.1, 0.35), (0.2, 0.35), (0.4, 0.6), (0.58, 0.75)])
def test_what_the_learning_heat_could_not_explain_is_no_fault_in_a_heat(oven, limits, seen, limit):
    told = Thresholds.of(oven, replace(limits.model, unexplained=seen, learned=True))
    assert told.unexplained == pytest.approx(limit)


def test_a_learned_oven_that_pid_steers_creeps_and_may_coast_as_one_that_is_not_learned(oven, limits):
    """Wall sensor 92 by PID: its first pulse went on rising for longer than any coast of its learning."""
    model = replace(limits.model, learned=True)
    by_pid = oven.model_copy(update={"controller": "pid"})
    assert Thresholds.of(by_pid, model).coast_s >= Thresholds.of(by_pid).coast_s
    assert Thresholds.of(oven, model).coast_s < Thresholds.of(by_pid, model).coast_s
