"""Whom a run calls, tick by tick: horn and lamp where the oven has them."""

from kilnctl.heat.heat_state import Heat
from kilnctl.heat.horn_patterns import Attention, Call, attention, call_for
from kilnctl.heat.station import Station
from kilnctl.stages import LIVE

# Horn and lamp are written again this often, for a board that has missed or forgotten them.
REPEAT_TICKS = 10


class Caller:
    """Drives horn and lamp of one run; a new call sounds again after an acknowledgement."""

    def __init__(self, station: Station) -> None:
        self._hands, self._can_call = station.hands, station.can_call
        self._called: Call = ""
        self._written: Attention | None = None

    def tick(self, heat: Heat, tick: int) -> None:
        """Call, or cease to, in the tick of this number."""
        if not self._can_call:
            return
        call = whom_to_call(heat)
        if call != self._called:
            self._called, heat.heard = call, False
        now = attention(call, tick, heat.heard)
        if now != self._written or tick % REPEAT_TICKS == 0:
            self._written = now
            self._hands.sound(now.horn, now.lamp)


def whom_to_call(heat: Heat) -> Call:
    """Return what a person must be told of a run now."""
    if heat.state == "tripped":
        return call_for(True, None, None, None, 0.0, bool(heat.trip_later))
    now, cursor = heat.here, heat.cursor
    if heat.state not in LIVE or now.kind not in ("soak", "operator"):
        return ""
    left_s = None if now.soak is None else now.soak.soak_s - now.soaked_s(cursor)
    return call_for(False, now.segment, now.following, left_s, cursor.waited_s)
