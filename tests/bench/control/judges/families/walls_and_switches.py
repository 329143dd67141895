"""Ovens with walls that no lining is like, and ovens that switch something themselves. All data invented."""

import random

from tests.bench.control.judges.builds import FIBRE, WOOL, Build, Shop, any_shop, named
from tests.bench.control.judges.habits import Fluidising, Thermostat
from tests.bench.control.judges.network import KELVIN, SIGMA

# Steel sheet and window glass, J/K per m2 and mm; what zinc-coated sheets a gap apart exchange as radiation.
_STEEL_J_M2_MM, _GLASS_J_M2_MM, _ZINC = 3600.0, 2000.0, 0.2
_SAND_J_PER_KGK = 830.0


class SheetShop(Shop):
    """A thin inner sheet, a gap of air, a thin outer one: no lining at all."""

    def _line(self, lining: str) -> float:
        plan, area, dice = self.plan, self.area_m2, self.dice
        gap_w_k, skin_w_k = area * dice.uniform(1.2, 2.5), area * 1.2 * 9.0
        plan.mass("face", _STEEL_J_M2_MM * dice.uniform(0.7, 1.0) * area)
        plan.mass("skin", _STEEL_J_M2_MM * dice.uniform(0.5, 0.8) * area * 1.2)
        plan.tie("face", "skin", w_k=gap_w_k, glow=SIGMA * _ZINC * area)
        plan.tie("skin", "room", draft=2.2 * area * 1.2, glow=SIGMA * 0.5 * area * 1.2)
        shines_w_k = SIGMA * _ZINC * area * 4 * (200.0 + KELVIN) ** 3
        return 240.0 / (1.0 / (gap_w_k + shines_w_k) + 1.0 / skin_w_k)


def toaster(dice: random.Random) -> Build:
    """A kitchen oven: quick quartz tubes, thin sheet, a glass door, its own thermostat in series."""
    shop = SheetShop(dice, "", True)
    plan, window_m2 = shop.plan, dice.uniform(0.04, 0.08)
    shop.power_w = dice.uniform(1100.0, 1700.0)
    wire_m2 = shop.power_w / 75_000.0  # a wire at some 1000 degC at full power
    plan.mass("element", shop.near(30.0))
    plan.heated["element"] = 1.0
    plan.mass("quartz", shop.near(180.0))
    plan.tie("element", "quartz", glow=SIGMA * 0.7 * wire_m2 * 0.55, w_k=0.05)
    plan.tie("element", "face", glow=SIGMA * 0.7 * wire_m2 * 0.35)
    plan.tie("element", "room", glow=SIGMA * 0.7 * wire_m2 * dice.uniform(0.03, 0.08))  # straight out
    quartz_m2 = shop.near(0.035)
    plan.tie("quartz", "face", glow=SIGMA * 0.8 * quartz_m2)
    plan.tie("quartz", "air", draft=quartz_m2 * 8.0)
    plan.mass("glass", _GLASS_J_M2_MM * dice.uniform(3.0, 5.0) * window_m2)
    plan.tie("face", "glass", glow=SIGMA * 0.7 * window_m2)
    plan.tie("quartz", "glass", glow=SIGMA * 0.8 * 0.0015)
    plan.tie("air", "glass", draft=window_m2 * 2.5)
    plan.tie("glass", "room", draft=window_m2 * 2.2, glow=SIGMA * 0.9 * window_m2)
    plan.mass("bulb", shop.near(14.0))
    plan.tie("air", "bulb", w_k=dice.uniform(0.12, 0.35))
    plan.tie("face", "bulb", glow=SIGMA * 0.6 * 0.002, w_k=dice.uniform(0.0, 0.04))
    shop.sensor(view=dice.uniform(0.0, 0.05))
    shop.steel(view=dice.uniform(0.05, 0.2))
    own = Thermostat("bulb", dice.uniform(205.0, 228.0), dice.uniform(6.0, 18.0), ("element",))
    return shop.done("leaky", habit=own)


