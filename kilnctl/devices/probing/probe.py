"""Finding mistakes on the wire, before any heat: who is there, at which settings, and does the adapter echo.

Nothing here switches anything on. Every function returns findings; `kilnctl commission` shows them.
"""

from collections.abc import Callable, Iterable

from kilnctl.clock import Clock
from kilnctl.config.device_keys import LineDevice, ModbusDevice, Port, TextDevice
from kilnctl.config.oven import Oven
from kilnctl.config.places import Place
from kilnctl.config.port_path import is_network
from kilnctl.config.wiring import DeviceIdentity, Temperature
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.device import WiredDevice
from kilnctl.devices.device_factory import board
from kilnctl.devices.identity import check_identity
from kilnctl.devices.languages.modbus import ModbusBoard
from kilnctl.devices.port import Line, open_line
from kilnctl.devices.probing.cold_sensors import explain_cold, taken_beside, turned_floats
from kilnctl.devices.probing.diagnoses import (
    STARTS_S,
    Diagnosis,
    exchanged,
    judge_power_up,
    perhaps_there,
    read_so,
    silent_at,
    unheard,
    why_on,
)
from kilnctl.devices.probing.echo import echo_on
from kilnctl.devices.probing.manners import LISTENS_S, needs_gap, starts_anew, talks
from kilnctl.devices.probing.outputs_seen import heat_seen, number_said, output_seen, shown_amount
from kilnctl.devices.probing.places_seen import places_seen, who_has
from kilnctl.devices.probing.set_points import low_set_point, other_set_point, parked_first, put
from kilnctl.devices.probing.settings_search import summed_so, working
from kilnctl.devices.probing.supply_off import still_answer
from kilnctl.devices.probing.switches_seen import switches_seen
from kilnctl.devices.probing.text_replies import left_over
from kilnctl.errors import (
    BadReply,
    DeviceBusy,
    DeviceError,
    DeviceRefused,
    NoReply,
    PortLost,
    RunRefused,
    sentence,
)

ADDRESSES = range(1, 33)
ANY_UNIT = 246
TRIES = 3
LOOK_S = 0.2
STARTED_S = 2.5  # by then most boards have started and said so
STRANGER_S = 0.2  # so long an address is waited for that nobody knows, or three times what a known one took

Opener = Callable[[Port, bool], Line]


