"""A temperature that moves as no oven can: the sensor, its wire, its scale, or a door without a switch."""

import math
from collections import deque
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, hands_may_be_in, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, ResetClass, Trip

STEP_K = 50.0
# A jump is asked for twice and may cost a tick.
STEP_S = 2.5
# No door and no cold part makes an oven at one stroke colder than the room and than it ever was in this heat:
# air that steel from dry ice has cooled takes 7 K from a bare couple in its first second, 13 in two, 16 in
# two and a half. So much may go in each second, and this much more.
COLD_K_PER_S, COLD_STEP_K, COLDER_K = 8.0, 2.0, 5.0
WINDOW_S = 10.0
# A sensor that sees its elements falls after a cut as it rose when they were switched on: in an oven whose
# answers add up no faster, and a quarter more where they glow. Ten seconds off after so many of heat are
# a cut (a relay's own pulses are shorter), and it is over so long after heat has flowed again.
FELL_AS_IT_ROSE, CUT_S, COOLS_S = 1.25, 30.0, 30.0
# After an operator step a cold part and an airing chamber make any sensor fall.
GRACE_S = 120.0
# Without heat for so long an oven warms more and more slowly. Warmer than ever in this heat by so much
# within ten seconds, thrice what the ten seconds before brought, for so many looks: the sensor is elsewhere.
# Air that comes back after a look in is not warmer than ever; noise does not last.
UNHEATED_S, UNHEATED_K, TIMES, LOOKS = 30.0, 5.0, 3.0, 3


class SensorMoves:
    """A step of 50 K between two readings, or ten seconds of falling or rising faster than the oven can.

    A step of 10 K is enough where it ends well below the room and whatever this heat has read. With the door
    open nothing else is judged, nor for two minutes after it. An oven that is not learned may fall, once its
    heat is cut, as fast as it was seen to rise. Where no switch tells of the door, an operator
    step counts as open; but a step of 50 K in a second no door makes.
    """

    kind: ClassVar[str] = "sensor_moves"
    label: ClassVar[str] = "door or sensor"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._fall, self._rise = limits.fall_k_per_s, limits.rise_k_per_s
        self._past: deque[tuple[float, float]] = deque()
        self._last: tuple[float, float] | None = None
        self._grace_s = 0.0
        self._rate = 0.0
        self._coldest_c = math.inf
        # What was learned knows how fast a shut oven falls.
        self._learned = limits.learned
        self._quickest, self._cut, self._pulse_s = 0.0, False, max(CUT_S, oven.switching.window_s)
        self._off_s, self._on_s, self._since_s = 0.0, 0.0, math.inf
        self._coast = Coast(oven.tick_s)

    def check(self, seen: Observation) -> Trip | None:
        """Compare with the last reading, and with the one ten seconds ago."""
        process_c, past = seen.scan.process.value, self._past
        if process_c is None:
            return None
        at_s, last, door_open = seen.at_s, self._last, seen.scan.door_open
        self._last = (at_s, process_c)
        if last is not None and at_s - last[0] <= STEP_S and self._steps(seen, process_c, last):
            return self._trip(f"a step from {last[1]:.0f} to {process_c:.0f} °C between two readings", seen)
        self._coldest_c = min(self._coldest_c, process_c)
        if door_open or hands_may_be_in(seen):
            self._grace_s, self._rate = GRACE_S, 0.0
            past.clear()
            self._coast.begin()
            return None
        past.append((at_s, process_c))
        if self._grace_s > 0.0:
            self._grace_s -= seen.dt_s
        first_s, first_c = past[0]
        if at_s - first_s < WINDOW_S:
            return None
        past.popleft()
        rate = self._rate = (process_c - first_c) / (at_s - first_s)
        jumps = self._coast.jumps(seen, process_c, process_c - first_c)
        if jumps and self._grace_s <= 0.0 and seen.run_max_c is not None:  # who heats what is recorded?
            return self._trip(f"{process_c - first_c:.1f} K warmer in ten seconds without heat", seen)
        fall = self._falls(seen, rate)
        if -fall <= rate <= self._rise or self._grace_s > 0.0:
            return None
        way, limit = ("falls", fall) if rate < 0.0 else ("rises", self._rise)
        return self._trip(f"{way} by {abs(rate):.1f} K/s, the oven can {limit:.1f} K/s", seen)

    def _falls(self, seen: Observation, rate: float) -> float:
        """Return how fast the oven may fall now, in K/s; takes a tick."""
        if self._learned:
            return self._fall
        if seen.duty_asked > 0.0:
            self._off_s, self._on_s = 0.0, self._on_s + seen.duty_asked * seen.dt_s
        else:
            self._off_s += seen.dt_s
        if self._off_s >= WINDOW_S:
            self._cut, self._on_s = self._on_s >= self._pulse_s or (self._cut and self._on_s == 0.0), 0.0
        self._since_s = 0.0 if self._cut and self._off_s >= WINDOW_S else self._since_s + seen.dt_s
        if rate > self._quickest and rate <= self._rise and self._grace_s <= 0.0:
            self._quickest = rate
        return max(self._fall, FELL_AS_IT_ROSE * self._quickest) if self._since_s <= COOLS_S else self._fall

    def _steps(self, seen: Observation, process_c: float, last: tuple[float, float]) -> bool:
        """Return whether the reading has stepped as no oven's can."""
        last_s, last_c = last
        if abs(process_c - last_c) > STEP_K and not seen.scan.door_open:
            return True
        coldest_c = min(self._coldest_c, seen.ambient_c) - COLDER_K
        step_k = COLD_STEP_K + COLD_K_PER_S * max(1.0, seen.at_s - last_s)
        return last_c - process_c >= step_k and process_c < coldest_c

    def _trip(self, reason: str, seen: Observation) -> Trip:
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="heater pulse")

    def distance(self) -> Distance:
        """Return the rate against the limit of its direction."""
        limit = self._fall if self._rate < 0.0 else self._rise
        return Distance(self._rate, limit, "K/s", near(abs(self._rate), limit))


