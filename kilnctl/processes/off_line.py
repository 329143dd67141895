"""The line for off: a way to the controller that no crowd of screens can take, and that no file can hide.

Abstract Unix sockets: one by the home, and two for each device that is driven, so that `off` finds a living
controller also under another home, or with its files gone: one by the device, and one by the path to it,
which stays when the cable is out. One JSON line in, one out, then it is closed; for a caller who wants it so,
lines before that say how far a slow board has come. The kernel says who is at the
other end (SO_PEERCRED; Linux, unix(7)): only the same user and root are answered, and a caller judges by it
whom to believe. Binding a device's names is also how a second writer is refused.
"""

import contextlib
import hashlib
import json
import os
import selectors
import socket
import struct
import threading
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

from kilnctl.clock import RealClock
from kilnctl.errors import RunRefused
from kilnctl.marks import process_identity
from kilnctl.marks.off_means import Peer

LONGEST = 65536  # bytes of a line, either way
ASKING_S = 1.0  # a caller has this long to say what it wants
MOST = 64  # callers at a time
MOST_LINES = 6  # of one answer: two before it is read, one after each look, and the answer

# What was asked, to the lines of the answer: each but the last says `more`, how far it has come.
Order = Callable[[Mapping[str, Any]], Iterable[Mapping[str, Any]]]


def home_name(home: Path) -> str:
    """Return the abstract name of the controller of a home, by its path without links."""
    real = os.path.realpath(home)
    return "kilnctl-home-" + hashlib.sha256(real.encode(errors="surrogateescape")).hexdigest()[:24]


def device_name(key: str) -> str:
    """Return the abstract name of whoever drives a device, by one of its `off_stamp.keys`."""
    return f"kilnctl-{key}"


class OffLine:
    """The listening end. `order` is called in a thread of its own for each caller, with what was asked.

    Raises RunRefused when somebody else holds a name.
    """

    def __init__(self, names: Iterable[str], order: Order) -> None:
        self._order = order
        self._lock = threading.Lock()
        self._held: dict[str, socket.socket] = {}
        self._slots = threading.BoundedSemaphore(MOST)
        self._selector = selectors.DefaultSelector()
        self._ear, self._bell = socket.socketpair()
        self._selector.register(self._ear, selectors.EVENT_READ)
        self._closing = False
        for name in names:
            self.hold(name)
        threading.Thread(target=self._serve, name="off line", daemon=True).start()

    @property
    def names(self) -> set[str]:
        """Return the names that are held."""
        return set(self._held)

    def hold(self, name: str) -> None:
        """Take a name, once. Raises RunRefused naming the process that has it."""
        with self._lock:
            if name not in self._held:
                self._held[name] = listener = hold_name(name)
                self._selector.register(listener, selectors.EVENT_READ)
                self._bell.send(b"!")

    def let_go(self, name: str) -> None:
        """Give a name back. Never raises."""
        with self._lock:
            listener = self._held.pop(name, None)
            if listener is not None:
                self._selector.unregister(listener)
                listener.close()

    def close(self) -> None:
        """Give every name back. May be called twice."""
        for name in list(self._held):
            self.let_go(name)
        self._closing = True
        with contextlib.suppress(OSError):
            self._bell.send(b"!")

    def _serve(self) -> None:
        with self._selector, self._ear, self._bell:
            while not self._closing:
                for key, _ in self._selector.select():
                    if key.fileobj is self._ear:
                        self._ear.recv(100)
                        continue
                    with contextlib.suppress(OSError, AttributeError):
                        self._welcome(key.fileobj.accept()[0])  # type: ignore[union-attr]

    def _welcome(self, caller: socket.socket) -> None:
        if peer_of(caller).user not in (os.getuid(), 0) or not self._slots.acquire(blocking=False):
            caller.close()
            return
        threading.Thread(target=self._answer, args=(caller,), name="off order", daemon=True).start()

    def _answer(self, caller: socket.socket) -> None:
        try:
            with caller, contextlib.suppress(OSError, ValueError, RecursionError):
                asked = json.loads(_line(caller, ASKING_S))
                for said in self._order(asked) if isinstance(asked, dict) else ():
                    caller.sendall(json.dumps(dict(said)).encode() + b"\n")
        finally:
            self._slots.release()


END_IT = (
    "end that first. A heat or recording of kilnctl: `kilnctl off`, then q at its screen; anything else in "
    "the window where it was started, with Ctrl-C"
)


def hold_name(name: str) -> socket.socket:
    """Return a listening socket of this abstract name. Raises RunRefused naming the process that has it."""
    listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        listener.bind("\0" + name)
        listener.listen(128)
    except OSError:
        listener.close()
        raise RunRefused(f"{holder_of(name)} already drives this oven's device: {END_IT}") from None
    listener.setblocking(False)
    return listener


def holder_of(name: str) -> str:
    """Return in words who holds a name."""
    try:
        with _connected(name, 0.5) as sock:
            pid = peer_of(sock).pid
        what = Path(f"/proc/{pid}/comm").read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return "another process"
    return f"process {pid} ({what})"


def peer_at(name: str) -> Peer | None:
    """Return who holds a name, whether he answers or not; None where nobody does."""
    try:
        with _connected(name, 0.5) as sock:
            return peer_of(sock)
    except OSError:
        return None


def ask(
    name: str,
    what: Mapping[str, Any],
    timeout_s: float,
    more_s: Callable[[object, Peer], float] = lambda _answer, _peer: 0.0,
) -> tuple[object, Peer] | None:
    """Ask whoever holds a name; return the answer and who gave it, None where none came. Never raises.

    Somebody who is stopped is not waited for. `more_s` takes each line before the answer and returns how long
    the next one is waited for; 0 changes nothing.
    """
    try:
        with _connected(name, timeout_s) as sock:
            peer, clock, came = peer_of(sock), RealClock(), bytearray()
            if process_identity.stopped(peer.pid):
                return None
            sock.sendall(json.dumps(dict(what)).encode() + b"\n")
            give_up_s = clock.real_s() + timeout_s
            for _ in range(MOST_LINES):
                said = json.loads(_line(sock, give_up_s - clock.real_s(), came))
                if not (isinstance(said, dict) and said.get("more") is True):
                    return said, peer
                wait_s = more_s(said, peer)
                give_up_s = clock.real_s() + wait_s if wait_s else give_up_s
    except (OSError, ValueError, RecursionError):
        return None
    return None


def peer_of(sock: socket.socket) -> Peer:
    """Return who is at the other end, as the kernel knows."""
    raw = sock.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, struct.calcsize("3i"))
    pid, user, _ = struct.unpack("3i", raw)
    return Peer(pid, process_identity.parent(pid), user)


def _connected(name: str, timeout_s: float) -> socket.socket:
    sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        sock.settimeout(timeout_s)
        sock.connect("\0" + name)
    except OSError:
        sock.close()
        raise
    return sock


def _line(sock: socket.socket, timeout_s: float, came: bytearray | None = None) -> bytes:
    """Return one line without its end; what has come after it stays in `came`.

    Raises OSError, also when it is too long, late, or cut off.
    """
    clock, came = RealClock(), bytearray() if came is None else came
    give_up_s = clock.real_s() + timeout_s
    while b"\n" not in came:
        sock.settimeout(max(0.001, give_up_s - clock.real_s()))
        data = sock.recv(LONGEST)
        came += data
        if not data or len(came) > LONGEST:
            raise OSError("no complete reply came")
    line, _, came[:] = came.partition(b"\n")
    return bytes(line)
