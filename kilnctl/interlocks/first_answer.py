"""Ovens of one controller begin one at a time, until each has shown that its own output warms its own sensor.

Two ovens that are heated alike tell nothing of outputs or sensors that are crossed: each gets what it asks
for. So the first heat of each is given alone: it must show in the oven's own sensor and in no other.
"""

from collections.abc import Mapping

from kilnctl.readings import Neighbour

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
