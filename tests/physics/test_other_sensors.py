"""A heat with sensors as they are sold: whole kelvins, slow modules, more noise than at the learning, spikes.

The steps are those of common modules (1 K, 0.25 K; common practice, no single source), the limits the "must"
row for a temper. The plant is the simulator's and the model was learned with a fine, quiet sensor: invented.
"""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.heat_controller import HeatController
from kilnctl.model.oven_model import OvenModel
from simulator.oven.ovens import tempering_oven
from simulator.oven.plant import Plant
from tests.bench.control.world import OVENS, Sensor, figures, heat, job, ours

LEARNED = Path(__file__).parents[1] / "faults/learned/tempering-oven.json"
MODEL = OvenModel.from_dict(json.loads(LEARNED.read_text()))


def one_heat(sensor, count_k):
    """Return the figures of a temper with an oven file that states the module's count."""
    oven = load_oven(OVENS / "tempering-oven.toml")
    process = oven.signal.process.model_copy(update={"resolution_k": count_k})
    oven = oven.model_copy(update={"signal": oven.signal.model_copy(update={"process": process})})
    controller = ours(HeatController(oven, MODEL, True))
    rows, _ = heat(tempering_oven(), oven, controller, job(218, 1800.0), sensor=sensor)
    return figures(rows, 218)


@pytest.mark.parametrize(
    ("sensor", "count_k"),
    [
        pytest.param(Sensor(1, noise_k=0.15, resolution_k=1.0), 1.0, id="whole kelvins"),
        pytest.param(
            Sensor(1, noise_k=0.3, resolution_k=0.25, every_s=3),
            0.25,
            id="anew every three seconds",
            marks=pytest.mark.on_demand,
        ),
        pytest.param(Sensor(1, noise_k=0.8), 0.1, id="five times the noise", marks=pytest.mark.on_demand),
        pytest.param(Sensor(1, spike_k=6.0), 0.1, id="a spike in a minute"),
    ],
)
def test_a_temper_does_not_care_what_the_sensor_is_like(sensor, count_k):
    row = one_heat(sensor, count_k)
    assert row["over_k"] < 3.0
    assert row["touch_rms_k"] < 1.0
    assert row["settled_rms_k"] < 0.5
    assert row["settled_worst_k"] < 1.5


def test_what_the_model_cannot_say_of_a_settled_oven_is_taken_out():
    """Since the learning the sensor was pushed in until it sees the element: a hold by the model is off."""
    oven = load_oven(OVENS / "tempering-oven.toml")
    plant = Plant(replace(tempering_oven().data, sight=0.3))
    rows, _ = heat(plant, oven, ours(HeatController(oven, MODEL, True)), job(218))
    settled = [r.true_c for r in rows[-1200:]]
    assert abs(sum(settled) / len(settled) - 218.0) < 0.2
