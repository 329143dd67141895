"""Fifteen further planted mistakes, each with its right cure written down before the program was asked."""

from faults.more_mistakes import PANEL, TEXT
from faults.planted_bench import OVEN, Bench, Mistake
from foreign import OnAPty, lines
from foreign_ovens import Board
from odd_ovens import Exponent, Inverted, Manual, OwnSetPoint

from kilnctl.devices.port import open_line

HEAD = OVEN[: OVEN.index("[device.relays]")].replace('"1000 C"', '"260 C"')
SENSED = 'unit = "C"\nlow = "-20 C"\nhigh = "400 C"\n'
RELAYS = '[device.relays]\nport = "rs485"\naddress = 1\n[device.sensors]\nport = "rs485"\naddress = 2\n'
PROCESS = '[signal.process]\ndevice = "sensors"\ntable = "input"\nregister = 0\nscale = 0.1\n' + SENSED


class Odd:
    """An odd bench in the hands of the test of planted mistakes."""

    opener = staticmethod(open_line)

    def __init__(self, board: Board) -> None:
        self.board, self.path, self.close = board, board.path, board.close

    def hand(self) -> None:
        self.board.air.hand_k = 5.0

    def power(self) -> None:
        self.board.power_off()


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


def by_duty(address: int, power: int, mode: int, drops: str) -> str:
    return (
        HEAD + f'[device.panel]\nport = "rs485"\naddress = {address}\n'
        + '[signal.process]\ndevice = "panel"\ntable = "holding"\nregister = 0\nscale = 0.1\n' + SENSED
        + f'[output.heater]\ndevice = "panel"\ntable = "holding"\nregister = {power}\n'
        + 'kind = "duty"\non = 1000\n'
        + f'[dead_man]\ndevice = "panel"\ntable = "holding"\nregister = {mode}\nwrite = 1\n'
        + f'drops_after = "{drops}"\n'
    )  # fmt: skip


CONTACT = 'back = { device = "relays", table = "discrete", register = 1 }\n'
STICKS = OVEN.replace('table = "coil"\nregister = 1\n', f'table = "coil"\nregister = 1\n{CONTACT}')


class Decimals(Exponent):
    """A module whose register counts decimals: 1 means tenths."""

    def _look(self) -> None:
        super()._look()
        self.sensor.tables["input"][105] = self.points


class Talker(Bench):
    """A text board with a terminal's manners, or one that sums its lines."""

    def __init__(self, echo: bool = False, prompt: str = "", summed: bool = False) -> None:
        super().__init__()
        self.line.close()
        self._heat = "0"

        def said(line: str) -> str | None:
            text, _, _ = line.partition("*")
            if text == "READ":
                answer = f"T=20.0 H={self._heat}"
            elif text.startswith("HEAT "):
                self._heat, answer = text[5:], text
            elif text == "ALIVE 5":
                answer = text
            else:
                return None
            tail = f"*{sum(answer.encode()) % 256:02X}" if summed else ""
            return f"{line}\n" * echo + f"{answer}{tail}\n{prompt}"

        self.line = OnAPty(lines(said))


class OneIdentity(Bench):
    """Relays and sensor were both delivered with address 1."""

    def __init__(self) -> None:
        super().__init__()
        self.twin = self.units.pop(2)


class Sticking(Bench):
    """The contactor's auxiliary contact stays made once it has been pulled in."""

    def _pass(self) -> None:
        super()._pass()
        discrete = self.relays.tables["discrete"]
        discrete[1] = int(bool(self.relays.tables["coil"][1] or discrete.get(1, 0)))


class TenTimesHotter(Bench):
    """A panel that takes its set-point in whole degrees and shows tenths."""

    def __init__(self) -> None:
        super().__init__()
        self.relays.tables["holding"].update({0: 200, 1: 0})
        self.units.pop(2)

    def _pass(self) -> None:
        super()._pass()
        cells = self.relays.tables["holding"]
        self.air_c += 0.02 * (cells[1] > self.air_c)
        self.seen_c = self.air_c
        cells[0] = round(10 * (self.seen_c + self.hand_k))


class OtherChannel(Bench):
    """The couple sits at the module's second channel; the first is open."""

    def _pass(self) -> None:
        super()._pass()
        cells = self.sensor.tables["input"]
        cells[1], cells[0] = cells[0], 32767


ODD_MISTAKES = [
    Mistake(
        "negative logic that the file does not know", "bus check", "came up ON.*on = 0.*off = 1",
        "on = 0\noff = 1\n", "", file=NEGATIVE.replace("register = 1\non = 0\noff = 1\n", "register = 1\n"),
        board=lambda: Odd(Inverted()),
    ),
    Mistake(
        "decimals counted the other way", "cold check", r"exponent.*scale = -1", ", scale = -1", "",
        file=DECIMALS, board=lambda: Odd(Decimals()), never=r"With scale = 0\.0?1",
    ),
    Mistake("a prompt that the file does not name", "bus check", 'prompt = "> "', file=TEXT,
            board=lambda: Talker(prompt="> "), never="two devices|another program"),
    Mistake("a checksum that the file does not name", "bus check", 'checksum = "sum8"', file=TEXT,
            board=lambda: Talker(summed=True), never="speed"),
    Mistake("an echo that the file does not name", "bus check", "echoes = true", file=TEXT,
            board=lambda: Talker(echo=True), never="speed"),
    Mistake("a watchdog coil that must change", "dead-man test", "then = 0", "then = 0\n", "",
            file=NEGATIVE, board=lambda: Odd(Inverted()), never="coil number"),
    Mistake("a controller left in automatic", "dead-man test", "mode",
            file=by_duty(3, 5, 4, "5 s"),
            board=lambda: Odd(Manual()), never="coil number"),
    Mistake("a panel that falls back to a hot set-point", "bus check", "set-point of its own",
            file=by_duty(5, 4, 6, "6 s"),
            board=lambda: Odd(OwnSetPoint(local_c=650.0)), never="must not be used"),
    Mistake("a sensor of another type", "cold check", "type.*(module|file)", no="sensor's label"),
    Mistake("a contactor that sticks", "dead-man test", "contactor.*(stick|weld)", file=STICKS,
            board=Sticking, never="NO dead-man|coil number"),
    Mistake("a sensor with the relays' address", "bus check", "Two devices with one address",
            board=OneIdentity, never="power"),
    Mistake("A and B swapped at one device", "bus check", "sensor.*its two (data )?wires",
            plant=lambda b: b.units.pop(2), never="so the wires are right"),
    Mistake("a set-point ten times too high", "bus check", "set-point.*scale",
            'scale = 1.0\nunit = "C"\nlow', 'scale = 0.1\nunit = "C"\nlow',
            file=PANEL.replace('kind = "set-point"', 'kind = "set-point"\nscale = 0.1'),
            board=TenTimesHotter, no="display say so", never="coil number"),
    Mistake("a couple at the other channel", "bus check", "register = 1", board=OtherChannel,
            never="its wire and terminals$"),
    Mistake("two addresses exchanged", "bus check", "exchanged",
            file=OVEN.replace("address = 2", "address = 1").replace("address = 1", "address = 2", 1),
            never="counts from"),
]  # fmt: skip
