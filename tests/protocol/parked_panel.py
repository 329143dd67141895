"""A panel that regulates by itself, stands by after a silence, and is heated by kilnctl over real bytes.

Written by its sheet alone: register 0 set-point, 1 mode (1 runs, 0 stands by), input 0 the temperature.
While it runs something must come within its time, or it stands by until mode = 1 is written. In run it has a
lowest output of its own ("output low limit"), whatever its set-point: a set-point parked low leaves the
element fed, stand-by does not. `live_s` is its own truth, in seconds in which the element was fed.
"""

import re
import threading
import time
from dataclasses import dataclass, field

from foreign.wires import OnAPty, Unit, lines, rtu

POINT, MODE = 0, 1
ROOM_C, WARM_C, RISE_K_PER_S, LOSES_S, LEAST = 20.0, 41.0, 0.6, 200.0, 0.05


@dataclass
class Makes:
    """How a panel is built: what counts as a sign of life, and for how long it runs without."""

    by: str = "any"  # "any" word (also of "text"), a "write" of whatever place, or the "point" again
    holds_s: float = 2.5
    contactor: bool = False


@dataclass
class Moment:
    """What the panel saw itself do: a slice of time, whether its element was fed, its mode and set-point."""

    at_s: float
    live: bool
    mode: int
    point: int


@dataclass
class Seen:
    moments: list[Moment] = field(default_factory=list)

    def live_s(self, since_s: float, until_s: float = float("inf")) -> float:
        pairs = zip(self.moments, self.moments[1:], strict=False)
        return sum(b.at_s - a.at_s for a, b in pairs if a.live and since_s <= a.at_s < until_s)


class ParkedPanel(Unit):
    def __init__(self, makes: Makes) -> None:
        super().__init__(holding={POINT: 0, MODE: 0}, input={0: 410}, discrete={0: 0})
        self.makes, self.seen = makes, Seen()
        self.tables["coil"][0], self.tables["holding"][MODE] = 0, int(makes.contactor)
        self.air_c, self.door, self.broken = WARM_C, False, False
        self.stood_by = self.lost_looks = 0
        self._lock = threading.Lock()
        self._at_s = self.heard_s = time.monotonic()
        self.line = OnAPty(self._turn(lines(self._said, b"\r\n") if makes.by == "text" else rtu({1: self})))

    def _turn(self, talk):
        def turn(came: bytes) -> tuple[int, bytes]:
            with self._lock:
                self._pass()
                used, reply = talk(came)
                if self.lost_looks and reply and came[1:6] == bytes([3, 0, MODE, 0, 1]):
                    self.lost_looks, reply = self.lost_looks - 1, b""
                return used, reply

        return turn

    def _pass(self) -> None:
        """Let the time pass up to now; the line turns at least every 10 ms."""
        now_s, cells = time.monotonic(), self.tables["holding"]
        dt_s, self._at_s = now_s - self._at_s, now_s
        if cells[MODE] and not self.makes.contactor and now_s - self.heard_s > self.makes.holds_s:
            cells[MODE], self.stood_by = 0, self.stood_by + 1
        power = max(LEAST, min(1.0, (cells[POINT] - self.air_c) / 3.0)) if cells[MODE] else 0.0
        power *= self.tables["coil"][0] if self.makes.contactor else 1
        live = power > 0.0
        self.air_c += dt_s * (RISE_K_PER_S * power - (self.air_c - ROOM_C) / LOSES_S)
        self.tables["input"][0], self.tables["discrete"][0] = (
            32767 if self.broken else round(10 * self.air_c),
            int(self.door),
        )
        self.seen.moments.append(Moment(now_s, live, cells[MODE], cells[POINT]))

    def answer(self, pdu: bytes) -> bytes:
        before = self.tables["holding"][MODE]
        reply = super().answer(pdu)
        wrote = pdu[0] in (6, 16)
        to_point = wrote and pdu[1:3] == bytes([0, POINT])
        started = self.tables["holding"][MODE] and not before
        if started or {"any": True, "write": wrote, "point": to_point}[self.makes.by]:
            self.heard_s = time.monotonic()
        return reply

    def _said(self, line: str) -> str | None:
        """The same panel with a language of its own; what it answers is not what it is told."""
        cells, (word, _, number) = self.tables["holding"], line.partition(" ")
        self.heard_s = time.monotonic()
        match word:
            case "?":
                return f"PV {self.air_c:.1f} SP {cells[POINT]} {'RUN' if cells[MODE] else 'STOP'}\r\n"
            case "SP":
                cells[POINT] = int(number)
            case "GO" | "HALT":
                cells[MODE] = int(word == "GO")
        return "OK\r\n"

    @property
    def live(self) -> bool:
        return self.seen.moments[-1].live

    @property
    def mode(self) -> int:
        return self.tables["holding"][MODE]

    def close(self) -> None:
        self.line.close()


FILE = """
name = "parked"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "200 C"
isolator = "red switch"
tick = "0.5 s"
switching = { kind = "solid-state" }
port.p = { path = "PATH", timeout = "0.2 s" }
device.panel = { port = "p", address = 1 }
[dead_man]
device = "panel"
table = "holding"
register = 1
write = 1
drops_after = "2.5 s"
zero_drops = true
[signal.process]
device = "panel"
table = "input"
register = 0
scale = 0.1
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
table = "holding"
register = 0
unit = "C"
park = "0 C"
highest = "180 C"
link_loss = "drops"
back = { device = "panel", table = "holding", register = 1 }
"""
DOOR = """
[signal.door_open]
device = "panel"
table = "discrete"
register = 0
"""
TOLD = (
    FILE[: FILE.index("device.panel")]
    + """
[device.panel]
kind = "text"
port = "p"
line_end = "CR LF"
ask = [{ send = "?", reply = "PV {pv} SP {sp} {mode}" }]
[device.panel.words]
mode = ["STOP", "RUN"]
mode_command = ["HALT", "GO"]
[device.panel.tell]
sp = { send = "SP {value}", reply = "OK" }
mode_command = { send = "{value}", reply = "OK" }
[dead_man]
device = "panel"
field = "mode_command"
write = 1
drops_after = "2.5 s"
zero_drops = true
[signal.process]
device = "panel"
field = "pv"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
kind = "set-point"
device = "panel"
field = "sp"
unit = "C"
park = "0 C"
highest = "180 C"
link_loss = "drops"
back = { device = "panel", field = "mode" }
"""
)
CONTACTOR = """
[output.contactor]
device = "panel"
table = "coil"
register = 0
"""
RENEWED = 'holds = "2.5 s"\n'


def file_for(makes: Makes, path: str) -> str:
    """Return the oven file that its maker writes: a set-point that must come again has `holds`."""
    text = (TOLD if makes.by == "text" else FILE).replace("PATH", path)
    if makes.contactor:  # and no mode: nothing but that can make its element dead
        text = (
            re.sub(r"back = .*\n", "", re.sub(r"\[dead_man\].*?(?=\[signal)", "", text, flags=re.S))
            + CONTACTOR
        )
    return text + {"point": RENEWED + DOOR, "text": ""}.get(makes.by, DOOR)
