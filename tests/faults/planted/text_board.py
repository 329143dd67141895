"""Mistakes with boards that speak lines of text."""

import re
import tempfile
import termios
import time
from pathlib import Path

from faults.planted.bench import HEAD, OVEN, Bench, Mistake, OddBench
from foreign.second_sheets import Dollar
from foreign.wires import OnAPty, lines

TEXT = (
    OVEN[: OVEN.index("[device.relays]")]
    + """[device.micro]
kind = "text"
port = "rs485"
ask = [{ send = "READ", reply = "T={process} H={heater}" }]
[device.micro.tell.heater]
send = "HEAT {value}"
reply = "HEAT {value}"
[device.micro.tell.alive]
send = "ALIVE {value}"
reply = "ALIVE {value}"
[signal.process]
device = "micro"
field = "process"
unit = "C"
low = "-20 C"
high = "1300 C"
[output.heater]
device = "micro"
field = "heater"
[dead_man]
device = "micro"
field = "alive"
write = 5
drops_after = "5 s"
"""
)


class TextBoard(Bench):
    """A microcontroller with lines of its own, at 9600 or 19200 baud, that may write a comma or want a CR."""

    def __init__(self, speed: int = termios.B19200, point: str = ".", end: bytes = b"\n") -> None:
        super().__init__()
        self.line.close()
        self._speed, self._point, self._heat, self._until_s = speed, point, "0", 0.0
        self._words = lines(lambda line: self._say(line, end.decode()), end)
        self.line = OnAPty(self._read)

    def _read(self, came: bytes) -> tuple[int, bytes]:
        at = termios.tcgetattr(self.line._slave)[4] if hasattr(self, "_words") else self._speed
        return self._words(came) if at == self._speed and self.cable else (len(came), b"")

    def _say(self, line: str, end: str) -> str | None:
        if time.monotonic() > self._until_s:
            self._heat = "0"
        if line == "READ":
            return f"T=20.0 H={self._heat}{end}".replace(".", self._point)
        if found := re.fullmatch(r"HEAT ([01])", line):
            self._heat = found[1]
        elif line == "ALIVE 5":
            self._until_s = time.monotonic() + 5.0
        else:
            return None
        return line + end


class Talker(Bench):
    """A text board with a terminal's manners, or one that sums its lines."""

    def __init__(self, echo: bool = False, prompt: str = "", summed: bool = False) -> None:
        super().__init__()
        self.line.close()
        self._heat = "0"

        def said(line: str) -> str | None:
            text, _, _ = line.partition("*")
            if not self.cable:
                return None
            if text == "READ":
                answer = f"T=20.0 H={self._heat}"
            elif text.startswith("HEAT "):
                self._heat, answer = text[5:], text
            elif text == "ALIVE 5":
                answer = text
            else:
                return None
            tail = f"*{sum(answer.encode()) % 256:02X}" if summed else ""
            return f"{line}\n" * echo + f"{answer}{tail}\n{prompt}"

        self.line = OnAPty(lines(said))


DOLLAR = (
    HEAD + '[device.micro]\nkind = "text"\nport = "rs485"\nline_end = "CR LF"\nchecksum = "xor8"\n'
    + 'ask = [{ send = "$GT", reply = "$TC,{process},H,{heater},L,{lamp}" }]\n'
    + '[device.micro.tell]\nheater = { send = "$SH,{value}", reply = "$OK,SH,{value}" }\n'
    + 'alive = { send = "$KA,{value}", reply = "$OK,KA,{value}" }\n'
    + '[signal.process]\ndevice = "micro"\nfield = "process"\nunit = "C"\nlow = "-20 C"\nhigh = "400 C"\n'
    + '[output.heater]\ndevice = "micro"\nfield = "heater"\n'
    + '[dead_man]\ndevice = "micro"\nfield = "alive"\nwrite = 5\ndrops_after = "5 s"\n'
)  # fmt: skip


