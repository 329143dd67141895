"""The sensor in its place: a sheath that radiation and air must warm, and a junction behind it."""

from simulator.oven.part import SIGMA


class Sensor:
    """Two lags. The first one's time constant falls as radiation grows, as it does in a real furnace.

    `sheath` is heat capacity over surface (J/m2K): about 1560 for a 1.5 mm sheath, 980 for 1 mm wire.
    `sight` is the share of its view that the element fills; `stem` the share of the head's temperature
    that conduction along the stem mixes in.
    """

    __slots__ = ("_film", "_junction_s", "_sheath", "_sight", "_stem", "junction_c", "sheath_c")

    def __init__(
        self, *, sheath: float, film: float, junction_s: float, sight: float, stem: float, at_c: float
    ) -> None:
        self._sheath = sheath
        self._film = film
        self._junction_s = junction_s
        self._sight = sight
        self._stem = stem
        self.sheath_c = self.junction_c = at_c

    def step(
        self, air_c: float, emission_face: float, emission_element: float, ambient_c: float, dt_s: float
    ) -> None:
        """Follow the chamber for dt_s. Emissions are sigma T^4 in W/m2."""
        sheath = self.sheath_c
        kelvin = sheath + 273.15
        kelvin *= kelvin
        sight = self._sight
        seen = emission_face + sight * (emission_element - emission_face)
        flux = self._film * (air_c - sheath) + 0.8 * (seen - SIGMA * kelvin * kelvin)
        sheath += flux * dt_s / self._sheath
        self.sheath_c = sheath
        tip = sheath - self._stem * (sheath - ambient_c)
        self.junction_c += (tip - self.junction_c) * dt_s / (self._junction_s + dt_s)
