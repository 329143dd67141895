"""The wall against the worked steady example for class 23 firebrick, and its transient against solve_ivp."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simulator.oven.wall import BRICK_23, Wall, shell_loss, slab


def steady(face_c: float, thickness_m: float) -> tuple[float, float]:
    """Return shell temperature and loss per m2 when nothing changes any more."""
    wall = Wall(slab(BRICK_23, thickness_m, 1.0, 1.0), 20.0)
    loss_w = 0.0
    for _ in range(40_000):
        wall.face_c = face_c
        loss_w = wall.step(0.0, 20.0, 5.0)
    return wall.shell_c, loss_w


# Worked from the brick's figures .14 (260), .16 (540), .19 (815), .24 (1090 degC), still air 20 degC,
# emissivity 0.9; the film coefficient of still air is uncertain by 10 %, hence the tolerance.
@pytest.mark.parametrize(
    ("face_c", "mm", "shell_c", "loss_w"),
    [
        (830, 64, 134, 1694),
        (830, 76, 122, 1448),
        (830, 114, 97, 993),
        (830, 152, 83, 757),
        (1050, 114, 117, 1348),
    ],
)
def test_steady_wall(face_c: float, mm: float, shell_c: float, loss_w: float) -> None:
    shell, loss = steady(face_c, mm / 1000)
    assert shell == pytest.approx(shell_c, abs=5.0)
    assert loss == pytest.approx(loss_w, rel=0.04)


def test_conductivity_meets_the_brick_figures() -> None:
    a, b, c = BRICK_23.conductivity
    for at_c, k in ((260, 0.14), (540, 0.16), (815, 0.19), (1090, 0.24)):
        assert a + b * at_c + c * at_c**2 == pytest.approx(k, rel=0.05)


def fine_wall(thickness_m: float, heat_w: float, end_s: float, cells: int = 60) -> tuple[float, float]:
    """Return face temperature and stored heat per m2 of a wall of many cells, heated by a constant flux."""
    a, b, c = BRICK_23.conductivity
    dx = thickness_m / cells
    heat = BRICK_23.density * BRICK_23.heat_capacity * dx

    def rhs(_: float, t: np.ndarray) -> np.ndarray:
        m = (t[1:] + t[:-1]) / 2
        between = (a + b * m + c * m * m) * (t[:-1] - t[1:]) / dx
        flows = np.concatenate(([heat_w], between, [shell_loss(t[-1], 20.0)]))
        return (flows[:-1] - flows[1:]) / heat

    # BDF keeps differences in memory that it has not written yet: what lies there may be no number.
    with np.errstate(invalid="ignore", over="ignore"):
        t = solve_ivp(rhs, (0, end_s), np.full(cells, 20.0), method="BDF", rtol=1e-6).y[:, -1]
    return float(t[0] + heat_w * dx / 2 / (a + b * t[0] + c * t[0] ** 2)), float(heat * (t - 20.0).sum())


def test_five_nodes_store_what_a_fine_wall_stores() -> None:
    """Two hours of 1500 W/m2: the few nodes cost accuracy, and this says how much."""
    data = slab(BRICK_23, 0.114, 1.0, 1.0)
    wall = Wall(data, 20.0)
    before_j = wall.heat_j()
    for _ in range(7200):
        wall.step(1500.0, 20.0, 1.0)
    face_c, stored_j = fine_wall(0.114, 1500.0, 7200.0)
    assert wall.heat_j() - before_j == pytest.approx(stored_j, rel=0.015)
    assert wall.face_c == pytest.approx(face_c, rel=0.05)


def test_still_air_takes_about_13_w_per_m2_k_at_97_degrees() -> None:
    # 993 W/m2 at 97 degC from the same worked example.
    assert shell_loss(97.0, 20.0) == pytest.approx(993, rel=0.04)
