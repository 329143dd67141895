"""Learn an invented oven as `tune` does; the fit is kept in a folder so that the bench can be resumed."""

import json
from pathlib import Path

from kilnctl.learning.fitting import fit
from kilnctl.learning.identification_run import LearningState, advance_learning, plan_learning
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel
from tests.bench.control.world import Case, Sensor


def heat_up(case: Case) -> tuple[list[float], list[float], LearningState]:
    """Return readings, heat and the end of the learning heat-up."""
    oven, plant, sensor = case.file(), case.plant(), Sensor(99)
    plan, state = plan_learning(oven), LearningState()
    readings: list[float] = []
    heats: list[float] = []
    while not state.over:
        readings.append(sensor.read(plant))
        state = advance_learning(plan, state, readings[-1], 1.0)
        heats.append(state.duty)
        plant.advance(state.duty, 1.0)
    return readings, heats, state


def learned(family: str, seed: int, kept: Path) -> OvenModel:
    """Return the model of an oven, learned once. Raises RuntimeError with the reason where it cannot be."""
    path = kept / f"{family}-{seed}.json"
    if path.exists():
        return OvenModel.from_dict(json.loads(path.read_text()))
    case = Case(family, seed)
    readings, heats, state = heat_up(case)
    if state.why:
        raise RuntimeError(f"{family} {seed}: {state.why}")
    oven = case.file()
    model = fit(nameplate(oven), readings, heats, oven.ambient_c, 1.0).model
    kept.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(model.to_dict()))
    return model
