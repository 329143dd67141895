"""A relay that moves though nobody told it to: arcing first, welded next."""

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, live, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, ResetClass, Trip

ALLOWED_PER_S = 6.0 / 60.0
LIMIT = 3.0


class Chatter:
    """Counts changes of the live element that no command explains; six a minute drain away."""

    kind = "chatter"
    label = "relay chatter"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._fitted = oven.signal.heater_live is not None or oven.signal.current_a is not None
        self._was_live: bool | None = None
        self._was_asked = (False, False)
        self._edges = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Compare edges of the element with edges of the commands of this tick and the last."""
        alive = live(seen.scan)
        if alive is None:
            return None
        asked, (last, before) = seen.heat_asked, self._was_asked
        self._was_asked = (asked, last)
        self._edges = max(self._edges - ALLOWED_PER_S * seen.dt_s, 0.0)
        changed = self._was_live is not None and alive is not self._was_live
        self._was_live = alive
        if not changed or asked is not last or last is not before or seen.scan.door_open:
            return None
        self._edges += 1.0
        if self._edges < LIMIT:
            return None
        reason = "the element goes on and off without a command"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="weld drill")

    def distance(self) -> Distance:
        """Return unexplained changes lately."""
        if not self._fitted:
            return Distance(None, None, "", 0.0, "no contact or current sensor at the element")
        return Distance(self._edges, LIMIT, "changes", near(self._edges, LIMIT))
