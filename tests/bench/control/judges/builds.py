"""What ovens are built of: lining, air, element, sensor, charge, each drawn. All data invented; plain
heat-transfer figures.

None is built like kilnctl's model (element, face, four layers, load, sensor): linings have eight cells and a
skin, air and door are masses, convection is natural or carried by a stream, what sees what is drawn.
"""

import random
from dataclasses import dataclass
from typing import Any

from tests.bench.control.judges.habits import Habit
from tests.bench.control.judges.network import SIGMA, Plan

CELLS, GROWS = 8, 1.5
# Conductivity at 0 degC and its rise per degC, heat capacity per volume, thickness: brick, fibre, wool.
BRICK, FIBRE, WOOL = "brick", "fibre", "wool"
_LININGS = {
    BRICK: (0.22, 7e-4, 6.5e5, (0.075, 0.115)),
    FIBRE: (0.055, 2.6e-3, 1.7e5, (0.07, 0.10)),
    WOOL: (0.036, 3.0e-3, 9e4, (0.025, 0.045)),
}
_SHEATH_M2 = 1.1e-3
_WALLS = {BRICK: "brick", FIBRE: "fibre", WOOL: "leaky"}


@dataclass
class Build:
    """What a family draws: the network's plan and what stands beside it.

    `sag` is the share of volts lost while another machine starts; `warm` the rise of the element's resistance
    per 1000 K, `aged` its rise between the learning and the heats; `gust` how far the plan's gusty exchanges
    wander, as a share; `turns` the two airs that turn over where the upper is hotter by `turn_k`;
    `most_amps` what a controller lets through, as a share of the current of a hot element (0: all), which it
    raises from nothing over `soft_s`, and `hot` that element's resistance over a cold one's; `module` and
    `late_s` a module that is not drawn, and the age of what it tells; `habit` what a part does by itself;
    `comes` the masses that come in with a charge, as cold as it; `file` and `build` what an owner writes;
    `walls` what the walls are made of, as he would say it.
    """

    plan: Plan
    power_w: float
    file: str
    build: str
    sag: float = 0.0
    warm: float = 0.04
    aged: float = 0.0
    gust: float = 0.0
    turns: tuple[str, str] | None = None
    turn_k: float = 0.0
    most_amps: float = 0.0
    hot: float = 1.0
    soft_s: float = 0.0
    module: str = ""
    late_s: float = 0.0
    habit: Habit | None = None
    walls: str = ""
    comes: tuple[str, ...] = ()


