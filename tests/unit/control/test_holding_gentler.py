"""A hold that becomes gentler: it aims further ahead, and asks for the same heat."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.door_recovery import AfterDoor
from kilnctl.control.foresight import Foresight
from kilnctl.control.holding import Holding
from kilnctl.control.pid_tuning import settled
from kilnctl.model.filter import OvenFilter
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, holding_duty
from kilnctl.model.trust import TRUST

OVEN = load_oven(Path("profiles/ovens/hardening-furnace.toml"))
MODEL = replace(nameplate(OVEN), learned=True)
STATE = settled(MODEL, 600.0, OVEN.ambient_c)
for _ in range(300):  # until its sensor has come to rest too
    STATE = advance(MODEL, STATE, holding_duty(MODEL, 600.0, OVEN.ambient_c), OVEN.ambient_c, 2.0)
GOAL_C = STATE.junction_c


def look(at_s: float) -> ControlInput:
    return ControlInput(at_s, 1.0, GOAL_C, GOAL_C, GOAL_C, "soak", True, lambda ahead_s: GOAL_C)


def test_what_a_hold_has_found_to_be_missing_stays_when_it_becomes_gentler() -> None:
    """Kept in kelvins, the trim was worth a third of its heat further ahead: an open coil sagged by 6 K."""
    seen = OvenFilter(MODEL, TRUST)
    seen.step(GOAL_C, 0.0, OVEN.ambient_c, 1.0)
    foresight = Foresight(OVEN, seen, AfterDoor())
    holding, at_s = Holding(OVEN, foresight), 0.0
    delay_s = foresight.delay_at_s(GOAL_C)

    def asks() -> float:
        return holding.evenly("hold", look(at_s), STATE, GOAL_C)

    def finds(gap_k: float) -> None:
        asks()
        holding.settle(look(at_s), gap_k, True)

    bare = asks()
    while at_s < 1.6 * delay_s:  # slowly coming home, so that no PI takes over
        finds(1.2 - 0.3 * at_s / delay_s)
        at_s += 1.0
    before = asks() - bare
    while holding.eased == 1.0:
        before = asks() - bare
        finds(0.9 * math.sin(math.pi * at_s / delay_s))
        at_s += 1.0
    at_s += 30.0
    assert 0.02 < before < 0.1
    assert asks() - bare == pytest.approx(before, rel=0.2)
