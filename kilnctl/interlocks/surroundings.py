"""What stands around the oven: smoke, a hot relay box, the independent limit, terminals, fan; any lost."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Alarm, Observation, Priority, Reaction, Reading, ResetClass, Trip

BOX_C = 60.0
JUNCTION_LOW_C, JUNCTION_HIGH_C = -10.0, 60.0
FAN_S = 10.0
LOST_TELL_S, LOST_STOP_S = 10.0, 60.0
# What protects beside the temperature; a second sensor that is lost is told by the comparison of the two.
PROTECTS = {
    "smoke": "the smoke detector",
    "limit_open": "the contact of the independent limit",
    "heater_live": "the contact at the element",
    "current_a": "the current of the element",
    "door_open": "the door switch",
    "fan_on": "the contact of the fan",
    "enclosure": "the sensor in the relay box",
    "cold_junction": "the sensor at the terminals",
    "supply_v": "the supply voltage",
}


def _yes_no(blind: bool, state: bool | None, what: str) -> Distance:
    if blind:
        return Distance(None, None, "", 0.0, f"no {what} fitted")
    return Distance(float(bool(state)), 1.0, "", float(bool(state)))


class Smoke:
    """The smoke or gas detector speaks. Nothing is automatic after that."""

    kind: ClassVar[str] = "smoke"
    label: ClassVar[str] = "smoke"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind, self._state = oven.signal.smoke is None, None  # type: bool, bool | None

    def check(self, seen: Observation) -> Trip | None:
        """Trip at once."""
        self._state = seen.scan.smoke
        if not self._state:
            return None
        reason = "the detector is sounding: leave, close the door, call for help, do not go back"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.C)

    def distance(self) -> Distance:
        """Return the detector's state."""
        return _yes_no(self.blind, self._state, "detector")


class LimitOpen:
    """The independent limit has opened: it was hotter than this program believed."""

    kind: ClassVar[str] = "limit_open"
    label: ClassVar[str] = "independent limit"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind, self._state = oven.signal.limit_open is None, None  # type: bool, bool | None

    def check(self, seen: Observation) -> Trip | None:
        """Trip at once."""
        self._state = seen.scan.limit_open
        if not self._state:
            return None
        reason = "it has opened; find out why before it is reset by hand"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="limit test")

    def distance(self) -> Distance:
        """Return the limit's state."""
        return _yes_no(self.blind, self._state, "contact of the limit")


class HotBox:
    """The box of the relays is too hot: a loose terminal or a relay that dies."""

    kind: ClassVar[str] = "hot_box"
    label: ClassVar[str] = "relay box"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = oven.signal.enclosure is None
        self._box_c: float | None = None

    def check(self, seen: Observation) -> Trip | None:
        """Judge the box's own sensor."""
        box = seen.scan.enclosure
        if box is None or box.value is None:
            return None
        self._box_c = box.value
        if box.value <= BOX_C:
            return None
        reason = f"{box.value:.0f} °C, {BOX_C:.0f} °C allowed"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="bus check")

    def distance(self) -> Distance:
        """Return the temperature in the box."""
        note = "no sensor in the relay box" if self.blind else ""
        return Distance(self._box_c, BOX_C, "°C", near(self._box_c or 0.0, BOX_C), note)


class ColdJunction:
    """The terminals of the thermocouple are where no room is: the compensation cannot be right."""

    kind: ClassVar[str] = "cold_junction"
    label: ClassVar[str] = "cold junction"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = oven.signal.cold_junction is None
        self._junction_c: float | None = None

    def check(self, seen: Observation) -> Trip | None:
        """Judge the terminals' temperature."""
        junction = seen.scan.cold_junction
        if junction is None or junction.value is None:
            return None
        self._junction_c = junction.value
        if JUNCTION_LOW_C <= junction.value <= JUNCTION_HIGH_C:
            return None
        reason = (
            f"{junction.value:.0f} °C at the terminals, {JUNCTION_LOW_C:.0f} to {JUNCTION_HIGH_C:.0f} allowed"
        )
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "reference check")

    def distance(self) -> Distance:
        """Return the terminals' temperature."""
        note = "not measured" if self.blind else ""
        return Distance(
            self._junction_c, JUNCTION_HIGH_C, "°C", near(self._junction_c or 0.0, JUNCTION_HIGH_C), note
        )


class FanStopped:
    """The circulation fan stands while heat is asked: uneven, and the part lags twice as long."""

    kind: ClassVar[str] = "fan_stopped"
    label: ClassVar[str] = "fan"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = oven.signal.fan_on is None
        self._still_s = 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Count seconds without the fan while a set-point is held."""
        if seen.scan.fan_on is not False or seen.setpoint_c is None or seen.scan.door_open:
            self._still_s = 0.0
            return None
        self._still_s += seen.dt_s
        if self._still_s < FAN_S:
            return None
        reason = f"has not turned for {self._still_s:.0f} s while heating"
        return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "learn")

    def distance(self) -> Distance:
        """Return seconds without the fan."""
        note = "no fan contact" if self.blind else ""
        return Distance(self._still_s, FAN_S, "s", near(self._still_s, FAN_S), note)


class SignalLost:
    """Something that is fitted to protect no longer answers: told, and a stop where the heat is left alone.

    Its module may be one of several, so that too few answers are missing for a lost link.
    """

    kind: ClassVar[str] = "signal_lost"
    label: ClassVar[str] = "fitted signals"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._fitted = tuple(name for name in PROTECTS if getattr(oven.signal, name) is not None)
        self._lost_s: dict[str, float] = {}
        self._longest_s = 0.0
        self.blind = not self._fitted

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Count for how long each has said nothing while the oven's own sensor speaks."""
        if seen.scan.process.value is None or seen.run_max_c is None:
            return None
        scan, lost_s = seen.scan, {}
        for name in self._fitted:
            said = getattr(scan, name)
            if said is None or (isinstance(said, Reading) and said.value is None):
                lost_s[name] = self._lost_s.get(name, 0.0) + seen.dt_s
        self._lost_s = lost_s
        if not lost_s:
            self._longest_s = 0.0
            return None
        name = max(lost_s, key=lost_s.__getitem__)
        longest_s = self._longest_s = lost_s[name]
        if longest_s < LOST_TELL_S:
            return None
        reason = f"{PROTECTS[name]} has not answered for {longest_s:.0f} s: check its module and wires"
        if seen.unattended and longest_s >= LOST_STOP_S:
            return Trip(self.kind, reason, seen.at_s, Reaction.STOP)
        return Alarm(self.kind, reason, seen.at_s, Priority.URGENT)

    def distance(self) -> Distance:
        """Return how long the one that is lost longest has said nothing."""
        note = "nothing else is fitted" if self.blind else ""
        return Distance(self._longest_s, LOST_STOP_S, "s", near(self._longest_s, LOST_STOP_S), note)
