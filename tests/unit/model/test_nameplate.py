"""The model of an oven that has not been learned: marked so, and wide."""

from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import PARAMETERS

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")


@pytest.mark.parametrize("build", ["brick", "fibre", "heavy", "leaky", "fan"])
def test_a_nameplate_model_is_marked_not_learned_and_wide(build: str) -> None:
    """Good to a factor of two, so its constants' logarithms have a deviation of more than 0.45."""
    model = nameplate(OVEN.model_copy(update={"build": build}))
    assert not model.learned
    assert len(model.covariance) == len(PARAMETERS)
    assert all(row[at] > 0.2 for at, row in enumerate(model.covariance))
