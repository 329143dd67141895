"""One oven, wired up: off, connect, scan, drive, feed, sound, close."""

from dataclasses import replace

from kilnctl.clock import Clock
from kilnctl.config.abilities import watches_calls
from kilnctl.config.oven import Oven
from kilnctl.config.wiring import Heater, Output
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.dead_man_feeder import DeadManFeeder
from kilnctl.devices.device import Raw
from kilnctl.devices.health import of_all
from kilnctl.devices.heat_cutter import HeatCutter
from kilnctl.devices.identity import check_identity, check_simulated
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.outputs import (
    heats,
    likely_limit,
    off_value,
    reads_as_written,
    sounders,
    takes_amount,
    wanted_value,
)
from kilnctl.devices.scanner import Scanner, StandBy
from kilnctl.errors import BadReply, DeviceBusy, DeviceError, DeviceRefused, NoReply
from kilnctl.readings import UNHEARD, LinkHealth, Scan

ARMED_AGAIN = 3  # so often, before a heat has begun, for a device whose time-out stands
NO_OFF = "What takes no off must not heat: `kilnctl guide oven-file`, What cannot be used"


class WiredIO(HeatCutter):
    """Inputs and outputs of one oven on real bytes. `why` says in one line what went wrong last.

    `refused` says what a device has answered and not taken of the heat or the dead-man, "" once it takes it.
    """

    def __init__(self, oven: Oven, buses: Buses, clock: Clock, time_scale: float = 1.0) -> None:
        """Wire an oven file to the buses of its ports. Nothing is opened or sent yet. Raises RunRefused."""
        super().__init__(oven, buses, clock)
        self._shared = buses
        self._time_scale = time_scale
        self._scanner = Scanner(oven, self._devices)
        self._heard_s: dict[str, float] = {}
        # A spare module that is silent is told by what it protects, and must not pass for a bad wire.
        wired = (oven.signal.process, oven.output.heater, oven.output.contactor, oven.dead_man)
        self._hangs_on = {place.device for place in wired if place is not None}
        self._sounders = sounders(self.oven.output)
        self._armed = self._begun = self._for_calls = self._called = False
        self._arms_left, self._again_left = oven.arm, ARMED_AGAIN
        self.refused, self._greetings, self._stand_by = "", 0, StandBy(oven)
        self._feeder = DeadManFeeder(oven, self._devices)
        heater = oven.output.heater
        self._kept = heater if heater.kind == "set-point" and heater.holds_s is None else None

    def _cut(self) -> bool:
        self._armed, self._begun, self._arms_left = False, False, self.oven.arm
        self._scanner.heater_raw = None
        if not self._unheard_heat():
            self._stand_by.looked(self._read_one)
        self._calls, self._called = self._called, False
        return super()._cut()

    def connect(self) -> None:
        """Open the ports, off first, then check simulator and identities.

        Raises DeviceError (port, silence, wrong device) or RunRefused (simulator and file do not agree).
        """
        for bus in self._buses.values():
            bus.open()
        self._greet()
        now_s = self._clock.real_s()
        self._heard_s = {"process": now_s, "heater": now_s}

    def _greet(self) -> None:
        """Off first, then who is there. Repeated after every reopening of a port."""
        if not self._cut():  # a board that answers is not starting; only for a silent one a banner is awaited
            if self._refused is not None:
                cannot = f"{self.oven.name}: the heat cannot be switched off: {self.why}. {NO_OFF}"
                raise DeviceRefused(cannot)
            raise NoReply(f"{self.oven.name}: the heater cannot be read back as off: {self.why}")
        epochs = {name: device.epoch for name, device in self._devices.items()}
        heater = self._devices[self.oven.output.heater.device]
        path = self.oven.port[self.oven.device[self.oven.output.heater.device].port].path
        check_simulated(self.oven, path, heater, self._time_scale)
        for device in self._devices.values():
            device.check_name()
        for identity in self.oven.identity:
            check_identity(identity, self._devices[identity.device])
        self._scanner.forget()
        self._sounders = sounders(self.oven.output)
        for name, device in self._devices.items():
            device.greeted = epochs[name]
        self._greetings += 1

    def _met(self) -> bool:
        """True while ports and devices are as they were when off was sent and identities were read."""
        return all(device.greeted == device.epoch for device in self._devices.values())

    def scan(self, at_s: float) -> Scan:
        """Read every signal and read back the outputs; errors become bad readings."""
        for device in self._devices.values():
            device.new_tick()
        raws = self._scanner.raws()
        if not self._met():
            raws = self._read_again(raws)
        scan = self._scanner.scan(raws, at_s)
        if scan.contactor_on is False:
            self._armed = False  # the board has dropped it by itself: it is closed anew before the next heat
        self._stand_by.note(scan.heat_on)
        self._hear(scan.process.quality not in UNHEARD, scan.heat_on is not None)
        return replace(scan, link=self._link())

    def _read_again(self, raws: dict[str, Raw]) -> dict[str, Raw]:
        """Port or device has restarted: what was read may be another's. Greet, then look.

        While what switches the heat is silent nobody is there to greet: off goes to it with the tick.
        """
        if self._unheard_heat():
            damaged = (raw for raw in raws.values() if isinstance(raw, BadReply))
            return self._scanner.nothing(next(damaged, NoReply(self.why)))
        try:
            self._greet()
        except Exception as e:  # a scan never raises; without a greeting nothing that was read counts
            self.why = str(e)
            return self._scanner.nothing(e if isinstance(e, DeviceError) else NoReply(str(e)))
        return self._scanner.raws()

    def _hear(self, process: bool, heater: bool) -> None:
        now_s = self._clock.real_s()
        self._heard_s.update({name: now_s for name, ok in (("process", process), ("heater", heater)) if ok})

    def _link(self) -> LinkHealth:
        now_s = self._clock.real_s()
        bad, every = of_all((self._devices[name].health for name in self._hangs_on), now_s)
        return LinkHealth(
            age_s=now_s - min(self._heard_s.values(), default=now_s),
            misses=max(device.health.misses_in_a_row for device in self._devices.values()),
            bad_fraction=bad / every if every else 0.0,
            foreign=sum(bus.foreign for bus in self._buses.values()),
            foreign_said=b"".join(bus.foreign_said for bus in self._buses.values()),
            restarts=sum(device.restarts for device in self._devices.values()),
            answers=every,
            greetings=self._greetings,
            fell=self._stand_by.fell,
        )

    def drive(self, request: HeatRequest) -> bool:
        """Write the heater, read it back; the contactor is closed before the first heat. Never raises."""
        try:
            return self._drive(request)
        except Exception as e:  # the runner needs an answer, not an exception, to cut the heat
            self._failed(e)
            return False

    def _failed(self, e: Exception, cause: str = "") -> bool:
        """Note what went wrong; return whether a device has refused, which is no lost answer."""
        self.why = f"{e}{cause}"
        refused = isinstance(e, DeviceRefused) and not isinstance(e, DeviceBusy)
        self.refused = self.why if refused else self.refused
        return refused

    def _drive(self, request: HeatRequest) -> bool:
        heater = self.oven.output.heater
        heat, self._for_calls = heats(heater, request), False
        if heat and not (self.oven.simulated or self.oven.has_dead_man or self.oven.attended_only):
            self.why = f"{self.oven.name} has no dead-man: no live heat"
            return False
        if not self._met():
            return self._cut() and not heat
        if not heat:
            return self._park(heater)
        self.refused = ""
        driven = self._arm() and self._put(heater, wanted_value(heater, request))
        if driven and not self._begun:
            self._begun, self._again_left = True, ARMED_AGAIN
        return self._stand_by.driven(driven)

    def _park(self, heater: Heater) -> bool:
        """Off in a heat. An instrument that feeding starts is stopped too: parked it may still put out heat.

        Not before it was heard whether it has stopped by itself; the next heat arms and starts it anew.
        """
        if not (self.oven.started_by_feeding and self._stand_by.looked(self._read_one)):
            return self._put(heater, off_value(heater))
        if self._armed:  # else what refuses to begin would be armed, and stored, in every tick
            self._armed, self._arms_left = False, self.oven.arm
        return self._off_one(heater)

    def _arm(self) -> bool:
        """Before the first heat after an off: watchdog armed, dead-man fed once, contactor closed."""
        contactor = self.oven.output.contactor
        if not self._armed:
            self._arm_watchdog()
            self._feeder.edge()
            self._feed_or_arm_again()
            self._armed = contactor is None or self._put(contactor, contactor.on)
            if self.refused and self._may_arm_again():
                self._cut()
        return self._armed

    def _may_arm_again(self) -> bool:
        """Return whether no heat has begun since the last off, and arms are left to try. Counts."""
        may = not self._begun and bool(self.oven.arm) and self._again_left > 0
        self._again_left -= may
        return may

    def _feed_or_arm_again(self) -> None:
        """Feed; where a time-out stands from before the heat the arms come first, after an off.

        The first feeding of a heat comes before its arms, and such a board refuses it for ever.
        """
        try:
            self._feeder.feed()
        except DeviceBusy:
            raise
        except DeviceRefused:
            if not (self._may_arm_again() and self._cut()):
                raise
            self._arm_watchdog()
            self._feeder.edge()
            self._feeder.feed()

    def _arm_watchdog(self) -> None:
        """Once after an off, never in a heat: what the watchdog has dropped there stays dropped.

        Where the board was busy it goes on where it stood: begun anew, it would store again, busy again.
        """
        try:
            while self._arms_left:
                arm, *left = self._arms_left
                self._feeder.tell(arm, arm.write)
                self._arms_left = tuple(left)
        except DeviceError as e:
            if not isinstance(e, DeviceBusy):
                self._arms_left = self.oven.arm
            raise

    def arm_for_calls(self) -> bool:
        """Off, read back; then the watchdog of the board that calls armed and fed, no heat. Never raises.

        Some boards refuse every output once it has tripped. Nothing of it outlives the call: the next heat
        begins with an off and arms anew, and what nobody feeds drops by itself. Not with a timer relay behind
        the board: feeding it would close its contact, and nothing of the board has tripped.
        """
        try:
            if watches_calls(self.oven) and self._cut() and self._met():
                self._arm_watchdog()
                self._feeder.edge()
                self._feeder.feed()
                self._sounders = sounders(self.oven.output)
                if all(self._reads(output, off_value(output)) for output in self._heat_outputs):
                    self._for_calls = self._called = True
                    return True
                self._cut()
        except Exception as e:  # as in drive
            self.why = str(e)
            self._cut()
        finally:
            self._arms_left = self.oven.arm
        return False

    def _put(self, output: Output, value: float) -> bool:
        """Write an output, then read it back: the echo of a write proves nothing on an echoing adapter.

        A write that only repeats what this tick's scan has just read back needs no second look; an off that
        is proved elsewhere does.
        """
        seen, self._scanner.heater_raw = self._scanner.heater_raw, None
        repeats = isinstance(output, Heater) and seen is not None and reads_as_written(output, seen, value)
        if repeats and value != off_value(output) and output is self._kept:
            return True  # its memory wears out; reading it was talk enough
        is_off = value == off_value(output)
        try:
            self._devices[output.device].write(output, value, force=is_off)
        except DeviceError as e:
            if self._failed(e, likely_limit(output, e)) and not is_off:
                return False  # whatever `back` shows: it may be no more than a mode
            # After a failed write the state out there is unknown.
            return self._reads(output, value, taken=is_off or not takes_amount(output))
        return (repeats and not (is_off and output.back)) or self._reads(output, value)

    def _reads(self, output: Output, value: float, taken: bool = True) -> bool:
        """What shows no more than on or off proves no amount that was not `taken`."""
        own = output.back is None or not taken
        if own and not reads_as_written(output, self._read_one(output), value):
            return False
        if output.back is None:
            return True
        return self._contact_is(output, output.back, on=value != off_value(output))

    def feed(self) -> bool:
        """Refresh dead-man and contactor, after a whole healthy tick only. Never raises.

        Not of an instrument that this would start: parked it stands by.
        """
        if self.oven.started_by_feeding and not self._armed:
            return True
        try:
            self._feed_or_arm_again()
            if self._for_calls and self.oven.dead_man is None:
                self._feed_with_off()
            if self._armed:
                self._hold_contactor()
        except Exception as e:  # as in drive
            self._failed(e)
            return False
        self.refused, self._called = "", self._for_calls
        return True

    def _feed_with_off(self) -> None:
        """Of a board that is fed by what is written to its outputs: write them off, once more."""
        for output in self._heat_outputs:
            self._devices[output.device].write(output, off_value(output), force=True)

    def _hold_contactor(self) -> None:
        """Write the contactor anew where its board is written nothing else and may want to hear something."""
        heater, contactor, dead_man = self.oven.output.heater, self.oven.output.contactor, self.oven.dead_man
        written = {heater.device, dead_man.device if dead_man else ""}
        if contactor is not None and contactor.device not in written:
            self._devices[contactor.device].write(contactor, contactor.on)

    def sound(self, horn: bool, lamp: bool) -> str:
        """Drive horn and lamp where the oven has them; return what was refused, or "". Never raises."""
        for name, (output, sounder) in self._sounders.items():
            on, now_s = horn if name == "horn" else lamp, self._clock.real_s()
            if not sounder.due(on, now_s):
                continue
            sounder.tell(self._devices[output.device], output, on, now_s)
            self.why = f"output.{name}: {sounder.why}" if sounder.why else self.why
        told = [(name, sounder.why) for name, (_, sounder) in self._sounders.items()]
        return "; ".join(f"output.{name}: {why}" for name, why in told if why)

    def close(self) -> None:
        """Heat off, then give the ports back, except those that another oven uses. Never raises."""
        self._called = False
        self.off()
        self._shared.give_back(self.oven)


def open_oven_io(oven: Oven, clock: Clock, time_scale: float = 1.0, buses: Buses | None = None) -> WiredIO:
    """Return the I/O of an oven; give the same `buses` to all ovens of a process. Nothing is sent yet.

    Raises RunRefused when another oven uses the port with other settings.
    """
    return WiredIO(oven, buses or Buses(clock), clock, time_scale)
