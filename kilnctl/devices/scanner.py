"""One look at an oven: every signal and every read-back, as a Scan. Keeps what a jump is measured against."""

import contextlib
import math
from collections.abc import Callable, Mapping
from typing import Any

from kilnctl.config.oven import Oven
from kilnctl.config.places import Place, Switch
from kilnctl.config.wiring import DeviceIdentity, Number, Output, Temperature
from kilnctl.devices.contact import switch
from kilnctl.devices.device import Raw, WiredDevice
from kilnctl.devices.identity import unlike
from kilnctl.devices.outputs import back_is_on, off_value, reads_as_written, setpoint_c
from kilnctl.devices.signals import broken_by, confirmed, in_degc, is_jump, number
from kilnctl.errors import DeviceError
from kilnctl.readings import LinkHealth, Reading, Scan

READINGS = ("second", "load", "ambient", "enclosure", "supply_v", "current_a")
# Read first: an instrument that has cut its output in a silence has it back with the next word on the line.
AT_THE_ELEMENT = ("signal.heater_live", "signal.current_a")
SWITCHES = ("heater_live", "door_open", "fan_on", "smoke", "limit_open")


def _stranger(place: Place, raw: Raw) -> DeviceError | None:
    return (
        unlike(place, raw) if isinstance(place, DeviceIdentity) and not isinstance(raw, DeviceError) else None
    )


