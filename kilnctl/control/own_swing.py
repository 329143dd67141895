"""Does a hold swing by itself? It does in one period, over and over; what comes from outside does not.

A heater may give other heat than its duty says. A current that is let up and down slowly is steered in its
slope by a window that is shorter than its way: at one duty it stays, a little above it runs to full, below to
nothing. Whatever takes duty for heat then swings by 9 K for ever, however gentle it is.
"""

from collections import deque
from itertools import pairwise

# Turns count from so many kelvin in a lag of the reading; less is noise.
_BEYOND_K = 0.1
# Five halves, of which each differs from the last but one by no more than these shares in length and in size
# (of half hours of random gusts one in nine passes by four). The mean half is no smaller than so many kelvin.
_HALVES, _LEAST_K, _ALIKE_S, _ALIKE_K = 5, 3.0, 0.25, 0.3


class OwnSwing:
    """Follows how fast a reading moves, from turn to turn."""

    def __init__(self) -> None:
        self._halves: deque[tuple[float, float]] = deque(maxlen=_HALVES)
        self._side, self._since_s, self._most_k = 0, 0.0, 0.0

    def see(self, moves_k: float, shortest_s: float, dt_s: float) -> bool:
        """Take a tick; `moves_k` is how far the reading moves in its lag. True where it swings by itself.

        Halves shorter than `shortest_s` are noise, or the relay's own pulses.
        """
        self._since_s += dt_s
        side = (moves_k > _BEYOND_K) - (moves_k < -_BEYOND_K)
        if side in (0, self._side):
            self._most_k = max(self._most_k, abs(moves_k))
            return False
        self._halves.append((self._since_s, self._most_k))
        self._side, self._since_s, self._most_k = side, 0.0, abs(moves_k)
        return self._repeats(shortest_s)

    def _repeats(self, shortest_s: float) -> bool:
        if len(self._halves) < _HALVES or min(self._halves)[0] <= shortest_s:
            return False
        halves = tuple(self._halves)
        large = all(one[1] + other[1] > 2.0 * _LEAST_K for one, other in pairwise(halves))
        return large and all(_alike(one, other) for one, other in zip(halves, halves[2:], strict=False))


def _alike(before: tuple[float, float], now: tuple[float, float]) -> bool:
    """Return whether two halves (s, K) are of one kind."""
    return all(
        max(a, b) - min(a, b) < share * max(a, b)
        for a, b, share in zip(before, now, (_ALIKE_S, _ALIKE_K), strict=True)
    )
