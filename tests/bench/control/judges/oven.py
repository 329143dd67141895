"""One judge's oven: a network, its mains, its door and charge, and the module that reads its sensor.

Stands where the simulator's board expects an oven, so that board, I/O, runner and interlocks are the real
ones and only the physics is another.
"""

import copy
import random
from collections import deque
from dataclasses import dataclass, field, replace
from types import SimpleNamespace

from tests.bench.control.judges.builds import Build
from tests.bench.control.judges.families.named import EVERY_FAMILY
from tests.bench.control.judges.network import SIGMA, Network

SLOT_S, GUST_S = 60.0, 15.0
_DOOR_W_K, _DOOR_M2 = 8.0, 0.02
# Air that turns over exchanges so many times as much, until this share of the difference is left.
_TURNING, _TURNED = 150.0, 0.15


@dataclass(frozen=True)
class Kind:
    """A sensor module: white noise, smallest step, seconds between two measurements, its own filter.

    `late_s`: how old what it tells is.
    """

    noise_k: float
    step_k: float
    every_s: int = 1
    filter_s: float = 0.0
    late_s: float = 0.0


KINDS = {
    "fine": Kind(0.15, 0.1),
    "quarters": Kind(0.12, 0.25),
    "whole kelvins": Kind(0.3, 1.0),
    "every three seconds": Kind(0.3, 0.25, 3),
    "filtered": Kind(0.2, 0.1, 1, 6.0),
}
# Not drawn: named by its family.
LATE = Kind(0.15, 0.5, 2)


@dataclass
class Module:
    """What the board may read."""

    kind: Kind
    seed: str
    shown_c: float = 0.0
    ticks: int = -1
    slow_c: float | None = None
    past_c: deque[float] = field(default_factory=deque)
    noise: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.noise = random.Random(self.seed)

    def see(self, true_c: float, dt_s: float) -> None:
        """Measure where it is time for it."""
        self.ticks += 1
        if self.kind.late_s:
            self.past_c.append(true_c)
            true_c = self.past_c[0]
            if len(self.past_c) * dt_s > self.kind.late_s:
                self.past_c.popleft()
        if self.ticks % self.kind.every_s:
            return
        seen_c = true_c + self.noise.gauss(0.0, self.kind.noise_k)
        if self.kind.filter_s:
            slow_c = seen_c if self.slow_c is None else self.slow_c
            self.slow_c = seen_c = slow_c + (seen_c - slow_c) * dt_s / (self.kind.filter_s + dt_s)
        self.shown_c = round(seen_c / self.kind.step_k) * self.kind.step_k


class Mains:
    """Volts as a share of what is written: wander by a hundredth, steps, another machine that starts."""

    def __init__(self, seed: str, sag: float) -> None:
        self._dice, self._sag = random.Random(f"mains {seed}"), sag
        self._slots: list[float] = []
        self._slow, self._step, self._left = 0.0, 0.0, 0

    def share(self, at_s: float) -> float:
        """Return the volts at a time."""
        slot = int(at_s / SLOT_S)
        while len(self._slots) <= slot:
            self._slots.append(self._next())
        return self._slots[slot]

    def _next(self) -> float:
        dice = self._dice
        self._slow += 0.25 * (dice.gauss(0.0, 0.008) - self._slow)
        self._left -= 1
        if self._left < 0:
            sags = self._sag > 0.0 and dice.random() < 0.12
            self._step = self._sag * dice.uniform(0.6, 1.0) if sags else dice.choice((0.0, 0.0, 0.0, 0.015))
            self._left = dice.randrange(1, 10) if sags else dice.randrange(5, 40)
        return 1.0 + self._slow - self._step


class Gusts:
    """How hard the draught blows, as a factor about one: anew every quarter of a minute, with a memory."""

    def __init__(self, seed: str, share: float) -> None:
        self._dice, self._share = random.Random(f"gusts {seed}"), share
        self._slots: list[float] = []

    def factor(self, at_s: float) -> float:
        """Return the factor at a time."""
        slot = int(at_s / GUST_S)
        while len(self._slots) <= slot:
            before = self._slots[-1] if self._slots else 1.0
            blown = 1.0 + 0.7 * (before - 1.0) + 0.7 * self._share * self._dice.uniform(-1.0, 1.0)
            self._slots.append(max(blown, 0.05))
        return self._slots[slot]


