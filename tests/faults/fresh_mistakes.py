"""Further planted mistakes, each with its right cure written down before the program was asked."""

from faults.more_mistakes import PANEL, TCP, OnNetwork
from faults.odd_mistakes import HEAD, Odd, TenTimesHotter
from faults.planted_bench import OVEN, Bench, Mistake
from foreign_ovens import scripted
from odder_ovens import Ascii, Count, Dollar, OneWire


class AtTheContactor(Bench):
    """The contact that should tell of power at the element was wired to the contactor's auxiliary contact."""

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] = self.relays.tables["coil"][1]


class HangsUp(OnNetwork):
    """A board on a network that closes the connection after each answer."""

    def __init__(self) -> None:
        super().__init__()
        reply = self._socket._reply

        def once(peer, frame: bytes) -> bool:
            reply(peer, frame)
            return False

        self._socket._reply = once


def at(address: int, feeds: int = 0) -> str:
    """An oven file of one board that has everything."""
    told = OVEN.replace("address = 1", f"address = {address}").replace("[device.sensor]\n", "[device.x]\n")
    whole = told.replace('device = "sensor"', 'device = "relays"').replace('"1000 C"', '"260 C"')
    identity = whole[whole.index("[[identity]]") : whole.index("[dead_man]")]
    other = whole[whole.index("[device.x]") : whole.index("[signal.process]")]
    whole = whole.replace(identity, "").replace(other, "")
    return whole.replace("register = 0\nwrite = 5", f"register = {feeds}\nwrite = 5")


COUNTS = at(1, feeds=30)
DOLLAR = (
    HEAD + '[device.micro]\nkind = "text"\nport = "rs485"\nline_end = "CR LF"\nchecksum = "xor8"\n'
    + 'ask = [{ send = "$GT", reply = "$TC,{process},H,{heater},L,{lamp}" }]\n'
    + '[device.micro.tell]\nheater = { send = "$SH,{value}", reply = "$OK,SH,{value}" }\n'
    + 'alive = { send = "$KA,{value}", reply = "$OK,KA,{value}" }\n'
    + '[signal.process]\ndevice = "micro"\nfield = "process"\nunit = "C"\nlow = "-20 C"\nhigh = "400 C"\n'
    + '[output.heater]\ndevice = "micro"\nfield = "heater"\n'
    + '[dead_man]\ndevice = "micro"\nfield = "alive"\nwrite = 5\ndrops_after = "5 s"\n'
)  # fmt: skip
FRESH_MISTAKES = [
    Mistake("a contact at the contactor, not at the element", "heater pulse",
            "heater_live's contact is on the contactor",
            board=AtTheContactor, never="NO dead-man|coil number"),
    Mistake("a set-point in the other unit", "bus check", "set-point.*unit",
            'unit = "C"\npark', 'unit = "F"\npark', file=PANEL, board=TenTimesHotter,
            no="display say so"),
    Mistake("a plausible range above the room", "oven check", "low.*ambient", 'low = "-20 C"', 'low = "25 C"',
            never="leads|check sensor|No other order"),
    Mistake("a network board that hangs up after each answer", "bus check", "closes the connection",
            board=HangsUp, file=TCP, never="another program|baud"),
    Mistake("a board that has Modbus ASCII only", "bus check", 'it does with frames = "ascii"\\.$',
            file=at(4), board=lambda: Odd(Ascii()), never="swap|baud"),
    Mistake("a single data wire", "bus check", "echoes = true at the port", file=at(8),
            board=lambda: Odd(OneWire())),
    Mistake("an echo in the file, and none on the line", "bus check", "take echoes out",
            "baud = 19200", "baud = 19200\nechoes = true", never="Switch its echo off"),
    Mistake("a checksum that leaves the first character out", "bus check", 'with checksum_after = "\\$"',
            file=DOLLAR, board=lambda: Odd(Dollar()), never="power|speed"),
    Mistake("a watchdog that counts", "dead-man test", "one more each time.*counts_to", file=COUNTS,
            board=lambda: Odd(scripted(Count())), never="coil number"),
]  # fmt: skip
