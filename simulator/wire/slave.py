"""A Modbus RTU slave on a pseudo-terminal: one or several boards on one line, faults down to the byte."""

import random
from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Event

from simulator.boards.board import Board
from simulator.boards.registers import spare
from simulator.wire.frames import BITS, LONGEST_FRAME, WORDS, Unit, answer, framed, request_length
from simulator.wire.serving import Reply, Service, say, spoiled

READS = (1, 2, 3, 4)
TABLES = BITS | WORDS
SILENCE_S = 0.02  # a partial request older than this is dropped; 3.5 characters cannot be kept by a process
FOREIGN = framed(bytes.fromhex("070300000001"))


class Requests:
    """Bytes in, whole requests out. Time by argument."""

    def __init__(self) -> None:
        self._part = b""
        self._last_s = 0.0

    def take(self, data: bytes, now_s: float) -> list[bytes]:
        """Return the requests that these bytes complete."""
        if self._part and now_s - self._last_s > SILENCE_S:
            self._part = b""
        self._last_s = now_s
        self._part += data
        whole = []
        while (length := request_length(self._part)) is not None and len(self._part) >= length:
            whole.append(self._part[:length])
            self._part = self._part[length:]
        if len(self._part) > LONGEST_FRAME:
            self._part = b""
        return whole


class ModbusTalker:
    """Answers for unit addresses, with what goes wrong between a reply and the wire.

    `units` replaces the boards' own registers where an oven is wired differently.
    """

    def __init__(
        self,
        boards: Mapping[int, Board],
        units: Mapping[int, Unit] | None = None,
        *,
        seed: int = 0,
    ) -> None:
        self._boards = boards
        self._units: Mapping[int, Unit] = units or boards
        self._requests = Requests()
        self._draw = random.Random(f"line {seed}")

    def take(self, data: bytes, now_s: float) -> list[Reply]:
        """Return the replies to the requests that these bytes complete."""
        requests = self._requests.take(data, now_s) if data else []
        return [reply for request in requests for reply in self._replies(request)]

    def _replies(self, request: bytes) -> list[Reply]:
        board = self._boards.get(request[0])
        if board is None:
            answer(self._units, request)
            # an echo is the line's, not one board's: it answers for addresses that nobody has
            echoed = any(other.flaws.line == "echoed" for other in self._boards.values())
            return [(request, 0.0)] if echoed else []
        flaws = board.flaws
        if flaws.dark or flaws.line == "silent":
            return []
        if flaws.line == "echoed":
            return [(request, 0.0)]
        if flaws.module_silent and spare(TABLES.get(request[1], ""), int.from_bytes(request[2:4])):
            return []
        reply = answer(self._units, request)
        if reply is None:
            return []
        if flaws.flipped and request[1] in READS and self._draw.random() < flaws.flipped:
            reply = _bit_flipped(reply, self._draw)
        if flaws.wrong_address:
            reply = framed(bytes([reply[0] % 247 + 1]) + reply[1:-2])
        return spoiled((FOREIGN if flaws.foreign else b"") + reply, flaws, self._draw)


def _bit_flipped(reply: bytes, draw: random.Random) -> bytes:
    """Return a reply with one bit of its values flipped and a check sum that is right again."""
    data = bytearray(reply[:-2])
    if len(data) > 3:
        data[draw.randrange(3, len(data))] ^= 1 << draw.randrange(8)
    return framed(bytes(data))


def serve(
    boards: Mapping[int, Board],
    link: Path,
    speed: float,
    stop: Event,
    *,
    units: Mapping[int, Unit] | None = None,
    ready: Event | None = None,
    tell: Callable[[str], None] = say,
) -> None:
    """Answer for the boards (by unit address) on the line `link` until `stop`. Raises OSError."""
    Service({link: ModbusTalker(boards, units)}, boards.values(), speed, tell).run(stop, ready)
