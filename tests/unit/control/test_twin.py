"""Twins: right in open loop, told of a slower heat by one number, deaf to readings once the heat is cut."""

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.model_path import ModelPath
from kilnctl.control.twin import LATE, Twins
from kilnctl.model.coast import Outlook
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, advance, at_rest

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
MODEL = replace(nameplate(OVEN.model_copy(update={"build": "fibre"})), learned=True)


def heated(truth, models, seconds=150):
    """Return twins beside an oven on full heat from cold, and the oven."""
    plant = at_rest(20.0)
    twins = Twins(models, plant, 20.0)
    for _ in range(seconds):
        plant = advance(truth, plant, 1.0, 20.0, 1.0)
        twins.heat(plant.junction_c, 1.0)
    return twins, plant


def coast_c(truth, plant):
    return Outlook(truth, plant, 20.0).peak_c(0.0)


def test_beside_its_own_oven_a_twin_foresees_the_coast():
    twins, plant = heated(MODEL, (MODEL,))
    rise_k = coast_c(MODEL, plant) - plant.junction_c
    assert rise_k > 20.0
    assert twins.peak_c(plant.junction_c, 0.0) - plant.junction_c == pytest.approx(1.05 * rise_k, rel=0.05)


def test_a_weaker_supply_is_told_to_a_twin_by_its_pace():
    weak = MODEL.scaled(power=0.8)
    twins, plant = heated(weak, (MODEL,), 200)
    rise_k = coast_c(weak, plant) - plant.junction_c
    at_pace = twins.peak_c(plant.junction_c, 0.0) - plant.junction_c
    assert at_pace == pytest.approx(1.05 * rise_k, rel=0.12)


def test_a_slower_sensor_lengthens_the_coast_of_a_twin():
    """The truth is the oven's own coast; of a sensor between the learned and the late one too."""
    for lag in (1.25, 1.5, 1.7):
        slow = MODEL.scaled(lag=lag)
        twins, plant = heated(slow, (MODEL,))
        rise_k = coast_c(slow, plant) - plant.junction_c
        share = math.log(lag) / math.log(LATE)
        deaf_k, told_k = (twins.peak_c(plant.junction_c, 0.0, s) - plant.junction_c for s in (0.0, share))
        assert deaf_k < 0.95 * rise_k
        assert told_k == pytest.approx(1.05 * rise_k, rel=0.05)
        twins.cut(plant.junction_c, share)
        assert twins.longest_on_s(30.0, plant.junction_c + 0.98 * rise_k) == 0.0
        assert twins.longest_on_s(30.0, plant.junction_c + 1.2 * rise_k) > 0.0


def test_a_slower_sensor_lengthens_a_coast_that_the_fit_takes_for_the_chambers():
    """After a steady climb a first-order sensor coasts the further, the slower it is (textbook).

    The fit has put what makes a reading late into a sensor of minutes beside a heavy load, and denies it.
    """
    fit = replace(MODEL, element=0.068, face=2.28, wall=4.43, load=4.89, element_radiation=0.137, leak=8e-5)
    fit = replace(fit, element_linear=5e-4, load_radiation=0.061, load_linear=0.0045, wall_conductance=3.5e-4)
    fit = replace(fit, wall_gain=0.68, sheath_s=614.0, sheath_radiation=16.5, junction_s=5.7)
    twins, plant = heated(replace(fit, sees_element=0.048, warm_air=0.28), (fit,), 240)
    deaf_c, told_c = (twins.peak_c(plant.junction_c, 0.0, share) for share in (0.0, 1.0))
    assert told_c > deaf_c + 5.0
    twins.cut(plant.junction_c, 1.0)
    assert twins.longest_on_s(30.0, deaf_c + 5.0) == 0.0


def test_of_several_explanations_the_one_that_coasts_furthest_counts():
    further = replace(MODEL, element=2.5 * MODEL.element)
    one, plant = heated(MODEL, (MODEL,))
    both, _ = heated(MODEL, (MODEL, further))
    assert both.peak_c(plant.junction_c, 0.0) > one.peak_c(plant.junction_c, 0.0) + 3.0


