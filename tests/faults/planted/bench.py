"""A newcomer's bench for planted mistakes: plain scripts behind a pseudo-terminal, and what a mistake is.

Nothing of `simulator/` is behind it.
"""

import random
import termios
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from foreign.benches import Board
from foreign.wires import OnAPty, Unit, crc, floats, rtu

from kilnctl.devices.port import open_line

ROOM_C, BAUD = 20.0, 19200
OVEN = """
name = "bench-oven"
use = "hardening"
build = "leaky"
elements = "open"
power = "1200 W"
limit = "1000 C"
isolator = "red switch"
switching = { kind = "solid-state" }
[port.rs485]
path = "PATH"
baud = 19200
[device.relays]
port = "rs485"
address = 1
[device.sensor]
port = "rs485"
address = 2
[signal.process]
device = "sensor"
table = "input"
register = 0
format = "int16"
scale = 0.1
unit = "C"
low = "-20 C"
high = "1300 C"
open_values = [32767]
[signal.heater_live]
device = "relays"
table = "discrete"
register = 0
[output.heater]
device = "relays"
table = "coil"
register = 0
[output.contactor]
device = "relays"
table = "coil"
register = 1
[[identity]]
device = "relays"
table = "holding"
register = 50
expect = 41
[dead_man]
device = "relays"
table = "holding"
register = 0
write = 5
drops_after = "5 s"
"""


class Bench:
    """A relay board at address 1, a thermocouple module at 2, and an oven in one line of physics.

    A pseudo-terminal has a speed and no parity (Linux clears it), so a wrong parity is planted in `opener`.
    """

    opener = staticmethod(open_line)

    def __init__(self, *, holds_s: float = 5.0, echoes: bool = False, boots_on: bool = False) -> None:
        self.holds_s, self.echoes, self.boots_on = holds_s, echoes, boots_on
        self.relays = Unit(coil=dict.fromkeys(range(4), 0), discrete={0: 0}, holding={0: 0, 50: 41})
        self.sensor = Unit(input=dict.fromkeys(range(12), 0))
        self.units = {1: self.relays, 2: self.sensor}
        self.relays.wrote, self.relays.looks, self.sensor.looks = self._wrote, self._pass, self._pass
        self.air_c = self.seen_c = self.room_c = ROOM_C
        self.sign, self.hand_k, self.heater, self.broken = 1.0, 0.0, 0, False
        self.cable, self.inside, self.shorted = True, True, False
        self.leaks = self.closed_at_rest = False
        self.twin: Unit | None = None
        self._fed_until_s, self._at_s = 0.0, time.monotonic()
        self.line = OnAPty(self._talk)

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        speeds = termios.tcgetattr(self.line._slave)[4] if hasattr(self, "line") else termios.B19200
        if speeds != termios.B19200 or not self.cable:
            return len(came), b""  # noise at another speed
        used, reply = rtu(self.units)(came)
        if self.twin:  # two drivers at once: what one pulls low is low
            other = rtu({1: self.twin})(came)[1]
            reply = bytes(a & b for a, b in zip(reply, other, strict=False)) if other else reply
        return used, came[:used] + reply if self.echoes and used else reply

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("holding", 0):
            self._fed_until_s = time.monotonic() + self.holds_s

    def _pass(self) -> None:
        now_s = time.monotonic()
        dt_s, self._at_s = now_s - self._at_s, now_s
        coils = self.relays.tables["coil"]
        if now_s > self._fed_until_s and self.holds_s:
            coils.update({0: int(self.boots_on and not self._fed_until_s), 1: 0})
        heats = self._heats(now_s)
        self.relays.tables["discrete"][0] = int(heats or self.leaks)
        self.air_c += 0.15 * dt_s * heats
        about_c = self.air_c if self.inside else self.room_c
        self.seen_c += (about_c - self.seen_c) * min(1.0, dt_s / 8.0)
        shown_c = self.room_c + self.sign * (self.seen_c - self.room_c + self.hand_k) * (not self.shorted)
        cells = self.sensor.tables["input"]
        cells[0] = 32767 if self.broken else round(10 * shown_c) & 0xFFFF
        cells[1] = 250
        cells[2] = round(10 * (shown_c * 1.8 + 32)) & 0xFFFF
        cells[3] = round(shown_c) & 0xFFFF
        cells.update(zip((4, 5), floats(shown_c, low_word_first=True), strict=True))

    def _heats(self, now_s: float) -> bool:
        coils = self.relays.tables["coil"]
        return bool(coils[self.heater] != self.closed_at_rest and coils[1])

    @property
    def path(self) -> str:
        """Where the program finds the bench."""
        return self.line.path

    def be_in(self, room_c: float) -> None:
        self.air_c = self.seen_c = self.room_c = room_c

    def warm(self) -> None:
        self.hand_k = 5.0

    def hand(self) -> None:
        self.warm()

    def close(self) -> None:
        self.line.close()


class TimerBench(Bench):
    """The commonest relay board, coils that stay, and a timer relay started anew by edges of coil 1."""

    def __init__(self, timer_s: float = 5.0) -> None:
        self.timer_s, self._level, self._closed_until_s = timer_s, 0, 0.0
        super().__init__(holds_s=0.0)

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("coil", 1):
            if values[0] and not self._level:
                self._closed_until_s = time.monotonic() + self.timer_s
            self._level = values[0]

    def _heats(self, now_s: float) -> bool:
        return bool(self.relays.tables["coil"][0]) and now_s < self._closed_until_s


@dataclass(frozen=True)
class Mistake:
    """What is planted, the step that must tell it first, words it must say and words it must not."""

    name: str
    step: str
    says: str
    old: str = ""
    new: str = ""
    never: str = "leads are swapped"
    board: Callable[[], Bench] = Bench
    plant: Callable[[Bench], object] = lambda bench: None
    maker: dict[str, str] = field(default_factory=dict)
    file: str = OVEN
    no: str = ""


def seen(register: int, scale: str = "0.1", unit: str = "C", form: str = "int16") -> dict[str, str]:
    old = 'table = "input"\nregister = 0\nformat = "int16"\nscale = 0.1\nunit = "C"'
    new = f'table = "input"\nregister = {register}\nformat = "{form}"\nscale = {scale}\nunit = "{unit}"'
    return {"old": old, "new": new}


class OddLine(Bench):
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


HEAD = OVEN[: OVEN.index("[device.relays]")].replace('"1000 C"', '"260 C"')

SENSED = 'unit = "C"\nlow = "-20 C"\nhigh = "400 C"\n'


class OddBench:
    """An odd bench in the hands of the test of planted mistakes."""

    opener = staticmethod(open_line)

    def __init__(self, board: Board) -> None:
        self.board, self.path, self.close = board, board.path, board.close

    def hand(self) -> None:
        self.board.air.hand_k = 5.0

    def power(self) -> None:
        self.board.power_off()


def at(address: int, feeds: int = 0) -> str:
    """An oven file of one board that has everything."""
    told = OVEN.replace("address = 1", f"address = {address}").replace("[device.sensor]\n", "[device.x]\n")
    whole = told.replace('device = "sensor"', 'device = "relays"').replace('"1000 C"', '"260 C"')
    identity = whole[whole.index("[[identity]]") : whole.index("[dead_man]")]
    other = whole[whole.index("[device.x]") : whole.index("[signal.process]")]
    whole = whole.replace(identity, "").replace(other, "")
    return whole.replace("register = 0\nwrite = 5", f"register = {feeds}\nwrite = 5")


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


DEAD_MAN = OVEN[OVEN.index("[dead_man]") :]
