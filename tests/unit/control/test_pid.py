"""The wrapper of simple-pid closes the traps of the bare library."""

import math

import pytest

from kilnctl.control.pid import MAX_DT_S, Gains, Pid

GAINS = Gains(0.01, 400.0)


def test_a_stall_is_integrated_as_a_few_seconds_only():
    stalled, short = Pid(), Pid()
    stalled.step(500.0, 490.0, 3600.0, GAINS)
    short.step(500.0, 490.0, MAX_DT_S, GAINS)
    assert stalled.integral == short.integral


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_number_that_is_not_finite_gets_in(bad):
    pid = Pid()
    before = pid.step(500.0, 490.0, 1.0, GAINS)
    with pytest.raises(ValueError, match="finite"):
        pid.step(500.0, bad, 1.0, GAINS)
    after = pid.step(500.0, 490.0, 1.0, GAINS)
    assert before <= after < before + 0.001


def test_feed_forward_is_not_counted_twice():
    pid = Pid()
    for _ in range(2000):
        duty = pid.step(500.0, 480.0, 1.0, GAINS, bias=0.6)
    assert duty == 1.0
    assert pid.integral <= 0.4 + 1e-9


def test_proportional_and_integral_part_stay_inside_the_range():
    pid = Pid()
    for _ in range(5000):
        pid.step(800.0, 700.0, 1.0, GAINS)
    assert pid.integral == 0.0, "the proportional part alone fills the range"


def test_it_leaves_saturation_as_soon_as_the_error_turns():
    pid = Pid()
    for _ in range(5000):
        pid.step(800.0, 700.0, 1.0, GAINS)
    assert pid.step(800.0, 801.0, 1.0, GAINS) < 0.01


def test_hand_over_gives_the_duty_that_flows():
    pid = Pid()
    pid.hand_over(0.3, 2.0, GAINS, bias=0.25)
    assert pid.step(500.0, 498.0, 1.0, GAINS, bias=0.25) == pytest.approx(0.3, abs=1e-4)


def test_hand_over_keeps_a_negative_integral():
    pid = Pid()
    pid.hand_over(0.05, 8.0, GAINS, bias=0.2)
    assert pid.integral == pytest.approx(0.05 - 0.2 - 0.08)


def test_a_change_of_gain_is_bumpless():
    pid = Pid()
    pid.hand_over(0.3, 5.0, GAINS)
    before = pid.step(500.0, 495.0, 1.0, GAINS)
    assert pid.step(500.0, 495.0, 1.0, Gains(0.02, 400.0)) == pytest.approx(before, abs=0.001)


def test_a_frozen_integral_stands_still():
    pid = Pid()
    pid.step(500.0, 495.0, 1.0, GAINS)
    before = pid.integral
    for _ in range(100):
        pid.step(500.0, 450.0, 1.0, GAINS, freeze=True)
    assert pid.integral == before


def test_one_step_of_quantisation_does_not_kick_the_derivative():
    pid = Pid()
    gains = Gains(0.01, 400.0, 60.0)
    pid.hand_over(0.4, 0.0, gains)
    steady = pid.step(500.0, 500.0, 1.0, gains)
    # Unfiltered it would be 0.01 * 60 * 0.25 = 0.15.
    assert abs(pid.step(500.0, 500.25, 1.0, gains) - steady) < 0.03
