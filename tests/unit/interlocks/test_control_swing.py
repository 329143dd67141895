import math

from kilnctl.interlocks.control_swing import ControlSwing


def swing(amplitude_k, period_s=300.0):
    return lambda s: {"process_c": 500.0 + amplitude_k * math.sin(2 * math.pi * s / period_s)}


def test_growing_swings_stop_before_the_plan_is_passed(make, let_watch):
    growing = lambda s: {"process_c": 500.0 + 0.015 * s * math.sin(2 * math.pi * s / 300.0)}  # noqa: E731
    trip = let_watch(make(ControlSwing), 3600, growing)
    assert 0.015 * trip.at_s < 20.0


def test_swings_of_7_k_and_a_single_overshoot_are_near_misses(make, let_watch):
    assert let_watch(make(ControlSwing), 36000, swing(7.0)) is None
    settling = lambda s: {"process_c": 500.0 + 20.0 * math.exp(-s / 200.0) * math.cos(s / 100.0)}  # noqa: E731
    assert let_watch(make(ControlSwing), 3600, settling) is None


def test_a_ramp_is_not_judged(make, let_watch):
    ramp = lambda s: swing(30.0)(s) | {"segment_kind": "ramp"}  # noqa: E731
    assert let_watch(make(ControlSwing), 3600, ramp) is None


def test_scatter_of_the_readings_is_no_swing(make, let_watch):
    """A loose terminal, 10 K up and down from second to second; what it is, another interlock says."""
    scatter = lambda s: {"process_c": 500.0 + (10.0 if s % 2 else -10.0)}  # noqa: E731
    assert let_watch(make(ControlSwing), 60, scatter) is None
