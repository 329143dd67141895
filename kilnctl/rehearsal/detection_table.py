"""What each simulated fault must lead to: which interlock may name it, or why software is blind.

How soon stands in lateness.py.
"""

from collections.abc import Set
from dataclasses import dataclass

from kilnctl.config.oven import Oven
from kilnctl.rehearsal.lateness import ALLOWED, Allowed, Where, signals_of
from simulator.boards.faults import Fault


@dataclass(frozen=True, slots=True)
class Detection:
    """The row of one fault.

    `rows` are the hazards of the table. `causes` are the interlocks that may name it. Where none of the
    signals is there by which it can be seen it need not be cut, and `stands_in` says what protects then.
    `lies`: the reading is wrong, so that an unseen heat may call itself complete; that is told, and never
    taken for sound. `asked` is what the hazard list asks of the detection, in its own words. `installed`: a
    mistake of wiring or settings, mostly there before the heat. `sound_with`: where this signal is fitted it
    is no fault at all, and no interlock may name it.
    """

    rows: str
    causes: tuple[str, ...] = ()
    stands_in: str = ""
    lies: bool = False
    asked: str = ""
    installed: bool = False
    sound_with: str = ""


ANY = "*"
_LIMIT = "the independent limit with its own sensor"
_CHECK = "dated reference check, and the independent limit; a second sensor shows it"
_WRONG = ("sensor_moves", "sensor_lost", "two_sensors", "energy_balance", "sensor_answer", "slow_drift")
_HIGH = (*_WRONG, "over_temperature")
# One that is free again after a while jumps to where it should have been.
_FROZEN = ("sensor_frozen", "energy_balance", "no_progress", "two_sensors", "sensor_answer", "sensor_moves")
_DEAD = ("heater_dead", "energy_balance", "no_progress", "sensor_answer", "output_disobeys")
_STUCK = ("heat_without_demand", "energy_balance", "rising_while_off", "over_temperature", "chatter")
_LINE = ("link_lost", "sensor_lost", "output_disobeys", "foreign_talk")
# Without a contact the balance of energy asks "does a relay stick?": what one that opens late passes is that.
_WORN = ("heat_without_demand", "chatter", "energy_balance")


def _sensor(rows: str, asked: str = "", *more: str) -> Detection:
    return Detection(rows, (*_HIGH, *more), _LIMIT, lies=True, asked=asked)


def _unseen(rows: str, asked: str = "", causes: tuple[str, ...] = _HIGH) -> Detection:
    """A reading that is only wrong by a little: a second sensor shows it, else nothing does."""
    return Detection(rows, causes, _CHECK, lies=True, asked=asked, installed=True)


def _slow(rows: str = "H07", asked: str = "15 K with a second sensor") -> Detection:
    """A reading that goes wrong slowly: a second sensor shows it, the holding duty tells."""
    return Detection(rows, (*_HIGH, "no_progress"), _CHECK, lies=True, asked=asked)


def _line(rows: str, asked: str = "") -> Detection:
    return Detection(rows, _LINE, asked=asked)


def _hidden(rows: str, stands_in: str) -> Detection:
    """A safeguard that has failed unseen: nothing happens until it is needed."""
    return Detection(rows, stands_in=stands_in)


def _dead(rows: str, asked: str, *more: str) -> Detection:
    return Detection(rows, (*more, *_DEAD), "arrival is late", asked=asked)


