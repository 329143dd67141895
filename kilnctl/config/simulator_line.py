"""Is the simulator behind a port still there? Its line is a link to a pseudo-terminal, which outlives a kill.

The system gives the number of a dead pseudo-terminal to the next one: whoever follows a stale link writes
into a stranger's terminal.
"""

import fcntl
import os


def gone(path: str) -> bool:
    """Return whether a path is the line of a simulator that has died: its lock beside the link is free."""
    try:
        fd = os.open(f"{path}.simulator", os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW)
    except (OSError, ValueError):
        return False  # no simulator made this path
    try:
        fcntl.flock(fd, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(fd)
    return os.path.islink(path)
