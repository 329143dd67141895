"""A bench of mixed devices: what one of another kind than its way's brings, and how its places are told.

A text board with relays beside a Modbus thermometer, or a Modbus relay board beside a text thermometer.
"""

from collections.abc import Iterable
from typing import Any

from kilnctl.cli.oven.oven_file.more_places import place_of
from kilnctl.cli.oven.oven_file.templates import WAYS, Way, template
from kilnctl.cli.terminal.by_asking import Ask, Say

EXAMPLES = {"modbus": WAYS[0], "text": WAYS[7], "line": WAYS[8]}
# How a place is found on the wire and read, which differs from kind to kind.
FOUND_BY = (
    "table", "register", "field", "format", "word_order", "byte_order", "bit", "scale", "offset",
    "open_values",
)  # fmt: skip

OF_ITS_OWN = {"checksum", "checksum_mark", "banner", "banner_wait", "echoes", "open_words", "who"}

Table = dict[str, Any]


def kind_of(device: Table) -> str:
    """Return the kind of a device of the file."""
    return str(device.get("kind", "modbus"))


def example_of(way: Way) -> Table:
    """Return the example of a way; of a Modbus one with an identity and a dead-man, which any may have."""
    example = template(way)
    example["device"] = {name: unsaid(one) for name, one in example["device"].items()}
    for output in example["output"].values():
        if "multiple" in output:
            output["multiple"] = False  # only its own list has a board say otherwise
    device, first = next(iter(example["device"].items()))
    if "identity" in example or kind_of(first) != "modbus":
        return example
    usual = template(EXAMPLES["modbus"])
    identity = {**usual["identity"][0], "device": device}
    dead_man = example.pop("dead_man", {**usual["dead_man"], "device": device})
    return {**example, "identity": [identity], "dead_man": dead_man}


def unsaid(device: Table) -> Table:
    """Return an example of a device without what only its own sheet can say: nobody is offered that."""
    if kind_of(device) != "text":
        return device
    return {key: one for key, one in device.items() if key not in OF_ITS_OWN}


def arm_like(device: str, kind: str, before: int) -> Table:
    """Return an example of what is written once; `before` are asked for already."""
    if kind == "text":
        return {"device": device, "field": f"arm{before + 1}" if before else "arm", "write": 1}
    return {"device": device, "table": "holding", "register": 11, "write": 0}


def ask_kind(name: str, ask: Ask, say: Say) -> str:
    """Ask what kind a further device is of."""
    while True:
        kind = ask(f"device.{name}.kind, {', '.join(EXAMPLES)} [modbus]: ").strip() or "modbus"
        if kind in EXAMPLES:
            return kind
        say(f"type one of {', '.join(EXAMPLES)}")


def free_port(ports: Iterable[str], devices: Iterable[Table], kind: str) -> str:
    """Return a port that a device of a kind can be on, empty for none: only Modbus devices share a line."""
    taken = {one["port"] for one in devices if kind != "modbus" or kind_of(one) != "modbus"}
    return next((port for port in ports if port not in taken), "")


def device_like(kind: str, port: str) -> Table:
    """Return an example of a device of a kind, on a port."""
    device = unsaid(next(iter(template(EXAMPLES[kind])["device"].values())))
    return {**({"kind": kind} if kind != "modbus" else {}), **device, "port": port}


def port_like(kind: str) -> Table:
    """Return an example of a port for a device of a kind."""
    return dict(next(iter(template(EXAMPLES[kind])["port"].values())))


def place_at(path: tuple[str, ...], place: Table, device: str, kind: str) -> Table:
    """Return the example of a place as it is told for a device of another kind."""
    example = template(EXAMPLES[kind])
    if path[0] == "arm":
        like = arm_like(device, kind, 0)
    elif path[0] == "dead_man":
        like = example["dead_man"]
    else:
        group, name = path[0], path[1]
        like = example[group].get(name) or place_of(group, name, example)
    kept = {key: one for key, one in place.items() if key not in FOUND_BY}
    found = {key: one for key, one in like.items() if key in FOUND_BY}
    return {"device": device, **found, **{key: one for key, one in kept.items() if key != "device"}}
