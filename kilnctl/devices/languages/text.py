"""A device that speaks plain lines of its own: a microcontroller with a relay and a thermocouple amplifier.

The oven file gives its language. `ask` lists requests for values: what to send and the pattern of the reply,
with {names} where values stand. `tell` says how each output (and the dead-man) is written, with {value}. A
reply must match its pattern from first character to last, and may have several lines, as the pattern has; a
checksum follows each line where the device has one. `words` gives words that stand for numbers, both ways;
`{any}` in a reply is whatever changes there and is not looked at.

A line of text carries no number that ties reply to request, so the bus's rule (quiet after every error) and
the second look at every jump are all that stands between a late line and a wrong value: prefer a checksum,
and patterns that name what they carry.
"""

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.config.line_parts import ENDS, PART
from kilnctl.devices.bus import QUIET_S, Bus
from kilnctl.devices.checksums import tail
from kilnctl.devices.contact import bits_of
from kilnctl.devices.device import Raw, WiredDevice
from kilnctl.devices.languages.line_io import Banner, read_line
from kilnctl.devices.languages.reply_patterns import pattern, with_parts
from kilnctl.devices.languages.text_numbers import digits, meant, number
from kilnctl.devices.languages.unasked import Unasked
from kilnctl.devices.port import Line
from kilnctl.devices.signals import OPEN_RAW
from kilnctl.errors import BadReply, DeviceBusy, DeviceError, DeviceRefused, NoReply

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Ask, TextDevice
    from kilnctl.config.places import Place
    from kilnctl.config.wiring import Written

LONGEST, SHOWN, MOST_LINES = 240, 80, 30
AGAIN_S = 0.05  # after which a board that is busy is asked again
NO_ECHO = "and the line that was sent did not come back, though the file says echoes = true"
# How boards begin the answer to a command that they do not take (common practice, no single source).
REFUSES = re.compile(
    r"\W*(?:\?|(?:err(?:or)?|nac?k|fail(?:ed|ure)?|invalid|illegal|denied|refused|rejected|bad|unknown|what|sorry)\b)",
    re.IGNORECASE,
)


def end_bytes(words: str) -> bytes:
    """Return the bytes of a line end in words, such as CR LF, ETX or ;."""
    return b"".join(ENDS.get(word, word.encode("ascii")) for word in words.split(" "))


