from kilnctl.interlocks.over_temperature import OverTemperature
from kilnctl.readings import Reading, ResetClass


def test_the_plan_plus_15_k_trips_after_three_seconds(make, let_watch):
    trip = let_watch(make(OverTemperature), 10, {"process_c": 845.5})
    assert trip is not None
    assert trip.at_s == 2.0  # the third reading above
    assert trip.reset is ResetClass.B
    assert trip.repeat_step == "limit test"
    assert "845.5 °C" in trip.reason


def test_two_seconds_above_or_14_9_k_are_a_near_miss(make, let_watch):
    interlock = make(OverTemperature)
    assert let_watch(interlock, 1, {"process_c": 860.0}) is None
    assert let_watch(interlock, 60, {"process_c": 844.9}, 2.0) is None
    assert 0.9 < interlock.distance().near < 1.0


def test_the_machine_limit_trips_at_once_on_either_sensor(make, let_watch):
    assert let_watch(make(OverTemperature), 0, {"process_c": 1100.0}).at_s == 0.0
    second = Reading.of(1101.0, 0.0)
    assert let_watch(make(OverTemperature), 0, {"process_c": 800.0, "second": second}) is not None
    lost = Reading.of(float("nan"), 0.0)
    assert let_watch(make(OverTemperature), 0, {"process": lost, "second": second}) is not None


def test_an_oven_still_hot_from_the_last_heat_is_no_fault_until_heat_is_asked(make, let_watch):
    hot = {"process_c": 900.0, "heat_asked": False}
    interlock = make(OverTemperature)
    assert let_watch(interlock, 60, hot) is None
    assert let_watch(interlock, 3, hot | {"heat_asked": True}, 61.0) is not None


def test_once_it_has_been_below_the_plan_counts_without_heat_too(make, let_watch):
    interlock = make(OverTemperature)
    assert let_watch(interlock, 1, {"process_c": 800.0, "heat_asked": False}) is None
    assert let_watch(interlock, 5, {"process_c": 850.0, "heat_asked": False}, 2.0) is not None


def test_an_oven_at_its_goal_is_one_margin_away_and_not_near(make, let_watch):
    """830 degC planned, limit 845: a screen that is amber in every soak is soon not looked at any more."""
    interlock = make(OverTemperature)
    for process_c, low, high in (
        (770.0, 0.0, 0.0),
        (830.0, 0.74, 0.76),
        (836.0, 0.82, 0.9),
        (845.0, 0.99, 1.0),
    ):
        let_watch(interlock, 0, {"process_c": process_c})
        assert low <= interlock.distance().near <= high
