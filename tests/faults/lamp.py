"""Somebody at the oven who reads the lamp's numbers, for tests at a real terminal."""

import threading
import time
from collections.abc import Callable

from kilnctl.cli.oven.simulate import Simulation

LAMP = 3  # the coil of the bundled oven file
SHORT_S, PAUSE_S = 1.0, 1.5


def lamp_of(sim: Simulation) -> "LampReader":
    """Return who reads the lamp of the bundled oven file's simulator."""
    return LampReader(lambda: bool(sim.board.read("coil", LAMP)))


class LampReader:
    """Watches a lamp in a thread; `numbers` says what it told after the long call."""

    def __init__(self, lit: Callable[[], bool]) -> None:
        self._lit = lit
        self._calls: list[tuple[float, float]] = []
        self._leave = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)
        self._thread.start()

    def numbers(self) -> str:
        """Return the short calls of the newest telling, counted between long pauses."""
        long = max(i for i, (on, off) in enumerate(self._calls) if off - on > SHORT_S)
        digits, last_s = [0], self._calls[long + 1][0]
        for on_s, off_s in self._calls[long + 1 :]:
            if on_s - last_s > PAUSE_S:
                digits.append(0)
            digits[-1] += 1
            last_s = off_s
        return " ".join(map(str, digits))

    def close(self) -> None:
        self._leave.set()
        self._thread.join(2.0)

    def _look(self) -> None:
        since_s: float | None = None
        while not self._leave.wait(0.01):
            on, now_s = self._lit(), time.monotonic()
            if on and since_s is None:
                since_s = now_s
            if not on and since_s is not None:
                self._calls.append((since_s, now_s))
                since_s = None
