"""Writing to disk so that it is there after a power cut: whole, or as it was before."""

import os
from pathlib import Path
from typing import TextIO

from kilnctl.marks import mark_file


def write(path: Path, text: str) -> None:
    """Replace a file, durable when this returns. Raises OSError."""
    with open(mark_file.draft(path), "w", encoding="utf-8") as file:
        _put(file, text)
    mark_file.path_of_draft(path).replace(path)
    settle(path.parent)


def append(path: Path, line: str) -> None:
    """Add a line to a file, durable when this returns. Raises OSError."""
    with path.open("a", encoding="utf-8") as file:
        _put(file, line + "\n")


def settle(folder: Path) -> None:
    """Make what was added to a folder, or taken from it, durable. Raises OSError."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _put(file: TextIO, text: str) -> None:
    file.write(text)
    file.flush()
    os.fsync(file.fileno())
