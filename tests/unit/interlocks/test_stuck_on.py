from kilnctl.interlocks.stuck_on import HeatWithoutDemand, RisingWhileOff
from kilnctl.readings import ResetClass

OFF = {"heat_asked": False, "duty_asked": 0.0, "heat_on": False}


def test_an_output_that_stays_on_trips_in_the_second_tick(make, let_watch):
    trip = let_watch(make(HeatWithoutDemand), 10, OFF | {"heat_on": True})
    assert trip.at_s == 1.0
    assert trip.reset is ResetClass.C


def test_a_live_element_behind_an_output_that_reads_off_trips_too(make, let_watch):
    trip = let_watch(make(HeatWithoutDemand), 10, OFF | {"heater_live": True})
    assert trip.at_s == 1.0
    assert "live" in trip.reason


def test_one_tick_of_overlap_is_a_near_miss(make, let_watch):
    switching = lambda s: OFF | {"heat_on": s % 2 == 0}  # noqa: E731
    assert let_watch(make(HeatWithoutDemand), 100, switching) is None
    assert let_watch(make(HeatWithoutDemand), 100, {"heater_live": True}) is None


def test_a_board_that_makes_the_duty_itself_may_end_its_pulse(make, let_watch, by_duty, oven):
    ending = lambda s: OFF | {"heater_live": s < 15.0}  # noqa: E731
    assert let_watch(make(HeatWithoutDemand, by_duty(oven)), 100, ending) is None
    assert let_watch(make(HeatWithoutDemand, by_duty(oven)), 100, OFF | {"heater_live": True}).at_s == 21.0
    assert let_watch(make(HeatWithoutDemand, by_duty(oven)), 100, OFF | {"heat_on": True}).at_s == 1.0


def test_without_a_contactor_it_says_to_cut_by_hand(make, let_watch, oven):
    bare = oven.model_copy(update={"output": oven.output.model_copy(update={"contactor": None})})
    assert "BY HAND" in let_watch(make(HeatWithoutDemand, bare), 5, OFF | {"heat_on": True}).reason


def test_a_temperature_that_rises_long_after_the_cut_trips(make, let_watch):
    # half a relay: 218 degC creeps up at zero command (HAZARDS H21), 1.5 K a minute
    creeping = lambda s: OFF | {"process_c": 218.0 + 0.025 * s, "setpoint_c": 218.0}  # noqa: E731
    trip = let_watch(make(RisingWhileOff, coast_s=180.0), 600, creeping)
    assert 180.0 < trip.at_s <= 300.0


def test_the_coast_after_a_cut_and_a_slow_fall_do_not(make, let_watch):
    coasting = lambda s: OFF | {"process_c": 218.0 + min(s, 170.0) * 0.05 - max(0.0, s - 170.0) * 0.01}  # noqa: E731
    assert let_watch(make(RisingWhileOff, coast_s=180.0), 3000, coasting) is None


def test_a_door_shut_again_during_an_operator_step_does_not(make, let_watch):
    rising = lambda s: OFF | {"process_c": 500.0 + 0.2 * s, "segment_kind": "operator"}  # noqa: E731
    assert let_watch(make(RisingWhileOff), 1000, rising) is None
    without_goal = lambda s: OFF | {"process_c": 500.0 + 0.2 * s, "setpoint_c": None}  # noqa: E731
    assert let_watch(make(RisingWhileOff), 1000, without_goal) is None


def test_pauses_of_one_tick_hide_no_welded_relay(make, let_watch):
    """Near full heat each pause is a tick long: two of them, and no dead element between them, are enough."""
    pausing = lambda s: OFF | {"heater_live": True} if s % 10 == 9 else {"heater_live": True}  # noqa: E731
    assert let_watch(make(HeatWithoutDemand), 100, pausing).at_s == 19.0


def test_a_contact_that_answers_a_tick_late_is_sound(make, let_watch):
    def late(s: float) -> dict[str, object]:
        return OFF | {"heater_live": True} if s % 10 == 9 else {"heater_live": s % 10 != 0}

    assert let_watch(make(HeatWithoutDemand), 100, late) is None
