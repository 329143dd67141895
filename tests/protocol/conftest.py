"""An in-process serial line in virtual time, and a board on it that behaves and misbehaves like real ones.

Frames are built here by hand from the Modbus specification, not with the library under test.
"""

import struct
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import minimalmodbus
import pytest

from kilnctl.clock import VirtualClock
from kilnctl.config.device_keys import Port
from kilnctl.config.oven import Oven
from kilnctl.devices.bus import Bus
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.oven_io import WiredIO
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads


def crc(data: bytes) -> bytes:
    """CRC-16 of the Modbus serial line guide: start FFFF, reflected polynomial A001, low byte first."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


class FakeLine:
    """A serial port whose other end is a function; time is virtual and passes only in waits.

    `answer` gets the bytes written and returns (seconds until it is there, bytes) pieces.
    """

    def __init__(self, clock: VirtualClock, answer: Callable[[bytes], list[tuple[float, bytes]]]) -> None:
        self.port, self.baudrate, self.timeout, self.is_open = "fake", 115200, 0.2, True
        self.written: list[bytes] = []
        self.gone = False
        self._clock, self._answer = clock, answer
        self._coming: list[tuple[float, bytes]] = []
        self._buffer = b""

    def say(self, after_s: float, data: bytes) -> None:
        """Bytes that nothing asked for."""
        self._coming.append((self._clock.real_s() + after_s, data))

    def _arrive(self) -> None:
        self._check()
        now = self._clock.real_s()
        for piece in sorted(p for p in self._coming if p[0] <= now + 1e-9):
            self._buffer += piece[1]
            self._coming.remove(piece)

    def _check(self) -> None:
        if self.gone:
            import termios

            raise termios.error(5, "Input/output error")

    @property
    def in_waiting(self) -> int:
        self._arrive()
        return len(self._buffer)

    def write(self, data: bytes) -> int:
        self._check()
        self.written.append(bytes(data))
        now = self._clock.real_s()
        self._coming += [(now + after_s, piece) for after_s, piece in self._answer(bytes(data))]
        return len(data)

    def read(self, size: int = 1) -> bytes:
        end = self._clock.real_s() + (self.timeout or 0)
        while self.in_waiting < size:
            due = [at for at, _ in self._coming if at <= end]
            if not due:
                self._clock.advance(max(0.0, end - self._clock.real_s()))
                self._arrive()
                break
            self._clock.advance(max(0.0, min(due) - self._clock.real_s()))
        data, self._buffer = self._buffer[:size], self._buffer[size:]
        return data

    def read_until(self, expected: bytes = b"\n", size: int | None = None) -> bytes:
        data = b""
        while not data.endswith(expected) and (size is None or len(data) < size):
            byte = self.read(1)
            if not byte:
                break
            data += byte
        return data

    def reset_input_buffer(self) -> None:
        self._arrive()
        self._buffer = b""

    def reset_output_buffer(self) -> None:
        self._check()

    def flush(self) -> None:
        self._check()

    def open(self) -> None:
        self.is_open = True

    def close(self) -> None:
        self.is_open = False


class Board:
    """Modbus slaves by address, each with its tables; `fault` names one misbehaviour of the next replies."""

    def __init__(self) -> None:
        self.coils: dict[int, dict[int, int]] = {}
        self.registers: dict[int, dict[tuple[str, int], int]] = {}
        self.fault: Callable[[bytes, bytes], list[tuple[float, bytes]]] | None = None
        self.deaf: set[int] = set()
        self.requests: list[bytes] = []

    def add(self, address: int) -> None:
        self.coils[address] = {}
        self.registers[address] = {}

    @property
    def heater(self) -> int:
        return self.coils[1].get(0, 0)

    @property
    def contactor(self) -> int:
        return self.coils[1].get(1, 0)

    def answer(self, request: bytes) -> list[tuple[float, bytes]]:
        """Return the reply pieces to one request, good or as the fault has it."""
        self.requests.append(request)
        if len(request) < 4 or crc(request[:-2]) != request[-2:]:
            return []
        if request[0] not in self.coils or request[0] in self.deaf:
            return []
        body = self._reply(request[0], request[1], request[2:-2])
        reply = request[:1] + body
        reply += crc(reply)
        return self.fault(request, reply) if self.fault else [(0.001, reply)]

    def _reply(self, address: int, code: int, data: bytes) -> bytes:
        first, value = struct.unpack(">HH", data[:4])
        if code in (1, 2):
            bits = [self._bit(address, code, first + i) for i in range(value)]
            packed = bytes(sum(b << i for i, b in enumerate(bits[n : n + 8])) for n in range(0, value, 8))
            return bytes([code, len(packed)]) + packed
        if code in (3, 4):
            table = "holding" if code == 3 else "input"
            keys = [(table, first + i) for i in range(value)]
            if any(key not in self.registers[address] for key in keys):
                return bytes([code | 0x80, 2])
            words = b"".join(struct.pack(">H", self.registers[address][key]) for key in keys)
            return bytes([code, len(words)]) + words
        if code == 5:
            self.coils[address][first] = int(value == 0xFF00)
        elif code == 6:
            self.registers[address]["holding", first] = value
        elif code == 15:
            for i in range(value):
                self.coils[address][first + i] = data[5 + i // 8] >> (i % 8) & 1
        elif code == 16:
            for i in range(value):
                self.registers[address]["holding", first + i] = struct.unpack_from(">H", data, 5 + 2 * i)[0]
        else:
            return bytes([code | 0x80, 1])
        return bytes([code]) + data[:4]

    def _bit(self, address: int, code: int, number: int) -> int:
        if code == 1:
            return self.coils[address].get(number, 0)
        return self.registers[address].get(("discrete", number), 0)


def modbus_board() -> Board:
    """A board at address 1 whose oven is at 20.0 C."""
    board = Board()
    board.add(1)
    board.registers[1] |= {("input", 0): 200, ("holding", 0): 0}
    return board


class LineFirmware:
    """A board that speaks the line protocol, written from its specification alone."""

    def __init__(self) -> None:
        self.values: dict[str, str] = {"process": "20.0", "door_open": "0"}
        self.outputs = {"heater": 0, "contactor": 0, "horn": 0}
        self.fed: int | None = None
        self.who = "WHO toolroom-board 1"
        self.fault: Callable[[bytes, bytes], list[tuple[float, bytes]]] | None = None
        self.requests: list[bytes] = []

    @property
    def heater(self) -> int:
        return self.outputs["heater"]

    @property
    def contactor(self) -> int:
        return self.outputs["contactor"]

    def restart(self) -> bytes:
        """Start anew; return the banner."""
        self.outputs = dict.fromkeys(self.outputs, 0)
        self.fed = None
        return b"!HELLO toolroom-board 1\n"

    def answer(self, request: bytes) -> list[tuple[float, bytes]]:
        self.requests.append(request)
        body, _, check = request.decode("ascii", errors="replace").rstrip("\r\n").rpartition("*")
        if request.strip() == b"OFF":
            self.outputs |= {"heater": 0, "contactor": 0}
            return []
        if not body.startswith(">") or f"{int.from_bytes(crc(body.encode()), 'little'):04X}" != check:
            return []
        words = f"<{body[1:3]} {self._do(body[4:].split())}"
        reply = f"{words}*{int.from_bytes(crc(words.encode()), 'little'):04X}\n".encode()
        return self.fault(request, reply) if self.fault else [(0.002, reply)]

    def _do(self, words: list[str]) -> str:
        match words:
            case ["WHO"]:
                return self.who
            case ["SEE"]:
                pairs = [*self.values.items(), *self.outputs.items()]
                return " ".join(["SEE", *(f"{name}={value}" for name, value in pairs)])
            case ["FED", seconds]:
                self.fed = int(seconds)
                return f"FED {seconds}"
            case ["PUT", name, value] if name in self.outputs:
                if value == "1" and name in ("heater", "contactor") and not self.fed:
                    return "ERR hungry"
                self.outputs[name] = int(value)
                return f"PUT {name} {self.outputs[name]}"
        return "ERR unknown"


class TextFirmware:
    """A board with a plain language: `t?` -> `T=20.0 H=0`, `h 1` -> `ok h 1`, `k 10` -> `ok k 10`."""

    def __init__(self) -> None:
        self.shown = "20.0"
        self.heater = 0
        self.contactor = 0
        self.alive = 0
        self.echo = False
        self.fault: Callable[[bytes, bytes], list[tuple[float, bytes]]] | None = None
        self.requests: list[bytes] = []

    def answer(self, request: bytes) -> list[tuple[float, bytes]]:
        self.requests.append(request)
        reply = self._do(request.decode("ascii").strip().split())
        whole = (request if self.echo else b"") + reply
        return self.fault(request, whole) if self.fault else [(0.002, whole)]

    def _do(self, words: list[str]) -> bytes:
        match words:
            case ["t?"]:
                return f"T={self.shown} H={self.heater}\n".encode()
            case ["h", value]:
                self.heater = int(value)
                return f"ok h {value}\n".encode()
            case ["k", value]:
                self.alive = int(value)
                return f"ok k {value}\n".encode()
        return b"what?\n"


OVEN = """
name = "bench"
limit = "260 C"
power = "1200 W"
build = "leaky"
use = "tempering"
isolator = "switch by the door"
switching = { kind = "solid-state" }
[port.bus]
path = "/dev/fake"
[device.board]
port = "bus"
address = 1
[signal]
process = { device = "board", table = "input", register = 0, scale = 0.1, unit = "C", low = "-30 C", high = "400 C", open_values = [32767] }
door_open = { device = "board", table = "discrete", register = 0 }
heater_live = { device = "board", table = "discrete", register = 1 }
[output]
heater = { device = "board", table = "coil", register = 0 }
contactor = { device = "board", table = "coil", register = 1 }
horn = { device = "board", table = "coil", register = 2 }
[dead_man]
device = "board"
table = "holding"
register = 0
write = 10
drops_after = "10 s"
"""  # noqa: E501


COMMON = OVEN[: OVEN.index("[device.board]")]

LINE_OVEN = (
    COMMON
    + """
