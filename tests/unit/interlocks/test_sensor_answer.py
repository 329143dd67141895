from dataclasses import replace

import pytest

from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.interlocks.sensor_answer import SensorAnswer
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest, holding_duty, sensor_c


def test_a_sensor_outside_a_heated_oven_trips_within_two_minutes(make, let_watch):
    trip = let_watch(make(SensorAnswer), 300, {"process_c": 20.0})
    assert trip.at_s <= 120.0
    assert trip.repeat_step == "heater pulse"


def test_a_reversed_sensor_falls_under_heat_and_trips(make, let_watch):
    trip = let_watch(make(SensorAnswer), 300, lambda s: {"process_c": 20.0 - 0.05 * max(0.0, s - 20.0)})
    assert "reversed" in trip.reason


def test_warm_air_that_gives_its_heat_to_cold_walls_is_not_called_reversed(make, let_watch):
    """A first heat soon after the heater pulse tripped: 32.4 °C fell to 30.1 before its heat was seen."""
    sinks = lambda s: {"process_c": 32.4 - 0.05 * min(s, 46.0) + 0.1 * max(0.0, s - 46.0)}  # noqa: E731
    assert let_watch(make(SensorAnswer), 300, sinks) is None
    falls = lambda s: {"process_c": 32.4 - 0.1 * max(0.0, s - 10.0)}  # noqa: E731
    trip = let_watch(make(SensorAnswer), 300, falls)
    assert "colder" in trip.reason
    assert trip.at_s <= 100.0


def test_a_sensor_that_rises_at_a_third_of_the_nameplate_is_believed(make, let_watch):
    assert let_watch(make(SensorAnswer), 900, lambda s: {"process_c": 20.0 + 0.12 * s}) is None


def test_no_heat_no_answer_no_trip(make, let_watch):
    assert let_watch(make(SensorAnswer), 3600, {"process_c": 20.0, "duty_asked": 0.0}) is None


def test_knocked_out_while_a_part_is_put_in_it_trips_within_three_minutes(make, let_watch):
    # 800 degC, then a reading at the room's: a step in the door's time, with full heat asked after it.
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 600, {"process_c": 800.0, "setpoint_c": 800.0}) is None
    out = {"process_c": 40.0, "setpoint_c": 800.0}
    assert let_watch(interlock, 180, out, 601.0).at_s <= 781.0


def test_a_second_temper_from_cold_and_a_soak_near_the_room_are_near_misses(make, let_watch):
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 600, {"process_c": 218.0, "setpoint_c": 218.0}) is None
    again = lambda s: {"process_c": 45.0 + 0.2 * (s - 601.0), "setpoint_c": 218.0}  # noqa: E731
    assert let_watch(interlock, 600, again, 601.0) is None
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 60, {"process_c": 70.0, "setpoint_c": 75.0}) is None
    soak = {"process_c": 75.0, "setpoint_c": 75.0, "duty_asked": 0.3}
    assert let_watch(interlock, 3600, soak, 61.0) is None


def test_a_low_goal_that_is_reached_slowly_is_a_near_miss(make, let_watch):
    # Full heat to 70 degC, then less and less: 90 degC is 12 K above no reading that was looked at anew.
    slow = lambda s: {  # noqa: E731
        "process_c": min(20.0 + 0.12 * s, 90.0),
        "setpoint_c": 90.0 if s < 480 else 110.0,
        "duty_asked": 1.0 if s < 420 else 0.3,
    }
    assert let_watch(make(SensorAnswer), 3600, slow) is None


def test_a_reading_that_waits_under_full_heat_trips_though_its_set_point_is_near(make, let_watch):
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 60, lambda s: {"process_c": 20.0 + s, "setpoint_c": 85.0}) is None
    assert let_watch(interlock, 300, {"process_c": 60.0, "setpoint_c": 70.0}, 61.0) is not None


def test_a_hot_start_is_not_judged(make, let_watch):
    interlock = make(SensorAnswer)
    assert let_watch(interlock, 600, {"process_c": 300.0}) is None
    assert interlock.distance().note == "answered"


