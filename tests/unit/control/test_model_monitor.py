"""When the model is no longer believed, and when it goes on to be."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.lag_or_power import LagOrPower
from kilnctl.control.model_monitor import Contest, ModelFinding
from kilnctl.model.filter import OvenFilter
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import Usual, advance, at_rest
from kilnctl.model.trust import TRUST, Trust
from tests.unit.control.test_heat_controller import look

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
MODEL = nameplate(OVEN)


def filter_on(truth, seconds=1500, model=MODEL, full=True):
    """Run the model path's kind of filter on a plant of its own at full heat."""
    kalman = OvenFilter(model, Trust(lag_sd=0.25, power_sd=0.04, load_sd=0.5, unknown_rate=4e-4))
    contest, plant = Contest(kalman, learned=True), at_rest(20.0)
    for t in range(seconds):
        kalman.step(plant.junction_c, 1.0 if t else 0.0, 20.0, 1.0)
        contest.see(look(float(t), plant.junction_c, 800.0), full, 1.0 if t else 0.0)
        plant = advance(truth, plant, 1.0, 20.0, 1.0)
    return kalman, contest


def test_readings_that_no_oven_gives_leave_an_oven_and_the_model_is_set_aside():
    kalman, contest = filter_on(MODEL, 60)
    for t in range(60, 260):
        kalman.step(900.0, 1.0, 20.0, 1.0)  # 880 K in a second: no oven does that
        contest.see(look(float(t), 900.0, 800.0), False, 1.0)
        assert all(-250.0 < at_c < 4000.0 for at_c in kalman.state.nodes)
        assert all(-1.6 < log < 2.6 for log in kalman.logs)
    assert contest.lost
    assert "PID has taken over" in contest.note


def test_a_fresh_model_is_not_contested():
    _, contest = filter_on(MODEL)
    assert not contest.lost
    assert contest.note == ""


def test_a_model_that_knows_no_water_is_set_aside_where_the_reading_stands_over_it():
    """A dry oven's model, and sand that is damp today: the watchdog tripped at 104 degC."""
    contests = []
    for stands_c in (100.0, 140.0):
        kalman, plant = OvenFilter(MODEL, TRUST), at_rest(20.0)
        contest = Contest(kalman, learned=True)
        for t in range(600):
            plant = advance(MODEL, plant, 1.0, 20.0, 1.0)
            reads_c = min(plant.junction_c, stands_c)
            kalman.step(reads_c, 1.0, 20.0, 1.0)
            contest.see(look(float(t), reads_c, 218.0), True, 1.0)
        contests.append(contest)
    damp, other = contests
    assert (damp.lost, damp.dries, other.dries) == (True, True, False)
    assert "drying" in damp.note


def test_a_slower_sensor_is_noticed_in_this_heat_and_reckoned_with():
    kalman, contest = filter_on(MODEL.scaled(lag=1.6))
    assert "sensor answers slower" in contest.note
    assert kalman.scale()[0] == pytest.approx(1.6, rel=0.12)


def test_what_is_usual_of_an_oven_is_no_change_of_it_and_what_comes_on_top_is():
    biased = MODEL.scaled(lag=1.5)
    usual = Usual(math.log(1.5), 0.0, 200.0)
    _, alone = filter_on(biased)
    _, known = filter_on(biased, model=replace(MODEL, usual=usual))
    _, slower = filter_on(biased.scaled(lag=1.4), model=replace(MODEL, usual=usual))
    assert alone.note
    assert known.note == ""
    assert known.finding.lag == pytest.approx(0.0, abs=0.1)
    assert "sensor answers slower" in slower.note
    assert math.exp(slower.finding.lag) == pytest.approx(1.4, rel=0.1)
    # The heat after it starts from the change and charges nothing twice.
    _, after = filter_on(biased.scaled(lag=1.4), model=replace(MODEL, usual=usual).scaled(lag=1.4))
    assert after.note == ""
    assert after.finding.lag == pytest.approx(0.0, abs=0.1)


def test_only_a_heat_like_the_learning_heat_is_compared_with_it():
    usual = replace(MODEL, usual=Usual(-1.0, -0.5, 200.0))
    assert filter_on(MODEL, model=usual)[1].finding.like
    assert not filter_on(MODEL, model=usual, full=False)[1].finding.like
    assert not filter_on(MODEL, 60, usual)[1].finding.like  # not half as far


