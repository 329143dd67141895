"""A model learned of a simulated oven, as its owner would have one: fitted to one heat-up."""

from functools import lru_cache

from kilnctl.config.oven import Oven
from kilnctl.learning.fitting import NoFit, fit
from kilnctl.learning.identification_run import LearningState, advance_learning, plan_learning
from kilnctl.model.oven_model import OvenModel, nameplate
from kilnctl.rehearsal.dry_run import plant_for
from kilnctl.rehearsal.virtual_io import FEED_S
from simulator.boards.board import Board


def learn(oven: Oven, seed: int = 0) -> OvenModel:
    """Heat a simulated oven up as learning does, and return the fitted model. Raises NoFit."""
    board = Board(plant_for(oven, seed), seed=seed)
    plan, state = plan_learning(oven), LearningState()
    process_c, heat = [], []
    carried = 0.0
    while not state.over:
        measured_c = board.read("input", 0) * 0.1
        state = advance_learning(plan, state, measured_c, 1.0)
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
    return fit(nameplate(oven), process_c, heat, oven.ambient_c, 1.0).model


@lru_cache(maxsize=8)
def learned_by_rehearsal(oven_text: str, seed: int = 0) -> OvenModel:
    """Return the model of an oven file's text, learned once in this process."""
    from kilnctl.errors import ConfigError
    from kilnctl.tomlfile import loads

    return learn(loads(oven_text, Oven, ConfigError, "oven"), seed)
