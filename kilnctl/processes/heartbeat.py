"""Beats over a pipe, from the controller to its supervisor. Real time, never scaled.

The pipe says two things: bytes mean that the controller ticks, and a closed end means that the other process
is gone. Neither end can block the other.
"""

import array
import contextlib
import fcntl
import os
import select
import termios

from kilnctl.clock import Clock

OFF_NOT_READ = 5  # exit code of a controller, or a drill, that ended well and could not read off back


class Beat:
    """The controller's end. Nothing here blocks or raises."""

    def __init__(self, fd: int) -> None:
        os.set_inheritable(fd, False)  # a helper process of the controller must not keep the pipe alive
        os.set_blocking(fd, False)
        self._fd = fd

    def send(self) -> None:
        """Say that every running oven has finished a tick."""
        with contextlib.suppress(OSError):  # full: beats enough are waiting; broken: `alone` tells
            os.write(self._fd, b".")

    @property
    def unheard(self) -> bool:
        """True while beats lie in the pipe: a supervisor that lives takes each within a tenth of a second."""
        waiting = array.array("i", [0])
        with contextlib.suppress(OSError):  # the other end is gone: `alone` tells
            fcntl.ioctl(self._fd, termios.FIONREAD, waiting)
        return waiting[0] > 0

    @property
    def alone(self) -> bool:
        """True when the supervisor is dead: nobody would notice a hang now, so heat must go off."""
        poll = select.poll()  # one for each call: every oven's thread asks
        poll.register(self._fd, 0)
        return any(flags & (select.POLLERR | select.POLLNVAL) for _, flags in poll.poll(0))


class Listener:
    """The supervisor's end: how long the controller has been silent."""

    def __init__(self, fd: int, clock: Clock) -> None:
        os.set_blocking(fd, False)
        self._fd = fd
        self._clock = clock
        self._heard_s = clock.real_s()
        self.began = False
        self.closed = False

    @property
    def silence_s(self) -> float:
        """Return the seconds since the last beat, or since the start before the first one."""
        return self._clock.real_s() - self._heard_s

    def listen(self, real_s: float) -> None:
        """Wait up to `real_s` for a beat and take in all that have come."""
        if self.closed:
            self._clock.pause(real_s)
        elif select.select([self._fd], [], [], real_s)[0]:
            self._take()

    def _take(self) -> None:
        if os.read(self._fd, 65536):
            self.began = True
            self._heard_s = self._clock.real_s()
        else:
            self.closed = True
