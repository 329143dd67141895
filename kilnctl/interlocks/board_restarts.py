"""A board that starts anew in the middle of a heat."""

from collections import deque
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Reaction, Trip

LIMIT = 3
WITHIN_S = 600.0


class BoardRestarts:
    """Once is told: the heat was off meanwhile, and off went out first. Three times in ten minutes stops.

    A brown-out when the contactor closes, a bad supply or a watchdog that bites looks like this (common
    practice, no single source). Only boards that say when they start can be seen.
    """

    kind: ClassVar[str] = "board_restarts"
    label: ClassVar[str] = "board restarts"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = not any(d.kind == "line" or getattr(d, "banner", "") for d in oven.device.values())
        self._known: int | None = None
        self._at_s: deque[float] = deque()

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Count the starts of the last ten minutes."""
        restarts = seen.scan.link.restarts
        if self._known is not None and restarts > self._known:
            self._at_s.extend([seen.at_s] * (restarts - self._known))
        self._known = restarts
        while self._at_s and self._at_s[0] < seen.at_s - WITHIN_S:
            self._at_s.popleft()
        if len(self._at_s) >= LIMIT:
            reason = f"a board has restarted {len(self._at_s)} times in {WITHIN_S / 60:.0f} min"
            return Trip(self.kind, f"{reason}; look at its supply", seen.at_s, Reaction.STOP)
        return Alarm(self.kind, "a board has restarted", seen.at_s) if self._at_s else None

    def distance(self) -> Distance:
        """Return starts in the last ten minutes."""
        if self.blind:
            return Distance(None, None, "starts", 0.0, "no board here reports its restarts")
        return Distance(len(self._at_s), LIMIT, "starts", near(len(self._at_s), LIMIT))
