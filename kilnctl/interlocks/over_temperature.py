"""Hotter than the machine or the plan allows."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, ResetClass, Trip


class OverTemperature:
    """The machine's limit at once; the plan's highest temperature plus a margin after three seconds.

    The plan's limit counts from the first time that the oven was below it or heat was asked: an oven still
    hot from the heat before is no fault. A second sensor at another place knows nothing of the plan.
    """

    kind: ClassVar[str] = "over_temperature"
    label: ClassVar[str] = "over-temperature"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._margin_k, self._allowed_s = limits.over_k, limits.over_s
        self._armed = False
        self._over_s = 0.0
        self._hot_c: float | None = None
        self._limit_c = oven.limit_c
        second = oven.signal.second
        self._elsewhere = second is not None and second.apart_k is not None

    def check(self, seen: Observation) -> Trip | None:
        """Judge the hotter of the two sensors."""
        scan = seen.scan
        hot_c = scan.process.value
        if scan.second is not None and scan.second.value is not None:
            second_c = scan.second.value
            if self._elsewhere and second_c >= seen.limit_c:
                return self._trip(
                    f"{second_c:.1f} °C at the second sensor, the machine's limit is {seen.limit_c:.0f} °C",
                    seen,
                )
            if not self._elsewhere:
                hot_c = second_c if hot_c is None else max(hot_c, second_c)
        self._hot_c = hot_c
        if hot_c is None:
            return None
        limit_c = seen.limit_c
        if seen.run_max_c is not None:
            planned_c = seen.run_max_c + self._margin_k
            limit_c = planned_c if planned_c < limit_c else limit_c
        self._limit_c = limit_c
        if hot_c >= seen.limit_c:
            return self._trip(f"{hot_c:.1f} °C is at the machine's limit {seen.limit_c:.0f} °C", seen)
        if hot_c <= limit_c:
            self._armed, self._over_s = True, 0.0
            return None
        self._armed = self._armed or seen.heat_asked
        self._over_s += seen.dt_s
        if not self._armed or self._over_s < self._allowed_s:
            return None
        return self._trip(f"{hot_c:.1f} °C, above {limit_c:.0f} °C for {self._over_s:.0f} s", seen)

    def _trip(self, reason: str, seen: Observation) -> Trip:
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="limit test")

    def distance(self) -> Distance:
        """Return the hotter sensor against the limit in force.

        How near is told over the last four margins: an oven at its goal is one margin below and not near.
        """
        hot_c, scale_k = self._hot_c, 4.0 * self._margin_k
        closeness = 0.0 if hot_c is None else near(hot_c - self._limit_c + scale_k, scale_k)
        return Distance(hot_c, self._limit_c, "°C", closeness, "" if hot_c is not None else "no reading")
