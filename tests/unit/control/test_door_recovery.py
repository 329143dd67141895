"""After a door: cold air at the sensor is not missing heat; what is missing is what a charge can take."""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.pid_tuning import settled
from kilnctl.model.coast import Outlook
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven_model import advance, holding_duty
from kilnctl.model.trust import Trust
from tests.unit.control.test_heat_controller import look
from tests.unit.control.test_model_path_looks_ahead import MODEL


def blown_on(draught, known_after_s=0, takes_back=False):
    """Let cold air, and nothing else, strike the sensor of a held oven; return the filter a minute later.

    Where no switch tells of the door the air is known for what it is some seconds after it has struck.
    """
    plant, duty = settled(MODEL, 218.0, 20.0), holding_duty(MODEL, 218.0, 20.0)
    kalman = OvenFilter(MODEL, Trust(unknown_sd=0.02, unknown_rate=0.006, draught=draught))
    kalman.start(218.0, 20.0)
    kalman.state = plant
    for t in range(3660):
        again = kalman.take_back() if takes_back and t == 3600 + known_after_s else []
        for read in again:
            kalman.shake(0.0)
            kalman.step(read.process_c, read.heat, 20.0, read.dt_s)
        if 3600 <= t - known_after_s < 3608:
            kalman.shake(0.0)
        cold_k = -100.0 * 0.93 ** max(t - 3608, 0) if t >= 3600 else 0.0
        kalman.step(plant.junction_c, duty, 20.0, 1.0)
        plant = advance(MODEL, plant, duty, 20.0, 1.0, 0.0, cold_k)
    return kalman, plant


def test_cold_air_alone_is_not_taken_for_missing_heat():
    kalman, plant = blown_on(draught=True)
    assert plant.junction_c < 213.0
    assert kalman.unknown > -0.02
    assert kalman.state.face_c > plant.face_c - 1.0
    other, _ = blown_on(draught=False)
    assert other.unknown < -0.03


def test_cold_air_that_no_switch_told_of_is_taken_back():
    """What the first seconds of it taught of face and heat is believed no longer once it is known."""
    late, plant = blown_on(True, known_after_s=12)
    kalman, _ = blown_on(True, known_after_s=12, takes_back=True)
    assert late.unknown < -0.2 < -0.05 < kalman.unknown
    assert late.state.face_c < plant.face_c - 10.0 < plant.face_c - 3.0 < kalman.state.face_c


def test_air_from_a_door_is_no_colder_than_the_room_and_brings_no_heat():
    kalman = OvenFilter(MODEL, Trust(unknown_sd=0.02, unknown_rate=0.006, draught=True))
    kalman.start(218.0, 20.0)
    kalman.state, lowest_k, highest_k = settled(MODEL, 218.0, 20.0), 0.0, 0.0
    for t in range(90):
        kalman.shake(0.0)
        kalman.step(218.0 - min(t, 30) if t < 45 else 260.0, 0.1, 20.0, 1.0)
        lowest_k, highest_k = min(lowest_k, kalman.draught_k), max(highest_k, kalman.draught_k)
    assert -250.0 < lowest_k < -20.0
    assert highest_k == 0.0


def test_where_no_switch_is_wired_the_first_tick_of_a_door_takes_back_what_its_air_taught():
    for unseen in (False, True):
        after, kalman = AfterDoor(unseen, 20.0), OvenFilter(MODEL, Trust(unknown_rate=0.006, draught=True))
        kalman.start(218.0, 20.0)
        for t in range(80):
            kalman.step(218.0 if t < 60 else 218.0 - (t - 60), 0.1, 20.0, 1.0)
        fallen_c = kalman.state.face_c
        after.see(look(80.0, 200.0, 218.0, door_open=True), kalman)
        assert (kalman.state.face_c > fallen_c + 3.0) is unseen
        assert (kalman.draught_k < -10.0) is unseen


def air_in_a_thick_tube(unseen, told_after_s):
    """Let a door's air strike a sensor that is late by a minute; return the filter 40 s later."""
    model, late_s = MODEL.scaled(lag=4.0), 3600 + told_after_s
    plant, duty = settled(model, 218.0, 20.0), holding_duty(model, 218.0, 20.0)
    after, kalman = AfterDoor(unseen, 20.0), OvenFilter(model, Trust(unknown_rate=0.003, draught=True))
    kalman.start(218.0, 20.0)
    kalman.state = plant
    for t in range(3640):
        kalman.step(plant.junction_c, duty, 20.0, 1.0)
        is_open = late_s <= t < late_s + 8
        after.see(look(float(t), plant.junction_c, 218.0, door_open=is_open), kalman)
        cold_k = -150.0 * 0.93 ** max(t - 3608, 0) if t >= 3600 else 0.0
        plant = advance(model, plant, duty, 20.0, 1.0, 0.0, cold_k)
    return kalman


