import pytest

from kilnctl.interlocks import nudging
from kilnctl.interlocks.sensor_frozen import SensorFrozen


def test_in_a_ramp_a_count_that_stands_still_trips_within_30_s(make, let_watch):
    # a live sensor changes every two seconds, then not at all; the goal rises by 200 degC/h
    ramp = lambda s: {"raw": min(s, 600.0) // 2, "setpoint_c": 300.0 + s * 200.0 / 3600.0}  # noqa: E731
    trip = let_watch(make(SensorFrozen), 700, ramp)
    assert 600.0 < trip.at_s <= 630.0


def test_in_a_soak_it_asks_for_a_nudge_and_trips_unanswered_within_180_s(make, let_watch):
    interlock = make(SensorFrozen)
    frozen = lambda s: {"raw": 5000, "dither": interlock.dither}  # noqa: E731
    assert let_watch(interlock, 118, frozen) is None
    assert interlock.dither == 0
    assert let_watch(interlock, 3, frozen, 119.0) is None
    assert nudging((interlock,)) is interlock
    assert interlock.dither == 1
    trip = let_watch(interlock, 100, frozen, 123.0)
    assert trip.at_s <= 181.0
    assert "nudge" in trip.reason


def test_without_that_interlock_nothing_is_nudged():
    assert nudging(()) is None


def test_a_nudge_that_is_answered_starts_the_count_anew(make, let_watch):
    interlock = make(SensorFrozen)
    answers = lambda s: {"raw": s // 150, "dither": interlock.dither}  # noqa: E731
    assert let_watch(interlock, 3600, answers) is None


def test_without_a_nudge_a_quiet_oven_is_no_fault(make, let_watch):
    assert let_watch(make(SensorFrozen), 3600, {"raw": 200, "dither": 0}) is None
    assert let_watch(make(SensorFrozen), 3600, {"raw": 200, "dither": 1, "setpoint_c": None}) is None


def test_a_slow_start_of_a_ramp_is_no_fault(make, let_watch):
    # the first half minute of a heavy oven from cold: the goal moves, the count does not yet
    start = lambda s: {"raw": 200 + max(0.0, s - 40.0) // 2, "setpoint_c": 20.0 + s * 200.0 / 3600.0}  # noqa: E731
    assert let_watch(make(SensorFrozen), 600, start) is None


def stands_after(moving_s, setpoint):
    """A count that changes every two seconds, then stands."""
    return lambda s: {"raw": min(s, moving_s) // 2, "setpoint_c": setpoint(s)}


@pytest.mark.parametrize(("moved_k", "trips"), [(1.0, True), (0.999, False), (0.0, False)])
def test_in_a_ramp_the_goal_must_have_moved_by_a_kelvin_since_the_count_did(make, let_watch, moved_k, trips):
    goal = lambda s: 500.0 if s <= 100.0 else 500.0 - moved_k  # noqa: E731
    found = let_watch(make(SensorFrozen), 600, stands_after(100.0, goal))
    assert (found is not None) is trips


def test_a_count_that_stood_before_there_was_a_goal_is_left_to_the_nudge(make, let_watch):
    goal = lambda s: None if s < 200.0 else 300.0 + s / 18.0  # noqa: E731
    interlock = make(SensorFrozen, same_count_s=120.0)
    later = lambda s: stands_after(100.0, goal)(s) | {"dither": interlock.dither}  # noqa: E731
    trip = let_watch(interlock, 600, later)
    assert "nudge" in trip.reason
    # the goal comes at 200 s; 120 s later it is asked for, for 60 s
    assert trip.at_s == pytest.approx(380.0, abs=1.0)


def test_a_module_whose_counter_stands_trips(make, let_watch):
    assert let_watch(make(SensorFrozen), 60, {"counter": 7}) is not None
    assert let_watch(make(SensorFrozen), 600, lambda s: {"counter": int(s // 5)}) is None


def test_a_coarse_count_is_said_to_be_not_detectable(make, let_watch, oven):
    coarse = oven.signal.process.model_copy(update={"resolution_k": 1.0})
    signals = oven.signal.model_copy(update={"process": coarse})
    interlock = make(SensorFrozen, oven.model_copy(update={"signal": signals}))
    assert let_watch(interlock, 1000, {"raw": 500, "dither": 1}) is None
    assert "not detectable" in interlock.distance().note