def test_what_a_reading_did_before_any_heat_is_no_answer_to_it(make, let_watch):
    """A sensor shorted at its terminals reads those, 5 K above the room, and stands there."""
    interlock = make(SensorAnswer, learned=False)
    shorted = lambda s: {"process_c": 20.0 if s < 60 else 25.0, "duty_asked": 0.0}  # noqa: E731
    assert let_watch(interlock, 120, shorted) is None
    assert let_watch(interlock, 120, {"process_c": 25.0}, 121.0).at_s <= 241.0


def test_behind_a_muffle_or_where_nobody_has_said_a_first_answer_may_come_later(oven, let_watch):
    outside = {"process_c": 20.0}
    at_s = {}
    for elements in ("open", "muffle", None):
        own = oven.model_copy(update={"elements": elements})
        at_s[elements] = let_watch(SensorAnswer(own, Thresholds.of(own)), 600, outside).at_s
    assert at_s["open"] < at_s["muffle"] == at_s[None] < 300.0


def test_what_was_hot_minutes_ago_is_not_waited_for_as_from_cold(oven, let_watch):
    """Behind a muffle: out of the oven since the part was put in, or in one that stood open for an hour."""
    own = oven.model_copy(update={"elements": "muffle"})
    fallen = {"process_c": 60.0, "setpoint_c": None, "duty_asked": 0.0}
    due_at_s = {}
    for open_s in (100, 3600):
        interlock = SensorAnswer(own, Thresholds.of(own))
        assert let_watch(interlock, 60, {"process_c": 190.0, "setpoint_c": 190.0, "duty_asked": 0.1}) is None
        assert let_watch(interlock, open_s, fallen, 61.0) is None
        shut_s = 61.0 + open_s
        trip = let_watch(interlock, 600, {"process_c": 60.0, "setpoint_c": 205.0}, shut_s)
        due_at_s[open_s] = trip.at_s - shut_s
    assert due_at_s[100] < 120.0 < due_at_s[3600]
    interlock = SensorAnswer(own, Thresholds.of(own))
    assert let_watch(interlock, 60, {"process_c": 190.0, "setpoint_c": 190.0, "duty_asked": 0.1}) is None
    answers = lambda s: {"process_c": 60.0 + 0.1 * (s - 161.0), "setpoint_c": 205.0}  # noqa: E731
    assert let_watch(interlock, 100, fallen, 61.0) is None
    assert let_watch(interlock, 600, answers, 161.0) is None


def warmed(let_watch, interlock, to_c=60.0, goal_c=110.0):
    """From 20 degC: 60 s without an answer, then 0.3 K/s; return the second at which `to_c` is reached."""
    until_s = round(60.0 + (to_c - 20.0) / 0.3)
    rises = lambda s: {"process_c": 20.0 + 0.3 * max(s - 60.0, 0.0), "setpoint_c": goal_c}  # noqa: E731
    assert let_watch(interlock, until_s, rises) is None
    return until_s


def test_a_reading_that_stands_where_this_heat_has_risen_before_trips_by_what_it_took_then(oven, let_watch):
    """12 K took 100 s of full heat from cold. Out at 60 degC it stands, or falls there first."""
    own = oven.model_copy(update={"elements": None})
    for falls_k in (0.0, 12.0):
        interlock = SensorAnswer(own, Thresholds.of(own))
        began_s = warmed(let_watch, interlock, 60.0 + falls_k)
        out = lambda s, b=began_s, k=falls_k: {  # noqa: E731
            "process_c": 60.0 + max(k - 0.4 * (s - b), 0.0) + 0.3 * (s % 2),
            "setpoint_c": 110.0,
            "door_open": False,
        }
        trip = let_watch(interlock, 400, out, began_s + 1.0)
        assert trip.at_s - began_s <= 120.0