class OtherWords(Bench):
    """A relay board that is told MAKE and says MADE, and a thermometer on a line of its own."""

    def __init__(self, end: str = "\n") -> None:
        super().__init__()
        self.line.close()
        self.made, self._folder = "BROKEN", tempfile.TemporaryDirectory()

        def said(line: str) -> str | None:
            if not self.cable:
                return None
            if line in ("MAKE 3", "BREAK 3"):
                self.made = {"MAKE 3": "MADE", "BREAK 3": "BROKEN"}[line]
                return f"DONE{end}"
            return {"SHOW 3": f"3={self.made}{end}", "TICK": f"DONE{end}"}.get(line)

        self.line, self.other = OnAPty(lines(said, end[:1].encode())), OnAPty(lines({"T?": "T=20.0C\n"}.get))
        Path(self.path).symlink_to(self.line.path)
        Path(f"{self.path}-reader").symlink_to(self.other.path)

    @property
    def path(self) -> str:
        return f"{self._folder.name}/relays"

    def close(self) -> None:
        super().close()
        self.other.close()
        self._folder.cleanup()


WORDS = (
    OVEN[: OVEN.index("[device.relays]")].replace('"1000 C"', '"260 C"')
    + '[device.micro]\nkind = "text"\nport = "rs485"\n'
    + 'words = { heater = ["BREAK", "MAKE"], relay = ["BROKEN", "MADE"] }\n'
    + 'ask = [{ send = "SHOW 3", reply = "3={relay}" }]\n'
    + 'tell = { heater = { send = "{value} 3", reply = "DONE" },'
    + ' alive = { send = "TICK", reply = "DONE" } }\n'
    + '[port.other]\npath = "PATH-reader"\nbaud = 19200\n'
    + '[device.reader]\nkind = "text"\nport = "other"\n'
    + 'ask = [{ send = "T?", reply = "T={process}C" }]\n'
    + '[output.heater]\ndevice = "micro"\nfield = "heater"\n'
    + 'back = { device = "micro", field = "relay" }\n'
    + '[signal.process]\ndevice = "reader"\nfield = "process"\nunit = "C"\nlow = "-20 C"\nhigh = "400 C"\n'
    + '[dead_man]\ndevice = "micro"\nfield = "alive"\nwrite = 1\ndrops_after = "5 s"\n'
)  # fmt: skip


MISTAKES = [
    Mistake(
        "a text board at another speed",
        "bus check",
        "baud = 9600",
        file=TEXT,
        board=lambda: TextBoard(termios.B9600),
        never="swap",
    ),
    Mistake(
        "a decimal comma",
        "bus check",
        "20,0.*comma",
        file=TEXT,
        board=lambda: TextBoard(point=","),
    ),
    Mistake(
        "a text board that ends its lines with CR",
        "bus check",
        'line_end = "CR"',
        file=TEXT,
        board=lambda: TextBoard(end=b"\r"),
        never="swap|baud =",
    ),
    Mistake(
        "a prompt that the file does not name",
        "bus check",
        'prompt = "> "',
        file=TEXT,
        board=lambda: Talker(prompt="> "),
        never="two devices|another program",
    ),
    Mistake(
        "a checksum that the file does not name",
        "bus check",
        'checksum = "sum8"',
        file=TEXT,
        board=lambda: Talker(summed=True),
        never="speed",
    ),
    Mistake(
        "an echo that the file does not name",
        "bus check",
        "echoes = true",
        file=TEXT,
        board=lambda: Talker(echo=True),
        never="speed",
    ),
    Mistake(
        "a checksum that leaves the first character out",
        "bus check",
        'with checksum_after = "\\$"',
        file=DOLLAR,
        board=lambda: OddBench(Dollar()),
        never="power|speed",
    ),
    Mistake(
        "answers that end with one letter more",
        "bus check",
        'write answer_end = "CR LF"$',
        'port = "rs485"\n',
        'port = "rs485"\nline_end = "CR"\n',
        file=WORDS,
        board=lambda: OtherWords("\r\n"),
        never="Add it to reply",
    ),
    Mistake(
        "a text board without the dead-man that the file names",
        "dead-man test",
        "NO dead-man",
        file=WORDS,
        board=OtherWords,
    ),
]
