"""How an oven has moved in the last minute, for the interlock that looks for crossed sensors and outputs."""

from collections import deque

WINDOW_S = 60.0


class Trend:
    """Keeps one minute of one oven; `value` is read by the other ovens' threads."""

    def __init__(self) -> None:
        self._seen: deque[tuple[float, float, float]] = deque()
        self._heat_s = 0.0
        self.value: tuple[float, float] = (0.0, 0.0)

    def see(self, at_s: float, process_c: float, on: bool, dt_s: float) -> None:
        """Take one good reading: time and step in s, temperature in degC, whether heat was commanded."""
        heat_s = dt_s if on else 0.0
        self._seen.append((at_s, process_c, heat_s))
        self._heat_s += heat_s
        while self._seen[0][0] < at_s - WINDOW_S:
            self._heat_s -= self._seen.popleft()[2]
        self.value = (process_c - self._seen[0][1], min(1.0, max(0.0, self._heat_s / WINDOW_S)))