def test_a_weaker_heater_is_noticed():
    _, contest = filter_on(MODEL.scaled(power=0.85))
    assert "of the power" in contest.note


def test_the_model_of_quite_another_oven_is_set_aside():
    small = nameplate(OVEN.model_copy(update={"build": "fibre"})).scaled(power=3.0)
    _, contest = filter_on(small, 600)
    assert contest.lost
    assert "PID has taken over" in contest.note


def test_nothing_is_said_while_the_second_look_is_still_to_come():
    contest = Contest(filter_on(MODEL, 30)[0], learned=True)
    contest._like = ModelFinding(0.4, 0.0, 0.01, 0.01, True)
    contest._heated_s, contest._filter.cold, contest._straight = 601.0, True, False
    contest.see(look(601.0, 200.0, 800.0), True, 1.0)
    assert contest.note == ""
    contest._second.over, contest._second.verdict = True, LagOrPower("lag", 0.4, -0.2)
    contest._ask_s = 0.0
    contest.see(look(602.0, 200.0, 800.0), True, 1.0)
    assert "sensor answers slower" in contest.note


def found(lag, power, *verdict, sd=0.01):
    return ModelFinding(lag, power, sd, sd, True, LagOrPower(*verdict)).cause


def test_what_the_second_look_does_not_bear_out_is_the_filters_own_error():
    """A muffle whose filter misses its own learning heat by a lag of 0.4 was called slower or stronger."""
    assert found(0.39, 0.28, "unclear", -0.22, 0.09) is None
    assert found(0.57, 0.26, "unclear", 0.01, -0.03) is None
    assert found(0.38, 0.02, "unclear", 0.29, -0.14) == "unclear"
    assert found(0.05, -0.30, "unclear", 0.28, -0.14) == "unclear"


def test_what_a_warm_oven_still_holds_is_no_quicker_sensor():
    """A warm heat has no second look. A sound retort at 140 degC was told of a lag x 0.59."""
    assert ModelFinding(-0.53, 0.0, 0.05, 0.05).cause is None
    assert ModelFinding(0.53, 0.0, 0.05, 0.05).cause == "unclear"
    # An open coil: lag x 0.49 and power x 0.87. A weak supply alone makes no sensor quicker.
    assert ModelFinding(-0.71, -0.14, 0.05, 0.02).cause is None
    assert ModelFinding(-0.05, -0.3, 0.05, 0.05).cause == "unclear"
    assert ModelFinding(-0.53, 0.0, 0.05, 0.05, anew=False).cause == "unclear"


def test_no_sensor_gets_quicker_by_itself_but_one_that_was_slower_is_mended():
    """A sound muffle was told that its sensor was faster, x 0.76."""
    assert found(-0.28, -0.06, "lag", -0.16, 0.08) is None
    assert found(-0.40, 0.0, "lag", -0.38, 0.08) == "lag"
    mended = ModelFinding(-0.28, 0.0, 0.01, 0.01, True, LagOrPower("lag", -0.30, 0.08), anew=False)
    assert mended.cause == "lag"


def test_a_sensor_is_not_named_alone_where_the_heater_was_found_weaker_too():
    """A supply that has aged, on a line that sags, was called a slower sensor."""
    assert found(0.24, -0.12, "lag", 0.40, -0.17) == "unclear"
    assert found(0.40, -0.02, "lag", 0.40, -0.17) == "lag"


def test_a_model_that_never_drew_its_oven_higher_up_is_no_change_of_the_oven():
    words = []
    for lag in (0.02, 0.4):
        contest = Contest(filter_on(MODEL, 30)[0], learned=True)
        contest._like = ModelFinding(lag, 0.0, 0.01, 0.01, True)
        contest._heated_s, contest._filter.cold, contest._straight = 601.0, True, False
        contest._filter.surprise, contest._bad_s = 1000.0, 180.0
        contest._second.over, contest._second.verdict = True, LagOrPower("unclear", lag, 0.01)
        contest.see(look(601.0, 400.0, 800.0), True, 1.0)
        assert contest.lost
        words.append(contest.note)
    sound, slower = words
    assert "as when it was learned" in sound
    assert "PID has taken over" in sound
    assert "Learn the oven again" in slower