def test_where_no_switch_tells_of_the_door_a_quarter_more_heat_is_waited_for(oven, let_watch):
    own = oven.model_copy(update={"elements": None})
    waited = {}
    for door in (False, None):
        interlock = SensorAnswer(own, Thresholds.of(own))
        began_s = warmed(let_watch, interlock)
        out = {"process_c": 60.0, "setpoint_c": 110.0, "door_open": door}
        waited[door] = let_watch(interlock, 400, out, began_s + 1.0).at_s - began_s
    assert waited[None] == pytest.approx(1.25 * waited[False], rel=0.03)


def test_heat_in_pulses_that_brings_nothing_adds_up(oven, let_watch):
    """Between two pulses the heat is off for a coast; one pulse alone is less than the first answer took."""
    own = oven.model_copy(update={"elements": None})
    interlock = SensorAnswer(own, Thresholds.of(own))
    began_s = warmed(let_watch, interlock)
    pulses = lambda s: {  # noqa: E731
        "process_c": 60.0 + 0.3 * (s % 2),
        "setpoint_c": 110.0,
        "duty_asked": float((s - began_s) % 110 < 60),
        "door_open": False,
    }
    assert let_watch(interlock, 600, pulses, began_s + 1.0).at_s - began_s <= 200.0
    rising = lambda s: pulses(s) | {"process_c": 60.0 + 0.02 * (s - began_s)}  # noqa: E731
    interlock = SensorAnswer(own, Thresholds.of(own))
    assert warmed(let_watch, interlock) == began_s
    assert let_watch(interlock, 600, rising, began_s + 1.0) is None


def test_a_warm_learned_oven_that_stays_cold_is_not_waited_for_by_its_heat(make, let_watch):
    """Hot two minutes ago, 60 degC since the step, hardly any heat asked: its walls would have shown."""
    before = {"process_c": 190.0, "setpoint_c": 190.0, "duty_asked": 0.1}
    fallen = {"process_c": 60.0, "setpoint_c": None, "duty_asked": 0.0}
    for k_per_s, at_s in ((0.0, 300.0), (0.03, None)):
        interlock = make(SensorAnswer, learned=True)
        assert let_watch(interlock, 60, before) is None
        assert let_watch(interlock, 60, fallen, 61.0) is None
        after = lambda s, k=k_per_s: {  # noqa: E731
            "process_c": 60.0 + k * (s - 121.0),
            "setpoint_c": 205.0,
            "duty_asked": 0.2,
        }
        trip = let_watch(interlock, 240, after, 121.0)
        assert (trip is None) if at_s is None else (trip.at_s <= at_s and "warm oven" in trip.reason)


def test_a_warm_oven_whose_door_stands_open_is_not_called_cold(make, let_watch):
    """The door has a switch, and seconds of its own."""
    interlock = make(SensorAnswer, learned=True)
    hot = {"process_c": 190.0, "setpoint_c": 190.0, "duty_asked": 0.1, "door_open": False}
    assert let_watch(interlock, 60, hot) is None
    aired = {"process_c": 60.0, "setpoint_c": 205.0, "duty_asked": 0.0, "door_open": True}
    assert let_watch(interlock, 200, aired, 61.0) is None
    assert "warm oven" in let_watch(interlock, 150, aired | {"door_open": False}, 262.0).reason


def test_an_oven_seen_cold_that_reads_hot_before_any_heat_is_judged(oven, let_watch):
    """Out on a warm pipe beside a cold oven whose door nobody sees: 42 K above the room is no hot start."""
    own = oven.model_copy(update={"elements": None})
    interlock = SensorAnswer(own, Thresholds.of(own))
    rises = lambda s: {"process_c": 20.0 + min(s, 42.0), "duty_asked": 0.0, "setpoint_c": None}  # noqa: E731
    assert let_watch(interlock, 120, rises) is None
    trip = let_watch(interlock, 400, {"process_c": 62.0, "setpoint_c": 110.0}, 121.0)
    assert trip.at_s - 121.0 <= 260.0


