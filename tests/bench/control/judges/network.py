"""A network of masses that exchange heat, for ovens of a build that kilnctl's own model does not have.

Own integration: every flow is linearised about the masses' temperatures and the whole network is solved at
once (linearly implicit Euler step, textbook; any stiffness). Each flow is taken from one mass and given to
another, so energy closes but for the curvature of c(T) within a step. Checked against scipy's `solve_ivp` and
against closed forms in `tests/physics/test_judges.py`.
"""

import copy
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]
KELVIN = 273.15
SIGMA = 5.670374e-8  # W/m2K4, CODATA
STEP_S = 1.0
# Water in a lining: what a kilogram takes to boil away, and how fast it can per kelvin above 100 degC.
STEAM_J_PER_KG, BOILING_C, DRIES_PER_K_S = 2.257e6, 100.0, 2e-4


@dataclass
class Tie:
    """One exchange from mass a to mass b; all parts add up.

    `w_k` W/K, times (1 + `beta` * mean degC) for a conductivity that grows; `glow` W/K4 radiation; `draft`
    W/K^1.25 natural convection; `carry` W/K of a stream that goes from a to b only.
    """

    a: str
    b: str
    w_k: float = 0.0
    beta: float = 0.0
    glow: float = 0.0
    draft: float = 0.0
    carry: float = 0.0


@dataclass
class Plan:
    """The masses (J/K at 0 degC and the rise of that per degC), their exchanges, where the heat goes in."""

    masses: dict[str, tuple[float, float]] = field(default_factory=dict)
    ties: list[Tie] = field(default_factory=list)
    heated: dict[str, float] = field(default_factory=dict)
    water_kg: dict[str, float] = field(default_factory=dict)
    # degC at which a mass melts, and the heat (J) that takes; the exchanges in which gusts blow.
    melts: dict[str, tuple[float, float]] = field(default_factory=dict)
    gusty: list[tuple[str, str]] = field(default_factory=list)

    def mass(self, name: str, j_k: float, per_c: float = 0.0) -> str:
        """Add a mass and return its name."""
        self.masses[name] = (j_k, per_c)
        return name

    def tie(self, a: str, b: str, **how: float) -> Tie:
        """Add an exchange; "room" is the shop."""
        self.ties.append(Tie(a, b, **how))
        return self.ties[-1]

    def tied(self, a: str, b: str) -> Tie:
        """Return the exchange between two masses."""
        return next(t for t in self.ties if (t.a, t.b) == (a, b))


