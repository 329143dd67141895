"""What one tick of control costs in processor time: PID path and model path beside a bare library call.

Asked: the model path within 1 ms a tick. Each heats the small oven from cold into a hold; the library gets
the readings of the same heat. On a learned oven both carry the watchdog's eye. Printed, not asserted:
run with `pytest -m on_demand -s tests/bench/control/test_cost.py`.
"""

import time
from pathlib import Path

import pytest
from simple_pid import PID

from kilnctl.config.oven import load_oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.heat_controller import HeatController
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, advance, at_rest

pytestmark = pytest.mark.on_demand
OVEN = load_oven(Path(__file__).parents[3] / "profiles/ovens/tempering-oven.toml")
TICKS, GOAL_C = 3600, 218.0


def spent_us(times_ns: list[int]) -> tuple[float, float]:
    """Return mean and longest of the calls in microseconds."""
    return sum(times_ns) / len(times_ns) / 1e3, max(times_ns) / 1e3


def heat(path: str, model: OvenModel, learned: bool = True) -> tuple[list[int], list[float]]:
    """Return processor time of every tick and the readings of one heat."""
    controller = HeatController(OVEN.model_copy(update={"controller": path}), model, learned)
    plant, spent, readings = at_rest(OVEN.ambient_c), [], []
    for tick in range(TICKS):
        readings.append(plant.junction_c)
        look = ControlInput(
            float(tick), 1.0, plant.junction_c, GOAL_C, GOAL_C, "ramp", True, lambda _: GOAL_C
        )
        before = time.process_time_ns()
        duty = controller.step(look).duty
        spent.append(time.process_time_ns() - before)
        plant = advance(model, plant, duty, OVEN.ambient_c, 1.0)
    return spent, readings


def bare(readings: list[float]) -> list[int]:
    """Return processor time of the library's own call for the same readings."""
    pid, spent = PID(0.02, 1e-4, 0.0, setpoint=GOAL_C, sample_time=None, output_limits=(0.0, 1.0)), []
    for reading_c in readings:
        before = time.process_time_ns()
        pid(reading_c, dt=1.0)
        spent.append(time.process_time_ns() - before)
    return spent


def test_cost_of_one_tick() -> None:
    model = nameplate(OVEN)
    by_pid, readings = heat("pid", model)
    rows = {"bare library call": bare(readings), "PID path": by_pid}
    rows["PID path, no watchdog"] = heat("pid", model, learned=False)[0]
    rows["model path"] = heat("model", model)[0]
    least_us, _ = spent_us(rows["bare library call"])
    print(f"\n{'':22}{'mean us':>10}{'longest us':>12}{'x bare':>8}")
    for what, spent in rows.items():
        mean_us, longest_us = spent_us(spent)
        print(f"{what:22}{mean_us:10.1f}{longest_us:12.0f}{mean_us / least_us:8.1f}")
