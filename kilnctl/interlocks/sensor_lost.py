"""No temperature to steer by."""

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, Quality, Trip

# An open circuit is certain; anything else gets one more look. The heat is off from the first bad reading.
OPEN_TICKS, OTHER_TICKS = 2, 3


class SensorLost:
    """The sensor is open, out of range or not a number. A silent wire is the link's concern."""

    kind = "sensor_lost"
    label = "sensor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._ticks = 0
        self._allowed = OTHER_TICKS

    def check(self, seen: Observation) -> Trip | None:
        """Count bad readings in a row."""
        process = seen.scan.process
        quality = process.quality
        if quality is Quality.GOOD:
            self._ticks = 0
            return None
        if quality is Quality.NO_REPLY or quality is Quality.BAD_REPLY:
            return None
        self._ticks += 1
        self._allowed = OPEN_TICKS if quality is Quality.OPEN else OTHER_TICKS
        if self._ticks < self._allowed:
            return None
        why = f" ({process.why})" if process.why else ""
        return Trip(self.kind, f"{quality}, {self._ticks} readings in a row{why}", seen.at_s)

    def distance(self) -> Distance:
        """Return bad readings in a row."""
        return Distance(self._ticks, self._allowed, "bad readings", near(self._ticks, self._allowed))
