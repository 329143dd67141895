"""The ovens that exist only here, and families of random ones. All data invented."""

import random
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from simulator.oven.plant import Plant, PlantData
from simulator.oven.wall import BLANKET, BRICK_23, BRICK_26, WOOL, slab

FAMILIES = ("brick", "fibre", "heavy", "leaky", "fan")

_FURNACE = PlantData(
    power_w=2400.0,
    supply_v=230.0,
    element_capacity=300.0,
    element_area_m2=0.050,
    element_film=0.1,
    air_capacity=40.0,
    face_m2=0.27,
    film=10.0,
    leak=0.25,
    door_m2=0.025,
    door_leak=14.0,
    wall=slab(BRICK_26, 0.085, 0.27, 0.90, face_extra=9500.0, shell_extra=2500.0),
    sheath=1560.0,
    sheath_film=20.0,
    junction_s=4.0,
    sight=0.004,
    stem=0.004,
)
_SMALL_OVEN = PlantData(
    power_w=1200.0,
    supply_v=230.0,
    element_capacity=380.0,
    element_area_m2=0.042,
    element_film=0.6,
    air_capacity=45.0,
    face_m2=0.48,
    film=9.0,
    leak=1.3,
    door_m2=0.07,
    door_leak=14.0,
    wall=slab(WOOL, 0.025, 0.48, 0.62, face_extra=3200.0, shell_extra=1400.0),
    sheath=980.0,
    sheath_film=25.0,
    junction_s=5.0,
    sight=0.04,
    stem=0.004,
)
_FAMILY = {
    "brick": _FURNACE,
    "fibre": replace(
        _FURNACE,
        power_w=2000.0,
        wall=slab(BLANKET, 0.090, 0.27, 0.95, face_extra=2500.0, shell_extra=2500.0),
    ),
    "heavy": replace(
        _FURNACE,
        power_w=4200.0,
        face_m2=0.42,
        wall=slab(BRICK_23, 0.140, 0.42, 1.9, face_extra=25000.0, shell_extra=6000.0),
        element_capacity=600.0,
        element_area_m2=0.09,
        air_capacity=70.0,
    ),
    "leaky": _SMALL_OVEN,
    "fan": replace(_SMALL_OVEN, film=25.0, element_film=1.6, leak=1.6, still_share=0.35, sheath_film=60.0),
}
_GROWING = (
    "element_capacity",
    "element_area_m2",
    "element_film",
    "air_capacity",
    "face_m2",
    "leak",
    "door_m2",
    "door_leak",
)


def hardening_furnace(seed: int = 0) -> Plant:
    """Return the brick furnace: 2400 W, two and a half hours to 870 degC. The seed moves nothing."""
    return Plant(_FURNACE)


def tempering_oven(seed: int = 0) -> Plant:
    """Return the small leaky oven: 1200 W, about a quarter of an hour to 218 degC. The seed moves nothing."""
    return Plant(_SMALL_OVEN)


def oven_like(family: str, power_w: float, supply_v: float = 230.0, ambient_c: float = 20.0) -> Plant:
    """Return the middle of a family, grown or shrunk to a power. Raises ValueError for another name."""
    return Plant(_grown(family, power_w, supply_v), ambient_c)


def random_oven(
    family: str, seed: int, *, power_w: float | None = None, supply_v: float | None = None
) -> Plant:
    """Return a random member of a family, the same for the same seed. Raises ValueError for another name.

    Power within 12 % of the nameplate (`power_w`, or the family's own), masses, areas and losses within
    about 25 %, sensor lag within a factor of 1.6, ambient 8 to 30 degC.
    """
    base = _grown(family, power_w, supply_v)
    draw = random.Random(f"{family} {seed}")

    def near(value: float, share: float) -> float:
        return value * draw.uniform(1.0 - share, 1.0 + share)

    wall = replace(
        base.wall,
        capacities=_times(base.wall.capacities, draw.uniform(0.75, 1.25)),
        shapes=_times(base.wall.shapes, draw.uniform(0.8, 1.2)),
    )
    data = replace(
        base,
        power_w=near(base.power_w, 0.12),
        element_capacity=near(base.element_capacity, 0.3),
        element_area_m2=near(base.element_area_m2, 0.2),
        film=near(base.film, 0.2),
        leak=near(base.leak, 0.3),
        wall=wall,
        sheath=base.sheath * draw.uniform(0.7, 1.6),
        junction_s=near(base.junction_s, 0.4),
        sight=near(base.sight, 0.5),
        stem=near(base.stem, 0.5),
    )
    return Plant(data, ambient_c=draw.uniform(8.0, 30.0))


def _grown(family: str, power_w: float | None, supply_v: float | None) -> PlantData:
    """Return a family's data at another size: whatever grows with an oven grows with its power."""
    if family not in _FAMILY:
        raise ValueError(f'no family "{family}"; there is: {", ".join(FAMILIES)}')
    base = _FAMILY[family]
    size = 1.0 if power_w is None else power_w / base.power_w
    wall = replace(
        base.wall,
        capacities=_times(base.wall.capacities, size),
        shapes=_times(base.wall.shapes, size),
        outer_m2=base.wall.outer_m2 * size,
    )
    grown = {name: getattr(base, name) * size for name in _GROWING}
    return replace(base, power_w=base.power_w * size, supply_v=supply_v or base.supply_v, wall=wall, **grown)


def _times(values: Iterable[float], factor: float) -> Any:
    return tuple(value * factor for value in values)
