"""The off stamp: `off` first leaves a fact on disk. Every writer looks at it before heat and in each tick.

Two places: the folder `off` of the home (all ovens, or one of them by name), and one of the whole machine by
the device, so that an `off` under another home or another user is obeyed too. There anybody may turn heat
off and nobody on: a stamp only ever forbids. No clock is asked: a start carries what it saw of the stamps
when a person asked for it (`seen`), and any stamp of its oven that looks different now means that an off
came later.
"""

import contextlib
import hashlib
import os
import stat
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeGuard
from urllib.parse import quote

from kilnctl.clock import RealClock, machine_start
from kilnctl.config import port_path
from kilnctl.errors import cut_short

# Name of a stamp -> how it looked. Goes through JSON. "boot" is the start of the machine that it belongs to.
Token = dict[str, str]

MACHINE = Path("/dev/shm" if Path("/dev/shm").is_dir() else "/tmp") / "kilnctl-off"  # the same for every user
ALL = "all"
SIZE = 256  # bytes, always: overwriting takes no room on a full disk
UNREADABLE = "unreadable"


class Outlet(NamedTuple):
    """Where an oven's heat is switched: a port, and the place behind it (two ovens may share a port)."""

    port: str
    place: str = ""


def outlets(oven_file: str) -> tuple[Outlet, ...]:
    """Return where an oven file says that heat is switched, contactor included; all its ports first.

    Reads no more of the file than it must: also one that is refused for another reason names its ports.
    """
    try:
        return outlets_in(tomllib.loads(oven_file))
    except (ValueError, RecursionError):
        return ()


def outlets_in(data: Mapping[str, Any]) -> tuple[Outlet, ...]:
    """Return the same of a file that was read already."""
    try:
        ports = {str(name): port_path.meant(str(port["path"])) for name, port in data["port"].items()}
    except (ValueError, KeyError, TypeError, AttributeError):
        return ()
    found = []
    for output in ("heater", "contactor"):
        with contextlib.suppress(KeyError, TypeError, AttributeError):
            place = data["output"][output]
            device = data["device"][place["device"]]
            found.append(Outlet(ports[device["port"]], _place(device, place)))
    others = (Outlet(path) for path in ports.values() if path not in {outlet.port for outlet in found})
    return tuple(dict.fromkeys((*found, *others)))


def _place(device: Mapping[str, Any], place: Mapping[str, Any]) -> str:
    """Return a name for a place behind a port: address and register, or what is sent to a board with lines.

    Two text boards on one line may both call their field "heater".
    """
    words = (device.get("address", 0), place.get("table", "holding"), place.get("register", 0))
    if not (field := place.get("field")):
        return "-".join(str(word) for word in words)
    with contextlib.suppress(KeyError, TypeError):
        return str(device["tell"][field]["send"])
    return str(field)


def stamps_now(home: Path) -> Token:
    """Return how every stamp looks now: the first act of whatever may heat. Never raises."""
    found = {f"home/{name}": state for name, state in _folder(home / "off")}
    found |= {f"machine/{name}": state for name, state in _folder(MACHINE)}
    return {"boot": machine_start(), **found}


def leave(home: Path, oven: str | None, at: Iterable[Outlet], who: str) -> list[str]:
    """Stamp an off of one oven (None: of all, whole ports then); return what failed in words. Never raises.

    Of one oven only the places are stamped where it heats, where any can be read: its sensor's line may be
    another's too. One line of words for each place that could not be stamped; the other means of off follow
    all the same.
    """
    trouble = _stamp(home / "off", _home_name(oven), _asked_by(who), 0o700)
    at = tuple(at)
    heated = at if oven is None else tuple(outlet for outlet in at if outlet.place) or at
    places = ((key, "" if oven is None else outlet.place) for outlet in heated for key in keys(outlet.port))
    return [*([trouble] if trouble else []), *leave_at(places, who)]


def leave_at(places: Iterable[tuple[str, str]], who: str) -> list[str]:
    """Stamp an off by the devices alone: each by its key, with the place where a port is shared."""
    words = _asked_by(who)
    names = dict.fromkeys(_key_of(key, place) for key, place in places)
    troubles = [_stamp(MACHINE, name, words, 0o1777) for name in names if "/" not in name]
    return [trouble for trouble in dict.fromkeys(troubles) if trouble]


def _asked_by(who: str) -> str:
    return f"off was asked at {RealClock().utc().astimezone():%H:%M:%S} by {cut_short(who, 80)}"


def off_since(token: object, home: Path, oven: str, at: Sequence[Outlet]) -> str | None:
    """Return in words which off came after a start saw `token`, None where none did. Never raises.

    What is no token, or one of an earlier start of the machine, counts as an off that came later.
    """
    if not is_token(token):
        return "the start does not say which off it has seen; ask for it again"
    return StampWatch(token, home, oven, at)()


def is_token(token: object) -> TypeGuard[Mapping[str, str]]:
    """Return whether something from outside can be what `seen` gave during this start of the machine."""
    if not isinstance(token, Mapping) or token.get("boot") != machine_start():
        return False
    return all(isinstance(name, str) and isinstance(state, str) for name, state in token.items())


