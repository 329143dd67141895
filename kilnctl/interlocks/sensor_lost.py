"""No temperature to steer by."""

from collections import deque
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import GOOD, UNHEARD, Alarm, Observation, Priority, Quality, Trip

# An open circuit is certain; anything else gets one more look. The heat is off from the first bad reading.
OPEN_TICKS, OTHER_TICKS = 2, 3
# A sensor that comes and goes never has so many in a row. A sound circuit is never open: a tenth of the
# readings of a minute is a loose terminal. A jump that was not confirmed may be noise, which has a judge of
# its own: a fifth.
WINDOW_S = 60.0
SURE_SHARE, UNSURE_SHARE = 0.10, 0.20
TELL_S = 3.0  # of sure bad readings within the window are told; one may be a spark


class SensorLost:
    """The sensor is open, out of range or not a number, or is so too often. A silent wire is the link's."""

    kind: ClassVar[str] = "sensor_lost"
    label: ClassVar[str] = "sensor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._ticks = 0
        self._allowed = OTHER_TICKS
        self._bad: deque[tuple[float, float, bool]] = deque()
        self._sure_s = self._unsure_s = 0.0

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Count bad readings, in a row and by their share of the last minute."""
        process = seen.scan.process
        quality = process.quality
        if quality is GOOD:
            self._ticks = 0
            return self._share(seen) if self._bad else None
        if quality in UNHEARD:
            return None
        self._ticks += 1
        self._allowed = OPEN_TICKS if quality is Quality.OPEN else OTHER_TICKS
        self._keep(seen.at_s, seen.dt_s, quality is not Quality.UNCONFIRMED)
        if self._ticks < self._allowed:
            return self._share(seen)
        why = f" ({process.why})" if process.why else ""
        said = str(quality).removeprefix("sensor ")
        return Trip(self.kind, f"{said}, {self._ticks} readings in a row{why}", seen.at_s)

    def _keep(self, at_s: float, dt_s: float, sure: bool) -> None:
        self._bad.append((at_s, dt_s, sure))
        self._sure_s += dt_s * sure
        self._unsure_s += dt_s

    def _share(self, seen: Observation) -> Trip | Alarm | None:
        """Judge the bad readings of the last minute, a single one that was taken back included."""
        while self._bad and self._bad[0][0] <= seen.at_s - WINDOW_S:
            _, dt_s, sure = self._bad.popleft()
            self._sure_s -= dt_s * sure
            self._unsure_s -= dt_s
        share = self._unsure_s / WINDOW_S
        reason = f"comes and goes, {share:.0%} of the readings of a minute were bad: look at its terminals"
        if self._sure_s >= SURE_SHARE * WINDOW_S or share >= UNSURE_SHARE:
            return Trip(self.kind, reason, seen.at_s)
        return Alarm(self.kind, reason, seen.at_s, Priority.SOON) if self._sure_s >= TELL_S else None

    def distance(self) -> Distance:
        """Return bad readings in a row."""
        return Distance(self._ticks, self._allowed, "bad readings", near(self._ticks, self._allowed))
