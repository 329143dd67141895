"""Every limit from both sides: the last value that passes, the first that does not, and when.

The other tests tell stories of the shop; these hold the numbers still. What a distance says is checked too: a
person judges by it how near an oven is to a trip.
"""

import math
import random
import re
from dataclasses import replace

import pytest

from kilnctl.commissioning.independent_limit import TOO_HIGH
from kilnctl.interlocks import INTERLOCKS
from kilnctl.interlocks.alarms import LONGEST_SHELF_S, OFF_DELAY_S, AlarmList, AlarmState
from kilnctl.interlocks.chatter import Chatter
from kilnctl.interlocks.clocks import Stalled, SupervisorMute, Suspended, WallClockStepped
from kilnctl.interlocks.contract import near
from kilnctl.interlocks.control_swing import ControlSwing
from kilnctl.interlocks.crossed_ovens import CrossedOvens
from kilnctl.interlocks.door import DoorOpen
from kilnctl.interlocks.energy_balance import EnergyBalance
from kilnctl.interlocks.heater_dead import HeaterDead, NoProgress, OutputDisobeys
from kilnctl.interlocks.link_lost import ForeignTalk, LinkLost
from kilnctl.interlocks.over_temperature import OverTemperature
from kilnctl.interlocks.sensor_answer import SensorAnswer
from kilnctl.interlocks.sensor_frozen import SensorFrozen
from kilnctl.interlocks.sensor_lost import SensorLost
from kilnctl.interlocks.sensor_moves import SensorMoves, SensorNoise
from kilnctl.interlocks.stuck_on import HeatWithoutDemand, RisingWhileOff
from kilnctl.interlocks.supply import Supply
from kilnctl.interlocks.surroundings import ColdJunction, FanStopped, HotBox, LimitOpen, Smoke
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.interlocks.two_sensors import TwoSensors
from kilnctl.model.oven_model import advance, at_rest, sensor_c
from kilnctl.readings import Alarm, LinkHealth, Neighbour, Priority, Quality, Reaction, Reading, ResetClass

HOUR_S = 3600
NEVER = None


def volts(share):
    return {"supply_v": Reading.of(230.0 * share, 0.0)}


def bad(quality):
    return {"process": Reading(None, 0.0, quality)}


# The own heat is a mean of a minute: a tenth of it after seven ticks of full heat.
def other(rise_k, heat=0.0, **own):
    return {"others": {"left": Neighbour(rise_k, heat)}} | own


