"""The learning heat-up: never above the ceiling, off on every fault, and it says why."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.learning.identification_run import LearningState, advance_learning, plan_learning
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest

OVENS = Path(__file__).parents[3] / "profiles/ovens"
OVEN = load_oven(OVENS / "tempering-oven.toml")
PLAN = plan_learning(OVEN)


def heat_up(power=1.0, start_c=20.0, door_at_s=None, jump_at_s=None, model=None, plan=PLAN):
    """Drive a plant of its own through the heat-up; return the end, the peak and the duties."""
    model = (model or nameplate(OVEN)).scaled(power=power)
    plant, state, peak_c, duties = at_rest(start_c), LearningState(), start_c, []
    for t in range(30_000):
        reading = plant.junction_c + (60.0 if t == jump_at_s else 0.0)
        state = advance_learning(plan, state, reading, 1.0, door_open=t == door_at_s)
        duties.append(state.duty)
        if state.over:
            break
        plant = advance(model, plant, state.duty, 20.0, 1.0)
        peak_c = max(peak_c, plant.junction_c)
    return state, peak_c, duties


def test_a_sound_oven_is_heated_with_pauses_and_never_reaches_the_ceiling():
    state, peak_c, duties = heat_up()
    assert state.phase == "done"
    assert peak_c < PLAN.ceiling_c
    assert peak_c > PLAN.ceiling_c - 60.0
    cuts = [i for i, (a, b) in enumerate(pairwise(duties)) if a > 0 and b == 0]
    pauses, pulses = cuts[: PLAN.pauses], cuts[PLAN.pauses :]
    assert min(b - a for a, b in pairwise(pauses)) > 60
    assert len(pulses) == 10
    assert pulses[-1] - pulses[0] == 90
    assert pulses[0] - pauses[-1] > 900
    assert not any(duties[-180:])


def test_no_pulse_is_given_near_the_ceiling():
    near = LearningState("coast", pause=3, phase_s=2000.0, entered_c=210.0, peak_c=230.0, peak_age_s=900.0)
    assert advance_learning(PLAN, replace(near, risen_to_c=230.0), 220.0, 1.0).phase == "done"
    below = advance_learning(PLAN, replace(near, risen_to_c=230.0), 200.0, 1.0)
    assert below.phase == "pulses"
    assert advance_learning(PLAN, below, 200.0, 1.0).duty == 1.0
    high_c = PLAN.ceiling_c - 5.0
    stopped = advance_learning(PLAN, replace(below, last_c=high_c), high_c, 1.0)
    assert (stopped.phase, stopped.duty) == ("after", 0.0)


def test_a_slow_oven_is_left_at_the_third_pause_and_its_coast_is_seen_to_the_end():
    furnace = load_oven(OVENS / "hardening-furnace.toml")
    plan = plan_learning(furnace)
    slow, top_c, duties = heat_up(power=0.5, model=nameplate(furnace), plan=plan)
    assert slow.phase == "done"
    assert slow.pause == plan.pauses - 2
    assert 0.55 * plan.ceiling_c < top_c < 0.75 * plan.ceiling_c
    cuts = [i for i, (a, b) in enumerate(pairwise(duties)) if a and not b]
    assert cuts[-10] - cuts[-11] > 900


def test_a_sensor_that_answers_late_is_waited_for_without_heat():
    """A retort: the reading stands still for three minutes, while the chamber has long had its fill."""
    late, state, past, waits = nameplate(OVEN), LearningState(), [], []
    plant = at_rest(20.0)
    for t in range(4000):
        past.append(plant.junction_c)
        state = advance_learning(PLAN, state, past[max(0, t - 180)], 1.0)
        if t > 60 and state.duty == 0.0 and state.pause == 0:
            waits.append(t)
        plant = advance(late, plant, state.duty, 20.0, 1.0)
        if state.pause > 0 or state.over:
            break
    assert state.why == ""
    assert waits[0] == pytest.approx(30 + PLAN.dose_s, abs=2)
    assert past[-181] - 20.0 > 15.0
    assert waits[-1] - waits[0] > 60


@pytest.mark.parametrize("power", [0.6, 1.5])
def test_the_ceiling_holds_for_stronger_and_weaker_heaters(power):
    assert heat_up(power=power)[1] < PLAN.ceiling_c


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ({"start_c": 60.0}, "cold oven"),
        ({"door_at_s": 400}, "door"),
        ({"power": 0.0}, "no heat"),
        ({"jump_at_s": 300}, "jumped"),
        ({"power": 0.25}, "no longer lifts"),
    ],
)
def test_every_fault_ends_with_the_heat_off_and_a_reason(what, says):
    state, _, duties = heat_up(**what)
    assert state.phase == "failed"
    assert says in state.why
    assert duties[-1] == 0.0


def test_heat_that_does_not_stop_in_a_pause_is_called_a_stuck_relay():
    state = LearningState(phase="coast", entered_c=50.0, peak_c=50.0)
    for t in range(3000):
        state = advance_learning(PLAN, state, 50.0 + 0.05 * t, 1.0)
        assert state.duty == 0.0
    assert "relay" in state.why


def test_over_means_off_for_ever():
    state = LearningState(phase="failed", why="x")
    assert advance_learning(PLAN, state, 20.0, 1.0) is state


@pytest.mark.parametrize("ceiling_c", [None, 255.0, 60.0])
def test_a_ceiling_that_is_missing_too_high_or_too_low_is_refused(ceiling_c):
    with pytest.raises(RunRefused, match="tune_ceiling"):
        plan_learning(OVEN.model_copy(update={"tune_ceiling_c": ceiling_c}))


def test_what_has_not_begun_to_answer_does_not_stand_still():
    """A heavy retort: a store and three lags of 900 s in all, 0.07 K for a second of full heat."""
    state, store_k, seen_k, given_s = LearningState(), 0.0, [0.0, 0.0, 0.0], 0.0
    for _ in range(6000):
        state = advance_learning(PLAN, state, round(20.0 + seen_k[-1], 1), 1.0)
        if seen_k[-1] < 3.0:
            given_s += state.duty
        store_k, before_k = store_k + 0.07 * state.duty, store_k
        for i, lag_s in enumerate((500.0, 300.0, 100.0)):
            seen_k[i], before_k = seen_k[i] + (before_k - seen_k[i]) / lag_s, seen_k[i]
        if state.pause > 0 or state.over:
            break
    assert state.why == ""
    assert given_s == pytest.approx(PLAN.dose_s, abs=2)
