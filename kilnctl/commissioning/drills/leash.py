"""What a drill that heats is held by: off stamps, off line, supervisor, walk, and signals."""

import contextlib
import select
import signal
import threading
from collections.abc import Callable, Iterator

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.oven_io import WiredIO, open_oven_io
from kilnctl.marks import running_ovens
from kilnctl.processes.heartbeat import Beat
from kilnctl.processes.off_order import OffOrders

ANSWERED_S = 0.5


class Leash:
    """What a drill is held by: marks and supervisor (`watch`), walk, a signal. Asked some times a second."""

    def __init__(self, beat: Beat | None, watch: Callable[[], str | None], listener: int) -> None:
        self.why = ""
        self._beat, self._watch = beat, watch
        self._poll = select.poll()
        self._poll.register(listener, 0)

    def told(self, number: int, _frame: object) -> None:
        """Take a signal: it means off."""
        self.why = self.why or f"told to stop ({signal.Signals(number).name})"

    def go_on(self) -> bool:
        """Beat, and say whether the drill may go on; `why` says why not."""
        self.why = self.why or self._why_not()
        if self._beat is not None and not self.why:
            self._beat.send()
        return not self.why

    def _why_not(self) -> str:
        if (why := self._watch()) is not None:
            return why
        gone = any(flags & (select.POLLERR | select.POLLNVAL) for _, flags in self._poll.poll(0))
        return "whoever started the drill has gone" if gone else ""


class DrilledOven:
    """The oven of a drill as the off line meets it (see `off_order.Held`)."""

    def __init__(self, oven: Oven, clock: Clock, leash: Leash) -> None:
        self._oven, self._clock, self._leash = oven, clock, leash
        self._cut, self._lock = threading.Event(), threading.Lock()
        self._ordered = False
        self._oven_io: WiredIO | None = None
        self.alive = True

    @contextlib.contextmanager
    def on_the_line(self, oven_file: str) -> Iterator[None]:
        """Listen for off by the oven's device. Raises RunRefused where another process drives it."""
        orders = OffOrders({self._oven.name: self}, Buses(self._clock), self._clock)
        orders.listen(None)
        with contextlib.ExitStack() as held:
            held.callback(orders.close)
            held.enter_context(orders.soon(lambda: orders.starting(oven_file)))
            held.callback(self._linger)
            yield

    def _linger(self) -> None:
        """Whoever has ordered off gets his answer from here."""
        if self._ordered:
            self._clock.pause(ANSWERED_S)

    def off(self, why: str) -> None:
        """End the drill: it cuts the heat itself, at once."""
        self._ordered = True
        self._leash.why = self._leash.why or why

    def wait_cut(self, real_s: float) -> bool:
        """Wait until the drill writes nothing but off."""
        return self._cut.wait(max(0.0, real_s))

    def read_off(self) -> bool | None:
        """Send off and read it back, once the drill is over."""
        return self._oven_io.off() if self._cut.is_set() and self._oven_io is not None else False

    def look_s(self) -> float | None:
        """Return how long `read_off` takes at the board's pace, None before it has answered."""
        oven_io = self._oven_io
        return None if oven_io is None else oven_io.look_s()

    @contextlib.contextmanager
    def kept(self) -> Iterator[None]:
        """Have I/O of its own for the reads in a row: opening the port for each took longer than they."""
        with self._lock:
            self._oven_io = open_oven_io(self._oven, self._clock)
            try:
                yield
            finally:
                self._oven_io.close()
                self._oven_io = None

    def leave(self) -> bool:
        """The drill is over: off once more; the mark goes only when that was read back."""
        self._cut.set()
        off = self._send_off()
        if off:
            running_ovens.clear(self._oven.name)
        return off

    def _send_off(self) -> bool:
        with self._lock:
            oven_io = open_oven_io(self._oven, self._clock)
            try:
                return oven_io.off()
            finally:
                oven_io.close()
