"""Mistakes with panels and controllers that regulate by themselves."""

from faults.planted.bench import HEAD, OVEN, SENSED, Bench, Mistake, OddBench
from foreign.first_sheets import Manual, OwnSetPoint

PANEL = (
    OVEN[: OVEN.index("[device.sensor]")]
    + """[signal.process]
device = "relays"
table = "holding"
register = 0
format = "int16"
scale = 1.0
unit = "C"
low = "-20 C"
high = "1300 C"
[output.heater]
device = "relays"
table = "holding"
register = 1
kind = "set-point"
unit = "C"
park = "0 C"
link_loss = "holds"
"""
)


class PanelThatClamps(Bench):
    """A panel whose own lowest set-point is 50 °C: it takes no number below."""

    def __init__(self) -> None:
        super().__init__()
        self.relays.tables["holding"].update({0: 20, 1: 50})

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        cells = self.relays.tables["holding"]
        cells[1] = max(50, cells[1])


def by_duty(address: int, power: int, mode: int, drops: str) -> str:
    return (
        HEAD + f'[device.panel]\nport = "rs485"\naddress = {address}\n'
        + '[signal.process]\ndevice = "panel"\ntable = "holding"\nregister = 0\nscale = 0.1\n' + SENSED
        + f'[output.heater]\ndevice = "panel"\ntable = "holding"\nregister = {power}\n'
        + 'kind = "duty"\non = 1000\n'
        + f'[dead_man]\ndevice = "panel"\ntable = "holding"\nregister = {mode}\nwrite = 1\n'
        + f'drops_after = "{drops}"\n'
    )  # fmt: skip


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


MISTAKES = [
    Mistake(
        "a panel with a lowest set-point of its own",
        "bus check",
        "lowest set-point|low limit",
        file=PANEL,
        board=PanelThatClamps,
        never="baud",
    ),
    Mistake(
        "a controller left in automatic",
        "dead-man test",
        "mode",
        file=by_duty(3, 5, 4, "5 s"),
        board=lambda: OddBench(Manual()),
        never="coil number",
    ),
    Mistake(
        "a panel that falls back to a hot set-point",
        "bus check",
        "set-point of its own",
        file=by_duty(5, 4, 6, "6 s"),
        board=lambda: OddBench(OwnSetPoint(local_c=650.0)),
        never="must not be used",
    ),
    Mistake(
        "a set-point ten times too high",
        "bus check",
        "set-point.*scale",
        'scale = 1.0\nunit = "C"\nlow',
        'scale = 0.1\nunit = "C"\nlow',
        file=PANEL.replace('kind = "set-point"', 'kind = "set-point"\nscale = 0.1'),
        board=TenTimesHotter,
        no="display say so",
        never="coil number",
    ),
    Mistake(
        "a set-point in the other unit",
        "bus check",
        "set-point.*unit",
        'unit = "C"\npark',
        'unit = "F"\npark',
        file=PANEL,
        board=TenTimesHotter,
        no="display say so",
    ),
]
