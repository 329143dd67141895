"""What a recorded cooling teaches: judged by the simulator's oven, whose wall is built otherwise."""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.learning.fitting import NoFit, fit_cooling
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, advance, at_rest
from simulator.oven.ovens import tempering_oven

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
STEP_S = 5.0


def heated_and_cooled(to_c: float = 45.0) -> tuple[list[float], list[float]]:
    """Full heat to 220 degC with one pause, then the heat off until it is hand-warm."""
    plant, process_c, heat = tempering_oven(0), [], []
    for goal_c, on in ((120.0, 1.0), (110.0, 0.0), (220.0, 1.0), (to_c, 0.0)):
        while (plant.sensor.junction_c < goal_c) if on else (plant.sensor.junction_c > goal_c):
            process_c.append(plant.sensor.junction_c)
            heat.append(on)
            plant.advance(on, STEP_S)
    return process_c, heat


def cools_s(model: OvenModel, heat: list[float], to_c: float) -> float:
    """Return how long a model cools after the same heat."""
    state, last = at_rest(20.0), len(heat) - heat[::-1].index(1.0)
    for share in heat[:last]:
        state = advance(model, state, share, 20.0, STEP_S)
    spent_s = 0.0
    while state.junction_c > to_c and spent_s < 86400.0:
        state, spent_s = advance(model, state, 0.0, 20.0, STEP_S), spent_s + STEP_S
    return spent_s


def test_a_recorded_cooling_is_foreseen_within_two_percent() -> None:
    process_c, heat = heated_and_cooled()
    took_s = heat[::-1].index(1.0) * STEP_S
    before = replace(nameplate(OVEN), wall=0.5, leak=1.2e-3)  # a wall that nobody has seen
    seen = fit_cooling(before, process_c, heat, 20.0, STEP_S)
    assert cools_s(before, heat, 45.0) != pytest.approx(took_s, rel=0.1)
    assert cools_s(seen, heat, 45.0) == pytest.approx(took_s, rel=0.02)
    assert seen.cooled_to_c == pytest.approx(45.0, abs=1.0)
    again = OvenModel.from_dict({**before.to_dict(), "cools": seen.to_dict()})
    assert again.cools == seen


def test_a_cooling_that_no_oven_draws_is_refused() -> None:
    """An opened door: the sensor falls by a hundred kelvin and comes back."""
    process_c, heat = heated_and_cooled(150.0)
    process_c[-40:-10] = [reads_c - 100.0 for reads_c in process_c[-40:-10]]
    with pytest.raises(NoFit, match="door"):
        fit_cooling(nameplate(OVEN), process_c, heat, 20.0, STEP_S)
