"""The fit: finds an oven that the start value is not, says how well, refuses what cannot be learned from."""

import json
import math
import random
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from kilnctl.config.oven import load_oven
from kilnctl.errors import RunRefused
from kilnctl.learning.fitting import NoFit, _highest, fit, noise_of, usual
from kilnctl.learning.identification import Identified, describe, learn_from, refuse_another_oven
from kilnctl.learning.identification_run import LearningState, advance_learning, plan_learning
from kilnctl.model.nameplate import BUILDS, nameplate, typical_of
from kilnctl.model.oven_model import PARAMETERS, OvenModel, Usual, advance, at_rest, holding_duty

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
START = nameplate(OVEN)
TRUTH = replace(START, element=0.3, face=1.6, wall=1.1, leak=9e-4, sheath_s=50.0)


@pytest.fixture
def one_start(monkeypatch):
    """Let a fit begin at one guess: what no oven draws is drawn by none of them."""
    monkeypatch.setattr("kilnctl.learning.fitting._STARTS", ({},))


@cache
def recorded():
    """Return a noisy record of the learning heat-up of TRUTH."""
    noise, plan = random.Random(3), plan_learning(OVEN)
    state, plant, readings, heats = LearningState(), at_rest(20.0), [], []
    while not state.over:
        readings.append(round((plant.junction_c + noise.gauss(0, 0.15)) * 10) / 10)
        state = advance_learning(plan, state, readings[-1], 1.0)
        heats.append(state.duty)
        plant = advance(TRUTH, plant, state.duty, 20.0, 1.0)
    return readings, heats


def half_recorded():
    """Return it up to its second pause: half of the work for a fit."""
    readings, heats = recorded()
    again = [i for i in range(1, len(heats)) if heats[i] > heats[i - 1]]
    return readings[: again[2]], heats[: again[2]]


@cache
def found():
    return fit(START, *recorded(), 20.0, 1.0)


def test_a_module_that_repeats_itself_does_not_hide_its_noise():
    """A curve of 0.3 K/s with white noise of 0.3 K, measured anew every third second."""
    dice, shown = random.Random(1), []
    for t in range(1500):
        shown.append(0.3 * t + dice.gauss(0, 0.3) if t % 3 == 0 else shown[-1])
    # The mean of five of them has five thirds as many independent readings, not five.
    assert noise_of(shown) == pytest.approx(0.3 * math.sqrt(3), rel=0.35)
    fresh = [0.3 * t + dice.gauss(0, 0.3) for t in range(1500)]
    assert noise_of(fresh) == pytest.approx(0.3, rel=0.25)


@pytest.mark.slow
def test_it_draws_the_curve_to_the_noise_and_finds_what_matters():
    model = found().model
    assert model.learned
    assert model.residual_k < 0.3
    assert model.misfit_k == 0.0  # no more than is expected of a model this small
    assert model.noise_k == pytest.approx(0.15, abs=0.06)
    assert model.unexplained < 0.15
    assert model.restless < 0.03
    assert holding_duty(model, 218.0, 20.0) == pytest.approx(holding_duty(TRUTH, 218.0, 20.0), rel=0.1)


@pytest.mark.slow
def test_its_uncertainty_covers_the_truth_and_is_wide_where_nothing_was_seen():
    model = found().model
    sd = np.sqrt(np.diag(np.array(model.covariance)))
    off = np.array([np.log(getattr(model, n) / getattr(TRUTH, n)) for n in PARAMETERS])
    assert np.mean(np.abs(off) < 2 * sd) > 0.8
    assert sd[PARAMETERS.index("wall_gain")] > 0.3


@pytest.mark.slow
def test_the_process_of_its_own_answers_in_json_and_words():
    learned = learn_from(OVEN, *half_recorded(), 1.0)
    assert learned.model.residual_k < 0.3
    assert learned.model.steers
    lines = describe(OVEN, learned)
    assert any("218 °C" in line and "holds on" in line for line in lines)


@pytest.mark.parametrize("build", ["brick", "fibre", "heavy", "leaky", "fan"])
def test_a_fit_may_begin_at_every_guess_and_sees_no_more_of_the_element_than_a_tenth(build):
    start = nameplate(OVEN.model_copy(update={"build": build}))
    highest = dict(zip(PARAMETERS, _highest(start), strict=True))
    assert all(value > 0.0 for value in highest.values())
    assert start.sees_element * math.exp(highest["sees_element"]) == pytest.approx(0.1)