# interlock, what it sees, when it speaks (seconds; NEVER: not in an hour)
LIMITS = [
    (OverTemperature, {"process_c": 845.0}, NEVER),
    (OverTemperature, {"process_c": 845.1}, 2),
    (OverTemperature, {"process_c": 1099.9, "run_max_c": None}, NEVER),
    (OverTemperature, {"process_c": 1100.0, "run_max_c": None}, 0),
    (Supply, volts(1.10), NEVER),
    (Supply, volts(1.11), 2),
    (Supply, volts(0.88), NEVER),
    (Supply, volts(0.87), 2),
    (CrossedOvens, other(3.0), NEVER),
    (CrossedOvens, other(3.1), 35),
    (CrossedOvens, other(9.0, 0.02), NEVER),
    (CrossedOvens, other(9.0, 0.019), 35),
    (CrossedOvens, other(9.0, duty_asked=0.099), NEVER),
    (TwoSensors, {"second": Reading.of(508.0, 0.0)}, NEVER),
    (TwoSensors, {"second": Reading.of(508.1, 0.0)}, 29),
    (TwoSensors, {"second": Reading.of(491.9, 0.0)}, 29),
    (TwoSensors, {"process_c": 800.0, "second": Reading.of(812.0, 0.0)}, NEVER),
    (TwoSensors, {"process_c": 800.0, "second": Reading.of(812.1, 0.0)}, 29),
    (TwoSensors, {"second": Reading(None, 0.0, Quality.OPEN)}, 29),
    (LinkLost, {"link": LinkHealth(age_s=3.0)}, NEVER),
    (LinkLost, {"link": LinkHealth(age_s=3.01)}, 0),
    (LinkLost, bad(Quality.NO_REPLY) | {"link": LinkHealth(age_s=0.1)}, 3),
    (LinkLost, {"link": LinkHealth(bad_fraction=20 / 120, answers=120)}, NEVER),
    (LinkLost, {"link": LinkHealth(bad_fraction=21 / 120, answers=120)}, 0),
    (SensorLost, bad(Quality.OPEN), 1),
    (SensorLost, bad(Quality.OUT_OF_RANGE), 2),
    (SensorLost, bad(Quality.NO_REPLY), NEVER),
    (DoorOpen, {"door_open": True}, 29),
    (OutputDisobeys, {"heat_on": False}, 2),
    (HeaterDead, {"heater_live": False}, 4),
    (HeaterDead, {"current_a": Reading.of(0.3, 0.0)}, 4),
    (HeaterDead, {"current_a": Reading.of(0.31, 0.0)}, NEVER),
    (HeaterDead, {"heater_live": False, "door_open": True}, NEVER),
    (HeaterDead, {"heater_live": False, "heat_asked": False}, NEVER),
    (NoProgress, {"process_c": 825.0, "setpoint_c": 830.0}, 715),
    (NoProgress, {"process_c": 825.1, "setpoint_c": 830.0}, NEVER),
    (NoProgress, {"process_c": 700.0, "setpoint_c": 830.0, "duty_asked": 0.979}, NEVER),
    (HeatWithoutDemand, {"heat_asked": False, "heat_on": True}, 1),
    (HotBox, {"enclosure": Reading.of(60.0, 0.0)}, NEVER),
    (HotBox, {"enclosure": Reading.of(60.1, 0.0)}, 0),
    (ColdJunction, {"cold_junction": Reading.of(60.0, 0.0)}, NEVER),
    (ColdJunction, {"cold_junction": Reading.of(60.1, 0.0)}, 0),
    (ColdJunction, {"cold_junction": Reading.of(-10.0, 0.0)}, NEVER),
    (ColdJunction, {"cold_junction": Reading.of(-10.1, 0.0)}, 0),
    (FanStopped, {"fan_on": False}, 9),
    (FanStopped, {"fan_on": False, "door_open": True}, NEVER),
    (FanStopped, {"fan_on": False, "setpoint_c": None}, NEVER),
    (Smoke, {"smoke": True}, 0),
    (LimitOpen, {"limit_open": True}, 0),
    (Suspended, {"suspended_s": 2.0}, NEVER),
    (Suspended, {"suspended_s": 2.1}, 0),
    (Stalled, {"late_s": 2.0}, NEVER),
    (Stalled, {"late_s": 2.01}, 0),
    (Stalled, {"late_s": 2.01, "dt_s": 8.0}, NEVER),
    (Stalled, {"late_s": 4.01, "dt_s": 8.0}, 0),
    (Stalled, {"late_s": 2.01, "real_dt_s": 0.0}, 0),
    (SupervisorMute, {"supervisor_age_s": 10.0}, NEVER),
    (SupervisorMute, {"supervisor_age_s": 10.1}, 0),
    (WallClockStepped, {"wall_step_s": 2.0}, NEVER),
    (WallClockStepped, {"wall_step_s": 2.1}, 0),
    (WallClockStepped, {"wall_step_s": -2.0}, NEVER),
    (WallClockStepped, {"wall_step_s": -2.1}, 0),
    (EnergyBalance, {"unexplained": 0.35, "duty_asked": 0.2}, NEVER),
    (EnergyBalance, {"unexplained": 0.351, "duty_asked": 0.2}, 19),
    (EnergyBalance, {"unexplained": -0.35, "duty_asked": 0.2}, NEVER),
    (EnergyBalance, {"unexplained": -0.351, "duty_asked": 0.2}, 19),
    (EnergyBalance, {"unexplained": 0.9, "door_open": True}, NEVER),
]


@pytest.mark.parametrize(
    ("kind", "seen", "at_s"), LIMITS, ids=[f"{k.kind}-{n}" for n, (k, _, _) in enumerate(LIMITS)]
)
def test_a_limit(make, let_watch, kind, seen, at_s):
    found = let_watch(make(kind), HOUR_S if at_s is None else at_s + 60, seen)
    assert (None if found is None else found.at_s) == at_s


# What must last, and how long (seconds). Ticks of an odd length show a timer that does not begin at nothing.
LASTING = [
    (OverTemperature, {"process_c": 850.0}, 3.0),
    (Supply, volts(1.2), 3.0),
    (TwoSensors, {"second": Reading.of(600.0, 0.0)}, 30.0),
    (DoorOpen, {"door_open": True}, 30.0),
    (HeaterDead, {"heater_live": False}, 5.0),
    (FanStopped, {"fan_on": False}, 10.0),
    (EnergyBalance, {"unexplained": 0.9}, 20.0),
]


@pytest.mark.parametrize(("kind", "seen", "for_s"), LASTING, ids=[row[0].kind for row in LASTING])
def test_time_is_counted_from_nothing(make, let_watch, kind, seen, for_s):
    assert let_watch(make(kind), 0, seen | {"dt_s": for_s}) is not None
    interlock = make(kind)
    assert let_watch(interlock, 0, seen | {"dt_s": for_s - 0.4}) is None
    assert let_watch(interlock, 0, seen | {"dt_s": 0.4}, 1.0) is not None


