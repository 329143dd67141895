"""Ovens with something heavy or wet in them: floors, slabs, salt, sand, damp, boxes. All data invented."""

import random

from tests.bench.control.judges.builds import BRICK, FIBRE, WOOL, Build, Shop, any_shop, named
from tests.bench.control.judges.network import SIGMA

# Heat of melting of a nitrate salt, J/kg, and its heat capacity, J/kgK: from memory, within a third.
_MELTING_J_PER_KG, _SALT_J_PER_KGK = 1.0e5, 1450.0
_SAND_J_PER_KGK, _NICKEL_J_PER_KGK = 830.0, 440.0


def stone_floor(dice: random.Random) -> Build:
    """A thick dense floor or shelf that drinks heat for an hour."""
    shop = any_shop(dice)
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


def damp_lining(dice: random.Random) -> Build:
    """A lining that took up water in a damp shop: it boils off on the way."""
    shop = any_shop(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.05)
    for i in range(1, 5):
        shop.plan.water_kg[f"cell {i}"] = dice.uniform(0.005, 0.05)
    return shop.done(named(shop))


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


def salt_pot(dice: random.Random) -> Build:
    """A pot of salt for tempering: heavy, solid when cold, melting on the way; the sensor in a well in it."""
    shop = Shop(dice, WOOL, True)
    plan, kg = shop.plan, dice.uniform(3.0, 9.0)
    shop.power_w *= dice.uniform(1.3, 2.2)
    shop.element()
    plan.mass("pot", shop.near(1600.0))
    plan.tie("element", "pot", glow=SIGMA * 0.75 * shop.element_m2 * 0.6)
    plan.tie("face", "pot", glow=SIGMA * 0.6 * 0.08)
    melts_c, share = dice.uniform(125.0, 165.0), 0.45
    for i, part in enumerate((share, 1 - share)):
        plan.mass(f"salt {i}", kg * part * _SALT_J_PER_KGK)
        plan.melts[f"salt {i}"] = (melts_c, kg * part * _MELTING_J_PER_KG)
    plan.tie("pot", "salt 0", w_k=dice.uniform(8.0, 20.0), draft=6.0)
    plan.tie("pot", "salt 1", w_k=dice.uniform(4.0, 10.0), draft=3.0)
    plan.tie("salt 0", "salt 1", w_k=dice.uniform(3.0, 9.0), draft=8.0)
    plan.tie("salt 1", "room", w_k=dice.uniform(0.1, 0.5), glow=SIGMA * 0.6 * 0.02)
    shop.buried_sensor("salt 1", "pot", (0.08, 0.25), 0.05)
    shop.steel(view=0.0, air="salt 1", wall="pot", film=250.0)
    return shop.done("heavy")


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


def retort(dice: random.Random) -> Build:
    """A gas-tight retort behind a shield; the lining beside it goes on giving heat long after the cut."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    plan = shop.plan
    shop.element(sees=0.4)
    plan.mass("shield", shop.near(1200.0))
    plan.mass("retort", shop.near(3200.0), 0.8)
    plan.mass("gas", 6.0)
    plan.tie("element", "shield", glow=SIGMA * 0.75 * shop.element_m2 * 0.6)
    plan.tie("face", "shield", glow=SIGMA * 0.6 * 0.15)
    plan.tie("shield", "retort", w_k=dice.uniform(0.6, 2.5), glow=SIGMA * 0.45 * dice.uniform(0.08, 0.18))
    plan.tie("retort", "gas", w_k=dice.uniform(0.8, 2.0), draft=0.6)
    plan.tie("retort", "room", w_k=dice.uniform(0.05, 0.25))
    shop.sensor(air="gas", wall="retort", view=0.0, slow=dice.uniform(1.0, 2.5))
    shop.steel(view=0.0, air="gas", wall="retort", film=6.0)
    return shop.done("heavy")


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


def cold_box(dice: random.Random) -> Build:
    """A heavy nickel box around the work: it comes in as cold as the work, and the sensor is outside it."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    plan, kg = shop.plan, dice.uniform(2.0, 6.0)
    shop.element()
    shop.power_w = min(shop.power_w * dice.uniform(1.0, 1.4), 4000.0)
    plan.mass("box", _NICKEL_J_PER_KGK * kg, 0.2 * kg)
    plan.mass("within", 6.0)
    plan.tie("air", "box", w_k=dice.uniform(0.3, 1.0), draft=0.3)
    plan.tie("face", "box", glow=SIGMA * 0.4 * dice.uniform(0.06, 0.14))
    plan.tie("element", "box", glow=SIGMA * 0.4 * dice.uniform(0.0, 0.012))
    plan.tie("cell 0", "box", w_k=dice.uniform(0.2, 1.5))  # it stands on the floor
    plan.tie("box", "within", w_k=0.3, draft=0.3)
    shop.sensor(view=dice.uniform(0.0, 0.05))
    shop.steel(view=0.0, air="within", wall="box", film=6.0)
    return shop.done("brick" if dice.random() < 0.5 else "fibre", comes=("box", "within"))
