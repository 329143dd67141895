"""Foreign devices for tests: plain scripts on a pseudo-terminal or a socket, written from the standards.

Frames as in the Modbus serial line guide (1.02) and the Modbus messaging guide for TCP/IP (1.0b), functions
as in the application protocol (1.1b3); nothing of kilnctl, of its simulator or of its libraries is used.
"""

import contextlib
import os
import select
import socket
import struct
import threading
import time
import tty
from collections.abc import Callable

Tables = dict[str, dict[int, int]]
# Bytes that have come: how many of them are dealt with, and the reply.
Talk = Callable[[bytes], tuple[int, bytes]]


def crc(data: bytes) -> bytes:
    """CRC-16 of the serial line guide: start FFFF, reflected polynomial A001, low byte first."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


def floats(value: float, low_word_first: bool = False) -> list[int]:
    """A number as two registers."""
    high, low = struct.unpack(">HH", struct.pack(">f", value))
    return [low, high] if low_word_first else [high, low]


class Unit:
    """Registers that remember. `wrote` is called after every write, `looks` before every read."""

    def __init__(self, **tables: dict[int, int]) -> None:
        names = ("coil", "discrete", "input", "holding")
        self.tables: Tables = {name: dict(tables.get(name, {})) for name in names}
        self.written: list[tuple[str, int, list[int]]] = []
        self.wrote: Callable[[str, int, list[int]], object] = lambda *_: None
        self.looks: Callable[[], object] = lambda: None

    def answer(self, pdu: bytes) -> bytes:
        function = pdu[0]
        names = {1: "coil", 2: "discrete", 3: "holding", 4: "input", 5: "coil", 6: "holding", 15: "coil",
                 16: "holding"}  # fmt: skip
        if function not in names:
            return bytes([function | 0x80, 1])
        self.looks()
        table, first, word = self.tables[names[function]], *struct.unpack(">HH", pdu[1:5])
        count = word if function in (1, 2, 3, 4, 15, 16) else 1
        if any(n not in table for n in range(first, first + count)):
            return bytes([function | 0x80, 2])
        if function <= 4:
            values = [table[n] for n in range(first, first + count)]
            data = _bits(values) if function <= 2 else struct.pack(f">{count}H", *values)
            return bytes([function, len(data)]) + data
        values = {
            5: lambda: [int(word == 0xFF00)],
            6: lambda: [word],
            15: lambda: [pdu[6 + i // 8] >> i % 8 & 1 for i in range(count)],
            16: lambda: list(struct.unpack(f">{count}H", pdu[6 : 6 + 2 * count])),
        }[function]()
        table.update(zip(range(first, first + count), values, strict=True))
        self.written.append((names[function], first, values))
        self.wrote(names[function], first, values)
        return pdu[:5]


def _bits(values: list[int]) -> bytes:
    packed = sum(bool(v) << i for i, v in enumerate(values))
    return packed.to_bytes((len(values) + 7) // 8, "little")


class OnAPty:
    """Something that answers bytes on a pseudo-terminal: `talk` gets what has come, returns (used, reply)."""

    def __init__(self, talk: Talk) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.path, self._talk = os.ttyname(self._slave), talk
        self._leave = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        came = b""
        while not self._leave.is_set():
            select.select([self._master], [], [], 0.01)
            with contextlib.suppress(BlockingIOError, OSError):
                came += os.read(self._master, 256)
            used, reply = self._talk(came)
            came = came[used:]
            if reply:
                with contextlib.suppress(BlockingIOError):  # nobody reads any more: it is lost, as on a wire
                    os.write(self._master, reply)

    def say(self, data: bytes) -> None:
        os.write(self._master, data)

    def close(self) -> None:
        self._leave.set()
        self._thread.join(2.0)
        os.close(self._master)
        os.close(self._slave)


def rtu(units: dict[int, Unit]) -> Talk:
    """The serial line's frames: address, function, data, CRC."""

    def talk(came: bytes) -> tuple[int, bytes]:
        if len(came) < 8:
            return 0, b""
        size = 9 + came[6] if came[1] in (15, 16) else 8
        if len(came) < size:
            return 0, b""
        frame = came[:size]
        if crc(frame[:-2]) != frame[-2:] or frame[0] not in units:
            return len(came), b""
        reply = frame[:1] + units[frame[0]].answer(frame[1:-2])
        return size, reply + crc(reply)

    return talk