def test_once_the_heat_is_cut_no_reading_moves_a_twin():
    (deaf, plant), (told, _) = heated(MODEL, (MODEL,)), heated(MODEL, (MODEL,))
    for twins in (deaf, told):
        twins.cut(plant.junction_c)
    for _ in range(10):
        deaf.coast(plant.junction_c, 0.0, 1.0)
        told.coast(plant.junction_c - 30.0, 0.0, 1.0)
    ceiling_c = coast_c(MODEL, plant) + 20.0
    assert told.longest_on_s(30.0, ceiling_c) == deaf.longest_on_s(30.0, ceiling_c)
    assert 0.0 < deaf.longest_on_s(30.0, ceiling_c) < 30.0
    assert deaf.longest_on_s(30.0, plant.junction_c) == 0.0


def test_a_coast_is_over_when_it_has_been_seen_and_when_the_sensor_stands_still():
    twins, plant = heated(MODEL, (MODEL,))
    twins.cut(plant.junction_c)
    seconds = 0
    while not twins.over:
        plant = advance(MODEL, plant, 0.0, 20.0, 1.0)
        twins.coast(plant.junction_c, 0.0, 1.0)
        seconds += 1
    assert 10 < seconds < 300
    still, plant = heated(MODEL, (MODEL,))
    still.cut(plant.junction_c)
    for _ in range(16):
        still.coast(plant.junction_c, 0.0, 1.0)
    assert still.over


def arriving(model: OvenModel, truth: OvenModel, goal_c: float, seconds: int) -> list[tuple[str, float]]:
    """Return mode and reading of every tick of a heat under the model path alone."""
    path, plant, seen, on = ModelPath(OVEN, model), at_rest(20.0), [], 0.0
    for t in range(seconds):
        look = ControlInput(float(t), 1.0, plant.junction_c, goal_c, goal_c, "ramp", True, lambda _: goal_c)
        duty = path.step(look, on)
        on = duty
        seen.append((path.mode, plant.junction_c))
        plant = advance(truth, plant, duty, 20.0, 1.0)
    return seen


@pytest.mark.slow
def test_an_arrival_has_an_end_where_the_oven_stays_below():
    """Half the coast that was learned, and no heat that the cap would allow: still it arrives."""
    truth = replace(MODEL, element=0.4 * MODEL.element, leak=2.5 * MODEL.leak)
    seen = arriving(MODEL, truth, 218.0, 3000)
    assert "arrive" in {mode for mode, _ in seen}
    assert {mode for mode, _ in seen[-600:]} == {"hold"}
    assert seen[-1][1] == pytest.approx(218.0, abs=1.0)


@pytest.mark.slow
def test_with_a_bound_that_coasts_further_the_heat_is_cut_sooner():
    further = replace(MODEL, element=2.5 * MODEL.element)
    alone, bound = (
        [mode for mode, _ in arriving(model, MODEL, 218.0, 900)].index("arrive")
        for model in (MODEL, replace(MODEL, bound=further))
    )
    assert bound < alone - 10


@pytest.mark.parametrize("door", [False, True], ids=["", "after a door"])
def test_a_hold_that_has_landed_is_not_heated_anew_for_a_sag(door):
    """Heat is withheld until the reading is 8 K low: the hold brings it back by itself, without full heat.

    After a door it may be heated anew, once.
    """
    path, plant, modes, heat, low = ModelPath(OVEN, MODEL), at_rest(20.0), [], 0.0, False
    for t in range(1500):
        look = ControlInput(float(t), 1.0, plant.junction_c, 218.0, 218.0, "soak", True, lambda _: 218.0)
        look = replace(look, door_open=door and t == 900)
        low = low or (t > 900 and plant.junction_c < 210.0)
        duty = path.step(look, heat)
        heat = duty if t < 900 or low else 0.0
        modes.append(path.mode)
        plant = advance(MODEL, plant, heat, 20.0, 1.0)
    assert low
    anew = [m for before, m in pairwise(modes[900:]) if m == "approach" != before]
    assert len(anew) == door
    assert set(modes[900:]) == {"hold"} or door
    assert plant.junction_c == pytest.approx(218.0, abs=2.0)
