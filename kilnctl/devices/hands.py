"""One oven, wired up: off, connect, scan, drive, feed, sound, close."""

from collections.abc import Iterable
from typing import Any

from kilnctl.clock import Clock
from kilnctl.config.oven import Number, Output, Oven, Place, Switch, Temperature
from kilnctl.devices.buses import Buses
from kilnctl.devices.identity import check_identity, check_simulated
from kilnctl.devices.modbus import ModbusDevice
from kilnctl.devices.roles import HeatRequest
from kilnctl.devices.signals import Raw, confirmed, is_jump, number, switch, temperature
from kilnctl.errors import DeviceError, NoReply
from kilnctl.readings import LinkHealth, Reading, Scan

OFF_ATTEMPTS = 3
OFF_BUDGET_S = 1.5  # part of the five seconds that a supervisor has
READINGS = ("second", "load", "cold_junction", "ambient", "enclosure", "supply_v", "current_a")
SWITCHES = ("heater_live", "door_open", "fan_on", "smoke", "limit_open")


class WiredHands:
    """The hands of one oven on real bytes. `why` says in one line what went wrong last."""

    _clock: Clock
    _devices: dict[str, ModbusDevice]
    _heat_outputs: list[Output]
    _contactor_wanted: bool
    _off_unheard: bool
    _fresh_on: bool | None

    def off(self) -> bool:
        """Cut the heat on heater and contactor, read both back; True when both are read as off.

        Never raises. Bounded: three rounds or 1.5 s; one short round while the device stays silent.
        """
        self._contactor_wanted = False
        self._fresh_on = None
        rounds = 1 if self._off_unheard else OFF_ATTEMPTS
        give_up_s = self._clock.real_s() + OFF_BUDGET_S
        left = self._heat_outputs
        for _ in range(rounds):
            left = [output for output in left if not self._off_one(output)]
            self._drop_dead_man()
            if not left:
                self._off_unheard = False
                return True
            if self._clock.real_s() > give_up_s:
                break
        self._off_unheard = True
        return False

    def _off_one(self, output: Output) -> bool:
        device = self._devices[output.device]
        try:
            device.write(output, output.off, force=True)
        except Exception as e:  # off goes on to the read-back and to the next output, whatever broke
            self.why = str(e)
        try:
            return self._read_one(output, force=True) == output.off
        except Exception as e:  # as above
            self.why = str(e)
            return False

    def _drop_dead_man(self) -> None:
        dead_man = self.oven.dead_man
        if dead_man is None or not dead_man.zero_drops:
            return
        try:
            self._devices[dead_man.device].write(dead_man, 0, force=True)
        except Exception as e:  # as above
            self.why = str(e)

    def __init__(self, oven: Oven, buses: Buses, clock: Clock, time_scale: float = 1.0) -> None:
        """Wire an oven file to the buses of its ports. Nothing is opened or sent yet."""
        self.oven = oven
        self.why = ""
        self._shared = buses
        self._buses = buses.take(oven)
        self._clock = clock
        self._time_scale = time_scale
        self._devices = {
            name: ModbusDevice(name, device, self._buses[device.port], clock)
            for name, device in oven.device.items()
        }
        self._wired = dict(oven.wired())
        self._looked_at = {
            name: place
            for name, place in self._wired.items()
            if name.startswith("signal.") or name in ("output.heater", "output.contactor")
        }
        self._heat_outputs = [o for o in (oven.output.heater, oven.output.contactor) if o is not None]
        self._greeted: dict[str, int] = {}
        self._last_c: dict[str, float] = {}
        self._heard_s: dict[str, float] = {}
        self._contactor_wanted = False
        self._fresh_on = None
        self._off_unheard = False

    @property
    def has_dead_man(self) -> bool:
        """True when the board drops the heat by itself; without it no live heat."""
        return self.oven.dead_man is not None

    def connect(self) -> None:
        """Open the ports, off first, then check simulator and identities.

        Raises DeviceError (port, silence, wrong device) or RunRefused (simulator and file do not agree).
        """
        for bus in self._buses.values():
            bus.open()
        self._off_unheard = False
        self._greet()
        now_s = self._clock.real_s()
        self._heard_s = {"process": now_s, "heater": now_s}

    def _greet(self) -> None:
        """Off first, then who is there. Repeated after every reopening of a port."""
        if not self.off():
            raise NoReply(f"{self.oven.name}: the heater cannot be read back as off: {self.why}")
        openings = self._openings()
        heater = self._devices[self.oven.output.heater.device]
        path = self.oven.port[self.oven.device[self.oven.output.heater.device].port].path
        check_simulated(self.oven, path, heater, self._time_scale)
        for identity in self.oven.identity:
            check_identity(identity, self._devices[identity.device])
        self._last_c = {}
        for name, device in self._devices.items():
            device.greeted = openings[self.oven.device[name].port]
        self._greeted = openings

    def _openings(self) -> dict[str, int]:
        return {name: bus.opening for name, bus in self._buses.items()}

    def scan(self, at_s: float) -> Scan:
        """Read every signal and read back the outputs; errors become bad readings."""
        for device in self._devices.values():
            device.new_tick()
        raws = self._look(self._looked_at)
        if self._openings() != self._greeted:
            raws = self._look_again()
        return self._scan_of(raws, at_s)

    def _look_again(self) -> dict[str, Raw]:
        """A port was opened anew: what was read may come from another device. Greet, then look."""
        try:
            self._greet()
        except Exception as e:  # a scan never raises; without a greeting nothing that was read counts
            self.why = str(e)
            error = e if isinstance(e, DeviceError) else NoReply(str(e))
            return dict.fromkeys(self._looked_at, error)
        return self._look(self._looked_at)

    def _look(self, places: dict[str, Place]) -> dict[str, Raw]:
        found: dict[str, Raw] = {}
        for name, device in self._devices.items():
            mine = {signal: place for signal, place in places.items() if place.device == name}
            found.update(zip(mine, device.read(list(mine.values())), strict=True))
        return found

    def _scan_of(self, raws: dict[str, Raw], at_s: float) -> Scan:
        heat_on = self._is_on("output.heater", raws)
        self._fresh_on = heat_on
        process = self._temperature("process", self.oven.signal.process, raws, at_s)
        self._hear(process.good, heat_on is not None)
        counter = self._reading("counter", raws, at_s)
        optional: dict[str, Any] = {name: self._reading(name, raws, at_s) for name in READINGS}
        optional.update({name: self._switch(name, raws) for name in SWITCHES})
        return Scan(
            at_s=at_s,
            process=process,
            heat_on=heat_on,
            contactor_on=self._is_on("output.contactor", raws),
            counter=int(counter.value) if counter and counter.value is not None else None,
            link=self._link(),
            **optional,
        )

    def _reading(self, name: str, raws: dict[str, Raw], at_s: float) -> Reading | None:
        match self._wired.get(f"signal.{name}"):
            case Temperature() as place:
                return self._temperature(name, place, raws, at_s)
            case Number() as place:
                return number(place, raws[f"signal.{name}"], at_s)
        return None

    def _switch(self, name: str, raws: dict[str, Raw]) -> bool | None:
        place = self._wired.get(f"signal.{name}")
        return switch(place, raws[f"signal.{name}"]) if isinstance(place, Switch) else None

    def _temperature(self, name: str, place: Temperature, raws: dict[str, Raw], at_s: float) -> Reading:
        """Return a temperature; a first one and every jump is asked for twice."""
        reading = temperature(place, raws[f"signal.{name}"], at_s)
        last_c = self._last_c.get(name)
        if is_jump(reading, last_c):
            again = self._devices[place.device].read([place])[0]
            reading = confirmed(reading, temperature(place, again, at_s), last_c)
        if reading.value is not None:
            self._last_c[name] = reading.value
        return reading

    def _is_on(self, name: str, raws: dict[str, Raw]) -> bool | None:
        raw = raws.get(name)
        return None if raw is None or isinstance(raw, DeviceError) else raw != self._off_value(name)

    def _off_value(self, name: str) -> int:
        output = self._wired[name]
        assert isinstance(output, Output)
        return output.off

    def _hear(self, process: bool, heater: bool) -> None:
        now_s = self._clock.real_s()
        self._heard_s.update({name: now_s for name, ok in (("process", process), ("heater", heater)) if ok})

    def _link(self) -> LinkHealth:
        now_s = self._clock.real_s()
        counted = [device.health.bad_and_all(now_s) for device in self._devices.values()]
        bad, every = sum(b for b, _ in counted), sum(a for _, a in counted)
        return LinkHealth(
            age_s=now_s - min(self._heard_s.values(), default=now_s),
            misses=max(device.health.misses_in_a_row for device in self._devices.values()),
            bad_fraction=bad / every if every else 0.0,
            foreign=sum(bus.foreign for bus in self._buses.values()),
        )

    def drive(self, request: HeatRequest) -> bool:
        """Write the heater, read it back; the contactor is closed before the first heat. Never raises."""
        try:
            return self._drive(request)
        except Exception as e:  # the runner needs an answer, not an exception, to cut the heat
            self.why = str(e)
            return False

    def _drive(self, request: HeatRequest) -> bool:
        if self._openings() != self._greeted:
            return self.off() and not request.on
        if request.on and not self._close_contactor():
            return False
        return self._put(self.oven.output.heater, request.on)

    def _close_contactor(self) -> bool:
        contactor = self.oven.output.contactor
        if contactor is None or self._contactor_wanted:
            return True
        self._contactor_wanted = self._put(contactor, True)
        return self._contactor_wanted

    def _put(self, output: Output, on: bool) -> bool:
        """Write an output, then read it back: the echo of a write proves nothing on an echoing adapter.

        A write that only repeats what this tick's scan has just read back needs no second look.
        """
        repeats = output is self.oven.output.heater and self._fresh_on is on
        self._fresh_on = None
        device, value = self._devices[output.device], output.on if on else output.off
        try:
            device.write(output, value, force=not on)
        except DeviceError as e:
            self.why = str(e)
            repeats = False  # after a failed write the state out there is unknown
        return repeats or self._read_one(output) == value

    def _read_one(self, place: Place, force: bool = False) -> float:
        raw = self._devices[place.device].read([place], force)[0]
        if isinstance(raw, DeviceError):
            raise raw
        return raw

    def feed(self) -> bool:
        """Refresh dead-man and contactor, after a whole healthy tick only. Never raises."""
        dead_man = self.oven.dead_man
        try:
            if dead_man is not None:
                self._devices[dead_man.device].write(dead_man, dead_man.write)
            contactor = self.oven.output.contactor
            if contactor is not None and self._contactor_wanted:
                self._devices[contactor.device].write(contactor, contactor.on)
        except Exception as e:  # as in drive
            self.why = str(e)
            return False
        return True

    def sound(self, horn: bool, lamp: bool) -> None:
        """Drive horn and lamp where the oven has them. Never raises."""
        wanted: Iterable[tuple[Output | None, bool]]
        wanted = ((self.oven.output.horn, horn), (self.oven.output.lamp, lamp))
        for output, on in wanted:
            if output is None:
                continue
            try:
                self._devices[output.device].write(output, output.on if on else output.off)
            except Exception as e:  # a dead horn must not stop a heat's last words
                self.why = str(e)

    def close(self) -> None:
        """Heat off, then give the ports back, except those that another oven uses. Never raises."""
        self.off()
        self._shared.give_back(self.oven)


def open_hands(oven: Oven, clock: Clock, time_scale: float = 1.0, buses: Buses | None = None) -> WiredHands:
    """Return the hands of an oven; give the same `buses` to all ovens of a process. Nothing is sent yet.

    Raises RunRefused when another oven uses the port with other settings.
    """
    return WiredHands(oven, buses or Buses(clock), clock, time_scale)
