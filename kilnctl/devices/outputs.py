"""What is written to an output, and what its read-back means."""

from typing import TYPE_CHECKING, cast

from kilnctl.devices.interfaces import HeatRequest
from kilnctl.units import c_from_f, f_from_c

if TYPE_CHECKING:
    from kilnctl.config.wiring import Heater, Output


def off_value(output: "Output") -> int:
    """Return the raw value that is off: for an instrument that regulates by itself, its parked set-point."""
    park_c: float | None = getattr(output, "park_c", None)  # only a heater has one
    return output.off if park_c is None else setpoint_raw(cast("Heater", output), park_c)


def wanted_value(heater: "Heater", request: HeatRequest) -> int:
    """Return the raw value that a request means for this kind of heater."""
    match heater.kind:
        case "duty":
            return round(heater.off + (heater.on - heater.off) * request.duty)
        case "set-point":
            return (
                off_value(heater) if request.setpoint_c is None else setpoint_raw(heater, request.setpoint_c)
            )
        case _:
            return heater.on if request.on else heater.off


def heats(heater: "Heater", request: HeatRequest) -> bool:
    """True when a request asks for any heat at all of this kind of heater."""
    return wanted_value(heater, request) != off_value(heater)


def setpoint_raw(heater: "Heater", point_c: float) -> int:
    """Return the raw value of a set-point in degC."""
    shown = point_c if heater.unit == "C" else f_from_c(point_c)
    return round((shown - heater.offset) / heater.scale)


def setpoint_c(heater: "Heater", raw: float) -> float:
    """Return the set-point in degC that a raw value means."""
    shown = raw * heater.scale + heater.offset
    return shown if heater.unit == "C" else c_from_f(shown)
