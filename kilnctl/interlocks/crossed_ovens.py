"""Two ovens, and the heat arrives in the wrong one."""

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, ResetClass, Trip

OTHER_RISE_K = 3.0
IDLE = 0.02
OWN_HEAT = 0.1
FOR_S = 30.0
MINUTE_S = 60.0


class CrossedOvens:
    """Another oven warms up without a command while this one is heated: channels or sensors are crossed."""

    kind = "crossed_ovens"
    label = "other ovens"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._duty = 0.0
        self._over_s = self._rise_k = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Judge the other ovens' rise of the last minute."""
        if not seen.others:
            return None
        self._duty += (seen.duty_asked - self._duty) * min(seen.dt_s / MINUTE_S, 1.0)
        idle = {name: rise_k for name, (rise_k, heat) in seen.others.items() if heat < IDLE}
        name = max(idle, key=lambda n: idle[n], default="")
        self._rise_k = idle.get(name, 0.0)
        if self._rise_k <= OTHER_RISE_K or self._duty < OWN_HEAT:
            self._over_s = 0.0
            return None
        self._over_s += seen.dt_s
        if self._over_s < FOR_S:
            return None
        reason = f'"{name}" got {self._rise_k:.0f} K warmer in a minute without being heated'
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="heater pulse")

    def distance(self) -> Distance:
        """Return the fastest rise of an idle oven."""
        return Distance(self._rise_k, OTHER_RISE_K, "K/min", near(self._rise_k, OTHER_RISE_K))