class Coast:
    """A rise that no oven shows which has not been heated for half a minute."""

    def __init__(self, tick_s: float) -> None:
        self._highest_c, self._ticks = -273.15, round(WINDOW_S / tick_s)
        self.begin()

    def begin(self) -> None:
        """Begin anew: what went before says nothing of what comes."""
        self._off_s, self._looks = 0.0, 0
        self._rises_k: deque[float] = deque(maxlen=self._ticks + 1)

    def jumps(self, seen: Observation, process_c: float, rise_k: float) -> bool:
        """Return whether the reading, risen by so much in ten seconds, has jumped for some looks."""
        self._off_s = 0.0 if seen.duty_asked > 0.0 else self._off_s + seen.dt_s
        rises_k = self._rises_k
        rises_k.append(rise_k)
        before_c = process_c - rise_k
        self._highest_c = before_c if before_c > self._highest_c else self._highest_c
        far = rise_k > UNHEATED_K and self._off_s >= UNHEATED_S and process_c - self._highest_c > UNHEATED_K
        self._looks = self._looks + 1 if far and rise_k > TIMES * rises_k[0] else 0
        return self._looks >= LOOKS


class SensorNoise:
    """Readings that scatter: interference or a loose terminal. Stopped after twenty seconds of it.

    The second difference of three readings sees no ramp; its mean size is 1.95 times the standard deviation
    of white noise (sqrt(6) * sqrt(2 / pi)). A scatter of 5 K among ten readings is a deviation of 1.6 K
    (range of ten normal values: 3.08 deviations). A module that measures more seldom than it is asked shows
    a slope as a stair, with a mean second difference of twice the rise in a tick: that much more is allowed.
    """

    kind: ClassVar[str] = "sensor_noise"
    label: ClassVar[str] = "sensor noise"
    LIMIT_K: ClassVar[float] = 3.2
    FOR_S: ClassVar[float] = 20.0
    MEMORY_TICKS: ClassVar[float] = 10.0
    STAIR: ClassVar[float] = 2.0

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._last = self._before = None  # type: float | None
        self._mean_k = self._rise_k = 0.0
        self._over_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Follow the mean second difference, and the mean rise in a tick."""
        process_c = seen.scan.process.value
        if process_c is None:
            self._last = self._before = None
            return None
        last, before = self._last, self._before
        self._last, self._before = process_c, last
        if last is None or before is None:
            return None
        bend = process_c - 2.0 * last + before
        mean_k = self._mean_k + (abs(bend) - self._mean_k) / self.MEMORY_TICKS
        self._mean_k = mean_k
        # Over two ticks, in which a zigzag comes back to where it was.
        self._rise_k += ((process_c - before) / 2.0 - self._rise_k) / self.MEMORY_TICKS
        if mean_k <= self._limit_k:
            self._over_s = 0.0
            return None
        self._over_s += seen.dt_s
        if self._over_s < self.FOR_S:
            return None
        scatter = f"by about {mean_k / 1.95:.1f} K (standard deviation)"
        reason = f"readings have scattered {scatter} for {self._over_s:.0f} s"
        return Trip(self.kind, reason, seen.at_s)

    def distance(self) -> Distance:
        """Return the deviation of the readings."""
        limit = self._limit_k / 1.95
        return Distance(self._mean_k / 1.95, limit, "K", near(self._mean_k, self._limit_k))

    @property
    def _limit_k(self) -> float:
        return self.LIMIT_K + self.STAIR * abs(self._rise_k)
