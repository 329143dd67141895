"""Four ovens with a part that does as it will. All data invented; plain heat-transfer figures.

A phase-angle controller that goes up slowly and cuts back when its fins are hot, a heavy thermowell that
leads heat out along its stem, a door that warps open as it warms, a fan whose motor stops when it is hot.
"""

import random
from collections.abc import Callable

from tests.bench.control.judges.habits import SlowFiring, Stalling, Sticking
from tests.bench.control.judges.network import SIGMA
from tests.bench.control.judges.structures import BRICK, FIBRE, WOOL, Build, Shop


def slow_firing(dice: random.Random) -> Build:
    """A phase-angle controller: seconds to full current, some to none, and less while its fins are hot."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    shop.element()
    shop.power_w *= dice.uniform(1.0, 1.4)
    shop.sensor(view=dice.uniform(0.0, 0.06))
    shop.steel(view=0.06)
    fins_k = dice.uniform(45.0, 80.0)
    habit = SlowFiring(
        up_s=dice.uniform(4.0, 15.0),
        down_s=dice.uniform(1.0, 4.0),
        fins_k=fins_k,
        slow_s=dice.uniform(150.0, 700.0),
        cuts_k=fins_k - dice.uniform(-10.0, 20.0),
    )
    return shop.done("leaky" if small else "fibre", habit=habit)


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


def warping_door(dice: random.Random) -> Build:
    """A door that warps as it warms: its gap grows in jerks, up to several times what it was."""
    lining, small = dice.choice(((BRICK, False), (FIBRE, False), (WOOL, True)))
    shop = Shop(dice, lining, small)
    plan = shop.plan
    shop.element()
    plan.mass("door", shop.near(1500.0))
    plan.tie("face", "door", glow=SIGMA * 0.7 * dice.uniform(0.01, 0.03), w_k=0.1)
    plan.tie("door", "room", draft=0.08, w_k=dice.uniform(0.1, 0.3))
    plan.mass("draught", 6.0)
    plan.tie("draught", "room", w_k=dice.uniform(0.05, 0.25))
    plan.tie("draught", "air", w_k=dice.uniform(0.5, 2.0))
    shop.sensor(air="draught" if dice.random() < 0.5 else "air", view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.05)
    habit = Sticking(
        of=(("draught", "room"), ("air", "room")),
        by="door",
        from_c=dice.uniform(45.0, 90.0),
        per_k=dice.uniform(0.005, 0.02),
        most=dice.uniform(2.0, 4.5),
        sticks=dice.uniform(0.06, 0.2),
    )
    return shop.done("leaky" if small else "fibre", habit=habit)


def stalling_fan(dice: random.Random) -> Build:
    """A fan whose motor stops when it is hot, and starts again some minutes later."""
    shop = Shop(dice, WOOL, True)
    plan, area = shop.plan, shop.area_m2
    plan.mass("element", shop.near(350.0, 1.4))
    plan.heated["element"] = 1.0
    plan.tie("element", "air", w_k=dice.uniform(4.0, 9.0))
    plan.tie("element", "face", glow=SIGMA * 0.7 * 0.01)
    plan.tied("face", "air").w_k = area * dice.uniform(12.0, 25.0)
    plan.mass("motor", shop.near(700.0))
    plan.tie("air", "motor", w_k=dice.uniform(0.3, 0.8))
    plan.tie("motor", "room", w_k=dice.uniform(0.4, 0.9), draft=0.1)
    shop.sensor(view=0.0)
    plan.tied("air", "sheath").w_k = dice.uniform(35.0, 65.0) * 1.1e-3
    shop.steel(view=0.0, film=22.0)
    habit = Stalling(
        of=(("element", "air"), ("face", "air"), ("air", "sheath"), ("air", "motor")),
        by="motor",
        from_c=dice.uniform(75.0, 125.0),
        per_k=0.0,
        most=dice.uniform(0.2, 0.5),
        sticks=0.0,
        cools_k=dice.uniform(8.0, 20.0),
    )
    return shop.done("fan", habit=habit)


SELF_WILLED_FAMILIES: dict[str, Callable[[random.Random], Build]] = {
    "slow-firing": slow_firing,
    "stem-well": stem_well,
    "warping-door": warping_door,
    "stalling-fan": stalling_fan,
}