class JudgeOven:
    """One oven. `day` is "learning" or names a heat: each has its own mains, noise and room."""

    def __init__(
        self, family: str, seed: int, day: str = "learning", *, lag: float = 1.0, volts: float = 1.0
    ) -> None:
        dice = random.Random(f"judge {family} {seed}")
        self.build: Build = EVERY_FAMILY[family](dice)
        self.family, self.seed, self.day = family, seed, day
        self.kind_name = dice.choice(list(KINDS))
        self.ambient_c = dice.uniform(8.0, 28.0) + (dice.uniform(-2.0, 2.0) if day == "learning" else 0.0)
        plan = self.build.plan
        for name in ("sheath", "tube 0", "tube 1", "tube 2", "sensor"):
            if name in plan.masses:
                plan.masses[name] = (plan.masses[name][0] * lag, 0.0)
        if day == "learning":
            plan.water_kg = plan.water_kg if dice.random() < 0.5 else {}
        self.net = Network(plan, self.ambient_c)
        self.kind = KINDS[self.kind_name]
        if self.build.module:
            self.kind_name, self.kind = self.build.module, replace(LATE, late_s=self.build.late_s)
        self.module = Module(self.kind, f"{family} {seed} {day}", self.ambient_c)
        self.mains = Mains(f"{family} {seed} {day}", self.build.sag)
        self._gusts = Gusts(f"{family} {seed} {day}", self.build.gust)
        self._calm = {place: plan.tied(*place).w_k for place in plan.gusty}
        self._blows = 1.0
        self._turning, self._lets = False, 0.0
        self._still_w_k = 0.0 if self.build.turns is None else plan.tied(*self.build.turns).w_k
        self._habit = self.build.habit
        self._share, self._aged = volts, 0.0 if day == "learning" else self.build.aged
        self.at_s, self.data = 0.0, SimpleNamespace(supply_v=230.0, power_w=self.build.power_w)
        self.volts, self.health, self.fan, self.part = 230.0, 1.0, True, None
        self.door_open = self._door = False
        self.peak_blade_c = self.ambient_c

    # ---- what the board asks ----

    @property
    def sensor(self) -> SimpleNamespace:
        """Return what the board's converter takes for the sensor."""
        return SimpleNamespace(junction_c=self.module.shown_c)

    def heat_w(self, share: float) -> float:
        """Return the element's power now: mains, and a resistance that is not constant."""
        volts = self.mains.share(self.at_s) * self._share * self.volts / 230.0
        resistance = (1.0 + self.build.warm * (self.net["element"] - 20.0) / 1000.0) * (1.0 + self._aged)
        resistance = max(resistance, 0.2)
        power_w = share * self.health * self.build.power_w
        if not self.build.most_amps:
            return power_w * volts * volts / resistance
        amps = min(volts * self.build.hot / resistance, self.build.most_amps * self._lets)
        return power_w * amps * amps * resistance / self.build.hot

    def step(self, share: float, dt_s: float) -> None:
        """Let dt_s pass."""
        if self.door_open is not self._door:
            self._swing()
        if self._calm:
            self._blow(self._gusts.factor(self.at_s))
        if self.build.turns is not None:
            self._turn(*self.build.turns)
        if self.build.soft_s:
            self._lets = min(self._lets + dt_s / self.build.soft_s, 1.0) if share else 0.0
        if self._habit is not None:
            share = self._habit.passes(self.net, share, dt_s)
        self.net.step(self.heat_w(share) if share else 0.0, dt_s)
        self.at_s += dt_s
        self.module.see(self.true_c, dt_s)
        self.peak_blade_c = max(self.peak_blade_c, self.blade_c)

    def advance(self, share: float, dt_s: float) -> None:
        """Let a longer time pass, second by second."""
        steps = max(1, round(dt_s))
        for _ in range(steps):
            self.step(share, dt_s / steps)

    # ---- what the judge knows and does ----

    @property
    def true_c(self) -> float:
        """Return what a faultless sensor in its place shows."""
        return self.net["sensor"]

    @property
    def blade_c(self) -> float:
        """Return a blade of 2 mm beside the work."""
        return self.net["blade"]

    def _blow(self, factor: float) -> None:
        if factor == self._blows:
            return
        self._blows, plan = factor, self.net.own_plan()
        for place, calm_w_k in self._calm.items():
            plan.tied(*place).w_k = calm_w_k * factor
        self.net.changed()

    def _turn(self, upper: str, lower: str) -> None:
        """Let the air turn over where the upper is much hotter, until it is hardly so."""
        above_k = self.net[upper] - self.net[lower]
        turning = above_k > self.build.turn_k * (_TURNED if self._turning else 1.0)
        if turning is not self._turning:
            self._turning, plan = turning, self.net.own_plan()
            plan.tied(upper, lower).w_k = self._still_w_k * (_TURNING if turning else 1.0)
            self.net.changed()

    def _swing(self) -> None:
        self._door = self.door_open
        plan, opened = self.net.own_plan(), float(self.door_open)
        plan.tied("face", "room").glow = SIGMA * _DOOR_M2 * opened
        plan.tied("air", "room").w_k += _DOOR_W_K * (1.0 if self.door_open else -1.0)
        self.net.changed()

    def put(self, kg: float, bright: bool = False, section_mm: float = 10.0, at_c: float = 20.0) -> None:
        """Put a charge of steel in, and what comes in with it; 0 kg takes the charge out."""
        plan = self.net.own_plan()
        area = kg / (7850.0 * section_mm / 2000.0)
        plan.masses["charge"] = (450.0 * kg + 1.0, 0.5 * kg)
        blade_m2 = 0.04 / 7.85
        for tie in plan.ties:
            if tie.b != "charge":
                continue
            like = next(t for t in plan.ties if (t.a, t.b) == (tie.a, "blade"))
            tie.w_k = like.w_k / blade_m2 * area
            tie.glow = like.glow / blade_m2 * area * (0.35 if bright else 1.0)
        self.net.changed()
        for name in ("charge", *self.build.comes):
            self.net.set_c(name, at_c)

    def clone(self) -> "JudgeOven":
        """Return the same oven at the same moment, to look ahead with."""
        other = copy.copy(self)
        other.net = self.net.clone()
        other.module = Module(self.kind, self.module.seed)
        other.module.past_c.extend(self.module.past_c)
        other._habit = None if self._habit is None else self._habit.clone()
        return other


