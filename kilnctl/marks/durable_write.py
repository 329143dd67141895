"""Writing to disk so that it is there after a power cut: whole, or as it was before."""

import os
from pathlib import Path
from typing import TextIO


def write(path: Path, text: str) -> None:
    """Replace a file, durable when this returns. Raises OSError."""
    draft = path.with_suffix(".draft")
    with draft.open("w", encoding="utf-8") as file:
        _put(file, text)
    draft.replace(path)
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
