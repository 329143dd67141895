"""What is written to an output, and what its read-back means."""

import math
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from kilnctl.config.wiring import Heater, Output
    from kilnctl.devices.interfaces import HeatRequest


FLOAT_SHARE = 1e-3  # of the span of a float that is read back; a set-point is shown to a tenth
SETPOINT_STEP = 0.1
SAME = 1e-6  # decimals in a line of text


def off_value(output: "Output") -> float:
    """Return the raw value that is off: for an instrument that regulates by itself, its parked set-point."""
    park_c: float | None = getattr(output, "park_c", None)  # only a heater has one
    return output.off if park_c is None else setpoint_raw(cast("Heater", output), park_c)


def wanted_value(heater: "Heater", request: "HeatRequest") -> float:
    """Return the raw value that a request means for this kind of heater."""
    match heater.kind:
        case "duty":
            more = (heater.on - heater.off) * request.duty
            return heater.off + (more if heater.is_float else _in_steps(heater, round(more / heater.step)))
        case "set-point":
            return (
                off_value(heater) if request.setpoint_c is None else setpoint_raw(heater, request.setpoint_c)
            )
        case _:
            return heater.on if request.on else heater.off


def heats(heater: "Heater", request: "HeatRequest") -> bool:
    """True when a request asks for any heat at all of this kind of heater."""
    return wanted_value(heater, request) != off_value(heater)


def setpoint_raw(heater: "Heater", point_c: float) -> float:
    """Return the raw value of a set-point in degC."""
    from kilnctl.units import f_from_c  # here and below: an `off` at a relay does without

    shown = point_c if heater.unit == "C" else f_from_c(point_c)
    raw = (shown - heater.offset) / heater.scale
    if heater.is_float:
        return round(raw, 1)
    # Steps of its own are gone down, towards the parked end: rounded up the part would be that much hotter.
    down = math.floor(raw / heater.step + SAME) if heater.scale > 0 else math.ceil(raw / heater.step - SAME)
    fine = heater.step == 1.0 and abs(heater.scale) <= 1.0
    return _in_steps(heater, round(raw) if fine else down)


def _in_steps(heater: "Heater", steps: int) -> float:
    return steps * int(heater.step) if heater.step == int(heater.step) else round(steps * heater.step, 9)


def setpoint_c(heater: "Heater", raw: float) -> float:
    """Return the set-point in degC that a raw value means."""
    from kilnctl.units import c_from_f

    shown = raw * heater.scale + heater.offset
    return shown if heater.unit == "C" else c_from_f(shown)


def reads_as_written(output: "Output", read: float, written: float) -> bool:
    """True when what is read back is what was written; a float may have been rounded by the device."""
    if not output.is_float:
        return abs(read - _read_as(output, written)) < SAME
    park_c: float | None = getattr(output, "park_c", None)
    slack = FLOAT_SHARE * abs(output.on - output.off) if park_c is None else 0.6 * SETPOINT_STEP
    return abs(read - written) <= slack


def _read_as(output: "Output", written: float) -> float:
    """Return what is read where a number was written: not the same on every board."""
    if written == output.on and output.reads_on is not None:
        return output.reads_on
    return output.reads_off if written == output.off and output.reads_off is not None else written
