"""The oven's wall in five nodes, hot face to shell, with conductivity that depends on temperature."""

from dataclasses import dataclass
from itertools import pairwise

from simulator.oven.part import SIGMA

SHELL_EMISSIVITY = 0.9


@dataclass(frozen=True, slots=True)
class Lining:
    """An insulating material: conductivity a + bT + cT^2 in W/mK (T in degC), density, heat capacity."""

    conductivity: tuple[float, float, float]
    density: float
    heat_capacity: float


# Fitted to the insulating firebrick class 23 figures .14 (260), .16 (540), .19 (815), .24 (1090 degC) and
# the density 550 kg/m3; c about 1050 J/kgK hot. From memory, as are the blanket and wool figures.
BRICK_23 = Lining((0.1388, -3.07e-5, 1.122e-7), 550.0, 1050.0)
BRICK_26 = Lining((0.20, 2.0e-5, 8.0e-8), 800.0, 1050.0)
BLANKET = Lining((0.035, 6.0e-5, 2.0e-7), 128.0, 1080.0)
WOOL = Lining((0.034, 1.3e-4, 2.0e-7), 60.0, 840.0)


@dataclass(frozen=True, slots=True)
class WallData:
    """Heat capacities of the five nodes (J/K), shapes area/distance of the four gaps (m), outer area (m2)."""

    lining: Lining
    capacities: tuple[float, float, float, float, float]
    shapes: tuple[float, float, float, float]
    outer_m2: float


def slab(
    lining: Lining,
    thickness_m: float,
    inner_m2: float,
    outer_m2: float,
    *,
    face_extra: float = 0.0,
    shell_extra: float = 0.0,
) -> WallData:
    """Cut a lining into nodes, fine at the hot face; extras are sheet, hearth or shell (J/K)."""
    at = [thickness_m * f for f in (0.0, 0.07, 0.21, 0.50, 1.0)]
    area = [inner_m2 + (outer_m2 - inner_m2) * x / thickness_m for x in at]
    edges = [0.0, *((a + b) / 2 for a, b in pairwise(at)), thickness_m]
    heat = lining.density * lining.heat_capacity
    cells = [heat * (b - a) * s for (a, b), s in zip(pairwise(edges), area, strict=True)]
    gaps = [(s + t) / 2 / (b - a) for (a, b), (s, t) in zip(pairwise(at), pairwise(area), strict=True)]
    nodes = (cells[0] + face_extra, cells[1], cells[2], cells[3], cells[4] + shell_extra)
    return WallData(lining, nodes, (gaps[0], gaps[1], gaps[2], gaps[3]), outer_m2)


class Wall:
    """The wall's state: five temperatures in degC."""

    __slots__ = (
        "_a",
        "_b",
        "_c",
        "_capacities",
        "_outer_m2",
        "_shapes",
        "face_c",
        "shell_c",
        "t1",
        "t2",
        "t3",
    )

    def __init__(self, data: WallData, at_c: float) -> None:
        self._capacities = data.capacities
        self._shapes = data.shapes
        self._outer_m2 = data.outer_m2
        self._a, self._b, self._c = data.lining.conductivity
        self.face_c = self.t1 = self.t2 = self.t3 = self.shell_c = at_c

    def heat_j(self) -> float:
        """Return the heat stored above 0 degC."""
        nodes = (self.face_c, self.t1, self.t2, self.t3, self.shell_c)
        return sum(c * t for c, t in zip(self._capacities, nodes, strict=True))

    def step(self, heat_w: float, ambient_c: float, dt_s: float) -> float:
        """Put heat into the hot face for dt_s; return the loss of the shell in watt.

        Explicit; the caller keeps dt_s at or below a second. The shell loses by natural convection,
        1.31 dT^(1/3) W/m2K (simplified equation for air at a vertical face), and by radiation.
        """
        t0, t1, t2, t3, t4 = self.face_c, self.t1, self.t2, self.t3, self.shell_c
        a, b, c = self._a, self._b, self._c
        s0, s1, s2, s3 = self._shapes
        c0, c1, c2, c3, c4 = self._capacities
        m = 0.5 * (t0 + t1)
        q0 = (a + (b + c * m) * m) * s0 * (t0 - t1)
        m = 0.5 * (t1 + t2)
        q1 = (a + (b + c * m) * m) * s1 * (t1 - t2)
        m = 0.5 * (t2 + t3)
        q2 = (a + (b + c * m) * m) * s2 * (t2 - t3)
        m = 0.5 * (t3 + t4)
        q3 = (a + (b + c * m) * m) * s3 * (t3 - t4)
        loss = self._outer_m2 * shell_loss(t4, ambient_c)
        self.face_c = t0 + (heat_w - q0) * dt_s / c0
        self.t1 = t1 + (q0 - q1) * dt_s / c1
        self.t2 = t2 + (q1 - q2) * dt_s / c2
        self.t3 = t3 + (q2 - q3) * dt_s / c3
        self.shell_c = t4 + (q3 - loss) * dt_s / c4
        return loss


def shell_loss(shell_c: float, ambient_c: float) -> float:
    """Return what an outer face loses to still air, W/m2."""
    rise = shell_c - ambient_c
    hot, cold = shell_c + 273.15, ambient_c + 273.15
    hot *= hot
    cold *= cold
    convection: float = 1.31 * abs(rise) ** (1 / 3) * rise
    return convection + SHELL_EMISSIVITY * SIGMA * (hot * hot - cold * cold)
