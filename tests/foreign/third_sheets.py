"""Five further benches, after the third part of `sheets.md`: plain scripts, nothing of `simulator/`."""

import struct
import time

from foreign.benches import Board, Switched
from foreign.wires import Unit, floats, lines, rtu


class Latch(Board):
    """A relay that its own writes keep on; the watchdog's time is 0 after power-up, and it latches."""

    holds_s = 0.0

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(coil={4: 0, 5: 0, 6: 0}, input={0: 0x2110, 2: 200, 4: 0}, holding={10: 0, 11: 0})
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        answer = self.unit.answer

        def answered(pdu: bytes) -> bytes:
            self._look()
            latched = self.unit.tables["holding"][11]
            return bytes([0x85, 4]) if latched and pdu[:3] == b"\5\0\4" and pdu[3] else answer(pdu)

        self.unit.answer = answered
        self.on_a_pty(rtu({17: self.unit}))

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["coil"][5])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("coil", 4):
            self._fed_until_s = time.monotonic() + self.holds_s
        if (table, first) == ("holding", 10):
            self.holds_s = values[0] / 10.0

    def _look(self) -> None:
        coil, cells = self.unit.tables["coil"], self.unit.tables["holding"]
        if coil[4] and self.holds_s and not self.fed:
            coil[4], cells[11] = 0, 1
        read_c = self.air.step(coil[4])
        self.unit.tables["input"].update(
            {2: 32767 if self.air.broken else round(10 * read_c), 4: cells[11] << 2}
        )

    def power_off(self) -> None:
        super().power_off()
        self.holds_s = 0.0
        self.unit.tables["coil"].update({4: 0})
        self.unit.tables["holding"].update({10: 0, 11: 0})


class Enter(Switched):
    """A board for a person at a terminal: CR in, CR LF out; an LF is a command that it does not know."""

    holds_s = 6.0

    def __init__(self) -> None:
        super().__init__()
        self._read_c = 20.0
        self.on_a_pty(lines(self._answer, end=b"\r"))

    def _answer(self, line: str) -> str:
        self._read_c = self.look()
        return f"{self._said(line)}\r\n"

    def _said(self, line: str) -> str:
        words = line.split()
        match words:
            case ["TEMP"]:
                return "TEMP OPEN" if self.air.broken else f"TEMP {self._read_c:.1f} C"
            case ["HEAT", ("ON" | "OFF") as word]:
                self.heat = word == "ON"
                self.feed()
            case ["LAMP", ("ON" | "OFF") as word]:
                self.lit = word == "ON"
            case ["HEAT" | "LAMP"]:
                pass
            case _:
                return f"WHAT? {line.strip()}"
        on = self.heat if words[0] == "HEAT" else self.lit
        return f"{words[0]} IS {'ON' if on else 'OFF'}"


class RunPanel(Board):
    """A panel that regulates by itself in RUN, and not when nothing is written; floats, low word first."""

    holds_s = 0.0

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(
            holding=dict.fromkeys([*range(0x100, 0x108), *range(0x110, 0x114)], 0) | {0x112: 3351}
        )
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        self.on_a_pty(rtu({5: self.unit}))

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["holding"][0x113])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        self.holds_s = float(self.unit.tables["holding"][0x111])
        self.feed()

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        if self.holds_s and not self.fed:
            cells[0x110] = 0
        goal_c = struct.unpack(">f", struct.pack(">HH", cells[0x103], cells[0x102]))[0]
        heat = bool(cells[0x110]) and goal_c > 30.0 and self.air.seen_c < goal_c - 1.0
        shown = -9999.0 if self.air.broken else self.air.step(heat)
        cells.update(zip((0x100, 0x101), floats(shown, low_word_first=True), strict=True))
        cells.update(zip((0x104, 0x105), floats(100.0 * heat, low_word_first=True), strict=True))

    def power_off(self) -> None:
        super().power_off()
        self.holds_s = 0.0
        self.unit.tables["holding"].update({0x102: 0, 0x103: 0, 0x110: 0, 0x111: 0})


class Word(Board):
    """Three outputs as bits of one register; the watchdog is a bit of another that must change."""

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(input={0: 200}, holding={1: 0, 2: 0})
        self.unit.looks, self.unit.wrote, self._alive = self._look, self._wrote, 0
        self.on_a_pty(rtu({3: self.unit}))

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["holding"][1] & 4)

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if first == 2 and values[0] != self._alive:
            self._alive = values[0]
            self.feed()

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        if not self.fed:
            cells[1] &= ~3
        read_c = self.air.step(cells[1] & 3 == 3)
        self.unit.tables["input"][0] = 32767 if self.air.broken else round(10 * read_c)


class Power(Switched):
    """A text board that takes a power of 0 to 100, answers it with zeros around, and forgets it in 5 s."""

    power = 0

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(lines(self._answer))

    def _answer(self, line: str) -> str | None:
        self.power *= self.fed
        read_c = self.air.step(self.power / 100)
        if line.startswith("P ") and line[2:].isdigit() and int(line[2:]) <= 100:
            self.power = int(line[2:])
            self.feed()
        elif line in ("L 0", "L 1"):
            self.lit = line == "L 1"
            return f"L={int(self.lit)}\n"
        elif line != "S":
            return None
        if line != "S":
            return f"P={self.power:05.1f} %\n"
        word = "---" if self.air.broken else f"{read_c:.1f}"
        return f"S T={word} P={self.power:05.1f} L={int(self.lit)}\n"


class Both(Switched):
    """A text board whose one command sets heater and lamp; OK feeds."""

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(lines(self._answer, end=b"\r\n"))

    def _answer(self, line: str) -> str | None:
        read_c, said = self.look(), line.split()
        if said[:1] == ["SET"] and len(said) == 3:
            self.heat, self.lit = said[1] == "ON" and self.fed, said[2] == "ON"
        elif line == "OK":
            self.feed()
            return "OK\r\n"
        elif line != "GET":
            return None
        heat, lamp = ("ON" if on else "OFF" for on in (self.heat, self.lit))
        return f"{read_c:.1f},{heat},{lamp}\r\n" if line == "GET" else f"NOW {heat} {lamp}\r\n"


THIRD = {
    "latch": Latch,
    "enter": Enter,
    "run-panel": RunPanel,
    "word": Word,
    "power": Power,
    "both": Both,
}
