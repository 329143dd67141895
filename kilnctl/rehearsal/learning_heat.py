"""A model learned of a simulated oven, as its owner would have one: fitted to one heat-up."""

from dataclasses import replace
from functools import lru_cache

from kilnctl.config.oven import Oven
from kilnctl.learning.fitting import NoFit, fit, fit_cooling
from kilnctl.learning.identification_run import LearningState, advance_learning, plan_learning
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel
from kilnctl.rehearsal.dry_run import plant_for
from kilnctl.rehearsal.virtual_io import FEED_S
from simulator.boards.board import Board


def learn(oven: Oven, seed: int = 0, cooled_to_c: float | None = None) -> OvenModel:
    """Heat a simulated oven up as learning does, and return the fitted model. Raises NoFit.

    With `cooled_to_c` its cooling is recorded down to there, and fitted too.
    """
    board = Board(plant_for(oven, seed), seed=seed)
    plan, state = plan_learning(oven), LearningState()
    process_c, heat = [], []
    carried = 0.0
    learned_s, measured_c = 0, oven.ambient_c
    while not state.over or (cooled_to_c is not None and measured_c > cooled_to_c):
        measured_c = board.read("input", 0) * 0.1
        if not state.over:
            state, learned_s = advance_learning(plan, state, measured_c, 1.0), learned_s + 1
        carried += state.duty
        on = carried >= 0.5
        carried -= float(on)
        process_c.append(measured_c)
        heat.append(float(on))
        # Fed first: while its dead-man has expired a board takes no "on".
        board.write("holding", 0, FEED_S)
        board.write("coil", 1, 1)
        board.write("coil", 0, int(on))
        board.step(1.0)
    if state.why:
        raise NoFit(state.why)
    model = fit(nameplate(oven), process_c[:learned_s], heat[:learned_s], oven.ambient_c, 1.0).model
    if cooled_to_c is None:
        return model
    return replace(model, cools=fit_cooling(model, process_c, heat, oven.ambient_c, 1.0))


@lru_cache(maxsize=8)
def learned_by_rehearsal(oven_text: str, seed: int = 0) -> OvenModel:
    """Return the model of an oven file's text, learned once in this process."""
    from kilnctl.errors import ConfigError
    from kilnctl.tomlfile import loads

    return learn(loads(oven_text, Oven, ConfigError, "oven"), seed)
