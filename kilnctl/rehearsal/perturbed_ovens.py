"""Ovens that are not quite the one that was learned: constants off by up to a fifth, supply by a tenth.

Every draw follows from its seed. All of it invented.
"""

import random
from dataclasses import replace

from simulator.oven.plant import Plant, PlantData

# Each constant is drawn by itself: heat capacities, losses, couplings and the sensor's lag.
SHARE = 0.20
SUPPLY_SHARE = 0.10
AMBIENT_K = 3.0
_HELD_S, _LONGEST_S = 1800, 6 * 3600


def spread(data: PlantData, seed: int, ambient_c: float = 20.0) -> tuple[Plant, float]:
    """Return an oven near another one, and its supply as a share of nominal; same seed, same oven."""
    draw = random.Random(f"spread {seed}")

    def off(share: float = SHARE) -> float:
        return draw.uniform(1.0 - share, 1.0 + share)

    heat, loss, coupling, lag = off(), off(), off(), off()
    wall = replace(
        data.wall,
        capacities=_times(data.wall.capacities, heat),
        shapes=_times(data.wall.shapes, loss),
    )
    other = replace(
        data,
        element_capacity=data.element_capacity * off(),
        element_area_m2=data.element_area_m2 * coupling,
        element_film=data.element_film * coupling,
        film=data.film * off(),
        leak=data.leak * loss,
        wall=wall,
        sheath=data.sheath * lag,
        junction_s=data.junction_s * lag,
    )
    volts = off(SUPPLY_SHARE)
    return Plant(other, ambient_c + draw.uniform(-AMBIENT_K, AMBIENT_K)), volts


def warmed(plant: Plant, at_c: float) -> Plant:
    """Return an oven as the heat before has left it: held at a temperature for half an hour."""
    held_s = at_s = 0
    while held_s < _HELD_S and at_s < _LONGEST_S:
        plant.step(1.0 if plant.sensor.junction_c < at_c else 0.0, 1.0)
        held_s += plant.sensor.junction_c > at_c - 5.0
        at_s += 1
    plant.energy_j = plant.lost_j = 0.0
    plant.peak_element_c, plant.peak_air_c = plant.element_c, plant.air_c
    plant.peak_place_c = plant.sensor.junction_c
    return plant


def plant_near(
    data: PlantData, seed: int, ambient_c: float = 20.0, at_c: float | None = None
) -> tuple[Plant, float]:
    """Return `spread`, cold or warmed to a temperature."""
    plant, volts = spread(data, seed, ambient_c)
    return (plant if at_c is None else warmed(plant, at_c)), volts


def _times(values: tuple[float, ...], factor: float) -> tuple:  # type: ignore[type-arg]
    return tuple(value * factor for value in values)
