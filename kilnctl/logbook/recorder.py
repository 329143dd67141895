"""What the tick speaks to: it takes samples and events and never waits, blocks or raises."""

import logging
import threading
from collections import deque
from functools import partial
from typing import Any

from kilnctl.clock import Clock
from kilnctl.errors import RecordError
from kilnctl.logbook.entries import Typed, add
from kilnctl.logbook.records import Event
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Logbook

# Ten hours at one sample a second wait in memory (about 15 MB) while the disk is full or the file locked.
MOST_WAITING = 36_000
# In virtual time this many samples make one commit; measured 2 microseconds a sample.
BATCH = 600
# Commits at least this far apart (real seconds): a scaled heat gathers samples, a real one is not delayed.
PAUSE_S = 0.2
RETRY_S = 1.0
FINISH_S = 5.0
ENTRY_TRIES = 20  # of an entry beside a run that has ended; each waits for a lock by itself
_log = logging.getLogger(__name__)


class Recorder:
    """Records one run. `threaded` commits in a thread of its own, else inline and in batches.

    A sample is acknowledged when its commit has returned. `trouble` says why nothing can be written now.
    """

    def __init__(self, book: Logbook, run: int, clock: Clock, threaded: bool = True) -> None:
        self.book, self.run, self.clock = book, run, clock
        self.acknowledged = 0
        self.lost = 0
        self.trouble = ""
        self.seal: bytes | None = None
        self._start_s = clock.now_s()
        self._samples: deque[Sample] = deque()
        self._events: deque[Event] = deque()
        self._wake = threading.Condition()
        self._closing = False
        self._hurry = False
        self._idle = True
        self._thread = (
            threading.Thread(target=self._main, name=f"recorder-{run}", daemon=True) if threaded else None
        )
        if self._thread is not None:
            self._thread.start()

    def start_clock(self) -> None:
        """Let the run's time begin now."""
        self._start_s = self.clock.now_s()

    @property
    def complete(self) -> bool:
        """True while nothing has been lost and everything can be written.

        It becomes True again when a lock is gone and all that waited has been written.
        """
        return self.lost == 0 and not self.trouble

    def sample(self, sample: Sample) -> None:
        """Take a sample. Counts it as lost when the memory for waiting samples is full."""
        if len(self._samples) >= MOST_WAITING:
            self.lost += 1
        elif self._thread is not None:
            self._put(self._samples, sample)
        else:
            self._samples.append(sample)
            if len(self._samples) % BATCH == 0:
                self._commit()

    def event(self, kind: str, text: str, /, **data: Any) -> None:
        """Take an event; it is stamped with the run's own seconds and the wall time."""
        now_s = self.clock.now_s() - self._start_s
        event = Event(round(now_s, 3), self.clock.utc_s(), kind, text, _plain(data))
        self._put(self._events, event)

    def flush(self, wait_s: float = FINISH_S) -> bool:
        """Write what waits; return True when all of it is durable. Waits at most `wait_s` real seconds."""
        if self._thread is None:
            return self._commit()
        with self._wake:
            self._hurry = True  # no pause before the last words: somebody who asked for off waits for them
            self._wake.notify_all()
            return self._wake.wait_for(lambda: self._idle and not self._waiting(), wait_s)

    def finish(self, outcome: str, summary: dict[str, Any]) -> None:
        """Write the end of the run and stop. Never raises: `complete` and `trouble` say how it went."""
        self.flush()
        with self._wake:
            self._closing = True
            self._wake.notify_all()
        if self._thread is not None:
            self._thread.join(FINISH_S)
        if self._waiting() and not self._commit():
            self.lost += len(self._samples)
            self.trouble = self.trouble or "the last samples could not be written"
            return
        try:
            self.seal = self.book.finish(self.run, outcome, _plain(summary), self.clock.utc_s(), self.lost)
        except RecordError as e:
            self.trouble = str(e)

    @property
    def ended(self) -> bool:
        """True once the end of the run was written, or tried: nothing more can be added to it."""
        return self._closing

    def keep(self, entry: Typed) -> None:
        """Write an entry of its own, for what is found after the end. Never raises, and waits for nothing."""
        if self._thread is None:
            self._enter(entry)
        else:
            threading.Thread(target=self._enter, args=(entry,), daemon=True).start()

    def _enter(self, entry: Typed) -> None:
        for _ in range(ENTRY_TRIES):
            try:
                add(self.book, entry, self.clock.utc().timestamp(), run=self.run)
                return
            except RecordError as e:
                self.trouble = str(e)
                self.clock.pause(RETRY_S)

    def _waiting(self) -> bool:
        return bool(self._samples or self._events)

    def _put(self, waiting: deque[Any], item: Any) -> None:
        with self._wake:
            waiting.append(item)
            self._wake.notify_all()

    def _main(self) -> None:
        while not self._closing:
            with self._wake:
                self._idle = True
                self._hurry = self._hurry and self._waiting()
                self._wake.notify_all()
                self._wake.wait_for(lambda: self._waiting() or self._closing)
                self._idle = False
            self._pause(self._commit())

    def _pause(self, good: bool) -> None:
        """Let more samples gather before the next commit; after a failed one wait longer, in no hurry."""
        with self._wake:
            pause_s = PAUSE_S if good else RETRY_S
            self._wake.wait_for(partial(self._rested, good), pause_s)

    def _rested(self, good: bool) -> bool:
        return self._closing or (good and self._hurry)

    def _commit(self) -> bool:
        """Write everything that waits in one transaction; keep it where that fails."""
        with self._wake:
            samples, events = list(self._samples), list(self._events)
        try:
            if samples or events:
                self.book.append(self.run, samples, events)
        except Exception as e:  # whatever goes wrong here must not reach the tick, and is told
            if not isinstance(e, RecordError):
                _log.exception("recording failed")
            self.trouble = str(e) or type(e).__name__
            return False
        for _ in samples:
            self._samples.popleft()
        for _ in events:
            self._events.popleft()
        self.acknowledged += len(samples)
        self.trouble = ""
        return True


def _plain(value: Any) -> Any:
    """Return data that JSON can carry: tuples as lists, NaN and infinities as None, the rest as text."""
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, float):
        return float(value) if abs(value) < float("inf") else None
    return value if value is None or isinstance(value, bool | int | str) else str(value)
