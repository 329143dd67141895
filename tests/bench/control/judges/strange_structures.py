"""Five more ways to build an oven, drawn to share nothing with what a fit can say. All data invented.

A sensor in a tray of damp sand, still air that lies in layers and turns over, heaters behind a controller
that bounds the current while they are cold, a heavy radiant tube with the sensor on the shelf, and a module
that tells in halves of a kelvin, every two seconds, what was so a while ago.
"""

import random
from collections.abc import Callable

from tests.bench.control.judges.network import SIGMA
from tests.bench.control.judges.structures import BRICK, FIBRE, WOOL, Build, Shop

_SAND_J_PER_KGK = 830.0


def sand_tray(dice: random.Random) -> Build:
    """Tempering in a tray of sand, the sensor buried in it; damp on some days: it stands at 100 degC then."""
    shop = Shop(dice, WOOL, True)
    plan, kg = shop.plan, dice.uniform(0.6, 2.0)
    shop.element()
    for i, share in enumerate((0.3, 0.7)):
        plan.mass(f"sand {i}", kg * share * _SAND_J_PER_KGK)
    plan.tie("air", "sand 0", w_k=dice.uniform(0.8, 1.8), draft=0.3)
    plan.tie("face", "sand 0", glow=SIGMA * 0.8 * dice.uniform(0.03, 0.06))
    plan.tie("sand 0", "sand 1", w_k=dice.uniform(1.5, 4.0))
    plan.tie("face", "sand 1", w_k=dice.uniform(0.5, 1.5))
    plan.water_kg["sand 1"] = dice.uniform(0.01, 0.06) * kg
    shop.buried_sensor("sand 1", "sand 0", (0.05, 0.15), 0.2)
    shop.steel(view=0.0, air="sand 1", wall="sand 0", film=60.0)
    return shop.done("leaky")


def still_air(dice: random.Random) -> Build:
    """No fan: hot air lies above cold and turns over when it is much hotter; the sensor hangs low."""
    lining, small = dice.choice(((BRICK, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    plan = shop.plan
    shop.element()
    plan.mass("low air", shop.near(60.0))
    calm = dice.uniform(0.3, 1.0)
    plan.tie("air", "low air", w_k=calm)
    plan.tie("face", "low air", w_k=shop.area_m2 * dice.uniform(0.8, 2.0))
    plan.tie("low air", "room", w_k=dice.uniform(0.05, 0.3))
    turn_k = dice.uniform(8.0, 30.0)
    shop.sensor(air="low air", view=0.0)
    plan.tied("face", "sheath").glow *= dice.uniform(0.3, 0.8)
    shop.steel(view=0.03, air="low air")
    return shop.done("leaky" if small else "brick", turns=("air", "low air"), turn_k=turn_k)


def bounded_current(dice: random.Random) -> Build:
    """Heaters that conduct ten times better when cold, behind a controller that bounds and ramps current."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.05))
    shop.steel(view=0.06)
    warm, amps, soft_s = dice.uniform(2.0, 6.0), dice.uniform(1.1, 1.6), dice.uniform(1.0, 6.0)
    # The power that is written is that of a hot element.
    return shop.done("fibre", warm=warm, most_amps=amps, hot=1.0 + warm * 0.9, soft_s=soft_s)


def radiant_tube(dice: random.Random) -> Build:
    """The element glows in a heavy tube, which nothing but radiation leaves; the sensor is on the shelf."""
    lining = dice.choice((BRICK, FIBRE))
    shop = Shop(dice, lining, False)
    plan, power = shop.plan, shop.power_w
    plan.mass("element", shop.near(0.05 * power))
    plan.mass("tube", shop.near(0.45 * power), 0.1)
    plan.heated["element"] = 1.0
    area = shop.near(0.035 * power / 2500.0 + 0.01)
    plan.tie("element", "tube", glow=SIGMA * 0.8 * area * 0.6)
    plan.tie("tube", "face", glow=SIGMA * 0.7 * area)
    plan.tie("tube", "air", draft=area * 2.0)
    plan.mass("shelf", shop.near(2400.0), 0.5)
    plan.tie("face", "shelf", glow=SIGMA * 0.7 * dice.uniform(0.04, 0.09))
    plan.tie("tube", "shelf", glow=SIGMA * 0.7 * dice.uniform(0.002, 0.01))
    plan.tie("air", "shelf", draft=0.15)
    shop.sensor(view=0.0, wall="face")
    plan.tied("face", "sheath").glow *= 0.5
    plan.tie("shelf", "sheath", w_k=dice.uniform(0.02, 0.08))
    shop.steel(view=0.0, wall="shelf")
    return shop.done("brick" if lining == BRICK else "fibre")


def late_module(dice: random.Random) -> Build:
    """A plain chamber, read by a module that tells in halves of a kelvin what was so some seconds ago."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.08))
    shop.steel(view=0.06)
    named = {BRICK: "brick", FIBRE: "fibre", WOOL: "leaky"}[lining]
    return shop.done(named, module="late", late_s=dice.uniform(2.0, 12.0))


STRANGE_FAMILIES: dict[str, Callable[[random.Random], Build]] = {
    "sand-tray": sand_tray,
    "still-air": still_air,
    "bounded-current": bounded_current,
    "radiant-tube": radiant_tube,
    "late-module": late_module,
}
