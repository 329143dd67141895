"""How an oven has moved in the last minute, for the interlock that looks for crossed sensors and outputs."""

from collections import deque

WINDOW_S = 60.0
# An element that glows goes on warming its oven: a fibre furnace with a slow sensor that is cut at 60 degC
# rises for 333 s (tests/bench/first_heats.py). Until so long after the heat an oven that rises is not idle.
COAST_S = 360.0
SLOWER, IDLE_S = 0.9, 2.0


class Trend:
    """Keeps one oven's last minutes; `value` is read by the other ovens' threads.

    The rise of the last minute in K, and the share of it that was heated. An oven that coasts counts as
    heated: the minute was not, but something of the time before, and it rises more slowly than a minute ago.
    One that goes on as fast gets its heat from somewhere else.
    """

    def __init__(self) -> None:
        self._seen: deque[tuple[float, float, float]] = deque()
        self._heats: deque[tuple[float, float]] = deque()
        self._minute_s = self._coast_s = 0.0
        self._rises: deque[tuple[float, float]] = deque()
        self.value: tuple[float, float] = (0.0, 0.0)

    def see(self, at_s: float, process_c: float, on: bool, dt_s: float) -> None:
        """Take one good reading: time and step in s, temperature in degC, whether heat was commanded."""
        heat_s = dt_s if on else 0.0
        self._seen.append((at_s, process_c, heat_s))
        self._minute_s += heat_s
        if on:
            self._heats.append((at_s, heat_s))
            self._coast_s += heat_s
        while self._seen[0][0] < at_s - WINDOW_S:
            self._minute_s -= self._seen.popleft()[2]
        while self._heats and self._heats[0][0] < at_s - COAST_S:
            self._coast_s -= self._heats.popleft()[1]
        rise_k = process_c - self._seen[0][1]
        self._rises.append((at_s, rise_k))
        while self._rises[0][0] < at_s - WINDOW_S:
            self._rises.popleft()
        coasts = self._minute_s < IDLE_S and rise_k < SLOWER * self._rises[0][1]
        heated_s = self._coast_s if coasts else self._minute_s
        self.value = (rise_k, min(1.0, max(0.0, heated_s / WINDOW_S)))
