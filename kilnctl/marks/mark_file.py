"""The small files of a home as they may be found: a pipe, a folder, a link, an endless file in their place.

Nobody who looks before an act may hang, follow a link to somewhere else, or take in gigabytes.
"""

import contextlib
import os
import stat
from errno import EINVAL
from pathlib import Path

LARGEST = 1_000_000  # bytes


def read(path: Path, follow: bool = False) -> bytes:
    """Return what is in a small file. Raises OSError for anything else; `follow`: a link is no fault."""
    fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK | (0 if follow else os.O_NOFOLLOW))
    try:
        found = os.fstat(fd)
        if not stat.S_ISREG(found.st_mode) or found.st_size > LARGEST:
            raise OSError(EINVAL, "this is no small file", str(path))
        return os.read(fd, LARGEST)
    finally:
        os.close(fd)


def text(path: Path) -> str:
    """Return the text of a small file. Raises OSError, and ValueError for what is no text."""
    return read(path).decode("utf-8")


def draft(path: Path) -> int:
    """Return a new file beside a path, open for writing, to be put in its place. Raises OSError."""
    beside = path_of_draft(path)
    with contextlib.suppress(FileNotFoundError):
        beside.unlink()
    return os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)


def path_of_draft(path: Path) -> Path:
    """Return where the draft of a file lies."""
    return path.with_suffix(f".draft{os.getpid()}")


def put(path: Path, words: str) -> None:
    """Replace a file, whole or not at all; not durable before the disk likes. Raises OSError."""
    with open(draft(path), "w", encoding="utf-8") as file:
        file.write(words)
    path_of_draft(path).replace(path)
