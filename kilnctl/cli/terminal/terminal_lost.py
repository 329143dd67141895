"""A screen whose terminal has gone must go too: it would spin on a dead line for ever.

Most terminals tell by a signal; one that is not the controlling terminal (a closed pseudo-terminal) does not.
Leaving at once is safe: the heat belongs to the controller, and no screen holds anything of it.
"""

import os
import select
import stat
import threading

_LOOK_MS = 1000
_GONE = select.POLLHUP | select.POLLERR | select.POLLNVAL


def leave_with_terminal(fd: int = 0) -> None:
    """End this process a second or two after the terminal, or the browser's pipe, at `fd` was closed."""
    if os.isatty(fd) or stat.S_ISFIFO(os.fstat(fd).st_mode):
        threading.Thread(target=_wait, args=(fd,), name="terminal", daemon=True).start()


def _wait(fd: int) -> None:
    line = select.poll()
    line.register(fd, 0)  # a hang-up is told without being asked for, and keys are left to the screen
    while not any(event & _GONE for _, event in line.poll(_LOOK_MS)):
        continue
    # Not sys.exit: the screen's own thread hangs in a write that nobody will ever take.
    os._exit(1)
