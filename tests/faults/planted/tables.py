"""Mistakes with the device's table: registers, coils, scales, words, signs, watchdogs."""

import struct

from faults.planted.bench import HEAD, SENSED, Bench, Mistake, OddBench, at, seen
from foreign.benches import scripted
from foreign.first_sheets import Exponent, Inverted
from foreign.second_sheets import Count


class OtherForms(Bench):
    """The sensor's module gives the same temperature in further forms."""

    def _pass(self) -> None:
        super()._pass()
        cells = self.sensor.tables["input"]
        tenths = cells[0]
        cells[6] = 10 * tenths & 0xFFFF
        cells[7] = (tenths << 8 | tenths >> 8) & 0xFFFF
        cells.update(zip((8, 9), struct.unpack(">HH", struct.pack(">i", tenths)), strict=True))


RELAYS = '[device.relays]\nport = "rs485"\naddress = 1\n[device.sensors]\nport = "rs485"\naddress = 2\n'

PROCESS = '[signal.process]\ndevice = "sensors"\ntable = "input"\nregister = 0\nscale = 0.1\n' + SENSED


def coil(name: str, register: int, device: str = "relays") -> str:
    return f'[output.{name}]\ndevice = "{device}"\ntable = "coil"\nregister = {register}\n'


NEGATIVE = (
    HEAD + RELAYS + PROCESS
    + '[signal.heater_live]\ndevice = "relays"\ntable = "discrete"\nregister = 0\ninverted = true\n'
    + coil("heater", 0) + "on = 0\noff = 1\n" + coil("contactor", 1) + "on = 0\noff = 1\n"
    + '[dead_man]\ndevice = "relays"\ntable = "coil"\nregister = 8\nwrite = 1\nthen = 0\n'
    + 'drops_after = "4 s"\n'
)  # fmt: skip

DECIMALS = (
    HEAD + RELAYS.replace("address = 1", "address = 12").replace("address = 2", "address = 11")
    + '[signal.process]\ndevice = "sensors"\ntable = "input"\nregister = 104\n' + SENSED
    + 'exponent = { device = "sensors", table = "input", register = 105, scale = -1 }\n'
    + coil("heater", 0) + coil("contactor", 1)
    + '[dead_man]\ndevice = "relays"\ntable = "holding"\nregister = 200\nwrite = 5\ndrops_after = "5 s"\n'
)  # fmt: skip


class Decimals(Exponent):
    """A module whose register counts decimals: 1 means tenths."""

    def _look(self) -> None:
        super()._look()
        self.sensor.tables["input"][105] = self.points


class OtherChannel(Bench):
    """The couple sits at the module's second channel; the first is open."""

    def _pass(self) -> None:
        super()._pass()
        cells = self.sensor.tables["input"]
        cells[1], cells[0] = cells[0], 32767


COUNTS = at(1, feeds=30)