class Scanner:
    """Reads one oven's places. `heater_raw` is what the heater's own place held at the last look."""

    def __init__(self, oven: Oven, devices: Mapping[str, WiredDevice]) -> None:
        self.heater_raw: float | None = None
        self._oven = oven
        self._devices = devices
        self._wired = dict(oven.wired())
        unread = ["output.horn", "output.lamp", "dead_man", *self._read_elsewhere()]
        self._places = {name: place for name, place in self._wired.items() if name not in unread}
        self._places |= {f"identity.{i}": place for i, place in enumerate(oven.identity)}
        self._places = dict(sorted(self._places.items(), key=lambda item: item[0] not in AT_THE_ELEMENT))
        self._last_c: dict[str, float] = {}
        self._junction_c: float | None = None

    def _read_elsewhere(self) -> list[str]:
        """Return the outputs that are read at their `back` alone; a set-point is read all the same."""
        return [
            name
            for name, p in self._wired.items()
            if isinstance(p, Output) and p.back is not None and getattr(p, "unit", None) is None
        ]

    def forget(self) -> None:
        """Forget the past: the next temperatures are confirmed like first ones."""
        self._last_c.clear()
        self.heater_raw = None

    def raws(self) -> dict[str, Raw]:
        """Read every place; a device that fails or is another gives its error for each of its places."""
        found: dict[str, Raw] = {}
        for device, wired in self._devices.items():
            mine = {name: place for name, place in self._places.items() if place.device == device}
            raws = dict(zip(mine, wired.read(list(mine.values())), strict=True))
            stranger = next((e for name, p in mine.items() if (e := _stranger(p, raws[name]))), None)
            found.update(dict.fromkeys(mine, stranger) if stranger else raws)
        return found

    def nothing(self, error: DeviceError) -> dict[str, Raw]:
        """Return what `raws` would be if nothing could be read."""
        return dict.fromkeys(self._places, error)

    def scan(self, raws: Mapping[str, Raw], at_s: float) -> Scan:
        """Return the scan that raw numbers mean; jumps are asked for a second time."""
        read_back = raws.get("output.heater")
        self.heater_raw = None if isinstance(read_back, DeviceError) else read_back
        cold = self._reading("cold_junction", raws, at_s)
        self._junction_c = cold.value if cold else None
        optional: dict[str, Any] = {name: self._reading(name, raws, at_s) for name in READINGS}
        optional.update({name: self._switch(name, raws) for name in SWITCHES})
        return Scan(
            at_s=at_s,
            process=self._temperature("process", self._oven.signal.process, raws, at_s),
            heat_on=self._is_on("heater", self._oven.output.heater, raws),
            link=LinkHealth(),
            cold_junction=cold,
            contactor_on=self._is_on("contactor", self._oven.output.contactor, raws),
            counter=self._counter(raws),
            follower_goal_c=self._follower_goal_c(),
            timer_on=self._timer_on(raws),
            **optional,
        )

    def _follower_goal_c(self) -> float | None:
        heater = self._oven.output.heater
        if heater.unit is None or self.heater_raw is None:
            return None
        return setpoint_c(heater, self.heater_raw)

    def _timer_on(self, raws: Mapping[str, Raw]) -> bool | None:
        place = self._wired.get("dead_man.back")
        return switch(place, raws["dead_man.back"]) if isinstance(place, Switch) else None

    def _reading(self, name: str, raws: Mapping[str, Raw], at_s: float) -> Reading | None:
        match self._wired.get(f"signal.{name}"):
            case Temperature() as place:
                return self._temperature(name, place, raws, at_s)
            case Number() as place:
                return number(place, raws[f"signal.{name}"], at_s)
        return None

    def _counter(self, raws: Mapping[str, Raw]) -> int | None:
        """Return the conversion counter as it stands on the wire: it only has to move and has no bounds."""
        raw = raws.get("signal.counter")
        return None if raw is None or isinstance(raw, DeviceError) or not math.isfinite(raw) else int(raw)

    def _switch(self, name: str, raws: Mapping[str, Raw]) -> bool | None:
        place: Place | None = self._wired.get(f"signal.{name}")
        return switch(place, raws[f"signal.{name}"]) if isinstance(place, Switch) else None

    def _temperature(self, name: str, place: Temperature, raws: Mapping[str, Raw], at_s: float) -> Reading:
        """Return a temperature; a first one and every jump is asked for twice."""
        if place.fault is not None:
            broken = broken_by(place.fault, raws[f"signal.{name}.fault"], at_s)
            if broken is not None:
                return broken
        reading = in_degc(
            place, raws[f"signal.{name}"], self._junction_c, at_s, raws.get(f"signal.{name}.exponent", 0.0)
        )
        last_c = self._last_c.get(name)
        if is_jump(reading, last_c):
            again = self._devices[place.device].read([place, *([place.exponent] if place.exponent else [])])
            reading = confirmed(reading, in_degc(place, again[0], self._junction_c, at_s, again[-1]), last_c)
        if reading.value is not None:
            self._last_c[name] = reading.value
        return reading

    def _is_on(self, name: str, output: Output | None, raws: Mapping[str, Raw]) -> bool | None:
        if output is None:
            return None
        if output.back is not None:
            return back_is_on(output, raws[f"output.{name}.back"])
        raw = raws[f"output.{name}"]
        return None if isinstance(raw, DeviceError) else not reads_as_written(output, raw, off_value(output))


class StandBy:
    """Whether it `fell`: stood by in a heat before an off has told it to; so that is its own doing."""

    def __init__(self, oven: Oven) -> None:
        self._applies, self._heater = oven.started_by_feeding, oven.output.heater
        self.fell = self._heating = False

    def driven(self, taken: bool) -> bool:
        """Take whether heat was taken, and return it: whatever fell before, it begins anew."""
        self.fell, self._heating = self.fell and not taken, self._heating or taken
        return taken

    def note(self, on: bool | None) -> None:
        """Take one look at its mode."""
        self.fell |= self._applies and self._heating and on is False

    def looked(self, read: Callable[[Place], float]) -> bool:
        """Look once before an off that stops it too; return whether nothing is left to look at. Never raises.

        One that is not heard is looked at later.
        """
        if self._applies and self._heating and self._heater.back is not None:
            # Whatever breaks here, the off that follows is sent.
            with contextlib.suppress(Exception):
                self.note(switch(self._heater.back, read(self._heater.back)))
                self._heating = False
        return not self._heating
