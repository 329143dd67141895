"""Ovens of which the air decides: zones, fans, layers, draughts, doors. All data invented."""

import random

from tests.bench.control.judges.builds import _SHEATH_M2, BRICK, FIBRE, WOOL, Build, Shop, any_shop, named
from tests.bench.control.judges.habits import Stalling, Sticking
from tests.bench.control.judges.network import SIGMA


def two_zones(dice: random.Random) -> Build:
    """Front and back with an element each, the sensor where less heat goes in."""
    shop = any_shop(dice)
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
    return shop.done(named(shop))


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


def door_corner(dice: random.Random) -> Build:
    """The sensor in the corner by a cold door, in air of its own."""
    shop = any_shop(dice)
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
    return shop.done(named(shop))
