"""Heat that was asked and does not come."""

import math
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, hands_may_be_in, live, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, Reaction, ResetClass, Trip

DISOBEYS_TICKS, LOSSY_TICKS = 3, 8
DEAD_S = 5.0
# A board that makes the duty itself is off for most of a window of up to a minute: only heat that is asked
# for a good part of the time, and much of it, says something.
DUTY_COUNTS, DUTY_DEAD_S = 0.3, 20.0
FULL_DUTY, PROGRESS_K, PROGRESS_S, BEHIND_K = 0.98, 2.0, 600.0, 5.0
# A cold heavy part makes a weak oven colder for minutes before it gains: a mean that has risen by so much
# from its lowest shows that it does.
MEAN_S, TURNED_K = 10.0, 1.5
# A bath that melts stands at once, and does not fall: what rose its last 2 K within a minute and keeps within
# half a kelvin since gets twice as long. An element that died lets it fall, half of one lets it bend slowly,
# and a sensor that has slipped reads less. Tempering salts melt between boiling water and 400 degC; a reading
# that has not changed by a digit for so long may hang, in a module too coarse for that to be told.
AT_ONCE_S, KEEPS_K, MELTS, MELTS_C, HANGS_S = 60.0, 0.5, 2.0, (100.0, 400.0), 60.0


class OutputDisobeys:
    """The output keeps reading off though heat is asked: the board restarted, or its dead-man dropped it.

    The runner takes its request back for a tick when a read-back fails, so what counts is each time that
    heat was asked, not the ticks in between. Where words get lost on the wire a write that was lost reads
    the same: more of them in a row are needed then (at the 17 % of bad answers at which the link trips,
    eight in a row come once in three hundred hours of heat).
    """

    kind: ClassVar[str] = "output_disobeys"
    label: ClassVar[str] = "output"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._ticks = 0

    def check(self, seen: Observation) -> Trip | None:
        """Count how often in a row heat was asked and the output read off."""
        if not seen.heat_asked or seen.scan.heat_on is None:
            return None
        if seen.scan.heat_on:
            self._ticks = 0
            return None
        self._ticks += 1
        if self._ticks < (LOSSY_TICKS if seen.scan.link.bad_fraction > 0.0 else DISOBEYS_TICKS):
            return None
        reason = f"asked for heat {self._ticks} times, and it reads off: has the board dropped it?"
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "dead-man test")

    def distance(self) -> Distance:
        """Return how often it disobeyed."""
        return Distance(self._ticks, DISOBEYS_TICKS, "times", near(self._ticks, DISOBEYS_TICKS))


class HeaterDead:
    """The output is on and the element is not live: relay stuck open, wire off, fuse, limit or breaker.

    Where no switch tells of the door, a person at the oven has been told to switch off at the isolator.
    """

    kind: ClassVar[str] = "heater_dead"
    label: ClassVar[str] = "element"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = oven.signal.heater_live is None and oven.signal.current_a is None
        self._duty = oven.output.heater.kind == "duty"
        self._limit_s = DUTY_DEAD_S if self._duty else DEAD_S
        self._dead_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Add up the seconds of asked heat (of full heat, for a duty) without any sign of life."""
        alive = live(seen.scan)
        if alive is not False:
            self._dead_s = 0.0
            return None
        if not seen.heat_asked or not seen.scan.heat_on or seen.scan.door_open:
            return None
        if hands_may_be_in(seen):
            return None
        if not self._duty:
            self._dead_s += seen.dt_s
        elif seen.duty_asked >= DUTY_COUNTS:
            self._dead_s += seen.dt_s * seen.duty_asked
        if self._dead_s < self._limit_s:
            return None
        reason = f"the output has been on for {self._dead_s:.0f} s and the element is not live"
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "heater pulse")

    def distance(self) -> Distance:
        """Return seconds without life."""
        if self.blind:
            return Distance(None, None, "s", 0.0, "no contact or current sensor at the element")
        return Distance(self._dead_s, self._limit_s, "s", near(self._dead_s, self._limit_s))


class NoProgress:
    """Ten minutes of full heat and no warmer: part of the element is dead, or the plan asks too much.

    An oven that a cold part made colder, and that has turned since, gets as long again from its lowest; a
    reading that stood at once, as a tempering salt's does, and does not fall gets twice as long. One that
    hangs stands too, but to the last digit, and gets no longer.
    """

    kind: ClassVar[str] = "no_progress"
    label: ClassVar[str] = "progress"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._full_s = 0.0
        self._start_c: float | None = None
        self._duty = 0.0
        self._mean_c = self._lowest_c = self._highest_c = 0.0
        self._stood, self._same_s, self._last_c = False, 0.0, -math.inf

    def check(self, seen: Observation) -> Trip | None:
        """Follow the temperature while all the heat there is is asked (mean of about half a minute)."""
        process_c, setpoint_c = seen.scan.process.value, seen.setpoint_c
        share = seen.dt_s / 30.0
        self._duty += (seen.duty_asked - self._duty) * (1.0 if share > 1.0 else share)
        if process_c is None or setpoint_c is None or self._duty < FULL_DUTY:
            self._full_s, self._start_c = 0.0, None
            return None
        start_c = self._start_c
        if start_c is None or process_c - start_c >= PROGRESS_K or setpoint_c - process_c < BEHIND_K:
            at_once = start_c is not None and self._full_s < AT_ONCE_S
            self._stood = at_once and MELTS_C[0] < process_c < MELTS_C[1]
            self._full_s, self._start_c = 0.0, process_c
            self._mean_c = self._lowest_c = self._highest_c = process_c
            return None
        self._full_s += seen.dt_s
        self._same_s = 0.0 if process_c != self._last_c else self._same_s + seen.dt_s
        self._last_c = process_c
        self._mean_c += (process_c - self._mean_c) * min(seen.dt_s / MEAN_S, 1.0)
        self._lowest_c = min(self._lowest_c, self._mean_c)
        self._highest_c = max(self._highest_c, self._mean_c)
        self._stood = self._stood and self._highest_c - self._mean_c < KEEPS_K
        if self._full_s < self._limit_s:
            return None
        if self._mean_c - self._lowest_c >= TURNED_K:
            self._full_s, self._start_c, self._stood = 0.0, self._lowest_c, False
            self._lowest_c = self._mean_c
            return None
        reason = f"{process_c - start_c:.1f} K warmer after {self._full_s / 60:.0f} min of full heat"
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "learn")

    @property
    def _limit_s(self) -> float:
        return MELTS * PROGRESS_S if self._stood and self._same_s < HANGS_S else PROGRESS_S

    def distance(self) -> Distance:
        """Return seconds of full heat without progress."""
        return Distance(self._full_s, self._limit_s, "s", near(self._full_s, self._limit_s))
