"""Whom a run calls, tick by tick: horn and lamp where the oven has them."""

from typing import TYPE_CHECKING

from kilnctl.runtime.attention import Attention, Call, attention, call_for
from kilnctl.runtime.station import Station
from kilnctl.stages import LIVE

if TYPE_CHECKING:
    from kilnctl.runtime.runner import Runner

# Horn and lamp are written again this often, for a board that has missed or forgotten them.
REPEAT_TICKS = 10


class Caller:
    """Drives horn and lamp of one run; a new call sounds again after an acknowledgement."""

    def __init__(self, station: Station) -> None:
        self._hands, self._can_call = station.hands, station.can_call
        self._called: Call = ""
        self._heard = False
        self._written: Attention | None = None

    def hear(self) -> None:
        """Let the horn fall silent; the lamp stays."""
        self._heard = True

    def call_again(self) -> None:
        """Sound anew: something was found that nobody has heard of."""
        self._heard = False

    def tick(self, runner: "Runner", tick: int) -> None:
        """Call, or cease to, in the tick of this number."""
        if not self._can_call:
            return
        call = whom_to_call(runner)
        if call != self._called:
            self._called, self._heard = call, False
        now = attention(call, tick, self._heard)
        if now != self._written or tick % REPEAT_TICKS == 0:
            self._written = now
            self._hands.sound(now.horn, now.lamp)


def whom_to_call(runner: "Runner") -> Call:
    """Return what a person must be told of a run now."""
    if runner.state == "tripped":
        return call_for(True, None, None, None, 0.0, bool(runner.trip_later))
    now, cursor = runner.here, runner.cursor
    if runner.state not in LIVE or now.kind not in ("soak", "operator"):
        return ""
    left_s = None if now.soak is None else now.soak.soak_s - now.soaked_s(cursor)
    return call_for(False, now.segment, now.following, left_s, cursor.waited_s)
