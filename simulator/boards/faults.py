"""Faults by script: "NAME@TIME[:VALUE][~DURATION]", for instance "relay-welded@2h10min~20min".

A fault sets fields of the board's Flaws when it begins and makes them sound again when it ends.
"""

import difflib
import math
import re
from dataclasses import dataclass, fields

from simulator.boards.fault_state import Flaws

VALUE = object()
_SHAPE = re.compile(r"^([a-z-]+)@([^:~]+)(?::([^~]+))?(?:~(.+))?$")
_TIME = re.compile(r"(\d+(?:\.\d+)?)(h|min|s|)")
_SECONDS = {"h": 3600.0, "min": 60.0, "s": 1.0, "": 1.0}


@dataclass(frozen=True, slots=True)
class Kind:
    """One thing that can go wrong: what it is, its usual value, and the fields of Flaws that it sets."""

    what: str
    sets: tuple[tuple[str, object], ...] = ()
    usual: float | None = None
    low: float = -math.inf
    high: float = math.inf


def _one(what: str, field: str, value: object = True) -> Kind:
    return Kind(what, ((field, value),))


def _sized(what: str, field: str, usual: float, low: float, high: float) -> Kind:
    return Kind(what, ((field, VALUE),), usual, low, high)


FAULTS: dict[str, Kind] = {
    "sensor-open": _one("the sensor's circuit is open", "sensor", "open"),
    "sensor-frozen": _one(
        "the reading stays what it was, the conversion counter runs on", "sensor", "frozen"
    ),
    "sensor-hung": _one("reading and conversion counter both stand still", "sensor", "hung"),
    "sensor-short": _one("pinched lead: reads the temperature of the terminals", "sensor", "short"),
    "sensor-displaced": Kind(
        "fallen out: drifts to VALUE °C within half a minute",
        (("sensor", "displaced"), ("displaced_c", VALUE)),
        60.0,
        -20.0,
        1200.0,
    ),
    "sensor-reversed": _one("leads reversed at the instrument", "couple", "reversed"),
    "sensor-reversed-twice": Kind(
        "extension reversed at both ends, head at VALUE °C",
        (("couple", "reversed-twice"), ("head_c", VALUE)),
        60.0,
        0.0,
        200.0,
    ),
    "sensor-copper": Kind(
        "copper extension, head at VALUE °C", (("couple", "copper"), ("head_c", VALUE)), 60.0, 0.0, 200.0
    ),
    "sensor-k-as-j": _one("type K couple read as type J: shows too little", "couple", "k-as-j"),
    "sensor-j-as-k": _one("type J couple read as type K: shows too much", "couple", "j-as-k"),
    "sensor-fahrenheit": _one("the module sends °F", "unit", "fahrenheit"),
    "sensor-converted-twice": _one("(°C - 32) / 1.8 is sent: shows too little", "unit", "converted-twice"),
    "sensor-scale": _sized("the count is VALUE times what it should be", "scale", 0.1, 0.001, 100.0),
    "sensor-gain": _sized("a wrong correction multiplies the reading by VALUE", "gain", 1.1, 0.5, 2.0),
    "sensor-offset": _sized("reads VALUE kelvin too much", "bias_k", -20.0, -500.0, 500.0),
    "sensor-drift": _sized("drifts by VALUE kelvin an hour", "drift_k_per_h", -10.0, -1000.0, 1000.0),
    "sensor-half-out": _sized(
        "the couple creeps half out in VALUE minutes", "half_out_min", 10.0, 0.1, 1000.0
    ),
    "sensor-slips": _sized(
        "the couple slips to 85 % of the way in VALUE minutes", "slips_min", 60.0, 0.1, 1000.0
    ),
    "sensor-noise": _sized("noise of VALUE kelvin (standard deviation)", "noise_k", 8.0, 0.0, 200.0),
    "sensor-spikes": _sized("VALUE of the conversions jump by 50 K", "spike_share", 0.1, 0.0, 1.0),
    "cold-junction-dead": _one("no cold-junction compensation; the junction reads 0", "junction_dead"),
    "cold-junction-off": _sized("the junction reads VALUE kelvin too much", "junction_k", 6.0, -60.0, 60.0),
    "second-offset": _sized("the second sensor reads VALUE kelvin too much", "second_k", 20.0, -500.0, 500.0),
    "second-open": _one("the second sensor's circuit is open", "second_open"),
    "relay-welded": _one("the heater relay stays closed", "relay", "welded"),
    "relay-open": _one("the heater relay never closes", "relay", "open"),
    "relay-chatter": _one("the heater relay chatters while it should be closed", "chatter"),
    "relay-late": _sized("the heater relay opens VALUE seconds late", "late_open_s", 3.0, 0.1, 60.0),
    "relay-sticky": _sized("VALUE of the openings come 20 s late", "sticky_share", 0.05, 0.0, 1.0),
    "half-wave": _one("the solid-state relay passes half the power when off", "relay", "half-wave"),
    "contactor-welded": _one("the safety contactor stays closed", "contactor", "welded"),
    "contactor-open": _one("the safety contactor never closes", "contactor", "open"),
    "live-says-on": _one("the heater-live contact is stuck at live", "live_wrong", "on"),
    "live-says-off": _one("the heater-live contact is stuck at dead", "live_wrong", "off"),
    "element-dead": _sized("VALUE of the element is dead", "lost_share", 0.5, 0.0, 1.0),
    "element-ages": _sized(
        "the element's power falls to VALUE of its full within an hour", "ages_to", 0.7, 0.0, 1.0
    ),
    "supply-factor": _sized("supply volts are VALUE times nominal", "volts", 0.85, 0.0, 1.5),
    "supply-lost": _one("no supply at the heater", "volts", 0.0),
    "limit-bridged": _one("somebody has bridged the independent limit", "limit_bridged"),
    "dead-man-stuck": _one("the board's dead-man no longer drops the heat", "dead_man_stuck"),
    "door-open": _one("the door is open", "door"),
    "door-ajar": _sized("the door is VALUE open (1 is wide), its switch says shut", "ajar", 0.1, 0.0, 1.0),
    "door-bounces": Kind(
        "the door is open, its switch says shut for one second in VALUE",
        (("door", True), ("door_bounces_s", VALUE)),
        10.0,
        2.0,
        600.0,
    ),
    "cold-part": Kind(
        "a cold part of VALUE mm is put in, the door open for 20 s (an instant)", (), 25.0, 1.0, 60.0
    ),
    "fan-stopped": _one("the circulation fan stands still", "fan_stopped"),
    "smoke": _one("the smoke detector goes off", "smoke"),
    "enclosure-hot": _sized("the relay box is at VALUE °C", "enclosure_c", 75.0, -20.0, 200.0),
    "ambient-shift": _sized("the room is VALUE kelvin warmer", "ambient_k", 10.0, -40.0, 40.0),
    "boots-on": Kind(
        "the board boots with its outputs on and has no dead-man",
        (("boots_on", True), ("dead_man_stuck", True)),
    ),
    "stray-on": Kind("somebody else writes the outputs on and feeds the dead-man"),
    "board-reset": Kind("the board restarts as it boots (an instant)"),
    "power-cut": Kind("board and heater without supply; the board boots when it returns", (("dark", True),)),
    "module-silent": _one("the module behind every switch and spare sensor does not answer", "module_silent"),
    "replies-silent": _one("the board does not answer", "line", "silent"),
    "replies-echoed": _one("the adapter echoes, the board is dead", "line", "echoed"),
    "replies-late": _sized("replies come VALUE unscaled seconds late", "late_s", 0.4, 0.0, 10.0),
    "replies-split": _sized("replies come in two, VALUE unscaled seconds apart", "split_s", 0.03, 0.0, 10.0),
    "replies-damaged": _sized("VALUE of the replies are damaged", "damaged", 1.0, 0.0, 1.0),
    "replies-short": _sized("VALUE of the replies are cut short", "short", 1.0, 0.0, 1.0),
    "replies-junk": _sized("VALUE of the replies have junk before them", "junk", 1.0, 0.0, 1.0),
    "replies-lost": _sized(
        "VALUE of the commands are obeyed, and the reply lost", "swallowed", 1.0, 0.0, 1.0
    ),
    "replies-flipped": _sized(
        "VALUE of the replies have one bit flipped, check sum valid", "flipped", 0.02, 0.0, 1.0
    ),
    "replies-other-address": _one("replies carry another address", "wrong_address"),
    "wrong-device": Kind(
        "another device answers: other identity, room temperature", (("identity", 4999), ("sensor", "short"))
    ),
    "foreign-frames": _one("somebody else talks on the bus", "foreign"),
}


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault of the script. Times in simulated seconds; `for_s` infinite when it stays."""

    name: str
    at_s: float
    value: float | None = None
    for_s: float = math.inf

    def sets(self) -> tuple[tuple[str, object], ...]:
        """Return the fields of Flaws with the values that this fault gives them."""
        kind = FAULTS[self.name]
        value = kind.usual if self.value is None else self.value
        return tuple((field, value if wanted is VALUE else wanted) for field, wanted in kind.sets)


def parse_fault(text: str) -> Fault:
    """Read one fault of a script. Raises ValueError with one line that says how to write it."""
    match = _SHAPE.match(text.strip())
    if match is None and text.strip() in FAULTS:
        raise ValueError(f'the fault "{text}" needs the time when it begins: "{text}@1h"')
    if match is None:
        raise ValueError(
            f'cannot read the fault "{text}"; write it like "sensor-open@90min" or "smoke@2h~5min"'
        )
    name, at, value, lasting = match.groups()
    kind = FAULTS.get(name)
    if kind is None:
        near = difflib.get_close_matches(name, FAULTS, n=3, cutoff=0.6)
        raise ValueError(
            f'no fault "{name}"; '
            + ("near: " + ", ".join(near) if near else "`kilnctl simulate --help` lists them all")
        )
    for_s = math.inf if lasting is None else seconds(lasting, text)
    return Fault(name, seconds(at, text), _value(name, kind, value), for_s)


def seconds(text: str, whole: str) -> float:
    """Read "90", "90s", "45min", "2h10min". Raises ValueError."""
    compact = text.replace(" ", "")
    parts = _TIME.findall(compact)
    if (
        not parts
        or "".join(n + u for n, u in parts) != compact
        or (len(parts) > 1 and "" in dict(parts).values())
    ):
        raise ValueError(
            f'cannot read the time "{text}" in "{whole}"; write it like "300s", "45min" or "2h10min"'
        )
    return sum(float(number) * _SECONDS[unit] for number, unit in parts)


def _value(name: str, kind: Kind, text: str | None) -> float | None:
    if text is None:
        return None
    if kind.usual is None:
        raise ValueError(f'the fault "{name}" takes no value')
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not kind.low <= value <= kind.high:
        raise ValueError(f'"{name}" takes a number from {kind.low:g} to {kind.high:g}, not "{text}"')
    return value


def described() -> str:
    """Return all faults, one a line, for a help text."""
    return "\n".join(
        f"{name}  {kind.what}" + (f" (usually {kind.usual:g})" if kind.usual is not None else "")
        for name, kind in FAULTS.items()
    )


NEUTRAL: dict[str, object] = {f.name: f.default for f in fields(Flaws)}