def switched_bank(dice: random.Random) -> Build:
    """Two banks on one contactor, of which a bimetal takes the second away where it is hot."""
    shop = any_shop(dice)
    plan, share = shop.plan, dice.uniform(0.3, 0.55)
    shop.element()
    shop.power_w = min(shop.power_w * dice.uniform(1.0, 1.3), 4000.0)
    whole_j_k, _ = plan.masses["element"]
    plan.masses["element"] = (whole_j_k * (1 - share), 0.0)
    plan.mass("second bank", whole_j_k * share)
    plan.heated.update({"element": 1 - share, "second bank": share})
    plan.tied("element", "face").glow *= 1 - share
    plan.tie("second bank", "face", glow=SIGMA * 0.75 * shop.element_m2 * share * 0.8)
    plan.tie("second bank", "cell 0", w_k=dice.uniform(0.1, 0.5))
    plan.tie("second bank", "air", draft=shop.element_m2 * 3.0 * share)
    plan.mass("bimetal", shop.near(20.0))
    plan.tie("cell 1" if shop.small else "cell 5", "bimetal", w_k=dice.uniform(0.1, 0.4))
    plan.tie("air", "bimetal", w_k=dice.uniform(0.02, 0.15) if shop.small else 0.0)
    plan.tie("bimetal", "skin", w_k=dice.uniform(0.005, 0.03))
    shop.sensor(view=dice.uniform(0.0, 0.05))
    shop.steel(view=0.08)
    opens_c = dice.uniform(130.0, 230.0) if shop.small else dice.uniform(90.0, 300.0)
    own = Thermostat("bimetal", opens_c, dice.uniform(8.0, 30.0), ("second bank",))
    return shop.done(named(shop), habit=own)


def blown_sand(dice: random.Random) -> Build:
    """A pot of sand that air makes boil once it is warm: poor at heat before, many times better then."""
    shop = Shop(dice, WOOL, True)
    plan, kg = shop.plan, dice.uniform(3.0, 8.0)
    shop.element(sees=0.5)
    shop.power_w = min(shop.power_w * dice.uniform(1.4, 2.2), 4000.0)
    plan.mass("pot", shop.near(1500.0))
    plan.tie("element", "pot", glow=SIGMA * 0.75 * shop.element_m2 * 0.5)
    plan.tie("face", "pot", glow=SIGMA * 0.6 * 0.08)
    for name, share in (("rim", 0.3), ("middle", 0.45), ("core", 0.25)):
        plan.mass(name, kg * share * _SAND_J_PER_KGK)
    still_w_k = dice.uniform(2.5, 5.0)
    plan.tie("pot", "rim", w_k=still_w_k * 2.0)
    plan.tie("rim", "middle", w_k=still_w_k)
    plan.tie("middle", "core", w_k=still_w_k * 0.7)
    plan.tie("core", "room", w_k=dice.uniform(0.05, 0.3))
    shop.buried_sensor(*dice.choice((("middle", "rim"), ("rim", "pot"))), (0.05, 0.15), 0.05)
    within = next(tie.a for tie in plan.ties if tie.b == "sheath")
    shop.steel(view=0.0, air="core", wall="middle", film=40.0)
    moved = (("pot", "rim"), ("rim", "middle"), ("middle", "core"), (within, "sheath"), ("core", "blade"))
    own = Fluidising(
        of=(*moved, ("core", "charge")),
        stream=("core", "room"),
        by=dice.choice(("rim", "middle")),
        starts_c=dice.uniform(60.0, 140.0),
        stops_k=dice.uniform(10.0, 40.0),
        factor=dice.uniform(6.0, 14.0),
        stream_w_k=dice.uniform(0.5, 1.6),
    )
    return shop.done("heavy", habit=own)


def glowing_fibre(dice: random.Random) -> Build:
    """A light open fibre that heat crosses as radiation: it insulates worse by the cube of the temperature.

    Diffusion of radiation (16 sigma T^3 / 3 times the free path, textbook) between all cells is an exchange
    by the fourth powers; the first millimetres let some of it straight through.
    """
    shop = Shop(dice, FIBRE, False)
    plan, glows, middle_k = shop.plan, dice.uniform(2.0, 5.0), 700.0 + KELVIN
    at_rest, through = 0.0, [t for t in plan.ties if t.b.startswith("cell") or t.a == "cell 7"]
    for tie in through:
        tie.glow = tie.w_k * glows / (4 * middle_k**3)
        tie.w_k, tie.beta = tie.w_k * 0.5, 1.5e-3
        at_rest += 1.0 / tie.w_k
    plan.tie("face", "cell 1", glow=plan.tied("face", "cell 0").glow * dice.uniform(0.03, 0.1))
    plan.tie("face", "cell 2", glow=plan.tied("face", "cell 0").glow * dice.uniform(0.0, 0.03))
    lost_w = 1.0 / at_rest * (1.7 * 860.0 + 2 * glows / (4 * middle_k**3) * (900.0 + KELVIN) ** 4)
    shop.power_w = min((lost_w + 300.0) * dice.uniform(1.5, 2.1), 4000.0)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.06), slow=dice.uniform(1.0, 1.6))
    shop.steel(view=dice.uniform(0.05, 0.15))
    return shop.done("fibre")
