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


THIRD = {"latch": Latch, "enter": Enter, "run-panel": RunPanel}