class TextBoard(WiredDevice):
    """A board whose lines the oven file describes."""

    def __init__(self, name: str, device: "TextDevice", bus: Bus, clock: Clock) -> None:
        super().__init__(f"{name} (on {bus.port.path})", bus, clock)
        self._device = device
        self._banner = Banner(device.banner, device.banner_wait_s, clock)
        bus.talks = bool(device.unasked)
        self._calm = False
        self._end = end_bytes(device.line_end)
        self._answer_end = end_bytes(device.answer_end or device.line_end)
        self._written: dict[str, float] = {}
        self._asks = [(ask, self._pattern(ask.reply)) for ask in device.ask]
        self._unasked = (
            Unasked(device.unasked, self._answer_end, clock, device.prompt) if device.unasked else None
        )
        self._pictures = {name: shown for ask in device.ask for name, shown in PART.findall(ask.reply)}

    def wake(self) -> bool:
        """Wait for the banner: opening the port may have restarted the board. Raises DeviceError."""
        return self._exchange("waiting for its start", self._await_banner, force=True)

    def _await_banner(self, line: Line) -> bool:
        return self._banner.wait(line, self._bus)

    def read(self, places: "Sequence[Place]", force: bool = False) -> list[Raw]:
        """Return the values of fields; each request that is needed goes out once, the first place's first.

        After a silence the first answer shows what any later line may change.
        """
        raws: dict[str, Raw] = {p.field: BadReply(f"{self.name}: no reply has {p.field}") for p in places}
        turn = list(raws).index
        asked = [(raws.keys() & expected.groupindex.keys(), ask, expected) for ask, expected in self._asks]
        for wanted, ask, expected in sorted(asked, key=lambda one: min(map(turn, one[0]), default=0)):
            if wanted:
                raws.update(dict.fromkeys(wanted, BadReply(self.name)))
                try:
                    raws.update(self._fields(self._ask(ask, expected, force)))
                except DeviceError as e:
                    raws.update(dict.fromkeys(wanted, e))
        return [_part(raws[p.field], p) for p in places]

    def write(self, place: "Written", raw: float, force: bool = False) -> None:
        """Send the line that writes an output or feeds the dead-man, and check what comes back."""
        tell, field = self._device.tell[place.field], place.field
        before, self._written[field] = self._written.get(field, 0.0), raw
        send = PART.sub(lambda m: self._told(m[1], m[2] or "", field), tell.send)
        expected = None if tell.reply is None else self._answer_of(tell.reply, field)
        try:
            self._exchange(
                send, lambda line: self._talk(line, send, expected, force, True), force, greeted=not force
            )
        except DeviceError:
            self._written[field] = min(before, raw)  # no later line that sets both may bring it
            raise
        finally:
            if self._unasked is not None and not place.feeds:  # a sign of life changes nothing that is read
                self._unasked.written(answered=expected is not None)

    def _told(self, name: str, picture: str, field: str) -> str:
        """Return what stands for {value}, or for what was last written of another thing that a line sets."""
        one = field if name == "value" else name
        raw, words = self._written.get(one, 0.0), self._device.words.get(one)
        return words[int(raw)] if words else digits(raw, picture, self._device.decimal)

    def _answer_of(self, reply: str, field: str) -> re.Pattern[str]:
        """Return the expression of the answer to a write; a number may have more zeros, as 037 or 37.0."""

        def value(name: str, picture: str) -> str:
            told = re.escape(self._told(name, picture, field))
            one = field if name == "value" else name
            if one in self._device.words:
                return told
            return f"(?i:{told})" if picture else rf"0*{told}(?:[{self._device.decimal}]0+)?"

        return with_parts(reply, value)

    def _pattern(self, reply: str) -> re.Pattern[str]:
        return pattern(reply, self._device.open_words, self._device.words, self._device.decimal)

    def simulated_speed(self) -> float | None:
        """Return the speed that follows the mark of a simulator in the reply to `who`."""
        who = self._device.who
        if not who:
            return None
        said = self._exchange(who, lambda line: self._all_said(line, who))
        match = re.search(rf"simulated plant ({number()})$", said, re.MULTILINE)
        return float(match[1]) if match else None

    def _all_said(self, line: Line, who: str) -> str:
        """Return all lines of an answer of which the file does not tell the end: until the line is quiet."""
        first = self._talk(line, who, re.compile(".*"), False)
        said, line.timeout = [first.group(0) if first else ""], QUIET_S
        while len(said) < MOST_LINES and (more := self._line(line)) is not None:
            said.append(more)
        return "\n".join(said)

    def _ask(self, ask: "Ask", expected: re.Pattern[str], force: bool) -> re.Match[str] | None:
        return self._exchange(ask.send, lambda line: self._talk(line, ask.send, expected, force), force)

    def _fields(self, match: re.Match[str] | None) -> dict[str, Raw]:
        found = match.groupdict() if match else {}
        return {field: self._raw(field, text) for field, text in found.items() if text is not None}

    def _raw(self, field: str, text: str) -> Raw:
        if text in self._device.open_words:
            return OPEN_RAW
        if words := self._device.words.get(field):
            return float(words.index(text))
        try:
            return meant(text, self._pictures.get(field, ""), self._device.decimal)
        except ValueError:
            return BadReply(f"{self.name}: {text!r} is no number for {field}")

    def _talk(
        self, line: Line, send: str, expected: re.Pattern[str] | None, at_once: bool, tells: bool = False
    ) -> re.Match[str] | None:
        """Send a line and return the answer that it has; None where it has none.

        What it `tells` may be refused; in place of a reading such words are none.
        """
        if not at_once:
            self._await_banner(line)
        heard = self._bus.overheard()
        self.started_anew(send, self._banner.overheard(heard), at_once)
        if self._unasked is not None:
            strange = self._unasked.take(heard)
            calm, self._calm = self._calm, False
            if strange and calm:  # after an error it may be a late answer
                self._bus.strange(heard, strange)
            if not send and expected is not None:
                return self._listened(self._unasked, line, expected)
        if expected is None:
            self._send(line, send)
            self._unanswered(line, send)
            return None
        got = self._first_line(line, send)
        # Many a board names itself in the words of its banner: asked who it is, it has not restarted.
        self.started_anew(send, send != self._device.who and self._banner.seen_in(got), at_once=False)
        try:
            got = self._checked(got, send)
            if tells and REFUSES.match(got) and not expected.fullmatch(got):
                self._take_prompt(line, send)
                raise DeviceRefused(f"{self.name}, {send}: refused: the device answers {got[:SHOWN]!r}")
            for _ in range(expected.pattern.count("\n")):
                got += "\n" + self._checked(self._next_line(line, send, got), send)
            match = expected.fullmatch(got)
        except BadReply:
            self.started_anew(send, self._banner.within(got), at_once=False)
            raise
        if match is None:
            self.started_anew(send, self._banner.within(got), at_once=False)
            raise BadReply(f"{self.name}, {send}: unexpected reply {got[:SHOWN]!r}")
        self._take_prompt(line, send)
        self._calm = True
        return match

    def _next_line(self, line: Line, send: str, before: str) -> str:
        """Return one more line of an answer. Raises BadReply for none: the board has answered, in fewer."""
        try:
            return self._read(line, send)
        except NoReply:
            raise BadReply(f"{self.name}, {send}: unexpected reply {before[:SHOWN]!r}") from None

    def _send(self, line: Line, send: str) -> None:
        line.write((send + self._checksum(send)).encode("ascii") + self._end)

    def _first_line(self, line: Line, send: str) -> str:
        """Send a line and return the first one of its answer; while the board is busy it is asked again."""
        give_up_s = self._give_up_s(line)
        while True:
            self._send(line, send)
            got = self._past_echo(line, send) if self._device.echoes else ""
            got = got or self._read(line, send)
            if not self._is_busy(got):
                return got
            self._take_prompt(line, send)
            if self._clock.real_s() + AGAIN_S > give_up_s:
                raise DeviceBusy(f"{self.name}, {send}: the device says {got}")
            self._clock.pause(AGAIN_S)

    def _past_echo(self, line: Line, send: str) -> str:
        """Read until the line that was sent comes back; return what follows it there: perhaps the answer.

        What comes before it answers an older line. A command may end otherwise than an answer does.
        """
        echo, give_up_s, before = send + self._checksum(send), self._give_up_s(line), ""
        while self._clock.real_s() < give_up_s:
            try:
                got = self._read(line, send)
            except NoReply:
                if before:
                    break
                raise
            self.started_anew(send, self._banner.seen_in(got), at_once=False)
            bare = got if got.startswith(echo) else got.removeprefix(self._device.prompt)
            follows = bare.removeprefix(echo)
            if bare.startswith(echo) and follows[:1] in ("", "\r", "\n"):
                return follows.lstrip("\r\n")
            before = got
        raise BadReply(f"{self.name}, {send}: unexpected reply {before[:SHOWN]!r}, {NO_ECHO}")

    def _is_busy(self, got: str) -> bool:
        """True for a word that means: ask again; some boards sum their commands and not such a word."""
        return any(got in (word, word + self._checksum(word)) for word in self._device.busy_words)

    def _listened(self, unasked: Unasked, line: Line, expected: re.Pattern[str]) -> re.Match[str]:
        """Return what the board says by itself, now or within the time that it has for an answer."""
        found = unasked.newest(expected, lambda: self._line(line), self._give_up_s(line))
        if found is None:
            raise NoReply(f"{self.name}: no line like the one in ask came unasked")
        self._calm = True
        return found

    def _give_up_s(self, line: Line) -> float:
        return self._clock.real_s() + 2 * (line.timeout or 0.0)

    def _own_line(self, line: Line, send: str) -> str | None:
        """Return the next line; one that tells a restart and is none of the answers is not passed over."""
        got, unasked = self._line(line), self._device.unasked
        told = got is not None and self._device.banner.startswith(unasked) and self._banner.seen_in(got)
        self.started_anew(send, told, at_once=False)
        return got

    def _line(self, line: Line) -> str | None:
        return read_line(line, self._answer_end, LONGEST, self._clock)

    def _unanswered(self, line: Line, send: str) -> None:
        """Take what comes back of a line that has no answer: an echo, a prompt."""
        if self._device.echoes:
            self._past_echo(line, send)
        self._take_prompt(line, send)

    def _take_prompt(self, line: Line, send: str) -> None:
        """Read what the board shows after an answer: left on the line, it passes for somebody else's talk."""
        prompt = self._device.prompt.encode("ascii")
        if prompt and (got := line.read(len(prompt))) != prompt:
            raise BadReply(f"{self.name}, {send}: {got!r} came after the answer, not the prompt {prompt!r}")

    def _read(self, line: Line, send: str) -> str:
        unasked = self._unasked
        if unasked is None:
            got = self._line(line)
        else:
            got = unasked.answer(lambda: self._own_line(line, send), self._give_up_s(line))
        if got is None:
            raise NoReply(f"{self.name}, {send}: no reply")
        return got

    def _checksum(self, text: str) -> str:
        device = self._device
        return tail(device.checksum, device.checksum_mark, device.checksum_after, text)

    def _checked(self, got: str, send: str) -> str:
        """Return a reply without its checksum. Raises BadReply when that is wrong or missing."""
        if self._device.checksum == "none":
            return got
        size = len(self._checksum(""))
        text = got[:-size]
        if not text.isascii() or text + self._checksum(text) != text + got[-size:].upper():
            raise BadReply(f"{self.name}, {send}: damaged reply {got[:SHOWN]!r}")
        return text


def _part(raw: Raw, place: "Place") -> Raw:
    """Return one bit, or some bits, of a number where the place is no more."""
    whole = isinstance(raw, DeviceError) or raw == OPEN_RAW or (place.bit is None and place.mask is None)
    return raw if whole or isinstance(raw, DeviceError) else float(bits_of(place, int(raw)))
