"""What the watch over an oven that is cut makes of the readings: cold, hot, or hotter though it is off.

It begins with a trip, or with the end of the heat. Nothing here switches: heat off is sent with every tick of
the watch, whatever is found.
"""

from dataclasses import dataclass, replace
from math import inf

from kilnctl.interlocks.contract import live
from kilnctl.readings import ResetClass, Scan, Trip
from kilnctl.stages import HOT_C
from kilnctl.units import say_point

MISSES = 10  # bad readings in a row after which an oven that was last seen cold is let go
BLIND_S = 86_400.0  # no reading for a day: the largest furnace has cooled, and nobody waits for this screen
COAST_S = 300.0  # after the end an element that glows may still warm a slow sensor
RISE_K = 15.0  # hotter than heat and coast ever were: no door, no coast does that
RISE_LEARNED_K = 10.0  # the same where the learned coast is known to be over sooner
RISE_LOOKS = 3  # in a row: a wire that spikes shows 50 K more for one look
LIVE_TICKS = 2  # off was sent in between, so one is the answer to the tick before
UNREAD_TICKS = 3  # off was sent so often, three times each, and never once read back


@dataclass(frozen=True, slots=True)
class AfterHeat:
    """What has been seen of one oven since its heat was cut. Temperatures in degC, times of the heat's clock.

    `cut_peak_c` is the highest of the heat, `peak_c` the highest of its coast too, `newest_c` the last good
    reading, from `newest_s`. `coast_k` is what the learned oven may still gain without heat within `coast_s`,
    infinite where nobody knows; `may_live_s` how long the element may be live after off: a board that makes
    the duty itself ends the pulse that it has begun. `rise_looks` counts the looks in a row that no coast
    explains. `unread_ticks` counts the offs that were not read back, until one was; `answers` says whether
    the output was heard meanwhile.
    """

    ended_s: float
    peak_c: float | None
    newest_c: float | None
    newest_s: float
    misses: int = 0
    live_ticks: int = 0
    coast_k: float = inf
    coast_s: float = COAST_S
    may_live_s: float = 0.0
    cut_peak_c: float | None = None
    unread_ticks: int | None = 0
    rise_looks: int = 0
    answers: bool = False

    def see(self, scan: Scan, off: bool | None = None) -> "AfterHeat":
        """Return what is known after one more look; `off` says how the off before it was read back."""
        after_s = scan.at_s - self.ended_s
        is_live = scan.heat_on or (live(scan) and after_s > self.may_live_s)
        seen = replace(
            self,
            live_ticks=self.live_ticks + 1 if is_live else 0,
            unread_ticks=self._unread(off),
            answers=scan.heat_on is not None,
        )
        value = scan.process.value
        if not scan.process.good or value is None:
            return replace(seen, misses=self.misses + 1)
        cut_peak_c = self.cut_peak_c if self.cut_peak_c is not None else self.peak_c
        peak_c = self.peak_c
        twice_c = value if self.newest_c is None else min(value, self.newest_c)
        if peak_c is None or (after_s <= self.coast_s and twice_c > peak_c):
            peak_c = twice_c
        seen = replace(
            seen, peak_c=peak_c, newest_c=value, newest_s=scan.at_s, misses=0, cut_peak_c=cut_peak_c
        )
        return replace(seen, rise_looks=self.rise_looks + 1 if seen._hotter_than_a_coast else 0)

    def _unread(self, off: bool | None) -> int | None:
        """Return the count of offs not read back; None once one was: from then on the wire tells."""
        if off or self.unread_ticks is None:
            return None
        return self.unread_ticks + (off is False)

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

    @property
    def still_on(self) -> bool:
        """True while the output, the element or the temperature shows heat though it was cut."""
        return self.live_ticks >= LIVE_TICKS or self._rises

    @property
    def _rises(self) -> bool:
        return self.rise_looks >= RISE_LOOKS and not self.misses

    @property
    def _hotter_than_a_coast(self) -> bool:
        if self.newest_c is None or self.peak_c is None:
            return False
        if self.newest_c > self.peak_c + (RISE_LEARNED_K if self.coast_s < COAST_S else RISE_K):
            return True
        return self.cut_peak_c is not None and self.newest_c > self.cut_peak_c + self.coast_k

    def findings(self, now_s: float, limit_c: float) -> tuple[Trip, ...]:
        """Return all that must be told although the heat is cut: it goes on, whatever was switched."""
        found = [
            self._live(now_s) if self.live_ticks >= LIVE_TICKS else None,
            self._above(now_s, limit_c),
            self._hotter(now_s) if self._rises else None,
            self._not_read(now_s),
        ]
        return tuple(trip for trip in found if trip is not None)

    def _live(self, now_s: float) -> Trip:
        why = "the heat reads ON after it was cut, although off is sent continuously"
        return Trip("heat_without_demand", why, now_s, reset=ResetClass.C)

    def _above(self, now_s: float, limit_c: float) -> Trip | None:
        if self.misses or self.newest_c is None or self.newest_c <= limit_c:
            return None
        why = f"{say_point(self.newest_c)} after the heat was cut, above the limit of {say_point(limit_c)}"
        return Trip("over_temperature", why, now_s, reset=ResetClass.B, repeat_step="limit test")

    def _hotter(self, now_s: float) -> Trip:
        why = (
            f"{say_point(self.newest_c or 0.0)} after the heat was cut, {say_point(self.peak_c or 0.0)} at "
            "most before: a switch may be welded"
        )
        if self.coast_k < inf and self.cut_peak_c is not None:
            why = (
                f"{say_point(self.newest_c or 0.0)} after the heat was cut at {say_point(self.cut_peak_c)}, "
                f"more than the {self.coast_k:.0f} K that it coasts: a switch may be welded"
            )
        return Trip("rising_while_off", why, now_s, reset=ResetClass.C)

    def _not_read(self, now_s: float) -> Trip | None:
        if self.unread_ticks is None or self.unread_ticks < UNREAD_TICKS or self.live_ticks >= LIVE_TICKS:
            return None
        if self.answers:
            why = "the output answers but never reads back as off"
            return Trip("off_not_read", why, now_s, reset=ResetClass.C)
        why = "sent with every tick but not read back: nothing answers"
        return Trip("off_not_read", why, now_s)
