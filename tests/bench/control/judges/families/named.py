"""Every family of ovens, by name. The first thirteen are the plain ones; the others came later."""

import random
from collections.abc import Callable

from tests.bench.control.judges.builds import Build
from tests.bench.control.judges.families import (
    air_and_doors,
    contents,
    heat_sources,
    sensors,
    walls_and_switches,
)

Family = Callable[[random.Random], Build]
PLAIN_FAMILIES: dict[str, Family] = {
    "embedded": heat_sources.embedded,
    "open-coil": heat_sources.open_coil,
    "muffle": heat_sources.muffle,
    "two-zones": air_and_doors.two_zones,
    "stone-floor": contents.stone_floor,
    "fan-duct": air_and_doors.fan_duct,
    "thick-tube": sensors.thick_tube,
    "wall-sensor": sensors.wall_sensor,
    "door-corner": air_and_doors.door_corner,
    "ageing-element": heat_sources.ageing_element,
    "sagging-mains": heat_sources.sagging_mains,
    "damp-lining": contents.damp_lining,
    "light-fibre": heat_sources.light_fibre,
}
EVERY_FAMILY: dict[str, Family] = PLAIN_FAMILIES | {
    "salt-pot": contents.salt_pot,
    "retort": contents.retort,
    "tired-supply": heat_sources.tired_supply,
    "vented-door": air_and_doors.vented_door,
    "sand-tray": contents.sand_tray,
    "still-air": air_and_doors.still_air,
    "bounded-current": heat_sources.bounded_current,
    "radiant-tube": heat_sources.radiant_tube,
    "late-module": sensors.late_module,
    "lamp-heated": heat_sources.lamp_heated,
    "closed-box": contents.closed_box,
    "chimney": air_and_doors.chimney,
    "storage-slab": contents.storage_slab,
    "slow-firing": heat_sources.slow_firing,
    "stem-well": sensors.stem_well,
    "warping-door": air_and_doors.warping_door,
    "stalling-fan": air_and_doors.stalling_fan,
    "toaster": walls_and_switches.toaster,
    "switched-bank": walls_and_switches.switched_bank,
    "blown-sand": walls_and_switches.blown_sand,
    "glowing-fibre": walls_and_switches.glowing_fibre,
    "cold-box": contents.cold_box,
}
