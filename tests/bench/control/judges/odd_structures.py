"""Four more ways to build an oven, of physics that the first thirteen lack. All data invented.

A bath of salt that melts on the way, a retort behind shields whose shell answers late, an element that has
grown old on mains that sag, a vented door with a draught in gusts.
"""

import random
from collections.abc import Callable

from tests.bench.control.judges.network import SIGMA
from tests.bench.control.judges.structures import BRICK, FIBRE, WOOL, Build, Shop

# Heat of melting of a nitrate salt, J/kg, and its heat capacity, J/kgK: from memory, within a third.
_MELTING_J_PER_KG, _SALT_J_PER_KGK = 1.0e5, 1450.0


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


def tired_supply(dice: random.Random) -> Build:
    """An element that has aged since the learning and climbs as it glows, on a line that sags."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.06))
    shop.steel(view=0.08)
    warm, aged, sag = dice.uniform(0.2, 0.7), dice.uniform(0.03, 0.12), dice.uniform(0.03, 0.08)
    return shop.done("fibre", warm=warm, aged=aged, sag=sag)


def vented_door(dice: random.Random) -> Build:
    """A vent in the door: cold air comes in in gusts, mixes on its way, and strikes the sensor first."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    plan = shop.plan
    shop.element()
    plan.mass("inlet", 8.0)
    plan.tie("inlet", "room", w_k=dice.uniform(0.3, 0.9))
    plan.tie("inlet", "air", w_k=dice.uniform(1.0, 3.0))
    plan.gusty.append(("inlet", "room"))
    shop.sensor(air="inlet", view=dice.uniform(0.0, 0.04))
    plan.tied("inlet", "sheath").w_k *= dice.uniform(0.5, 1.0)
    shop.steel(view=0.05)
    return shop.done("leaky" if small else "fibre", gust=dice.uniform(0.3, 0.8))


ODD_FAMILIES: dict[str, Callable[[random.Random], Build]] = {
    "salt-pot": salt_pot,
    "retort": retort,
    "tired-supply": tired_supply,
    "vented-door": vented_door,
}
