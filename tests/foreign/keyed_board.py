"""A module of invented make: one word for four outputs, a watchdog armed by a key, busy while it stores.

Written from its sheet. Bit 0 of holding 11 heats, 1 is the contactor, 2 the lamp; input 6 shows what the
outputs really do. The key in holding 20 arms while the word is 0; a number in holding 21 other than the last
one feeds. A watchdog that has tripped drops all outputs and refuses any word but 0 (exception 04) until it is
armed again. While it stores it answers everything with exception 06, and has done nothing.
"""

import struct
import time

from foreign.wires import OnAPty, Unit, rtu

KEY, HOLDS_S = 23205, 1.2
TEXT = """name = "keyed"
use = "hardening"
build = "fibre"
power = "2400 W"
limit = "1000 C"
isolator = "red switch"
switching = {{ kind = "solid-state" }}
port.bus = {{ path = "{}", baud = 19200 }}
device.module = {{ port = "bus", address = 17 }}
dead_man = {{ device = "module", table = "holding", register = 21, write = 1, counts_to = 1000, drops_after = "1.5 s", shown = true }}
[signal.process]
device = "module"
table = "input"
register = 4
scale = 0.1
unit = "C"
low = "-20 C"
high = "1250 C"
[output.heater]
device = "module"
table = "holding"
register = 11
bit = 0
back = {{ device = "module", table = "input", register = 6, bit = 0 }}
[output.contactor]
device = "module"
table = "holding"
register = 11
bit = 1
back = {{ device = "module", table = "input", register = 6, bit = 1 }}
[output.lamp]
device = "module"
table = "holding"
register = 11
bit = 2
[[arm]]
device = "module"
table = "holding"
register = 19
write = 10
[[arm]]
device = "module"
table = "holding"
register = 20
write = 23205
"""  # noqa: E501


class Keyed(Unit):
    """The module on a pseudo-terminal. `told` is every word that it was sent, `pins` what its outputs do."""

    def __init__(self, store_s: float = 0.0) -> None:
        super().__init__()
        self.store_s, self.busy_until_s = store_s, 0.0
        self.pins = self.word = self.number = self.stored = self.refusals = 0
        self.armed = self.tripped = self.cable_out = False
        self.time = 0  # what holding 19 keeps, without power too
        self.fed_s, self.lit_s, self.heated, self.deaf_to, self.busy_to = 0.0, 0.0, 0, 0, 0
        talk = rtu({17: self})
        self.line = OnAPty(lambda came: self._heard(*talk(came)))
        self.path = self.line.path

    def _heard(self, used: int, reply: bytes) -> tuple[int, bytes]:
        self.look()
        if reply and self.deaf_to:  # the word is done; its answer is lost
            self.deaf_to -= 1
            return used, b""
        return used, b"" if self.cable_out else reply

    def look(self) -> None:
        if self.armed and time.monotonic() - self.fed_s > HOLDS_S:
            self.trip()

    def trip(self) -> None:
        self.armed, self.tripped, self.pins = False, True, 0

    @property
    def lit(self) -> bool:
        self.look()
        return bool(self.pins & 4)

    def answer(self, pdu: bytes) -> bytes:
        self.look()
        if self.cable_out:
            return b""
        if self.busy_to:
            self.busy_to -= 1
            return bytes([pdu[0] | 0x80, 6])
        if time.monotonic() < self.busy_until_s:
            return bytes([pdu[0] | 0x80, 6])
        first, value = struct.unpack(">HH", pdu[1:5])
        if pdu[0] in (3, 4):
            cells = (
                {4: 210, 6: self.pins}
                if pdu[0] == 4
                else {11: self.word, 19: self.time, 20: self.armed, 21: self.number}
            )
            got = [int(cells.get(first + i, 0)) for i in range(value)]
            return bytes([pdu[0], 2 * value]) + struct.pack(f">{value}H", *got)
        code = self._write(first, value)
        self.refusals += bool(code)
        return bytes([pdu[0] | 0x80, code]) if code else pdu[:5]

    def _write(self, register: int, value: int) -> int:
        if register == 11:
            if self.tripped and value:
                return 4
            self.word = self.pins = value
            self.heated += value & 3
        elif register == 19:
            self.stored += 1
            self.time = value
            self.busy_until_s = time.monotonic() + self.store_s
        elif register == 20:
            if value != KEY or self.word:
                return 3
            self.armed, self.tripped, self.fed_s = True, False, time.monotonic()
        elif register == 21:
            self.fed_s = self.fed_s if value == self.number else time.monotonic()
            self.number = value
        else:
            return 2
        return 0

    def close(self) -> None:
        self.line.close()
