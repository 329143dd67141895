"""Eight odd benches, after the sheets of `sheets.md`: plain scripts, nothing of `simulator/` in them."""

import time

from foreign.benches import Board, Registers, Switched
from foreign.wires import OnASocket, Unit, floats, lines, rtu


class Exponent(Board):
    """A temperature as an integer with its exponent beside it, and as a float; relays at another address."""

    def __init__(self) -> None:
        super().__init__()
        self.sensor = Unit(input=dict.fromkeys(range(100, 106), 0))
        self.relays = Unit(
            coil=dict.fromkeys(range(4), 0), discrete={0: 0}, holding={200: 0, 249: 52}
        )  # fmt: skip
        self.sensor.looks = self.relays.looks = self._look
        self.relays.wrote = lambda table, first, _: (
            self.feed() if (table, first) == ("holding", 200) else None
        )
        self.points = 1
        self.on_a_pty(rtu({11: self.sensor, 12: self.relays}))

    @property
    def lit(self) -> bool:
        return bool(self.relays.tables["coil"][2])

    def _look(self) -> None:
        coils = self.relays.tables["coil"]
        if not self.fed:
            coils.update({0: 0, 1: 0})
        read_c = self.air.step(coils[0] and coils[1])
        self.relays.tables["discrete"][0] = int(self.air.live)
        cells = self.sensor.tables["input"]
        self.points = 0 if read_c >= 30.0 else 1  # "0 from 1000 °C upwards", here where a short heat gets to
        cells[100] = self.air.broken << 4
        cells.update(zip((101, 102), floats(read_c, low_word_first=True), strict=True))
        cells.update({104: round(read_c * 10**self.points) & 0xFFFF, 105: -self.points & 0xFFFF})


class Manual(Board):
    """A controller whose output can be written in manual mode only; it stands by after 5 s of silence."""

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(holding=dict.fromkeys((0, 2, 4, 5, 20), 0))
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        answer = self.unit.answer

        def answered(pdu: bytes) -> bytes:
            self._look()
            self.feed()
            if pdu[0] in (6, 16) and pdu[1:3] == b"\0\5" and self.unit.tables["holding"][4] != 2:
                return bytes([pdu[0] | 0x80, 3])
            return answer(pdu)

        self.unit.answer = answered
        self.on_a_pty(rtu({3: self.unit}))

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["holding"][20])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if first == 4 and values[0] != 2:
            self.unit.tables["holding"][5] = 0

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        if not self.fed:
            cells.update({4: 0, 5: 0})
        read_c = self.air.step(cells[5] / 1000.0)
        cells[0] = 32767 if self.air.broken else round(10 * read_c) & 0xFFFF

    def power_off(self) -> None:
        self.unit.tables["holding"].update({4: 0, 5: 0})


class Inverted(Board):
    """Relays that a 0 switches on, and a watchdog coil that must change."""

    holds_s = 4.0

    def __init__(self) -> None:
        super().__init__()
        self.relays = Unit(coil={0: 1, 1: 1, 2: 1, 3: 1, 8: 0}, discrete=dict.fromkeys(range(4), 1))
        self.sensor = Unit(input={0: 200})
        self._was = 0
        self.relays.looks = self.sensor.looks = self._look
        self.relays.wrote = self._wrote
        self.on_a_pty(rtu({1: self.relays, 2: self.sensor}))

    @property
    def lit(self) -> bool:
        return not self.relays.tables["coil"][2]

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("coil", 8) and values[0] != self._was:
            self._was = values[0]
            self.feed()

    def _look(self) -> None:
        coils = self.relays.tables["coil"]
        if not self.fed:
            coils.update({0: 1, 1: 1})
        read_c = self.air.step(not (coils[0] or coils[1]))
        self.relays.tables["discrete"].update({0: int(not self.air.live), 1: int(self.air.door_open)})
        self.sensor.tables["input"][0] = 0x7FFF if self.air.broken else round(10 * read_c) & 0xFFFF


class Prompt(Switched):
    """A board at a terminal's manners: echo, checksum, units, signs, a prompt without a line end."""

    holds_s = 6.0

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(lines(self._line, b"\r\n"))

    @staticmethod
    def _sum(text: str) -> str:
        return f"{text}#{sum(text.encode()) % 256:02X}\r\n"

    def _line(self, line: str) -> str | None:
        text, _, check = line.partition("#")
        if f"{sum(text.encode()) % 256:02X}" != check:
            return line + "\r\n> "
        return f"{line}\r\n{self._sum(self._answer(text))}> "

    def _answer(self, text: str) -> str:
        read_c = self.look()
        match text.split():
            case ["?T"]:
                return "T=------ degC" if self.air.broken else f"T={read_c:+07.1f} degC"
            case ["?Q"]:
                return f"Q={self.heat:d}"
            case ["?L"]:
                return f"L={self.lit:d}"
            case ["!Q", ("0" | "1") as on]:
                self.heat = on == "1" and self.fed
                return f"Q={on} ok"
            case ["!L", ("0" | "1") as on]:
                self.lit = on == "1"
                return f"L={on} ok"
            case ["!K", "6"]:
                self.feed()
                return "K=6 s ok"
        return "what?"


