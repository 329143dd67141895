"""What whoever waits for an `off` hears while it is still tried: calm first, then the alarm, each once.

A slow board that answers every word puts the alarm off, no longer than a good off of it takes. Whatever
breaks here, the alarm is raised: silence would be taken for good news.
"""

import contextlib
import os
import threading
from collections.abc import Callable

from kilnctl.clock import RealClock

SAID_S = 0.2  # a line that is written keeps its place before the line of the end
LOOK_S = 0.05
# Where even the words of the alarm cannot be put together: no name, no place, but what to do.
BARE_ALARM = b"kilnctl: CUT THE POWER. Not read back as off yet; still trying\n"


class LateOff:
    """Says after `tell_s` that it is still asked, and after `alarm_s` or when told to that power must be cut.

    `waits` tells whether anything is not off yet, `tell` takes whether it is the alarm, `latest_s` after how
    many seconds the alarm comes where every board answers, None as soon as one of them does not.
    All are called from other threads too, and may raise.
    """

    def __init__(
        self,
        tell_s: float,
        alarm_s: float,
        waits: Callable[[], bool],
        tell: Callable[[bool], object],
        latest_s: Callable[[], float | None] = lambda: None,
    ) -> None:
        self._waits, self._tell, self._lock, self._alarmed = waits, tell, threading.Lock(), False
        self._tell_s, self._alarm_s, self._latest_s = tell_s, alarm_s, latest_s
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
        try:
            latest_s = self._latest_s()
        except Exception:  # nobody knows how slow the boards are: so nothing speaks for waiting
            return False
        return latest_s is not None and self._clock.real_s() - self._began_s < latest_s

    def alarm(self) -> None:
        """Say now that power must be cut. Nobody is waited for long: a terminal may have stopped reading."""
        saying = threading.Thread(target=self.say, args=(True,), daemon=True)
        saying.start()
        saying.join(SAID_S)

    def say(self, alarm: bool) -> None:
        """Say it, where something is not off yet and no alarm was raised before. Never raises."""
        with self._lock:
            if self._alarmed or self._over.is_set() or not self._waiting():
                return
            self._alarmed = alarm
            try:
                self._tell(alarm)
            except OSError:  # a pipe that nobody reads any more
                pass
            except Exception:  # calm words may be missing; the alarm may not
                if alarm:
                    _bare_alarm()

    def _waiting(self) -> bool:
        try:
            return self._waits()
        except Exception:  # what cannot be told may be on
            return True

    def cancel(self) -> None:
        """Say nothing more: the line of the end follows, after the one that is being written."""
        self._over.set()
        if self._lock.acquire(timeout=SAID_S):
            self._lock.release()


def _bare_alarm() -> None:
    with contextlib.suppress(OSError):
        os.write(2, BARE_ALARM)
