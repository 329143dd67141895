from kilnctl.interlocks.clocks import Stalled, SupervisorMute, Suspended, WallClockStepped
from kilnctl.readings import Alarm, Reaction


def test_a_tick_later_than_two_periods_trips(make, let_watch):
    assert let_watch(make(Stalled), 0, {"late_s": 2.1, "dt_s": 3.1, "real_dt_s": 3.1}) is not None
    assert let_watch(make(Stalled), 60, {"late_s": 1.9, "dt_s": 2.9, "real_dt_s": 2.9}) is None


def test_scaled_time_allows_half_a_real_second(make, let_watch):
    at_60 = {"dt_s": 25.0, "real_dt_s": 25.0 / 60.0}
    assert let_watch(make(Stalled), 0, at_60 | {"late_s": 29.0}) is None
    assert let_watch(make(Stalled), 0, at_60 | {"late_s": 31.0}) is not None


def test_a_sleep_of_the_computer_trips(make, let_watch):
    assert "2400 s" in let_watch(make(Suspended), 0, {"suspended_s": 2400.0}).reason
    assert let_watch(make(Suspended), 0, {"suspended_s": 1.9}) is None


def test_a_stepped_wall_clock_is_told_and_nothing_else(make, let_watch):
    assert isinstance(let_watch(make(WallClockStepped), 0, {"wall_step_s": -3600.0}), Alarm)
    assert let_watch(make(WallClockStepped), 0, {"wall_step_s": 1.0}) is None


def test_a_mute_supervisor_stops_the_run(make, let_watch):
    assert let_watch(make(SupervisorMute), 0, {"supervisor_age_s": 11.0}).reaction is Reaction.STOP
    assert let_watch(make(SupervisorMute), 0, {"supervisor_age_s": 9.0}) is None
