"""How an oven has moved in the last minutes, for the interlock that looks for crossed sensors and outputs."""

from collections import deque

WINDOW_S = 60.0
# An element that glows goes on warming its oven: a fibre furnace with a slow sensor that is cut at 60 degC
# rises for 333 s (tests/bench/first_heats.py). Until so long after the heat an oven that rises is not idle.
COAST_S = 360.0
SLOWER, IDLE_S = 0.9, 2.0
# An oven answers its own commands of the last minutes: a change of its rise counts as one that nobody asked
# for only against their mean.
ANSWERS_S, SAME = 240.0, 0.08
GAINS_K, LOSES_K = 3.0, 2.0  # K a minute, from one minute to the next
BENDS = 0.25  # a quick heat-up loses less of its rise from minute to minute by itself
RESTED_S = 3.0
CUT, GOES_ON_K, AS_FAST = 0.4, 3.0, 0.75
# Asked for next to nothing now, hardly more a minute ago, and less than in the minutes before.
LITTLE, LITTLE_BEFORE, LESS = 0.2, 0.35, 0.12


class Trend:
    """Keeps one oven's last minutes; read by the other ovens' threads.

    `value` is the rise of the last minute in K, and the share of it that was heated (`asked`: as commanded).
    An oven that coasts counts as heated: the minute was not, but something of the time before, and it rises
    more slowly than a minute ago. One that goes on as fast gets its heat from somewhere else.

    `gains`: it rises faster than a minute ago, and was asked for no more than in the minutes before.
    `loses`: the contrary. `goes_on`: it was cut by a good part, and rises nearly as fast as before; or it was
    cut little by little to next to nothing, and rises as fast as ever. Not the rise that a pulse has just
    begun. `rested`: it has not been heated yet,
    but for the tick in which two may begin at once.
    """

    def __init__(self) -> None:
        self._seen: deque[tuple[float, float, float]] = deque()
        self._heats: deque[tuple[float, float]] = deque()
        self._minute_s = self._coast_s = 0.0
        self._past: deque[tuple[float, float, float]] = deque()
        self.value: tuple[float, float] = (0.0, 0.0)
        self.asked = 0.0
        self.gains = self.loses = self.goes_on = False
        self._all_s = 0.0

    @property
    def rested(self) -> bool:
        """True while next to no heat was commanded."""
        return self._all_s <= RESTED_S

    def see(self, at_s: float, process_c: float, on: bool, dt_s: float) -> None:
        """Take one good reading: time and step in s, temperature in degC, whether heat was commanded."""
        heat_s = dt_s if on else 0.0
        self._seen.append((at_s, process_c, heat_s))
        self._minute_s += heat_s
        self._all_s += heat_s
        if on:
            self._heats.append((at_s, heat_s))
            self._coast_s += heat_s
        while self._seen[0][0] < at_s - WINDOW_S:
            self._minute_s -= self._seen.popleft()[2]
        while self._heats and self._heats[0][0] < at_s - COAST_S:
            self._coast_s -= self._heats.popleft()[1]
        rise_k = process_c - self._seen[0][1]
        self.asked = min(1.0, max(0.0, self._minute_s / WINDOW_S))
        before_k = self._compare(at_s, rise_k)
        coasts = self._minute_s < IDLE_S and rise_k < SLOWER * before_k
        heated_s = self._coast_s if coasts else self._minute_s
        self.value = (rise_k, min(1.0, max(0.0, heated_s / WINDOW_S)))

    def _compare(self, at_s: float, rise_k: float) -> float:
        """Compare with the minutes before; return the rise of the minute before the last."""
        self._past.append((at_s, rise_k, self.asked))
        while self._past[0][0] < at_s - ANSWERS_S:
            self._past.popleft()
        _, before_k, asked_before = next(past for past in self._past if past[0] >= at_s - WINDOW_S)
        usual = sum(asked for _, _, asked in self._past) / len(self._past)
        known = at_s - self._past[0][0] >= 2.0 * WINDOW_S
        self.gains = known and rise_k - before_k >= GAINS_K and self.asked <= usual + SAME
        loses_k = max(LOSES_K, BENDS * before_k)
        self.loses = known and rise_k - before_k <= -loses_k and self.asked >= usual - SAME
        cut = self.asked <= asked_before - CUT and rise_k >= AS_FAST * before_k
        faded = (
            self.asked <= min(LITTLE, usual - LESS) and asked_before <= LITTLE_BEFORE and rise_k >= before_k
        )
        self.goes_on = known and min(rise_k, before_k) >= GOES_ON_K and (cut or faded)
        return before_k
