"""How fast the simulator is: a table. On demand; no time is asserted.

The ratio to a scipy solve_ivp run of the same masses says more than the absolute figure of one machine.
"""

import time
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven import ovens
from simulator.oven.part import SIGMA, Part
from simulator.oven.plant import Plant
from simulator.oven.wall import shell_loss

pytestmark = pytest.mark.on_demand

HEAT_S = 7200


def seconds_of(act: Callable[[], None], repeats: int = 3) -> float:
    """Return the shortest of some runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        act()
        times.append(time.perf_counter() - start)
    return min(times)


def plant_alone() -> None:
    plant = ovens.hardening_furnace()
    for _ in range(HEAT_S):
        plant.step(1.0, 1.0)


def plant_with_part() -> None:
    plant = ovens.hardening_furnace()
    plant.part = Part(section_mm=6)
    for _ in range(HEAT_S):
        plant.step(1.0, 1.0)


def board(part: bool = True, fault: str = "") -> None:
    unit = Board(ovens.hardening_furnace())
    unit.load(Part(section_mm=6) if part else None)
    if fault:
        unit.schedule([parse_fault(fault)])
    for _ in range(HEAT_S):
        unit.write("holding", 0, 10)
        unit.write("coil", 1, 1)
        unit.write("coil", 0, 1)
        unit.step(1.0)
        unit.read("input", 0)
        unit.read("coil", 0)
        unit.read("coil", 1)


def by_solve_ivp() -> None:
    plant: Plant = ovens.hardening_furnace()
    d, w = plant.data, plant.data.wall
    a, b, c = w.lining.conductivity

    def emission(t: float) -> float:
        return SIGMA * (t + 273.15) ** 4

    def rhs(_: float, y: np.ndarray) -> list[float]:
        element, air, *t = y
        radiated = d.element_area_m2 * (emission(element) - emission(t[0]))
        to_air, face = d.element_film * (element - air), d.film * d.face_m2 * (t[0] - air)
        means = [(x + z) / 2 for x, z in pairwise(t)]
        gaps = zip(means, w.shapes, t, t[1:], strict=False)
        flows = [radiated - face, *((a + b * m + c * m * m) * s * (x - z) for m, s, x, z in gaps)]
        flows.append(w.outer_m2 * shell_loss(t[-1], 20.0))
        return [
            (d.power_w / (1 + 4e-5 * (element - 20)) - radiated - to_air) / d.element_capacity,
            (to_air + face - d.leak * (air - 20.0)) / d.air_capacity,
            *((flows[i] - flows[i + 1]) / w.capacities[i] for i in range(5)),
        ]

    ticks = np.arange(0.0, HEAT_S + 1)
    solve_ivp(rhs, (0, HEAT_S), np.full(7, 20.0), method="LSODA", rtol=1e-6, t_eval=ticks)


def by_solve_ivp_tick_by_tick() -> None:
    """Two minutes of what a controller needs: a new input each second."""
    state = np.full(2, 20.0)

    def rhs(_: float, y: np.ndarray) -> list[float]:
        return [(2400.0 - 1.6 * (y[0] - y[1])) / 300.0, (1.6 * (y[0] - y[1]) - 1.6 * (y[1] - 20)) / 18000.0]

    for _ in range(120):
        state = solve_ivp(rhs, (0, 1), state, rtol=1e-6).y[:, -1]


def test_speed_table(capsys: pytest.CaptureFixture[str]) -> None:
    rows = [
        ("plant and sensor", seconds_of(plant_alone), HEAT_S),
        ("plant, sensor, part", seconds_of(plant_with_part), HEAT_S),
        ("board with part, 3 writes and 3 reads a tick", seconds_of(board), HEAT_S),
        ("the same with drift and noise", seconds_of(lambda: board(fault="sensor-drift@1h")), HEAT_S),
        ("solve_ivp, one call, constant input", seconds_of(by_solve_ivp), HEAT_S),
        ("solve_ivp, two masses, a call each tick", seconds_of(by_solve_ivp_tick_by_tick), 120),
    ]
    with capsys.disabled():
        print(f"\n{'two hours of a furnace heating, 1 s ticks':<48}{'us/tick':>9}{'x real time':>14}")
        for name, took_s, ticks in rows:
            print(f"{name:<48}{took_s / ticks * 1e6:9.1f}{ticks / took_s:14,.0f}")
    assert all(took_s > 0 for _, took_s, _ in rows)
