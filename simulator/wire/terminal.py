"""A pseudo-terminal with a name of our own, raw, 8N1, its far end held open."""

import contextlib
import fcntl
import os
import select
import stat
import tty
from collections.abc import Sequence
from pathlib import Path


class Terminal:
    """The simulator's end of a serial line; clients open `link`.

    Parity and seven bits do not exist on a pseudo-terminal, so it is always 8N1. The far end stays open
    here too: otherwise every close by a client would end in an I/O error. A second simulator is kept off the
    link by a locked file beside it, which holds the number of the process and its speed.
    """

    def __init__(self, link: Path, speed: float = 1.0) -> None:
        """Open a pseudo-terminal and point `link` at it.

        Raises FileExistsError for anything but a link, BlockingIOError when another simulator has it.
        """
        self.link = link
        self._lock = _locked(link, speed)
        self.master, self._held = os.openpty()
        tty.setraw(self._held)
        os.set_blocking(self.master, False)
        self._name = os.ttyname(self._held)
        try:
            _point(link, self._name)
        except OSError:
            self._release()
            raise

    def read(self) -> bytes:
        """Return what has come, perhaps nothing."""
        try:
            return os.read(self.master, 4096)
        except BlockingIOError:
            return b""

    def write(self, data: bytes) -> None:
        """Send bytes; what does not fit because nobody reads is lost, as on a wire."""
        with contextlib.suppress(BlockingIOError):
            os.write(self.master, data)

    def close(self) -> None:
        """Take the line away, as a pulled plug does, and remove the link if it is still ours."""
        with contextlib.suppress(OSError):
            if os.readlink(self.link) == self._name:
                self.link.unlink()
        self._release()

    def _release(self) -> None:
        os.close(self.master)
        os.close(self._held)
        with contextlib.suppress(OSError):
            _lock_path(self.link).unlink()
        os.close(self._lock)


def waiting(terminals: Sequence[Terminal], wait_s: float) -> list[Terminal]:
    """Return the terminals that bytes have come to within wait_s real seconds."""
    ready = select.select([t.master for t in terminals], [], [], max(0.0, wait_s))[0]
    return [t for t in terminals if t.master in ready]


def _lock_path(link: Path) -> Path:
    return link.with_name(f"{link.name}.simulator")


def _locked(link: Path, speed: float) -> int:
    if not link.parent.is_dir():
        raise FileNotFoundError(f"there is no folder {link.parent}")
    lock = os.open(_lock_path(link), os.O_RDWR | os.O_CREAT, 0o644)
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        who = os.read(lock, 20).decode("ascii", errors="replace").partition(" ")[0] or "?"
        os.close(lock)
        raise BlockingIOError(
            f"{link} is the line of the simulator in process {who}; end that first, or choose another path"
        ) from None
    os.truncate(lock, 0)
    os.write(lock, f"{os.getpid()} {speed:g}".encode())
    return lock


def _point(link: Path, target: str) -> None:
    with contextlib.suppress(FileNotFoundError):
        if not stat.S_ISLNK(link.lstat().st_mode):
            raise FileExistsError(f"{link} exists and is not a link of a simulator; choose another path")
        link.unlink()
    link.symlink_to(target)
