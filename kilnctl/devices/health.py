"""How well a wire works: what came back in the last half minute, and when the last whole answer came."""

from collections import deque

WINDOW_S = 30.0


class Health:
    """Counts the exchanges with one device. Times are unscaled seconds, handed in."""

    def __init__(self) -> None:
        self._window: deque[tuple[float, bool]] = deque()
        self.misses_in_a_row = 0

    def note(self, good: bool, real_s: float) -> None:
        """Count one exchange."""
        self._window.append((real_s, good))
        self.misses_in_a_row = 0 if good else self.misses_in_a_row + 1
        self._forget(real_s)

    def bad_and_all(self, real_s: float) -> tuple[int, int]:
        """Return how many exchanges of the last 30 s failed, and how many there were."""
        self._forget(real_s)
        return sum(not good for _, good in self._window), len(self._window)

    def _forget(self, real_s: float) -> None:
        while self._window and self._window[0][0] < real_s - WINDOW_S:
            self._window.popleft()