def fastest_s(oven: JudgeOven, goal_c: float, ceiling_k: float = 3.0) -> float:
    """Return the time-optimal limit: into goal - 3 K with the latest cut whose coast peaks at goal + 3 K.

    By search. Heat flows one way only, so no other switching arrives sooner without passing the ceiling.
    """
    live, saved, at = oven.clone(), [], 0
    while live.true_c < goal_c + ceiling_k:
        if at % 20 == 0:
            saved.append(live.clone())
        live.step(1.0, 1.0)
        at += 1
        if at > 30_000:
            return float("inf")
    low, high = 0, at
    while high - low > 1:
        middle = (low + high) // 2
        if _coast(saved, middle, goal_c)[0] <= goal_c + ceiling_k:
            low = middle
        else:
            high = middle
    return _coast(saved, low, goal_c)[1]


def _coast(saved: list[JudgeOven], cut_s: int, goal_c: float) -> tuple[float, float]:
    start = min(cut_s // 20, len(saved) - 1)
    live, at, peak_c, fell_s, reached_s = saved[start].clone(), 20 * start, -1e9, 0, float("inf")
    while fell_s < 120 or at <= cut_s:
        live.step(float(at < cut_s), 1.0)
        at += 1
        now_c = live.true_c
        if now_c >= goal_c - 3.0 and reached_s == float("inf"):
            reached_s = float(at)
        fell_s = 0 if now_c > peak_c else fell_s + 1
        peak_c = max(peak_c, now_c)
    return peak_c, reached_s
