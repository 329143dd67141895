"""What is written to an output, and what its read-back means."""

from kilnctl.config.wiring import Heater, Output
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.units import c_from_f, f_from_c


def off_value(output: Output) -> int:
    """Return the raw value that is off: for an instrument that regulates by itself, its parked set-point."""
    if isinstance(output, Heater) and output.park_c is not None:
        return setpoint_raw(output, output.park_c)
    return output.off


def wanted_value(heater: Heater, request: HeatRequest) -> int:
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


def heats(heater: Heater, request: HeatRequest) -> bool:
    """True when a request asks for any heat at all of this kind of heater."""
    return wanted_value(heater, request) != off_value(heater)


def setpoint_raw(heater: Heater, point_c: float) -> int:
    """Return the raw value of a set-point in degC."""
    shown = point_c if heater.unit == "C" else f_from_c(point_c)
    return round((shown - heater.offset) / heater.scale)


def setpoint_c(heater: Heater, raw: float) -> float:
    """Return the set-point in degC that a raw value means."""
    shown = raw * heater.scale + heater.offset
    return shown if heater.unit == "C" else c_from_f(shown)
