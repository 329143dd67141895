"""Whom a run calls, tick by tick: horn and lamp where the oven has them."""

from kilnctl.heat.heat_state import HeatState
from kilnctl.heat.station import Station
from kilnctl.heat.telling.horn_patterns import Attention, Call, attention, call_for
from kilnctl.stages import LIVE

# Horn and lamp are written again this often, for a board that has missed or forgotten them.
REPEAT_TICKS = 10


class Caller:
    """Drives horn and lamp of one run; a new call sounds again after an acknowledgement."""

    def __init__(self, station: Station) -> None:
        self._oven_io = station.oven_io
        self._called: Call = ""
        self._written: Attention | None = None

    def tick(self, now: HeatState, tick: int) -> HeatState:
        """Call, or cease to, in the tick of this number; return the heat, its new call not yet heard."""
        call = whom_to_call(now)
        if call != self._called:
            self._called, now = call, now._replace(heard=False)
        attends = attention(call, tick, now.heard)
        new = attends is not self._written and attends != self._written  # mostly silence, as before
        if new or tick % REPEAT_TICKS == 0:
            self._written = attends
            self._oven_io.sound(attends.horn, attends.lamp)
        return now


def whom_to_call(now: HeatState) -> Call:
    """Return what a person must be told of a run now."""
    if now.state == "tripped":
        return call_for(True, None, None, None, 0.0, bool(now.trip_later))
    here = now.current
    if not here.may_call or now.state not in LIVE:
        return ""
    cursor = now.cursor
    left_s = None if here.soak is None else here.soak.soak_s - here.soaked_s(cursor)
    return call_for(False, here.segment, here.following, left_s, cursor.waited_s)