class Shop:
    """Draws the common pieces of one oven."""

    def __init__(self, dice: random.Random, lining: str, small: bool) -> None:
        self.dice, self.small, self.plan = dice, small, Plan()
        self.lining = lining
        self.area_m2 = dice.uniform(0.35, 0.6) if small else dice.uniform(0.24, 0.45)
        self.loss_w = self._line(lining)
        self._air()
        self.power_w = self.loss_w * (dice.uniform(2.2, 4.5) if small else dice.uniform(1.9, 3.2))

    def near(self, value: float, factor: float = 1.4) -> float:
        """Return a value drawn within a factor."""
        return value * self.dice.uniform(1 / factor, factor)

    def _line(self, lining: str) -> float:
        """Add face, cells and skin; return the loss in W when the oven is at its hottest use."""
        k, beta, heat, thick = _LININGS[lining]
        depth_m, area = self.dice.uniform(*thick), self.area_m2
        k, heat = self.near(k, 1.2), self.near(heat, 1.25)
        plan, hot_c = self.plan, 300.0 if self.small else 900.0
        face = self.near(3000.0 if self.small else 600.0, 1.5)
        plan.mass("face", face)
        unit = depth_m * (GROWS - 1) / (GROWS**CELLS - 1)
        last, last_m = "face", 0.0
        for i in range(CELLS):
            cell_m = unit * GROWS**i
            plan.mass(f"cell {i}", heat * cell_m * area, heat * cell_m * area * 2e-4)
            plan.tie(last, f"cell {i}", w_k=k * area / ((cell_m + last_m) / 2), beta=beta)
            last, last_m = f"cell {i}", cell_m
        plan.mass("skin", self.near(2500.0) * area / 0.3)
        plan.tie(last, "skin", w_k=k * area / (last_m / 2), beta=beta)
        plan.tie("skin", "room", draft=2.2 * area * 1.5, glow=SIGMA * 0.7 * area * 1.5)
        return k * (1 + beta * hot_c / 2) / depth_m * area * (hot_c - 40.0)

    def _air(self) -> None:
        dice, plan = self.dice, self.plan
        leak = dice.uniform(0.5, 1.6) if self.small else dice.uniform(0.1, 0.45)
        plan.mass("air", self.near(45.0))
        plan.tie("face", "air", w_k=self.area_m2 * 3.0, draft=self.area_m2 * 2.5)
        plan.tie("air", "room", w_k=leak)
        plan.tie("face", "room")
        self.loss_w += leak * (280.0 if self.small else 880.0)

    def element(self, into: str = "face", sees: float = 1.0) -> None:
        """Add an element that glows at the face (or a muffle) and warms the air a little."""
        area = self.near(0.045 if self.small else 0.030 * self.power_w / 2500.0 + 0.01, 1.3)
        self.element_m2 = area
        self.plan.mass("element", self.near(420.0 if self.small else 0.13 * self.power_w, 1.5))
        self.plan.tie("element", into, glow=SIGMA * 0.75 * area * sees)
        self.plan.tie("element", "air", w_k=area * 4.0, draft=area * 3.0)
        self.plan.heated["element"] = 1.0

    def sensor(self, air: str = "air", wall: str = "face", view: float = 0.02, slow: float = 1.0) -> None:
        """Add a sheath that air and wall warm, with some view of the element, and the junction behind it."""
        dice, plan, area = self.dice, self.plan, _SHEATH_M2
        plan.mass("sheath", self.near(1400.0, 1.5) * area * slow)
        plan.tie(air, "sheath", w_k=dice.uniform(10.0, 28.0) * area)
        plan.tie(wall, "sheath", glow=SIGMA * 0.75 * area * (1 - view))
        if "element" in plan.masses:
            plan.tie("element", "sheath", glow=SIGMA * 0.75 * area * view)
        plan.tie("sheath", "room", w_k=dice.uniform(0.5e-4, 3e-4))
        self.junction("sheath", dice.uniform(2.0, 8.0))

    def buried_sensor(self, within: str, wall: str, w_k: tuple[float, float], glow: float) -> None:
        """Add a sensor that what lies around it warms, and a wall only by this share of its glow."""
        self.sensor(air=within, wall=wall, view=0.0)
        self.plan.tied(within, "sheath").w_k = self.dice.uniform(*w_k)
        self.plan.tied(wall, "sheath").glow *= glow

    def junction(self, behind: str, lag_s: float) -> None:
        """Add the junction behind a sheath."""
        self.plan.mass("sensor", 0.3)
        self.plan.tie(behind, "sensor", w_k=0.3 / lag_s)

    def steel(self, view: float = 0.05, air: str = "air", wall: str = "face", film: float = 9.0) -> None:
        """Add a charge that is not there yet, and a blade of 2 mm that shows what a thin part would take."""
        for name, kg, area in (("charge", 0.0, 0.0), ("blade", 0.04, 0.04 / (7850 * 0.001))):
            self.plan.mass(name, 450.0 * kg + 1.0, 0.5 * kg)
            self.plan.tie(air, name, w_k=film * area)
            self.plan.tie(wall, name, glow=SIGMA * 0.75 * area * (1 - view))
            if "element" in self.plan.masses:
                self.plan.tie("element", name, glow=SIGMA * 0.75 * area * view)
        self.view, self.film, self.parts = view, film, (air, wall)

    def done(self, build: str, **more: Any) -> Build:
        """Return the oven with the words of its file."""
        file = "tempering-oven" if self.small else "hardening-furnace"
        walls = "fan" if build == "fan" else _WALLS.get(self.lining, "leaky")  # bare sheet loses much
        return Build(self.plan, self.power_w, file, build, walls=walls, **more)


def any_shop(dice: random.Random) -> Shop:
    """Return a furnace of brick or fibre, or a small oven."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    return Shop(dice, lining, small)


def named(shop: Shop) -> str:
    return _WALLS[shop.lining]
