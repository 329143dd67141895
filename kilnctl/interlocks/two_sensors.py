"""Two sensors that disagree: one of them is wrong, and nobody knows which."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, ResetClass, Trip

BAND_K, BAND_SHARE = 8.0, 0.015
# Beyond what the learning heat showed of a sensor at another place, this share of its whole range more is
# sound: with a charge in it, or on a day with more volts, an element leads the chamber by more.
MORE_SHARE = 1.0 / 3.0
FOR_S = 30.0
# Sensors of different lag differ in a ramp by lag times slope; a minute's slope is allowed on top.
LAG_S = 60.0
LOST_S = 30.0


class TwoSensors:
    """The band is the larger of 8 K and 1.5 %, wider while the temperature moves; for half a minute.

    Where the second sits at another place, the band is what the oven file says of that place, if more; once
    the oven is learned, what the learning heat showed of it and a third more, within the file's.
    """

    kind: ClassVar[str] = "two_sensors"
    label: ClassVar[str] = "second sensor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        second = oven.signal.second
        self.blind = second is None
        self._elsewhere = second is not None and second.apart_k is not None
        self._least_k = BAND_K if second is None or second.apart_k is None else second.apart_k
        seen_k = limits.model.second_gap_k if limits.learned else None
        self._learned = self._elsewhere and seen_k is not None
        self._low_k, self._high_k = _learned_band_k(self._least_k, seen_k if self._elsewhere else None)
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
        wider_k = max(BAND_SHARE * process_c - self._least_k, 0.0) + self._moved_k(
            process_c, second.value, seen.dt_s
        )
        gap_k = self._gap_k = second.value - process_c
        low_k, high_k = self._low_k - wider_k, self._high_k + wider_k
        band_k = self._band_k = high_k if gap_k > 0.0 else -low_k
        if low_k <= gap_k <= high_k:
            self._over_s = 0.0
            return None
        self._over_s += seen.dt_s
        if self._over_s < FOR_S:
            return None
        reason = f"{process_c:.1f} and {second.value:.1f} °C differ by more than {band_k:.1f} K"
        if self._learned:
            reason += f"; {low_k:+.0f} to {high_k:+.0f} K was learned, and a third more is allowed"
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
        if self.blind:
            return Distance(None, None, "K", 0.0, "no second sensor: a wrong type or a drift goes unnoticed")
        return Distance(self._gap_k, self._band_k, "K", near(abs(self._gap_k), self._band_k))


def _learned_band_k(most_k: float, seen_k: tuple[float, float] | None) -> tuple[float, float]:
    """Return the lowest and the highest gap that is sound, in K; never further than the file allows."""
    if seen_k is None:
        return -most_k, most_k
    low_k, high_k = seen_k
    more_k = max(BAND_K, MORE_SHARE * (high_k - low_k))
    return max(low_k - more_k, -most_k), min(high_k + more_k, most_k)
