"""A pseudo-terminal with a name of our own, raw, 8N1, its far end held open."""

import contextlib
import os
import select
import stat
import tty
from pathlib import Path


class Terminal:
    """The simulator's end of a serial line; clients open `link`.

    Parity and seven bits do not exist on a pseudo-terminal, so it is always 8N1. The far end stays open
    here too: otherwise every close by a client would end in an I/O error.
    """

    def __init__(self, link: Path) -> None:
        """Open a pseudo-terminal and point `link` at it. Raises FileExistsError for anything but a link."""
        self.master, self._held = os.openpty()
        tty.setraw(self._held)
        os.set_blocking(self.master, False)
        self.link = link
        self._name = os.ttyname(self._held)
        try:
            _point(link, self._name)
        except OSError:
            self._release()
            raise

    def read(self, wait_s: float) -> bytes:
        """Return what has come within wait_s real seconds, perhaps nothing."""
        if not select.select([self.master], [], [], max(0.0, wait_s))[0]:
            return b""
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


def _point(link: Path, target: str) -> None:
    if not link.parent.is_dir():
        raise FileNotFoundError(f"there is no folder {link.parent}")
    with contextlib.suppress(FileNotFoundError):
        if not stat.S_ISLNK(link.lstat().st_mode):
            raise FileExistsError(f"{link} exists and is not a link of a simulator; choose another path")
        link.unlink()
    link.symlink_to(target)
