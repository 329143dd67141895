"""Mistakes on the serial line: wires, speed, parity, addresses, echoes, who else answers."""

import termios

from faults.planted.bench import OVEN, Bench, Mistake, OddBench, OddLine, at
from foreign.second_sheets import Ascii, OneWire
from foreign.wires import Unit

from kilnctl.devices.port import open_line


class EvenParity(Bench):
    """What the adapter sends with another parity, the boards do not hear."""

    @staticmethod
    def opener(port, exclusive):
        line = open_line(port, exclusive)
        if port.parity != "even":
            line.write = len
        return line


class OneIdentity(Bench):
    """Relays and sensor were both delivered with address 1."""

    def __init__(self) -> None:
        super().__init__()
        self.twin = self.units.pop(2)


class Floats(Bench):
    """A line without bias resistors: a zero byte before each answer, as the driver switches on."""

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        used, reply = super()._talk(came)
        return used, reply and b"\x00" + reply


class TwoStopBits(Bench):
    """Boards that take a byte only with its two stop bits."""

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        if hasattr(self, "line") and not termios.tcgetattr(self.line._slave)[2] & termios.CSTOPB:
            return len(came), b""
        return super()._talk(came)


MISTAKES = [
    Mistake(
        "wrong parity",
        "bus check",
        r'it does with baud = 19200, parity = "even"',
        board=EvenParity,
        never="swap the two data wires",
    ),
    Mistake(
        "a slow device",
        "bus check",
        "timeout",
        board=lambda: OddLine(late_s=0.4),
        never="baud =|swap the two data wires",
    ),
    Mistake(
        "a line without its termination",
        "bus check",
        "unterminated",
        board=lambda: OddLine(noise=0.6),
        never="baud =|swap the two data wires",
    ),
    Mistake(
        "a sensor with the relays' address",
        "bus check",
        "Two devices with one address",
        board=OneIdentity,
        never="power",
    ),
    Mistake(
        "A and B swapped at one device",
        "bus check",
        "sensor.*its two (data )?wires",
        plant=lambda b: b.units.pop(2),
        never="so the wires are right",
    ),
    Mistake(
        "two addresses exchanged",
        "bus check",
        "exchanged",
        file=OVEN.replace("address = 2", "address = 1").replace("address = 1", "address = 2", 1),
        never="counts from",
    ),
    Mistake(
        "a board that has Modbus ASCII only",
        "bus check",
        'it does with frames = "ascii"\\.$',
        file=at(4),
        board=lambda: OddBench(Ascii()),
        never="swap|baud",
    ),
    Mistake(
        "a single data wire",
        "bus check",
        "echoes = true at the port",
        file=at(8),
        board=lambda: OddBench(OneWire()),
    ),
    Mistake(
        "an echo in the file, and none on the line",
        "bus check",
        "take echoes out",
        "baud = 19200",
        "baud = 19200\nechoes = true",
        never="Switch its echo off",
    ),
    Mistake(
        "a line without bias resistors",
        "bus check",
        "a stray byte comes before it.*bias resistors",
        board=Floats,
        never="Two devices|parity",
    ),
    Mistake(
        "one stop bit for two",
        "bus check",
        "it does with stop_bits = 2",
        board=TwoStopBits,
        never="swap the two data wires",
    ),
    Mistake("no such port", "bus check", "there is no such port", "PATH", "/dev/ttyUSB77"),
    Mistake(
        "wrong speed",
        "bus check",
        "it does with baud = 19200",
        "baud = 19200",
        "baud = 9600",
        never="swap the two data wires",
    ),
    Mistake(
        "wrong address",
        "bus check",
        "address 1 does",
        "address = 1",
        "address = 7",
        never="swap the two data wires",
    ),
    Mistake(
        "an adapter that echoes",
        "bus check",
        "an echo. Switch its echo off",
        board=lambda: Bench(echoes=True),
    ),
    Mistake(
        "another board at the address",
        "bus check",
        "holds 41, not 77: another device answers",
        "expect = 41",
        "expect = 77",
    ),
    Mistake(
        "a second oven's board on the line",
        "bus check",
        "address 3 answers, which the oven file does not have",
        plant=lambda b: b.units.update({3: Unit(holding={0: 0})}),
    ),
    Mistake(
        "the module is not powered",
        "bus check",
        "sensor: nothing answers at address 2",
        plant=lambda b: b.units.pop(2),
    ),
    Mistake(
        "two boards with one address",
        "bus check",
        "Two devices with one address",
        plant=lambda b: setattr(b, "twin", Unit(coil=dict.fromkeys(range(4), 1), discrete={0: 1})),
    ),
    Mistake(
        "the data wires swapped",
        "bus check",
        "swap the two data wires",
        plant=lambda b: setattr(b, "cable", False),
    ),
]
