"""Two ovens, and the heat arrives in the wrong one.

Two that are heated alike tell nothing of it: each gets what it asks for. So ovens of one controller begin one
at a time: the first heat of each must show in its own sensor and in no other.
"""

from collections.abc import Mapping
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Neighbour, Observation, ResetClass, Trip

OTHER_RISE_K = 3.0
IDLE = 0.02
OWN_HEAT = 0.1
FOR_S = 30.0
# An oven that is given heat alone and does not answer, while one does that was never heated: one cause. So
# has one that is given much and gets colder, while one that is given nothing gets warmer.
ALONE_S, ANSWER_K, MUCH = 10.0, 2.0, 0.5
MINUTE_S = 60.0
# Shares of full power: heat that no model explains, what it may be the heat of, and how much of it.
EXCESS, APART, SHARE = 0.2, 0.25, 0.5
MISSING, LACKS, BOTH_S = 0.08, 0.45, 20.0
# What one lacks is what it was asked more than the other; in the first minutes a third of it shows.
OF_MORE = 0.3
STILL_RISES_K = 1.0
# A rise that shows whose heat it is: fifteen times the noise of a sensor; a door that was just shut may make
# as much, and is then taken for an answer as it was before there were turns.
PROVED_K = 5.0
# Another oven that rises by so much in a minute says that the heat may be its own.
ELSEWHERE_K = 2.0
# Two that begin in one tick have both one tick of heat before they know of each other.
A_TICK = 0.05
# So long may the others wait for one oven, and so often: a slow one, or one that holds what it has, shows
# nothing in its turn, and must not keep a soak waiting for ever.
TURN_S, MOST_TURNS = 180.0, 2


class CrossedOvens:
    """The heat of one oven arrives in another: outputs or sensors are crossed. Every oven of the two is cut.

    Seen in two ways. One: another oven warms up without a command while this one is heated. Two: an oven gets
    heat that nobody asked for it while another one lacks what it was asked for, by their models or by how
    each has moved from one minute to the next. Either alone has many causes; both at once have one.
    """

    kind: ClassVar[str] = "crossed_ovens"
    label: ClassVar[str] = "other ovens"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._duty = 0.0
        self._idle_s = self._both_s = self._rise_k = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Judge what the other ovens tell."""
        if not seen.others:
            return None
        self._duty += (seen.duty_asked - self._duty) * min(seen.dt_s / MINUTE_S, 1.0)
        cut = next((name for name, other in seen.others.items() if other.crossed), "")
        if cut and seen.run_max_c is not None:
            return self._trip(f'"{cut}" was cut because its heat and another oven\'s are crossed', seen.at_s)
        warms, feeds = self._warms(seen), self._feeds(seen)
        if warms and self._idle_s >= (ALONE_S if _for_nothing(seen.told, seen.others[warms]) else FOR_S):
            reason = f'"{warms}" got {self._rise_k:.0f} K warmer in a minute without being heated'
            return self._trip(reason, seen.at_s)
        if feeds and self._both_s >= BOTH_S and not _cools(seen.others[feeds], seen.told):
            reason = f'heat meant for one oven reaches the other: this oven and "{feeds}"'
            return self._trip(reason, seen.at_s)
        return None

    def _trip(self, reason: str, at_s: float) -> Trip:
        return Trip(self.kind, reason, at_s, reset=ResetClass.B, repeat_step="heater pulse")

    def _warms(self, seen: Observation) -> str:
        """Count how long an idle oven has been warming up, less how long it has not; return its name."""
        idle = {name: other.rise_k for name, other in seen.others.items() if other.heat < IDLE}
        name = max(idle, key=lambda n: idle[n], default="")
        self._rise_k = idle.get(name, 0.0)
        warms = self._rise_k > OTHER_RISE_K and self._duty >= OWN_HEAT
        self._idle_s = max(0.0, self._idle_s + (seen.dt_s if warms else -seen.dt_s))
        return name

    def _feeds(self, seen: Observation) -> str:
        """Count how long two ovens have told of each other's heat, less how long not; return whose."""
        told = seen.told
        found = (n for n, other in seen.others.items() if _fed_by(told, other) or _fed_by(other, told))
        name = next(found, "")
        self._both_s = max(0.0, self._both_s + (seen.dt_s if name else -seen.dt_s))
        return name

    def distance(self) -> Distance:
        """Return the fastest rise of an idle oven."""
        return Distance(self._rise_k, OTHER_RISE_K, "K/min", near(self._rise_k, OTHER_RISE_K))


