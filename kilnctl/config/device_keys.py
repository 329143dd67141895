"""The ports and devices of an oven file: how each is reached, and in which language it speaks."""

from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import AfterValidator, Discriminator, Field, Tag, model_validator

from kilnctl.config.line_parts import (
    BREAK,
    IN_ONE_LINE,
    why_no_comma,
    why_no_end,
    why_no_word,
    why_not_read,
    why_not_sent,
)
from kilnctl.config.port_path import is_network, lacks_its_kind, meant, why_no_port
from kilnctl.quantities import DurationS, between
from kilnctl.tomlfile import Strict, wrong

Name = Annotated[str, Field(pattern="^[a-z][a-z0-9_]*$")]


def _word(word: str) -> str:
    if why := why_no_word(word):
        raise wrong("word", why)
    return word


Word = Annotated[str, AfterValidator(_word)]


def _end(words: str) -> str:
    if why := why_no_end(words):
        raise wrong("end", why)
    return words


LineEnd = Annotated[str, AfterValidator(_end)]


def _path(path: str) -> str:
    if not path:
        raise wrong("path", "no port is named; `ls /dev/serial/by-id` lists them")
    if lacks_its_kind(path):
        better = f"tcp://{path.rpartition('://')[2]}"
        raise wrong("path", f'"{path}": a network address begins with its kind: "{better}" for Modbus')
    return meant(path)


class Port(Strict):
    """A port, on a serial line or a network; `timeout` is the longest wait for a reply, unscaled.

    `frames` is how Modbus is written on it. `echoes`: whoever sends hears himself before the answer. `gap` is
    the least time between two messages.

    A `path` that begins with neither / nor an address is a simulator's line in the kilnctl folder.
    """

    path: Annotated[str, AfterValidator(_path)]
    baud: Annotated[int, Field(ge=300, le=4_000_000)] = 9600
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Literal[1, 2] = 1
    data_bits: Literal[7, 8] = 8
    frames: Literal["rtu", "ascii"] = "rtu"
    echoes: bool = False
    timeout_s: Annotated[DurationS, between(0.005, 10, "5 ms and 10 s")] = Field(default=0.2, alias="timeout")
    gap_s: Annotated[DurationS, between(0, 0.1, "0 s and 100 ms: an off waits for it before each word")] = (
        Field(default=0.0, alias="gap")
    )

    @property
    def settings(self) -> dict[str, Any]:
        """Return what all users of one line must agree on: every key but the path."""
        return self.model_dump(exclude={"path"})

    @model_validator(mode="after")
    def _address(self) -> Self:
        if self.frames == "ascii" and self.path.startswith("tcp://"):
            raise wrong("path", "tcp:// has frames of its own; write socket://, or take frames out")
        if not is_network(self.path):
            return self
        if why := why_no_port(self.path):
            raise wrong("path", why)
        given = sorted({"baud", "parity", "stop_bits", "data_bits", "echoes"} & self.model_fields_set)
        if given:
            raise wrong("path", f"a network address has no {', '.join(given)}; leave it out")
        return self


ADDRESSES, OWN_UNITS = range(1, 248), (0, 255)


class ModbusDevice(Strict):
    """A Modbus device. `together` reads adjacent registers in one request; some devices cannot.

    `address` is 1 to 247 (serial line guide 1.02, 2.2); over TCP also 255 or 0, which mean the device that is
    connected (messaging guide 1.0b, 4.4.2.5).
    """

    kind: Literal["modbus"] = "modbus"
    port: str
    address: Annotated[int, Field(ge=0, le=255)]
    together: bool = True


class LineDevice(Strict):
    """A board that speaks the line protocol of this project.

    `name` is the name in its reply to WHO; `banner_wait` is how long its start may take.
    """

    raw: ClassVar[tuple[str, ...]] = ("name",)
    kind: Literal["line"]
    port: str
    name: Annotated[str, Field(pattern="^[A-Za-z0-9_-]{1,24}$")] | None = None
    banner_wait_s: Annotated[DurationS, between(0, 3, "0 s and 3 s")] = Field(
        default=2.0, alias="banner_wait"
    )


class Ask(Strict):
    """A request for values: the line that is sent and the pattern of the reply, with {names} for values.

    Without `send` the values stand in a line that the board sends by itself.
    """

    raw: ClassVar[tuple[str, ...]] = ("send", "reply")
    send: str = ""
    reply: str


