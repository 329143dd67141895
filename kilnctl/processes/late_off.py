"""What whoever waits for an `off` hears while it is still tried: calm first, then the alarm, each once.

A slow board that answers every word puts the alarm off, no longer than a good off of it takes.
"""

import contextlib
import threading
from collections.abc import Callable

from kilnctl.clock import RealClock

SAID_S = 0.2  # a line that is written keeps its place before the line of the end
LOOK_S = 0.05
LATEST_S = 6.0  # no board is so slow that the alarm waits for longer


class LateOff:
    """Says after `tell_s` that it is still asked, and after `alarm_s` or when told to that power must be cut.

    `waits` tells whether anything is not off yet, `tell` takes whether it is the alarm, `slow_s` how much
    longer than `alarm_s` the boards need that answer slowly, None as soon as one of them does not answer.
    All are called from other threads too.
    """

    def __init__(
        self,
        tell_s: float,
        alarm_s: float,
        waits: Callable[[], bool],
        tell: Callable[[bool], object],
        slow_s: Callable[[], float | None] = lambda: None,
    ) -> None:
        self._waits, self._tell, self._lock, self._alarmed = waits, tell, threading.Lock(), False
        self._tell_s, self._alarm_s, self._slow_s = tell_s, alarm_s, slow_s
        self._over, self._clock = threading.Event(), RealClock()
        self._began_s = self._clock.real_s()
        threading.Thread(target=self._watch, name="late off", daemon=True).start()

    def _watch(self) -> None:
        if self._over.wait(self._tell_s):
            return
        self.say(False)
        if self._over.wait(self._alarm_s - self._tell_s):
            return
        if self._put_off():
            self.say(False)
        while self._put_off():
            if self._over.wait(LOOK_S):
                return
        self.say(True)

    def _put_off(self) -> bool:
        slow_s, waited_s = self._slow_s(), self._clock.real_s() - self._began_s
        return slow_s is not None and waited_s < min(self._alarm_s + slow_s, LATEST_S)

    def alarm(self) -> None:
        """Say now that power must be cut. Nobody is waited for long: a terminal may have stopped reading."""
        saying = threading.Thread(target=self.say, args=(True,), daemon=True)
        saying.start()
        saying.join(SAID_S)

    def say(self, alarm: bool) -> None:
        """Say it, where something is not off yet and no alarm was raised before."""
        with self._lock:
            if self._waits() and not self._alarmed:
                self._alarmed = alarm
                with contextlib.suppress(OSError):  # a pipe that nobody reads any more
                    self._tell(alarm)

    def cancel(self) -> None:
        """Say nothing more: the line of the end follows."""
        self._over.set()
