"""A device that speaks plain lines of its own: a microcontroller with a relay and a thermocouple amplifier.

The oven file gives its language. `ask` lists requests for values: what to send and the pattern of the reply,
with {names} where values stand. `tell` says how each output (and the dead-man) is written, with {value}. A
reply must match its pattern from first character to last, and may have several lines, as the pattern has; a
checksum follows each line where the device has one. `words` gives words that stand for numbers, both ways.

A line of text carries no number that ties reply to request, so the bus's rule (quiet after every error) and
the second look at every jump are all that stands between a late line and a wrong value: prefer a checksum,
and patterns that name what they carry.
"""

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.devices.bus import Bus
from kilnctl.devices.checksums import KINDS
from kilnctl.devices.device import Raw, WiredDevice
from kilnctl.devices.line_io import Banner, read_line
from kilnctl.devices.port import Line
from kilnctl.devices.signals import OPEN_RAW
from kilnctl.errors import BadReply, DeviceError, NoReply

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Ask, TextDevice
    from kilnctl.config.wiring import Place, Written

LONGEST = 240
ENDS = {"LF": b"\n", "CR": b"\r", "CR LF": b"\r\n"}
_NUMBER = r" {0,8}[+-]?\d{1,9}(?:\.\d{1,6})?"
FIELD = re.compile(r"\{([a-z_0-9]+)\}")
_PART = re.compile(r"(\{[a-z_0-9]+\})")


