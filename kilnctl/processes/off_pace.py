"""How fast the boards of an `off` answer, and how long its alarm may wait for them."""

from collections.abc import Collection

from kilnctl.clock import Clock
from kilnctl.marks.off_means import READS, looks_in, reads_in
from kilnctl.processes.off_at_ports import OffAtPorts

ALARM_S = 2.0  # a slow board that ends well has answered by then; who stands there waits no longer
LATEST_S = 6.0  # nor longer than this for a board that is still slower, or a machine that is
READ_S = 12.0  # an oven that reads off already is only asked again, to be sure
IN_A_HEAT = 3  # looks more: a tick that is under way, and the off that it ends with


class Pace:
    """What is known, while an `off` waits, of the boards that it waits for. Asked from other threads too.

    Times are unscaled seconds from the beginning of the `off`.
    """

    def __init__(self, clock: Clock, at_ports: OffAtPorts) -> None:
        self._clock, self._at_ports = clock, at_ports
        self._began_s = clock.real_s()
        self._heard: frozenset[str] = frozenset()
        self.asks()

    def asks(self) -> None:
        """Begin with somebody who drives ovens: what an earlier one told counts no more."""
        self._told: dict[str, float] = {}
        self._read: frozenset[str] = frozenset()
        self._asked_s = self._clock.real_s() - self._began_s

    def hears(self, answer: object) -> float:
        """Take in a line before the answer; return how long a look of his takes, 0 where he did not say."""
        self._told, self._read = looks_in(answer), reads_in(answer)
        self._heard |= self._told.keys()
        return max(self._told.values(), default=0.0)

    def heard(self) -> frozenset[str]:
        """Return the ovens whose boards have answered a word since this `off` began."""
        return self._heard | self._at_ports.heard()

    def looks_s(self) -> dict[str, float]:
        """Return how long a look takes at each oven whose board answers."""
        return {**self._told, **self._at_ports.looks_s()}

    def read_off(self) -> frozenset[str]:
        """Return the ovens that were read as off, and are only asked again to be sure."""
        return self._read | self._at_ports.read_off()

    def latest_s(self, left: Collection[str]) -> float | None:
        """Return when the alarm comes for the ovens that are left; None where a board does not answer."""
        left, looks_s, untried = set(left), self.looks_s(), self._at_ports.untried()
        if left <= self.read_off():
            return READ_S
        if not left <= looks_s.keys() | untried:
            return None
        if left & untried:
            return LATEST_S  # nothing was sent yet: this machine is slow, and a board may be quick
        asked_s = self._asked_s if self._told else self._at_ports.began_s - self._began_s
        looks = READS + (IN_A_HEAT if self._told else 0)
        return min(LATEST_S, ALARM_S + asked_s + looks * max(looks_s.values()))
