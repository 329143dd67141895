"""A relay board on a pseudo-terminal, for tests of processes: coils that remember and a dead-man that drops.

Frames as in the Modbus serial line guide and the application protocol (functions 01, 03, 05, 06), built by
hand; nothing of the library under test is used.
"""

import contextlib
import os
import struct
import threading
import time
import tty
from types import TracebackType


def crc(data: bytes) -> bytes:
    """CRC-16 of the Modbus serial line guide: start FFFF, reflected polynomial A001, low byte first."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


class RelayBoard:
    """Coils 0..3 and a dead-man in holding register 0. `dropped_s` is when the heater coil last fell off."""

    def __init__(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._master)
        tty.setraw(self._slave)
        self.path = os.ttyname(self._slave)
        self.coils = [False] * 4
        self.dropped_s = 0.0
        self.feeds = 0
        self._fed_until_s = 0.0
        self._leave = threading.Event()
        self._thread = threading.Thread(target=self._serve)

    def __enter__(self) -> "RelayBoard":
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._leave.set()
        self._thread.join(2.0)
        os.close(self._master)
        os.close(self._slave)

    @property
    def hot(self) -> bool:
        """True while the heater coil is on."""
        return self.coils[0]

    def wait_hot(self, hot: bool, real_s: float) -> bool:
        """Wait until the heater coil is as asked; return whether it came to that."""
        end_s = time.monotonic() + real_s
        while self.hot is not hot and time.monotonic() < end_s:
            time.sleep(0.01)
        return self.hot is hot

    def _serve(self) -> None:
        os.set_blocking(self._master, False)
        came = b""
        while not self._leave.wait(0.001):
            with contextlib.suppress(BlockingIOError):
                came += os.read(self._master, 256)
            if self._fed_until_s and time.monotonic() > self._fed_until_s:
                self._set(0, False)
            if len(came) >= 8:
                self._answer(came[:8])
                came = b""

    def _answer(self, frame: bytes) -> None:
        if crc(frame[:6]) != frame[6:] or frame[0] != 1:
            return
        function, address, value = struct.unpack(">BHH", frame[1:6])
        match function:
            case 1:
                bits = sum(on << i for i, on in enumerate(self.coils[address : address + value]))
                reply = struct.pack(">BBBB", 1, 1, 1, bits)
            case 3:
                reply = struct.pack(">BBB", 1, 3, 2 * value) + bytes(2 * value)
            case 5:
                self._set(address, value == 0xFF00)
                reply = frame[:6]
            case 6:
                self.feeds += 1
                self._fed_until_s = time.monotonic() + value if value else 0.0
                reply = frame[:6]
            case _:
                reply = struct.pack(">BBB", 1, function | 0x80, 1)
        os.write(self._master, reply + crc(reply))

    def _set(self, coil: int, on: bool) -> None:
        if coil == 0 and self.coils[0] and not on:
            self.dropped_s = time.monotonic()
        self.coils[coil] = on
