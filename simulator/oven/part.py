"""A steel part in the chamber: radiation, convection, heat of transformation, surface and core."""

from simulator.oven import steel

SIGMA = 5.670374e-8  # W/m2K4, CODATA


class Part:
    """A plate heated from its faces.

    The heat content is the state, so energy closes through the transformation. Inside, the quasi-steady
    parabola of a plate under equal flux on both faces: surface - mean = q L / 3k, mean - core = q L / 6k
    (L half thickness for two faces, full for one). `emissivity` 0.8 for oxidised steel, 0.3 for bright.
    """

    __slots__ = (
        "_table",
        "area_m2",
        "core_c",
        "depth_m",
        "emissivity",
        "heat_j_per_kg",
        "mass_kg",
        "mean_c",
        "surface_c",
    )

    def __init__(
        self,
        *,
        section_mm: float,
        mass_kg: float = 0.3,
        emissivity: float = 0.8,
        faces: int = 2,
        at_c: float = 20.0,
    ) -> None:
        self.mass_kg = mass_kg
        self.depth_m = section_mm / 1000 / faces
        self.area_m2 = mass_kg / (steel.DENSITY * self.depth_m)
        self.emissivity = emissivity
        self._table = steel.temperatures()
        self.heat_j_per_kg = steel.heat_content(at_c)
        self.mean_c = self.surface_c = self.core_c = at_c

    def heat_j(self) -> float:
        """Return the heat stored above 0 degC."""
        return self.heat_j_per_kg * self.mass_kg

    def step(self, emission: float, air_c: float, film: float, dt_s: float) -> float:
        """Take heat for dt_s; return the radiation taken in watt.

        `emission` is sigma T^4 of what the part sees (W/m2), `film` the convective coefficient (W/m2K).
        """
        surface = self.surface_c
        kelvin = surface + 273.15
        kelvin *= kelvin
        radiation = self.emissivity * (emission - SIGMA * kelvin * kelvin)
        flux = radiation + film * (air_c - surface)
        content = self.heat_j_per_kg + flux * self.area_m2 * dt_s / self.mass_kg
        self.heat_j_per_kg = content
        place = (content - LOWEST_CONTENT) / steel.HEAT_STEP
        table = self._table
        i, last = int(place), len(table) - 2
        i = last if i > last else i  # past the table the last slope goes on, which there is exact
        low = table[i]
        mean = low + (place - i) * (table[i + 1] - low)
        bend = flux * self.depth_m / (6.0 * (54.0 - 0.0333 * mean if mean < 800.0 else 27.3))
        self.mean_c = mean
        self.surface_c = mean + 2.0 * bend
        self.core_c = mean - bend
        return radiation * self.area_m2


LOWEST_CONTENT = steel.heat_content(steel.LOWEST_C)
