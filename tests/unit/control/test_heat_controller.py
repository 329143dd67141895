"""The controller's contract: off means zero, finite and inside the range whatever comes."""

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kilnctl.config.oven import load_oven
from kilnctl.control.heat_controller import ControlInput, HeatController
from kilnctl.control.lag_or_power import LagOrPower
from kilnctl.control.model_monitor import ModelFinding
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest

OVENS = Path(__file__).parents[3] / "profiles/ovens"
OVEN = load_oven(OVENS / "hardening-furnace.toml")


def look(at_s, process_c, setpoint_c, **other):
    given = {
        "at_s": at_s,
        "dt_s": 1.0,
        "process_c": process_c,
        "setpoint_c": setpoint_c,
        "goal_c": setpoint_c,
        "segment_kind": "soak",
        "heat_wanted": True,
        "preview": lambda _ahead_s: setpoint_c,
    }
    return ControlInput(**(given | other))


@pytest.mark.parametrize("learned", [False, True])
def test_no_heat_wanted_is_zero(learned):
    controller = HeatController(OVEN, nameplate(OVEN), learned)
    controller.step(look(0.0, 100.0, 800.0))
    assert controller.step(look(1.0, 100.0, 800.0, heat_wanted=False)).duty == 0.0
    assert controller.step(look(2.0, 100.0, None)).duty == 0.0


@pytest.mark.parametrize("learned", [False, True])
@pytest.mark.parametrize("kind", ["model", "pid"])
@settings(max_examples=15, deadline=None)
@given(readings=st.lists(st.floats(-20.0, 1200.0), min_size=5, max_size=25), stands_s=st.integers(1, 12))
def test_the_duty_stays_in_its_range_for_any_reading(learned, kind, readings, stands_s):
    controller = HeatController(OVEN.model_copy(update={"controller": kind}), nameplate(OVEN), learned)
    for i in range(len(readings) * stands_s):
        out = controller.step(look(float(i), readings[i // stands_s], 500.0))
        assert 0.0 <= out.duty <= 1.0
        assert out.unexplained is None or abs(out.unexplained) <= 1.5


def test_far_below_the_goal_it_heats_and_far_above_it_does_not():
    controller = HeatController(OVEN, nameplate(OVEN), learned=False)
    for i in range(30):
        out = controller.step(look(float(i), 20.0, 800.0))
    assert out.duty > 0.3
    for i in range(30, 600):
        out = controller.step(look(float(i), 900.0, 800.0))
    assert out.duty < 0.01


def test_on_the_way_in_no_pulse_is_longer_than_its_coast_allows():
    """A sensor slower than the nameplate's: without the cap the hold asks for full heat again."""
    model = nameplate(OVEN)
    controller, plant, truth = HeatController(OVEN, model, True), at_rest(20.0), model.scaled(lag=1.6)
    pulses = []
    for i in range(530):
        out = controller.step(look(float(i), plant.junction_c, 218.0))
        pulses += [out.duty] if out.mode == "arrive" else []
        plant = advance(truth, plant, out.duty, 20.0, 1.0)
    assert 0.2 < max(pulses) < 0.7


def test_an_oven_whose_heat_came_and_went_unexplained_is_heated_by_what_the_heat_shows():
    model = replace(nameplate(OVEN), learned=True)
    modes = {}
    for unexplained in (0.3, 0.34):
        controller = HeatController(OVEN, replace(model, unexplained=unexplained), learned=True)
        plant, heat = at_rest(20.0), 0.0
        for t in range(400):
            heat = controller.step(look(float(t), plant.junction_c, 800.0, heat_was_on=heat > 0.5)).duty
            plant = advance(model, plant, heat, 20.0, 1.0)
            modes.setdefault(unexplained, set()).add(controller._first.mode)
    assert modes == {0.3: {"off"}, 0.34: {"approach", "look"}}


def test_a_model_that_does_not_steer_follows_the_heat_only_where_somebody_looks_ahead() -> None:
    def followed(foreseen: bool) -> bool:
        controller = HeatController(OVEN, nameplate(OVEN), False, foreseen=foreseen)
        controller.step(look(0.0, 20.0, 800.0))
        assert controller.model_path is not None
        return controller.model_path.filter.state is not None

    assert followed(True)
    assert not followed(False)


@pytest.mark.parametrize(("cause", "lag"), [("power", 1.0), ("lag", 0.5), (None, 0.5)])
def test_where_the_second_look_names_the_heater_no_quick_sensor_is_left(cause, lag):
    """It draws the whole warming up with the heater's power alone: the first look's lag is none."""
    verdict = None if cause is None else LagOrPower(cause, math.log(0.5), math.log(1.4))
    found = ModelFinding(math.log(0.5), math.log(1.4), 0.0, 0.0, verdict=verdict)
    path = SimpleNamespace(filter=SimpleNamespace(cold=True))
    contest = SimpleNamespace(sure=True, astonished=True, finding=found)
    unlike = HeatController.unlike.fget(SimpleNamespace(model_path=path, _contest=contest))
    assert unlike.lag == pytest.approx(lag)
    assert unlike.power == pytest.approx(1.4)
    assert (unlike.lag_beyond > 0.0) is (cause != "power")
