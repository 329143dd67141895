"""What whoever waits for an `off` hears while it is still tried: calm first, then the alarm, each once."""

import contextlib
import threading
from collections.abc import Callable

SAID_S = 0.2  # a line that is written keeps its place before the line of the end


class LateOff:
    """Says after `tell_s` that it is still asked, and after `alarm_s` or when told to that power must be cut.

    `waits` tells whether anything is not off yet, `tell` takes whether it is the alarm. Both are called from
    other threads too.
    """

    def __init__(
        self, tell_s: float, alarm_s: float, waits: Callable[[], bool], tell: Callable[[bool], object]
    ) -> None:
        self._waits, self._tell, self._lock, self._alarmed = waits, tell, threading.Lock(), False
        self._timers = [
            threading.Timer(tell_s, self.say, (False,)),
            threading.Timer(alarm_s, self.say, (True,)),
        ]
        for timer in self._timers:
            timer.daemon = True
            timer.start()

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
        for timer in self._timers:
            timer.cancel()
