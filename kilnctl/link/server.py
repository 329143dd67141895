"""The controller's end of the socket: snapshots out, commands in, and no client can delay the heat.

One thread serves all clients. `publish` only leaves the newest snapshot on the table, where the thread looks
some times a second; it does not wake the thread, which would then hold the interpreter while the tick wants
to go on. Turning it into bytes and sending it is the thread's affair. A client that does not read keeps at
most one half-sent line and the newest snapshot of each oven; everything between is dropped for it.
"""

import contextlib
import os
import selectors
import socket
import threading
from collections import deque
from collections.abc import Callable
from pathlib import Path

import kilnctl
from kilnctl.clock import Clock, RealClock
from kilnctl.errors import KilnctlError, LinkError
from kilnctl.link import wire
from kilnctl.link.snapshot import Answer, Command, Snapshot

Handle = Callable[[Command], Answer]
LONGEST_LINE = 4_000_000  # bytes of one command; a whole profile is some 20 kB
MOST_ANSWERS = 64  # a client that asks on without reading its answers is cut off
MOST_CLIENTS = 32  # so that no screen left open can eat the controller's file descriptors
FULL = f"{MOST_CLIENTS} screens are attached, and no more are allowed: close one; `kilnctl off` still works"
LOOK_S = 0.02  # between two looks at the table
LAST_WORDS_S = 0.2  # per client, at close


class _Client:
    """One attached screen: what came in, what is being sent, what waits."""

    def __init__(self, sock: socket.socket) -> None:
        self.sock = sock
        self.came = bytearray()
        self.going = b""
        self.first: deque[bytes] = deque()  # hello and answers: never dropped
        self.newest: dict[str, bytes] = {}  # one line per oven: the newest wins

    @property
    def owed(self) -> bool:
        return bool(self.going or self.first or self.newest)

    def next_line(self) -> bytes:
        if self.first:
            return self.first.popleft()
        return self.newest.pop(next(iter(self.newest))) if self.newest else b""

    def send(self) -> None:
        while self.owed:
            self.going = self.going or self.next_line()
            self.going = self.going[self.sock.send(self.going) :]

    def lines(self) -> list[bytes]:
        *whole, rest = bytes(self.came).split(b"\n")
        self.came = bytearray(rest)
        return whole


