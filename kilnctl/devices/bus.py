"""The sole owner of a serial port: one lock, one exchange at a time, a quiet line before the next.

All that can go wrong on a port is turned here, once, into a kind of DeviceError (words: library_errors.py).
`termios.error` is not an OSError and is what an unplugged adapter raises most often, so it is named.

Why a drain after every error: a Modbus reply carries no register number. A reply that comes after the
time-out would be taken for the answer to the next question, without any error. So after an error nothing is
sent until nothing has come in for `QUIET_S`.
"""

import contextlib
import termios
import threading
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, TypeVar

from kilnctl.clock import Clock
from kilnctl.devices.library_errors import as_device_error
from kilnctl.devices.port import Line, open_line
from kilnctl.errors import BadReply, DeviceError, PortLost

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Port

QUIET_S = 0.1  # measured: a quiet line of 100 ms cured every late reply; the wait is counted from the error
# A line is waited for so long; right after it was given up as never quiet hardly longer than quiet takes, or
# a tick of several exchanges would outlast the supervisor's patience.
NEVER_QUIET_S, STILL_TALKS_S = 1.0, 0.15
REOPEN_EVERY_S = 0.5
OVERHEARD = 400  # bytes
LEFT_OVER_S = 0.05

T = TypeVar("T")


class Bus:
    """One serial port and everything on it. Threads may share it; it opens at first use.

    `openings` counts how often the port was opened: who sees it change sends off and checks identities.
    `foreign` counts the times that bytes were waiting before anything had been asked; where a board `talks`
    by itself that is no sign of anything. `foreign_said` is what came last so.
    """

    def __init__(
        self,
        port: "Port",
        clock: Clock,
        exclusive: bool = True,
        opener: "Callable[[Port, bool], Line]" = open_line,
    ) -> None:
        self.port = port
        self.openings = 0
        self.foreign = 0
        self.foreign_said = b""
        self._overheard = b""
        self._clock = clock
        self._exclusive = exclusive
        self._opener = opener
        self._lock = threading.RLock()
        self._line: Line | None = None
        self._quiet_from_s: float | None = None
        self._tried_at_s = -REOPEN_EVERY_S
        self._gave_up_s = -NEVER_QUIET_S
        self._free_from_s = 0.0
        self.talks = False

    def open(self) -> None:
        """Open the port now. Raises PortLost."""
        with self._lock:
            self._opened(at_once=True)

    def close(self) -> None:
        """Give the port back. Never raises."""
        with self._lock:
            line, self._line = self._line, None
            if line is not None:
                self._tried_at_s = self._clock.real_s()
                try:
                    line.close()
                except (OSError, termios.error, ValueError):
                    return  # the descriptor is gone already, which is all that was wanted

    @contextlib.contextmanager
    def lent(self) -> Iterator[None]:
        """Close the port and keep everybody off it meanwhile: for a look at it with other settings."""
        with self._lock:
            self.close()
            yield

    @contextlib.contextmanager
    def alone(self) -> Iterator[None]:
        """Keep everybody else off the line: what is asked again must not come after another one's off."""
        with self._lock:
            yield

    @property
    def opening(self) -> int:
        """Return which opening of the port this is; 0 while it is closed."""
        return self.openings if self._line is not None else 0

    def overheard(self) -> bytes:
        """Return, once, what came unasked before this exchange: perhaps a board's first words."""
        heard, self._overheard = self._overheard, b""
        return heard

    def strange(self, data: bytes, times: int = 1) -> None:
        """Count what came though nobody had asked for it."""
        self.foreign += times
        self.foreign_said = data

    def left_over(self, wait_s: float = LEFT_OVER_S) -> bytes:
        """Return what comes within a moment after an answer that nobody reads. Never raises."""
        with self._lock:
            self._clock.pause(wait_s)
            try:
                return self._line.read(self._line.in_waiting) if self._line and self._line.in_waiting else b""
            except (OSError, termios.error, ValueError):
                return b""

    def exchange(
        self,
        what: str,
        work: Callable[[Line], T],
        timeout_s: float | None = None,
        force: bool = False,
        only_in: int | None = None,
    ) -> T:
        """Run one request and its reply, alone on the line; `what` names device and operation in errors.

        `force` sends even on a line that never gets quiet: for off. `only_in` refuses when the port was
        opened anew since that opening: nothing is switched on before off went out and identities were
        checked. Raises DeviceError in one of its kinds.
        """
        with self._lock:
            if only_in is not None and only_in != self.opening:
                raise PortLost(f"{what}: the port was lost since")
            line = self._opened(at_once=force)
            try:
                self._wait_quiet(line, what, force)
                self._wait_gap()
                self._set_timeout(line, timeout_s or self.port.timeout_s)
                return work(line)
            except (OSError, termios.error, ValueError, TypeError) as e:
                error = as_device_error(e, what, self.port.timeout_s)
            except DeviceError as e:
                error = e
            finally:
                self._free_from_s = self._clock.real_s() + self.port.gap_s
            if not getattr(line, "in_step", False):  # a network line tells whether the reply came whole
                self._quiet_from_s = self._clock.real_s()
            if isinstance(error, PortLost):
                self.close()
            raise error

    def _wait_gap(self) -> None:
        if (left_s := self._free_from_s - self._clock.real_s()) > 0.0:
            self._clock.pause(left_s)

    def _opened(self, at_once: bool) -> Line:
        if self._line is None:
            now_s = self._clock.real_s()
            if not at_once and now_s - self._tried_at_s < REOPEN_EVERY_S:
                raise PortLost(f"{self.port.path}: the port is gone")
            self._tried_at_s = now_s
            self._line = self._opener(self.port, self._exclusive)
            self.openings += 1
            self._quiet_from_s = now_s
        return self._line

    def _set_timeout(self, line: Line, timeout_s: float) -> None:
        if line.timeout != timeout_s:
            line.timeout = timeout_s

    def _wait_quiet(self, line: Line, what: str, force: bool) -> None:
        """Wait until the line has been quiet since the last error; strangers on it count as an error."""
        if line.in_waiting and self.talks and self._quiet_from_s is None:
            self._throw_away(line)
        unasked = line.in_waiting and self._quiet_from_s is None
        if line.in_waiting:
            self._quiet_from_s = self._clock.real_s()
        if self._quiet_from_s is None:
            return
        self._throw_away(line)
        if unasked:
            self.strange(self._overheard)
        began_s = self._clock.real_s()
        lately = began_s - self._gave_up_s < NEVER_QUIET_S
        give_up_s = began_s + (STILL_TALKS_S if lately else NEVER_QUIET_S)
        while (now_s := self._clock.real_s()) - self._quiet_from_s < QUIET_S:
            if now_s > give_up_s:
                self._gave_up_s = now_s
                self.strange(self._overheard)
                if force:
                    break
                raise BadReply(f"{what}: the line is never quiet; another program or device is talking on it")
            self._clock.pause(0.002)
            if line.in_waiting:
                self._throw_away(line)
                self._quiet_from_s = self._clock.real_s()
        self._quiet_from_s = None

    def _throw_away(self, line: Line) -> None:
        if line.in_waiting:
            self._overheard = (self._overheard + line.read(line.in_waiting))[-OVERHEARD:]
