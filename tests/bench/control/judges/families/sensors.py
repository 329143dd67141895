"""Ovens whose sensor sits or tells otherwise: tubes, walls, wells, late modules. All data invented."""

import random

from tests.bench.control.judges.builds import BRICK, FIBRE, WOOL, Build, Shop, any_shop, named
from tests.bench.control.judges.network import SIGMA


def thick_tube(dice: random.Random) -> Build:
    """The sensor in a thick ceramic tube, heat soaking in layer by layer."""
    shop = any_shop(dice)
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
    return shop.done(named(shop))


def wall_sensor(dice: random.Random) -> Build:
    """The sensor touches the wall, or stands a little inside it."""
    shop = any_shop(dice)
    shop.element()
    shop.sensor(view=0.0)
    plan = shop.plan
    plan.tie("face", "sheath", w_k=dice.uniform(0.02, 0.08))
    plan.tie("cell 2", "sheath", w_k=dice.uniform(0.0, 0.04))
    shop.steel(view=0.06)
    return shop.done(named(shop))


def stem_well(dice: random.Random) -> Build:
    """A heavy steel well for the sensor, through the wall to a head outside: its stem leads heat away."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    plan = shop.plan
    shop.element()
    kg, nodes = dice.uniform(0.12, 0.4), 5
    along_w_k = 22.0 * dice.uniform(1.0e-4, 2.5e-4) / 0.035
    for i in range(nodes):
        plan.mass(f"stem {i}", 480.0 * kg / nodes, 0.25 * kg / nodes)
        if i:
            plan.tie(f"stem {i - 1}", f"stem {i}", w_k=along_w_k)
    for i, share in ((0, 1.0), (1, 0.7)):
        m2 = 1.6e-3 * share
        plan.tie("air", f"stem {i}", w_k=dice.uniform(9.0, 20.0) * m2)
        plan.tie("face", f"stem {i}", glow=SIGMA * 0.8 * m2)
        plan.tie("element", f"stem {i}", glow=SIGMA * 0.8 * m2 * dice.uniform(0.0, 0.03))
    plan.tie("cell 2", "stem 2", w_k=dice.uniform(0.01, 0.05))
    plan.tie("cell 5", "stem 3", w_k=dice.uniform(0.01, 0.05))
    plan.tie("stem 4", "room", draft=0.02, w_k=dice.uniform(0.03, 0.15))
    shop.junction("stem 0", dice.uniform(4.0, 15.0))
    shop.steel(view=0.05)
    return shop.done("leaky" if small else "brick")


def late_module(dice: random.Random) -> Build:
    """A plain chamber, read by a module that tells in halves of a kelvin what was so some seconds ago."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.08))
    shop.steel(view=0.06)
    named = {BRICK: "brick", FIBRE: "fibre", WOOL: "leaky"}[lining]
    return shop.done(named, module="late", late_s=dice.uniform(2.0, 12.0))
