"""What newcomers with strange boards met in the first hour, each with its right cure."""

import math
import tempfile
import termios
import time
from pathlib import Path

from faults.more_mistakes import TCP, OnNetwork
from faults.planted_bench import OVEN, Bench, Mistake, seen
from foreign import OnAPty, OnASocket, crc, lines


class Floats(Bench):
    """A line without bias resistors: a zero byte before each answer, as the driver switches on."""

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        used, reply = super()._talk(came)
        return used, reply and b"\x00" + reply


class AnyUnit(OnNetwork):
    """A network board that takes any unit number and answers with one of its own, as its data sheet says."""

    def __init__(self, says: int) -> None:
        Bench.__init__(self)

        def own(head: bytes, body: bytes) -> list[tuple[float, bytes]]:
            return [(0.0, head + bytes([says]) + body[1:])]

        self._socket = OnASocket(self.units, manner=own, any_unit=True)


class TwoStopBits(Bench):
    """Boards that take a byte only with its two stop bits."""

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        if hasattr(self, "line") and not termios.tcgetattr(self.line._slave)[2] & termios.CSTOPB:
            return len(came), b""
        return super()._talk(came)


class FloatAlone(Bench):
    """A float, low word first, whose neighbours are nothing; and tenths of a kelvin."""

    def _pass(self) -> None:
        super()._pass()
        cells = self.sensor.tables["input"]
        cells.update({6: 27315 // 10 + cells[0], 7: 0, 8: cells[4], 9: cells[5], 10: 0})


class ToBeArmed(Bench):
    """A watchdog that drops nothing before 165 was written to another register, which starts its time too."""

    def __init__(self) -> None:
        super().__init__()
        self.relays.tables["holding"][1] = 0
        self._fed_until_s = math.inf

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        armed = self.relays.tables["holding"][1] == 165
        if table == "holding" and armed:
            self._fed_until_s = time.monotonic() + self.holds_s


class BusyNowAndThen(Bench):
    """Every fifteenth answer of the sensor is exception 06, device busy (application protocol, 7)."""

    asked = 0

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        used, reply = super()._talk(came)
        if not reply or came[0] != 2:
            return used, reply
        self.asked += 1
        body = bytes([2, came[1] | 0x80, 6])
        return used, reply if self.asked % 15 else body + crc(body)


class OtherWords(Bench):
    """A relay board that is told MAKE and says MADE, and a thermometer on a line of its own."""

    def __init__(self, end: str = "\n") -> None:
        super().__init__()
        self.line.close()
        self.made, self._folder = "BROKEN", tempfile.TemporaryDirectory()

        def said(line: str) -> str | None:
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
LAMP = '[output.lamp]\ndevice = "relays"\ntable = "coil"\nregister = 4\n'
FIRST_HOUR = [
    Mistake("a line without bias resistors", "bus check", "a stray byte comes before it.*bias resistors",
            board=Floats, never="Two devices|parity"),
    Mistake("coils that count from one", "bus check", "output.lamp: the device has no coil 4, but coil 3",
            "[[identity]]", LAMP + "[[identity]]", never="lamp stay dark"),
    Mistake("a network board that answers as unit 255", "bus check", "unit 255 answers.*write address = 255",
            file=TCP, board=lambda: AnyUnit(255), never="Check address"),
    Mistake("a float in the other order, beside a zero", "cold check",
            'With format = "float32", word_order = "low first" it would show', **seen(8, "1.0"),
            board=FloatAlone, plant=lambda b: b.be_in(20.1), never="register ="),
    Mistake("tenths of a kelvin", "cold check", "With offset = -273.15 .*it sends kelvins", **seen(6),
            board=FloatAlone, never="leads|No other order"),
    Mistake("one stop bit for two", "bus check", "it does with stop_bits = 2", board=TwoStopBits,
            never="swap the two data wires"),
    Mistake("answers that end with one letter more", "bus check", 'write line_end = "CR LF"$',
            'port = "rs485"\n', 'port = "rs485"\nline_end = "CR"\n', file=WORDS,
            board=lambda: OtherWords("\r\n"), never="Add it to reply"),
    Mistake("a watchdog that must be armed first", "dead-man test", '"arm", "enable" or "start"',
            board=ToBeArmed),
    Mistake("a board told in other words than it answers", "dead-man test", "NO dead-man", file=WORDS,
            board=OtherWords),
]  # fmt: skip