class _NotThere:
    def answer(self, pdu: bytes) -> bytes:
        return bytes([pdu[0] | 0x80, 0x0B])


class Gateway(Registers):
    """Relays, thermocouple and contacts as three units behind one network address."""

    def __init__(self) -> None:
        super().__init__()
        relays, sensor, inputs = self.unit, Unit(input={0: 200}), Unit(discrete={0: 0, 1: 0})
        sensor.tables["input"], inputs.tables["discrete"] = relays.tables["input"], relays.tables["discrete"]
        sensor.looks = inputs.looks = relays.looks
        relays.tables["input"], relays.tables["discrete"] = {}, {}
        self._shown = sensor, inputs
        units = {n: _NotThere() for n in range(1, 248)} | {1: relays, 2: sensor, 7: inputs}
        self._socket = OnASocket(units, hears=lambda: self.cable)
        self.path, self.close = f"tcp://127.0.0.1:{self._socket.port}", self._socket.close

    def look(self) -> None:
        tables = self.unit.tables
        if not hasattr(self, "_shown"):
            return
        mine, sensor, inputs = (tables["input"], tables["discrete"]), *self._shown
        tables["input"], tables["discrete"] = sensor.tables["input"], inputs.tables["discrete"]
        super().look()
        tables["input"], tables["discrete"] = mine


class TwoSpeeds(Registers):
    """Sensor and relays at one address and two speeds: each on an adapter of its own."""

    def __init__(self) -> None:
        super().__init__()
        sensor = Unit(input=self.unit.tables["input"])
        sensor.tables["input"] = self.unit.tables["input"]
        sensor.looks = self.unit.looks
        self.other_path = self.on_a_pty(rtu({1: sensor}))
        other = self.close
        self.on_a_pty(rtu({1: self.unit}))
        ends = other, self.close
        self.close = lambda: [end() for end in ends] and None


class OwnSetPoint(Board):
    """A panel that takes an output in tenths of a percent while remote; else it has its own goal."""

    holds_s = 6.0

    def __init__(self, local_c: float = 0.0) -> None:
        super().__init__()
        self.unit = Unit(
            holding={0: 200, 4: 0, 6: 0, 8: round(10 * local_c)}, discrete={0: 0}, coil={2: 0}
        )  # fmt: skip
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        self.on_a_pty(rtu({5: self.unit}))

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["coil"][2])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("holding", 6) and values[0]:
            self.feed()

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        if not self.fed:
            cells[6] = 0
            cells[4] = 1000 * (self.air.seen_c < cells[8] / 10.0)
        read_c = self.air.step(cells[4] / 1000.0)
        self.unit.tables["discrete"][0] = int(self.air.live)
        cells[0] = 0x8000 if self.air.broken else round(10 * read_c) & 0xFFFF


class Single(Board):
    """One value a request, no broadcast, no other function: it stops its bus for 2 s where that is broken."""

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(coil=dict.fromkeys((10, 11, 12), 0), input={20: 20}, discrete={30: 0})
        self.unit.tables["holding"][40] = 0
        self.unit.looks, self.unit.wrote = self._look, self._wrote
        self._deaf_until_s, answer = 0.0, self.unit.answer

        def answered(pdu: bytes) -> bytes:
            if pdu[0] in (1, 2, 4) and pdu[3:5] != b"\0\1":
                return bytes([pdu[0] | 0x80, 3])
            return bytes([0x83, 1]) if pdu[0] == 3 else answer(pdu)

        self.unit.answer = answered
        talk = rtu({9: self.unit})

        def heard(came: bytes) -> tuple[int, bytes]:
            if len(came) >= 2 and (came[0] == 0 or (came[0] == 9 and not 1 <= came[1] <= 6)):
                self._deaf_until_s = time.monotonic() + 2.0
            return (len(came), b"") if time.monotonic() < self._deaf_until_s else talk(came)

        self.on_a_pty(heard)

    @property
    def lit(self) -> bool:
        return bool(self.unit.tables["coil"][12])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("holding", 40):
            self._fed_until_s = time.monotonic() + values[0] / 10.0

    def _look(self) -> None:
        coils = self.unit.tables["coil"]
        if not self.fed:
            coils.update({10: 0, 11: 0})
        read_c = self.air.step(coils[10] and coils[11])
        self.unit.tables["discrete"][30] = int(self.air.live)
        self.unit.tables["input"][20] = 999 if self.air.broken else round(read_c)


ODD = {
    "exponent": Exponent,
    "manual": Manual,
    "inverted": Inverted,
    "prompt": Prompt,
    "gateway": Gateway,
    "two-speeds": TwoSpeeds,
    "own-set-point": OwnSetPoint,
    "single": Single,
}
