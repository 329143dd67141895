"""Tell whoever holds the ovens of a home to stop, and wait until he has gone: who hears nothing is killed."""

import contextlib
import os
import signal
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from kilnctl.clock import Clock
from kilnctl.marks import process_identity
from kilnctl.processes import off_line

STOP_S = 5.0  # a supervisor that is told to stop has cut the heat and gone by then
KILLED_S = 1.0  # who is killed has gone by then
BESIDE_S = 2.0  # who has not gone by then may never go: off is sent beside him while he is waited for
LOOK_S = 0.02


class Stopping:
    """Ends the holders of locks; `names` are those by which the controller or drill of each is found."""

    def __init__(self, names: Mapping[Path, Sequence[str]], clock: Clock) -> None:
        self._names, self._clock = names, clock

    def stop(self, locks: Iterable[Path], beside: Callable[[], object]) -> None:
        """Tell them, and wait; `beside` is called once where that takes long."""
        locks, told_s, is_beside, killed = list(locks), self._clock.real_s(), False, False
        for lock in locks:
            self._tell(lock)
        while any(process_identity.locked(lock) for lock in locks):
            waited_s = self._clock.real_s() - told_s
            if waited_s > STOP_S + KILLED_S:
                break
            if waited_s > STOP_S and not killed:
                killed = True
                self._kill_left_alone(locks)
            if waited_s > BESIDE_S and not is_beside:
                is_beside = True
                beside()
            self._clock.pause(LOOK_S)

    def _tell(self, lock: Path) -> None:
        """Tell the holder of a lock to stop; kill who is stopped (SIGSTOP) and hears nothing else.

        A stopped supervisor watches nothing. Its controller, or drill, goes off with it, or is killed too.
        """
        holder = process_identity.lock_holder(lock)
        if holder is not None and not process_identity.stopped(holder):
            os.kill(holder, signal.SIGTERM)
            return
        if holder is not None:
            os.kill(holder, signal.SIGKILL)
        if (left_alone := self._left_alone(lock)) is not None:
            stopped = process_identity.stopped(left_alone)
            os.kill(left_alone, signal.SIGKILL if stopped else signal.SIGTERM)

    def _left_alone(self, lock: Path) -> int | None:
        """Return the controller or drill that has the lock open: it was given it by its supervisor."""
        for name in self._names.get(lock, ()):
            peer = off_line.peer_at(name)
            if peer is not None and process_identity.has_open(peer.pid, lock):
                return peer.pid
        return None

    def _kill_left_alone(self, locks: Iterable[Path]) -> None:
        """Kill a controller or drill without a supervisor that has not ended: nobody else cuts its heat."""
        for lock in locks:
            if process_identity.lock_holder(lock) is None and (pid := self._left_alone(lock)) is not None:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
