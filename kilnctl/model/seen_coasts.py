"""The coasts that an oven has shown, without any model: slope at the cut times so many seconds.

A fit draws a heat-up within half a kelvin and may still be a quarter short of the coast of a heat that goes
on where the learning paused: its walls are another oven's (13.4 K for 10.7, 11.0 for 8.6). The seconds that a
pause has shown carry over from heat to heat; what a heat is today lies in its slope.
"""

import math
from collections import deque
from collections.abc import Sequence

from kilnctl.model.oven_model import Coasted

# A slope is that of so many kelvin, taken over no less and no more than so many seconds, from readings that
# are smoothed over so long: steps of a whole kelvin are a twentieth of it.
_RISE_K, _SHORTEST_S, _LONGEST_S, _SMOOTH_S = 8.0, 12.0, 120.0, 3.0
# Above the last pause the seconds fall by this share of how they fell between the last two.
_CAREFULLY = 0.5
# A pause of a learning heat begins after the sensor has risen by more. A slope below this (K/s) is none.
_RISEN_K, _FLAT = 12.0, 0.005


class Climb:
    """A reading that rises, and its slope in K/s."""

    def __init__(self) -> None:
        self._past: deque[tuple[float, float]] = deque()
        self._now_s = self._mean_c = 0.0

    def see(self, reads_c: float, dt_s: float) -> None:
        """Take a tick."""
        past = self._past
        share = dt_s / (dt_s + _SMOOTH_S) if past else 1.0
        self._mean_c += (reads_c - self._mean_c) * share
        self._now_s += dt_s
        past.append((self._now_s, self._mean_c))
        while len(past) > 2 and self._more_than_enough(past[1]):
            past.popleft()

    def _more_than_enough(self, then: tuple[float, float]) -> bool:
        since_s = self._now_s - then[0]
        return since_s > _LONGEST_S or (since_s > _SHORTEST_S and self._mean_c - then[1] > _RISE_K)

    @property
    def reads_c(self) -> float:
        """Return the smoothed reading in degC."""
        return self._mean_c

    @property
    def now_c(self) -> float:
        """Return the reading freed of what its smoothing makes it late, in degC."""
        return self._mean_c + _SMOOTH_S * self.slope

    @property
    def slope(self) -> float:
        """Return the slope in K/s, nothing in the first seconds."""
        since_s = self._now_s - self._past[0][0] if self._past else 0.0
        return (self._mean_c - self._past[0][1]) / since_s if since_s >= _SHORTEST_S / 2 else 0.0


def coasts_of(process_c: Sequence[float], heat: Sequence[float], dt_s: float) -> tuple[Coasted, ...]:
    """Return the coasts of a recorded heat-up; `heat` (0..1) flows until the next sample."""
    found: list[Coasted] = []
    climb, before = Climb(), 0.0
    cut_c = slope = peak_c = 0.0
    for reads_c, share in zip(process_c, heat, strict=True):
        climb.see(reads_c, dt_s)
        if before > 0.5 >= share:
            slope = climb.slope
            cut_c = peak_c = climb.reads_c + slope * _SMOOTH_S
        elif before <= 0.5 < share:
            found += _coasted(cut_c - process_c[0], cut_c, slope, peak_c)
            climb = Climb()
        elif share <= 0.5:
            peak_c = max(peak_c, climb.reads_c)
        before = share
    found += _coasted(cut_c - process_c[0], cut_c, slope, peak_c)
    return tuple(sorted(found))


def _coasted(risen_k: float, cut_c: float, slope: float, peak_c: float) -> list[Coasted]:
    if risen_k < _RISEN_K or slope < _FLAT:
        return []
    return [Coasted(cut_c, max(peak_c - cut_c, 0.0) / slope)]


def coast_s(coasts: Sequence[Coasted], at_c: float) -> float:
    """Return for how many seconds of its slope a sensor coasts on from at_c; 0 where none was seen.

    Between two pauses its logarithm is a straight line (textbook): radiation shortens it as the oven gets
    hotter. Above the last it goes on falling, half as fast to be careful: light fibre that had paused at
    578 degC was cut 15 K too early at 829.
    """
    if not coasts:
        return 0.0
    low = coasts[0]
    for high in coasts:
        if high.at_c >= at_c:
            way = (at_c - low.at_c) / (high.at_c - low.at_c) if high.at_c > low.at_c else 0.0
            logs = math.log(max(low.after_s, 1.0)), math.log(max(high.after_s, 1.0))
            return math.exp(logs[0] + (logs[1] - logs[0]) * max(way, 0.0))
        low = high
    return low.after_s * math.exp(_CAREFULLY * min(_falls(coasts), 0.0) * (at_c - low.at_c))


def _falls(coasts: Sequence[Coasted]) -> float:
    """Return how the logarithm of a coast's seconds moves by the kelvin up to the last pause.

    Since whichever pause it fell most gently: a slow oven whose slope had not developed yet coasts the longer
    for it, and a muffle's fell from 334 s to 161 in 67 K (3.2 K over at 218 degC).
    """
    last = coasts[-1]
    falls = [
        math.log(max(last.after_s, 1.0) / max(before.after_s, 1.0)) / (last.at_c - before.at_c)
        for before in coasts
        if before.at_c < last.at_c
    ]
    return max(falls, default=0.0)
