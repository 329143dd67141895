"""The keys of a table that nobody was asked for yet: each can be typed by its name."""

from typing import Any

from kilnctl.cli.oven.oven_file.file_text import Path
from kilnctl.cli.oven.oven_file.follow_ups import BY_AMOUNT
from kilnctl.cli.oven.oven_file.more_places import SWITCHES
from kilnctl.config.device_keys import LineDevice, ModbusDevice, Port, TextDevice
from kilnctl.config.places import FLOATS, Place, Switch
from kilnctl.config.wiring import (
    Arm,
    DeadMan,
    DeviceIdentity,
    Heater,
    Number,
    Output,
    SecondTemperature,
    Signals,
    Temperature,
)
from kilnctl.tomlfile import Strict

# What is asked by other questions, or stands in the table's name.
ELSEWHERE = {
    "kind",
    "device",
    "port",
    "table",
    "register",
    "field",
    "path",
    "address",
    "words",
    "ask",
    "tell",
}
REGISTERS = {"format", "word_order", "byte_order", "multiple", "table", "register"}
NO_FRAMES = {"frames", "echoes"}
# How each may look, for keys that no example of the guide shows; the kind of value is what counts.
LIKE: dict[str, Any] = {
    "word_order": "low first", "byte_order": "little", "bit": 0, "mask": 0xFF00, "scale": 0.1, "offset": 0.0,
    "inverted": True, "yes": [1], "no": [0], "open_values": [32767], "resolution": "0.25 K", "couple": "K",
    "wire": "class 1", "multiple": True, "on": 1, "off": 0, "reads_on": 1, "reads_off": 0, "holds": "5 s",
    "unit": "C", "park": "0 C", "highest": "1100 C", "link_loss": "drops", "step": 0.1,
    "then": 0, "counts_to": 255, "drops_after": "5 s",
    "zero_drops": True, "shown": True, "write": 1, "stored": True, "format": "uint16", "apart": "60 K",
    "low": 0.0, "high": 1e6, "expect": 1,
    "gap": "50 ms", "timeout": "1 s", "data_bits": 7, "stop_bits": 2, "parity": "none", "baud": 9600,
    "frames": "ascii", "echoes": True, "together": False, "line_end": "CR", "answer_end": "CR LF",
    "decimal": ",", "checksum": "xor8", "checksum_mark": "*", "checksum_after": "$", "banner": "ready",
    "banner_wait": "2 s", "open_words": ["nan"], "busy_words": ["BUSY"],
    "who": "who", "unasked": "> ", "prompt": "> ",
    "name": "board", "kind": "switch",
}  # fmt: skip
HEATERS = ("switch", "pulse", "duty", "set-point")
SWITCHED = ("switch", "pulse")
OF_KINDS = {
    **dict.fromkeys(("unit", "park", "highest", "link_loss", "scale", "offset"), ("set-point",)),
    **dict.fromkeys(("bit", "reads_on", "reads_off"), SWITCHED),
    **dict.fromkeys(("on", "off"), (*SWITCHED, "duty")),
    "holds": ("duty", "pulse", "set-point"), "step": BY_AMOUNT,
}  # fmt: skip
PLACES = ("fault", "exponent", "back")


def model_of(path: Path, kind: str) -> type[Strict]:
    """Return the model that a table of the file has; `kind` is that of its device."""
    match path:
        case (*_, "fault" | "back"):
            return Switch
        case (*_, "exponent"):
            return Place
        case ("port", *_):
            return Port
        case ("device", *_):
            return TextDevice if kind == "text" else LineDevice if kind == "line" else ModbusDevice
        case ("signal", "second"):
            return SecondTemperature
        case ("signal", name):
            number = Number.__name__ in str(Signals.model_fields[name].annotation)
            return Switch if name in SWITCHES else Number if number else Temperature
        case ("output", "heater"):
            return Heater
        case ("output", _):
            return Output
        case ("dead_man",):
            return DeadMan
        case ("arm",):
            return Arm
    return DeviceIdentity


def more_keys(path: Path, kind: str, network: bool = False) -> list[str]:
    """Return every key that a table may have and that its device can use, but those asked in other ways."""
    fields = model_of(path, kind).model_fields
    keys = [field.alias or name for name, field in fields.items()]
    written = path[0] in ("output", "dead_man", "arm") and path[-1] not in PLACES
    never = set(ELSEWHERE)
    if kind != "modbus":
        never |= REGISTERS | NO_FRAMES if path[0] != "device" else set()
        never |= {"bit"} if written else set()
    if network:
        never |= {"baud", "parity", "stop_bits", "data_bits", "echoes"}
    if path[-1] == "cold_junction":
        never |= {"couple"}  # the sensor at the terminals of one
    if written:
        never |= {"mask"} | ({"scale", "offset"} if path != ("output", "heater") else set())
    return [key for key in keys if key not in never]


def goes_with(key: str, made: dict[str, Any]) -> bool:
    """False for a key that nothing of its kind can have beside what was answered."""
    if made.get("format") in FLOATS and key in ("bit", "mask", "exponent", "yes"):
        return False
    if "kind" not in made and "on" not in made and "park" not in made:
        return True
    kind = made.get("kind", "switch")
    return kind not in HEATERS or kind in OF_KINDS.get(key, HEATERS)


def like(path: Path, key: str, place: dict[str, Any]) -> Any:
    """Return an example of a key; of a place inside a place one at the same device."""
    if key in PLACES:
        where = ("device", "table", "register", "field")
        return {one: place[one] for one in where if one in place} | {"device": place["device"]}
    return LIKE[key]
