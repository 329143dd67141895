"""A rehearsed oven is learned like a real one."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.rehearsal.learning_heat import learned_by_rehearsal


@pytest.mark.on_demand
def test_a_rehearsed_oven_can_be_learned() -> None:
    model = learned_by_rehearsal((bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8"))
    assert model.learned
    assert model.residual_k < 1.0