def test_a_weak_nameplate_is_not_waited_for_longer_than_a_muffle_holds_back(oven, let_watch):
    """Nothing moves for 230 s of full heat, asked second by second by a relay."""
    own = oven.model_copy(update={"elements": None})
    limits = Thresholds.of(own)
    interlock = SensorAnswer(own, replace(limits, model=limits.model.scaled(power=0.3)))
    pulses = lambda s: {  # noqa: E731
        "process_c": 20.0 + 0.4 * (s % 2),
        "setpoint_c": 110.0,
        "duty_asked": float(s % 2),
    }
    assert 400.0 < let_watch(interlock, 900, pulses).at_s <= 480.0


def test_an_oven_that_answered_a_dose_minutes_later_is_given_as_long_again(oven, let_watch):
    """A retort: 70 s of heat lift it by 14 K, of which nothing shows for three minutes; nor later."""
    own = oven.model_copy(update={"elements": None})
    interlock = SensorAnswer(own, Thresholds.of(own))
    dose = lambda s: {  # noqa: E731
        "process_c": 20.0 + 14.0 * min(max(s - 180.0, 0.0) / 300.0, 1.0),
        "setpoint_c": 218.0,
        "duty_asked": float(s < 70.0),
    }
    assert let_watch(interlock, 500, dose) is None
    later = lambda s: {"process_c": 34.0 + 0.3 * (s % 2), "setpoint_c": 218.0}  # noqa: E731
    assert let_watch(interlock, 300, later, 501.0) is None
    assert "has it come out" in let_watch(interlock, 300, later, 801.0).reason


def test_a_dip_that_comes_back_under_heat_is_a_near_miss(oven, let_watch):
    own = oven.model_copy(update={"elements": None})
    interlock = SensorAnswer(own, Thresholds.of(own))
    began_s = warmed(let_watch, interlock)
    dips = lambda s: {  # noqa: E731
        "process_c": 60.0 - 20.0 * min((s - began_s) / 30.0, 1.0) + 0.1 * max(s - began_s - 70.0, 0.0),
        "setpoint_c": 110.0,
    }
    assert let_watch(interlock, 900, dips, began_s + 1.0) is None


def test_little_heat_is_no_reason_to_rise(oven, let_watch):
    interlock = SensorAnswer(oven, Thresholds.of(oven))
    began_s = warmed(let_watch, interlock)
    holds = {"process_c": 60.0, "setpoint_c": 70.0, "duty_asked": 0.15}
    assert let_watch(interlock, 3600, holds, began_s + 1.0) is None


def test_a_sensor_that_goes_out_after_its_first_kelvins_is_not_believed_for_them(oven, let_watch):
    """5 K in the first minute, then nothing: due counts from when it was last warmer."""
    first = lambda s: {"process_c": 20.0 + min(s, 60.0) / 12.0, "setpoint_c": 110.0}  # noqa: E731
    assert let_watch(SensorAnswer(oven, Thresholds.of(oven)), 600, first).at_s <= 60.0 + 120.0


def test_forty_kelvins_before_any_heat_are_no_ovens_where_the_door_is_known_to_be_shut(make, let_watch):
    """Out on a warm place beside a cold oven; a hand on it, or a hot part put in, is a near miss."""

    def rises(most, **door):
        return lambda s: {"process_c": 20.0 + min(s, most), "duty_asked": 0.0, **door}

    assert let_watch(make(SensorAnswer), 600, rises(40.0, door_open=False)).at_s <= 60.0
    assert let_watch(make(SensorAnswer), 600, rises(14.0, door_open=False)) is None
    assert let_watch(make(SensorAnswer), 600, rises(40.0)) is None
    hot_part = lambda s: rises(40.0)(s) | {"door_open": s < 20}  # noqa: E731
    assert let_watch(make(SensorAnswer), 600, hot_part) is None
    pulses = lambda s: rises(40.0, door_open=False)(s) | {"duty_asked": float(s % 7 == 0)}  # noqa: E731
    assert let_watch(make(SensorAnswer), 600, pulses) is None


