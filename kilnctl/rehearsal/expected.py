"""What each simulated fault must lead to: which interlock may name it, how soon, or why software is blind."""

from dataclasses import dataclass
from math import inf
from typing import Literal

from kilnctl.config.oven import Oven
from simulator.faults import Fault

COLD_K = 90.0
Counts = Literal["wanted", "asked", "full", "live", "door", "unasked"]


@dataclass(frozen=True, slots=True)
class Expected:
    """The row of one fault.

    `rows` are the hazards of the table. `causes` are the interlocks that may name it. It must be cut within
    `within_s` seconds of exposure; infinite: it harms nobody and the heat may go on. `counts` says what
    exposure is: seconds in which a set-point was held, those in which heat was asked, or nearly full heat,
    every second, those in which no door may be open, or those without a command to heat while the contactor
    is closed.
    `needs`: the signals any one of which makes it visible ("learned": a learned model). Where none of them
    is there it need not be cut, and `stands_in` says what protects then. `lies`: the reading is wrong, so
    that an unseen heat may call itself complete; that is told, and never taken for sound. `asked` is what
    the hazard list asks of the detection, in its own words. `cold_s` of heat asked are allowed instead in an
    oven that is hardly warmer than the room: there a reading of the room's temperature is no surprise, and
    without heat nothing can tell. `installed`: a mistake of wiring or settings, mostly there before the heat.
    """

    rows: str
    causes: tuple[str, ...] = ()
    within_s: float = inf
    counts: Counts = "wanted"
    needs: tuple[str, ...] = ()
    stands_in: str = ""
    lies: bool = False
    asked: str = ""
    cold_s: float | None = None
    installed: bool = False

    def within(self, above_room_k: float) -> tuple[Counts, float]:
        """Return how exposure is counted, and how much is allowed, this far above the room's temperature."""
        if self.cold_s is None or above_room_k > COLD_K:
            return self.counts, self.within_s
        return "asked", self.cold_s

    @property
    def must(self) -> bool:
        """True where the heat has to be cut."""
        return self.within_s < inf

    def visible(self, oven: Oven, learned: bool) -> bool:
        """True where software can see it on this oven."""
        if not self.must:
            return False
        fitted = {name for name, place in oven.signal if place is not None}
        return not self.needs or any(n in fitted or (n == "learned" and learned) for n in self.needs)


_LIMIT = "the independent limit with its own sensor"
_CHECK = "dated reference check, and the independent limit; a second sensor shows it"
_WRONG = ("sensor_moves", "sensor_lost", "two_sensors", "energy_balance", "sensor_answer")
_HIGH = (*_WRONG, "over_temperature")
# One that is free again after a while jumps to where it should have been.
_FROZEN = ("sensor_frozen", "energy_balance", "no_progress", "two_sensors", "sensor_answer", "sensor_moves")
_DEAD = ("heater_dead", "energy_balance", "no_progress", "sensor_answer", "output_disobeys")
_STUCK = ("heat_without_demand", "energy_balance", "rising_while_off", "over_temperature", "chatter")
_LINE = ("link_lost", "sensor_lost", "output_disobeys", "foreign_talk")
# An error in proportion to the temperature passes the band of two sensors only when it is hot enough.
_GROWS_S = 3600.0
_LIVE = ("heater_live", "current_a")
_SEEN = (*_LIVE, "learned")


def _sensor(rows: str, within_s: float = 60.0, asked: str = "", *more: str) -> Expected:
    return Expected(rows, (*_HIGH, *more), within_s, lies=True, stands_in=_LIMIT, asked=asked, cold_s=240.0)


def _unseen(rows: str, asked: str = "", causes: tuple[str, ...] = _HIGH, within_s: float = 60.0) -> Expected:
    """A reading that is only wrong by a little: a second sensor shows it, else nothing does."""
    return Expected(
        rows,
        causes,
        within_s,
        needs=("second",),
        stands_in=_CHECK,
        lies=True,
        asked=asked,
        installed=True,
    )


def _line(rows: str, within_s: float = 6.0, asked: str = "") -> Expected:
    return Expected(rows, _LINE, within_s, "live", asked=asked)


