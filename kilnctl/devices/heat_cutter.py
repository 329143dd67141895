"""Heat off on one oven: written and read back on every output that heats, and nothing else.

Its own module, because an `off` at the port waits for what is imported here.
"""

from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.contact import switch
from kilnctl.devices.device_factory import board
from kilnctl.devices.outputs import amount_said, back_amount, back_is_on, off_value, reads_as_written
from kilnctl.errors import DeviceBusy, DeviceError, DeviceRefused

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven
    from kilnctl.config.places import Place, Switch
    from kilnctl.config.wiring import Output

OFF_ATTEMPTS = 3
OFF_BUDGET_S = 1.5  # part of the five seconds that a supervisor has
MISSED = 1  # word in a row that says nothing yet
WORDS = 2  # of an off at one output: it is written and read back
STICKS = (
    "the {} was told to drop, but its contact `back` stays made: it is stuck or welded; isolate, then measure"
)
DROP_S, DROP_LOOK_S = 0.4, 0.02  # a contactor and its contact have dropped by then


class HeatCutter:
    """The way to off of one oven. `why` says in one line what went wrong last."""

    def __init__(self, oven: "Oven", buses: Buses, clock: Clock) -> None:
        """Wire an oven file to the buses of its ports. Nothing is opened or sent yet.

        Raises RunRefused when another oven uses a port with other settings.
        """
        self.oven = oven
        self.why = ""
        self.read_off = False  # what the last off has found
        self._clock = clock
        self._buses = buses.take(oven)
        self._devices = {
            name: board(name, device, self._buses[device.port], clock) for name, device in oven.device.items()
        }
        self._heat_outputs = [o for o in (oven.output.heater, oven.output.contactor) if o is not None]
        self._welded = self._stuck = False
        self._calls = False  # its board is fed for horn and lamp: it is not dropped where all reads off
        self._back_raw = 0.0
        self._refused: DeviceRefused | None = None  # an off that a device has answered and not taken

    def off(self) -> bool:
        """Cut the heat on heater and contactor, read both back; True when both are read as off.

        Where a contact sits at the element it must say so too: outputs that read off prove nothing of a
        welded switch. Never raises. Bounded: three rounds or 1.5 s; one short round while the devices stay
        silent, so that a runner may send it in every tick without starving another oven on the line.
        """
        self.read_off = self._cut() and self._element_dead()
        return self.read_off

    @property
    def untried(self) -> bool:
        """True before the first word to its boards was answered or missed. From any thread."""
        devices = [self._devices[output.device] for output in self._heat_outputs]
        return not (self.heard or any(device.health.misses_in_a_row for device in devices))

    @property
    def heard(self) -> bool:
        """True once a board that heats has answered a word. From any thread."""
        return any(self._devices[output.device].slowest_s for output in self._heat_outputs)

    def look_s(self) -> float | None:
        """Return how long one off of this board takes at its pace; None where it does not answer.

        From any thread. One word that is missed may be this machine's doing, and is asked again.
        """
        devices = {self._devices[output.device] for output in self._heat_outputs}
        if any(device.health.misses_in_a_row > MISSED or not device.slowest_s for device in devices):
            return None
        return self._words() * max(device.slowest_s for device in devices) + self._gaps_s()

    def _words(self) -> int:
        dead_man = self.oven.dead_man
        contacts = [self.oven.signal.heater_live, *(output.back for output in self._heat_outputs)]
        more = sum(contact is not None for contact in contacts)
        return WORDS * len(self._heat_outputs) + more + (dead_man is not None and dead_man.zero_drops)

    def _element_dead(self) -> bool:
        """Return False where the contact at the element stays live; the second time it is not waited for."""
        contact = self.oven.signal.heater_live
        if contact is None:
            return True
        give_up_s = self._clock.real_s() + (0.0 if self._welded else DROP_S)
        try:
            while switch(contact, self._read_one(contact, force=True)):
                if self._clock.real_s() >= give_up_s:
                    self._welded, self.why = True, "the outputs read off, but the element is LIVE"
                    return False
                self._clock.pause(DROP_LOOK_S)
        except Exception as e:  # what cannot be read says nothing against the outputs
            self.why = str(e)
            return True
        self._welded = False
        return True

    def _unheard_heat(self) -> bool:
        """Return whether nothing that switches the heat has answered lately."""
        return all(self._devices[output.device].silent for output in self._heat_outputs)

    def _cut(self) -> bool:
        dead = self._unheard_heat()
        give_up_s = self._clock.real_s() + OFF_BUDGET_S + self._gaps_s()
        left = self._heat_outputs
        self._refused = None
        for attempt in range(1 if dead else OFF_ATTEMPTS):
            if attempt:
                self._wake()  # only now: a board that has not restarted need not be waited for
            left = [output for output in left if not self._off_one(output)]
            if not self.oven.started_by_feeding and (left or not self._calls):
                self._drop_dead_man()
            if not left:
                return True
            if self._clock.real_s() > give_up_s:
                break
        if self._refused is not None:  # the cause: what was asked after it may have failed in other ways
            self.why = str(self._refused)
        return False

    def _gaps_s(self) -> float:
        """Return how long the pauses of one round take that devices ask for before each word."""
        ports = [self.oven.port[self.oven.device[output.device].port] for output in self._heat_outputs]
        return sum(WORDS * port.gap_s for port in ports)

    def _wake(self) -> None:
        for device in self._devices.values():
            try:
                device.wake()
            except DeviceError as e:
                self.why = str(e)

    def _off_one(self, output: "Output") -> bool:
        device = self._devices[output.device]
        dead = device.silent
        failed: Exception | None = None
        try:
            device.write(output, off_value(output), force=True)
        except Exception as e:  # off goes on to the read-back and to the next output, whatever broke
            self.why, failed = str(e), e
        if self.oven.started_by_feeding and output is self.oven.output.heater:
            self._drop_dead_man()  # before it is read back: what is read is the mode that this sets
        if failed is not None and dead and device.silent:
            return False  # a dead device gets the words again, but no second wait on a shared line
        try:
            if self._reads_off(output, failed is None):
                return True
        except Exception as e:  # as above
            self.why = str(e)
        if isinstance(failed, DeviceRefused) and not isinstance(failed, DeviceBusy):
            self._refused = failed
        return False

    def _reads_off(self, output: "Output", taken: bool) -> bool:
        """A contact proves off only for a write that was `taken`: a timer behind the output drops it too."""
        own = output.back is None or not taken
        if own and not reads_as_written(output, self._read_one(output, force=True), off_value(output)):
            return False
        if output.back is None or self._contact_is(output, output.back, on=False):
            return True
        amount = back_amount(output, self._back_raw)
        name = self._name_of(output)
        self.why = STICKS.format(name) if amount is None else f"{name}: {amount_said(output, amount)}"
        return False

    def _name_of(self, output: "Output") -> str:
        return "heater" if output is self.oven.output.heater else "contactor"

    def _contact_is(self, output: "Output", back: "Switch", on: bool) -> bool:
        """Return whether a contact follows; one that has not dropped is not waited for a second time."""
        give_up_s = self._clock.real_s() + (0.0 if self._stuck and not on else DROP_S)
        while back_is_on(output, self._look_back(back, on)) is not on:
            if self._clock.real_s() >= give_up_s:
                self._stuck = not on
                return False
            self._clock.pause(DROP_LOOK_S)
        self._stuck = False
        return True

    def _look_back(self, back: "Switch", on: bool) -> float:
        self._back_raw = self._read_one(back, force=not on)
        return self._back_raw

    def _drop_dead_man(self) -> None:
        dead_man = self.oven.dead_man
        if dead_man is None or not dead_man.zero_drops:
            return
        try:
            self._devices[dead_man.device].write(dead_man, 0, force=True)
        except Exception as e:  # as above
            self.why = str(e)

    def _read_one(self, place: "Place", force: bool = False) -> float:
        raw = self._devices[place.device].read([place], force)[0]
        if isinstance(raw, DeviceError):
            raise raw
        return raw
