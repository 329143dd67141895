"""Control that swings: wrong settings, or an oven that is not the one that was learned."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, Reaction, Trip

SWING_K = 8.0
# No oven here crosses 16 K and turns round sooner; scatter of the readings does.
HALF_SWING_S = 20.0
HALF_SWINGS = 4


class ControlSwing:
    """In one soak the temperature crosses from 8 K above to 8 K below its goal again and again.

    Crossings within twenty seconds are scatter, which is judged elsewhere.
    """

    kind: ClassVar[str] = "control_swing"
    label: ClassVar[str] = "steady control"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._side = self._swings = 0
        self._turned_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Count changes of side, soak by soak; a door opened meanwhile starts the count anew."""
        process_c, setpoint_c = seen.scan.process.value, seen.setpoint_c
        if seen.segment_kind != "soak" or seen.scan.door_open or setpoint_c is None:
            self._side = self._swings = 0
            return None
        if process_c is None:
            return None
        error_k = process_c - setpoint_c
        if -SWING_K < error_k < SWING_K:
            return None
        side = 1 if error_k > 0.0 else -1
        if side == self._side or seen.at_s - self._turned_s < HALF_SWING_S:
            return None
        self._turned_s = seen.at_s
        self._swings += self._side != 0
        self._side = side
        if self._swings < HALF_SWINGS:
            return None
        reason = f"swings by more than {SWING_K:.0f} K around {setpoint_c:.0f} °C, {self._swings} half swings"
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP)

    def distance(self) -> Distance:
        """Return half swings of this soak."""
        return Distance(self._swings, HALF_SWINGS, "half swings", near(self._swings, HALF_SWINGS))