REFERENCE = "reference check"


def trip_of(let_watch, interlock, seen, seconds=HOUR_S):
    """Return the first trip, passing over alarms."""
    for second in range(seconds):
        found = let_watch(interlock, 0, seen, float(second))
        if found is not None and not isinstance(found, Alarm):
            return found
    return None


@pytest.mark.parametrize(
    ("kind", "seen", "reaction", "reset", "step"),
    [
        (OverTemperature, {"process_c": 900.0}, Reaction.TRIP, ResetClass.B, "limit test"),
        (Supply, volts(1.2), Reaction.TRIP, ResetClass.A, ""),
        (Supply, volts(0.3), Reaction.STOP, ResetClass.A, ""),
        (CrossedOvens, other(9.0), Reaction.TRIP, ResetClass.B, "heater pulse"),
        (TwoSensors, {"second": Reading.of(600.0, 0.0)}, Reaction.TRIP, ResetClass.B, "reference check"),
        (DoorOpen, {"door_open": True}, Reaction.STOP, ResetClass.A, ""),
        (OutputDisobeys, {"heat_on": False}, Reaction.STOP, ResetClass.B, "dead-man test"),
        (HeaterDead, {"heater_live": False}, Reaction.STOP, ResetClass.B, "heater pulse"),
        (NoProgress, {"process_c": 700.0, "setpoint_c": 830.0}, Reaction.STOP, ResetClass.B, "learn"),
        (HotBox, {"enclosure": Reading.of(70.0, 0.0)}, Reaction.TRIP, ResetClass.B, "bus check"),
        (
            ColdJunction,
            {"cold_junction": Reading.of(70.0, 0.0)},
            Reaction.STOP,
            ResetClass.B,
            "reference check",
        ),
        (FanStopped, {"fan_on": False}, Reaction.STOP, ResetClass.B, "learn"),
        (Smoke, {"smoke": True}, Reaction.TRIP, ResetClass.C, ""),
        (LimitOpen, {"limit_open": True}, Reaction.TRIP, ResetClass.B, "limit test"),
        (EnergyBalance, {"unexplained": 0.9}, Reaction.TRIP, ResetClass.C, ""),
        (EnergyBalance, {"unexplained": -0.9}, Reaction.TRIP, ResetClass.B, "heater pulse"),
    ],
)
def test_what_a_trip_asks_for(make, let_watch, kind, seen, reaction, reset, step):
    trip = trip_of(let_watch, make(kind), seen)
    assert (trip.reaction, trip.reset, trip.repeat_step) == (reaction, reset, step)


@pytest.mark.parametrize(("share", "is_trip"), [(1.149, False), (1.151, True), (0.501, False), (0.499, True)])
def test_the_supply_is_told_until_it_trips(make, let_watch, share, is_trip):
    assert (trip_of(let_watch, make(Supply), volts(share), 10) is not None) is is_trip
    alarm = let_watch(make(Supply), 10, volts(1.12))
    assert alarm.priority is Priority.LATER
    assert "high" in alarm.reason
    assert "low" in let_watch(make(Supply), 10, volts(0.8)).reason


def test_the_door_is_told_at_30_s_and_ends_the_run_at_120(make, let_watch):
    interlock = make(DoorOpen)
    assert let_watch(interlock, 60, {"door_open": True}).priority is Priority.URGENT
    assert trip_of(let_watch, make(DoorOpen), {"door_open": True}).at_s == 119.0
    assert interlock.distance().value == 30.0


def test_a_lost_second_sensor_is_an_alarm_only(make, let_watch):
    lost = {"second": Reading(None, 0.0, Quality.OPEN)}
    assert let_watch(make(TwoSensors), 60, lost).priority is Priority.SOON
    assert trip_of(let_watch, make(TwoSensors), lost) is None
    with_gap = {"second": Reading.of(600.0, 0.0)}
    interlock = make(TwoSensors)
    assert let_watch(interlock, 28, with_gap) is None
    assert let_watch(interlock, 5, {"second": Reading.of(500.0, 0.0)}, 29.0) is None
    assert let_watch(interlock, 28, with_gap, 35.0) is None


def test_in_a_ramp_a_minute_of_slope_is_allowed_between_the_two(make, let_watch):
    def ramp(ahead_s):
        return lambda s: {
            "process_c": 100.0 + 0.5 * s,
            "second": Reading.of(100.0 + 0.5 * (s + min(s, ahead_s)), s),
        }

    assert let_watch(make(TwoSensors), 600, ramp(45.0)) is None
    assert let_watch(make(TwoSensors), 600, ramp(90.0)) is not None


