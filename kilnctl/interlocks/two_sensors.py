"""Two sensors that disagree: one of them is wrong, and nobody knows which."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, ResetClass, Trip

BAND_K, BAND_SHARE = 8.0, 0.015
FOR_S = 30.0
# Sensors of different lag differ in a ramp by lag times slope; a minute's slope is allowed on top.
LAG_S = 60.0
LOST_S = 30.0


class TwoSensors:
    """The band is the larger of 8 K and 1.5 %, wider while the temperature moves; for half a minute.

    Where the second sits at another place, the band is what the oven file says of that place, if more.
    """

    kind: ClassVar[str] = "two_sensors"
    label: ClassVar[str] = "second sensor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        second = oven.signal.second
        self._fitted = second is not None
        self._least_k = BAND_K if second is None or second.apart_k is None else second.apart_k
        self._slow_c: tuple[float, float] | None = None
        self._gap_k, self._band_k = 0.0, self._least_k
        self._over_s = self._lost_s = 0.0

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Compare the two; a second sensor that is lost is told, for the first still works."""
        second, process_c = seen.scan.second, seen.scan.process.value
        if second is None or process_c is None:
            return None
        if second.value is None:
            self._lost_s += seen.dt_s
            reason = f"lost ({second.quality}); nothing checks the first"
            late = self._lost_s >= LOST_S
            return Alarm(self.kind, reason, seen.at_s, Priority.SOON) if late else None
        self._lost_s = 0.0
        band_k = self._band_k = max(self._least_k, BAND_SHARE * process_c) + self._moved_k(
            process_c, second.value, seen.dt_s
        )
        gap_k = self._gap_k = second.value - process_c
        if -band_k <= gap_k <= band_k:
            self._over_s = 0.0
            return None
        self._over_s += seen.dt_s
        if self._over_s < FOR_S:
            return None
        reason = f"{process_c:.1f} and {second.value:.1f} °C differ by more than {band_k:.1f} K"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="reference check")

    def _moved_k(self, process_c: float, second_c: float, dt_s: float) -> float:
        """Return the slope of a minute that both sensors share; a step of one of them widens nothing."""
        one_c, other_c = self._slow_c if self._slow_c is not None else (process_c, second_c)
        # A low pass of 60 s trails a ramp by exactly 60 s of slope.
        share = min(dt_s / LAG_S, 1.0)
        one_c += (process_c - one_c) * share
        other_c += (second_c - other_c) * share
        self._slow_c = one_c, other_c
        return min(abs(process_c - one_c), abs(second_c - other_c))

    def distance(self) -> Distance:
        """Return the gap between the two."""
        if not self._fitted:
            return Distance(None, None, "K", 0.0, "no second sensor: a wrong type or a drift is not seen")
        return Distance(self._gap_k, self._band_k, "K", near(abs(self._gap_k), self._band_k))
