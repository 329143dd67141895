"""Further planted mistakes, each with its right cure written down before the program was asked: other wires,
other tables, gateways, text boards, panels.
"""

import random
import re
import struct
import termios
import time

from faults.planted_bench import OVEN, Bench, Mistake, seen
from foreign import OnAPty, OnASocket, lines

from kilnctl.devices.port import open_line

PORT = 'path = "PATH"\nbaud = 19200'
TCP = OVEN.replace(PORT, 'path = "PATH"')
CONTACT = '[signal.heater_live]\ndevice = "relays"\ntable = "discrete"\nregister = 0\n'


def other_switch(name: str) -> dict[str, str]:
    """A further switch of the oven at discrete 1."""
    more = CONTACT.replace("heater_live", name).replace("register = 0", "register = 1")
    return {"old": CONTACT, "new": CONTACT + more}


class EvenParity(Bench):
    """What the adapter sends with another parity, the boards do not hear."""

    @staticmethod
    def opener(port, exclusive):
        line = open_line(port, exclusive)
        if port.parity != "even":
            line.write = len
        return line


class OtherForms(Bench):
    """The sensor's module gives the same temperature in further forms."""

    def _pass(self) -> None:
        super()._pass()
        cells = self.sensor.tables["input"]
        tenths = cells[0]
        cells[6] = 10 * tenths & 0xFFFF
        cells[7] = (tenths << 8 | tenths >> 8) & 0xFFFF
        cells.update(zip((8, 9), struct.unpack(">HH", struct.pack(">i", tenths)), strict=True))


class Odd(Bench):
    """A line with one oddity: late replies, stray bytes, a contact that is turned round, a switch at rest."""

    def __init__(self, late_s: float = 0.0, noise: float = 0.0, turned: bool = False, **more) -> None:
        self._late_s, self._noise, self._turned, self._dice = late_s, noise, turned, random.Random(3)
        super().__init__(**more)
        self.relays.tables["discrete"][1] = 1

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        used, reply = super()._talk(came)
        if reply:
            time.sleep(self._late_s)
        if reply and self._dice.random() < self._noise:
            reply = bytes([self._dice.randrange(256)]) + reply
        return used, reply

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] ^= self._turned


class OnNetwork(Bench):
    """The same boards behind a Modbus TCP gateway that refuses (0B) for whoever is not there (1.1b3, 7).

    With the manner `taken` it serves one connection, which another program has.
    """

    def __init__(self, manner=None) -> None:
        super().__init__()
        self._socket = OnASocket({**{n: _NotThere() for n in range(1, 248)}, **self.units}, manner=manner)

    @property
    def path(self) -> str:
        return f"tcp://127.0.0.1:{self._socket.port}"

    def close(self) -> None:
        self._socket.close()
        super().close()


def taken(*_reply: bytes) -> None:
    """Say nothing and close."""


class _NotThere:
    def answer(self, pdu: bytes) -> bytes:
        return bytes([pdu[0] | 0x80, 0x0B])


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
        return self._words(came) if at == self._speed else (len(came), b"")

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


PANEL = (
    OVEN[: OVEN.index("[device.sensor]")]
    + """[signal.process]
device = "relays"
table = "holding"
register = 0
format = "int16"
scale = 1.0
unit = "C"
low = "-20 C"
high = "1300 C"
[output.heater]
device = "relays"
table = "holding"
register = 1
kind = "set-point"
unit = "C"
park = "0 C"
link_loss = "holds"
"""
)


class PanelThatClamps(Bench):
    """A panel whose own lowest set-point is 50 °C: it takes no number below."""

    def __init__(self) -> None:
        super().__init__()
        self.relays.tables["holding"].update({0: 20, 1: 50})

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        cells = self.relays.tables["holding"]
        cells[1] = max(50, cells[1])


MORE = [
    Mistake(
        "wrong parity", "bus check", r'it does with baud = 19200, parity = "even"', board=EvenParity,
        never="swap the two data wires",
    ),
    Mistake(
        "hundredths taken for tenths", "cold check", "With scale = 0.01 it would show", board=OtherForms,
        never="register =|unit =", **seen(6),
    ),
    Mistake(
        "bytes in the other order", "cold check", r'With byte_order = "little" it would show',
        board=OtherForms, never="register =|unit =|scale", **seen(7),
    ),
    Mistake(
        "two registers read as one", "cold check", r'With (format = "int32"|register = 9)',
        board=OtherForms, never="unit =|scale", **seen(8),
    ),
    Mistake(
        "a sensor sought among the outputs", "bus check", r"but input 0", 'table = "input"\nregister = 0',
        'table = "holding"\nregister = 0', never="wires|speed|power",
    ),
    Mistake(
        "a coil taken for a register", "bus check", "but coil 2", 'table = "coil"\nregister = 0',
        'table = "holding"\nregister = 2', never="wires|speed|power",
    ),
    Mistake(
        "a contact at the element that is turned round", "bus check", "`inverted`",
        board=lambda: Odd(turned=True), never="leads",
    ),
    Mistake(
        "a door switch that is turned round", "bus check", "door.*inverted", board=Odd,
        never="coil number|leads", **other_switch("door_open"), no="the door is open",
    ),
    Mistake(
        "a limit's contact that is turned round", "bus check", "limit.*inverted", board=Odd,
        never="coil number|leads", **other_switch("limit_open"), no="limit has opened",
    ),
    Mistake(
        "a dead-man that is too short", "dead-man test", "sooner than it is fed",
        board=lambda: Bench(holds_s=0.6), never="did not come on|coil number",
    ),
    Mistake(
        "a slow device", "bus check", "timeout", board=lambda: Odd(late_s=0.4),
        never="baud =|swap the two data wires",
    ),
    Mistake(
        "a line without its termination", "bus check", "unterminated", board=lambda: Odd(noise=0.6),
        never="baud =|swap the two data wires",
    ),
    Mistake(
        "a wrong unit behind a gateway", "bus check", "address 7, but address 1 does",
        "address = 1", "address = 7", board=OnNetwork, file=TCP, never="no (coil|discrete|holding)|baud",
    ),
    Mistake(
        "a network board of another language", "bus check", "does not speak Modbus over TCP; try socket://",
        board=lambda: OnNetwork(manner=lambda *_: [(0.0, b"HTTP/1.1 400 Bad Request\r\n\r\n")]), file=TCP,
        never="parity|unterminated",
    ),
    Mistake(
        "a network board that another program has", "bus check", "one connection|another program",
        board=lambda: OnNetwork(taken), file=TCP, never="baud|unit",
    ),
    Mistake(
        "a text board at another speed", "bus check", "baud = 9600", file=TEXT,
        board=lambda: TextBoard(termios.B9600), never="swap",
    ),
    Mistake(
        "a decimal comma", "bus check", "20,0.*comma", file=TEXT, board=lambda: TextBoard(point=","),
    ),
    Mistake(
        "a text board that ends its lines with CR", "bus check", 'line_end = "CR"', file=TEXT,
        board=lambda: TextBoard(end=b"\r"), never="swap|baud =",
    ),
    Mistake(
        "a panel with a lowest set-point of its own", "bus check", "lowest set-point|low limit", file=PANEL,
        board=PanelThatClamps, never="baud",
    ),
]  # fmt: skip
