"""Things that happen at a time."""

import heapq
from collections.abc import Callable


class Script:
    """Acts in order of their time; `next_s` is infinite when nothing is left."""

    __slots__ = ("_acts", "_order", "next_s")

    def __init__(self) -> None:
        self._acts: list[tuple[float, int, Callable[[], None]]] = []
        self._order = 0
        self.next_s = float("inf")

    def put(self, at_s: float, act: Callable[[], None]) -> None:
        """Let `act` happen at a simulated time."""
        self._order += 1
        heapq.heappush(self._acts, (at_s, self._order, act))
        self.next_s = self._acts[0][0]

    def happen(self) -> None:
        """Let the next act happen."""
        act = heapq.heappop(self._acts)[2]
        self.next_s = self._acts[0][0] if self._acts else float("inf")
        act()
