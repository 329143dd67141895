"""Whom a run calls, tick by tick: horn and lamp where the oven has them.

A horn or lamp that takes no word is an alarm and never the end of a heat: the oven that is hot is held.
"""

from kilnctl.devices.interfaces import OvenIO
from kilnctl.heat.heat_state import HeatState
from kilnctl.heat.station import Station
from kilnctl.heat.telling.horn_patterns import Attention, Call, attention, call_for
from kilnctl.readings import Alarm, Priority, ResetClass
from kilnctl.stages import LIVE

# Horn and lamp are written again this often, for a board that has missed or forgotten them.
REPEAT_TICKS = 10
UNTOLD = 3  # in a row, before it is told: one answer may be lost
MOST_ARMED = 3  # in a row for calls that are refused all the same: arming wears some boards out
NO_CALL = (
    "it cannot call you: {}. The heat goes on; look at the screen, and after it correct its number in the "
    "oven file (`kilnctl oven change`)"
)


class Calls:
    """Writes horn and lamp, and feeds a board that has to be armed before it takes them.

    `refused` is what stands in their way, "" for nothing.
    """

    def __init__(self, oven_io: OvenIO) -> None:
        self._oven_io, self._armed, self._left = oven_io, False, MOST_ARMED
        self.refused, self._in_a_row = "", 0

    def sound(self, attends: Attention, may: bool, heard: bool = True) -> None:
        """Write them. `may`: a board that refuses them since its watchdog tripped may be armed and fed.

        It is fed while it calls and may, and drops by itself after that. Where the oven is not `heard` at all
        that is told by others, and says nothing of horn and lamp.
        """
        oven_io, calls = self._oven_io, attends.horn or attends.lamp
        self._armed = self._armed and may and bool(attends.call) and oven_io.feed()
        refused = oven_io.sound(attends.horn, attends.lamp)
        if refused and calls and may and self._left:
            self._left -= 1
            self._armed = oven_io.arm_for_calls()
            refused = oven_io.sound(attends.horn, attends.lamp) if self._armed else refused
        if calls and not refused:
            self._left = MOST_ARMED
        self._in_a_row = self._in_a_row + 1 if refused and heard else 0
        self.refused = refused if self._in_a_row >= UNTOLD else ""


class Caller:
    """Drives horn and lamp of one run; a new call sounds again after an acknowledgement."""

    def __init__(self, station: Station) -> None:
        self._calls = Calls(station.oven_io)
        self._called: Call = ""
        self._written: Attention | None = None

    def tick(self, now: HeatState, tick: int) -> HeatState:
        """Call, or cease to, in the tick of this number; return the heat, its new call not yet heard."""
        call = whom_to_call(now)
        if call != self._called:
            self._called, now = call, now._replace(heard=False)
        attends = attention(call, tick, now.heard)
        new = attends is not self._written and attends != self._written  # mostly silence, as before
        if new or tick % REPEAT_TICKS == 0 or now.state not in LIVE:
            self._written = attends
            heard = now.scan is not None and now.scan.heat_on is not None
            self._calls.sound(attends, may_arm(now), heard)
        return now

    def alarms(self, at_s: float) -> tuple[Alarm, ...]:
        """Return the alarm of a horn or lamp that calls nobody."""
        refused = self._calls.refused
        return (Alarm("no_call", NO_CALL.format(refused), at_s, Priority.SOON),) if refused else ()


def may_arm(now: HeatState) -> bool:
    """Return whether the board may be armed for a call: after a trip, with the heat read as off.

    Never in a heat: what a watchdog has dropped there stays dropped. Nor where heat came by itself, or a
    repair is asked for: what the board holds open may be all that keeps the element dead.
    """
    trip = now.trip
    cut = now.state == "tripped" and trip is not None and now.off_read_back is True
    return cut and not now.trip_later and trip is not None and trip.reset is not ResetClass.C


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
