"""What an oven can reach and when: closed forms of a one-mass oven, C dT/dt = P - UA (T - ambient).

A real oven has walls that go on soaking heat for hours, so these times are the short end; they say where a
ramp saturates and where natural cooling becomes slower than the ramp, before anything is heated.
"""

import math
from dataclasses import dataclass

from kilnctl.config.oven import Oven


@dataclass(frozen=True, slots=True)
class Plant:
    """One oven as one mass: full power, heat capacity, loss, and the room around it."""

    power_w: float
    heat_j_per_k: float
    loss_w_per_k: float
    ambient_c: float = 20.0
    learned: bool = False

    @property
    def ceiling_c(self) -> float:
        """Return the temperature at which full power only covers the loss."""
        return self.ambient_c + self.power_w / self.loss_w_per_k

    @property
    def time_constant_s(self) -> float:
        """Return heat capacity over loss."""
        return self.heat_j_per_k / self.loss_w_per_k


# J/K and W/K per watt of power for each build: invented middle values, until the oven has been learned.
_PER_WATT = {
    "brick": (7.5, 1 / 1500),
    "fibre": (2.5, 1 / 1500),
    "heavy": (15.0, 1 / 1300),
    "leaky": (3.33, 1 / 461),
    "fan": (4.0, 1 / 500),
}


def nameplate_plant(oven: Oven) -> Plant:
    """Return a guess of an oven from its power and build, not learned."""
    heat, loss = _PER_WATT[oven.build]
    return Plant(oven.power_w, heat * oven.power_w, loss * oven.power_w, oven.ambient_c)


def saturates_at_c(plant: Plant, rate_c_per_h: float) -> float:
    """Return the temperature above which the oven cannot follow a heating rate."""
    return plant.ambient_c + (plant.power_w - plant.heat_j_per_k * rate_c_per_h / 3600.0) / plant.loss_w_per_k


def heat_up_s(plant: Plant, from_c: float, to_c: float) -> float:
    """Return the time at full power between two temperatures; infinite where the oven never gets there."""
    if to_c <= from_c:
        return 0.0
    if to_c >= plant.ceiling_c:
        return math.inf
    return plant.time_constant_s * math.log((plant.ceiling_c - from_c) / (plant.ceiling_c - to_c))


def arrival_s(plant: Plant, from_c: float, to_c: float, rate_c_per_h: float | None) -> float:
    """Return the time of a ramp: at its rate as far as the oven follows, then at full power."""
    if rate_c_per_h is None:
        return heat_up_s(plant, from_c, to_c)
    if to_c <= from_c:
        return 0.0
    turn_c = min(max(saturates_at_c(plant, rate_c_per_h), from_c), to_c)
    return (turn_c - from_c) / rate_c_per_h * 3600.0 + heat_up_s(plant, turn_c, to_c)


def cool_s(plant: Plant, from_c: float, to_c: float) -> float:
    """Return the time of cooling shut with the heat off; infinite at or below ambient."""
    if to_c >= from_c:
        return 0.0
    if to_c <= plant.ambient_c:
        return math.inf
    return plant.time_constant_s * math.log((from_c - plant.ambient_c) / (to_c - plant.ambient_c))


def natural_limit_c(plant: Plant, rate_c_per_h: float) -> float:
    """Return the temperature below which the shut oven cools slower than a cooling rate."""
    return plant.ambient_c + rate_c_per_h / 3600.0 * plant.time_constant_s
