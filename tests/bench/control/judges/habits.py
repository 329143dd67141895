"""What parts of an oven do by themselves, tick by tick, beside the flow of heat. All data invented.

A habit is told the share of heat that is asked and returns the share that goes in; it may change the
network's exchanges too. It carries its own state, and a copy of it looks ahead alone.
"""

import copy
from dataclasses import dataclass, field
from typing import Protocol

from tests.bench.control.judges.network import Network

Place = tuple[str, str]


class Habit(Protocol):
    """What a part does by itself."""

    def passes(self, net: Network, asked: float, dt_s: float) -> float:
        """Return the share of full heat that goes in."""

    def clone(self) -> "Habit":
        """Return the same habit in the same state."""


@dataclass
class SlowFiring:
    """A phase-angle controller: it lets current up and down slowly, and less of it while its fins are hot.

    `fins_k` is how far the fins warm at full heat in the end, `cuts_k` from where on it lets less through.
    """

    up_s: float
    down_s: float
    fins_k: float
    slow_s: float
    cuts_k: float
    lets: float = 0.0
    warm_k: float = 0.0

    def passes(self, net: Network, asked: float, dt_s: float) -> float:
        """Return what goes through."""
        most = min(1.0, max(0.4, 1.0 - (self.warm_k - self.cuts_k) / 40.0))
        wanted = min(asked, most)
        self.lets = max(min(wanted, self.lets + dt_s / self.up_s), self.lets - dt_s / self.down_s)
        self.warm_k += (self.fins_k * self.lets - self.warm_k) * dt_s / self.slow_s
        return self.lets

    def clone(self) -> "SlowFiring":
        """Return the same controller."""
        return copy.copy(self)


@dataclass
class Sticking:
    """Exchanges that follow a temperature, but stick until they are well behind, and then let go at once.

    Each `of` becomes `calm` W/K times 1 + `per_k` times what `by` is above `from_c`, `most` times at most.
    """

    of: tuple[Place, ...]
    by: str
    from_c: float
    per_k: float
    most: float
    sticks: float
    factor: float = 1.0
    calm: dict[Place, float] = field(default_factory=dict)

    def passes(self, net: Network, asked: float, dt_s: float) -> float:
        """Let go where it is time for it."""
        wanted = min(1.0 + self.per_k * max(0.0, net[self.by] - self.from_c), self.most)
        if abs(wanted / self.factor - 1.0) > self.sticks:
            self._become(net, wanted)
        return asked

    def _become(self, net: Network, factor: float) -> None:
        plan = net.own_plan()
        for place in self.of:
            tie = plan.tied(*place)
            calm_w_k = self.calm.setdefault(place, tie.w_k)
            tie.w_k += calm_w_k * (factor - self.factor)  # an open door's share stays
        self.factor = factor
        net.changed()

    def clone(self) -> "Sticking":
        """Return the same exchanges."""
        return copy.copy(self)


@dataclass
class Stalling(Sticking):
    """A fan whose motor stops when it is too hot, until it has cooled: exchanges fall to the share `most`."""

    cools_k: float = 15.0

    def passes(self, net: Network, asked: float, dt_s: float) -> float:
        """Stop or start the fan."""
        stands = self.factor < 1.0
        if net[self.by] > self.from_c and not stands:
            self._become(net, self.most)
        elif net[self.by] < self.from_c - self.cools_k and stands:
            self._become(net, 1.0)
        return asked


@dataclass
class Thermostat:
    """A contact of the oven's own in series with some banks: it opens at a temperature and closes lower."""

    by: str
    opens_c: float
    closes_k: float
    banks: tuple[str, ...]
    opened: bool = False
    shares: dict[str, float] = field(default_factory=dict)

    def passes(self, net: Network, asked: float, dt_s: float) -> float:
        """Open or close the contact; what is asked reaches the other banks in either case."""
        opened = net[self.by] > self.opens_c - (self.closes_k if self.opened else 0.0)
        if opened is not self.opened:
            self.opened, plan = opened, net.own_plan()
            for bank in self.banks:
                share = self.shares.setdefault(bank, plan.heated[bank])
                plan.heated[bank] = 0.0 if opened else share
            net.changed()
        return asked

    def clone(self) -> "Thermostat":
        """Return the same contact."""
        return copy.copy(self)


@dataclass
class Fluidising:
    """Air through a bed of sand, on above a temperature and off again lower.

    While it blows, the exchanges `of` are `factor` times as large and the stream takes `stream_w_k` more.
    """

    of: tuple[Place, ...]
    stream: Place
    by: str
    starts_c: float
    stops_k: float
    factor: float
    stream_w_k: float
    blows: bool = False

    def passes(self, net: Network, asked: float, dt_s: float) -> float:
        """Turn the air on or off."""
        blows = net[self.by] > self.starts_c - (self.stops_k if self.blows else 0.0)
        if blows is not self.blows:
            self.blows, plan = blows, net.own_plan()
            for place in self.of:  # by a factor: a charge may have come in since
                tie = plan.tied(*place)
                tie.w_k *= self.factor if blows else 1.0 / self.factor
            plan.tied(*self.stream).w_k += self.stream_w_k if blows else -self.stream_w_k
            net.changed()
        return asked

    def clone(self) -> "Fluidising":
        """Return the same bed."""
        return copy.copy(self)
