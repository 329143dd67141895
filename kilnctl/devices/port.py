"""Opening a serial port, and saying in one line why it cannot be opened."""

import contextlib
import errno
import grp
import os
import sys
import termios
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import serial

from kilnctl.config.port_path import is_network
from kilnctl.config.simulator_line import gone
from kilnctl.errors import PortLost

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Port

GUARDED = "linux"  # locks, names of processes and who asks for off are what its kernel says
PTY_MAJORS = range(136, 144)  # Linux, admin-guide/devices.txt: Unix98 pseudo-terminal slaves
WRITE_TIMEOUT_S = 0.5  # a port that does not take a request of a few bytes in this time is stuck


class Line(Protocol):
    """What the bus needs of a serial port; fakes in tests have the same names."""

    timeout: float | None
    is_open: bool

    @property
    def in_waiting(self) -> int:
        """Bytes received and not yet read."""
        ...

    def read(self, size: int = 1) -> bytes:
        """Read up to `size` bytes within the timeout."""
        ...

    def write(self, data: bytes, /) -> int | None:
        """Send."""
        ...

    def reset_input_buffer(self) -> None:
        """Throw away what was received."""
        ...

    def close(self) -> None:
        """Give the port back."""
        ...


def open_line(port: "Port", exclusive: bool) -> Line:
    """Open a port. Raises PortLost with one line that says what to do."""
    if sys.platform != GUARDED:
        raise PortLost(
            f"{port.path}: kilnctl drives ovens on Linux only: the safeguards of a heat rely on it"
        )
    if is_network(port.path):
        from kilnctl.devices.network import open_network  # only where an oven is on a network

        return open_network(port, exclusive)
    if gone(port.path):
        raise PortLost(f"{port.path}: the simulator of this line has gone; start `kilnctl simulate` again")
    try:
        return serial.Serial(
            port.path,
            baudrate=port.baud,
            parity={"none": "N", "even": "E", "odd": "O"}[port.parity],
            stopbits=port.stop_bits,
            bytesize=port.data_bits,
            timeout=port.timeout_s,
            write_timeout=WRITE_TIMEOUT_S,
            exclusive=exclusive or None,
        )
    except (OSError, termios.error, ValueError, OverflowError) as e:
        raise PortLost(why_not(port, e)) from None


def why_not(port: "Port", e: Exception) -> str:
    """Return one line: what is wrong with the port and what to do about it."""
    number = getattr(e, "errno", None) or (e.args[0] if e.args else None)
    match number:
        case errno.ENOENT | errno.ENXIO | errno.ENODEV:
            return f"{port.path}: there is no such port; plug the adapter in, or look in /dev/serial/by-id"
        case errno.EACCES | errno.EPERM:
            return f"{port.path}: not permitted; {_join_group(port.path)}"
        case errno.EAGAIN | errno.EBUSY:
            return f"{port.path}: in use by {holder(port.path)}; stop that first"
        case errno.EINVAL:
            asked = f"{port.baud} baud, parity {port.parity}, {port.stop_bits} stop bits"
            return (
                f"{port.path}: the port refuses {asked}; choose settings that device and adapter both support"
            )
        case errno.EIO:
            return f"{port.path}: the adapter does not answer; unplug it and plug it in again"
    if isinstance(e, ValueError | OverflowError):
        return (
            f"{port.path}: the port refuses {port.baud} baud; choose one that device and adapter both support"
        )
    return f"{port.path}: cannot be opened: {e}"


def _join_group(path: str) -> str:
    try:
        group = grp.getgrgid(os.stat(path).st_gid).gr_name
    except (OSError, KeyError):
        return "ask the owner of this machine for access to it"
    return f'join its group with "sudo usermod -aG {group} $USER", then log in again'


def holder(path: str) -> str:
    """Return who has the port open, as far as this user may see it."""
    real = os.path.realpath(path)
    owners = [process.name for process in Path("/proc").glob("[0-9]*") if _has_open(process, real)]
    for owner in sorted(owners, key=_locked_by(real).__ne__):  # others may only have inherited it
        with contextlib.suppress(OSError):
            if owner != str(os.getpid()):
                name = Path(f"/proc/{owner}/comm").read_text(encoding="utf-8").strip()
                return f"process {owner} ({name})"
    return "another program (its owner hides it from this user)"


def _has_open(process: Path, real: str) -> bool:
    """Return whether a process of /proc has a file open; it may end, or close the file, meanwhile."""
    with contextlib.suppress(OSError):
        for link in (process / "fd").iterdir():
            with contextlib.suppress(OSError):
                if str(link.readlink()) == real:
                    return True
    return False


def _locked_by(real: str) -> str:
    """Return the number of the process that has the lock on a file, as /proc/locks tells (proc(5)), or ""."""
    try:
        at, lines = os.stat(real), Path("/proc/locks").read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    place = f"{os.major(at.st_dev):02x}:{os.minor(at.st_dev):02x}:{at.st_ino}"
    locks = (line.split() for line in lines)
    return next((words[4] for words in locks if words[1:2] == ["FLOCK"] and words[5] == place), "")


def is_pseudo_terminal(path: str) -> bool:
    """True when the port is the slave end of a pseudo-terminal, so no wire."""
    try:
        return os.major(os.stat(path).st_rdev) in PTY_MAJORS
    except OSError:
        return False