class Tell(Strict):
    """How something is written: the line that is sent and the reply, both with {value}; None: no reply."""

    raw: ClassVar[tuple[str, ...]] = ("send", "reply")
    send: str
    reply: str | None = None


class TextDevice(Strict):
    """A device with lines of its own.

    `line_end` ends what is sent, and what comes back unless `answer_end` says otherwise.
    `open_words` stand in the reply where a number should be when the sensor is broken. `banner` begins the
    line that the board sends after a start. `echoes`: it repeats each request before it answers. `who` is a
    request whose reply names the device. `prompt` is what it shows after each
    answer, without a line end. `checksum_after` are the characters that a checksum leaves out where a line
    begins with one of them. `busy_words` come in place of an answer and mean: ask again. `words` gives for a
    field the words that stand for 0, 1 and so on. `decimal` stands in numbers, both ways. `unasked`
    begins the lines that the board sends by itself.
    """

    raw: ClassVar[tuple[str, ...]] = (
        "checksum_mark", "checksum_after", "banner", "unasked", "open_words", "busy_words", "who", "prompt",
    )  # fmt: skip
    kind: Literal["text"]
    port: str
    line_end: LineEnd = "LF"
    answer_end: LineEnd | None = None
    decimal: Literal[".", ","] = "."
    checksum: Literal["none", "xor8", "sum8", "lrc8", "crc16"] = "none"
    checksum_mark: Annotated[str, Field(max_length=1)] = "*"
    checksum_after: Annotated[str, Field(max_length=4)] = ""
    echoes: bool = False
    banner: str = ""
    banner_wait_s: Annotated[DurationS, between(0, 3, "0 s and 3 s")] = Field(
        default=2.0, alias="banner_wait"
    )
    open_words: tuple[str, ...] = ()
    busy_words: tuple[str, ...] = ()
    who: str = ""
    unasked: str = ""
    prompt: Annotated[str, Field(pattern="^[ -~]{0,24}$")] = ""
    words: dict[Name, tuple[Word, ...]] = Field(default_factory=dict)
    ask: tuple[Ask, ...]
    tell: dict[Name, Tell] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _asks(self) -> Self:
        if not self.ask:
            raise wrong("ask", "has no ask: nothing could be read from the device")
        if any(not ask.send for ask in self.ask) and (not self.unasked or self.checksum != "none"):
            raise wrong(
                "ask", "needs send; only values of lines sent `unasked`, without a checksum, need none"
            )
        answers: list[Ask | Tell] = [*self.ask, *self.tell.values()]
        for one in answers:
            if why := why_not_sent(one.send) or why_not_read(one.reply or ""):
                raise wrong("line", why)
            if self.decimal == "," and (why := why_no_comma(one.reply or "", self.words)):
                raise wrong("line", why)
            if self.banner and one.reply and one.reply.startswith(self.banner):
                raise wrong("banner", f"the answer to {one.send} begins like it and would pass for a restart")
        return self

    @model_validator(mode="after")
    def _words(self) -> Self:
        for field, words in self.words.items():
            if len(set(words)) != len(words) or len(words) < 2:
                raise wrong("words", f"words.{field}: give two or more words that differ, for 0, 1 and so on")
        told = {"banner": [self.banner], "who": [self.who], "unasked": [self.unasked]}
        told |= {"open_words": [*self.open_words], "busy_words": [*self.busy_words]}
        for key, texts in told.items():
            if any(BREAK.search(text) for text in texts):
                raise wrong("words", f"{key}: {IN_ONE_LINE}")
        if ", " in self.unasked:
            raise wrong("unasked", f"{self.unasked}: one beginning for all such lines, like ! for !A and !B")
        replies = {ask.reply for ask in self.ask} | {tell.reply for tell in self.tell.values()}
        for word in self.busy_words:
            if word in replies:
                raise wrong("words", f"busy_words: {word} is an answer too, which would never be taken")
            if word in self.open_words:
                raise wrong("words", f"busy_words: {word} stands in open_words too; it means one of the two")
        return self


def _kind(device: Any) -> str:
    kind = device.get("kind", "modbus") if isinstance(device, dict) else getattr(device, "kind", "modbus")
    return str(kind)


Device = Annotated[
    Annotated[ModbusDevice, Tag("modbus")]
    | Annotated[LineDevice, Tag("line")]
    | Annotated[TextDevice, Tag("text")],
    Discriminator(_kind),
]
