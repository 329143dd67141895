"""Several explanations side by side: spans keep the record's heat, and a descent finds a known oven."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from kilnctl.config.oven import load_oven
from kilnctl.learning.explaining import descend, drawn_by, spans_of, with_logs
from kilnctl.learning.fitting import _furthest, coasts_k
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import PARAMETERS, advance, at_rest

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
START = nameplate(OVEN)
TOP = np.full(len(PARAMETERS), 4.0)


def heat_up(truth, seconds=1500):
    """Return readings and heats: a wait, two pauses, no noise."""
    plant, readings, heats = at_rest(20.0), [], []
    for t in range(seconds):
        heats.append(float(30 <= t < 400 or 600 <= t < 900 or t >= 1200))
        readings.append(plant.junction_c)
        plant = advance(truth, plant, heats[-1], 20.0, 1.0)
    return readings, heats


def test_spans_keep_heat_and_time_and_are_short_after_a_switching():
    readings, heats = heat_up(START)
    record = spans_of(readings, heats, 20.0, 1.0)
    assert float((record.heat * record.span_s).sum()) == pytest.approx(sum(heats))
    assert record.at_s[-1] == len(readings)
    assert record.start_c == pytest.approx(20.0)
    assert set(record.heat.tolist()) == {0.0, 1.0}
    after = (record.at_s > 600.0) & (record.at_s <= 650.0)
    assert record.span_s[after].max() == 2.0
    assert len(record.span_s) < len(readings) / 3


def test_a_heat_that_is_switched_all_the_time_is_walked_in_even_spans():
    readings = [20.0 + 0.1 * t for t in range(1000)]
    record = spans_of(readings, [float(t % 4 < 2) for t in range(1000)], 20.0, 1.0)
    assert set(record.span_s.tolist()) == {4.0}
    assert record.heat.mean() == pytest.approx(0.5)


def test_long_spans_draw_what_the_model_draws_second_by_second():
    readings, heats = heat_up(START)
    record = spans_of(readings, heats, 20.0, 1.0)
    assert np.abs(drawn_by(START, record) - record.mean_c).max() < 0.5


def test_many_models_in_one_walk_draw_what_each_draws_alone():
    record = spans_of(*heat_up(START), 20.0, 1.0)
    logs = np.zeros((3, len(PARAMETERS)))
    logs[1, 0], logs[2, 11] = 0.5, -0.4
    together = drawn_by(with_logs(START, logs.T), record)
    for i in range(3):
        assert together[:, i] == pytest.approx(drawn_by(with_logs(START, logs[i]), record), abs=1e-9)


@pytest.mark.slow
def test_descents_from_other_physics_end_at_the_oven_that_was_recorded():
    truth = replace(START, element=0.3, wall=1.0, sheath_s=55.0)
    record = spans_of(*heat_up(truth), 20.0, 1.0)
    begins = [[0.0] * len(PARAMETERS), [1.0, *[0.0] * 10, -0.7, *[0.0] * 4]]
    valleys = descend(START, record, begins, TOP)
    assert all(valley.residual_k < 0.3 for valley in valleys)
    best = with_logs(START, min(valleys, key=lambda valley: valley.cost).logs)
    places = [60.0, 120.0, 200.0]
    assert coasts_k(best, places, 20.0) == pytest.approx(coasts_k(truth, places, 20.0), abs=1.5)


def test_of_plausible_explanations_the_one_that_coasts_furthest_is_the_bound():
    record = spans_of(*heat_up(START), 20.0, 1.0)
    element, other = PARAMETERS.index("element"), [0.0] * len(PARAMETERS)
    other[element] = 0.8
    best, far = (v for v in descend(START, record, [[0.0] * len(PARAMETERS)] * 2, TOP))
    far = replace(far, logs=np.array(other))
    model = replace(with_logs(START, best.logs), residual_k=best.residual_k)
    assert _furthest(START, [best, far], model, 20.0, 218.0).element > 2.0 * START.element
    assert _furthest(START, [best, replace(far, residual_k=3.0)], model, 20.0, 218.0) is None