class LinkServer:
    """Publish snapshots on a Unix socket (mode 0600) and pass commands to `handle`.

    `handle` runs in the server's thread, so it must be quick: leave the command for the tick and answer.
    Raises LinkError when another controller already listens there, or the path cannot be used.
    """

    def __init__(self, path: Path, handle: Handle, clock: Clock | None = None) -> None:
        self.path = path
        self.trouble = ""  # why the last snapshot could not be sent, for the log
        self._handle = handle
        self._clock = clock or RealClock()
        self._table: dict[str, tuple[Snapshot, float]] = {}
        self._shown: dict[str, bytes] = {}
        self._clients: dict[socket.socket, _Client] = {}
        self._listener = _listen(path)
        self._inode = path.stat().st_ino
        self._bell, self._ear = socket.socketpair()
        self._bell.setblocking(False)
        self._ear.setblocking(False)
        self._closing = threading.Event()
        self._selector = selectors.DefaultSelector()
        self._selector.register(self._listener, selectors.EVENT_READ)
        self._selector.register(self._ear, selectors.EVENT_READ)
        self._thread = threading.Thread(target=self._serve, name="link", daemon=True)
        self._thread.start()

    def publish(self, snapshot: Snapshot) -> None:
        """Show the newest state of one oven to everybody. Never blocks, never raises."""
        self._table[snapshot.oven] = (snapshot, self._clock.boot_s())

    def close(self) -> None:
        """Say the last words, hang up, remove the socket file. May be called twice."""
        if self._closing.is_set():
            return
        self._closing.set()
        self._ring()
        self._thread.join(timeout=5.0)
        with contextlib.suppress(FileNotFoundError):
            if self.path.stat().st_ino == self._inode:
                self.path.unlink()

    def _ring(self) -> None:
        with contextlib.suppress(OSError):  # a full pipe has rung already; a closed one has nobody to wake
            self._bell.send(b"!")

    def _serve(self) -> None:
        while not self._closing.is_set():
            for key, events in self._selector.select(LOOK_S if self._clients else None):
                self._attend(key.fileobj, events)
            if self._clients:  # without anybody to see it, nothing is turned into bytes
                self._spread()
        self._hang_up()

    def _attend(self, who: object, events: int) -> None:
        if who is self._ear:
            with contextlib.suppress(BlockingIOError):
                self._ear.recv(4096)
        elif who is self._listener:
            self._welcome()
        elif isinstance(who, socket.socket) and who in self._clients:
            self._exchange(self._clients[who], events)

    def _welcome(self) -> None:
        try:
            sock, _ = self._listener.accept()
        except OSError:  # gone again before we answered, or no descriptors left
            return
        if len(self._clients) >= MOST_CLIENTS:
            self._turn_away(sock)
            return
        self._spread()  # so that the newcomer's first picture is the newest
        sock.setblocking(False)
        client = _Client(sock)
        client.first.append(wire.line({"hello": wire.Hello(kilnctl.__version__, tuple(self._shown))}))
        client.newest.update(self._shown)
        self._clients[sock] = client
        self._selector.register(sock, selectors.EVENT_READ)
        self._push(client)

    def _turn_away(self, sock: socket.socket) -> None:
        with sock, contextlib.suppress(OSError):
            sock.setblocking(False)
            sock.send(wire.line({"refused": FULL}))

    def _exchange(self, client: _Client, events: int) -> None:
        try:
            if events & selectors.EVENT_READ:
                self._take(client)
        except (OSError, LinkError):
            self._drop(client)
            return
        self._push(client)

    def _take(self, client: _Client) -> None:
        data = client.sock.recv(65536)
        client.came += data
        if not data or len(client.came) > LONGEST_LINE or len(client.first) > MOST_ANSWERS:
            raise LinkError("hung up")
        for raw in client.lines():
            frame = wire.frame_of(raw)
            number = frame.get("id")
            number = number if type(number) is int else None
            client.first.append(wire.line({"answer": self._answer(frame), "id": number}))

    def _answer(self, frame: wire.Frame) -> Answer:
        try:
            return self._handle(wire.command_of(frame.get("command")))
        except KilnctlError as e:
            return Answer(False, str(e))
        except Exception as e:  # a bug in one command must not take the off key from every screen
            return Answer(False, f"the controller could not do that ({type(e).__name__}: {e})")

    def _spread(self) -> None:
        while self._table:
            oven = next(iter(self._table))
            snapshot, at_s = self._table.pop(oven)
            try:
                fields = wire.fields(snapshot) | {"published_boot_s": at_s}
                self._shown[oven] = wire.line({"snapshot": fields})
            except (TypeError, ValueError) as e:
                self.trouble = f"the state of {oven} could not be sent: {e}"
                continue
            for client in list(self._clients.values()):
                client.newest[oven] = self._shown[oven]
                self._push(client)

    def _push(self, client: _Client) -> None:
        try:
            client.send()
        except BlockingIOError:
            pass
        except OSError:
            self._drop(client)
            return
        wanted = selectors.EVENT_READ | (selectors.EVENT_WRITE if client.owed else 0)
        self._selector.modify(client.sock, wanted)

    def _drop(self, client: _Client) -> None:
        self._clients.pop(client.sock, None)
        self._selector.unregister(client.sock)
        client.sock.close()

    def _hang_up(self) -> None:
        self._listener.close()
        self._spread()
        for client in list(self._clients.values()):
            client.sock.settimeout(LAST_WORDS_S)
            with contextlib.suppress(OSError):
                client.send()
            self._drop(client)
        self._selector.close()
        self._bell.close()
        self._ear.close()


def _listen(path: Path) -> socket.socket:
    _clear_stale(path)
    listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    before = os.umask(0o177)
    try:
        listener.bind(str(path))
        listener.listen(2 * MOST_CLIENTS)
    except OSError as e:
        listener.close()
        raise LinkError(
            f"{path}: no socket can be made here: {e}; set KILNCTL_HOME to another folder"
        ) from None
    finally:
        os.umask(before)
    listener.setblocking(False)
    return listener


def _clear_stale(path: Path) -> None:
    """Remove the file that a killed controller left behind. Raises LinkError when somebody still listens."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as probe:
        probe.settimeout(1.0)
        try:
            probe.connect(str(path))
        except ConnectionRefusedError:
            path.unlink(missing_ok=True)
        except FileNotFoundError:
            return
        except TimeoutError:
            raise LinkError(f"{path}: another controller holds it and does not answer") from None
        except OSError:
            return  # bind says what is wrong
        else:
            raise LinkError(f"{path}: another controller is already running")