@pytest.mark.parametrize(("gap_s", "step_k", "trips"), [(1, 50.0, False), (1, 50.1, True), (2, 50.1, True)])
def test_a_step(make, seen, gap_s, step_k, trips):
    interlock = make(SensorMoves)
    assert interlock.check(seen(0.0)) is None
    assert (interlock.check(seen(float(gap_s), process_c=500.0 + step_k)) is not None) is trips


def test_a_step_over_a_longer_gap_is_judged_as_a_rate(make, seen):
    for gap_s, trips in ((2.5, True), (2.6, False)):
        interlock = make(SensorMoves)
        interlock.check(seen(0.0))
        assert (interlock.check(seen(gap_s, process_c=551.0)) is not None) is trips


@pytest.mark.parametrize(("kind", "way", "limit"), [("fall_k_per_s", -1, 1.0), ("rise_k_per_s", 1, 3.0)])
def test_a_rate_over_ten_seconds(make, let_watch, kind, way, limit):
    def at(rate):
        return lambda s: {"process_c": 500.0 + way * rate * s}

    changed = {"fall_k_per_s": 1.0, "rise_k_per_s": 3.0}
    assert let_watch(make(SensorMoves, **changed), 60, at(0.999 * limit)) is None
    interlock = make(SensorMoves, **changed)
    trip = let_watch(interlock, 60, at(1.001 * limit))
    assert trip.at_s == 10.0
    assert (trip.reset, trip.repeat_step) == (ResetClass.B, "heater pulse")
    assert ("falls" in trip.reason) is (way < 0)
    assert interlock.distance().value == pytest.approx(way * 1.001 * limit)
    assert interlock.distance().limit == limit


def test_after_the_door_two_minutes_are_not_judged(make, let_watch):
    interlock = make(SensorMoves, fall_k_per_s=1.0)
    falling = lambda s: {"process_c": 900.0 - 2.0 * s}  # noqa: E731
    assert let_watch(interlock, 5, lambda s: falling(s) | {"door_open": True}) is None
    assert let_watch(interlock, 300, falling, 6.0).at_s == 125.0


def test_noise_is_judged_by_its_mean_bend(make, let_watch):
    def zigzag(bend_k):
        # up and down by bend/4 around the middle: each second difference is the whole bend
        return lambda s: {"process_c": 500.0 + bend_k / 4 * (1 if s % 2 else -1)}

    assert let_watch(make(SensorNoise), HOUR_S, zigzag(3.19)) is None
    interlock = make(SensorNoise)
    trip = let_watch(interlock, HOUR_S, zigzag(6.4))
    # mean of ten: 6.4 (1 - 0.9^n) passes 3.2 with n = 7; the first bend is seen in the third tick
    assert trip.at_s == 2 + 6 + 19
    assert interlock.distance().value == pytest.approx(6.4 * (1 - 0.9**26) / 1.95)
    assert interlock.distance().limit == pytest.approx(3.2 / 1.95)


def test_a_module_that_measures_seldom_shows_a_slope_as_a_stair_and_no_noise(make, let_watch):
    """Anew every three ticks at 2.4 K/s: second differences of 7.2, -7.2 and 0 K, 4.8 in the mean."""

    def stair(noise_k):
        dice = random.Random(3)
        return lambda s: {"process_c": 20.0 + 2.4 * (s - s % 3) + dice.gauss(0.0, noise_k)}

    assert let_watch(make(SensorNoise), 300, stair(0.0)) is None
    assert let_watch(make(SensorNoise), 300, stair(6.0)) is not None


def test_a_bad_reading_begins_the_bend_anew(make, seen):
    interlock = make(SensorNoise)
    for at_s, value in enumerate((500.0, 500.0)):
        interlock.check(seen(float(at_s), process_c=value))
    interlock.check(seen(2.0, process=Reading(None, 2.0, Quality.OPEN)))
    for at_s, value in ((3.0, 900.0), (4.0, 900.0), (5.0, 900.0)):
        interlock.check(seen(at_s, process_c=value))
    assert interlock.distance().value == 0.0


@pytest.mark.parametrize(("swing_k", "trips"), [(7.9, False), (8.0, True)])
def test_the_fourth_half_swing_stops(make, let_watch, swing_k, trips):
    def square(s):
        return {"process_c": 500.0 + (swing_k if s % 200 < 100 else -swing_k)}

    interlock = make(ControlSwing)
    found = let_watch(interlock, 2000, square)
    assert (None if found is None else (found.at_s, found.reaction)) == (
        (400.0, Reaction.STOP) if trips else None
    )
    assert interlock.distance().value == (4 if trips else 0)


