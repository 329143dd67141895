"""Whole ovens: energy balance, solve_ivp, orders of magnitude, determinism, supply and speed of heating."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simulator.boards.board import Board
from simulator.boards.faults import parse_fault
from simulator.oven import ovens
from simulator.oven.part import SIGMA, Part
from simulator.oven.plant import Plant
from simulator.oven.wall import shell_loss

PLANTS = [(name, seed) for name in ovens.FAMILIES for seed in (1, 2, 3)]


def heated(plant: Plant, seconds: int, share: float = 1.0) -> Plant:
    for _ in range(seconds):
        plant.step(share, 1.0)
    return plant


@pytest.mark.parametrize(("family", "seed"), PLANTS)
def test_energy_closes_over_a_heat_with_part_and_door(family: str, seed: int) -> None:
    plant = ovens.random_oven(family, seed)
    plant.part = Part(section_mm=6, mass_kg=0.8, at_c=plant.ambient_c)
    start_j = plant.stored_j()
    heated(plant, 1500)
    plant.door_open = True
    heated(plant, 60, 0.0)
    plant.door_open = False
    heated(plant, 3000, 0.4)
    kept_j = plant.stored_j() - start_j
    assert plant.energy_j > 5e5
    assert abs(plant.energy_j - plant.lost_j - kept_j) < 1e-3 * plant.energy_j


def by_solve_ivp(plant: Plant, share: float, end_s: float) -> np.ndarray:
    """Integrate the same masses as written down here, not as stepped there; no part, door shut."""
    d, w = plant.data, plant.data.wall
    a, b, c = w.lining.conductivity
    ambient = plant.ambient_c

    def emission(t: float) -> float:
        return SIGMA * (t + 273.15) ** 4

    def rhs(_: float, y: np.ndarray) -> list[float]:
        element, air, t0, t1, t2, t3, t4, sheath, junction = y
        power = share * d.power_w / (1 + 4e-5 * (element - 20))
        radiated = d.element_area_m2 * (emission(element) - emission(t0))
        to_air = d.element_film * (element - air)
        face_to_air = d.film * d.face_m2 * (t0 - air)
        t = [t0, t1, t2, t3, t4]
        q = [
            (a + b * (m := (x + z) / 2) + c * m * m) * s * (x - z)
            for x, z, s in zip(t, t[1:], w.shapes, strict=False)
        ]
        flows = [radiated - face_to_air, *q, w.outer_m2 * shell_loss(t4, ambient)]
        walls = [(flows[i] - flows[i + 1]) / w.capacities[i] for i in range(5)]
        seen = emission(t0) + d.sight * (emission(element) - emission(t0))
        warm = d.sheath_film * (air - sheath) + 0.8 * (seen - emission(sheath))
        tip = sheath - d.stem * (sheath - ambient)
        return [
            (power - radiated - to_air) / d.element_capacity,
            (to_air + face_to_air - d.leak * (air - ambient)) / d.air_capacity,
            *walls,
            warm / d.sheath,
            (tip - junction) / d.junction_s,
        ]

    return solve_ivp(rhs, (0, end_s), np.full(9, ambient), method="LSODA", rtol=1e-8, atol=1e-6).y[:, -1]


@pytest.mark.parametrize(
    ("plant", "end_s"),
    [(ovens.hardening_furnace(), 7200), (ovens.tempering_oven(), 900)],
    ids=("furnace", "oven"),
)
def test_one_second_steps_agree_with_solve_ivp(plant: Plant, end_s: int) -> None:
    element, air, face, *_, sheath, junction = by_solve_ivp(plant, 1.0, end_s)
    heated(plant, end_s)
    assert plant.element_c == pytest.approx(element, abs=0.5)
    assert plant.air_c == pytest.approx(air, abs=0.5)
    assert plant.wall.face_c == pytest.approx(face, abs=0.5)
    assert plant.sensor.sheath_c == pytest.approx(sheath, abs=0.5)
    assert plant.sensor.junction_c == pytest.approx(junction, abs=0.5)


def seconds_to(plant: Plant, goal_c: float) -> float:
    for second in range(40_000):
        if plant.sensor.junction_c >= goal_c:
            return second
        plant.step(1.0, 1.0)
    raise AssertionError("never got there")


# Lumped demo plants, invented: power W, heat capacity J/K, loss W/K. The simulated ovens have many masses and
# should come near what one mass says: t = -tau ln((P - UA dT) / P), T = To + P/UA (1 - e^(-t/tau)).
FURNACE, OVEN = (2400.0, 18e3, 1.6), (1200.0, 4e3, 2.6)


def lumped_seconds(plant: tuple[float, float, float], goal_c: float) -> float:
    power_w, capacity, loss = plant
    return -capacity / loss * math.log((power_w - loss * (goal_c - 20.0)) / power_w)


def lumped_after(plant: tuple[float, float, float], start_c: float, seconds: float, share: float) -> float:
    power_w, capacity, loss = plant
    end_c = 20.0 + share * power_w / loss
    return end_c + (start_c - end_c) * math.exp(-seconds * loss / capacity)


CASES = [(ovens.hardening_furnace, FURNACE, 830.0), (ovens.tempering_oven, OVEN, 218.0)]


@pytest.mark.parametrize(("make", "lumped", "goal_c"), CASES, ids=("furnace", "oven"))
def test_full_power_heat_takes_what_the_lumped_plant_takes(
    make: Callable[[], Plant], lumped: tuple[float, float, float], goal_c: float
) -> None:
    plant = make()
    assert seconds_to(plant, goal_c) == pytest.approx(lumped_seconds(lumped, goal_c), rel=0.15)
    assert plant.element_c > plant.wall.face_c + 100.0  # common practice: elements 100 K and more ahead


def held(plant: Plant, goal_c: float, seconds: int) -> float:
    """Hold a temperature with a slow integral and return the duty that it takes."""
    duty = 0.5
    seconds_to(plant, goal_c - 2.0)
    for _ in range(seconds):
        error_k = goal_c - plant.sensor.junction_c
        duty = min(1.0, max(0.0, duty + error_k * 2e-5))
        plant.step(min(1.0, max(0.0, duty + 0.02 * error_k)), 1.0)
    return duty


@pytest.mark.parametrize(("make", "lumped", "goal_c"), CASES, ids=("furnace", "oven"))
def test_holding_stuck_on_and_shut_cooling_come_near_the_lumped_plant(
    make: Callable[[], Plant], lumped: tuple[float, float, float], goal_c: float
) -> None:
    plant = make()
    power_w, _, loss = lumped
    assert held(plant, goal_c, 3 * 3600) == pytest.approx(loss * (goal_c - 20.0) / power_w, rel=0.15)
    heated(plant, 600)
    stuck_c = lumped_after(lumped, goal_c, 600.0, 1.0)
    assert plant.sensor.junction_c - goal_c == pytest.approx(stuck_c - goal_c, rel=0.4)
    held(plant, goal_c, 3600)
    heated(plant, 1800, 0.0)
    assert plant.sensor.junction_c == pytest.approx(lumped_after(lumped, goal_c, 1800.0, 0.0), rel=0.25)


def test_steady_oven_loses_what_it_takes() -> None:
    plant = heated(ovens.tempering_oven(), 40_000, 0.4)
    before_j = plant.lost_j
    heated(plant, 100, 0.4)
    assert (plant.lost_j - before_j) / 100 == pytest.approx(plant.heat_w(0.4), rel=1e-3)


def test_heat_goes_with_the_square_of_the_volts() -> None:
    plant = ovens.hardening_furnace()
    full_w = plant.heat_w(1.0)
    plant.volts = 0.9 * plant.data.supply_v
    assert plant.heat_w(1.0) == pytest.approx(0.81 * full_w)


@pytest.mark.parametrize("family", ovens.FAMILIES)
def test_random_ovens_reach_their_work_and_stay_apart(family: str) -> None:
    goal_c = 218.0 if family in ("leaky", "fan") else 850.0
    times = [seconds_to(ovens.random_oven(family, seed), goal_c) for seed in range(4)]
    assert max(times) < 5 * 3600
    assert len(set(times)) > 2


@pytest.mark.parametrize("power_w", [900.0, 4800.0])
def test_an_oven_of_another_size_heats_like_its_family(power_w: float) -> None:
    """Everything grows with the power, so the time to temperature stays."""
    own_s = seconds_to(ovens.oven_like("brick", 2400.0), 600.0)
    assert seconds_to(ovens.oven_like("brick", power_w), 600.0) == pytest.approx(own_s, rel=0.02)
    drawn = ovens.random_oven("brick", 5, power_w=power_w, supply_v=120.0)
    assert drawn.data.power_w == pytest.approx(power_w, rel=0.13)
    assert drawn.heat_w(1.0) == pytest.approx(drawn.data.power_w, rel=0.01)


def test_an_unknown_family_is_refused() -> None:
    with pytest.raises(ValueError, match="no family"):
        ovens.random_oven("steam", 1)


def test_the_same_seed_gives_the_same_heat() -> None:
    def counts(seed: int) -> list[int]:
        board = Board(ovens.random_oven("brick", 7), seed=seed)
        board.write("holding", 0, 60)
        board.write("coil", 1, 1)
        board.write("coil", 0, 1)
        seen = []
        for _ in range(50):
            board.step(1.0)
            seen.append(board.read("input", 0))
        return seen

    assert counts(3) == counts(3)
    assert counts(3) != counts(4)


def test_long_steps_are_cut_into_seconds() -> None:
    one, other = ovens.tempering_oven(), ovens.tempering_oven()
    heated(one, 600)
    for _ in range(60):
        other.advance(1.0, 10.0)
    assert other.sensor.junction_c == pytest.approx(one.sensor.junction_c, abs=1e-6)


def test_the_sensor_is_quicker_in_the_heat() -> None:
    """Radiation grows with the cube of the temperature: lag at 830 degC far below that at 30."""

    def lag_s(at_c: float) -> float:
        plant = Plant(ovens.hardening_furnace().data, at_c=at_c)
        sensor, second = plant.sensor, 0
        emission = SIGMA * (at_c + 10 + 273.15) ** 4
        goal_c = sensor.junction_c + 6.3
        while sensor.junction_c < goal_c and second < 1000:
            sensor.step(at_c + 10, emission, emission, at_c + 10, 0.1)
            second += 1
        return second / 10

    assert lag_s(830.0) < 0.5 * lag_s(30.0)


@pytest.mark.parametrize("family", ovens.FAMILIES)
def test_a_runaway_of_hours_stays_finite(family: str) -> None:
    """Relay and contactor welded at one and a half times the volts: absurd, and no reason to fall over."""
    board = Board(ovens.random_oven(family, 3))
    board.load(Part(section_mm=3))
    board.schedule(
        [parse_fault(text) for text in ("relay-welded@0", "contactor-welded@0", "supply-factor@0:1.5")]
    )
    for _ in range(5 * 60):
        board.step(60.0)
    truth = board.truth()
    assert truth.part_core_c is not None
    assert truth.place_c < truth.element_c < 3000.0
    assert board.plant.stored_j() == pytest.approx(board.plant.energy_j - board.plant.lost_j, rel=0.2)
