from kilnctl.interlocks.sensor_answer import SensorAnswer


def test_a_sensor_outside_a_heated_oven_trips_within_two_minutes(make, let_watch):
    trip = let_watch(make(SensorAnswer), 300, {"process_c": 20.0})
    assert trip.at_s <= 120.0
    assert trip.repeat_step == "heater pulse"


def test_a_reversed_sensor_falls_under_heat_and_trips(make, let_watch):
    trip = let_watch(make(SensorAnswer), 300, lambda s: {"process_c": 20.0 - 0.05 * max(0.0, s - 20.0)})
    assert "reversed" in trip.reason


def test_a_sensor_that_rises_at_a_third_of_the_nameplate_is_believed(make, let_watch):
    assert let_watch(make(SensorAnswer), 900, lambda s: {"process_c": 20.0 + 0.12 * s}) is None


def test_no_heat_no_answer_no_trip(make, let_watch):
    assert let_watch(make(SensorAnswer), 3600, {"process_c": 20.0, "duty_asked": 0.0}) is None


def test_a_hot_start_is_not_judged(make, let_watch):
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 600, {"process_c": 300.0}) is None
    assert interlock.distance().note == "answered"