def test_a_learned_oven_that_is_itself_late_is_waited_for_and_one_that_is_not_is_not(oven, let_watch):
    """A retort: its learned model rises by 2 K in 230 s of full heat, and it was tripped."""
    own = oven.model_copy(update={"elements": None})
    known = Thresholds.of(own).model
    tripped_s = []
    for late in (1.0, 40.0):
        slow = replace(
            known, learned=True, residual_k=0.3, face=known.face * late, element=known.element * late
        )
        interlock = SensorAnswer(own, Thresholds.of(own, slow))
        still = let_watch(interlock, 900, {"process_c": 20.0, "setpoint_c": 218.0})
        tripped_s.append(still.at_s)
    assert tripped_s[0] <= 120.0
    assert 240.0 < tripped_s[1] < 900.0


def test_far_behind_its_goal_little_heat_need_not_add_up_to_ten_minutes(oven, let_watch):
    """284114 of the campaign: 60 °C outside, its goal 110 °C, three tenths to six of full heat for 12 min."""
    own = oven.model_copy(update={"elements": None})
    interlock = SensorAnswer(own, Thresholds.of(own))
    assert let_watch(interlock, 60, lambda s: {"process_c": 20.0 + s, "setpoint_c": 110.0}) is None
    creeps = lambda s, goal_c=110.0: {"process_c": 66.0, "setpoint_c": goal_c, "duty_asked": 0.4}  # noqa: E731
    assert let_watch(interlock, 3600, creeps, 61.0).at_s <= 61.0 + 325.0 / 0.4
    near = SensorAnswer(own, Thresholds.of(own))
    assert let_watch(near, 60, lambda s: {"process_c": 20.0 + s, "setpoint_c": 110.0}) is None
    assert let_watch(near, 1000, lambda s: creeps(s, 100.0), 61.0) is None


def test_little_heat_for_long_that_brings_nothing_adds_up_and_a_slow_rise_is_a_near_miss(make, let_watch):
    """A sensor that hangs outside beside the oven: 60 °C, and a PID that creeps (campaign, seed 257708)."""
    for slope, trips in ((0.0, True), (2.5 / 1500.0, False)):
        interlock = make(SensorAnswer)
        assert let_watch(interlock, 60, lambda s: {"process_c": 20.0 + s, "setpoint_c": 90.0}) is None
        creeps = lambda s, k=slope: {  # noqa: E731
            "process_c": 66.0 + k * (s - 61.0),
            "setpoint_c": 90.0,
            "duty_asked": 0.3,
        }
        trip = let_watch(interlock, 3600, creeps, 61.0)
        assert (trip is not None) is trips, slope
        assert trip is None or trip.at_s <= 2600.0


def dosed(doses, rises, goal_c=218.0):
    """Doses of full heat with pauses, as a first heat gives them, and what the reading has risen by."""
    return lambda s: {
        "process_c": 20.0 + rises(s),
        "setpoint_c": goal_c,
        "duty_asked": float(any(low <= s < high for low, high in doses)),
    }


def test_a_retort_that_has_moved_while_nobody_heated_it_is_waited_for_and_a_sensor_outside_is_not(
    oven, let_watch
):
    """A sound one read 2.0 K more after 267 s of full heat in doses, and 12 K nine minutes after that."""
    own = oven.model_copy(update={"elements": None})
    retort = lambda s: 12.0 * max((s - 280.0) / 650.0, 0.0) ** 1.9  # noqa: E731
    doses = ((1, 68), (190, 256), (405, 537), (760, 900), (1100, 1300))
    watch = lambda of: let_watch(SensorAnswer(own, Thresholds.of(own)), 940, dosed(doses, of))  # noqa: E731
    assert retort(536) == pytest.approx(2.0, abs=0.1)
    assert watch(retort) is None
    for outside in (lambda s: 0.3 * (s % 2), lambda s: 1.5 * min(s / 400.0, 1.0)):
        trip = watch(outside)
        assert "has it come out" in trip.reason
        assert trip.at_s < 905.0  # no more than a third of heat beyond what trips a reading that never moved


