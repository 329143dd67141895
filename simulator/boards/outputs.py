"""What a board switches, and how much of it becomes heat: relay, contactor, duty, pulse, dead-man, limit."""

import random

from simulator.boards.fault_state import Flaws
from simulator.boards.follower import Follower

DUTY_WINDOW_S = 10.0
STICKS_S = 20.0


class Outputs:
    """The switching half of a board.

    Heat flows when relay, contactor and limit are all closed. While the dead-man has expired, heater and
    contactor cannot be switched on; with a `timer` relay behind the board they switch and give no heat.
    """

    def __init__(
        self,
        *,
        dead_man: bool,
        contactor: bool,
        follower: bool,
        boots_on: bool,
        seed: int,
        timer: bool = False,
    ) -> None:
        self.has_dead_man = dead_man
        self.has_timer = timer
        self.has_contactor = contactor
        self.follows = follower
        self.boots_on = boots_on
        self.flaws = Flaws()
        self.follower = Follower()
        self.boots = 0
        self.limit_open = False
        self.keep_alive = 0.0  # the level of an input that starts a timer by its edges
        self._passed_s = self._sticks_until_s = 0.0
        self._draw = random.Random(f"outputs {seed}")
        self.boot()

    def off(self) -> None:
        """Drop heater and contactor, end pulse and duty, park the set-point."""
        self.heater = self.contactor = False
        self.duty = 0
        self.pulse_s = 0.0
        self.follower.park()

    def boot(self) -> None:
        """Start as after power-up: heat off (unless `boots_on`), dead-man expired."""
        self.off()
        self.boots += 1
        self.horn = self.lamp = False
        self.relay_closed = False
        self.fed_s = 0.0
        if self.boots_on or self.flaws.boots_on:
            self.heater = self.contactor = True

    def feed(self, seconds: float) -> None:
        """Let the heat stay on for so long; 0 drops it at once."""
        self.fed_s = float(seconds)
        if not seconds and self.has_dead_man and not self.has_timer:
            self.off()

    def starved(self) -> bool:
        """True while the board's own dead-man bars the heat; a timer behind it bars no coil."""
        own = self.has_dead_man and not self.has_timer
        return own and self.fed_s <= 0.0 and not self.flaws.dead_man_stuck

    def contactor_closed(self) -> bool:
        """Return what the contactor really does; a board without one has a plain wire there."""
        if self.flaws.contactor:
            return self.flaws.contactor == "welded"
        return self.contactor if self.has_contactor else True

    def heat_share(self, at_s: float, dt_s: float, seen_c: float) -> float:
        """Return the share of full heat in the next dt_s; run dead-man, pulse and duty down."""
        closed = self.contactor_closed()  # before the dead-man may drop it at the end of this step
        asked = self._asked(at_s, dt_s, seen_c)
        if self.has_dead_man:
            asked *= self._allowed(dt_s)
        if self.flaws.relay or self.flaws.chatter:
            asked = self._bad_relay(asked)
        elif self.flaws.late_open_s or self.flaws.sticky_share:
            asked = self._slow_relay(asked, at_s, dt_s)
        self.relay_closed = asked > 0.0
        cut = self.limit_open and not self.flaws.limit_bridged
        return asked if closed and not cut else 0.0

    def _asked(self, at_s: float, dt_s: float, seen_c: float) -> float:
        asked = 1.0 if self.heater else 0.0
        if self.follows:
            asked = self.follower.duty(seen_c, dt_s)
        if self.duty:
            on_s = self.duty * DUTY_WINDOW_S / 1000.0
            into_s = at_s % DUTY_WINDOW_S
            whole, rest = divmod(into_s + dt_s, DUTY_WINDOW_S)
            asked = max(asked, (whole * on_s + min(rest, on_s) - min(into_s, on_s)) / dt_s)
        if self.pulse_s > 0.0:
            asked = max(asked, min(self.pulse_s / dt_s, 1.0))
            self.pulse_s = max(0.0, self.pulse_s - dt_s)
        return asked

    def _allowed(self, dt_s: float) -> float:
        """Return the share of dt_s that the dead-man still allows."""
        if self.fed_s > dt_s + 1e-9:
            self.fed_s -= dt_s
            return 1.0
        if self.flaws.dead_man_stuck:
            return 1.0
        allowed_s = min(self.fed_s, dt_s)
        self.fed_s = 0.0
        if not self.has_timer:
            self.off()
        return allowed_s / dt_s

    def _bad_relay(self, asked: float) -> float:
        relay = self.flaws.relay
        if relay == "welded":
            return 1.0
        if relay == "open":
            return 0.0
        if relay == "half-wave":
            return max(asked, 0.5)
        return asked if self._draw.random() < 0.5 else 0.0

    def _slow_relay(self, asked: float, at_s: float, dt_s: float) -> float:
        """Return what a relay passes that opens late, always a little or seldom a lot."""
        if asked > 0.0:
            self._passed_s = at_s + dt_s
            self._sticks_until_s = 0.0
            return asked
        if self._passed_s and at_s >= self._passed_s and self._sticks_until_s <= 0.0:
            sticks = self._draw.random() < self.flaws.sticky_share
            self._sticks_until_s = self._passed_s + (STICKS_S if sticks else self.flaws.late_open_s)
        return min(max(self._sticks_until_s - at_s, 0.0) / dt_s, 1.0)