def _hidden(rows: str, stands_in: str) -> Expected:
    """A safeguard that has failed unseen: nothing happens until it is needed."""
    return Expected(rows, stands_in=stands_in)


# Keys are faults of the simulator, with a value where the value decides what must happen.
EXPECTED: dict[str, Expected] = {
    "sensor-open": Expected("H01", ("sensor_lost",), 3.0, "live", asked="2 cycles"),
    "sensor-short": _sensor("H02", 15.0, "10 s at 830 °C"),
    "sensor-reversed": _sensor("H03", 30.0, "true < 60 °C"),
    "sensor-reversed-twice": _unseen("H04", "30 s with a second sensor"),
    "sensor-copper": _unseen("H04", "30 s with a second sensor"),
    # For two minutes after an operator step, where no switch tells of the door, falling is no surprise.
    "sensor-displaced": _sensor("H05 H06", 135.0, "15 s; 120 s from cold"),
    "sensor-drift:-10": Expected(
        "H07",
        _HIGH,
        7200.0,
        needs=("second",),
        stands_in=_CHECK,
        lies=True,
        asked="15 K with a second sensor",
    ),
    "sensor-drift:-25": Expected(
        "H07",
        _HIGH,
        3600.0,
        needs=("second",),
        stands_in=_CHECK,
        lies=True,
        asked="15 K with a second sensor",
    ),
    "sensor-frozen": Expected("H08", _FROZEN, 300.0, lies=True, asked="ramp 30 s, soak 180 s"),
    "sensor-hung": Expected("H08", _FROZEN, 300.0, lies=True, asked="ramp 30 s, soak 180 s"),
    "sensor-noise": Expected("H09", ("sensor_noise", *_WRONG), 60.0, asked="60 s"),
    "sensor-spikes": Expected("H09", ("sensor_noise", *_HIGH), 120.0, asked="more than 3 in 60 s"),
    "sensor-k-as-j": _unseen("H10", "with a second sensor before 260 °C", within_s=_GROWS_S),
    "sensor-j-as-k": _unseen("H10", "with a second sensor", within_s=_GROWS_S),
    "sensor-fahrenheit": _unseen("H11", "start refused"),
    "sensor-converted-twice": _unseen("H11", "start refused"),
    "cold-junction-dead": _unseen("H12", "start refused", (*_HIGH, "cold_junction")),
    # A reading that jumps up by 6 K while the heat is off looks like an oven that rises by itself.
    "cold-junction-off:6": Expected(
        "H12", (*_HIGH, "cold_junction", "rising_while_off"), asked="at the next cold start"
    ),
    "sensor-scale:0.1": _sensor("H13", 15.0, "start refused"),
    # In 16 bits ten times 733 is 776 again, only noisier.
    "sensor-scale:10": _sensor("H13", 15.0, "start refused", "sensor_noise"),
    "sensor-gain:1.1": _unseen("H14", "refused when entered", within_s=_GROWS_S),
    "sensor-gain:0.9": _unseen("H14", "refused when entered", within_s=_GROWS_S),
    "sensor-offset:20": _unseen("H16 H57", "35 s with a second sensor"),
    "sensor-offset:-20": _unseen("H16", "35 s with a second sensor"),
    "second-offset:20": Expected(
        "H16", ("two_sensors", "over_temperature"), 60.0, needs=("second",), asked="35 s"
    ),
    "second-offset:-20": Expected("H16", ("two_sensors",), 60.0, needs=("second",), asked="35 s"),
    "second-open": Expected("H16", asked="told"),
    "relay-welded": Expected(
        "H17", _STUCK, 300.0, "unasked", _SEEN, _LIMIT, asked="2 s with a contact, 197 s without"
    ),
    "relay-open": Expected(
        "H18", _DEAD, 600.0, "asked", needs=_SEEN, stands_in="arrival is late", asked="145 s"
    ),
    "relay-chatter": Expected(
        "H19", ("chatter", *_DEAD), 60.0, "asked", _LIVE, "the contact at the element", asked="10 s"
    ),
    "half-wave": Expected("H21", _STUCK, 460.0, "unasked", _SEEN, _LIMIT, asked="404–428 s"),
    "board-reset": Expected("H23", (*_LINE, "heat_without_demand"), asked="boots off"),
    "boots-on": _hidden("H23 H55", "bus check and dead-man test of the set-up, dated"),
    "element-dead:0.5": Expected(
        "H24", _DEAD, 900.0, "full", needs=("learned",), stands_in="arrival is late", asked="255–268 s"
    ),
    "element-dead:0.12": Expected("H25", ("energy_balance",), asked="told once"),
    "supply-lost": Expected(
        "H26 H54",
        ("supply", *_DEAD),
        600.0,
        "asked",
        needs=("supply_v", *_SEEN),
        stands_in="arrival is late",
        asked="stop",
    ),
    "contactor-open": Expected(
        "H26", _DEAD, 600.0, "asked", needs=_SEEN, stands_in="arrival is late", asked="stop"
    ),
    "supply-factor:0.85": Expected("H27", ("energy_balance", "no_progress"), asked="no trip"),
    "supply-factor:1.2": Expected(
        "H28",
        ("supply", "energy_balance", "over_temperature"),
        30.0,
        "live",
        ("supply_v",),
        "volts are told only where they are measured; " + _LIMIT,
        asked="off above 115 %",
    ),
    "contactor-welded": _hidden("H29", "drop test of each barrier, dated"),
    "limit-bridged": _hidden("H29 H76", "limit test, dated"),
    "dead-man-stuck": _hidden("H55", "dead-man test of the set-up, dated"),
    "replies-silent": _line("H30", asked="3 cycles"),
    "power-cut": _line("H41 H49", asked="3 cycles; never back by itself"),
    "replies-damaged:0.05": Expected("H31", ("link_lost",), asked="goes on"),
    "replies-damaged:0.3": _line("H31", 60.0, "30 s"),
    "replies-damaged:1": _line("H31", asked="30 s"),
    "replies-short:0.3": _line("H31", 60.0, "30 s"),
    "replies-junk:0.3": _line("H31", 60.0, "30 s"),
    "replies-lost:0.3": _line("H31", 60.0, "30 s"),
    "replies-echoed": _line("H32", asked="refused; on never confirmed"),
    "replies-other-address": _line("H33", asked="2 cycles"),
    "wrong-device": _sensor("H33", 15.0, "2 cycles"),
    "replies-late:0.4": _line("H35", asked="discarded, counted"),
    "replies-split:0.03": Expected("H35", asked="goes on"),
    "foreign-frames": _line("H36", asked="refused"),
    "door-open": Expected(
        "H56 H72",
        ("door_open", "no_progress", *_HIGH),  # shut again unseen, it overshoots
        130.0,
        "door",
        ("door_open",),
        "the door switch in the element's circuit",
        asked="heat off at once, stop after 120 s",
    ),
    "smoke": Expected(
        "H69 H70", ("smoke",), 2.0, "live", ("smoke",), "smoke and CO alarms that wake somebody", asked="1 s"
    ),
    "fan-stopped": Expected(
        "H74", ("fan_stopped", *_WRONG), 15.0, needs=("fan_on",), stands_in="the fan is heard"
    ),
    "enclosure-hot": Expected("H75", ("hot_box",), 3.0, "live", ("enclosure",), "a closed box of metal"),
    "ambient-shift:10": Expected("–", asked="goes on"),
    "stray-on": Expected("H78", ("heat_without_demand",), asked="overwritten in 1 cycle"),
    "live-says-on": Expected(
        "H17", ("heat_without_demand", "chatter"), 60.0, "unasked", ("heater_live",), asked="2 s"
    ),
    "live-says-off": Expected(
        "H18", ("heater_dead", "chatter"), 60.0, "asked", ("heater_live",), asked="5 s"
    ),
}


def row_of(fault: Fault) -> str:
    """Return the key of a fault's row."""
    value = "" if fault.value is None else f":{fault.value:g}"
    return fault.name + value if fault.name + value in EXPECTED else fault.name
