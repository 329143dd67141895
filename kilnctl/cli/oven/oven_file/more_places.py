"""What a bench may have beside what the example of its way has: the place of another signal or output."""

from copy import deepcopy
from typing import Any

from kilnctl.config.places import Switch
from kilnctl.config.wiring import Number, Outputs, Signals

SWITCHES = {name for name, field in Signals.model_fields.items() if Switch.__name__ in str(field.annotation)}
# What two sensors of one kind most often share; the second one's register is its own.
SHARED = (
    "device", "table", "register", "format", "word_order", "byte_order", "scale", "offset", "unit", "low",
    "high", "open_values", "resolution", "couple",
)  # fmt: skip
TERMINALS = {"low": "-20 C", "high": "85 C"}  # where electronics live (common practice, no single source)
WHERE = ("device", "table", "register", "field")


def others(group: str, example: dict[str, Any]) -> list[str]:
    """Return the names of signals or outputs that the oven file knows and the example does not have."""
    model = Signals if group == "signal" else Outputs
    return [name for name in model.model_fields if name not in example[group]]


def place_of(group: str, name: str, example: dict[str, Any]) -> dict[str, Any]:
    """Return a place to ask for, made after the heater's or the process sensor's own."""
    like = example["output"]["heater"] if group == "output" else example["signal"]["process"]
    place = {key: deepcopy(like[key]) for key in WHERE if key in like}
    if "field" in place:
        place["field"] = name
    number = group == "signal" and Number.__name__ in str(Signals.model_fields[name].annotation)
    bit = group == "output" or name in SWITCHES
    if "table" in place:
        place["table"] = "coil" if group == "output" else "discrete" if bit else place["table"]
    if not bit:
        place |= {key: like[key] for key in ("format", "scale") if key in like}
    if not bit and not number:
        place |= {key: like[key] for key in ("unit", "low", "high", "couple") if key in like}
    if name == "cold_junction":
        place.pop("couple", None)  # the sensor at the terminals of one
        place |= TERMINALS if "low" in place else {}
    return place


def like_the_first(process: dict[str, Any], otherwise: dict[str, Any]) -> dict[str, Any]:
    """Return the place of a second sensor to ask for: as the first one was told, where that has registers."""
    if "table" not in process:
        return otherwise
    return {key: deepcopy(process[key]) for key in SHARED if key in process}