class TextBoard(WiredDevice):
    """A board whose lines the oven file describes."""

    def __init__(self, name: str, device: "TextDevice", bus: Bus, clock: Clock) -> None:
        super().__init__(f"{name} (on {bus.port.path})", bus, clock)
        self._device = device
        self._banner = Banner(device.banner, device.banner_wait_s, clock)
        self._end, self._answer_end = ENDS[device.line_end], ENDS[device.answer_end or device.line_end]
        self._written: dict[str, float] = {}
        self._asks = [(ask, self._pattern(ask.reply)) for ask in device.ask]

    def wake(self) -> None:
        """Wait for the banner: opening the port may have restarted the board. Raises DeviceError."""
        self._exchange("waiting for its start", self._await_banner, force=True)

    def _await_banner(self, line: Line) -> None:
        self._banner.wait(line, self._bus)

    def read(self, places: "Sequence[Place]", force: bool = False) -> list[Raw]:
        """Return the values of fields; each request that is needed goes out once."""
        raws: dict[str, Raw] = {p.field: BadReply(f"{self.name}: no reply has {p.field}") for p in places}
        for ask, expected in self._asks:
            wanted = {p.field for p in places} & set(expected.groupindex)
            if wanted:
                raws.update(dict.fromkeys(wanted, BadReply(self.name)))
                try:
                    raws.update(self._fields(self._ask(ask, expected, force)))
                except DeviceError as e:
                    raws.update(dict.fromkeys(wanted, e))
        return [raws[p.field] for p in places]

    def write(self, place: "Written", raw: float, force: bool = False) -> None:
        """Send the line that writes an output or feeds the dead-man, and check what comes back."""
        tell, field = self._device.tell[place.field], place.field
        before, self._written[field] = self._written.get(field, 0.0), raw
        send = self._filled(tell.send, field)
        expected = re.compile("".join(self._echoed(part, field) for part in _PART.split(tell.reply)))
        try:
            self._exchange(
                send, lambda line: self._talk(line, send, expected, force), force, greeted=not force
            )
        except DeviceError:
            self._written[field] = min(before, raw)  # no later line that sets both may bring it
            raise

    def _filled(self, text: str, field: str) -> str:
        """Return a line with its {value}, and beside it what was last written of other things it sets."""
        return FIELD.sub(lambda m: self._word_or_number(field if m[1] == "value" else m[1]), text)

    def _word_or_number(self, field: str) -> str:
        raw, words = self._written.get(field, 0.0), self._device.words.get(field)
        return words[int(raw)] if words else f"{raw:.10g}"

    def _echoed(self, part: str, field: str) -> str:
        """Return the expression of a part of a reply; a number may come with more zeros, as 037 or 37.0."""
        name = field if part == "{value}" else part[1:-1]
        if not _PART.fullmatch(part):
            return re.escape(part)
        said = re.escape(self._word_or_number(name))
        return said if name in self._device.words else rf"0*{said}(?:\.0+)?"

    def _pattern(self, reply: str) -> re.Pattern[str]:
        return pattern(reply, self._device.open_words, self._device.words)

    def simulated_speed(self) -> float | None:
        """Return the speed that follows the mark of a simulator in the reply to `who`."""
        who = self._device.who
        if not who:
            return None
        any_line = re.compile(".*")
        reply = self._exchange(who, lambda line: self._talk(line, who, any_line, False)).group(0)
        match = re.search(rf"simulated plant ({_NUMBER})$", reply)
        return float(match[1]) if match else None

    def _ask(self, ask: "Ask", expected: re.Pattern[str], force: bool) -> re.Match[str]:
        return self._exchange(ask.send, lambda line: self._talk(line, ask.send, expected, force), force)

    def _fields(self, match: re.Match[str]) -> dict[str, Raw]:
        return {field: self._raw(field, said) for field, said in match.groupdict().items()}

    def _raw(self, field: str, text: str) -> float:
        if text in self._device.open_words:
            return OPEN_RAW
        words = self._device.words.get(field)
        return float(words.index(text) if words else text)

    def _talk(self, line: Line, send: str, expected: re.Pattern[str], at_once: bool) -> re.Match[str]:
        if not at_once:
            self._await_banner(line)
        self.started_anew(send, self._banner.overheard(self._bus.overheard()), at_once)
        line.write((send + self._checksum(send)).encode("ascii") + self._end)
        got = self._read(line, send)
        if self._device.echoes and got == send + self._checksum(send):
            got = self._read(line, send)
        # Many a board names itself in the words of its banner: asked who it is, it has not restarted.
        self.started_anew(send, send != self._device.who and self._banner.seen_in(got), at_once=False)
        try:
            got = self._checked(got, send)
            for _ in range(expected.pattern.count("\n")):
                got += "\n" + self._checked(self._read(line, send), send)
            match = expected.fullmatch(got)
        except BadReply:
            self.started_anew(send, self._banner.within(got), at_once=False)
            raise
        if match is None:
            self.started_anew(send, self._banner.within(got), at_once=False)
            raise BadReply(f"{self.name}, {send}: unexpected reply {got[:40]!r}")
        self._take_prompt(line, send)
        return match

    def _take_prompt(self, line: Line, send: str) -> None:
        """Read what the board shows after an answer: left on the line, it passes for somebody else's talk."""
        prompt = self._device.prompt.encode("ascii")
        if prompt and (got := line.read(len(prompt))) != prompt:
            raise BadReply(f"{self.name}, {send}: {got!r} came after the answer, not the prompt {prompt!r}")

    def _read(self, line: Line, send: str) -> str:
        got = read_line(line, self._answer_end, LONGEST, self._clock)
        if got is None:
            raise NoReply(f"{self.name}, {send}: no reply")
        return got

    def _checksum(self, text: str) -> str:
        if self._device.checksum == "none":
            return ""
        function, digits = KINDS[self._device.checksum]
        summed = text.removeprefix(self._device.checksum_after).encode("ascii")
        return f"{self._device.checksum_mark}{function(summed):0{digits}X}"

    def _checked(self, got: str, send: str) -> str:
        """Return a reply without its checksum. Raises BadReply when that is wrong or missing."""
        if self._device.checksum == "none":
            return got
        text, mark, digits = got.rpartition(self._device.checksum_mark)
        if not text.isascii() or mark + digits.upper() != self._checksum(text):
            raise BadReply(f"{self.name}, {send}: damaged reply {got[:40]!r}")
        return text


def pattern(
    reply: str, open_words: Sequence[str], words: "Mapping[str, Sequence[str]]" = MappingProxyType({})
) -> re.Pattern[str]:
    """Return the expression of a reply: literal except for {names}, which are numbers or words."""

    def value(field: str) -> str:
        said = [re.escape(word) for word in (*words.get(field, ()), *open_words)]
        return "|".join(said if field in words else [_NUMBER, *said])

    parts = FIELD.split(reply)
    text = (f"(?P<{part}>{value(part)})" if i % 2 else re.escape(part) for i, part in enumerate(parts))
    return re.compile("".join(text))
