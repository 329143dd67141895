"""One walk an oven at a time: a lock that dies with the program that holds it."""

import contextlib
import fcntl
import os
from collections.abc import Iterator
from urllib.parse import quote

from kilnctl.config import home
from kilnctl.errors import RunRefused


@contextlib.contextmanager
def alone_with(oven: str) -> Iterator[None]:
    """Hold the walk of an oven. Raises RunRefused where another terminal does."""
    fd = _lock(oven)
    if fd is None:
        raise RunRefused(f'"{oven}" is being set up at another terminal')
    try:
        yield
    finally:
        os.close(fd)


def busy(oven: str) -> bool:
    """Return whether an oven is being set up at another terminal."""
    fd = _lock(oven)
    if fd is not None:
        os.close(fd)
    return fd is None


def _lock(oven: str) -> int | None:
    """Return the lock's descriptor, None where somebody else holds it."""
    flags = os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW
    fd = os.open(home.home() / f"set-up-{quote(oven, safe=' ')}.lock", flags, 0o600)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(fd)
        return None
    return fd
