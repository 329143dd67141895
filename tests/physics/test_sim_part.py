"""Heating of a plate against the closed form, against worked times, and against a fine slab by solve_ivp."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simulator.oven import steel
from simulator.oven.part import SIGMA, Part


def emission(at_c: float) -> float:
    return SIGMA * (at_c + 273.15) ** 4


def seconds_to(goal_c: float, part: Part, oven_c: float, film: float, dt_s: float = 0.5) -> float:
    """Return when the mean of the part reaches the goal, interpolated inside the last step."""
    seen, now_s = emission(oven_c), 0.0
    while True:
        before_c = part.mean_c
        part.step(seen, oven_c, film, dt_s)
        if part.mean_c >= goal_c:
            return now_s + dt_s * (goal_c - before_c) / (part.mean_c - before_c)
        now_s += dt_s


# 5 mm plate, 20 degC into a steady 830 degC, both faces, emissivity 0.8, density 7850, EN 1993-1-2 heat
# capacity: worked with solve_ivp (rtol 1e-9), lumped, outside this project.
@pytest.mark.parametrize(
    ("film", "goal_c", "expected_s"),
    [(0, 820, 401.6), (0, 825, 443.3), (0, 828, 497.5), (10, 820, 380.4), (10, 825, 420.5), (10, 828, 472.5)],
)
def test_5_mm_plate_into_830(film: float, goal_c: float, expected_s: float) -> None:
    assert seconds_to(goal_c, Part(section_mm=5), 830.0, film) == pytest.approx(expected_s, rel=0.005)


@pytest.mark.parametrize(("mm", "expected_s"), [(2, 168), (3, 252), (8, 673), (12.7, 1068), (25, 2102)])
def test_time_to_825_by_thickness(mm: float, expected_s: float) -> None:
    # The worked times are lumped; the part's cooler core (Biot 0.1 at 21.5 mm) costs a little more.
    slower = 1.0 + 0.0012 * mm
    time_s = seconds_to(825.0, Part(section_mm=mm), 830.0, 10.0)
    assert expected_s * 0.995 <= time_s <= expected_s * slower * 1.01


# Tempering oven at 200 degC, 5 mm plate (worked the same way): oxidised still air, bright, fan.
@pytest.mark.parametrize(
    ("emissivity", "film", "goal_c", "expected_s"),
    [
        (0.8, 8, 195, 1462),
        (0.8, 8, 198, 1814),
        (0.3, 8, 195, 2520),
        (0.8, 25, 195, 861),
        (0.8, 25, 198, 1077),
    ],
)
def test_5_mm_plate_into_200(emissivity: float, film: float, goal_c: float, expected_s: float) -> None:
    part = Part(section_mm=5, emissivity=emissivity)
    assert seconds_to(goal_c, part, 200.0, film, 1.0) == pytest.approx(expected_s, rel=0.005)


def test_radiation_alone_follows_the_closed_form() -> None:
    """Above 900 degC the standard's heat capacity is a constant 650, where the closed form holds.

    The form is lumped: a thin plate, so that the surface does not run ahead of the mean.
    """
    oven_k, start_k, thickness_m = 1423.15, 1178.15, 0.001

    def closed_form_s(goal_k: float) -> float:
        # Incropera-type: t = rho c d / (4 n eps sigma Ts^3) [ln((Ts+T)/(Ts-T)) + 2 atan(T/Ts)], from T0 to T
        def f(t: float) -> float:
            return math.log((oven_k + t) / (oven_k - t)) + 2 * math.atan(t / oven_k)

        return 7850 * 650 * thickness_m / (4 * 2 * 0.8 * SIGMA * oven_k**3) * (f(goal_k) - f(start_k))

    for goal_c in (950.0, 1050.0, 1145.0):
        part = Part(section_mm=1, at_c=start_k - 273.15)
        time_s = seconds_to(goal_c, part, oven_k - 273.15, 0.0, 0.02)
        assert time_s == pytest.approx(closed_form_s(goal_c + 273.15), rel=0.005)


@pytest.mark.parametrize("at_c", [950.0, 1100.0, 1800.0])
def test_beyond_the_table_heat_capacity_stays_650(at_c: float) -> None:
    part = Part(section_mm=5, at_c=at_c)
    before_j = part.heat_j()
    part.step(emission(at_c), at_c, 0.0, 1.0)
    assert part.mean_c == pytest.approx(at_c, abs=0.01)
    part.step(emission(at_c + 100), at_c, 0.0, 10.0)
    gained_k = (part.heat_j() - before_j) / part.mass_kg / 650.0
    assert part.mean_c == pytest.approx(at_c + gained_k, abs=0.01)


def test_one_face_takes_twice_as_long() -> None:
    one = seconds_to(600.0, Part(section_mm=5, faces=1), 830.0, 10.0)
    two = seconds_to(600.0, Part(section_mm=5, faces=2), 830.0, 10.0)
    assert one == pytest.approx(2 * two, rel=0.02)


def slab_faces(mm: float, oven_c: float, film: float, end_s: float, cells: int = 40) -> tuple[float, float]:
    """Return surface and core of a plate of `cells` slices over its half thickness, by solve_ivp."""
    dx = mm / 2000 / cells
    k = 35.0

    def rhs(_: float, t: np.ndarray) -> np.ndarray:
        surface = t[0]
        for _i in range(5):
            flux = 0.8 * (emission(oven_c) - emission(surface)) + film * (oven_c - surface)
            surface = t[0] + flux * dx / 2 / k
        flows = np.concatenate(([flux], -k * np.diff(t) / dx, [0.0]))
        heat = np.array([steel.heat_capacity(x) for x in t])
        return (flows[:-1] - flows[1:]) / (7850 * heat * dx)

    end = solve_ivp(rhs, (0, end_s), np.full(cells, 20.0), method="BDF", rtol=1e-6, atol=1e-4).y[:, -1]
    return float(end[0]), float(end[-1])


@pytest.mark.parametrize("end_s", [300.0, 700.0])
def test_surface_and_core_of_a_25_mm_plate(end_s: float) -> None:
    part = Part(section_mm=25)
    for _ in range(int(end_s)):
        part.step(emission(830.0), 830.0, 10.0, 1.0)
    surface_c, core_c = slab_faces(25, 830.0, 10.0, end_s)
    assert part.surface_c - part.core_c == pytest.approx(surface_c - core_c, rel=0.3)
    assert part.core_c == pytest.approx(core_c, abs=6.0)


def test_heat_taken_is_heat_stored() -> None:
    part = Part(section_mm=5)
    before_j, taken_j = part.heat_j(), 0.0
    for _ in range(500):
        surface_c = part.surface_c
        radiation_w = part.step(emission(830.0), 830.0, 10.0, 1.0)
        taken_j += radiation_w + 10.0 * (830.0 - surface_c) * part.area_m2
    assert part.heat_j() - before_j == pytest.approx(taken_j, rel=1e-9)
    assert part.mean_c > 800.0