[device.board]
kind = "line"
port = "bus"
[signal]
process = { device = "board", field = "process", unit = "C", low = "-30 C", high = "400 C" }
door_open = { device = "board", field = "door_open" }
[output]
heater = { device = "board", field = "heater" }
contactor = { device = "board", field = "contactor" }
horn = { device = "board", field = "horn" }
[dead_man]
device = "board"
write = 10
drops_after = "10 s"
"""
)

TEXT_OVEN = (
    COMMON
    + """
[device.board]
kind = "text"
port = "bus"
banner = "ready"
banner_wait = "1 s"
open_words = ["nan"]
ask = [{ send = "t?", reply = "T={process} H={heater}" }]
[device.board.tell]
heater = { send = "h {value}", reply = "ok h {value}" }
alive = { send = "k {value}", reply = "ok k {value}" }
[signal]
process = { device = "board", field = "process", unit = "C", low = "-30 C", high = "400 C" }
[output]
heater = { device = "board", field = "heater" }
[dead_man]
device = "board"
field = "alive"
write = 10
drops_after = "10 s"
"""
)


def oven_of(text: str) -> Oven:
    """Return the oven of a file's text."""
    return loads(text, Oven, ConfigError, "oven.toml")


class Bench:
    """One oven on one fake line: everything a test of the I/O needs."""

    def __init__(self, text: str = OVEN, board: Any = None) -> None:
        self.clock = VirtualClock()
        self.board = board or modbus_board()
        self.line = FakeLine(self.clock, self.board.answer)
        self.plugged = True
        self.on_open: Callable[[FakeLine], None] = lambda line: None
        self.oven = oven_of(text)
        self.buses = Buses(self.clock, opener=self._open)
        self.oven_io = WiredIO(self.oven, self.buses, self.clock)

    def _open(self, port: Port, exclusive: bool) -> FakeLine:
        from kilnctl.errors import PortLost

        if not self.plugged:
            raise PortLost(f"{port.path}: there is no such port")
        self.line = FakeLine(self.clock, self.board.answer)
        self.on_open(self.line)
        return self.line

    def unplug(self) -> None:
        self.plugged = False
        self.line.gone = True

    @property
    def heater(self) -> int:
        return self.board.heater

    @property
    def contactor(self) -> int:
        return self.board.contactor


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture
def bench_of() -> type[Bench]:
    return Bench


