"""The looks ahead: coast, cap, window, gains; and the judge of a stale model."""

import math
import random
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import Zone, load_oven
from kilnctl.control.coast import Outlook
from kilnctl.control.heat_controller import HeatController
from kilnctl.control.model_monitor import Contest
from kilnctl.control.model_path import ModelPath
from kilnctl.control.pid_tuning import largest_gain, refuse_wild_gains, settled, simc, tangent
from kilnctl.control.switching_window import Ripple, Stretch, longest_window_s, ripple_k
from kilnctl.errors import RunRefused
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven_model import Usual, advance, at_rest, holding_duty, nameplate
from kilnctl.model.trust import Trust
from tests.unit.control.test_heat_controller import look

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = nameplate(OVEN)


def heated(to_c):
    state = at_rest(20.0)
    while state.junction_c < to_c:
        state = advance(MODEL, state, 1.0, 20.0, 1.0)
    return state


def test_the_coast_is_what_the_model_does_when_the_heat_goes_off():
    state = heated(200.0)
    told_c = Outlook(MODEL, state, 20.0).peak_c(0.0)
    peak_c = 0.0
    for _ in range(3000):
        state = advance(MODEL, state, 0.0, 20.0, 0.5)
        peak_c = max(peak_c, state.junction_c)
    assert told_c == pytest.approx(peak_c, abs=0.2)
    assert told_c > 205.0


def test_the_longest_pulse_just_reaches_the_ceiling():
    outlook = Outlook(MODEL, heated(200.0), 20.0)
    ceiling_c = outlook.peak_c(0.0) + 2.0
    on_s = outlook.longest_on_s(60.0, ceiling_c)
    assert 0.0 < on_s < 60.0
    assert outlook.peak_c(on_s) <= ceiling_c < outlook.peak_c(on_s + 1.0)


def test_no_pulse_at_all_where_the_coast_alone_passes_the_ceiling():
    assert Outlook(MODEL, heated(200.0), 20.0).longest_on_s(60.0, 201.0) == 0.0


def test_a_contactor_may_close_less_often_where_the_oven_is_slow():
    heavy = nameplate(OVEN.model_copy(update={"build": "heavy"}))
    duty = holding_duty(heavy, 218.0, 20.0)
    outlook = Outlook(heavy, settled(heavy, 218.0, 20.0), 20.0)
    window_s = longest_window_s(outlook, duty, 30.0)
    assert window_s > 30.0
    assert ripple_k(outlook, duty, window_s) <= 0.7
    assert ripple_k(outlook, duty, 2 * window_s) > ripple_k(outlook, duty, window_s)


def test_a_hold_is_blind_to_the_ripple_of_its_own_relay():
    """On the model's own oven little is left of it; what is left fades, see Ripple."""
    even = pulsed = settled(MODEL, 829.0, 20.0)
    ripple, seen, left = Ripple(pulsed), [], []
    for t in range(900):
        heat = float(t % 90 < 36)
        even = advance(MODEL, even, 0.4, 20.0, 1.0)
        pulsed = advance(MODEL, pulsed, heat, 20.0, 1.0)
        calm = ripple.step(Outlook(MODEL, pulsed, 20.0), 0.4, heat, 1.0)
        seen.append(pulsed.junction_c - even.junction_c)
        left.append(calm.junction_c - even.junction_c)
    swing_k = max(seen[-90:]) - min(seen[-90:])
    assert swing_k > 1.0
    assert max(left[-90:]) - min(left[-90:]) < 0.25 * swing_k


def test_a_contactor_that_closes_too_often_gets_a_longer_window():
    heavy = nameplate(OVEN.model_copy(update={"build": "heavy"})).scaled(power=0.25)
    outlook = Outlook(heavy, settled(heavy, 218.0, 20.0), 20.0)
    windows = {}
    for period_s in (40, 100):
        stretch = Stretch(30.0)
        for t in range(2400):
            stretch.step(outlook, 0.4, float(t % period_s < 0.4 * period_s), 1.0)
        windows[period_s] = stretch.window_s
    assert windows[40] > windows[100] > 30.0


@pytest.mark.parametrize("learned", [True, False])
def test_gains_ten_times_too_high_in_the_file_are_refused(learned):
    rate, delay_s = tangent(MODEL, 560.0, 20.0)
    sound = simc(rate, delay_s, 2 * delay_s).duty_per_k
    zone = Zone.model_validate({"up_to": "1100 C", "duty_per_k": sound, "integral": "600 s"})
    refuse_wild_gains(OVEN.model_copy(update={"zone": (zone,)}), MODEL, learned)
    wild = zone.model_copy(update={"duty_per_k": min(10 * sound, 1.0)})
    with pytest.raises(RunRefused, match="gain"):
        HeatController(OVEN.model_copy(update={"zone": (wild,)}), MODEL, learned)


