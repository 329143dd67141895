"""Mistakes at the oven: leads, couples, contacts, relays, a dead-man that is not as the file says."""

import math
import time

from faults.planted.bench import OVEN, Bench, Mistake, OddLine

CONTACT = '[signal.heater_live]\ndevice = "relays"\ntable = "discrete"\nregister = 0\n'


def other_switch(name: str) -> dict[str, str]:
    """A further switch of the oven at discrete 1."""
    more = CONTACT.replace("heater_live", name).replace("register = 0", "register = 1")
    return {"old": CONTACT, "new": CONTACT + more}


AUXILIARY = 'back = { device = "relays", table = "discrete", register = 1 }\n'

STICKS = OVEN.replace('table = "coil"\nregister = 1\n', f'table = "coil"\nregister = 1\n{AUXILIARY}')


class Sticking(Bench):
    """The contactor's auxiliary contact stays made once it has been pulled in."""

    def _pass(self) -> None:
        super()._pass()
        discrete = self.relays.tables["discrete"]
        discrete[1] = int(bool(self.relays.tables["coil"][1] or discrete.get(1, 0)))


class AtTheContactor(Bench):
    """The contact that should tell of power at the element was wired to the contactor's auxiliary contact."""

    def _pass(self) -> None:
        super()._pass()
        self.relays.tables["discrete"][0] = self.relays.tables["coil"][1]


class ToBeArmed(Bench):
    """A watchdog that drops nothing before 165 was written to another register, which starts its time too."""

    def __init__(self) -> None:
        super().__init__()
        self.relays.tables["holding"][1] = 0
        self._fed_until_s = math.inf

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        armed = self.relays.tables["holding"][1] == 165
        if table == "holding" and armed:
            self._fed_until_s = time.monotonic() + self.holds_s


MISTAKES = [
    Mistake(
        "a contact at the element that is turned round",
        "bus check",
        "`inverted`",
        board=lambda: OddLine(turned=True),
        never="leads",
    ),
    Mistake(
        "a door switch that is turned round",
        "bus check",
        "door.*inverted",
        board=OddLine,
        never="coil number|leads",
        **other_switch("door_open"),
        no="the door is open",
    ),
    Mistake(
        "a limit's contact that is turned round",
        "bus check",
        "limit.*inverted",
        board=OddLine,
        never="coil number|leads",
        **other_switch("limit_open"),
        no="limit has opened",
    ),
    Mistake(
        "a dead-man that is too short",
        "dead-man test",
        "sooner than it is fed",
        board=lambda: Bench(holds_s=0.6),
        never="did not come on|coil number",
    ),
    Mistake("a sensor of another type", "cold check", "type.*(module|file)", no="sensor's label"),
    Mistake(
        "a contactor that sticks",
        "dead-man test",
        "contactor.*(stick|weld)",
        file=STICKS,
        board=Sticking,
        never="NO dead-man|coil number",
    ),
    Mistake(
        "a contact at the contactor, not at the element",
        "heater pulse",
        "heater_live's contact is on the contactor",
        board=AtTheContactor,
        never="NO dead-man|coil number",
    ),
    Mistake(
        "a watchdog that must be armed first", "dead-man test", '"arm", "enable" or "start"', board=ToBeArmed
    ),
    Mistake("a board that starts on", "bus check", "came up ON", board=lambda: Bench(boots_on=True)),
    Mistake(
        "a board without the dead-man that the file names",
        "dead-man test",
        "NO dead-man, no live heat",
        board=lambda: Bench(holds_s=0.0),
    ),
    Mistake(
        "a dead-man slower than the file says",
        "dead-man test",
        "5 s were expected. .*drops_after",
        board=lambda: Bench(holds_s=9.0),
    ),
    Mistake(
        "swapped leads",
        "cold check",
        "its two leads are swapped",
        never="scale|unit =",
        plant=lambda b: setattr(b, "sign", -1.0),
    ),
    Mistake(
        "a sensor that is not in this oven",
        "cold check",
        "was another sensor warmed",
        plant=lambda b: setattr(b, "warm", lambda: None),
        never="leads are swapped|scale",
    ),
    Mistake(
        "a relay that leaks or is welded",
        "bus check",
        "a relay that leaks or is welded",
        plant=lambda b: setattr(b, "leaks", True),
    ),
    Mistake(
        "a couple shorted at its head",
        "cold check",
        "or do its wires touch",
        plant=lambda b: setattr(b, "shorted", True),
    ),
    Mistake(
        "a sensor left outside the oven",
        "heater pulse",
        "the sensor is not in the chamber",
        plant=lambda b: setattr(b, "inside", False),
    ),
    Mistake(
        "the normally closed contact",
        "heater pulse",
        "normally closed contact",
        plant=lambda b: setattr(b, "closed_at_rest", True),
    ),
]