def lines(answer: Callable[[str], str | None], end: bytes = b"\n") -> Talk:
    """A text board: whole lines in, whole answers out."""

    def talk(came: bytes) -> tuple[int, bytes]:
        line, found, _ = came.partition(end)
        if not found:
            return 0, b""
        reply = answer(line.decode("ascii", "replace").strip())
        return len(line) + len(end), b"" if reply is None else reply.encode("ascii", "replace")

    return talk


class OnASocket:
    """A TCP peer. `raw` speaks serial frames over the socket, else MBAP headers; `manner` spoils replies.

    `manner(header, body)` returns pieces (delay in s, bytes); None closes the connection. While `hears` says
    False the cable is out behind it.
    """

    def __init__(
        self, units: dict[int, Unit], raw=False, manner=None, any_unit=False, hears=lambda: True
    ) -> None:
        self._units, self._raw, self._any, self._hears = units, raw, any_unit, hears
        self.manner = manner or (lambda header, body: [(0.0, header + body)])
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = self._listener.getsockname()[1]
        self.connections = 0
        self._open: list[socket.socket] = []
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            try:
                peer, _ = self._listener.accept()
            except OSError:
                return
            self.connections += 1
            self._open.append(peer)
            threading.Thread(target=self._serve, args=(peer,), daemon=True).start()

    def _serve(self, peer: socket.socket) -> None:
        came, talk = b"", rtu(self._units)
        with contextlib.suppress(OSError), peer:
            while got := peer.recv(512):
                came += got if self._hears() else b""
                if self._raw:
                    used, reply = talk(came)
                    came = came[used:]
                    peer.sendall(reply)
                    continue
                while len(came) >= 7 and len(came) >= 6 + (size := struct.unpack(">H", came[4:6])[0]):
                    frame, came = came[: 6 + size], came[6 + size :]
                    if not self._reply(peer, frame):
                        return

    def _reply(self, peer: socket.socket, frame: bytes) -> bool:
        unit = self._units.get(frame[6]) or (next(iter(self._units.values())) if self._any else None)
        if unit is None:
            return True
        body = frame[6:7] + unit.answer(frame[7:])
        pieces = self.manner(frame[:4] + struct.pack(">H", len(body)), body)
        if pieces is None:
            return False
        for wait_s, piece in pieces:
            time.sleep(wait_s)
            peer.sendall(piece)
        return True

    def drop(self) -> None:
        """Close every connection that is open, as a router that restarts does."""
        for peer in self._open:
            with contextlib.suppress(OSError):
                peer.shutdown(socket.SHUT_RDWR)
        self._open.clear()

    def close(self) -> None:
        with contextlib.suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self.drop()


class TimerRelay:
    """An off-delay timer relay that an edge of its input restarts; its contact stands before the heater's."""

    def __init__(self, unit: Unit, keep_alive: int, heater: int, contact: int | None, for_s: float) -> None:
        self.unit, self.for_s, self.closed_until_s = unit, for_s, 0.0
        self._keep_alive, self._heater, self._contact = keep_alive, heater, contact
        self._last = unit.tables["coil"][keep_alive]
        unit.wrote, unit.looks = self._wrote, self._look

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if table == "coil" and first == self._keep_alive:
            if values[0] and not self._last:
                self.closed_until_s = time.monotonic() + self.for_s
            self._last = values[0]

    @property
    def heats(self) -> bool:
        return bool(self.unit.tables["coil"][self._heater]) and time.monotonic() < self.closed_until_s

    def _look(self) -> None:
        if self._contact is not None:
            self.unit.tables["discrete"][self._contact] = int(self.heats)
