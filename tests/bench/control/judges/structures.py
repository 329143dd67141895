"""Thirteen ways to build an oven, each a random family. All data invented; plain heat-transfer figures.

None is built like kilnctl's model (element, face, four layers, load, sensor): linings have eight cells and a
skin, air and door are masses, convection is natural or carried by a stream, what sees what is drawn.
"""

import random
from collections.abc import Callable
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


@dataclass
class Build:
    """What a family draws: the network's plan and what stands beside it.

    `sag` is the share of volts lost while another machine starts; `warm` the rise of the element's resistance
    per 1000 K, `aged` its rise between the learning and the heats; `gust` how far the plan's gusty exchanges
    wander, as a share; `turns` the two airs that turn over where the upper is hotter by `turn_k`;
    `most_amps` what a controller lets through, as a share of the current of a hot element (0: all), which it
    raises from nothing over `soft_s`, and `hot` that element's resistance over a cold one's; `module` and
    `late_s` a module that is not drawn, and the age of what it tells; `habit` what a part does by itself;
    `file` and `build` what an owner writes.
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


class Shop:
    """Draws the common pieces of one oven."""

    def __init__(self, dice: random.Random, lining: str, small: bool) -> None:
        self.dice, self.small, self.plan = dice, small, Plan()
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
        return Build(self.plan, self.power_w, file, build, **more)


def _any(dice: random.Random) -> Shop:
    """Return a furnace of brick or fibre, or a small oven."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    shop.lining = lining  # type: ignore[attr-defined]
    return shop


def _named(shop: Shop) -> str:
    return {BRICK: "brick", FIBRE: "fibre", WOOL: "leaky"}[shop.lining]  # type: ignore[attr-defined]


