"""The pulses at the end of a learning heat tell a heater that starts softly from one that does not."""

import random
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.learning.pulse_test import pulses_begin, soft_start_s
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest
from kilnctl.model.soft_start import SoftStart

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
TRUTH = nameplate(OVEN)
HEAT = [*[0.0] * 60, *[1.0] * 500, *[0.0] * 900, *([1.0] * 3 + [0.0] * 7) * 10, *[0.0] * 200]


def read(soft_s, drift_k_per_s=0.0, truth=TRUTH):
    """Return what the sensor of an oven reads whose heater takes so long to full power."""
    noise, heater, state, readings = random.Random(5), SoftStart(soft_s), at_rest(20.0), []
    for at_s, share in enumerate(HEAT):
        readings.append(state.junction_c + noise.gauss(0.0, 0.2) + drift_k_per_s * at_s)
        state = advance(truth, state, heater.gives(share, 1.0), 20.0, 1.0)
    return readings


def test_the_pulses_begin_after_the_last_long_coast():
    assert pulses_begin(HEAT, 1.0) == 1460
    assert pulses_begin(HEAT[:1470], 1.0) == 1470  # one pulse is no test


@pytest.mark.parametrize("soft_s", [2.5, 6.0, 12.0])
def test_a_soft_start_is_found(soft_s):
    # Its first seconds at the cold start are missing too, which the straight drift must bear.
    assert soft_start_s(TRUTH, read(soft_s), HEAT, 20.0, 1.0) == pytest.approx(soft_s, rel=0.25)


@pytest.mark.parametrize("drift_k_per_s", [0.0, 0.004, -0.004])
def test_a_heater_that_is_there_at_once_is_called_nothing_else(drift_k_per_s):
    assert soft_start_s(TRUTH, read(0.0, drift_k_per_s), HEAT, 20.0, 1.0) == 0.0


def test_a_model_that_errs_by_a_sixth_takes_no_pulse_for_soft():
    for other in (
        replace(TRUTH, element=TRUTH.element * 1.5),
        TRUTH.scaled(power=1.15),
        TRUTH.scaled(lag=1.4),
    ):
        assert soft_start_s(other, read(0.0), HEAT, 20.0, 1.0) == 0.0


def test_what_hardly_lifts_the_sensor_tells_nothing():
    heavy = TRUTH.scaled(power=0.05)
    assert soft_start_s(heavy, read(6.0, truth=heavy), HEAT, 20.0, 1.0) == 0.0