class FloatAlone(Bench):
    """A float, low word first, whose neighbours are nothing; and tenths of a kelvin."""

    def _pass(self) -> None:
        super()._pass()
        cells = self.sensor.tables["input"]
        cells.update({6: 27315 // 10 + cells[0], 7: 0, 8: cells[4], 9: cells[5], 10: 0})


LAMP = '[output.lamp]\ndevice = "relays"\ntable = "coil"\nregister = 4\n'


MISTAKES = [
    Mistake(
        "hundredths taken for tenths",
        "cold check",
        "With scale = 0.01 it would show",
        board=OtherForms,
        never="register =|unit =",
        **seen(6),
    ),
    Mistake(
        "bytes in the other order",
        "cold check",
        r'With byte_order = "little" it would show',
        board=OtherForms,
        never="register =|unit =|scale",
        **seen(7),
    ),
    Mistake(
        "two registers read as one",
        "cold check",
        r'With (format = "int32"|register = 9)',
        board=OtherForms,
        never="unit =|scale",
        **seen(8),
    ),
    Mistake(
        "a sensor sought among the outputs",
        "bus check",
        r"but input 0",
        'table = "input"\nregister = 0',
        'table = "holding"\nregister = 0',
        never="wires|speed|power",
    ),
    Mistake(
        "a coil taken for a register",
        "bus check",
        "but coil 2",
        'table = "coil"\nregister = 0',
        'table = "holding"\nregister = 2',
        never="wires|speed|power",
    ),
    Mistake(
        "negative logic that the file does not know",
        "bus check",
        "came up ON.*on = 0.*off = 1",
        "on = 0\noff = 1\n",
        "",
        file=NEGATIVE.replace("register = 1\non = 0\noff = 1\n", "register = 1\n"),
        board=lambda: OddBench(Inverted()),
    ),
    Mistake(
        "decimals counted the other way",
        "cold check",
        r"exponent.*scale = -1",
        ", scale = -1",
        "",
        file=DECIMALS,
        board=lambda: OddBench(Decimals()),
        never=r"With scale = 0\.0?1",
    ),
    Mistake(
        "a watchdog coil that must change",
        "dead-man test",
        "then = 0",
        "then = 0\n",
        "",
        file=NEGATIVE,
        board=lambda: OddBench(Inverted()),
        never="coil number",
    ),
    Mistake(
        "a couple at the other channel",
        "bus check",
        "register = 1",
        board=OtherChannel,
        never="its wire and terminals$",
    ),
    Mistake(
        "a watchdog that counts",
        "dead-man test",
        "one more each time.*counts_to",
        file=COUNTS,
        board=lambda: OddBench(scripted(Count())),
        never="coil number",
    ),
    Mistake(
        "coils that count from one",
        "bus check",
        "output.lamp: the device has no coil 4, but coil 3",
        "[[identity]]",
        LAMP + "[[identity]]",
        never="lamp stay dark",
    ),
    Mistake(
        "a float in the other order, beside a zero",
        "cold check",
        'With format = "float32", word_order = "low first" it would show',
        **seen(8, "1.0"),
        board=FloatAlone,
        plant=lambda b: b.be_in(20.1),
        never="register =",
    ),
    Mistake(
        "tenths of a kelvin",
        "cold check",
        "With offset = -273.15 .*it sends kelvins",
        **seen(6),
        board=FloatAlone,
        never="leads|No other order",
    ),
    Mistake(
        "a contact that counts from one",
        "bus check",
        "has no discrete 1, but discrete 0",
        'discrete"\nregister = 0',
        'discrete"\nregister = 1',
    ),
    Mistake(
        "a dead-man register that is not there",
        "dead-man test",
        "the device refuses: illegal data address.*counts from 1",
        "register = 0\nwrite",
        "register = 7\nwrite",
        never="latch",
    ),
    Mistake("ten times too much", "cold check", "With scale = 0.1 it would show", **seen(0, "1.0")),
    Mistake("degrees Fahrenheit", "cold check", 'With unit = "F" it would show', **seen(2)),
    Mistake(
        "words in the other order",
        "bus check",
        'with word_order = "low first".* it makes sense',
        **seen(4, "1.0", form="float32"),
    ),
    Mistake(
        "a register that counts from one",
        "cold check",
        "With register = 0 it would show",
        never="scale|unit =",
        **seen(1),
    ),
    Mistake(
        "an open sensor",
        "bus check",
        "the device reports an open sensor",
        plant=lambda b: setattr(b, "broken", True),
    ),
    Mistake(
        "a coil that counts from one",
        "heater pulse",
        "shows no power at the element: relay, fuse, door switch or coil number",
        plant=lambda b: setattr(b, "heater", 2),
    ),
    Mistake(
        "no sign, in a cold workshop",
        "cold check",
        'With format = "int16" it would show',
        **seen(0, form="uint16"),
        maker={"thermometer read": "-3 C"},
        plant=lambda b: b.be_in(-3.0),
    ),
    Mistake("whole degrees taken for tenths", "cold check", "With scale = 1 it would show", **seen(3)),
]