def test_in_a_pause_nothing_is_due_that_the_next_heat_cannot_wait_for(oven, let_watch):
    """0.5 K came nine seconds after the dose had ended, 11 K until the next: what came by then counts."""
    own = oven.model_copy(update={"elements": None})
    retort = lambda s: 11.0 * min(max((s - 200.0) / 700.0, 0.0), 1.0) ** 1.8  # noqa: E731
    doses = ((1, 100), (230, 328), (920, 1000))
    watch = lambda of: let_watch(SensorAnswer(own, Thresholds.of(own)), 990, dosed(doses, of, 829.0))  # noqa: E731
    assert watch(retort) is None
    assert watch(lambda s: 0.0).at_s <= 922.0


def test_a_late_learned_oven_whose_sensor_answers_half_as_slowly_again_is_waited_for(oven, let_watch):
    """A retort with a module of whole kelvins: 0 K shown where the model had 3 K, 3 K a minute later."""
    own = oven.model_copy(update={"elements": None})
    known = Thresholds.of(own).model
    slow = replace(known, learned=True, residual_k=0.3, face=known.face * 40.0, element=known.element * 40.0)
    limits = Thresholds.of(own, slow)
    interlock = SensorAnswer(own, limits)
    trip = let_watch(interlock, 1200, {"process_c": 20.0, "setpoint_c": 218.0})
    assert "after heat for 5 K" in trip.reason
    late = lambda s: {"process_c": 20.0 + max(s - trip.at_s + 40.0, 0.0) // 15.0, "setpoint_c": 218.0}  # noqa: E731
    assert let_watch(SensorAnswer(own, limits), 1200, late) is None


def held_warm_c(from_c: float, duty: float, model, seconds: int) -> list[float]:
    """What a sound sensor reads in an oven that stands warm and is held by so much."""
    state, read_c = at_rest(from_c, 20.0), []
    for _ in range(seconds):
        read_c.append(sensor_c(state))
        state = advance(model, state, duty, 20.0, 1.0)
    return read_c


def test_a_warm_oven_held_a_few_kelvins_above_is_no_missing_answer(let_watch):
    """Learned, at 60 °C, asked for 64: it was stopped: "3.8 K warmer after heat for 16 K"."""
    like = load_oven(home.bundled("ovens") / "tempering-oven.toml")
    model = nameplate(like)
    duty = 1.05 * holding_duty(model, 64.0, 20.0)
    read_c = held_warm_c(56.0, duty, model, 3600)
    judge = SensorAnswer(like, Thresholds.of(like, model))
    assert 4.0 < max(read_c) - 56.0 < 12.0
    sound = lambda s: {"process_c": read_c[int(s)], "setpoint_c": 64.0, "duty_asked": duty, "ambient_c": 20.0}  # noqa: E731
    assert let_watch(judge, 3500, sound) is None
    out = {"process_c": 56.0, "setpoint_c": 100.0, "duty_asked": 1.0, "ambient_c": 20.0}
    trip = let_watch(SensorAnswer(like, Thresholds.of(like, model)), 300, out)
    assert trip.at_s <= 150.0


@pytest.mark.parametrize(("elements", "pulse_s"), [("open", 15.0), (None, 60.0)])
def test_waiting_for_a_late_sensor_gives_no_leave_for_more_heat(oven, let_watch, elements, pulse_s):
    """In pauses of ten minutes the model cooled, and the heat went on by half as much."""
    own = oven.model_copy(update={"elements": elements})
    heated_s = {}
    for pause_s in (0.0, 600.0):
        heats = lambda s, p=pause_s: s % (pulse_s + p) < pulse_s  # noqa: E731
        change = lambda s, on=heats: {"process_c": 20.0, "duty_asked": float(on(s))}  # noqa: E731
        trip = let_watch(SensorAnswer(own, Thresholds.of(own)), 20_000, change)
        assert trip is not None
        heated_s[pause_s] = sum(heats(float(s)) for s in range(int(trip.at_s)))
    assert heated_s[600.0] <= 1.1 * heated_s[0.0]