class Probe:
    """Looks at one oven's wiring through ports of its own; close it before the oven is run."""

    def __init__(
        self,
        oven: Oven,
        clock: Clock,
        opener: Opener = open_line,
        addresses: Iterable[int] = ADDRESSES,
        buses: Buses | None = None,
        why_stop: Callable[[], str | None] = lambda: None,
    ) -> None:
        """Give `buses` to share ports with who answers an off; `why_stop` ends a long look (RunRefused)."""
        self._every_address = tuple(addresses)
        self.oven = oven
        self._clock = clock
        self._opener = opener
        self._buses = buses or Buses(clock, opener=opener)
        self._why_stop = why_stop
        self._bus = self._buses.take(oven)
        self._device = {
            name: board(name, device, self._bus[device.port], clock) for name, device in oven.device.items()
        }

    def close(self) -> None:
        """Give the ports back."""
        self._buses.give_back(self.oven)

    def ports(self) -> list[Diagnosis]:
        """Can every port be opened?"""
        found = []
        for bus in self._bus.values():
            try:
                bus.open()
                at = "" if is_network(bus.port.path) else f" at {bus.port.baud} baud"
                found.append(Diagnosis("port", True, f"{bus.port.path} is open{at}."))
            except PortLost as e:
                found.append(Diagnosis("port", False, sentence(e)))
        return found

    def answers(self) -> list[Diagnosis]:
        """Does every device of the file answer? Where one does not, other settings are tried and told."""
        found: list[Diagnosis] = []
        for name, device in self.oven.device.items():
            spoilt = any(one.kind == "damaged" for one in found)
            beside = spoilt and isinstance(self._hear(self._device[name], self._first_place(name)), NoReply)
            found.append(perhaps_there(name, device) if beside else self._answer(name))
        return found

    def _answer(self, name: str) -> Diagnosis:
        device, place = self.oven.device[name], self._first_place(name)
        bus, error = self._bus[device.port], self._hear(self._device[name], place)
        if isinstance(error, BadReply) and isinstance(device, TextDevice):
            error = self._hear(self._device[name], place)  # it may have begun with the rest of another line
        if error is None:
            return self._after(name, place)
        if summed := summed_so(name, device, place, error, bus, self._clock, self._opener, self._hear):
            say = f"{name} does not answer as the file expects, but it does with {summed}."
            return Diagnosis("settings", False, say)
        if not isinstance(error, NoReply):
            kind = "damaged" if isinstance(error, BadReply) else "answers"
            return Diagnosis(kind, False, f"{sentence(error)} {unheard(error, device, bus.port)}".rstrip())
        if say := self._starts_anew(name, place):
            return Diagnosis("settings", False, say)
        keys = working(name, device, place, bus, self._clock, self._opener, self._hear)
        bus.open()
        if keys is None:
            say = f"{name} answers, but only when asked twice: look for a loose or disturbed line."
            return Diagnosis("answers", True, say)
        if keys:
            say = f"{name} does not answer with these settings, but it does with {keys}."
            return Diagnosis("settings", False, say)
        if not isinstance(device, ModbusDevice):
            hint = "Check power and wires, and the line end and checksum in the board's program."
            return Diagnosis("answers", False, f"{error}, at any usual speed. {hint}")
        return self._elsewhere(name, device, bus.port)

    def _starts_anew(self, name: str, place: Place) -> str:
        """Say what to write for a text board that is silent while it starts, where the file has no banner."""
        device = self.oven.device[name]
        if not isinstance(device, TextDevice) or device.banner or device.unasked:
            return ""
        said = self._bus[device.port].left_over(STARTED_S)
        return "" if not said or self._hear(self._device[name], place) else starts_anew(name, said)

    def _after(self, name: str, place: Place) -> Diagnosis:
        """Look at what comes after the answer of a text board, twice: once it may be anything."""
        device, after = self.oven.device[name], [b"", b"?"]
        if isinstance(device, TextDevice):
            after = []
            for _ in range(2):
                self._hear(self._device[name], place)
                after.append(self._bus[device.port].left_over())
        say = left_over(name, after[0], device) if after[0] == after[1] else ""
        say = say or self._manners(name, place)
        return Diagnosis("settings", False, say) if say else Diagnosis("answers", True, f"{name} answers.")

    def _manners(self, name: str, place: Place) -> str:
        device, bus = self.oven.device[name], self._bus[self.oven.device[name].port]
        if isinstance(device, TextDevice) and (say := talks(name, bus.left_over(LISTENS_S), device)):
            return say
        if isinstance(lost := self._hear(self._device[name], place), PortLost):
            return sentence(lost)  # a device on a network that hangs up after its answer
        return needs_gap(name, lambda: self._hear(self._device[name], place), self._clock)

    def _elsewhere(self, name: str, device: ModbusDevice, port: Port) -> Diagnosis:
        """Say which other address answers on the line, or what to look at where none does."""
        nobody = f"{name}: nothing answers at address {device.address}"
        others = self._others(device.port)
        if others:
            heard = " and ".join(str(address) for address in others)
            say = f"{nobody}, but address {heard} does."
            return Diagnosis("address", False, f"{say} Correct the file, or the device's address switches.")
        if is_network(port.path):
            say = f"{name}: {port.path} is there, but nothing answers as unit {device.address}."
            return Diagnosis("answers", False, f"{say} Look for the unit number in the device's settings.")
        beside = any(self._heard_beside(other, device.port) for other in self.oven.device if other != name)
        return silent_at(nobody, beside)

    def _heard_beside(self, name: str, port: str) -> bool:
        on_it = self.oven.device[name].port == port
        return on_it and self._hear(self._device[name], self._first_place(name)) is None

    def _others(self, port: str) -> list[int]:
        """Return which addresses answer at the settings of the file that it does not have."""
        known = self._addresses(port)
        if self._at(port, ANY_UNIT):
            return []
        return [
            address for address in self._every_address if address not in known and self._at(port, address)
        ]

    def _at(self, port: str, address: int) -> bool:
        if why := self._why_stop():
            raise RunRefused(f"{why}; do this step again")
        device = ModbusBoard("", ModbusDevice(port="", address=address), self._bus[port], self._clock)
        known = [self._device[name] for name, one in self.oven.device.items() if one.port == port]
        device.expect(max(STRANGER_S / 3.0, *(one.slowest_s for one in known)))
        raw = device.read([Place(device="", table="holding", register=0)], force=True)[0]
        return not isinstance(raw, DeviceError) or isinstance(raw, DeviceRefused)

    def _first_place(self, device: str) -> Place:
        places = (p for _, p in self.oven.wired() if p.device == device)
        return min(places, key=lambda p: getattr(p, "back", None) is not None)  # it may not be readable

    def _hear(self, device: WiredDevice, place: Place) -> DeviceError | None:
        """Return why a device is not heard; a refusal is an answer too. Raises RunRefused to stop."""
        if why := self._why_stop():
            raise RunRefused(f"{why}; do this step again")
        raw = _asked(device, place)
        return raw if isinstance(raw, DeviceError) and not isinstance(raw, DeviceRefused) else None

    def echo(self) -> list[Diagnosis]:
        """An address that nobody has must stay silent; an echo makes a dead board look alive."""
        found = []
        for name, bus in self._bus.items():
            used = self._addresses(name)
            if used and not bus.port.path.startswith("tcp://"):  # many a device there takes any unit
                found.append(echo_on(bus, next(n for n in range(247, 0, -1) if n not in used), self._clock))
        return found

    def _addresses(self, port: str) -> set[int]:
        devices = self.oven.device.values()
        return {d.address for d in devices if isinstance(d, ModbusDevice) and d.port == port}

    def strangers(self, addresses: Iterable[int] = ADDRESSES) -> list[Diagnosis]:
        """Which addresses answer that the file does not have? Takes about 0.2 s for each silent one."""
        found = []
        for name, bus in self._bus.items():
            known = self._addresses(name)
            if known and self._at(name, ANY_UNIT):
                continue  # a gateway refuses for all of them, a device on a network takes any for its own
            for address in addresses if known else ():
                if address not in known and self._at(name, address):
                    say = f"{bus.port.path}: address {address} answers, which the oven file does not have."
                    found.append(
                        Diagnosis("stranger", False, f"{say} Is it another oven's, or the address you meant?")
                    )
        return found or [Diagnosis("stranger", True, "Nothing else answers.")]

    def identities(self) -> list[Diagnosis]:
        """Is every device the one that the file means?"""
        named = [n for n, d in self.oven.device.items() if isinstance(d, LineDevice) and d.name]
        found = [self._named(name) for name in named]
        return found + [self._identity(identity) for identity in self.oven.identity] or [
            Diagnosis("identity", True, "The oven file names no identity register.")
        ]

    def _named(self, name: str) -> Diagnosis:
        try:
            self._device[name].check_name()
        except DeviceError as e:
            return Diagnosis("identity", False, sentence(e))
        return Diagnosis("identity", True, f"{name} gives the name that the file has.")

    def _identity(self, identity: DeviceIdentity) -> Diagnosis:
        self._device[identity.device].silent = False  # what was missed before tells nothing of this
        try:
            check_identity(identity, self._device[identity.device])
        except DeviceError as e:
            other = who_has(self.oven, identity, self._raw, lambda raw: raw == identity.expect)
            return exchanged(identity.device, other) if other else Diagnosis("identity", False, sentence(e))
        return Diagnosis("identity", True, f"{identity.device} is the device that the file means.")

    def places(self) -> list[Diagnosis]:
        """Has every device the coils and registers that are read in each tick? (Temperatures tell more.)"""
        found = places_seen(self.oven, self._raw)
        return turned_floats(self.oven, self._raw) + found if all(one.good for one in found) else found

    def _raw(self, place: Place) -> float | DeviceError:
        """Return what is at a place. One reply may be lost, or be the first words of a board that starts."""
        device = self._device[place.device]
        for _ in range(TRIES):
            raw = _asked(device, place)
            if not isinstance(raw, NoReply | BadReply | DeviceBusy):
                break
        return raw

    def switches(self) -> list[tuple[str, str, str]]:
        """Return name, words and the key that turns it round, of switches that a person must judge."""
        return switches_seen(self.oven.signal, self._raw)

    def still_answer(self) -> list[str]:
        """Which devices that heat answer, though their supply was said to be off?"""
        return still_answer(self.oven, self._raw, self._clock)

    def power_up(self) -> Diagnosis:
        """What are the outputs now? To be asked right after the board got power, before off is sent."""
        heater = self.oven.output.heater
        if other := other_set_point(heater, self._raw):
            return other
        amount = shown_amount(heater, self._raw)
        both = {"heater": heater, "contactor": self.oven.output.contactor}
        named = {name: output for name, output in both.items() if output is not None}
        give_up_s = self._clock.real_s() + STARTS_S
        while (
            None in (states := {name: output_seen(each, self._raw) for name, each in named.items()}).values()
        ):
            if self._clock.real_s() > give_up_s:
                break
            self._clock.pause(LOOK_S)
        shown = "" if amount is None else read_so(amount, heater)
        on = [number_said(name, named[name], self._raw) for name, state in states.items() if state]
        return judge_power_up(states, f"{shown or ''.join(on)}{why_on(heater)}")

    def low_set_point(self) -> str:
        """Give an instrument that regulates by itself a low set-point; return it in words."""
        heater = self.oven.output.heater
        return low_set_point(heater, self.oven.signal.process, self._device[heater.device], self._raw)

    def parked_first(self) -> str:
        """Park a set-point that is higher; return what a person is told, empty where nothing was to do."""
        heater = self.oven.output.heater
        return parked_first(heater, self._device[heater.device], self._raw)

    def park(self) -> bool:
        """Write the parked set-point again; True when it was taken."""
        heater = self.oven.output.heater
        return put(heater, heater.park_c or 0.0, self._device[heater.device], self._raw)

    def heater_on(self) -> bool | None:
        """Is the heat on now, where the dead-man acts? None where it cannot be read."""
        return heat_seen(self.oven, self._raw)

    def temperatures(self, room_c: float) -> list[Diagnosis]:
        """Do the cold sensors show the room? If not, which order, unit, scale or number would do it?"""
        wired = list(self.oven.wired())
        return [
            explain_cold(
                name, p, self._raw, room_c, isinstance(self._device[p.device], ModbusBoard),
                taken_beside(name, wired),
            )
            for name, p in wired if isinstance(p, Temperature) and p.unit != "mV"
        ]  # fmt: skip


def _asked(device: WiredDevice, place: Place) -> float | DeviceError:
    """Return what is at a place, asked as if for the first time, and again of a board that had to start.

    Opening the port restarts many a board with a socket for USB: until its first words it hears nothing.
    """
    device.silent = False
    raw = device.read([place], force=True)[0]
    try:
        if not isinstance(raw, NoReply | BadReply) or not device.wake():
            return raw
    except DeviceError as e:
        return e
    return device.read([place], force=True)[0]
