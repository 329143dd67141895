"""Four more ways to build an oven. All data invented; plain heat-transfer figures.

Lamps that store next to nothing and shine on shelf and sensor, a closed steel box that holds sensor and work,
a chimney whose draught grows with its own heat, a slab of storage stone that a thin heating cable lies in.
"""

import random
from collections.abc import Callable

from tests.bench.control.judges.network import SIGMA
from tests.bench.control.judges.structures import BRICK, FIBRE, WOOL, Build, Shop


def lamp_heated(dice: random.Random) -> Build:
    """Lamps: a few grams of filament, ten times the resistance when hot, in sight of shelf and sensor."""
    shop = Shop(dice, WOOL, True)
    plan = shop.plan
    area = shop.near(0.02)
    plan.mass("element", shop.near(12.0))
    plan.heated["element"] = 1.0
    plan.mass("glass", shop.near(90.0))
    plan.tie("element", "glass", glow=SIGMA * 0.25 * area * 0.2, w_k=0.02)
    plan.tie("element", "face", glow=SIGMA * 0.35 * area * 0.2)
    plan.tie("glass", "air", draft=area * 8.0, w_k=area * 10.0)
    plan.tie("glass", "face", glow=SIGMA * 0.8 * area)
    plan.mass("shelf", shop.near(1500.0))
    plan.tie("element", "shelf", glow=SIGMA * 0.35 * area * 0.05)
    plan.tie("air", "shelf", w_k=dice.uniform(0.4, 1.2), draft=0.5)
    plan.tie("face", "shelf", glow=SIGMA * 0.6 * 0.05)
    shop.sensor(view=0.0)
    plan.tied("element", "sheath").glow = SIGMA * 0.3 * dice.uniform(0.5e-5, 2e-5)
    shop.steel(view=0.0)
    return shop.done("leaky", warm=dice.uniform(0.5, 1.5))


def closed_box(dice: random.Random) -> Build:
    """The maker's remedy itself: a closed steel box on the shelf, work and sensor within."""
    shop = Shop(dice, *dice.choice(((BRICK, False), (WOOL, True))))
    plan = shop.plan
    shop.element()
    kg = dice.uniform(1.5, 5.0)
    plan.mass("box", 450.0 * kg, 0.5 * kg)
    plan.mass("within", 8.0)
    plan.tie("air", "box", w_k=dice.uniform(0.5, 1.5), draft=0.4)
    plan.tie("face", "box", glow=SIGMA * 0.7 * dice.uniform(0.05, 0.10))
    plan.tie("element", "box", glow=SIGMA * 0.7 * dice.uniform(0.0, 0.006))
    plan.tie("box", "within", w_k=0.3, draft=0.3)
    shop.sensor(air="within", wall="box", view=0.0, slow=dice.uniform(0.7, 1.5))
    shop.steel(view=0.0, air="within", wall="box", film=6.0)
    return shop.done("leaky" if shop.small else "brick")


def chimney(dice: random.Random) -> Build:
    """A flue that is never shut: the hotter the chamber, the harder it draws."""
    shop = Shop(dice, *dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True))))
    plan = shop.plan
    shop.element()
    plan.mass("flue", shop.near(900.0))
    plan.tie("air", "flue", draft=dice.uniform(0.05, 0.2), w_k=0.1)
    plan.tie("flue", "room", draft=dice.uniform(0.1, 0.4), w_k=0.2)
    plan.mass("draught", 5.0)
    plan.tie("draught", "room", draft=dice.uniform(0.03, 0.1), w_k=0.1)
    plan.tie("draught", "air", w_k=dice.uniform(0.5, 1.5))
    shop.power_w *= dice.uniform(1.1, 1.5)
    low = dice.random() < 0.5
    shop.sensor(air="draught" if low else "air", view=dice.uniform(0.0, 0.05))
    shop.steel(view=0.05)
    return shop.done("leaky" if shop.small else "fibre")


def storage_slab(dice: random.Random) -> Build:
    """A heating cable in a slab of stone below: the heat arrives by layers, long after it was given."""
    shop = Shop(dice, WOOL, True)
    plan, area = shop.plan, shop.area_m2 * 0.3
    depth_m, k, heat = dice.uniform(0.012, 0.03), dice.uniform(1.0, 2.0), 2.0e6
    cell_m, cells = depth_m / 4, 4
    plan.mass("element", shop.near(150.0))
    plan.heated["element"] = 1.0
    for i in range(cells):
        plan.mass(f"slab {i}", heat * cell_m * area)
        if i:
            plan.tie(f"slab {i - 1}", f"slab {i}", w_k=k * area / cell_m)
    plan.tie("element", "slab 0", w_k=shop.near(12.0))
    plan.tie("slab 0", "cell 2", w_k=shop.area_m2 * dice.uniform(0.1, 0.5))
    plan.tie("slab 3", "air", draft=area * 4.0, w_k=area * 4.0)
    plan.tie("slab 3", "face", glow=SIGMA * 0.8 * area)
    shop.sensor(view=0.0)
    shop.steel(view=0.0)
    return shop.done("leaky")


FURTHER_FAMILIES: dict[str, Callable[[random.Random], Build]] = {
    "lamp-heated": lamp_heated,
    "closed-box": closed_box,
    "chimney": chimney,
    "storage-slab": storage_slab,
}
