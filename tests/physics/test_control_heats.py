"""Whole heats on ovens the code was not tuned on: overshoot, arrival, ramps, and the door.

The plant is the simulator's, which shares no code with kilnctl's model. Limits are the issue's "must" row.
"""

from functools import cache
from pathlib import Path

import pytest

from kilnctl.control.heat_controller import HeatController
from kilnctl.model.nameplate import nameplate
from tests.bench.control import jobs
from tests.bench.control.learnt import learned
from tests.bench.control.world import Case, fastest_s, ours

SMALL = Case("leaky", 31)
FAST = Case("fibre", 31)


@cache
def model(tmp: Path):
    return learned(SMALL.family, SMALL.seed, tmp)


@pytest.fixture(scope="session")
def small_model(tmp_path_factory):
    return model(tmp_path_factory.getbasetemp() / "learnt")


def controller(case, known=None, **changes):
    oven = case.file().model_copy(update=changes)
    return ours(HeatController(oven, known or nameplate(oven), known is not None))


@pytest.mark.slow
def test_a_learned_oven_reaches_a_temper_without_overshoot_as_fast_as_physics_allows(small_model):
    row = jobs.approach(SMALL, 218, controller(SMALL, small_model), fastest_s(SMALL.plant(), 218))
    assert row["over_k"] < 3.0
    assert row["ratio"] < 1.5
    assert row["touch_rms_k"] < 1.0
    assert row["settled_rms_k"] < 0.5
    assert row["unexplained"] < 0.3


@pytest.mark.slow
def test_an_oven_that_is_not_learned_is_treated_with_caution():
    row = jobs.approach(FAST, 218, controller(FAST), fastest_s(FAST.plant(), 218))
    assert row["over_k"] < 2.0
    assert row["ratio"] < 8.0  # of an oven that could be there in two minutes: it creeps


@pytest.mark.slow
def test_a_slower_sensor_costs_no_temper(small_model):
    slow = Case(SMALL.family, SMALL.seed, lag=1.5)
    row = jobs.approach(slow, 218, controller(slow, small_model), fastest_s(slow.plant(), 218))
    assert row["over_k"] < 5.0
    assert "sensor" in row["note"]


@pytest.mark.slow
def test_a_ramp_is_followed(small_model):
    row = jobs.ramp(SMALL, small_model)
    assert row["ramp_rms_k"] < 0.5
    assert row["ramp_worst_k"] < 2.0


@pytest.mark.slow
def test_a_cold_charge_is_recovered_from_without_a_claim_of_a_fault(small_model):
    row = jobs.charge(SMALL, 218, controller(SMALL, small_model))
    assert row["over_k"] < 5.0
    assert row["unexplained"] < 0.35


@pytest.mark.slow
def test_the_pid_path_stays_selectable(small_model):
    row = jobs.approach(SMALL, 218, controller(SMALL, small_model, controller="pid"), 1.0)
    assert row["over_k"] < 3.0
    assert row["settled_rms_k"] < 0.5
