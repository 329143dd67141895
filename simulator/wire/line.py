"""The board's side of kilnctl's line protocol: banner, WHO, SEE, PUT, FED, OFF, sequence number and CRC.

Written from the specification in words, not from the master's code. A line that is too long, damaged or no
request is dropped; the bare line OFF works without frame.
"""

import re
from collections.abc import Mapping

from simulator.boards.board import Board
from simulator.wire.frames import crc
from simulator.wire.signal_encoding import Wire
from simulator.wire.text_protocol import LineTalker

LONGEST = 250
LONGEST_FEED_S = 30
NAME, VERSION = "simulated_board", 1
_REQUEST = re.compile(r">([0-9A-F]{2}) ([A-Z]+)((?: \S+)*)\*([0-9A-F]{4})")


def framed(text: str) -> bytes:
    """Return a line with its CRC, high digit first."""
    return f"{text}*{crc(text.encode('ascii')):04X}\n".encode("ascii")


class Protocol(LineTalker):
    """One board on one line; `fields` name its values, outputs among them."""

    end = b"\n"
    longest = LONGEST

    def __init__(self, board: Board, fields: Mapping[str, Wire], seed: int = 0, name: str = NAME) -> None:
        super().__init__(board, seed)
        self._fields = fields
        self._name = name

    def banner(self) -> bytes:
        """Return the first words after a start; the line feed before them ends what was under way."""
        return f"\n!HELLO {self._name} {VERSION}\n".encode("ascii")

    def wrongly_numbered(self, reply: bytes) -> bytes:
        """Return a reply that belongs to another request, with a good CRC."""
        text = reply.decode("ascii").rpartition("*")[0]
        return framed(f"<{(int(text[1:3], 16) + 1) % 256:02X}{text[3:]}")

    def answer(self, line: str) -> bytes | None:
        """Return the reply to one line, or None where the board keeps silent."""
        if line == "OFF":
            self._off()
            return None
        match = _REQUEST.fullmatch(line)
        if match is None or int(match[4], 16) != crc(line[:-5].encode("ascii")):
            return None
        return framed(f"<{match[1]} {self._act(match[2], match[3].split())}")

    def _act(self, word: str, rest: list[str]) -> str:
        if word == "WHO" and not rest:
            return f"WHO {self._name} {VERSION} SIM {self.board.speed:g}"
        if word == "SEE" and not rest:
            return " ".join(["SEE", *(f"{name}={self._shown(wire)}" for name, wire in self._fields.items())])
        if word == "OFF" and not rest:
            self._off()
            return "OFF"
        if word == "FED" and len(rest) == 1:
            return self._feed(rest[0])
        if word == "PUT" and len(rest) == 2:
            return self._put(rest[0], rest[1])
        return "ERR unknown"

    def _off(self) -> None:
        self.board.off()
        self.board.feed(0)

    def _feed(self, text: str) -> str:
        if not re.fullmatch(r"\d{1,3}", text) or not 1 <= int(text) <= LONGEST_FEED_S:
            return "ERR value"
        self.board.set("holding", 0, int(text))
        return f"FED {int(text)}"

    def _put(self, name: str, text: str) -> str:
        wire = self._fields.get(name)
        if wire is None or not wire.output:
            return "ERR unknown"
        if not re.fullmatch(r"\d{1,6}", text) or not _can_be(wire, int(text)):
            return "ERR value"
        heats = wire.point not in ("horn", "lamp")
        if heats and int(text) != wire.off and self.board.starved():
            return "ERR hungry"
        wire.write(self.board, int(text))
        return f"PUT {name} {self._shown(wire)}"

    def _shown(self, wire: Wire) -> str:
        raw = wire.raw(self.board)
        return "open" if raw is None else f"{raw:.3f}".rstrip("0").rstrip(".")


def _can_be(wire: Wire, raw: int) -> bool:
    """True for on and off, and for what lies between where the output is a duty."""
    low, high = sorted((wire.off, wire.on))
    return low <= raw <= high if wire.point == "duty" else raw in (wire.off, wire.on)
