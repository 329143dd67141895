"""The oven itself: element, air, wall, door, part and sensor under one supply.

Plain floats. Every heat flow is taken once from one mass and given to another, so energy closes to
rounding; the air, lightest of all, is solved implicitly, the rest explicitly at steps of at most one second.
"""

from dataclasses import dataclass

from simulator.oven.part import SIGMA, Part
from simulator.oven.sensor import Sensor
from simulator.oven.wall import Wall, WallData

LONGEST_STEP_S = 1.0


@dataclass(frozen=True, slots=True)
class PlantData:
    """What an oven is made of: conductances in W/K, capacities in J/K, areas in m2.

    The element's area has its emissivity in it. `film` is W/m2K.
    """

    power_w: float
    supply_v: float
    element_capacity: float
    element_area_m2: float
    element_film: float
    air_capacity: float
    face_m2: float
    film: float
    leak: float
    door_m2: float
    door_leak: float
    wall: WallData
    sheath: float
    sheath_film: float
    junction_s: float
    sight: float
    stem: float
    still_share: float = 1.0


class Plant:
    """The state of one oven.

    `health` scales the element (1 sound, 0.5 one of two parallel elements dead); `volts` is the supply
    now; heat is power_w * health * (volts / supply_v)^2, less 4 % per 1000 K of warm resistance.
    `fan` False stops the circulation: films fall to `still_share`. `ajar` is the share of an open door's
    losses that a door lets through which is shut as far as its switch can tell.
    """

    __slots__ = (
        "air_c",
        "ajar",
        "ambient_c",
        "data",
        "door_open",
        "element_c",
        "energy_j",
        "fan",
        "health",
        "lost_j",
        "part",
        "peak_air_c",
        "peak_element_c",
        "peak_part_c",
        "peak_place_c",
        "power_w",
        "sensor",
        "volts",
        "wall",
    )

    def __init__(self, data: PlantData, ambient_c: float = 20.0, at_c: float | None = None) -> None:
        start_c = ambient_c if at_c is None else at_c
        self.data = data
        self.ambient_c = ambient_c
        self.element_c = self.air_c = start_c
        self.wall = Wall(data.wall, start_c)
        self.sensor = Sensor(
            sheath=data.sheath,
            film=data.sheath_film,
            junction_s=data.junction_s,
            sight=data.sight,
            stem=data.stem,
            at_c=start_c,
        )
        self.part: Part | None = None
        self.door_open = False
        self.ajar = 0.0
        self.fan = True
        self.health = 1.0
        self.volts = data.supply_v
        self.energy_j = self.lost_j = self.power_w = 0.0
        self.peak_air_c = self.peak_element_c = self.peak_place_c = start_c
        self.peak_part_c = float("-inf")

    def heat_w(self, share: float) -> float:
        """Return the heat of the element while `share` (0..1) of the half-waves reach it."""
        ratio = self.volts / self.data.supply_v
        warm = 1.0 + 4e-5 * (self.element_c - 20.0)
        return share * self.data.power_w * self.health * ratio * ratio / warm

    def stored_j(self) -> float:
        """Return the heat in element, air, wall and part, above 0 degC."""
        own = self.data.element_capacity * self.element_c + self.data.air_capacity * self.air_c
        return own + self.wall.heat_j() + (self.part.heat_j() if self.part else 0.0)

    def advance(self, share: float, dt_s: float) -> None:
        """Let dt_s pass with that share of heat, in equal steps of at most a second."""
        steps = int(dt_s / LONGEST_STEP_S - 1e-9) + 1
        for _ in range(steps):
            self.step(share, dt_s / steps)

    def step(self, share: float, dt_s: float) -> None:
        """One step of at most a second."""
        data = self.data
        wall = self.wall
        element, face, ambient = self.element_c, wall.face_c, self.ambient_c
        power = self.power_w = self.heat_w(share) if share else 0.0
        kelvin = element + 273.15
        kelvin *= kelvin
        emission_e = SIGMA * kelvin * kelvin
        kelvin = face + 273.15
        kelvin *= kelvin
        emission_f = SIGMA * kelvin * kelvin
        wind = 1.0 if self.fan else data.still_share
        g_element = data.element_film * wind
        film = data.film * wind
        g_face = film * data.face_m2
        leak = data.leak
        door_w = 0.0
        ajar = 1.0 if self.door_open else self.ajar
        if ajar:
            leak += ajar * data.door_leak
            door_w = ajar * data.door_m2 * (emission_f - SIGMA * (ambient + 273.15) ** 4)
        own = data.air_capacity / dt_s
        total = own + g_element + g_face + leak
        flow = own * self.air_c + g_element * element + g_face * face + leak * ambient
        part = self.part
        if part is None:
            air = flow / total
            from_element = from_face = 0.0
        else:
            g_part = film * part.area_m2
            air = (flow + g_part * part.surface_c) / (total + g_part)
            sight = data.sight
            taken = part.step(emission_f + sight * (emission_e - emission_f), air, film, dt_s)
            from_element = sight * taken
            from_face = taken - from_element
        across = data.element_area_m2 * (emission_e - emission_f)
        balance = power - g_element * (element - air) - across - from_element
        self.element_c = element + balance * dt_s / data.element_capacity
        heat_in = across - g_face * (face - air) - from_face - door_w
        shell = wall.step(heat_in, ambient, dt_s)
        self.energy_j += power * dt_s
        self.lost_j += (shell + door_w + leak * (air - ambient)) * dt_s
        self.air_c = air
        self.sensor.step(air, emission_f, emission_e, ambient, dt_s)
        self._peaks()

    def _peaks(self) -> None:
        # Compared by hand: four calls of max() a step cost as much as the element.
        element, air, place = self.element_c, self.air_c, self.sensor.junction_c
        self.peak_element_c = element if element > self.peak_element_c else self.peak_element_c
        self.peak_air_c = air if air > self.peak_air_c else self.peak_air_c
        self.peak_place_c = place if place > self.peak_place_c else self.peak_place_c
        if self.part is not None:
            skin = self.part.surface_c
            self.peak_part_c = skin if skin > self.peak_part_c else self.peak_part_c
