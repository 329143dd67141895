"""What is really so in an oven, for a judge."""

from dataclasses import dataclass

from simulator.oven.plant import Plant


@dataclass(frozen=True, slots=True)
class Truth:
    """Temperatures in degC, None without a part; peaks since the oven was made.

    `chamber_c` is the air, `place_c` what a faultless sensor in its place shows, `wall_c` the hot face.
    `heater_contact` is True while heat really flows from this oven's element.
    """

    at_s: float
    element_c: float
    chamber_c: float
    place_c: float
    wall_c: float
    part_surface_c: float | None
    part_core_c: float | None
    part_skin_c: float | None
    heat_w: float
    energy_j: float
    heater_contact: bool
    limit_open: bool
    peak_element_c: float
    peak_chamber_c: float
    peak_place_c: float
    peak_part_c: float | None


def truth_of(plant: Plant, at_s: float, limit_open: bool) -> Truth:
    """Return what is so in this oven now."""
    part = plant.part
    return Truth(
        at_s=at_s,
        element_c=plant.element_c,
        chamber_c=plant.air_c,
        place_c=plant.sensor.junction_c,
        wall_c=plant.wall.face_c,
        part_surface_c=part.surface_c if part else None,
        part_core_c=part.core_c if part else None,
        part_skin_c=part.surface_c if part else None,
        heat_w=plant.power_w,
        energy_j=plant.energy_j,
        heater_contact=plant.power_w > 0.0,
        limit_open=limit_open,
        peak_element_c=plant.peak_element_c,
        peak_chamber_c=plant.peak_air_c,
        peak_place_c=plant.peak_place_c,
        peak_part_c=plant.peak_part_c if plant.peak_part_c > float("-inf") else None,
    )