def embedded(dice: random.Random) -> Build:
    """Coil in cement in the wall: slow, and nothing in the chamber sees it."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    plan, power = shop.plan, shop.power_w
    plan.mass("element", shop.near(0.08 * power))
    plan.mass("cement", shop.near(0.9 * power, 1.5))
    plan.tie("element", "cement", w_k=power / dice.uniform(120.0, 260.0))
    plan.tie("cement", "face", w_k=power / dice.uniform(80.0, 200.0))
    plan.tie("cement", "cell 3", w_k=shop.area_m2 * dice.uniform(8.0, 20.0))
    plan.heated["element"] = 1.0
    shop.sensor(view=0.0)
    shop.steel(view=0.0)
    return shop.done("brick")


def open_coil(dice: random.Random) -> Build:
    """Coils in sight of charge and sensor."""
    shop = _any(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.08, 0.3))
    shop.steel(view=dice.uniform(0.2, 0.4))
    return shop.done(_named(shop))


def muffle(dice: random.Random) -> Build:
    """A ceramic muffle or plate between element and chamber."""
    shop = _any(dice)
    plan = shop.plan
    plan.mass("outer", shop.near(1400.0))
    plan.mass("inner", shop.near(1400.0))
    shop.element(into="outer", sees=0.55)
    plan.tie("element", "face", glow=SIGMA * 0.75 * shop.element_m2 * 0.45)
    plan.tie("outer", "inner", w_k=dice.uniform(25.0, 70.0))
    plan.tie("face", "outer", glow=SIGMA * 0.6 * 0.12)
    plan.mass("within", 20.0)
    plan.tie("inner", "within", w_k=0.6, draft=0.5)
    plan.tie("within", "room", w_k=dice.uniform(0.03, 0.15))
    shop.sensor(air="within", wall="inner", view=0.0)
    shop.steel(view=0.0, air="within", wall="inner")
    return shop.done("brick" if not shop.small else "leaky")


def two_zones(dice: random.Random) -> Build:
    """Front and back with an element each, the sensor where less heat goes in."""
    shop = _any(dice)
    plan = shop.plan
    shop.element()
    share = dice.uniform(0.55, 0.75)
    plan.mass("far element", plan.masses["element"][0] * (1 - share))
    plan.heated.update({"element": share, "far element": 1 - share})
    plan.mass("far face", shop.near(plan.masses["face"][0] + 1800.0, 1.3))
    plan.mass("far air", shop.near(20.0))
    plan.tie("far element", "far face", glow=SIGMA * 0.75 * shop.element_m2 * (1 - share))
    plan.tie("far face", "far air", draft=shop.area_m2 * 1.5)
    plan.tie("far air", "air", w_k=dice.uniform(1.0, 4.0))
    plan.tie("far face", "face", glow=SIGMA * 0.6 * dice.uniform(0.01, 0.03))
    plan.tie("far face", "cell 4", w_k=shop.area_m2 * dice.uniform(1.0, 3.0))
    plan.tie("far air", "room", w_k=dice.uniform(0.05, 0.3))
    shop.sensor(air="far air", wall="far face", view=0.0)
    shop.steel(view=0.1)
    return shop.done(_named(shop))


def stone_floor(dice: random.Random) -> Build:
    """A thick dense floor or shelf that drinks heat for an hour."""
    shop = _any(dice)
    plan, area = shop.plan, shop.area_m2 * dice.uniform(0.15, 0.3)
    depth_m, k, heat = dice.uniform(0.02, 0.05), dice.uniform(0.8, 1.8), 2.0e6
    cell_m = depth_m / 4
    for i in range(4):
        plan.mass(f"floor {i}", heat * cell_m * area, heat * cell_m * area * 2e-4)
        if i:
            plan.tie(f"floor {i - 1}", f"floor {i}", w_k=k * area / cell_m)
    plan.tie("face", "floor 0", glow=SIGMA * 0.7 * area)
    plan.tie("air", "floor 0", draft=2.0 * area)
    plan.tie("floor 3", "cell 4", w_k=k * area / (4 * cell_m))
    shop.element()
    if dice.random() < 0.5:
        plan.tie("element", "floor 3", glow=SIGMA * 0.75 * shop.element_m2 * 0.3)
    shop.sensor(view=dice.uniform(0.0, 0.05))
    shop.steel(view=0.03)
    return shop.done("heavy" if not shop.small else "leaky")


def fan_duct(dice: random.Random) -> Build:
    """A fan drives the air over the element, along a duct, through the chamber and back: dead time."""
    shop = Shop(dice, WOOL, True)
    plan, stream = shop.plan, dice.uniform(14.0, 40.0)
    plan.mass("element", shop.near(380.0, 1.5))
    plan.heated["element"] = 1.0
    plan.mass("over", 15.0)
    plan.tie("element", "over", w_k=dice.uniform(4.0, 9.0), glow=SIGMA * 0.02)
    delay_s, cells = dice.uniform(3.0, 15.0), 5
    last = "over"
    for i in range(cells):
        plan.mass(f"duct {i}", stream * delay_s / cells)
        plan.tie(last, f"duct {i}", carry=stream)
        last = f"duct {i}"
    plan.tie(last, "air", carry=stream)
    plan.tie("air", "over", carry=stream)
    plan.mass("sheet", shop.near(1800.0))
    plan.tie("duct 2", "sheet", w_k=dice.uniform(2.0, 8.0))
    plan.tied("face", "air").w_k = shop.area_m2 * dice.uniform(12.0, 28.0)
    shop.sensor(view=0.0)
    plan.tied("air", "sheath").w_k = dice.uniform(40.0, 70.0) * _SHEATH_M2
    shop.steel(view=0.0, film=25.0)
    return shop.done("fan")


def thick_tube(dice: random.Random) -> Build:
    """The sensor in a thick ceramic tube, heat soaking in layer by layer."""
    shop = _any(dice)
    plan = shop.plan
    shop.element()
    area, per_m2 = 2.5e-3, dice.uniform(1500.0, 3000.0)
    for i in range(3):
        plan.mass(f"tube {i}", per_m2 * area * (1.0 - 0.25 * i))
        if i:
            plan.tie(f"tube {i - 1}", f"tube {i}", w_k=dice.uniform(60.0, 160.0) * area)
    plan.tie("air", "tube 0", w_k=dice.uniform(8.0, 18.0) * area)
    plan.tie("face", "tube 0", glow=SIGMA * 0.8 * area * 0.97)
    plan.tie("element", "tube 0", glow=SIGMA * 0.8 * area * 0.03)
    plan.tie("tube 1", "room", w_k=dice.uniform(1e-4, 1e-3))
    shop.junction("tube 2", dice.uniform(4.0, 15.0))
    shop.steel(view=0.05)
    return shop.done(_named(shop))


def wall_sensor(dice: random.Random) -> Build:
    """The sensor touches the wall, or stands a little inside it."""
    shop = _any(dice)
    shop.element()
    shop.sensor(view=0.0)
    plan = shop.plan
    plan.tie("face", "sheath", w_k=dice.uniform(0.02, 0.08))
    plan.tie("cell 2", "sheath", w_k=dice.uniform(0.0, 0.04))
    shop.steel(view=0.06)
    return shop.done(_named(shop))


def door_corner(dice: random.Random) -> Build:
    """The sensor in the corner by a cold door, in air of its own."""
    shop = _any(dice)
    shop.element()
    plan = shop.plan
    plan.mass("door", shop.near(2200.0))
    plan.tie("face", "door", glow=SIGMA * 0.7 * dice.uniform(0.008, 0.02))
    plan.tie("door", "room", w_k=dice.uniform(0.1, 0.4))
    plan.mass("corner", 6.0)
    plan.tie("air", "corner", w_k=dice.uniform(0.15, 0.8))
    plan.tie("door", "corner", draft=0.02)
    plan.tie("corner", "room", w_k=dice.uniform(0.005, 0.04))
    shop.sensor(air="corner", wall="face", view=0.0)
    face = plan.tied("face", "sheath")
    face.glow, door = face.glow * 0.6, face.glow * 0.4
    plan.tie("door", "sheath", glow=door)
    shop.steel(view=0.05)
    return shop.done(_named(shop))


def ageing_element(dice: random.Random) -> Build:
    """An element whose resistance changes with temperature, and has aged since the learning."""
    shop = _any(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.08)
    return shop.done(_named(shop), warm=dice.uniform(-0.25, 0.6), aged=dice.uniform(0.0, 0.05))


def sagging_mains(dice: random.Random) -> Build:
    """Another machine on the same line starts now and then."""
    shop = _any(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.05)
    return shop.done(_named(shop), sag=dice.uniform(0.03, 0.09))


def damp_lining(dice: random.Random) -> Build:
    """A lining that took up water in a damp shop: it boils off on the way."""
    shop = _any(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.05)
    for i in range(1, 5):
        shop.plan.water_kg[f"cell {i}"] = dice.uniform(0.005, 0.05)
    return shop.done(_named(shop))


def light_fibre(dice: random.Random) -> Build:
    """Coils on the surface of a light fibre lining: 218 degC in a few minutes."""
    shop = Shop(dice, FIBRE, False)
    shop.plan.masses["face"] = (shop.near(250.0, 1.5), 0.0)
    shop.power_w *= dice.uniform(1.0, 1.8)
    shop.element()
    shop.plan.masses["element"] = (shop.near(0.10 * shop.power_w, 1.5), 0.0)
    shop.sensor(view=dice.uniform(0.0, 0.1))
    shop.steel(view=dice.uniform(0.05, 0.25))
    return shop.done("fibre")


FAMILIES: dict[str, Callable[[random.Random], Build]] = {
    "embedded": embedded,
    "open-coil": open_coil,
    "muffle": muffle,
    "two-zones": two_zones,
    "stone-floor": stone_floor,
    "fan-duct": fan_duct,
    "thick-tube": thick_tube,
    "wall-sensor": wall_sensor,
    "door-corner": door_corner,
    "ageing-element": ageing_element,
    "sagging-mains": sagging_mains,
    "damp-lining": damp_lining,
    "light-fibre": light_fibre,
}
