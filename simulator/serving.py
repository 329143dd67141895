"""A line with a simulator at its end: bytes in, replies out (late, split, never), plants stepped beside."""

import heapq
import random
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from threading import Event
from typing import Protocol

from simulator.board import Board
from simulator.flaws import Flaws
from simulator.pace import Pace
from simulator.terminal import Terminal

IDLE_S = 0.01

Reply = tuple[bytes, float]  # bytes, and how late they go out in real seconds


class Talker(Protocol):
    """A language: requests in, replies out. Time by argument."""

    def take(self, data: bytes, now_s: float) -> list[Reply]:
        """Return the replies to what these bytes complete; called with no bytes too, about each 10 ms."""
        ...


def spoiled(reply: bytes, flaws: Flaws, draw: random.Random) -> list[Reply]:
    """Return what is left of a reply on a bad line: lost, damaged, cut, with junk before it, late, in two."""
    if draw.random() < flaws.swallowed:
        return []
    if draw.random() < max(flaws.damaged, flaws.collisions):
        at = draw.randrange(len(reply))
        reply = reply[:at] + bytes([reply[at] ^ (1 << draw.randrange(7))]) + reply[at + 1 :]
    if draw.random() < flaws.short:
        reply = reply[: draw.randrange(1, len(reply))]
    if draw.random() < flaws.junk:
        reply = bytes([draw.randrange(1, 256)]) + reply
    if flaws.split_s and len(reply) > 1:
        at = draw.randrange(1, len(reply))
        return [(reply[:at], flaws.late_s), (reply[at:], flaws.late_s + flaws.split_s)]
    return [(reply, flaws.late_s)]


def say(text: str) -> None:
    """Tell the person who started the simulator."""
    print(f"simulator: {text}", file=sys.stderr, flush=True)


def run(
    talker: Talker,
    boards: Iterable[Board],
    link: Path,
    speed: float,
    stop: Event,
    *,
    ready: Event | None = None,
    said: Callable[[str], None] = say,
) -> None:
    """Serve a line until `stop`, `speed` simulated seconds in each real one.

    Raises OSError when the link cannot be made.
    """
    mine = list(dict.fromkeys(boards))
    for board in mine:
        board.speed = speed
    terminal = Terminal(link)
    try:
        if ready is not None:
            ready.set()
        _run(talker, mine, terminal, Pace(speed, time.monotonic(), said), stop)
    finally:
        terminal.close()


def _run(talker: Talker, boards: list[Board], terminal: Terminal, pace: Pace, stop: Event) -> None:
    due: list[tuple[float, int, bytes]] = []
    order = 0
    while not stop.is_set():
        data = terminal.read(min(IDLE_S, due[0][0] - time.monotonic()) if due else IDLE_S)
        now_s = time.monotonic()
        passed_s = pace.passed_s(now_s)
        for board in boards:
            board.step(passed_s)
        for reply, late_s in talker.take(data, now_s):
            order += 1
            heapq.heappush(due, (now_s + late_s, order, reply))
        while due and due[0][0] <= now_s:
            terminal.write(heapq.heappop(due)[2])
