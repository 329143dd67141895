"""The looks ahead: coast, cap, window, gains; and the judge of a stale model."""

import math
import random
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.holding import Holding
from kilnctl.control.model_path import ModelPath
from kilnctl.control.pid_tuning import settled
from kilnctl.control.settling import Swing
from kilnctl.control.switching_window import Ripple, Stretch, longest_window_s, ripple_k
from kilnctl.model.coast import Outlook
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest, holding_duty
from tests.unit.control.test_heat_controller import look

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = nameplate(OVEN)


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
            stretch.step(outlook, 0.4, float(t % period_s < 0.4 * period_s), 1.0, Swing())
        windows[period_s] = stretch.window_s
    assert windows[40] > windows[100] > 30.0


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


def test_the_last_stretch_of_a_ramp_is_cut_by_its_coast():
    """A heavy well before the sensor: aimed half a dead time ahead the ramp passed by 9.8 K."""
    late = replace(MODEL, element=1.2, sheath_s=260.0, sheath_radiation=0.3, learned=True)
    path, state, duty, reads = ModelPath(OVEN, late), at_rest(20.0), 0.0, []

    def setpoint_c(at_s):
        return min(20.0 + 400.0 / 3600.0 * at_s, 218.0)

    for second in range(3600):
        here_c = setpoint_c(second)
        ramp = {"segment_kind": "ramp", "setpoint_rate_c_per_h": 400.0} if here_c < 218.0 else {}
        ahead = {"preview": lambda s, second=second: setpoint_c(second + s), "goal_c": 218.0, **ramp}
        duty = path.step(look(float(second), state.junction_c, here_c, **ahead), duty)
        state = advance(late, state, duty, 20.0, 1.0)
        reads.append(state.junction_c)
    assert max(reads) < 219.0
    assert abs(reads[-1] - 218.0) < 0.5


def test_a_pi_does_not_begin_from_the_missing_heat_of_an_astonished_model():
    """Two zones: the filter missed 0.24 of full power, passing by 8.9 K; a calm one is believed."""
    soaked = holding_duty(MODEL, 218.0, OVEN.ambient_c)

    def begins(surprise: float, unknown: float) -> float:
        seen = SimpleNamespace(base=MODEL, surprise=surprise)
        holding = Holding(OVEN, SimpleNamespace(filter=seen))  # type: ignore[arg-type]
        holding._missed = unknown
        return holding._holds_at(218.0)

    assert begins(2.0, -0.24) == pytest.approx(0.24)
    assert begins(12.0, -0.24) == pytest.approx(1.3 * soaked)
    assert begins(12.0, 0.1) == begins(2.0, 0.1) == pytest.approx(soaked)


def test_a_pi_begins_with_no_more_than_a_hold_gave_that_swung_to_both_sides():
    """A closed box: the walls of its model drank 0.73 of full power where 0.60 held it, 5.3 K over."""
    soaked = holding_duty(MODEL, 829.0, OVEN.ambient_c)
    holding = Holding(OVEN, SimpleNamespace(filter=SimpleNamespace(base=MODEL, surprise=2.3)))  # type: ignore[arg-type]
    holding._drinks, holding._missed, holding._gave = 0.60, -0.13, 0.56
    assert holding._holds_at(829.0) == pytest.approx(0.73)
    holding._settling.swing.turns = 2
    assert holding._holds_at(829.0) == pytest.approx(0.56)
    holding._gave = soaked / 2
    assert holding._holds_at(829.0) == pytest.approx(soaked)


def test_what_a_swing_moves_is_taken_over_the_whole_of_it():
    """An embedded element: at the takeover the filter missed 0.09 of full power, over the swing 0.01."""
    seen = SimpleNamespace(base=MODEL, state=settled(MODEL, 218.0, OVEN.ambient_c))
    foresight = SimpleNamespace(filter=seen, unknown=0.0)
    holding = Holding(OVEN, foresight)  # type: ignore[arg-type]
    for t in range(0, 980, 4):
        holding._aimed = 0.3 + 0.2 * math.sin(2 * math.pi * t / 300.0)
        foresight.unknown = -0.01 - 0.08 * math.sin(2 * math.pi * t / 300.0)
        holding._balance(80.0, 4.0)
        if not t:
            assert holding._missed == foresight.unknown
    assert holding._missed == pytest.approx(-0.01, abs=0.02)
    assert holding._drinks == pytest.approx(holding._leaving)
    assert holding._gave == pytest.approx(0.3, abs=0.05)


@pytest.mark.parametrize(
    ("half_s", "half_k", "surprise", "restless", "late_s"),
    [
        (120.0, 4.0, 5.0, 0.03, 60.0),
        (3000.0, 4.0, 5.0, 0.03, 600.0),
        (120.0, 4.0, 5.0, 0.08, 0.0),  # a draught
        (120.0, 4.0, 1.2, 0.03, 0.0),  # the model foresees it
        (120.0, 0.4, 5.0, 0.03, 0.0),
        (70.0, 4.0, 5.0, 0.03, 0.0),  # no later than the model says
    ],
)
def test_a_swing_that_lasts_shows_how_late_an_oven_is(half_s, half_k, surprise, restless, late_s):
    """An integrator with dead time swings in four of them (textbook); a muffle took 120 s a half."""
    seen = SimpleNamespace(base=replace(MODEL, restless=restless), surprise=surprise)
    holding = Holding(OVEN, SimpleNamespace(filter=seen))  # type: ignore[arg-type]
    swing = holding._settling.swing
    for turns in range(1, 5):
        swing.turns, swing.half_k, swing.half_s = turns, half_k, half_s
        assert holding._shown_late_s(40.0) == (late_s if turns == 4 else 0.0)


