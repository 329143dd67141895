"""The heater's supply: too high, low, gone."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, Reaction, Trip

HIGH, HIGH_TELL, LOW_TELL, GONE = 1.15, 1.10, 0.88, 0.50
FOR_S = 3.0


class Supply:
    """Above 115 % of nominal: trip (power grows with the square). Gone: stop, and never back by itself."""

    kind: ClassVar[str] = "supply"
    label: ClassVar[str] = "supply"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._nominal_v = limits.supply_v if oven.signal.supply_v is not None else None
        self.blind = self._nominal_v is None
        self._share: float | None = None
        self._out_s = 0.0

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Judge volts as a share of nominal, for three seconds."""
        reading, nominal_v = seen.scan.supply_v, self._nominal_v
        if reading is None or reading.value is None or nominal_v is None:
            return None
        share = self._share = reading.value / nominal_v
        if LOW_TELL <= share <= HIGH_TELL:
            self._out_s = 0.0
            return None
        self._out_s += seen.dt_s
        if self._out_s < FOR_S:
            return None
        said = f"{reading.value:.0f} V, {share:.0%} of {nominal_v:.0f} V"
        if share > HIGH:
            return Trip(self.kind, f"high: {said}", seen.at_s)
        if share < GONE:
            return Trip(self.kind, f"lost: {said}", seen.at_s, Reaction.STOP)
        return Alarm(self.kind, f"{'high' if share > 1 else 'low'}: {said}", seen.at_s, Priority.LATER)

    def distance(self) -> Distance:
        """Return the share of nominal volts."""
        if self.blind:
            return Distance(None, None, "of nominal", 0.0, "supply not measured")
        excess = 0.0 if self._share is None else abs(self._share - 1.0)
        return Distance(self._share, HIGH, "of nominal", near(excess, HIGH - 1.0))
