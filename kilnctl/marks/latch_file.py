"""The file of a latch: of fixed size, there before the heat, overwritten in place in two slots by turns.

So a trip needs no room on a full disk, and a write that a power cut tears leaves the slot before it. Each
entry carries a number and a checksum; what they mean for the latch is said in `protocol.latch_word`.
"""

import contextlib
import hashlib
import json
import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kilnctl.marks import durable_write
from kilnctl.marks.protocol import DAMAGED, EMPTY, LatchWord, Slot

SLOT_SIZE = 4096  # bytes, a page and a sector: no write touches the other slot
SIZE = 2 * SLOT_SIZE
ROOM = SLOT_SIZE - 100  # bytes for an entry


class TooLong(OSError):
    """An entry has more words than a slot has room for."""


@dataclass(frozen=True, slots=True)
class LatchEntry:
    """What one slot holds: how it reads, and its data where it is whole."""

    slot: Slot
    data: dict[str, Any]


def read(path: Path) -> tuple[LatchEntry, ...] | None:
    """Return both slots, None where there is no file. What cannot be read at all counts as damaged."""
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    except FileNotFoundError:
        return None
    except OSError:
        return (LatchEntry(DAMAGED, {}),)
    try:
        if not stat.S_ISREG(os.fstat(fd).st_mode) or os.fstat(fd).st_size != SIZE:
            return (LatchEntry(DAMAGED, {}),)
        return tuple(_entry(os.pread(fd, SLOT_SIZE, at)) for at in (0, SLOT_SIZE))
    except OSError:
        return (LatchEntry(DAMAGED, {}),)
    finally:
        os.close(fd)


def write(path: Path, data: dict[str, Any]) -> None:
    """Put an entry into the slot that is not the newest, durable when this returns; made where it is missing.

    Raises OSError: no room, or the path does not lead to the file that was written.
    """
    try:
        fd = os.open(path, os.O_RDWR | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
    except FileNotFoundError:
        renew(path, data)
        return
    try:
        if os.fstat(fd).st_size != SIZE:
            renew(path, data)
            return
        write_open(fd, data)
        if not is_still_at(path, fd):
            raise OSError(0, "it was replaced meanwhile")
    finally:
        os.close(fd)


def write_open(fd: int, data: dict[str, Any]) -> None:
    """Put an entry into a file that is open already, wherever it lies by now. Raises OSError."""
    slots = [_entry(os.pread(fd, SLOT_SIZE, at)).slot for at in (0, SLOT_SIZE)]
    newest = max(slots, key=lambda slot: slot.number)
    os.pwrite(fd, _bytes(newest.number + 1, data), 0 if newest is slots[1] else SLOT_SIZE)
    os.fsync(fd)


def renew(path: Path, data: dict[str, Any]) -> None:
    """Make the file in its full size with this one entry, whatever lay there. Raises OSError without room."""
    draft = path.with_suffix(".draft")
    with contextlib.suppress(FileNotFoundError):
        draft.unlink()
    fd = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    try:
        os.pwrite(fd, _bytes(1, data).ljust(SIZE, b"\0"), 0)  # all of it: the room is taken now
        os.fsync(fd)
    finally:
        os.close(fd)
    draft.replace(path)
    durable_write.settle(path.parent)


def is_still_at(path: Path, fd: int) -> bool:
    """Return whether a path still leads to the file that is open."""
    try:
        found, own = os.lstat(path), os.fstat(fd)
    except OSError:
        return False
    return (found.st_dev, found.st_ino) == (own.st_dev, own.st_ino)


def _bytes(number: int, data: dict[str, Any]) -> bytes:
    text = json.dumps({**data, "number": number}, ensure_ascii=False).encode(errors="replace")
    if len(text) > ROOM:
        raise TooLong(0, "the entry is too long")
    return (hashlib.sha256(text).hexdigest().encode() + b"\n" + text + b"\n").ljust(SLOT_SIZE)


def _entry(raw: bytes) -> LatchEntry:
    if not raw.strip(b"\0"):
        return LatchEntry(EMPTY, {})
    check, _, text = raw.rstrip().partition(b"\n")
    try:
        data = json.loads(text)
        whole = check == hashlib.sha256(text).hexdigest().encode()
        slot = Slot("whole", int(data.pop("number")), LatchWord(data["state"]))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return LatchEntry(DAMAGED, {})
    return LatchEntry(slot, data) if whole else LatchEntry(DAMAGED, {})