def test_a_contactors_own_pulses_show_no_lateness():
    seen = SimpleNamespace(base=replace(MODEL, restless=0.01), surprise=5.0)
    holding = Holding(OVEN, SimpleNamespace(filter=seen))  # type: ignore[arg-type]
    swing = holding._settling.swing
    swing.turns, swing.half_k, swing.half_s = 8, 2.0, 100.0
    assert holding._shown_late_s(40.0) == 50.0
    holding.window_s = 62.0
    assert holding._shown_late_s(40.0) == 0.0


def test_walls_drink_ever_less_and_never_more():
    """An astonished model that warmed its own chamber let the walls drink 0.13 more: 8.4 K over."""
    moved = []
    for at_c in (400.0, 100.0):
        seen = SimpleNamespace(base=MODEL, state=settled(MODEL, at_c, OVEN.ambient_c))
        foresight = SimpleNamespace(filter=seen, door=SimpleNamespace(drinks=0.0))
        holding = Holding(OVEN, foresight)  # type: ignore[arg-type]
        holding._drinks = before = holding_duty(MODEL, 218.0, OVEN.ambient_c)
        holding._by_readings(look(0.0, 218.0, 218.0), 218.0, 0.4, 100.0, 4.0)
        moved.append(holding._drinks - before)
    assert moved[0] == 0.0
    assert moved[1] < 0.0


def test_full_heat_that_comes_near_its_goal_is_cut_and_not_handed_to_a_hold():
    """A coast as long as an approach is near (4 K) was asked for no cut: an open coil went 3 K over."""
    path, state, duty, modes = ModelPath(OVEN, replace(MODEL, learned=True)), at_rest(20.0), 0.0, []
    while state.junction_c < 825.5:
        state = advance(MODEL, state, duty, 20.0, 1.0)
        duty = path.step(look(len(modes), state.junction_c, 829.0), duty)
        modes.append(path.mode)
    assert set(modes) == {"approach", "arrive"}


def test_noise_about_where_an_approach_begins_does_not_take_its_full_heat_back():
    """One tick 3.9 K below made an arrival of it, and 3 to 16 K were left to a gentle hold (a muffle)."""
    path, modes = ModelPath(OVEN, replace(MODEL, learned=True)), []
    for t, below_k in enumerate([0.0] * 30 + [4.1, 3.9, 4.2, 3.8]):
        path.see(look(t, 829.0 - below_k, 829.0), 0.0)
        path.filter.state = settled(MODEL, 829.0 - below_k, 20.0)
        path.step(look(t, 829.0 - below_k, 829.0), 0.0)
        modes.append(path.mode)
    assert modes[29:] == ["hold", "approach", "approach", "approach", "approach"]


@pytest.mark.parametrize(("coasts_to_c", "mode"), [(820.0, "approach"), (828.0, "arrive")])
def test_a_coast_that_was_foreseen_in_a_doors_air_and_will_not_come_is_helped_once(
    coasts_to_c, mode, monkeypatch
):
    """An embedded element crept for three minutes where its cut had been asked of cold air."""
    path, modes = ModelPath(OVEN, replace(MODEL, learned=True)), []
    coast = SimpleNamespace(peak_c=lambda on_s, stop_c=1e9: coasts_to_c)
    for t in range(200):
        path.filter.state = settled(MODEL, 819.0, 20.0)
        path.see(look(t, 819.0, 829.0, door_open=t < 8), 0.0)
        if t == 100:
            monkeypatch.setattr(path.foresight, "outlook", lambda state: coast)
            monkeypatch.setattr(path._approach, "must_cut", lambda *told: len(modes) > 105)
            monkeypatch.setattr(path._approach, "goes_on", lambda *told: True)
            monkeypatch.setattr(path._approach, "cap", lambda *told: 0.0)
            path.mode = "arrive"
        if t >= 100:
            path.step(look(t, 819.0, 829.0), 0.0)
        modes.append(path.mode)
    assert modes[102] == mode
    assert set(modes[110:]) == {"arrive"}


def test_unknown_heat_moves_fastest_while_an_oven_lands(monkeypatch):
    """What the end of a coast had been put down to, unknown heat, was seen to be wrong 40 s late: 4 K low."""
    path, state, duty, rates = ModelPath(OVEN, replace(MODEL, learned=True)), at_rest(20.0), 0.0, []
    monkeypatch.setattr(path.filter, "set_unknown_rate", lambda rate: rates.append((t, rate)))
    for t in range(3600):
        state = advance(MODEL, state, duty, 20.0, 1.0)
        duty = path.step(look(t, state.junction_c, 400.0), duty)
    (lands_s, lands), (held_s, held) = rates[:2]
    assert held_s - lands_s == pytest.approx(min(4.0 * path.foresight.delay_at_s(400.0), 300.0), abs=2.0)
    assert lands > 2.0 * held > 0.0


def test_an_oven_that_glows_is_held_at_once(monkeypatch):
    """Caught like a cool one, a thick tube swung at 829 degC: 7.0 K over after a cold charge."""
    path, state, duty, rates = ModelPath(OVEN, replace(MODEL, learned=True)), at_rest(20.0), 0.0, []
    monkeypatch.setattr(path.filter, "set_unknown_rate", rates.append)
    for t in range(7200):
        state = advance(MODEL, state, duty, 20.0, 1.0)
        duty = path.step(look(t, state.junction_c, 829.0), duty)
    assert rates
    assert max(rates) < 0.012 / 2
