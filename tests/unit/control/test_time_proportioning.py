"""Duty to relay: nothing lost, the relay respected, off at once."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.config.oven import Switching
from kilnctl.control.time_proportioning import SwitchState, advance_switch, times_of
from kilnctl.model.soft_start import SoftStart

FAST = {"kind": "solid-state", "window": "10 s", "min_on": "1 s", "min_off": "1 s"}
SLOW = {"kind": "contactor", "window": "30 s", "min_on": "5 s", "min_off": "5 s"}
SOLID, CONTACTOR = (times_of(Switching.model_validate(file)) for file in (FAST, SLOW))


def drive(switching, duties, dt_s=1.0, state=None):
    state, moves = state or SwitchState(), []
    for duty in duties:
        state, on = advance_switch(switching, state, duty, dt_s)
        moves.append(on)
    return state, moves


def spells(moves, value):
    """Return the lengths of the whole spells at one value, the cut ones at both ends left out."""
    lengths, run = [], 0
    for i, on in enumerate(moves):
        if on == value:
            run += 1
        elif run:
            if i - run > 0:
                lengths.append(run)
            run = 0
    return lengths


@pytest.mark.parametrize("switching", [SOLID, CONTACTOR])
def test_a_duty_that_is_no_number_is_off_at_once_and_owes_nothing(switching):
    state, moves = drive(switching, [1.0, 0.7])
    assert moves == [True, True]
    after, on = advance_switch(switching, state, math.nan, 1.0)
    assert not on
    assert math.isfinite(after.owed_s)


def test_zero_is_off_at_once_whatever_the_least_on_time_says():
    state, moves = drive(CONTACTOR, [1.0])
    assert moves == [True]
    _, on = advance_switch(CONTACTOR, state, 0.0, 1.0)
    assert on is False


def test_full_duty_is_on_all_the_time():
    _, moves = drive(CONTACTOR, [1.0] * 100)
    assert all(moves)


def test_half_duty_makes_one_closure_a_window():
    state, _ = drive(SOLID, [0.5] * 600)
    assert 55 <= state.closures <= 61


def test_what_was_given_ahead_is_forgiven_while_no_heat_is_asked():
    """With its old debt a light oven at a tenth of its power waits a minute for its first pulse."""
    state, _ = drive(CONTACTOR, [0.0] * 60, state=SwitchState(owed_s=-4.0))
    assert state.owed_s == 0.0
    _, moves = drive(CONTACTOR, [0.1] * 100, state=state)
    assert moves.index(True) < 30


@given(st.floats(0.01, 0.99), st.sampled_from([SOLID, CONTACTOR]), st.sampled_from([0.5, 1.0, 2.0]))
def test_no_heat_is_lost_to_rounding(duty, switching, dt_s):
    _, moves = drive(switching, [duty] * 3000, dt_s)
    assert sum(moves) * dt_s == pytest.approx(duty * 3000 * dt_s, abs=switching.window_s + 2 * dt_s)


@given(st.lists(st.floats(0.0, 1.0), min_size=200, max_size=400))
def test_least_on_and_off_times_are_kept_while_heat_is_asked(duties):
    _, moves = drive(CONTACTOR, [max(d, 0.001) for d in duties])
    assert all(length >= 5 for length in spells(moves, True) + spells(moves, False))


def test_a_small_duty_is_given_in_whole_pulses_later():
    _, moves = drive(SOLID, [0.02] * 500)
    assert sum(moves) == pytest.approx(10, abs=1)
    assert set(spells(moves, True)) == {1}


def test_closures_are_counted_and_rated():
    state, _ = drive(CONTACTOR, [0.5] * 7200)
    assert state.closures == pytest.approx(240, abs=6)
    assert state.per_hour == pytest.approx(120, rel=0.1)


def test_a_longer_window_closes_less_often():
    state = SwitchState()
    for _ in range(3600):
        state, _ = advance_switch(CONTACTOR, state, 0.4, 1.0, window_s=90.0)
    assert state.closures <= 41


def test_what_was_given_ahead_on_the_way_is_not_taken_from_the_hold_for_minutes():
    """Each short call for full heat costs a least on time; the hold that follows knows of that heat."""
    way = ([1.0] + [0.02] * 11) * 8
    state, moves = drive(CONTACTOR, way)
    assert sum(moves) > 2 * sum(way)
    _, moves = drive(CONTACTOR, [0.1] * 100, state=state)
    assert any(moves[5:])


@pytest.mark.parametrize("duty", [0.08, 0.3, 0.7])
def test_a_heater_that_starts_softly_gets_what_was_asked(duty):
    """What it has not given is still owed: without that a third of full power brings a tenth."""
    heater, state, gave = SoftStart(6.0), SwitchState(), []
    for _ in range(1200):
        state, on = advance_switch(SOLID, state, duty, 1.0, soft_s=6.0)
        gave.append(heater.gives(float(on), 1.0))
    assert sum(gave[300:]) / 900 == pytest.approx(duty, abs=0.01)


def test_what_a_soft_start_held_back_is_forgiven_while_full_heat_is_asked():
    """Slow firing: its debt of half an hour ago kept full heat on for 40 s where 0.8 was asked, 4 K over."""
    state, on_s = SwitchState(), 0
    for _ in range(600):
        state, _ = advance_switch(SOLID, state, 1.0, 1.0, soft_s=8.0)
    assert state.owed_s == 0.0
    while state.on and on_s < 60:
        state, _ = advance_switch(SOLID, state, 0.8, 1.0, soft_s=8.0)
        on_s += 1
    assert on_s < 12
