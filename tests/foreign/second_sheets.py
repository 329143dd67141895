"""Eight further benches, after the second half of `sheets.md`: plain scripts, nothing of `simulator/`."""

import struct

from foreign.benches import Board, Registers, Switched, scripted
from foreign.wires import Unit, lines, rtu


class Double(Board):
    """A temperature as a double over four registers; relays at another address."""

    def __init__(self) -> None:
        super().__init__()
        self.sensor = Unit(holding=dict.fromkeys(range(0x100, 0x105), 0))
        self.relays = Unit(coil=dict.fromkeys(range(4), 0), discrete={0: 0}, holding={200: 0, 249: 52})
        self.sensor.looks = self.relays.looks = self._look
        self.relays.wrote = lambda table, first, _: (
            self.feed() if (table, first) == ("holding", 200) else None
        )
        self.on_a_pty(rtu({21: self.sensor, 12: self.relays}))

    @property
    def lit(self) -> bool:
        return bool(self.relays.tables["coil"][2])

    def _look(self) -> None:
        coils = self.relays.tables["coil"]
        if not self.fed:
            coils.update({0: 0, 1: 0})
        read_c = self.air.step(coils[0] and coils[1])
        self.relays.tables["discrete"][0] = int(self.air.live)
        shown = float("nan") if self.air.broken else read_c
        cells = self.sensor.tables["holding"]
        cells.update(zip(range(0x100, 0x104), struct.unpack(">4H", struct.pack(">d", shown)), strict=True))
        cells[0x104] = int(self.air.broken)


class Percent(Board):
    """A controller whose power and temperature share one setting of decimals."""

    holds_s = 4.0

    def __init__(self, decimals: int = 1) -> None:
        super().__init__()
        self.unit = Unit(holding={2: 200, 11: decimals, 12: 0, 13: 0, 20: 0})
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        self.on_a_pty(rtu({6: self.unit}))

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["holding"][20])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if first == 13:
            self.feed()

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        if not self.fed:
            cells[12] = 0
        tens = 10 ** cells[11]
        read_c = self.air.step(min(1.0, cells[12] / (100.0 * tens)))
        cells[2] = (-9999 if self.air.broken else round(tens * read_c)) & 0xFFFF

    def power_off(self) -> None:
        super().power_off()
        self.unit.tables["holding"][12] = 0


class Count(Registers):
    """A board that wants a number one higher each time, 255 is followed by 0."""

    holds_s = 4.0
    _last: int | None = None

    def __init__(self) -> None:
        super().__init__()
        self.unit.tables["holding"] = {30: 0}

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) != ("holding", 30):
            return
        free = self._last is None or not self.fed
        if free or values[0] == (self._last + 1) % 256:
            self.feed()
            self._last = values[0]
        else:
            self._fed_until_s, self._last = 0.0, None

    def power_off(self) -> None:
        super().power_off()
        self._last = None


class OneWire(Registers):
    """One data wire for both ways: whoever sends hears himself first."""

    def __init__(self) -> None:
        super().__init__()
        talk = rtu({8: self.unit})

        def heard(came: bytes) -> tuple[int, bytes]:
            used, reply = talk(came)
            return used, came[:used] + reply if used else b""

        self.on_a_pty(heard)


class Dollar(Switched):
    """Lines between $ and *, with the exclusive or of what stands between."""

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(lines(self._line, b"\r\n"))

    @staticmethod
    def _sum(text: str) -> str:
        value = 0
        for letter in text.encode():
            value ^= letter
        return f"{value:02X}"

    def _line(self, line: str) -> str | None:
        text, _, check = line.removeprefix("$").partition("*")
        if line[:1] != "$" or self._sum(text) != check:
            return None
        said = self._answer(text.split(","))
        return said and f"${said}*{self._sum(said)}\r\n"

    def _answer(self, words: list[str]) -> str | None:
        read_c = self.look()
        match words:
            case ["GT"]:
                shown = "------" if self.air.broken else f"{read_c:+07.1f}"
                return f"TC,{shown},H,{self.heat:d},L,{self.lit:d}"
            case ["SH", ("0" | "1") as on]:
                self.heat = on == "1" and self.fed
                return f"OK,SH,{on}"
            case ["SL", ("0" | "1") as on]:
                self.lit = on == "1"
                return f"OK,SL,{on}"
            case ["KA", "5"]:
                self.feed()
                return "OK,KA,5"
        return None


class Ascii(Registers):
    """Modbus ASCII, after the serial line guide (2.5.2): colon, hex digits, LRC, CR LF."""

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(lines(self._frame, b"\r\n"))

    def _frame(self, line: str) -> str | None:
        try:
            frame = bytes.fromhex(line.partition(":")[2])
        except ValueError:
            return None
        if len(frame) < 3 or sum(frame) & 0xFF or frame[0] != 4:
            return None
        reply = frame[:1] + self.unit.answer(frame[1:-1])
        return f":{(reply + bytes([-sum(reply) & 0xFF])).hex().upper()}\r\n"


class Mixed(Switched):
    """Relays that take words, on USB, and a Modbus thermometer on a line of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.sensor = Unit(input={0: 200})
        self.sensor.looks = self._look
        thermometer = Board()  # whose own cable stays in
        self.other_path = thermometer.on_a_pty(rtu({2: self.sensor}))
        self.on_a_pty(lines(self._line))
        ends = self.close, thermometer.close
        self.close = lambda: [end() for end in ends] and None

    def _look(self) -> None:
        read_c = self.look()
        self.sensor.tables["input"][0] = 0x7FFF if self.air.broken else round(10 * read_c) & 0xFFFF

    def _line(self, line: str) -> str | None:
        self._look()
        on = ("OFF", "ON")
        match line.split():
            case ["R?"]:
                return f"R1 {on[self.heat]} R2 {on[self.lit]}\n"
            case ["R1", ("ON" | "OFF") as said]:
                self.heat = said == "ON" and self.fed
            case ["R2", ("ON" | "OFF") as said]:
                self.lit = said == "ON"
            case ["KEEP", "5"]:
                self.feed()
            case _:
                return None
        return line + "\n"


class Thermometer(Registers):
    """The usual relay board, and a thermometer that answers with a line of text on a port of its own."""

    def __init__(self) -> None:
        super().__init__()
        cells = self.unit.tables["input"]
        self.unit.tables["input"] = {}

        def looked() -> None:
            self.unit.tables["input"] = cells
            self.look()
            self.unit.tables["input"] = {}

        self.unit.looks, self._cells, self._looked = looked, cells, looked
        self.other_path = self.on_a_pty(lines(self._line))
        usb = self.close
        ends = usb, scripted(self).close
        self.close = lambda: [end() for end in ends] and None

    def _line(self, line: str) -> str | None:
        self._looked()
        shown = "BREAK" if self.air.broken else f"{self._cells[0] / 10:.1f}"
        return f"T {shown}\n" if line == "T?" else None


ODDER = {
    "double": Double,
    "percent": Percent,
    "count": lambda: scripted(Count()),
    "one-wire": OneWire,
    "dollar": Dollar,
    "ascii": Ascii,
    "mixed": Mixed,
    "thermometer": Thermometer,
}
