"""A relay that moves though nobody told it to: arcing first, welded next."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, live, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, ResetClass, Trip

ALLOWED_PER_S = 6.0 / 60.0
LIMIT = 3.0


class Chatter:
    """Counts changes of the live element that no command explains; six a minute drain away.

    The element is compared with what it was when the same was last asked, on with on and off with off, so
    that the short pulses of a soak are judged too. Only the second tick of one command counts: a contact may
    answer a tick late. A relay that is dead or welded changes once. Changes under heat and without it are
    counted apart, and drain only while there is something to see: a soak asks for heat a second in fifteen.
    """

    kind: ClassVar[str] = "chatter"
    label: ClassVar[str] = "relay chatter"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = oven.signal.heater_live is None and oven.signal.current_a is None
        self._was_live: dict[bool, bool] = {}
        self._was_asked = False
        self._edges = {True: 0.0, False: 0.0}

    def check(self, seen: Observation) -> Trip | None:
        """Compare the element under a command that stands with the last time it stood so."""
        alive, asked = live(seen.scan), seen.heat_asked
        if alive is None:
            return None
        stands, self._was_asked = asked is self._was_asked, asked
        if not stands or seen.scan.door_open:
            return None
        changed = self._was_live.get(asked, alive) is not alive
        self._was_live[asked] = alive
        edges = self._edges[asked] - ALLOWED_PER_S * seen.dt_s
        edges = self._edges[asked] = (0.0 if edges < 0.0 else edges) + changed
        if edges < LIMIT:
            return None
        reason = "the element goes on and off without a command"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="weld drill")

    def distance(self) -> Distance:
        """Return unexplained changes lately."""
        if self.blind:
            return Distance(None, None, "", 0.0, "no contact or current sensor at the element")
        edges = max(self._edges.values())
        return Distance(edges, LIMIT, "changes", near(edges, LIMIT))
