"""A Modbus RTU slave on a pseudo-terminal: one or several boards on one line, faults down to the byte."""

import heapq
import random
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Event

from simulator.board import Board
from simulator.frames import LONGEST_FRAME, Unit, answer, framed, request_length
from simulator.pace import Pace
from simulator.terminal import Terminal

SILENCE_S = 0.02  # a partial request older than this is dropped; 3.5 characters cannot be kept by a process
IDLE_S = 0.01
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


class Line:
    """What goes wrong between a reply and the wire, by the flaws of the board that was asked."""

    def __init__(self, boards: Mapping[int, Board], units: Mapping[int, Unit], seed: int = 0) -> None:
        self._boards = boards
        self._units = units
        self._draw = random.Random(f"line {seed}")

    def reply(self, request: bytes) -> tuple[bytes, float]:
        """Return the bytes that come back (perhaps none) and how late, in real seconds."""
        board = self._boards.get(request[0])
        if board is None:
            return answer(self._units, request) or b"", 0.0
        flaws = board.flaws
        if flaws.dark or flaws.line == "silent":
            return b"", 0.0
        if flaws.line == "echoed":
            return request, 0.0
        reply = answer(self._units, request)
        return (b"", 0.0) if reply is None else (self._spoil(reply, board), flaws.late_s)

    def _spoil(self, reply: bytes, board: Board) -> bytes:
        flaws, chance = board.flaws, self._draw.random
        if chance() < flaws.swallowed:
            return b""
        if flaws.wrong_address:
            reply = framed(bytes([reply[0] % 247 + 1]) + reply[1:-2])
        if chance() < flaws.damaged:
            at = self._draw.randrange(len(reply))
            reply = reply[:at] + bytes([reply[at] ^ (1 << self._draw.randrange(8))]) + reply[at + 1 :]
        if chance() < flaws.short:
            reply = reply[: self._draw.randrange(1, len(reply))]
        if chance() < flaws.junk:
            reply = bytes([self._draw.randrange(1, 256)]) + reply
        return FOREIGN + reply if flaws.foreign else reply


def _say(text: str) -> None:
    print(f"simulator: {text}", file=sys.stderr, flush=True)


def serve(
    boards: Mapping[int, Board],
    link: Path,
    speed: float,
    stop: Event,
    *,
    units: Mapping[int, Unit] | None = None,
    ready: Event | None = None,
    say: Callable[[str], None] = _say,
) -> None:
    """Answer for the boards (by unit address) until `stop`, `speed` simulated seconds in each real one.

    `units` replaces the boards' own registers where an oven is wired differently. Raises OSError when the
    link cannot be made.
    """
    for board in boards.values():
        board.speed = speed
    terminal = Terminal(link)
    try:
        if ready is not None:
            ready.set()
        _serve(boards, units or boards, terminal, Pace(speed, time.monotonic(), say), stop)
    finally:
        terminal.close()


def _serve(
    boards: Mapping[int, Board], units: Mapping[int, Unit], terminal: Terminal, pace: Pace, stop: Event
) -> None:
    requests, line = Requests(), Line(boards, units)
    due: list[tuple[float, bytes]] = []
    while not stop.is_set():
        wait_s = min(IDLE_S, due[0][0] - time.monotonic()) if due else IDLE_S
        data = terminal.read(wait_s)
        now_s = time.monotonic()
        passed_s = pace.passed_s(now_s)
        for board in dict.fromkeys(boards.values()):
            board.step(passed_s)
        for request in requests.take(data, now_s) if data else ():
            reply, late_s = line.reply(request)
            if reply:
                heapq.heappush(due, (now_s + late_s, reply))
        while due and due[0][0] <= now_s:
            terminal.write(heapq.heappop(due)[1])
