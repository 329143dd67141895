"""Lines with a simulator at their end: bytes in, replies out (late, split, never), plants stepped beside."""

import heapq
import random
import sys
import time
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event
from typing import Protocol

from simulator.boards.board import Board
from simulator.boards.fault_state import Flaws
from simulator.wire.clock_scaling import Pace
from simulator.wire.terminal import Terminal, waiting

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


class Service:
    """Talkers on lines, by the path that points to each, and the boards behind them; `run` serves.

    All of it belongs to the thread that runs; others hand in what is to happen with `soon`.
    """

    def __init__(
        self,
        talkers: Mapping[Path, Talker],
        boards: Iterable[Board],
        speed: float,
        tell: Callable[[str], None] = say,
    ) -> None:
        self.talkers = talkers
        self.boards = list(dict.fromkeys(boards))
        for board in self.boards:
            board.speed = speed
        self._speed, self._say = speed, tell
        self._terminals: dict[Terminal, Talker] = {}
        self._soon: SimpleQueue[Callable[[], None]] = SimpleQueue()
        self._due: list[tuple[float, int, Terminal, bytes]] = []
        self._order = 0

    def soon(self, act: Callable[[], None]) -> None:
        """Let something happen in the serving thread. From any thread."""
        self._soon.put(act)

    @property
    def plugged(self) -> bool:
        """True while the lines are there."""
        return bool(self._terminals)

    def plug(self) -> None:
        """Make the lines. Raises OSError when a link cannot be made; then none is there."""
        if self.plugged:
            return
        try:
            for link, talker in self.talkers.items():
                self._terminals[Terminal(link, self._speed)] = talker
        except OSError:
            self.unplug()
            raise

    def unplug(self) -> None:
        """Take every line away, as a pulled plug does; the ovens go on."""
        for terminal in self._terminals:
            terminal.close()
        self._terminals.clear()
        self._due.clear()

    def run(self, stop: Event, ready: Event | None = None) -> None:
        """Serve until `stop`. Raises OSError when a link cannot be made."""
        self.plug()
        try:
            if ready is not None:
                ready.set()
            pace = Pace(self._speed, time.monotonic(), self._say)
            while not stop.is_set():
                self._once(pace)
        finally:
            self.unplug()

    def _once(self, pace: Pace) -> None:
        wait_s = min(IDLE_S, self._due[0][0] - time.monotonic()) if self._due else IDLE_S
        heard = waiting(list(self._terminals), wait_s)
        now_s = time.monotonic()
        passed_s = pace.passed_s(now_s)
        for board in self.boards:
            board.step(passed_s)
        for terminal, talker in self._terminals.items():
            data = terminal.read() if terminal in heard else b""
            for reply, late_s in talker.take(data, now_s):
                self._order += 1
                heapq.heappush(self._due, (now_s + late_s, self._order, terminal, reply))
        while self._due and self._due[0][0] <= now_s:
            _, _, terminal, reply = heapq.heappop(self._due)
            terminal.write(reply)
        self._happen()

    def _happen(self) -> None:
        while True:
            try:
                act = self._soon.get_nowait()
            except Empty:
                return
            act()