class StampWatch:
    """A writer's look at the stamps of its oven, once a tick: some calls of stat, nothing else."""

    def __init__(self, token: Mapping[str, str], home: Path, oven: str, at: Sequence[Outlet]) -> None:
        self.token, self._home, self._at = token, home, tuple(at)
        self._own = [(f"home/{name}", home / "off" / name) for name in (ALL, _home_name(oven))]

    def __call__(self) -> str | None:
        """Return in words which off came since, None where none did. Never raises."""
        for name, path in (*self._own, *self._of_machine()):
            state = _state_of(path)
            if state != self.token.get(name, "") or state == UNREADABLE:
                return _words(path)
        return None

    def anew(self) -> str | None:
        """Begin with the stamps of now, for a person who asks anew; return in words which off came since."""
        said, self.token = self(), stamps_now(self._home)
        return said

    def _of_machine(self) -> Iterator[tuple[str, Path]]:
        """Yield the stamps by device, found anew each time: a plug comes back under another number."""
        for outlet in self._at:
            for key in keys(outlet.port):
                for name in (key, _key_of(key, outlet.place)):
                    yield f"machine/{name}", MACHINE / name


def keys(port: str) -> tuple[str, ...]:
    """Return how the machine knows a port: by its path as written, and by the device if it is plugged in.

    An off stamps both: one that is taken away before a start has looked is told by the other.
    """
    path = "path-" + hashlib.sha256(_absolute(port).encode(errors="replace")).hexdigest()[:16]
    device = device_key(port)
    return (path, device) if device else (path,)


def _absolute(port: str) -> str:
    return port if port_path.is_network(port) else os.path.abspath(port)


def _key_of(key: str, place: str) -> str:
    return f"{key}.{quote(place, safe='')[:100]}" if place else key


def device_key(port: str) -> str:
    """Return the name of the device behind a path, whatever links lead there; empty where there is none."""
    if port_path.is_network(port):
        return f"device-{quote(port, safe='')}"
    try:
        found = os.stat(port)
    except (OSError, ValueError):
        return ""
    if not stat.S_ISCHR(found.st_mode):
        return ""
    return f"device-{os.major(found.st_rdev)}-{os.minor(found.st_rdev)}"


def _home_name(oven: str | None) -> str:
    return ALL if oven is None else "oven-" + quote(oven, safe=" ")[:200]


def _folder(folder: Path) -> Iterator[tuple[str, str]]:
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            yield entry.name, _state_of(Path(entry.path))


def _state_of(path: Path) -> str:
    """Return how a stamp looks: a name of its state on disk, empty where there is none."""
    try:
        found = os.lstat(path)
    except (FileNotFoundError, NotADirectoryError):
        return ""
    except (OSError, ValueError):
        return UNREADABLE
    return f"{found.st_ino}.{found.st_mtime_ns}.{found.st_size}"


def _words(path: Path) -> str:
    """Return what a stamp says, as far as it can be read."""
    with contextlib.suppress(OSError, ValueError):
        fd = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK)
        try:
            said = os.read(fd, SIZE).decode(errors="replace").strip(" \n\0")
        finally:
            os.close(fd)
        if said.startswith("off was asked"):
            return cut_short(said, 160)
    return "off was asked (its stamp cannot be read)"


def _stamp(folder: Path, name: str, words: str, mode: int) -> str:
    """Make a stamp look different from now on; return what failed, empty where nothing did."""
    path = folder / name
    before, trouble = _state_of(path), ""
    try:
        _make(folder, mode)
        _write(path, words)
    except (OSError, ValueError) as e:
        trouble = f"{path}: the off could not be left on disk: {getattr(e, 'strerror', None) or e}"
    if _state_of(path) == before:  # the disk is full, or two offs fell into one tick of its clock
        trouble = _touch(path, trouble)
    return trouble if _state_of(path) == before else ""


def _make(folder: Path, mode: int) -> None:
    with contextlib.suppress(FileExistsError):
        folder.mkdir()
        folder.chmod(mode)  # whatever the umask says


def _write(path: Path, words: str) -> None:
    """Overwrite in place, or make. In two steps: O_CREAT on another's file is refused in a sticky folder.

    Source: Linux kernel, admin-guide/sysctl/fs.rst, protected_regular.
    """
    flags = os.O_WRONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK
    try:
        fd = os.open(path, flags)
    except FileNotFoundError:
        fd = os.open(path, flags | os.O_CREAT | os.O_EXCL, 0o666)
        with contextlib.suppress(OSError):
            os.fchmod(fd, 0o666)
    try:
        os.pwrite(fd, words.encode()[: SIZE - 1].ljust(SIZE - 1) + b"\n", 0)
        with contextlib.suppress(OSError):
            os.fsync(fd)
    finally:
        os.close(fd)


def _touch(path: Path, trouble: str) -> str:
    try:
        newest = os.lstat(path).st_mtime_ns
        os.utime(path, ns=(newest, newest + 1_000_000), follow_symlinks=False)
    except OSError as e:
        return trouble or f"{path}: the off could not be left on disk: {e.strerror}"
    return trouble
