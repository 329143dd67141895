"""Seven further benches, after the last part of `sheets.md`: plain scripts, nothing of `simulator/`."""

import struct
import threading
import time

from foreign.benches import Board, Registers, Switched
from foreign.wires import OnAPty, OnASocket, Unit, lines, rtu

KELVIN = 273.15


class Powered(Board):
    """A board that takes a power of 0 to 1, which must come again."""

    def __init__(self) -> None:
        super().__init__()
        self.power, self.lit = 0.0, False

    def look(self) -> float:
        self.power *= self.fed
        return self.air.step(self.power)

    def power_off(self) -> None:
        super().power_off()
        self.power = 0.0


class Fixed(Powered):
    """A power of three digits, and a counter of answers at the end of each."""

    def __init__(self) -> None:
        super().__init__()
        self._count = 0
        self.on_a_pty(lines(self._answer, b"\r\n"))

    def _answer(self, line: str) -> str | None:
        read_c, word, rest = self.look(), line[:2], line[2:]
        self._count = (self._count + 1) % 100_000
        if line == "R":
            shown = "-----" if self.air.broken else f"{round(10 * read_c):+05d}"
            return f"T{shown}P{round(100 * self.power):03d}L{self.lit:d}#{self._count:05d}\r\n"
        if word == "P " and len(rest) == 3 and rest.isdecimal() and int(rest) <= 100:
            self.power = int(rest) / 100.0
            self.feed()
        elif line in ("L 1", "L 0"):
            self.lit = rest == "1"
        else:
            return None
        return f"OK {self._count:05d}\r\n"


class Comma(Switched):
    """A decimal comma, a degree sign, words of two parts, and commands that nobody answers."""

    def __init__(self) -> None:
        super().__init__()
        talk = lines(self._answer)

        def said(came: bytes) -> tuple[int, bytes]:
            used = talk(came)[0]
            return used, self._said if used else b""

        self.on_a_pty(said)

    _said = b""

    def _answer(self, line: str) -> str | None:
        read_c = self.look()
        word, _, value = line.partition("=")
        states = {"HEAT?": self.heat, "LAMP?": self.lit}
        self._said = b""
        if line == "TEMP?":
            self._said = b"ERR 3\n" if self.air.broken else f"{read_c:.1f} °C\n".replace(".", ",").encode()
        elif line in states:
            self._said = b"IS ON\n" if states[line] else b"NOT ON\n"
        elif word == "HEAT" and value in ("0", "1"):
            self.heat = value == "1" and self.fed
        elif word == "LAMP" and value in ("0", "1"):
            self.lit = value == "1"
        elif line == "STAY":
            self.feed()
        return None


class Frame(Switched):
    """Frames between STX and ETX with a check that closes the sum; hexadecimal values, a status of bits."""

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(self._talk)

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        frame, found, _ = came.partition(b"\3")
        if not found:
            return 0, b""
        body, check = frame[1:-2], frame[-2:]
        good = frame[:1] == b"\2" and check == _closing(body)
        answer = self._answer(body.decode("ascii", "replace")) if good else None
        reply = b"" if answer is None else b"\2" + answer.encode() + _closing(answer.encode()) + b"\3"
        return len(frame) + 1, reply

    def _answer(self, text: str) -> str | None:
        read_c = self.look()
        if text == "07V":
            tenths = 0 if self.air.broken else round(10 * read_c) & 0xFFFF
            return f"07V{tenths:04X}S{int(self.air.broken):02X}R{self.heat:d}{self.lit:d}00"
        if text.startswith("07W") and len(text) == 7 and set(text[3:]) <= {"0", "1"}:
            self.heat, self.lit = text[3] == "1" and self.fed, text[4] == "1"
            return "07A"
        if text == "07K05":
            self.feed()
            return "07A"
        return None


def _closing(body: bytes) -> bytes:
    return f"{-sum(body) & 0xFF:02X}".encode()


class Talker(Switched):
    """A board that tells what it sees twice a second, asked or not."""

    def __init__(self) -> None:
        super().__init__()
        line = OnAPty(self._talk)
        self.path, self.close, self._next_s = line.path, line.close, 0.0
        self._lines = lines(self._answer)

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        if not self.cable:
            return len(came), b""
        used, reply = self._lines(came)
        if time.monotonic() >= self._next_s:
            self._next_s = time.monotonic() + 0.5
            word = "---.-" if self.air.broken else f"{self.look():.1f}"
            heat, lamp = ("ON" if on else "OFF" for on in (self.heat, self.lit))
            reply += f"> {word} C, heat {heat}, lamp {lamp}\n".encode()
        return used, reply

    def _answer(self, line: str) -> str | None:
        self.look()
        word, _, value = line.partition(" ")
        if line == "again":
            self.feed()
        elif word == "heat" and value in ("ON", "OFF"):
            self.heat = value == "ON" and self.fed
        elif word == "lamp" and value in ("ON", "OFF"):
            self.lit = value == "ON"
        else:
            return None
        return "done\n"


