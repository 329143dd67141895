"""The predicted curve: arrives, stays inside its band, and the band is the fit's."""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.prediction import drawn, predict
from kilnctl.model.oven import PARAMETERS, nameplate
from kilnctl.profile.segments import Profile

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
MODEL = nameplate(OVEN)
JOB = Profile.model_validate(
    {
        "name": "x",
        "segment": (
            {"kind": "ramp", "to": "218 C"},
            {"kind": "soak", "at": "218 C", "time": "30 min"},
        ),
    }
)


def sure(sd):
    n = len(PARAMETERS)
    return replace(MODEL, covariance=tuple(tuple(sd**2 * (i == j) for j in range(n)) for i in range(n)))


def test_the_curve_reaches_the_goal_and_ends_with_the_soak():
    curve = predict(JOB, sure(0.1), 20.0, 20.0)
    assert curve[0].process_c == 20.0
    assert curve[-1].process_c == pytest.approx(218.0, abs=4.0)
    assert all(p.low_c <= p.process_c <= p.high_c for p in curve)


def test_a_less_certain_fit_draws_a_wider_band():
    def width(sd):
        return max(p.high_c - p.low_c for p in predict(JOB, sure(sd), 20.0, 20.0))

    assert width(0.3) > width(0.05) > 0.0


def test_a_drawn_oven_is_never_the_model_and_the_same_for_the_same_seed():
    assert drawn(sure(0.1), 1) != sure(0.1)
    assert drawn(sure(0.1), 1) == drawn(sure(0.1), 1)
    assert drawn(sure(0.1), 1) != drawn(sure(0.1), 2)
