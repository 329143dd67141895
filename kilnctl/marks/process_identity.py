"""Who a process is, so that nobody else is taken for it: by number, start and start of the machine.

A process number alone comes back after a while; with the time of its start and the name that the system gave
to this start of the machine it does not. Source of the fields: Linux, proc_pid_stat(5).
"""

import contextlib
import fcntl
import os
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from kilnctl.clock import machine_start


class Owner(NamedTuple):
    """One process of one start of the machine. `started` in clock ticks since then, as the system counts."""

    pid: int
    started: int
    boot: str

    @property
    def lives(self) -> bool:
        """True while this very process runs."""
        return self.boot == machine_start() and self.started != 0 and started(self.pid) == self.started


def owner_of(pid: int) -> Owner:
    """Return a process as it is now; `started` is 0 where it is gone."""
    return Owner(pid, started(pid), machine_start())


def started(pid: int) -> int:
    """Return when a process was started, in clock ticks since the machine's start; 0 where it is gone."""
    found = _stat(pid)
    return int(found[19]) if len(found) > 19 and found[0] != "Z" else 0


def parent(pid: int) -> int:
    """Return the parent of a process, 0 where it is gone."""
    found = _stat(pid)
    return int(found[1]) if len(found) > 1 else 0


def stopped(pid: int) -> bool:
    """Return whether a process is stopped (SIGSTOP, a debugger): it answers nothing and hears no SIGTERM."""
    return _stat(pid)[:1] in (["T"], ["t"])


def _stat(pid: int) -> list[str]:
    """Return the fields of /proc/PID/stat from the third on: the second, a name, may contain anything."""
    try:
        return (
            Path(f"/proc/{int(pid)}/stat")
            .read_text(encoding="utf-8", errors="replace")
            .rpartition(")")[2]
            .split()
        )
    except OSError:
        return []


def has_open(pid: int, path: Path | str) -> bool:
    """Return whether a process has a file or device open, as far as this user may see it."""
    real = os.path.realpath(path)
    with contextlib.suppress(OSError):
        for link in Path(f"/proc/{int(pid)}/fd").iterdir():
            with contextlib.suppress(OSError):
                if str(link.readlink()) == real:
                    return True
    return False


def locked(path: Path) -> bool:
    """Return whether somebody holds the lock (flock) on a file; a file that is not there nobody holds."""
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    except FileNotFoundError:
        return False
    except OSError:
        return True  # there is something that cannot be asked: nobody may take it for free
    try:
        fcntl.flock(fd, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    except OSError:
        return False
    finally:
        os.close(fd)
    return False


def drill_lock(oven: str) -> str:
    """Return the name of the lock that the supervisor of an oven's drill holds."""
    return f"drill-{quote(oven, safe=' ')}.lock"


def lock_holder(path: Path) -> int | None:
    """Return the process that a lock file names, if it really has that file open; None otherwise."""
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    except OSError:
        return None
    try:
        pid = int(os.read(fd, 20).decode("ascii", errors="replace").strip() or 0)
    except (OSError, ValueError):
        return None
    finally:
        os.close(fd)
    return pid if pid > 0 and has_open(pid, path) else None