@pytest.fixture
def line_bench() -> Bench:
    return Bench(LINE_OVEN, LineFirmware())


@pytest.fixture
def text_bench() -> Bench:
    return Bench(TEXT_OVEN, TextFirmware())


@pytest.fixture
def text_bench_of() -> Callable[[str, str], Bench]:
    """A bench whose text oven file has one thing changed."""
    return lambda old, new: Bench(TEXT_OVEN.replace(old, new, 1), TextFirmware())


@pytest.fixture
def crc16() -> Callable[[bytes], bytes]:
    return crc


@pytest.fixture
def script() -> Iterator[Callable[[list[tuple[str, str]]], Bus]]:
    """A bus whose other end expects exactly these (sent, answered) pairs, in hex; none may be left."""
    left: list[tuple[str, str]] = []
    clock = VirtualClock()

    def answer(request: bytes) -> list[tuple[float, bytes]]:
        assert left, f"nothing expected, but sent {request.hex(' ')}"
        sent, answered = left.pop(0)
        assert request.hex(" ") == sent.lower()
        return [(0.001, bytes.fromhex(answered))]

    def make(pairs: list[tuple[str, str]]) -> Bus:
        left.extend(pairs)
        return Bus(Port(path="/dev/fake"), clock, opener=lambda port, exclusive: FakeLine(clock, answer))

    yield make
    assert not left, f"never asked: {left}"


@pytest.fixture
def examples() -> Path:
    return Path("kilnctl/guide/connect")


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ask again at once: no quiet line is waited for, which a test without a real wire does not need."""
    monkeypatch.setattr(minimalmodbus, "_calculate_minimum_silent_period", lambda baudrate: 0.0)