def _for_nothing(told: Neighbour, warms: Neighbour) -> bool:
    """Return whether the heat of this oven shows in the idle one and not in its own."""
    colder = told.asked >= MUCH and told.rise_k < 0.0
    return colder or (told.turn and told.rise_k < ANSWER_K and warms.rested)


def _cools(other: Neighbour, told: Neighbour) -> bool:
    """Return whether the oven that was asked for less was cut and gets no warmer: it only cools slower."""
    return other.over and other.rise_k < STILL_RISES_K and other.asked < told.asked


def _fed_by(one: Neighbour, other: Neighbour) -> bool:
    """Return whether one oven gets what the other, which was asked to give more, lacks."""
    more, excess, theirs = other.asked - one.asked, one.unexplained, other.unexplained
    if more < APART:
        return False
    unknown = excess is None or excess >= MISSING
    gains = one.gains and unknown
    if other.loses and (gains or (one.goes_on and unknown)):
        return True
    if gains and theirs is not None and theirs <= -max(EXCESS, LACKS * other.asked):
        return True
    lacks = other.loses if theirs is None else theirs <= -max(MISSING, OF_MORE * more)
    return excess is not None and excess >= max(EXCESS, SHARE * more) and lacks


class FirstAnswer:
    """One oven's turn among those that have not answered yet. `step` once a tick; read from any thread."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._proved = False
        self._lowest_c: float | None = None
        self._turn_s = 0.0
        self._waits = False
        self.unproven = self.turn = False
        self.turns = 0

    @property
    def waits(self) -> bool:
        """True while the heat waits for another oven's first answer."""
        return self._waits

    def step(
        self, process_c: float, wants: bool, heated: bool, others: Mapping[str, Neighbour], dt_s: float
    ) -> bool:
        """Return whether the oven may be heated now: reading in degC, whether it wants heat and had it."""
        may = self._proved or self._may(process_c, wants, heated, others, dt_s)
        self._waits = wants and not may
        return may

    def _may(
        self, process_c: float, wants: bool, heated: bool, others: Mapping[str, Neighbour], dt_s: float
    ) -> bool:
        rivals = {name: other for name, other in others.items() if other.unproven and not other.over}
        self._see(process_c, heated, others)
        self.unproven = wants and not self._proved and self.turns < MOST_TURNS
        if not self.unproven or not rivals:
            self.turn, self._turn_s = self.unproven and (heated or self.turn), 0.0
            return True
        if self.turn:
            self._turn_s += dt_s
            if self._turn_s >= TURN_S:
                self.turn, self._turn_s, self.turns = False, 0.0, self.turns + 1
            return self.turn
        first = min((other.turns, name) for name, other in rivals.items())
        self.turn = not any(other.turn for other in rivals.values()) and (self.turns, self._name) < first
        return self.turn

    def _see(self, process_c: float, heated: bool, others: Mapping[str, Neighbour]) -> None:
        """Take a rise for an answer where nobody else's heat can have made it: not even the rest of it."""
        theirs = any(other.asked > A_TICK and other.unproven for other in others.values())
        if theirs or not (heated or self.turn):
            self._lowest_c = None
            return
        lowest_c = process_c if self._lowest_c is None else min(self._lowest_c, process_c)
        self._lowest_c = lowest_c
        elsewhere = any(other.heat <= 0.0 and other.rise_k > ELSEWHERE_K for other in others.values())
        if process_c - lowest_c >= PROVED_K and not elsewhere:
            self._proved, self.unproven, self.turn = True, False, False
