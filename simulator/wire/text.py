"""A plain-text board whose language somebody else has fixed: requests, replies, checksum, line end."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce

from simulator.boards.board import Board
from simulator.wire.frames import crc
from simulator.wire.signal_encoding import Wire
from simulator.wire.text_protocol import LineTalker

NAME = "simulated plant"
_FIELD = re.compile(r"\{([a-z_0-9]+)\}")


@dataclass(frozen=True, slots=True)
class Language:
    """What is said on the line.

    `asks` pairs requests with replies that hold {names}; `tells` gives for each output (and the dead-man)
    request and reply, both with {value}; `words` gives for a name the words for 0, 1 and so on. A line ends
    with `end`, an answer with `answer_end` where it has one, and `prompt` follows each answer without a line
    end. A reply may have several lines. `checksum`: none, xor8, sum8 or crc16, after `mark`, in hex digits;
    `sums_after` is a first character that it leaves out.
    """

    asks: Sequence[tuple[str, str]]
    tells: Mapping[str, tuple[str, str]]
    end: bytes = b"\n"
    answer_end: bytes = b""
    checksum: str = "none"
    mark: str = "*"
    sums_after: str = ""
    echoes: bool = False
    banner: str = ""
    open_word: str = "open"
    who: str = ""
    prompt: str = ""
    words: Mapping[str, Sequence[str]] = field(default_factory=dict)


def checksum(kind: str, text: str) -> str:
    """Return the hex digits that follow a line."""
    data = text.encode("ascii", errors="replace")
    if kind == "crc16":
        return f"{crc(data):04X}"
    value = reduce(lambda a, b: a ^ b, data, 0) if kind == "xor8" else sum(data) % 256
    return f"{value:02X}"


class TextTalker(LineTalker):
    """One board that speaks a `Language`; `fields` are its values by name, dead-man included."""

    longest = 240

    def __init__(self, board: Board, language: Language, fields: Mapping[str, Wire], seed: int = 0) -> None:
        super().__init__(board, seed)
        self.end = language.end
        self._answer_end = language.answer_end or language.end
        self._language = language
        self._fields = fields

    def banner(self) -> bytes:
        """Return the first words after a start."""
        return self._language.banner.encode("ascii") + self._answer_end if self._language.banner else b""

    def answer(self, line: str) -> bytes | None:
        """Return the reply to one line; a board of this kind keeps silent about what it does not know."""
        text = self._checked(line)
        words = None if text is None else self._words(text)
        if words is None:
            return None
        echo = line.encode("ascii", errors="replace") + self._answer_end if self._language.echoes else b""
        whole = [(said + self._tail(said)).encode("ascii") + self._answer_end for said in words.split("\n")]
        return echo + b"".join(whole) + self._language.prompt.encode("ascii")

    def _checked(self, line: str) -> str | None:
        if self._language.checksum == "none":
            return line
        text, _, _ = line.rpartition(self._language.mark)
        return text if text + self._tail(text) == line else None

    def _tail(self, text: str) -> str:
        kind = self._language.checksum
        summed = text.removeprefix(self._language.sums_after)
        return "" if kind == "none" else self._language.mark + checksum(kind, summed)

    def _words(self, text: str) -> str | None:
        language = self._language
        if language.who and text == language.who:
            return f"{NAME} {self.board.speed:g}"
        for send, reply in language.asks:
            if text == send:
                return _FIELD.sub(lambda m: self._shown(m[1]), reply)
        for name, (send, reply) in language.tells.items():
            parts = _FIELD.split(send)
            match = re.fullmatch(
                "".join(r"(\S+)" if i % 2 else re.escape(p) for i, p in enumerate(parts)), text
            )
            if match is None:
                continue
            names = [name if part == "value" else part for part in parts[1::2]] or [name]
            raws = {
                one: self._meant(one, said) for one, said in zip(names, match.groups() or [""], strict=True)
            }
            if None not in raws.values():
                return self._told({one: raw for one, raw in raws.items() if raw is not None}, name, reply)
        return None

    def _meant(self, name: str, text: str) -> float | None:
        """Return the number that a word stands for; None for one that is not known. Nothing said is a yes."""
        words = self._language.words.get(name, ())
        if not text or text in words:
            return float(words.index(text)) if text else 1.0
        return float(text) if not words and re.fullmatch(r"-?\d+(\.\d+)?", text) else None

    def _told(self, raws: Mapping[str, float], name: str, reply: str) -> str:
        """Return what is said to a line that sets these, `name` of which its {value} means."""
        for one, raw in raws.items():
            self._fields[one].write(self.board, raw)

        def seen(match: re.Match[str]) -> str:
            one = name if match[1] == "value" else match[1]
            unread = one in raws and self._fields[one].point in ("fed", "constant")
            return self._word(one, raws[one]) if unread else self._shown(one)

        return _FIELD.sub(seen, reply)

    def _shown(self, name: str) -> str:
        wire = self._fields.get(name)
        raw = 0.0 if wire is None else wire.raw(self.board)
        return self._language.open_word if raw is None else self._word(name, raw)

    def _word(self, name: str, raw: float) -> str:
        words = self._language.words.get(name)
        return words[int(raw)] if words else f"{raw:.3f}".rstrip("0").rstrip(".")