# Keys are faults of the simulator, with a value where the value decides what must happen.
EXPECTED: dict[str, Detection] = {
    "sensor-open": Detection("H01", ("sensor_lost",), asked="2 cycles"),
    "sensor-short": _sensor("H02", "10 s at 830 °C"),
    "sensor-reversed": _sensor("H03", "true < 60 °C"),
    "sensor-reversed-twice": _unseen("H04", "30 s with a second sensor"),
    "sensor-copper": _unseen("H04", "30 s with a second sensor"),
    "sensor-displaced": _sensor("H05 H06", "15 s; 120 s from cold"),
    "sensor-drift:-10": _slow(),
    "sensor-drift:-20": _slow(),
    "sensor-drift:-60": _slow(),
    "sensor-half-out:10": _slow("H05 H07"),
    "sensor-half-out:60": _slow("H05 H07"),
    "sensor-slips:60": _slow("H05 H07"),
    "sensor-frozen": Detection("H08", _FROZEN, lies=True, asked="ramp 30 s, soak 180 s"),
    "sensor-hung": Detection("H08", _FROZEN, lies=True, asked="ramp 30 s, soak 180 s"),
    "sensor-noise": Detection("H09", ("sensor_noise", *_WRONG), asked="60 s"),
    "sensor-spikes": Detection("H09", ("sensor_noise", *_HIGH), asked="more than 3 in 60 s"),
    "sensor-k-as-j": _unseen("H10", "with a second sensor before 260 °C"),
    "sensor-j-as-k": _unseen("H10", "with a second sensor"),
    "sensor-fahrenheit": _unseen("H11", "start refused"),
    "sensor-converted-twice": _unseen("H11", "start refused"),
    "cold-junction-dead": _unseen("H12", "start refused", (*_HIGH, "cold_junction")),
    # A reading that jumps up by 6 K while the heat is off looks like an oven that rises by itself.
    "cold-junction-off:6": Detection(
        "H12", (*_HIGH, "cold_junction", "rising_while_off"), lies=True, asked="at the next cold start"
    ),
    "sensor-scale:0.1": _sensor("H13", "start refused"),
    # In 16 bits ten times 733 is 776 again, only noisier.
    "sensor-scale:10": _sensor("H13", "start refused", "sensor_noise"),
    "sensor-gain:1.1": _unseen("H14", "refused when entered"),
    "sensor-gain:0.9": _unseen("H14", "refused when entered"),
    "sensor-offset:20": _unseen("H16 H57", "35 s with a second sensor"),
    "sensor-offset:-20": _unseen("H16", "35 s with a second sensor"),
    "second-offset:20": Detection("H16", ("two_sensors", "over_temperature"), asked="35 s"),
    "second-offset:-20": Detection("H16", ("two_sensors",), asked="35 s"),
    "second-open": Detection("H16", asked="told"),
    "relay-welded": Detection("H17", _STUCK, _LIMIT, asked="2 s with a contact, 197 s without"),
    "relay-late:3": Detection("H17", _WORN, asked="–"),
    "relay-sticky:0.05": Detection("H17", _WORN, asked="–"),
    "relay-open": _dead("H18", "145 s"),
    "relay-chatter": Detection("H19", ("chatter", *_DEAD), "the contact at the element", asked="10 s"),
    "half-wave": Detection("H21", _STUCK, _LIMIT, asked="404–428 s"),
    "board-reset": Detection("H23", (*_LINE, "heat_without_demand"), asked="boots off"),
    "boots-on": _hidden("H23 H55", "bus check and dead-man test of the set-up, dated"),
    "element-dead:0.5": _dead("H24", "255–268 s"),
    "element-dead:0.12": Detection("H25", ("energy_balance",), asked="told once"),
    # Weak heat harms nobody; the energy balance stops it where it would never arrive.
    "element-ages:0.7": Detection("H25", ("energy_balance", "no_progress"), asked="told once"),
    "element-ages:0.4": Detection("H25", ("energy_balance", "no_progress"), asked="stop beyond 20 %"),
    "supply-lost": _dead("H26 H54", "stop", "supply"),
    "contactor-open": _dead("H26", "stop"),
    "supply-factor:0.85": Detection("H27", ("energy_balance", "no_progress"), asked="no trip"),
    "supply-factor:1.2": Detection(
        "H28",
        ("supply", "energy_balance", "over_temperature"),
        "volts are told only where they are measured; " + _LIMIT,
        asked="off above 115 %",
    ),
    "contactor-welded": _hidden("H29", "drop test of each barrier, dated"),
    "limit-bridged": _hidden("H29 H76", "limit test, dated"),
    "dead-man-stuck": _hidden("H55", "dead-man test of the set-up, dated"),
    "replies-silent": _line("H30", "3 cycles"),
    "power-cut": _line("H41 H49", "3 cycles; never back by itself"),
    "replies-damaged:0.05": Detection("H31", ("link_lost",), asked="goes on"),
    "replies-damaged:0.3": _line("H31", "30 s"),
    "replies-damaged:1": _line("H31", "30 s"),
    "replies-short:0.3": _line("H31", "30 s"),
    "replies-junk:0.3": _line("H31", "30 s"),
    "replies-lost:0.3": _line("H31", "30 s"),
    # Nothing tells a flipped bit from what was sent: a jump is read twice, any other wrong state may trip.
    "replies-flipped:0.02": Detection("H31", (ANY,), asked="–"),
    "replies-echoed": _line("H32", "refused; on never confirmed"),
    "replies-other-address": _line("H33", "2 cycles"),
    "wrong-device": _sensor("H33", "2 cycles"),
    "replies-late:0.4": _line("H35", "discarded, counted"),
    "replies-split:0.03": Detection("H35", asked="goes on"),
    "foreign-frames": _line("H36", "refused"),
    "door-open": Detection(
        "H56 H72",
        ("door_open", "no_progress", *_HIGH),  # shut again unseen, it overshoots
        "the door switch in the element's circuit",
        asked="heat off at once, stop after 120 s",
    ),
    "door-ajar:0.1": Detection("H56", (*_WRONG, "no_progress"), asked="told"),
    # Where no switch tells of the door, a door that opens in mid-soak is a sensor that falls.
    "door-bounces": Detection(
        "H56 H72",
        ("door_open", "no_progress", *_HIGH),
        "the door switch in the element's circuit",
        asked="heat off at once, stop after 120 s",
    ),
    # Attended it is told; the campaign leaves such a heat alone.
    "module-silent": Detection(
        "H69 H75", ("signal_lost",), "smoke and CO alarms that wake somebody", asked="–"
    ),
    "cold-part:25": Detection("–", _WRONG, asked="goes on", sound_with="door_open"),
    "smoke": Detection("H69 H70", ("smoke",), "smoke and CO alarms that wake somebody", asked="1 s"),
    "fan-stopped": Detection("H74", ("fan_stopped", *_WRONG), "the fan is heard"),
    "enclosure-hot": Detection("H75", ("hot_box",), "a closed box of metal"),
    "ambient-shift:10": Detection("–", asked="goes on"),
    "stray-on": Detection("H78", ("heat_without_demand",), asked="overwritten in 1 cycle"),
    "live-says-on": Detection("H17", ("heat_without_demand", "chatter"), asked="2 s"),
    "live-says-off": Detection("H18", ("heater_dead", "chatter"), asked="–"),
}
# Faults that come together, because together they take away what would show each of them; and the weld that
# falls into the last cooling ("@last"), where no heat is wanted any more.
TOGETHER: dict[str, tuple[str, ...]] = {
    "weld in the last cooling": ("relay-welded@last",),
    "weld and stuck contact": ("relay-welded", "live-says-off"),
    "half-wave and stuck contact": ("half-wave", "live-says-off"),
    "couple slips, element ages": ("sensor-slips:60", "element-ages:0.7"),
}


def row_of(fault: Fault) -> str:
    """Return the key of a fault's row."""
    value = "" if fault.value is None else f":{fault.value:g}"
    return fault.name + value if fault.name + value in EXPECTED else fault.name


def number_for(
    key: str, oven: Oven, learned: bool, places: Set[Where] = frozenset(), spoils: Set[str] = frozenset()
) -> Allowed | None:
    """Return the number that counts for a fault here, None where software cannot see it or need not cut it.

    `places` say where it began; `spoils` are the signals that another fault has taken away.
    """
    if "*" in spoils or ("process" in spoils and key.startswith("sensor-")):
        return None
    signals = signals_of(oven, learned) - spoils
    rows = ALLOWED.get(key, ())
    return next((row for row in rows if row.fits(signals, places)), None)


def visible(key: str, oven: Oven, learned: bool, spoils: Set[str] = frozenset()) -> bool:
    """Return whether software can see a fault on this oven that has to be cut."""
    return number_for(key, oven, learned, spoils=spoils) is not None
