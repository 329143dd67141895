"""A blocking end of the socket, for commands and scripts. Loads nothing heavy: `kilnctl off` waits for it."""

import contextlib
import itertools
import os
import socket
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType

from kilnctl.clock import Clock, RealClock
from kilnctl.errors import LinkError, NoController
from kilnctl.link import wire
from kilnctl.link.snapshot import Answer, Command, Snapshot

ANSWER_S = 3.0
SOCKET_PATH_BYTES = 107  # sun_path of unix(7), less its end
FIRST_LOOK_S = 1.0


class LinkClient:
    """One connection to the running controller. Times are unscaled seconds.

    Raises NoController when nobody listens.
    """

    def __init__(self, path: Path, clock: Clock | None = None) -> None:
        self._clock = clock or RealClock()
        self._sock = connect(path)
        self._came = bytearray()
        self._numbers = itertools.count(1)
        self._seen: dict[str, Snapshot] = {}
        self._unread: dict[str, Snapshot] = {}
        self._hello: wire.Hello | None = None

    def ask(self, command: Command, timeout_s: float = ANSWER_S) -> Answer:
        """Send a command and return its answer. Raises LinkError when none comes in time."""
        number = next(self._numbers)
        self._send(wire.line({"command": command, "id": number}))
        deadline_s = self._clock.real_s() + timeout_s
        while True:
            frame = self._frame(deadline_s)
            if frame is None:
                raise LinkError(f'the controller did not answer "{command.word}" within {timeout_s:g} s')
            if frame.get("id") == number and "answer" in frame:
                return wire.answer_of(frame["answer"])

    def snapshots(self, timeout_s: float | None = None) -> Iterator[Snapshot]:
        """Yield snapshots of all ovens as they come; ends when the controller hangs up.

        Raises LinkError after `timeout_s` of silence (None waits for ever).
        """
        while True:
            while self._unread:
                yield self._unread.pop(next(iter(self._unread)))
            deadline_s = None if timeout_s is None else self._clock.real_s() + timeout_s
            try:
                if self._frame(deadline_s) is None:
                    raise LinkError(f"the controller has been silent for {timeout_s:g} s")
            except NoController:
                return

    def newest(self, oven: str | None = None, timeout_s: float = FIRST_LOOK_S) -> Snapshot | None:
        """Return the newest snapshot (of one oven, or of any), or None when there is none in time."""
        deadline_s = self._clock.real_s() + timeout_s
        while not (self._seen if oven is None else oven in self._seen):
            if self._nothing_yet() or self._frame(deadline_s) is None:
                return None
        self._drain()
        return self._seen[oven] if oven is not None else next(reversed(self._seen.values()))

    def newest_of_all(self, timeout_s: float = FIRST_LOOK_S) -> dict[str, Snapshot]:
        """Return the newest snapshot of every oven on this controller, by name."""
        deadline_s = self._clock.real_s() + timeout_s
        while not self._all_seen():
            if self._frame(deadline_s) is None:
                break
        self._drain()
        return dict(self._seen)

    def age_s(self, snapshot: Snapshot) -> float:
        """Return how long ago a snapshot was published; suspends of the machine count."""
        return max(0.0, self._clock.boot_s() - snapshot.published_boot_s)

    def close(self) -> None:
        """Hang up."""
        self._sock.close()

    def __enter__(self) -> "LinkClient":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _all_seen(self) -> bool:
        return self._hello is not None and all(oven in self._seen for oven in self._hello.ovens)

    def _nothing_yet(self) -> bool:
        """True when the controller has said that it has no oven to show yet."""
        return self._hello is not None and not self._hello.ovens

    def _send(self, data: bytes) -> None:
        self._sock.settimeout(ANSWER_S)
        try:
            self._sock.sendall(data)
        except TimeoutError:
            raise LinkError("the controller does not take commands") from None
        except OSError:
            self._drain()  # whoever is turned away is told why
            raise NoController("the controller has gone") from None

    def _drain(self) -> None:
        """Read what is already there, so that the newest is the newest."""
        with contextlib.suppress(NoController):
            while self._frame(self._clock.real_s()) is not None:
                pass

    def _frame(self, deadline_s: float | None) -> wire.Frame | None:
        """Return the next frame, or None at the deadline. Raises NoController when the other end closed."""
        while b"\n" not in self._came:
            left_s = None if deadline_s is None else max(0.0, deadline_s - self._clock.real_s())
            self._sock.settimeout(left_s)
            try:
                data = self._sock.recv(65536)
            except (TimeoutError, BlockingIOError):
                return None
            except OSError:
                data = b""
            if not data:
                raise NoController("the controller has gone")
            self._came += data
        raw, _, rest = bytes(self._came).partition(b"\n")
        self._came = bytearray(rest)
        return self._keep(wire.frame_of(raw))

    def _keep(self, frame: wire.Frame) -> wire.Frame:
        if "refused" in frame:
            raise LinkError(wire.refusal_of(frame))
        if "hello" in frame:
            self._hello = wire.read(wire.Hello, frame["hello"], "hello")
        if "snapshot" in frame:
            snapshot = wire.snapshot_of(frame["snapshot"])
            self._seen.pop(snapshot.oven, None)  # so that the newest is the last
            self._seen[snapshot.oven] = self._unread[snapshot.oven] = snapshot
        return frame


def connect(path: Path) -> socket.socket:
    """Return a connected socket. Raises NoController, saying how to start one."""
    sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    sock.settimeout(ANSWER_S)
    try:
        sock.connect(str(path))
    except (ConnectionRefusedError, FileNotFoundError):
        sock.close()
        raise NoController("no controller is running; start one with `kilnctl run JOB --oven O`") from None
    except PermissionError:
        sock.close()
        mine = "set KILNCTL_HOME to one of your own, or be that user"
        raise LinkError(f"{path.parent}: is the kilnctl folder of user {_owner(path)}; {mine}") from None
    except OSError as e:
        sock.close()
        if len(os.fsencode(path)) > SOCKET_PATH_BYTES:
            raise LinkError(f"{path}: too long for a socket; set KILNCTL_HOME to a shorter folder") from None
        raise LinkError(f"{path}: the controller cannot be reached: {e}") from None
    return sock


def _owner(path: Path) -> str:
    try:
        return path.owner()
    except (OSError, KeyError):
        return "unknown"