class Codes(Board):
    """Relays written with codes and read as 1 or 0; a temperature that shares its register with a state."""

    DEAF_S = 0.03

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(holding=dict.fromkeys((0, 1, 4, 5, 10, 20), 0))
        self.unit.tables["holding"][20] = 0x2B02
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        talk, self._deaf_s = rtu({4: self.unit}), 0.0

        def slow(came: bytes) -> tuple[int, bytes]:
            if came and time.monotonic() < self._deaf_s:
                return len(came), b""
            used, reply = talk(came)
            self._deaf_s = time.monotonic() + self.DEAF_S if reply else self._deaf_s
            return used, reply

        self.on_a_pty(slow)

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["holding"][1])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        cells = self.unit.tables["holding"]
        if first in (0, 1):
            cells[first] = {0x100: 1, 0x200: 0}.get(values[0], cells[first])
        elif first == 10:
            self.holds_s = float(values[0])
            self.feed()

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        cells[0] = 0 if not self.fed or cells[0] == 0x200 else cells[0]
        read_c = self.air.step(float(cells[0] == 1))
        cells[4] = 0x1000 if self.air.broken else round(4 * read_c) & 0xFFF
        cells[5] = 2 if self.air.door_open else 1

    def power_off(self) -> None:
        super().power_off()
        self.unit.tables["holding"][0] = 0


class Tens(Powered):
    """A power controller on a network, unit 0: tens of a power, kelvins in thousandths."""

    holds_s = 4.0

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(input={100: 0, 101: 0}, holding={10: 0, 11: 0}, coil={0: 0})
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        socket = OnASocket({0: self.unit}, hears=lambda: self.cable)
        self.path, self.close = f"tcp://127.0.0.1:{socket.port}", socket.close

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("coil", 0):
            self.lit = bool(values[0])
        elif first == 10:
            self.power = values[0] // 10 / 1000.0
        elif first == 11:
            self.feed()

    def _look(self) -> None:
        read_k = self.look() + KELVIN
        self.unit.tables["holding"][10] = round(1000 * self.power) * 10
        high, low = struct.unpack("<HH", struct.pack(">I", round(1000 * read_k)))  # each word's bytes turned
        self.unit.tables["input"].update({100: high, 101: low})


class TextPanel(Board):
    """A panel with lines of text, which regulates by itself; a silence of 4 s keeps its output off."""

    holds_s = 4.0

    def __init__(self) -> None:
        super().__init__()
        self.goal_c, self.lit, self._lock = 0.0, False, threading.Lock()
        self.on_a_pty(lines(self._answer, b"\r"))

    def look(self) -> float:
        heat = self.fed and self.goal_c > 30.0 and self.air.seen_c < self.goal_c - 1.0
        return self.air.step(heat)

    def _answer(self, line: str) -> str | None:
        read_c = self.look()
        live, word = self.air.live, line.partition(" ")[0]
        self.feed()
        if line == "PV":
            return "PV SBR\r" if self.air.broken else f"PV {read_c:05.1f}\r"
        if line == "SP" or (word == "SP" and len(line) == len("SP 085.0") and line[6] == "."):
            self.goal_c = self.goal_c if line == "SP" else float(line[3:])
            return f"SP {self.goal_c:05.1f}\r"
        if line == "O":
            return f"O {live:d}\r"
        if line in ("X", "X 0", "X 1"):
            self.lit = self.lit if line == "X" else line == "X 1"
            return f"X {self.lit:d}\r"
        return None

    def power_off(self) -> None:
        super().power_off()
        self.goal_c = 0.0


FOURTH = {
    "fixed": Fixed,
    "comma": Comma,
    "frame": Frame,
    "talker": Talker,
    "codes": Codes,
    "tens": Tens,
    "text-panel": TextPanel,
}


class Restarts(Registers):
    """The usual relay board, of which the watchdog restarts the whole board: 1.5 s of silence, all off."""

    SILENT_S, holds_s = 1.5, 3.0

    def __init__(self) -> None:
        super().__init__()
        self._dark_until_s = 0.0
        self.unit.looks = self.show  # nothing but the restart drops the heat, not even in mid-answer
        talk = rtu({1: self.unit})
        self.on_a_pty(lambda came: (len(came), b"") if self._dark() else talk(came))

    def _dark(self) -> bool:
        now_s, coils = time.monotonic(), self.unit.tables["coil"]
        if coils[0] and not self.fed and now_s > self._dark_until_s:
            coils.update({0: 0, 1: 0})
            self._dark_until_s = now_s + self.SILENT_S
        return now_s < self._dark_until_s
