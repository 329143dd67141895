"""What the watch over an oven after its heat makes of the readings: cold, hot, or hotter though it is off.

Nothing here switches: heat off is sent with every tick of the watch, whatever is found.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kilnctl.readings import ResetClass, Scan, Trip
from kilnctl.runtime.view import HOT_C
from kilnctl.units import say_point

if TYPE_CHECKING:
    from kilnctl.runtime.runner import Runner

MISSES = 10  # bad readings in a row after which an oven that was last seen cold is let go
BLIND_S = 86_400.0  # no reading for a day: the largest furnace has cooled, and nobody waits for this screen
COAST_S = 300.0  # after the end an element that glows may still warm a slow sensor
RISE_K = 15.0  # hotter than heat and coast ever were: no door, no coast does that
LIVE_TICKS = 2  # off was sent in between, so one is the answer to the tick before


@dataclass(frozen=True, slots=True)
class AfterHeat:
    """What has been seen of one oven since its heat ended. Temperatures in degC, times of the heat's clock.

    `peak_c` is the highest of the heat and of its coast, `newest_c` the last good reading, from `newest_s`.
    """

    ended_s: float
    peak_c: float | None
    newest_c: float | None
    newest_s: float
    misses: int = 0
    live_ticks: int = 0

    def see(self, scan: Scan) -> "AfterHeat":
        """Return what is known after one more look."""
        live_ticks = self.live_ticks + 1 if scan.heat_on or scan.heater_live else 0
        value = scan.process.value
        if not scan.process.good or value is None:
            return replace(self, misses=self.misses + 1, live_ticks=live_ticks)
        coasting = scan.at_s - self.ended_s <= COAST_S
        peak_c = self.peak_c
        if peak_c is None or (coasting and value > peak_c):
            peak_c = value
        return AfterHeat(self.ended_s, peak_c, value, scan.at_s, 0, live_ticks)

    @property
    def cold(self) -> bool:
        """True when the last good reading burns nobody; what was never read may be hot."""
        return self.newest_c is not None and self.newest_c < HOT_C

    def over(self, off: bool, now_s: float) -> bool:
        """Return whether the watch may end; `off` says whether heat off has just been read back.

        A sensor that stays bad ends it only where the oven was cold before, or after a day.
        """
        if self.cold and off and (not self.misses or self.misses >= MISSES):
            return True
        return now_s - self.newest_s > BLIND_S

    def trip(self, now_s: float, limit_c: float) -> Trip | None:
        """Return what must be told although the heat is over: it goes on, whatever was switched."""
        if self.live_ticks >= LIVE_TICKS:
            why = "the heat reads ON after the end, although off is sent all the time"
            return Trip("heat_without_demand", why, now_s, reset=ResetClass.C)
        if self.misses or self.newest_c is None or self.peak_c is None:
            return None
        if self.newest_c > limit_c:
            why = f"{say_point(self.newest_c)} after the end is above the limit of {say_point(limit_c)}"
            return Trip("over_temperature", why, now_s, reset=ResetClass.B, repeat_step="limit test")
        if self.newest_c <= self.peak_c + RISE_K:
            return None
        why = (
            f"{say_point(self.newest_c)} after the end, hotter than in the heat ({say_point(self.peak_c)}), "
            "although it is off: a switch may be welded"
        )
        return Trip("rising_while_off", why, now_s, reset=ResetClass.C)


def trip_late(runner: "Runner", trip: Trip | None) -> None:
    """Trip a run that is over: latched, and told like any other; the first cause stands."""
    if trip is None or runner.trip is not None:
        return
    runner.trip, runner.state, runner.cause = trip, "tripped", trip.reason
    runner.alarms = runner.alarms.latch(trip.kind, trip.reason, runner.elapsed_s)
    runner.station.latch_trip(trip)
