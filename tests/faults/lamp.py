"""Somebody at the oven who reads the lamp's numbers, for tests at a real terminal."""

import threading
import time
from collections.abc import Callable

from kilnctl.cli.oven.simulate import Simulation
from kilnctl.permits.lamp_calls import FLASH_S, NUMBERS

LAMP = 3  # the coil of the bundled oven file
SHORT_S, PAUSE_S = 1.0, 1.8  # a short call lasts 0.4 s, 0.8 s from one to the next, 2.8 s from digit to digit
UNSURE_S = 0.9, 2.4


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
        """Return the short calls of the newest telling, counted between long pauses.

        Nothing, which asks for other numbers, where a busy machine has drawn a call or a pause so long that a
        person could not be sure either.
        """
        long = max((i for i, (on, off) in enumerate(self._calls) if off - on > SHORT_S), default=None)
        if long is None or len(self._calls) < long + 2:
            return ""
        calls = self._calls[long + 1 :]
        pauses_s = [on - before for (on, _), (before, _) in zip(calls[1:], calls, strict=False)]
        sure = all(off - on < UNSURE_S[0] for on, off in calls)
        if not sure or any(UNSURE_S[0] + FLASH_S < pause_s < UNSURE_S[1] for pause_s in pauses_s):
            return ""
        digits = [1]
        for pause_s in pauses_s:
            if pause_s > PAUSE_S:
                digits.append(0)
            digits[-1] += 1
        return " ".join(map(str, digits)) if len(digits) == NUMBERS else ""

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
