"""Ovens whose source of heat is another: where it sits, what feeds it, how it fires. All data invented."""

import random

from tests.bench.control.judges.builds import BRICK, FIBRE, WOOL, Build, Shop, any_shop, named
from tests.bench.control.judges.habits import SlowFiring
from tests.bench.control.judges.network import SIGMA


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
    shop = any_shop(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.08, 0.3))
    shop.steel(view=dice.uniform(0.2, 0.4))
    return shop.done(named(shop))


def muffle(dice: random.Random) -> Build:
    """A ceramic muffle or plate between element and chamber."""
    shop = any_shop(dice)
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


def ageing_element(dice: random.Random) -> Build:
    """An element whose resistance changes with temperature, and has aged since the learning."""
    shop = any_shop(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.08)
    return shop.done(named(shop), warm=dice.uniform(-0.25, 0.6), aged=dice.uniform(0.0, 0.05))


def sagging_mains(dice: random.Random) -> Build:
    """Another machine on the same line starts now and then."""
    shop = any_shop(dice)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.04))
    shop.steel(view=0.05)
    return shop.done(named(shop), sag=dice.uniform(0.03, 0.09))


def tired_supply(dice: random.Random) -> Build:
    """An element that has aged since the learning and climbs as it glows, on a line that sags."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.06))
    shop.steel(view=0.08)
    warm, aged, sag = dice.uniform(0.2, 0.7), dice.uniform(0.03, 0.12), dice.uniform(0.03, 0.08)
    return shop.done("fibre", warm=warm, aged=aged, sag=sag)


def bounded_current(dice: random.Random) -> Build:
    """Heaters that conduct ten times better when cold, behind a controller that bounds and ramps current."""
    shop = Shop(dice, dice.choice((BRICK, FIBRE)), False)
    shop.element()
    shop.sensor(view=dice.uniform(0.0, 0.05))
    shop.steel(view=0.06)
    warm, amps, soft_s = dice.uniform(2.0, 6.0), dice.uniform(1.1, 1.6), dice.uniform(1.0, 6.0)
    # The power that is written is that of a hot element.
    return shop.done("fibre", warm=warm, most_amps=amps, hot=1.0 + warm * 0.9, soft_s=soft_s)


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