class Network:
    """A plan with temperatures. `gained_j` went in as heat, `lost_j` out to the room and away as steam."""

    def __init__(self, plan: Plan, room_c: float) -> None:
        self.plan, self.room_c = plan, room_c
        self.names = list(plan.masses)
        self.at = {name: i for i, name in enumerate([*self.names, "room"])}
        self.temps_c: Vector = np.full(len(self.names) + 1, room_c)
        self.water_kg = {self.at[n]: kg for n, kg in plan.water_kg.items()}
        self.molten_j = {self.at[n]: 0.0 for n in plan.melts}
        self._melting = {self.at[n]: told for n, told in plan.melts.items()}
        self.gained_j = self.lost_j = 0.0
        n, k = len(self.names), len(plan.ties)
        self._a = np.array([self.at[t.a] for t in plan.ties])
        self._b = np.array([self.at[t.b] for t in plan.ties])
        self._from: Vector = np.zeros((k, n + 1))
        self._from[np.arange(k), self._a] = 1.0
        self._to: Vector = np.zeros((k, n + 1))
        self._to[np.arange(k), self._b] = 1.0
        self._net = (self._to - self._from)[:, :n].T.copy()
        self._out = self._to[:, n] - self._from[:, n]
        self.changed()

    def changed(self) -> None:
        """Take the plan's numbers anew: a door was opened, a charge put in, a bank switched."""
        ties, masses = self.plan.ties, [self.plan.masses[n] for n in self.names]
        self._g, self._beta, self._glow, self._draft, self._carry = (
            np.array([getattr(t, what) for t in ties]) for what in ("w_k", "beta", "glow", "draft", "carry")
        )
        self._c0, self._c1 = (np.array([m[i] for m in masses]) for i in (0, 1))
        self._heat: Vector = np.array([self.plan.heated.get(name, 0.0) for name in self.names])

    def own_plan(self) -> Plan:
        """Return a plan that no clone shares, to be changed; `changed` takes it over."""
        self.plan = copy.deepcopy(self.plan)
        return self.plan

    def clone(self) -> "Network":
        """Return the same oven, to look ahead with."""
        other = copy.copy(self)
        other.temps_c = self.temps_c.copy()
        other.water_kg = dict(self.water_kg)
        other.molten_j = dict(self.molten_j)
        return other

    def __getitem__(self, name: str) -> float:
        return float(self.temps_c[self.at[name]])

    def set_c(self, name: str, at_c: float) -> None:
        """Give a mass another temperature: it came in from outside."""
        self.temps_c[self.at[name]] = at_c

    def flows(self, temps_c: Vector) -> tuple[Vector, Vector, Vector]:
        """Return each exchange in W and its slopes by the two temperatures."""
        ta, tb = temps_c[self._a], temps_c[self._b]
        d, ka, kb = ta - tb, ta + KELVIN, tb + KELVIN
        g = self._g * (1.0 + self._beta / 2 * (ta + tb))
        bend = self._g * self._beta / 2 * d
        ka3, kb3 = ka * ka * ka, kb * kb * kb
        stir = self._draft * np.sqrt(np.sqrt(np.abs(d)))
        flow = (g + stir) * d + self._glow * (ka3 * ka - kb3 * kb) + self._carry * ta
        by = g + 1.25 * stir
        return flow, by + bend + 4 * self._glow * ka3 + self._carry, by - bend + 4 * self._glow * kb3

    def step(self, power_w: float, dt_s: float = STEP_S) -> None:
        """Let dt_s pass with that much heat in the elements."""
        temps_c, n = self.temps_c, len(self.names)
        flow, by_a, by_b = self.flows(temps_c)
        slope = by_a[:, None] * self._from - by_b[:, None] * self._to
        store = (self._c0 + self._c1 * temps_c[:n]) / dt_s
        matrix = -(self._net @ slope[:, :n])
        matrix.flat[:: n + 1] += store
        change = np.linalg.solve(matrix, self._net @ flow + self._heat * power_w)
        self.gained_j += power_w * float(self._heat.sum()) * dt_s
        self.lost_j += float(self._out @ (flow + slope[:, :n] @ change)) * dt_s
        temps_c[:n] += change
        if self.water_kg:
            self._dry(dt_s)
        for i in self.molten_j:
            self._melt(i)

    def _melt(self, i: int) -> None:
        """Let a mass melt or freeze: what passes its melting point goes into it, or comes out of it."""
        melts_c, takes_j = self._melting[i]
        capacity = self._c0[i] + self._c1[i] * melts_c
        past_j = capacity * (float(self.temps_c[i]) - melts_c)
        moved_j = min(max(past_j, -self.molten_j[i]), takes_j - self.molten_j[i])
        self.molten_j[i] += moved_j
        self.temps_c[i] -= moved_j / capacity

    def _dry(self, dt_s: float) -> None:
        """Let water boil away where a layer is above 100 degC: its heat leaves as steam."""
        for i, kg in list(self.water_kg.items()):
            above_k = float(self.temps_c[i]) - BOILING_C
            if above_k <= 0.0:
                continue
            capacity = self._c0[i] + self._c1[i] * self.temps_c[i]
            gone_kg = min(
                kg * min(1.0, DRIES_PER_K_S * above_k * dt_s), 0.8 * capacity * above_k / STEAM_J_PER_KG
            )
            self.temps_c[i] -= gone_kg * STEAM_J_PER_KG / capacity
            self.lost_j += gone_kg * STEAM_J_PER_KG
            self.water_kg[i] = kg - gone_kg
            if self.water_kg[i] < 1e-6:
                del self.water_kg[i]

    def stored_j(self) -> float:
        """Return the heat in all masses above 0 degC."""
        t = self.temps_c[:-1]
        return float((self._c0 * t + self._c1 * t * t / 2).sum()) + sum(self.molten_j.values())