def test_a_flat_or_short_record_is_refused():
    with pytest.raises(NoFit, match="too short or too flat"):
        fit(START, [20.0] * 2000, [0.0] * 2000, 20.0, 1.0)


@pytest.mark.slow
def test_a_record_that_no_oven_draws_is_refused(one_start):
    readings, heats = recorded()
    disturbed = [r + 25.0 * (t // 100 % 2) for t, r in enumerate(readings[:500])]
    with pytest.raises(NoFit, match="disturbed"):
        fit(START, disturbed, heats[:500], 20.0, 1.0)


@pytest.mark.slow
def test_an_oven_whose_heat_comes_and_goes_by_no_law_is_told_as_one_that_cannot_be_learned(one_start):
    """A bath that melts: on its way from 80 to 86 degC each kelvin takes 2.5 times as long (lumped)."""
    readings, heats = half_recorded()
    at_s, melted = 0.0, []
    while at_s < len(readings) - 1:
        melted.append((readings[int(at_s)], heats[int(at_s)]))
        at_s += 0.4 if 80.0 < readings[int(at_s)] < 86.0 else 1.0
    with pytest.raises(NoFit, match="none that can be learned"):
        fit(START, *zip(*melted, strict=True), 20.0, 1.0)


def test_an_oven_far_from_its_file_is_refused_and_nothing_is_stored():
    weak = replace(TRUTH, power=0.1, learned=True)
    with pytest.raises(RunRefused, match="check elements"):
        refuse_another_oven(OVEN, START, weak)


def test_a_file_that_does_not_know_its_build_is_far_from_no_oven_of_any_build():
    unknown = OVEN.model_copy(update={"build": "unknown"})
    for build in BUILDS:
        refuse_another_oven(unknown, nameplate(unknown), typical_of(build))
    weak = replace(typical_of("heavy"), power=0.1)
    with pytest.raises(RunRefused, match="where no build takes about"):
        refuse_another_oven(unknown, nameplate(unknown), weak)


def test_the_fit_imports_scipy_and_the_controller_does_not():
    code = "import sys, kilnctl.control.heat_controller; print('scipy' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"


def test_a_learned_model_survives_the_logbook():
    for start in (START, replace(START, usual=Usual(0.1, -0.02, 150.0))):
        model = OvenModel.from_dict(json.loads(json.dumps(start.to_dict())))
        assert Identified(model, (20.0,), (20.0,), (2.0,)).model == start


def test_a_model_of_an_old_logbook_loads_without_what_is_usual():
    old = json.loads(json.dumps(START.to_dict()))
    del old["usual"]
    assert OvenModel.from_dict(old) == START


def test_what_is_usual_is_what_a_heat_of_the_same_oven_finds():
    """Here the fitted model is wrong by a known factor, so that the bias is known."""
    readings, heats = recorded()
    found = usual(TRUTH.scaled(lag=1 / 1.3), readings, heats, 20.0, 1.0)
    assert found.lag == pytest.approx(math.log(1.3), abs=0.06)
    assert found.power == pytest.approx(0.0, abs=0.03)
    first_pause = next(i for i in range(1, len(heats)) if heats[i] < heats[i - 1])
    assert found.at_c == readings[first_pause]


def test_what_another_explanation_says_of_the_coast_is_told_and_a_poor_fit_too():
    far = replace(START, element=3.0 * START.element)
    known = Identified(replace(START, learned=True, residual_k=0.2), (20.0, 30.0), (20.0, 31.0), (2.0, 4.0))
    plain = "\n".join(describe(OVEN, known))
    assert "explanation" not in plain
    assert "poor fit" not in plain
    doubted = replace(known, model=replace(known.model, bound=far, residual_k=2.0))
    told = describe(OVEN, doubted)
    own, other = (float(x) for x in re.search(r"coasts (\d+) K .*explanation: (\d+) K", told[6]).groups())
    assert other > own
    assert any("poor fit" in line for line in told)
    assert OvenModel.from_dict(json.loads(json.dumps(doubted.model.to_dict()))) == doubted.model
