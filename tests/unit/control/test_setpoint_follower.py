"""What an instrument is told, number by number; whole heats on simulated ones are in tests/physics."""

from pathlib import Path
from typing import Any

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput, ControlOutput
from kilnctl.control.setpoint_follower import (
    AHEAD_S,
    BACK,
    HOLD_K,
    LET_GO_K,
    PLAN_STEP_K,
    SMOOTH_S,
    STEP_K,
    Following,
)

OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
PARK_C = 20.0
HEATER = OVEN.output.heater.model_copy(update={"kind": "set-point", "park_c": PARK_C})
FOLLOWER = OVEN.model_copy(update={"output": OVEN.output.model_copy(update={"heater": HEATER})})


class Instrument:
    """Steps the controller second by second at a plan and a temperature that the test sets."""

    def __init__(self) -> None:
        self.following, self.at_s = Following(FOLLOWER), 0.0

    def step(self, plan_c: float | None, process_c: float, **more: Any) -> ControlOutput:
        known: dict[str, Any] = {
            "at_s": self.at_s,
            "dt_s": 1.0,
            "process_c": process_c,
            "setpoint_c": plan_c,
            "goal_c": plan_c,
            "segment_kind": "soak",
            "heat_wanted": True,
            "preview": lambda _ahead_s: plan_c,
        }
        self.at_s += known["dt_s"]
        return self.following.step(ControlInput(**(known | more)))

    def rising_at(self, rate_k_per_s: float, plan_c: float, seconds: int = 300) -> list[ControlOutput]:
        """Let the oven rise to the plan from below; return what was told."""
        start_c = plan_c - rate_k_per_s * seconds
        return [self.step(plan_c, start_c + rate_k_per_s * s) for s in range(seconds + 1)]


def test_a_quiet_oven_is_told_the_plan() -> None:
    assert Instrument().step(200.0, 150.0) == ControlOutput(1.0, "set-point 200 °C", setpoint_c=200.0)
    assert Instrument().step(200.0, 200.0).duty == 0.0
    assert Instrument().step(200.0, 199.9).duty == 1.0


def test_a_plan_that_moves_is_told_in_steps_upwards_and_at_once_downwards() -> None:
    instrument = Instrument()
    told = [instrument.step(200.0 + 0.1 * n, 150.0).setpoint_c for n in range(12)]
    assert told == pytest.approx([200.0] * 5 + [200.0 + PLAN_STEP_K] * 5 + [200.0 + 2 * PLAN_STEP_K] * 2)
    assert instrument.step(200.9, 150.0).setpoint_c == 200.9  # never above the profile


@pytest.mark.parametrize("heat", [{"heat_wanted": False}, {"setpoint_c": None}])
def test_without_a_wish_for_heat_it_is_parked_and_begins_anew(heat: dict[str, Any]) -> None:
    instrument = Instrument()
    instrument.step(200.0, 150.0)
    assert instrument.step(200.0, 150.0, **heat) == ControlOutput(0.0, "parked")
    assert instrument.step(200.2, 150.0).setpoint_c == 200.2


def test_a_rise_that_would_pass_the_plan_holds_the_set_point_back_by_twice_that() -> None:
    instrument = Instrument()
    told = instrument.rising_at(0.2, 200.0, seconds=600)[-1]
    # the smoothed temperature trails by rate * (30 - 1) s, so 29 / 30 of the rise is foreseen
    over_k = 0.2 * (SMOOTH_S - 1.0) / SMOOTH_S * AHEAD_S
    assert told.mode.endswith("(held back)")
    assert told.setpoint_c == pytest.approx(200.0 - BACK * over_k, abs=STEP_K)
    assert told.duty == 0.0


def test_a_plan_that_rises_on_is_no_overshoot() -> None:
    instrument = Instrument()
    for s in range(600):
        plan_c = 80.0 + 0.2 * s
        out = instrument.step(plan_c, plan_c - 5.0, preview=lambda ahead_s, p=plan_c: p + 0.2 * ahead_s)
    assert "held back" not in out.mode
    # and where nobody knows what comes, the plan of now is what counts
    for s in range(120):
        plan_c = 200.0 + 0.2 * s
        out = instrument.step(plan_c, plan_c - 5.0, preview=lambda _ahead_s: None)
    assert "held back" in out.mode


def holds(over_k: float, held_before: bool) -> bool:
    """Return whether an oven `over_k` above a plan that it does not leave is held back."""
    instrument = Instrument()
    if held_before:
        for _ in range(200):
            instrument.step(200.0, 215.0)
    for _ in range(400):
        out = instrument.step(200.0, 200.0 + over_k)
    return "held back" in out.mode


@pytest.mark.parametrize(
    ("over_k", "held_before", "held"),
    [
        (HOLD_K, False, False),
        (HOLD_K + 0.01, False, True),
        (LET_GO_K + 0.01, True, True),
        (LET_GO_K, True, False),
    ],
)
def test_it_is_held_from_much_and_let_go_at_little(over_k: float, held_before: bool, held: bool) -> None:
    assert holds(over_k, held_before) is held


def test_a_held_set_point_moves_in_its_own_steps_and_not_below_its_park() -> None:
    instrument = Instrument()
    first_c = instrument.step(200.0, 210.0).setpoint_c
    assert first_c == 200.0 - BACK * 10.0
    # 1.9 K more foreseen is 3.8 K less told: not yet a step; 2 K is one
    instrument.following._slow_c = 300.0  # no rise is seen from here on
    assert instrument.step(200.0, 211.9).setpoint_c == first_c
    assert instrument.step(200.0, 212.0).setpoint_c == first_c - STEP_K
    assert instrument.step(60.0, 200.0).setpoint_c == PARK_C


def test_a_falling_oven_is_foreseen_to_rise_by_nothing() -> None:
    instrument = Instrument()
    for s in range(300):
        out = instrument.step(200.0, 260.0 - 0.2 * s)
    assert out.setpoint_c is not None
    assert out.setpoint_c >= 200.0 - BACK * 5.0


def test_a_long_tick_counts_whole_and_no_more() -> None:
    instrument = Instrument()
    instrument.step(200.0, 100.0)
    out = instrument.step(200.0, 205.0, dt_s=90.0)  # longer than the smoothing: the old value is forgotten
    assert out.setpoint_c == 200.0