def test_the_largest_gain_is_that_of_an_integrating_process():
    """Phase of k exp(-Ls)/s is -180 degrees at w = pi/2L; there its size is k/w."""
    assert largest_gain(0.5, 10.0) == pytest.approx(3.14159 / (2 * 0.5 * 10.0), rel=1e-4)


def filter_on(truth, seconds=1500, model=MODEL, full=True):
    """Run the model path's kind of filter on a plant of its own at full heat."""
    kalman = OvenFilter(model, Trust(lag_sd=0.25, power_sd=0.04, load_sd=0.5, unknown_rate=4e-4))
    contest, plant = Contest(kalman, learned=True), at_rest(20.0)
    for t in range(seconds):
        kalman.step(plant.junction_c, 1.0 if t else 0.0, 20.0, 1.0)
        contest.see(look(float(t), plant.junction_c, 800.0), full, 1.0 if t else 0.0)
        plant = advance(truth, plant, 1.0, 20.0, 1.0)
    return kalman, contest


def test_readings_that_no_oven_gives_leave_an_oven_and_the_model_is_set_aside():
    kalman, contest = filter_on(MODEL, 60)
    for t in range(60, 260):
        kalman.step(900.0, 1.0, 20.0, 1.0)  # 880 K in a second: no oven does that
        contest.see(look(float(t), 900.0, 800.0), False, 1.0)
        assert all(-250.0 < at_c < 4000.0 for at_c in kalman.state)
        assert all(-1.6 < log < 2.6 for log in kalman.logs)
    assert contest.lost
    assert "PID has taken over" in contest.note


def test_a_fresh_model_is_not_contested():
    _, contest = filter_on(MODEL)
    assert not contest.lost
    assert contest.note == ""


def test_a_slower_sensor_is_noticed_in_this_heat_and_reckoned_with():
    kalman, contest = filter_on(MODEL.scaled(lag=1.6))
    assert "sensor answers slower" in contest.note
    assert kalman.scale()[0] == pytest.approx(1.6, rel=0.12)


def test_what_is_usual_of_an_oven_is_no_change_of_it_and_what_comes_on_top_is():
    biased = MODEL.scaled(lag=1.5)
    usual = Usual(math.log(1.5), 0.0, 200.0)
    _, alone = filter_on(biased)
    _, known = filter_on(biased, model=replace(MODEL, usual=usual))
    _, slower = filter_on(biased.scaled(lag=1.4), model=replace(MODEL, usual=usual))
    assert alone.note
    assert known.note == ""
    assert known.found.lag == pytest.approx(0.0, abs=0.1)
    assert "sensor answers slower" in slower.note
    assert math.exp(slower.found.lag) == pytest.approx(1.4, rel=0.1)
    # The heat after it starts from the change and charges nothing twice.
    _, after = filter_on(biased.scaled(lag=1.4), model=replace(MODEL, usual=usual).scaled(lag=1.4))
    assert after.note == ""
    assert after.found.lag == pytest.approx(0.0, abs=0.1)


def test_only_a_heat_like_the_learning_heat_is_compared_with_it():
    usual = replace(MODEL, usual=Usual(-1.0, -0.5, 200.0))
    assert filter_on(MODEL, model=usual)[1].found.like
    assert not filter_on(MODEL, model=usual, full=False)[1].found.like
    assert not filter_on(MODEL, 60, usual)[1].found.like  # not half as far


def test_a_weaker_heater_is_noticed():
    _, contest = filter_on(MODEL.scaled(power=0.85))
    assert "of the power" in contest.note


def test_the_model_of_quite_another_oven_is_set_aside():
    small = nameplate(OVEN.model_copy(update={"build": "fibre"})).scaled(power=3.0)
    _, contest = filter_on(small, 600)
    assert contest.lost
    assert "PID has taken over" in contest.note


def test_a_reach_that_is_looked_up_now_and_then_aims_like_one_looked_up_in_every_hold():
    """Both see the same noisy oven on a ramp, driven by the second."""
    seldom, always = ModelPath(OVEN, MODEL), ModelPath(OVEN, MODEL)
    dice, state, apart, duty = random.Random(5), settled(MODEL, 580.0, 20.0), [], 0.0
    for second in range(1800):
        goal_c = 580.0 + 200.0 / 3600.0 * second
        ahead = {"segment_kind": "ramp", "setpoint_rate_c_per_h": 200.0}
        ahead["preview"] = lambda s, goal_c=goal_c: goal_c + 200.0 / 3600.0 * s
        seen = look(float(second), round(state.junction_c + dice.gauss(0.0, 0.2), 1), goal_c, **ahead)
        always._holding._reach_s = -1.0
        before, duty = duty, always.step(seen, duty)
        apart.append(abs(seldom.step(seen, before) - duty))
        state = advance(MODEL, state, duty, 20.0, 1.0)
    assert seldom.mode == always.mode == "ramp"
    assert sum(apart[300:]) / 1500 < 0.0006  # 0.14 where it is looked up once
