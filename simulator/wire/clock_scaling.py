"""Real seconds into simulated ones: never a jump, even after the process was stopped."""

from collections.abc import Callable

LONGEST_REAL_S = 0.5


class Pace:
    """Hands out simulated time. A real gap above half a second counts as half a second, and is said."""

    def __init__(self, speed: float, now_s: float, say: Callable[[str], None]) -> None:
        self._speed = speed
        self._last_s = now_s
        self._say = say

    def passed_s(self, now_s: float) -> float:
        """Return the simulated seconds since the last call."""
        real_s = now_s - self._last_s
        self._last_s = now_s
        if real_s > LONGEST_REAL_S:
            self._say(f"stood still for {real_s:.1f} s; the simulated time did not jump")
            real_s = LONGEST_REAL_S
        return real_s * self._speed
