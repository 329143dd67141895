"""The predicted curve: arrives, stays inside its band, and the band is the fit's."""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import Measured, load_oven
from kilnctl.forecast.band import _CREEPS_S, _OWN_S, _warm_up_s, drawn, predict
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import PARAMETERS
from kilnctl.profile.segments import Profile
from simulator.oven import ovens

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
    return replace(
        MODEL, learned=True, covariance=tuple(tuple(sd**2 * (i == j) for j in range(n)) for i in range(n))
    )


def test_the_curve_reaches_the_goal_and_ends_with_the_soak():
    curve = predict(JOB, sure(0.1), 20.0, 20.0).points
    assert curve[0].process_c == 20.0
    assert curve[-1].process_c == pytest.approx(218.0, abs=4.0)
    assert all(p.low_c <= p.process_c <= p.high_c for p in curve)


def test_a_less_certain_fit_draws_a_wider_band():
    def width(sd):
        return max(p.high_c - p.low_c for p in predict(JOB, sure(sd), 20.0, 20.0).points)

    assert width(0.3) > width(0.05) > 0.0


def test_a_drawn_oven_is_never_the_model_and_the_same_for_the_same_seed():
    assert drawn(sure(0.1), 1) != sure(0.1)
    assert drawn(sure(0.1), 1) == drawn(sure(0.1), 1)
    assert drawn(sure(0.1), 1) != drawn(sure(0.1), 2)


def test_each_segments_end_has_a_band_on_both_sides_of_the_middle():
    ends = predict(JOB, sure(0.1), 20.0, 20.0).ends
    assert [end.segment for end in ends] == [0, 1]
    assert all(end.early_s < end.at_s < end.late_s for end in ends)
    assert ends[0].late_s - ends[0].early_s < 0.3 * ends[0].at_s + 2.0 * _OWN_S
    assert ends[1].at_s - ends[0].at_s == pytest.approx(1800.0, abs=120.0)


@pytest.mark.parametrize("sd", [0.05, 0.5])
def test_however_uncertain_the_constants_a_draw_warms_up_as_the_heat_up_that_was_measured_did(sd):
    took_s = _warm_up_s(sure(sd))
    assert all(_warm_up_s(drawn(sure(sd), seed)) == pytest.approx(took_s, rel=0.15) for seed in range(12))


COOLED = Profile.model_validate(
    {
        "name": "x",
        "segment": (
            {"kind": "ramp", "to": "218 C"},
            {"kind": "soak", "at": "218 C", "time": "30 min"},
            {"kind": "cool", "to": "60 C"},
        ),
    }
)


def test_an_oven_that_is_not_learned_has_a_band_of_its_ends_only_from_the_quickest_to_the_slowest():
    found = predict(JOB, MODEL, 20.0, 20.0)
    assert all(p.low_c == p.process_c == p.high_c for p in found.points)
    assert found.ends[0].early_s < 0.8 * found.ends[0].at_s
    assert found.ends[0].late_s > 3.0 * found.ends[0].at_s


def test_a_cooling_that_nobody_has_recorded_may_take_more_than_twice_as_long():
    """Ovens of five builds took up to 2.15 times what the fit of their heat-up foretold."""

    def late(model):
        heated, cooled = (predict(COOLED, model, 20.0, 20.0).ends[n] for n in (1, 2))
        return (cooled.late_s - heated.at_s) / (cooled.at_s - heated.at_s)

    assert late(sure(0.01)) > 2.15
    assert late(replace(sure(0.01), cools=sure(0.01))) < 1.2


def test_a_part_is_waited_for_and_a_person_takes_the_planned_time():
    step = {"kind": "operator", "step": "load", "say": "put it in", "at_most": "30 min", "hold": "218 C"}
    loaded = Profile.model_validate(
        {
            "name": "x",
            "section": "20 mm",
            "segment": (
                {"kind": "ramp", "to": "218 C"},
                step,
                {"kind": "soak", "at": "218 C", "time": "30 min", "clock": "part"},
            ),
        }
    )
    found = predict(loaded, sure(0.05), 20.0, 20.0, (None, 600.0, None)).ends
    assert found[1].at_s - found[0].at_s == pytest.approx(600.0, abs=40.0)
    assert found[2].at_s - found[1].at_s > 1800.0 + 300.0


def test_a_goal_out_of_reach_has_no_end():
    weak = replace(sure(0.01), power=0.05)
    told = predict(JOB, weak, 20.0, 20.0)
    assert told.ends == ()
    assert told.points[-1].at_s < 36 * 3600.0, "four days were foretold of an oven that had long stood still"


@pytest.mark.parametrize("seed", [2, 5, 8])
def test_a_timed_heat_up_narrows_the_band_and_other_ovens_of_the_build_still_lie_in_it(seed):
    """An owner with a clock, on an oven that is built otherwise: the band of another heat must hold it."""
    step_s = 10.0

    def takes_s(goal_c):
        plant, at_s = ovens.random_oven("leaky", seed, power_w=OVEN.power_w), 0.0
        while plant.sensor.junction_c < goal_c and at_s < 1e5:
            plant.advance(1.0, step_s)
            at_s += step_s
        return at_s

    measured = Measured(heats_to="200 C", takes=f"{takes_s(200.0):.0f} s")
    timed = first_guess(OVEN.model_copy(update={"measured": measured}))
    ramp = {"kind": "ramp", "to": "150 C", "rate": "2000 C/h"}
    job = Profile.model_validate({"name": "y", "segment": (ramp,)})
    (end,), (guessed,) = predict(job, timed, 20.0, 20.0).ends, predict(job, MODEL, 20.0, 20.0).ends
    assert end.late_s < 2.0 * end.early_s + 4 * _OWN_S + _CREEPS_S < guessed.late_s
    assert end.early_s < takes_s(150.0) < end.late_s
