"""What each set-up step rests on: the keys of the oven file whose change takes its proof away.

A result keeps the values of these keys as they were. Defaults are left out: a key that a newer program adds
changes nothing, one that the owner adds or takes away does.
"""

from collections.abc import Iterator, Mapping
from fnmatch import fnmatchcase
from typing import Any

from kilnctl.config.oven import Oven

# What is switched when the heat is: the relay, what stands before it, and the wires to both.
HEAT = ("output.heater", "output.contactor")
SENSOR = ("signal.process", "signal.second", "signal.cold_junction")
MACHINE = ("power", "supply", "build")
# In one place: step -> keys. A key that has a place on a device takes the device and its port with it.
RESTS_ON: Mapping[str, tuple[str, ...]] = {
    "caution": ("use", "limit", "power", "supply"),
    "oven file": (),  # the whole file, by its checksum
    "bus check": ("port", "device", "identity", "output", "dead_man", "arm", "signal.*.device",
                  "signal.*.table", "signal.*.register", "signal.*.field"),
    "dead-man test": (*HEAT, "dead_man", "arm", "tick"),
    "cold check": SENSOR,
    "known temperature": SENSOR,
    "heater pulse": (*HEAT, "signal.process", "power", "supply"),
    "reference check": (*SENSOR, "limit"),
    "limit test": (*HEAT, "limit", "power", "signal.limit_open"),
    "drop test": HEAT,
    "earth and insulation": ("power", "supply"),
    "learn": (*HEAT, "signal.process", *MACHINE),
    "weld drill": (*HEAT, "signal.process", "power"),
    "door test": (*HEAT, "signal.door_open"),
    "sensor-out drill": (*HEAT, "signal.process", "tick"),
    "overshoot check": (*HEAT, "signal.process", *MACHINE, "switching", "controller", "zone"),
    "power drill": (*HEAT, "dead_man", "arm"),
    "horn and messages": ("output.horn", "output.lamp"),
    "uniformity": MACHINE,
    "first temper": (*HEAT, "signal.process", "limit", *MACHINE),
    "fire equipment": (),
}  # fmt: skip
SIMULATED = "simulated"
# A step that is done otherwise than before, so that what was stored then proves less.
WAY = "way"
DONE_BY: Mapping[str, str] = {"drop test": "each part held while a meter looks"}
NAMED = ("port", "device", "signal", "output", "identity", "arm")  # tables with names, or numbers
TOLD = 2  # changes that one sentence names
Values = dict[str, Any]


def fingerprint(step: str, oven: Oven) -> Values:
    """Return the values that a step's result rests on, by their keys in the oven file."""
    every = dict(_flat("", oven.model_dump(mode="json", by_alias=True, exclude_defaults=True)))
    keys = {*RESTS_ON[step], SIMULATED}
    wires = {name: place.device for name, place in oven.wired()}
    for name, device in wires.items():
        if any(_within(name, key) for key in RESTS_ON[step]):
            keys |= {f"device.{device}", f"port.{oven.device[device].port}"}
    values = {name: value for name, value in every.items() if any(_within(name, key) for key in keys)}
    return values | ({WAY: DONE_BY[step]} if step in DONE_BY else {})


def changed(step: str, then: Mapping[str, Any] | None, oven: Oven) -> str:
    """Return why a result no longer counts for this oven; empty where it does.

    `then` is the fingerprint that was stored with it, None where an older program stored none.
    """
    if then is None:
        return "was stored without the values it rests on; do it again"
    if then.get(SIMULATED, False) and not oven.simulated:
        return "was done on a simulated oven, which proves nothing of a live one"
    now = fingerprint(step, oven)
    if WAY in now and then.get(WAY) != now[WAY]:
        return f"was done in a way that proves less; do it again, with {now[WAY]}"
    names = sorted(name for name in then.keys() | now.keys() if then.get(name) != now.get(name))
    said = list(dict.fromkeys(_change_of(name, then, now) for name in names if name != SIMULATED))
    more = [f"and {len(said) - TOLD} more changes"] if len(said) > TOLD + 1 else said[TOLD:]
    return "; ".join([*said[:TOLD], *more])


def _change_of(name: str, then: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """Say what became of a key; of a table that came or went whole only that."""
    first, *rest = name.split(".")
    table = f"{first}.{rest[0]}" if first in NAMED else first
    had, has = (any(_within(key, table) for key in values) for values in (then, now))
    if had and has:  # a key that is left out has its usual value
        was = f"{then[name]}, " if name in then else ""
        return f"{name} has changed since: {was}now {now.get(name, 'left out')}"
    return f"{table} is {'new' if has else 'no longer'} in the file"


def _within(name: str, key: str) -> bool:
    return name == key or name.startswith(f"{key}.") or fnmatchcase(name, key)


def _flat(before: str, value: Any) -> Iterator[tuple[str, Any]]:
    """Yield every single value with its dotted key."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _flat(f"{before}.{name}" if before else name, inner)
    elif isinstance(value, list) and any(isinstance(inner, dict) for inner in value):
        for number, inner in enumerate(value, 1):
            yield from _flat(f"{before}.{number}", inner)
    else:
        yield before, value
