"""What every board that speaks lines of text does: collects a line, answers it, greets after a start."""

import random
from abc import ABC, abstractmethod

from simulator.boards.board import Board
from simulator.wire.serving import Reply, spoiled

FOREIGN_LINE = b"temp?\r\n"


class LineTalker(ABC):
    """One board on one line of text. A language says how lines end and what they are answered with."""

    end: bytes
    longest: int

    def __init__(self, board: Board, seed: int = 0) -> None:
        self.board = board
        self._part = b""
        self._boots = -1
        self._draw = random.Random(f"lines {seed}")

    @abstractmethod
    def banner(self) -> bytes:
        """Return the first words after a start, perhaps none."""

    @abstractmethod
    def answer(self, line: str) -> bytes | None:
        """Return the reply to one line, or None where the board keeps silent."""

    def wrongly_numbered(self, reply: bytes) -> bytes:
        """Return a reply that belongs to another request, where the language has a way to tell."""
        return reply

    def take(self, data: bytes, now_s: float) -> list[Reply]:
        """Return the replies to the lines that these bytes complete, and the banner after a start."""
        flaws = self.board.flaws
        if flaws.dark:
            self._part = b""
            return []
        greeting = self._greeting()
        replies = [greeting] if greeting else []
        *lines, self._part = (self._part + data).split(self.end)
        if len(self._part) > self.longest:
            self._part = self._part[-self.longest - 1 :]
        for line in lines:
            replies += self._replies(line)
        return replies

    def _greeting(self) -> Reply | None:
        if self.board.boots == self._boots:
            return None
        self._boots = self.board.boots
        self._part = b""
        banner = self.banner()
        return (banner, 0.0) if banner and self.board.flaws.line != "silent" else None

    def _replies(self, line: bytes) -> list[Reply]:
        flaws = self.board.flaws
        if flaws.line == "silent":
            return []
        if flaws.line == "echoed":
            return [(line + self.end, 0.0)]
        text = line.replace(b"\r", b"").decode("ascii", errors="replace")
        reply = self.answer(text) if len(text) <= self.longest else None
        if reply is None:
            return []
        if flaws.wrong_address:
            reply = self.wrongly_numbered(reply)
        return spoiled((FOREIGN_LINE if flaws.foreign else b"") + reply, flaws, self._draw)
