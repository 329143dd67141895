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
_FIELD = re.compile(r"\{([a-z_0-9]+)(?::([^{}]*))?\}")
ANY = "any"  # stands in an answer where the board writes what it likes
SILENT = "\0"  # a line that is obeyed and not answered


@dataclass(frozen=True, slots=True)
class Language:
    """What is said on the line.

    `asks` pairs requests with replies that hold {names}; `tells` gives for each output (and the dead-man)
    request and reply, both with {value}, or no reply; behind a colon a name may show its digits, as
    {value:000}; `words` gives for a name the words for 0, 1 and so on, `point` the decimal point. A line ends
    with `end`, an answer with `answer_end` where it has one, and `prompt` follows each answer without a line
    end. A reply may have several lines. `checksum`: none, xor8, sum8, lrc8 or crc16, after `mark`, in hex
    digits; `sums_after` are first characters that it leaves out.
    """

    asks: Sequence[tuple[str, str]]
    tells: Mapping[str, tuple[str, str | None]]
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
    point: str = "."
    words: Mapping[str, Sequence[str]] = field(default_factory=dict)


def checksum(kind: str, text: str) -> str:
    """Return the hex digits that follow a line."""
    data = text.encode("ascii", errors="replace")
    if kind == "crc16":
        return f"{crc(data):04X}"
    value = reduce(lambda a, b: a ^ b, data, 0) if kind == "xor8" else sum(data) % 256
    value = -value % 256 if kind == "lrc8" else value
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
        if words == SILENT:
            return echo + self._language.prompt.encode("ascii")
        whole = [(said + self._tail(said)).encode("utf-8") + self._answer_end for said in words.split("\n")]
        return echo + b"".join(whole) + self._language.prompt.encode("ascii")

    def _checked(self, line: str) -> str | None:
        if self._language.checksum == "none":
            return line
        text = line[: -len(self._tail(""))]
        return text if text + self._tail(text) == line else None

    def _tail(self, text: str) -> str:
        kind = self._language.checksum
        summed = text[1:] if text[:1] in self._language.sums_after else text
        return "" if kind == "none" else self._language.mark + checksum(kind, summed)

    def _words(self, text: str) -> str | None:
        language = self._language
        if language.who and text == language.who:
            return f"{NAME} {self.board.speed:g}"
        for send, reply in language.asks:
            if text == send:
                return _FIELD.sub(lambda m: self._shown(m[1], m[2] or ""), reply)
        for name, (send, said) in language.tells.items():
            match = _sent(send).fullmatch(text)
            if match is None:
                continue
            shown = _FIELD.findall(send) or [(name, "")]
            raws = {
                (name if one == "value" else one): self._meant(name if one == "value" else one, text, picture)
                for (one, picture), text in zip(shown, match.groups() or [""], strict=True)
            }
            if None not in raws.values():
                return self._told({one: raw for one, raw in raws.items() if raw is not None}, name, said)
        return None

    def _meant(self, name: str, text: str, picture: str) -> float | None:
        """Return the number that a word stands for; None for one that is not known. Nothing said is a yes."""
        words = self._language.words.get(name, ())
        if not text or text in words:
            return float(words.index(text)) if text else 1.0
        if picture[:1] in ("X", "x") and re.fullmatch(r"[0-9A-Fa-f]+", text):
            return float(int(text, 16))
        text = text.replace(self._language.point, ".").strip(" ")
        whole = len(text) == len(picture.strip(" ")) or " " in picture or not picture
        return float(text) if not words and whole and re.fullmatch(r"[+-]?\d+(\.\d+)?", text) else None

    def _told(self, raws: Mapping[str, float], name: str, reply: str | None) -> str:
        """Return what is said to a line that sets these, `name` of which its {value} means."""
        for one, raw in raws.items():
            self._fields[one].write(self.board, raw)
        if reply is None:
            return SILENT

        def seen(match: re.Match[str]) -> str:
            one = name if match[1] == "value" else match[1]
            unread = one in raws and self._fields[one].point in ("fed", "constant")
            shown = match[2] or ""
            return self._word(one, raws[one], shown) if unread else self._shown(one, shown)

        return _FIELD.sub(seen, reply)

    def _shown(self, name: str, picture: str = "") -> str:
        wire = self._fields.get(name)
        if name == ANY:
            return f"{self.board.at_s:.0f}"
        raw = 0.0 if wire is None else wire.raw(self.board)
        return self._language.open_word if raw is None else self._word(name, raw, picture)

    def _word(self, name: str, raw: float, picture: str) -> str:
        words = self._language.words.get(name)
        if words:
            return words[int(raw)]
        text = _drawn(raw, picture) if picture else f"{raw:.3f}".rstrip("0").rstrip(".")
        return text.replace(".", self._language.point)


def _sent(send: str) -> re.Pattern[str]:
    """Return the expression of a line that is sent: as many characters as a picture shows, or one word."""
    text, at = "", 0
    for part in _FIELD.finditer(send):
        text += re.escape(send[at : part.start()]) + (f"(.{{{len(part[2])}}})" if part[2] else r"(\S.*?)")
        at = part.end()
    return re.compile(text + re.escape(send[at:]))


def _drawn(raw: float, picture: str) -> str:
    """Return a number with as many characters as its picture: 000.0, four blanks, +XX."""
    digits = picture.lstrip("+")
    if digits[:1] in ("X", "x"):
        return f"{round(raw) % 16 ** len(digits):0{len(digits)}X}"
    decimals = len(picture.strip(" ").partition(".")[2])
    if not picture.strip(" "):
        return f"{raw:.1f}".ljust(len(picture))
    plus, zeros = ("+" if "+" in picture else ""), ("" if " " in picture else "0")
    return f"{raw:{plus}{zeros}{len(picture)}.{decimals}f}"