def test_cold_air_that_is_known_late_astonishes_a_late_sensor_no_more_than_what_a_switch_tells():
    """Its fall of 20 s was put down to the air of the next five: hundreds of kelvin, and heat on and off."""
    told, known = air_in_a_thick_tube(False, 0), air_in_a_thick_tube(True, 18)
    assert told.surprise < 5.0
    assert known.surprise < 5.0
    assert abs(known.unknown - told.unknown) < 0.03


def test_cold_air_makes_a_coast_lower_and_then_fades():
    warm = Outlook(MODEL, settled(MODEL, 218.0, 20.0), 20.0)
    cold = replace(warm, draught_k=-80.0)
    assert cold.peak_c(20.0) < warm.peak_c(20.0)


def door(open_at_s, process_c):
    after, kalman = AfterDoor(), OvenFilter(MODEL, Trust(draught=True))
    kalman.start(process_c, 20.0)
    assert after.see(look(open_at_s, process_c, process_c, door_open=True), kalman)
    assert not after.see(look(open_at_s + 8.0, process_c, process_c), kalman)
    return after, kalman


@pytest.mark.parametrize(("at_c", "most"), [(218.0, 0.05), (829.0, 0.5)])
def test_missing_heat_is_bounded_by_what_a_charge_can_take(at_c, most):
    after, _ = door(1000.0, at_c)
    assert -most < after.believed(-2.0) < -most / 2
    assert after.believed(0.5) <= 0.01


def test_the_bounds_end_some_minutes_after_the_door():
    after, kalman = door(1000.0, 218.0)
    after.see(look(1400.0, 218.0, 218.0), kalman)
    assert not after.in_doubt
    assert after.believed(-0.5) == -0.5


def test_a_coast_is_taken_longer_only_where_the_chamber_does_not_glow():
    assert door(1000.0, 218.0)[0].caution > 1.2
    assert door(1000.0, 829.0)[0].caution == 1.0
    assert door(1000.0, 218.0)[0].margin_k < 0.0


def test_what_a_charge_takes_may_change_soon_where_the_chamber_glows_until_it_is_warm():
    """Held by what its charge had drunk minutes before, a stone floor passed by 4 K."""
    after, kalman = door(1000.0, 829.0)
    assert after.walks > 10.0 * door(1000.0, 218.0)[0].walks > 0.0
    after.see(look(2300.0, 829.0, 829.0), kalman)
    assert after.walks == 0.0


def test_a_pi_goes_on_once_the_air_of_a_door_has_gone_and_a_model_waits_until_it_is_sure():
    """A door's corner that a PI had to hold was held for five minutes by the model that misled it."""
    after, kalman = door(1000.0, 218.0)
    assert after.sets_aside(True)
    after.see(look(1080.0, 218.0, 218.0), kalman)
    assert not after.sets_aside(True)
    assert after.sets_aside(False)
    after.see(look(1400.0, 218.0, 218.0), kalman)
    assert not after.sets_aside(False)


def test_a_charge_drinks_ever_less_whatever_a_filter_finds_later():
    """The fall of a reading after a cut passed for a charge that drank 0.24 again; it drank 0.10 by then."""
    after = AfterDoor()
    missing = SimpleNamespace(unknown=0.04, shake=lambda _sd: None, bounds=None)
    for t, missing.unknown in enumerate((0.04, -0.4, -0.35, -0.1, -0.2, -0.05)):
        seen = look(1000.0 + 70.0 * t, 829.0, 829.0, door_open=t == 0)
        after.see(seen, missing)  # type: ignore[arg-type]
        assert after.drinks == pytest.approx((math.inf, 0.44, 0.39, 0.14, 0.14, 0.09)[t])
    # A second door lets in another charge.
    after.see(look(1500.0, 829.0, 829.0, door_open=True), missing)  # type: ignore[arg-type]
    assert after.drinks == math.inf


def test_no_door_no_bounds():
    assert AfterDoor().believed(-0.5) == -0.5
