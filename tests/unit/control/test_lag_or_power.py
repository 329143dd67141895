"""The second look names sensor or heater by drawing the warming up again; what is unclear it calls so."""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.lag_or_power import LagOrPower, SecondLook, _cause, judged
from kilnctl.control.model_monitor import ModelFinding
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest
from tests.unit.control.test_heat_controller import look

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
MODEL = nameplate(OVEN)
GOAL_C = 218.0


@cache
def seen(lag=1.0, power=1.0, load=1.0, door_s=None, dt_s=1.0):
    """Return the second look at full heat to a goal and a crude hold, on a plant of its own."""
    truth, plant = MODEL.scaled(lag, power, load), at_rest(20.0)
    second, heat, at_s = SecondLook(MODEL, 20.0), 0.0, 0.0
    while not second.over and at_s < 9000.0:
        second.see(look(at_s, plant.junction_c, GOAL_C, dt_s=dt_s, door_open=at_s == door_s), heat)
        heat = 1.0 if plant.junction_c < GOAL_C - 15.0 else 0.5 * (plant.junction_c < GOAL_C)
        plant = advance(truth, plant, heat, 20.0, dt_s)
        at_s += dt_s
    return second


@pytest.mark.parametrize("dt_s", [0.5, 1.0, 3.0])
@pytest.mark.parametrize(
    ("changed", "cause"),
    [({"lag": 1.5}, "lag"), ({"lag": 0.6}, "lag"), ({"power": 0.846}, "power"), ({"power": 1.15}, "power")],
)
def test_sensor_and_heater_are_told_apart_and_measured(changed, cause, dt_s):
    """0.846 is the power at 8 % less volts."""
    verdict = seen(**changed, dt_s=dt_s).verdict
    assert verdict.cause == cause
    found = {"lag": verdict.lag, "power": verdict.power}[cause]
    assert found == pytest.approx(math.log(changed[cause]), abs=0.07)


def test_an_oven_as_learned_shows_neither():
    verdict = seen().verdict
    assert verdict.lag == pytest.approx(0.0, abs=0.02)
    assert verdict.power == pytest.approx(0.0, abs=0.02)


def test_a_load_is_neither():
    assert seen(load=1.3).verdict.cause == "unclear"


def test_both_at_once_are_not_put_down_to_one():
    assert seen(lag=1.6, power=0.8).verdict.cause == "unclear"


def ended(going):
    """Return what a generator returns at its end."""
    while True:
        try:
            next(going)
        except StopIteration as done:
            return done.value


@pytest.mark.parametrize(
    ("cut", "residual_k", "shows"), [(8, 0.7, False), (8, 0.5, True), (12, 0.7, True), (99, 0.7, True)]
)
def test_a_lag_shows_under_full_heat_or_to_a_good_fit(cut, residual_k, shows):
    """The first cut comes a little before and a little after a quarter of the way, or never."""
    spans = [(20.0 + 2.0 * i, 0.5 if i > cut else 1.0, 10.0) for i in range(40)]
    assert ended(judged(replace(MODEL, residual_k=residual_k), spans, 20.0)).shows_lag is shows


def test_a_door_ends_it_without_a_verdict():
    second = seen(lag=1.5, door_s=300.0)
    assert second.over
    assert second.verdict is None


def test_no_tick_does_more_than_a_piece_of_the_work(monkeypatch):
    steps = []
    counted = lambda *args: steps.append(1) or advance(*args)  # noqa: E731
    monkeypatch.setattr("kilnctl.control.lag_or_power.advance", counted)
    second = SecondLook(MODEL, 20.0)
    for t in range(3000):
        before = len(steps)
        second.see(look(float(t), 20.0 + 0.3 * min(t, 700), GOAL_C), 1.0)
        assert len(steps) - before <= 20
    assert second.over


@pytest.mark.parametrize(
    ("by_lag", "by_power", "both", "cause"),
    [
        (10.0, 13.1, 10.0, "lag"),
        (10.0, 12.9, 10.0, "unclear"),
        (13.1, 10.0, 10.0, "power"),
        (80.0, 25.9, 10.0, "power"),
        (80.0, 26.1, 10.0, "unclear"),
    ],
)
def test_a_cause_must_be_clearly_ahead_and_must_explain_what_was_seen(by_lag, by_power, both, cause):
    assert _cause(by_lag, by_power, both) == cause


@pytest.mark.parametrize(
    ("lag", "power", "verdict", "cause"),
    [
        (0.4, -0.03, None, "unclear"),
        (0.4, -0.03, ("lag", 0.4, -0.1), "lag"),
        (0.4, -0.03, ("lag", 0.4, -0.1, False), "unclear"),
        (0.4, -0.03, ("power", 0.3, -0.17, False), "power"),
        (0.4, -0.03, ("power", 0.3, -0.17), "power"),
        (0.4, -0.03, ("power", 0.3, -0.05), "unclear"),
        (0.4, -0.03, ("lag", -0.2, -0.1), "unclear"),
        (0.4, -0.03, ("unclear", 0.4, -0.2), "unclear"),
        (0.05, -0.2, ("lag", 0.4, -0.2), "unclear"),
        (0.05, -0.05, None, None),
        (0.05, -0.05, ("power", 0.1, -0.11), "power"),
        (0.05, -0.05, ("power", 0.1, -0.09), None),
        (0.05, -0.05, ("lag", 0.5, -0.09), None),
        (-0.17, 0.0, ("power", -0.24, 0.15), None),
        (-0.17, 0.0, ("power", -0.24, 0.18), "power"),
        (-0.41, -0.06, ("unclear", -0.01, 0.01), None),
    ],
)
def test_what_the_filter_noticed_is_named_by_the_second_look_alone(lag, power, verdict, cause):
    found = ModelFinding(lag, power, 0.03, 0.015, True, None if verdict is None else LagOrPower(*verdict))
    assert found.cause == cause
    assert bool(found.words()) == (cause is not None)
    assert found.heater == (verdict[2] if cause == "power" else power)
    assert ("nothing is kept" in found.words()) == (cause == "unclear")