def test_a_door_begins_the_count_of_swings_anew(make, let_watch):
    def square(s):
        return {"process_c": 500.0 + (10.0 if s % 200 < 100 else -10.0), "door_open": s == 350}

    assert let_watch(make(ControlSwing), 2000, square).at_s == 700.0


def test_unexplained_changes_drain_away_at_six_a_minute(make, let_watch):
    def every(period):
        return lambda s: {"heater_live": (s // period) % 2 == 0}

    assert let_watch(make(Chatter), HOUR_S, every(10.0)) is None
    trip = let_watch(make(Chatter), HOUR_S, every(2.0))
    # three changes less what drained between them: the fourth change, at 8 s
    assert (trip.at_s, trip.reset, trip.repeat_step) == (8.0, ResetClass.B, "weld drill")


def test_strangers_on_the_bus(make, let_watch):
    def frames(count):
        return lambda s: {"link": LinkHealth(foreign=0 if s < 10 else count)}

    assert let_watch(make(ForeignTalk), 100, frames(2)) is None
    assert let_watch(make(ForeignTalk), 100, frames(3)).at_s == 10.0
    one_a_minute = lambda s: {"link": LinkHealth(foreign=int(s // 31))}  # noqa: E731
    assert let_watch(make(ForeignTalk), HOUR_S, one_a_minute) is None
    for third_s, trips in ((60, True), (61, False)):
        slow = lambda s, t=third_s: {"link": LinkHealth(foreign=0 if s < 1 else 2 if s < t else 3)}  # noqa: E731
        assert (let_watch(make(ForeignTalk), 100, slow) is not None) is trips
    assert (
        let_watch(make(ForeignTalk), HOUR_S, lambda s: {"link": LinkHealth(foreign=int(s // 20))}) is not None
    )


def test_rising_while_off(make, let_watch):
    off = {"heat_asked": False, "duty_asked": 0.0, "heat_on": False}

    def step(rise_k):
        return lambda s: off | {"process_c": 500.0 if s < 300 else 500.0 + rise_k}

    assert let_watch(make(RisingWhileOff, coast_s=200.0), HOUR_S, step(2.0)) is None
    interlock = make(RisingWhileOff, coast_s=200.0)
    trip = let_watch(interlock, HOUR_S, step(2.1))
    assert (trip.at_s, trip.reset) == (329.0, ResetClass.C)
    assert interlock.distance().value == pytest.approx(2.1)
    interrupted = lambda s: step(9.0)(s) | {"duty_asked": float(s == 290)}  # noqa: E731
    assert let_watch(make(RisingWhileOff, coast_s=200.0), 400, interrupted) is None
    early = lambda s: off | {"process_c": 500.0 if s < 198 else 510.0}  # noqa: E731
    assert let_watch(make(RisingWhileOff, coast_s=200.0), HOUR_S, early) is None
    assert (
        let_watch(
            make(RisingWhileOff, coast_s=200.0), HOUR_S, lambda s: step(9.0)(s) | {"heating_allowed": False}
        )
        is None
    )


def test_a_frozen_count_in_a_ramp_and_in_a_soak(make, let_watch):
    interlock = make(SensorFrozen, same_count_s=120.0)
    frozen = lambda s: {"raw": 7, "dither": interlock.dither}  # noqa: E731
    # the first reading sets the count; after 120 s it asks, and 60 s of nudge, half up and half down, decide
    assert let_watch(interlock, 119, frozen) is None
    assert interlock.dither == 0
    assert let_watch(interlock, 0, frozen, 120.0) is None
    assert interlock.dither == 1
    assert let_watch(interlock, 28, frozen, 121.0) is None
    assert interlock.dither == 1
    assert let_watch(interlock, 0, frozen, 150.0) is None
    assert interlock.dither == -1
    assert let_watch(interlock, 100, frozen, 151.0).at_s == 180.0
    assert interlock.distance().limit == 180.0
    assert interlock.distance().value == 180.0


def test_a_counter_that_stands_for_half_a_minute(make, let_watch):
    assert let_watch(make(SensorFrozen), 100, {"counter": 3}).at_s == 30.0
    stepping = lambda s: {"counter": int(s // 30)}  # noqa: E731
    assert let_watch(make(SensorFrozen), HOUR_S, stepping) is None


def test_the_first_answer(make, let_watch):
    from_40 = {"process_c": 60.0}
    assert let_watch(make(SensorAnswer), HOUR_S, from_40) is not None
    from_41 = {"process_c": 60.1, "setpoint_c": 90.0, "duty_asked": 0.5}
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 60, from_41) is None
    assert (interlock.distance().note, interlock.distance().near) == ("answered", 0.0)
    answering = make(SensorAnswer)
    assert let_watch(answering, 1, lambda s: {"process_c": 20.0 + 11.9 * s}) is None
    assert answering.distance().note == ""
    assert let_watch(answering, 0, {"process_c": 32.0}, 2.0) is None
    assert answering.distance().note == "answered"


def test_a_guessed_model_is_given_more_time_than_a_learned_one(make, let_watch, limits):
    cold = {"process_c": 20.0}
    guessed = let_watch(make(SensorAnswer, learned=False), 600, cold)
    learned = let_watch(make(SensorAnswer, learned=True), 600, cold)
    assert "24 K" in guessed.reason
    assert "10 K" in learned.reason
    assert learned.at_s < guessed.at_s


@pytest.mark.parametrize(("learned", "factor", "floor_k"), [(True, 1.5, 10.0), (False, 12.0, 24.0)])
def test_what_a_slow_answer_is_allowed_to_lag(make, let_watch, limits, learned, factor, floor_k):
    interlock = make(SensorAnswer, learned=learned)
    assert let_watch(interlock, 60, lambda s: {"process_c": 20.0 + s // 15}) is None
    due_k = rise_after(limits, 60) - 20.0
    assert interlock.distance().value == pytest.approx(due_k / (factor * 4.0 + floor_k), rel=1e-3)


def test_a_warm_start_is_judged_only_once_it_has_cooled_and_is_asked_for_much(make, let_watch):
    for seen, trips in (
        ({"process_c": 80.0, "setpoint_c": 120.0}, True),
        ({"process_c": 80.1, "setpoint_c": 200.0}, False),
        ({"process_c": 80.0, "setpoint_c": 119.9, "duty_asked": 0.89}, False),
        ({"process_c": 80.0, "setpoint_c": 119.9, "duty_asked": 1.0}, True),
    ):
        interlock = make(SensorAnswer)
        assert let_watch(interlock, 5, {"process_c": 300.0, "duty_asked": 0.0}) is None
        assert (let_watch(interlock, 1800, seen, 6.0) is not None) is trips, seen


def test_a_warm_start_that_goes_on_rising_is_an_answer_for_as_long_as_it_rises(make, let_watch):
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 240, lambda s: {"process_c": 61.0 + 0.075 * s}) is None
    assert interlock.distance().note == "answered"
    # standing still under full heat it is asked again
    assert let_watch(interlock, 90, {"process_c": 79.0}, 241.0) is None
    assert interlock.distance().note == ""


def test_a_reading_two_kelvin_colder_under_heat_is_wired_the_wrong_way(make, let_watch, limits):
    def falling(by_k):
        return lambda s: {"process_c": 20.0 - (by_k if s else 0.0)}

    backwards = let_watch(make(SensorAnswer), 1800, falling(2.1))
    assert backwards.reason.startswith("2.1 K colder under heat")
    assert "reversed" in backwards.reason
    outside = let_watch(make(SensorAnswer), 1800, falling(1.9))
    assert "reversed" not in outside.reason
    # 6 K are due by then and not yet by the tick before
    assert rise_after(limits, backwards.at_s) > 20.0 + 6.0
    assert rise_after(limits, backwards.at_s - 1.0) <= 20.0 + 6.0


def rise_after(limits, seconds):
    """Return what the sensor of the model reads after seconds of full heat from 20 degC."""
    state = at_rest(20.0)
    for _ in range(round(seconds)):
        state = advance(limits.model, state, 1.0, 20.0, 1.0)
    return sensor_c(state)


def test_after_an_answer_three_silent_ticks_are_borne_and_the_fourth_is_not(make, let_watch):
    mute = lambda s: {} if s < 2 else bad(Quality.BAD_REPLY) | {"link": LinkHealth(age_s=0.1)}  # noqa: E731
    assert let_watch(make(LinkLost), 60, mute).at_s == 5.0


def test_what_an_element_did_before_the_first_look_is_no_change(make, let_watch):
    interlock = make(Chatter)
    assert let_watch(interlock, 0, {"heater_live": True, "heat_asked": False}) is None
    assert interlock.distance().value == 0.0


def test_reasons_carry_the_numbers_that_count(make, let_watch):
    scatter = let_watch(make(SensorNoise), 600, lambda s: {"process_c": 500.0 + 1.95 * (1 if s % 2 else -1)})
    assert "about 3.7 K" in scatter.reason  # the mean of 25 bends, 7.8 K (1 - 0.9^25), by 1.95
    learned = Thresholds(make(SensorMoves), True, 0.5, 2.0, 180.0).shown()
    guessed = Thresholds(make(SensorMoves), False, 0.5, 2.0, 180.0).shown()
    assert not any("only once learned" in line for line in learned)
    assert any("only once learned" in line for line in guessed)


def test_thresholds_are_margins_on_what_the_model_does(oven, limits):
    model = limits.model
    state, rise, fall = at_rest(oven.ambient_c), [], []
    while not rise or (sensor_c(state) < oven.limit_c and rise[-1] >= 0.001):
        before_c, state = sensor_c(state), advance(model, state, 1.0, oven.ambient_c, 10.0)
        rise.append((sensor_c(state) - before_c) / 10.0)
    for _ in range(90):
        before_c, state = sensor_c(state), advance(model, state, 0.0, oven.ambient_c, 10.0)
        fall.append((before_c - sensor_c(state)) / 10.0)
    assert Thresholds.of(oven).fall_k_per_s == pytest.approx(max(3.0 * 2.0 * max(fall), 0.5))
    assert Thresholds.of(oven, model).fall_k_per_s == pytest.approx(max(3.0 * max(fall), 0.5))
    assert Thresholds.of(oven).rise_k_per_s == pytest.approx(max(4.0 * max(rise), 5.0))
    assert Thresholds.of(oven, model).rise_k_per_s == pytest.approx(max(2.0 * max(rise), 2.0))
    assert Thresholds.of(oven).coast_s == 480.0
    assert Thresholds.of(oven, model).coast_s == 180.0
    by_pid = Thresholds.of(oven.model_copy(update={"controller": "pid"}), model)
    assert (by_pid.coast_s, by_pid.remembered_s) == (480.0, 180.0)  # a weld is found as soon
    hidden = oven.model_copy(update={"elements": "muffle"})
    assert (
        Thresholds.of(hidden).coast_s
        == Thresholds.of(oven.model_copy(update={"elements": None})).coast_s
        == 1200.0
    )
    lame = Thresholds.of(oven, replace(model, power=0.01))
    assert (lame.fall_k_per_s, lame.rise_k_per_s) == (0.5, 2.0)


def test_a_learned_coast_is_the_longest_on_the_way_and_of_its_bound(oven, limits):
    """Heated from cold and cut here and there; a coast is over where 2 K are left."""
    slow, longest_s, state = replace(limits.model, sheath_s=600.0), 0.0, at_rest(oven.ambient_c)
    for _ in range(30):
        state = advance(slow, state, 1.0, oven.ambient_c, 10.0)
    course_c, after = [sensor_c(state)], state
    for _ in range(900):
        after = advance(slow, after, 0.0, oven.ambient_c, 1.0)
        course_c.append(sensor_c(after))
    longest_s = float(sum(max(course_c) - c > 2.0 for c in course_c[: course_c.index(max(course_c))]))
    assert Thresholds.of(oven, slow).coast_s >= 1.3 * longest_s > 180.0
    bound = replace(limits.model, bound=slow)
    assert Thresholds.of(oven, bound).coast_s == Thresholds.of(oven, slow).coast_s
    assert Thresholds.of(oven, bound).coast_k == Thresholds.of(oven, slow).coast_k


def test_nearness_is_a_share_within_0_and_1():
    assert [near(-1.0, 2.0), near(1.0, 2.0), near(5.0, 2.0), near(1.0, 0.0)] == [0.0, 0.5, 1.0, 1.0]


SHOWN = [
    (OverTemperature, {"process_c": 815.0}, 815.0, 845.0, 0.5),
    (Supply, volts(1.05), 1.05, 1.15, 1 / 3),
    (Supply, volts(0.0), 0.0, 1.15, 1.0),
    (CrossedOvens, other(1.5), 1.5, 3.0, 0.5),
    (TwoSensors, {"second": Reading.of(504.0, 0.0)}, 4.0, 8.0, 0.5),
    (LinkLost, {"link": LinkHealth(age_s=1.5)}, 1.5, 3.0, 0.5),
    (SensorLost, {}, 0, 3, 0.0),
    (HeatWithoutDemand, {"heat_asked": False, "heat_on": True}, 1, 2, 0.5),
    (OutputDisobeys, {"heat_on": False}, 1, 3, 1 / 3),
    (HeaterDead, {"heater_live": False}, 1.0, 5.0, 0.2),
    (HotBox, {"enclosure": Reading.of(30.0, 0.0)}, 30.0, 60.0, 0.5),
    (ColdJunction, {"cold_junction": Reading.of(30.0, 0.0)}, 30.0, 60.0, 0.5),
    (FanStopped, {"fan_on": False}, 1.0, 10.0, 0.1),
    (Smoke, {"smoke": False}, 0.0, 1.0, 0.0),
    (LimitOpen, {"limit_open": True}, 1.0, 1.0, 1.0),
    (Suspended, {"suspended_s": 1.0}, 1.0, 2.0, 0.5),
    (Stalled, {"late_s": 1.0}, 1.0, 2.0, 0.5),
    (SupervisorMute, {"supervisor_age_s": 5.0}, 5.0, 10.0, 0.5),
    (WallClockStepped, {"wall_step_s": -1.0}, -1.0, 2.0, 0.5),
    (EnergyBalance, {"unexplained": -0.175, "duty_asked": 0.0}, -0.175, 0.35, 0.5),
    (DoorOpen, {"door_open": True}, 1.0, 120.0, 1 / 120),
    (NoProgress, {"process_c": 100.0}, 0.0, 600.0, 0.0),
    (ForeignTalk, {}, 0, 3, 0.0),
    (Chatter, {"heater_live": True}, 0.0, 3.0, 0.0),
    (RisingWhileOff, {}, 0.0, 2.0, 0.0),
    (ControlSwing, {}, 0, 4, 0.0),
    (SensorFrozen, {}, 0.0, 180.0, 0.0),
]


@pytest.mark.parametrize(
    ("kind", "seen", "value", "limit", "closeness"),
    SHOWN,
    ids=[f"{k[0].kind}-{n}" for n, k in enumerate(SHOWN)],
)
def test_the_distance_that_a_person_sees(make, let_watch, kind, seen, value, limit, closeness):
    interlock = make(kind)
    before = interlock.distance()
    assert before.near == 0.0
    assert not before.value
    let_watch(interlock, 0, seen)
    after = interlock.distance()
    assert after.value == pytest.approx(value)
    assert after.limit == pytest.approx(limit)
    assert after.near == pytest.approx(closeness)


def test_what_has_seen_nothing_yet_or_never_will_is_near_to_nothing(oven, bare, limits):
    blind = bare.signal.model_copy(update={"heater_live": None, "door_open": None})
    for fitted in (oven, bare.model_copy(update={"signal": blind})):
        assert {kind(fitted, limits).distance().near for kind in INTERLOCKS} == {0.0}


def test_an_alarm_that_flutters_counts_as_gone_after_a_minute():
    alarm = Alarm("supply", "low", 0.0, Priority.LATER)
    seen = AlarmList().see((alarm,), 0.0).acknowledge(0.0)
    assert seen.see((), OFF_DELAY_S - 0.1).active
    assert not seen.see((), OFF_DELAY_S).active


def test_urgent_before_soon_before_later_and_the_cause_before_what_follows():
    came = [Alarm(str(p), "", 0.0, p) for p in (Priority.LATER, Priority.SOON, Priority.URGENT)]
    alarms = AlarmList().see(tuple(came), 0.0)
    assert [s.kind for s in alarms.shown()] == ["urgent", "soon", "later"]
    again = (
        AlarmList()
        .see((Alarm("b", "", 0.0, Priority.SOON),), 0.0)
        .see((Alarm("a", "", 1.0, Priority.SOON),), 1.0)
    )
    assert [(s.kind, s.first_out) for s in again.shown()] == [("b", True), ("a", False)]


def test_an_alarm_is_shelved_for_an_hour_at_most_and_for_some_time_at_least():
    alarms = AlarmList().see((Alarm("supply", "low", 0.0, Priority.LATER),), 0.0)
    for wrong_s in (0.0, -1.0, LONGEST_SHELF_S + 1.0, math.nan):
        with pytest.raises(ValueError, match="60 min"):
            alarms.shelve("supply", wrong_s, 0.0)
    shelved = alarms.shelve("supply", LONGEST_SHELF_S, 5.0).shown()[0]
    assert (shelved.state, shelved.shelved_until_s) == (AlarmState.SHELVED, LONGEST_SHELF_S + 5.0)


def test_each_heat_is_cut_above_its_own_goal_whatever_the_limit_is(make, let_watch) -> None:
    """What is said of every heat: 218 °C planned, limit 1050 °C."""
    said = float(re.search(r"cut ([\d.]+) K above its own highest goal", TOO_HIGH.format(*range(4)))[1])
    trips = {
        over_k: let_watch(
            make(OverTemperature), 60, {"process_c": 218.0 + over_k, "run_max_c": 218.0, "limit_c": 1050.0}
        )
        for over_k in (said - 1.0, said + 1.0)
    }
    assert [trip is None for trip in trips.values()] == [True, False]
