"""Is the simulator behind a port still there, and how fast is it?

Its line is a link to a pseudo-terminal, which outlives a kill. The system gives the number of a dead
pseudo-terminal to the next one: whoever follows a stale link writes into a stranger's terminal.
"""

import fcntl
import os


def gone(path: str) -> bool:
    """Return whether a path is the line of a simulator that has died: its lock beside the link is free."""
    lives, _ = _lock_beside(path)
    return lives is False and os.path.islink(path)


def told_speed(path: str) -> float | None:
    """Return the speed that a living simulator has written beside its line, None where nobody has.

    Also while somebody else has the port, as a controller has that watches an oven after its heat.
    """
    lives, said = _lock_beside(path)
    try:
        return float(said.split()[1]) if lives else None
    except (IndexError, ValueError):
        return None


def _lock_beside(path: str) -> tuple[bool | None, str]:
    """Return whether the lock beside a line is held, None where there is none, and what stands in it."""
    try:
        fd = os.open(f"{path}.simulator", os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW)
    except (OSError, ValueError):
        return None, ""  # no simulator made this path
    try:
        fcntl.flock(fd, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError:
        return True, os.read(fd, 40).decode("ascii", errors="replace")
    finally:
        os.close(fd)
    return False, ""
