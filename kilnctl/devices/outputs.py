"""What is written to an output, and what its read-back means."""

import math
from typing import TYPE_CHECKING, cast

from kilnctl.devices.contact import switch
from kilnctl.errors import DeviceError

if TYPE_CHECKING:
    from kilnctl.config.places import Switch
    from kilnctl.config.wiring import Heater, Output, Outputs
    from kilnctl.devices.device import WiredDevice
    from kilnctl.devices.interfaces import HeatRequest


FLOAT_SHARE = 1e-3  # of the span of a float that is read back; a set-point is shown to a tenth
SETPOINT_STEP = 0.1
SAME = 1e-6  # decimals in a line of text
ON_AGAIN_S, SELDOM_S, MISSED = 3.0, 10.0, 3  # of horn and lamp
# Never to raise it: that limit protects the oven, perhaps from below the independent one.
OWN_LIMIT = (
    "; does the instrument's own highest set-point lie below that? Leave it there, and write it as highest "
    "of output.heater: nothing above it is asked for then"
)


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
    return abs(read - written) <= _slack(output)


def reads_as_asked(raw: "float | DeviceError", asked: float) -> bool:
    """True where a register was read, and holds what would be written to it."""
    return not isinstance(raw, DeviceError) and abs(raw - asked) <= SAME * max(1.0, abs(asked))


def _slack(output: "Output") -> float:
    park_c: float | None = getattr(output, "park_c", None)
    return FLOAT_SHARE * abs(output.on - output.off) if park_c is None else 0.6 * SETPOINT_STEP


def likely_limit(output: "Output", error: "DeviceError") -> str:
    """Return why an instrument may refuse a set-point as a value, empty for anything else."""
    # The words of the Modbus application protocol for code 3; a text board has none of its own for a value.
    value = "illegal data value" in str(error) or "the device answers" in str(error)
    return OWN_LIMIT if value and getattr(output, "kind", "") == "set-point" else ""


def takes_amount(output: "Output") -> bool:
    """True for an output that takes a power or a set-point, of which `back` may show no more than a mode."""
    return getattr(output, "kind", "") in ("duty", "set-point")


def back_amount(output: "Output", raw: float) -> float | None:
    """Return the power or set-point that `back` shows, as the heater counts it; None where it is yes or no.

    A decimal register is an amount, and so is a whole one with a `scale` of its own; a bit or a mode is not.
    """
    back = output.back
    by_amount = getattr(output, "kind", "switch") in ("duty", "set-point")
    if back is None or not by_amount or back.bits_table or back.bit is not None or back.yes or back.inverted:
        return None
    return raw * back.scale + back.offset if back.is_float or back.scaled else None


def off_amount(output: "Output") -> float:
    """Return what `back` shows as an amount when it is off: park, in the heater's unit, or the off value."""
    if getattr(output, "park_c", None) is None:
        return output.off
    heater = cast("Heater", output)
    return off_value(heater) * heater.scale + heater.offset


def amount_said(output: "Output", amount: float) -> str:
    """Say which number `back` shows of a heater that takes an amount, beside the number of off."""
    where, kind = cast("Switch", output.back).where, cast("Heater", output).kind
    return f"back ({where}, a {kind}) reads {amount:g}, off is {off_amount(output):g}"


def back_is_on(output: "Output", raw: "float | DeviceError") -> bool | None:
    """Return what the place `back` of an output says, None where it cannot be read or says neither."""
    back = cast("Switch", output.back)
    amount = None if isinstance(raw, DeviceError) else back_amount(output, raw)
    if amount is None:
        return switch(back, raw)
    return not abs(amount - off_amount(output)) <= _slack(output)  # no number at all is no off either


def _read_as(output: "Output", written: float) -> float:
    """Return what is read where a number was written: not the same on every board."""
    if written == output.on and output.reads_on is not None:
        return output.reads_on
    return output.reads_off if written == output.off and output.reads_off is not None else written


class Sounder:
    """What a horn or lamp was told last. One that takes no word is tried seldom: the heat needs the line.

    `why` is what was said in place of the last word's answer, "" once one was taken.
    """

    def __init__(self) -> None:
        self.why = ""
        self._on: bool | None = None
        self._at_s, self._missed = 0.0, 0

    def due(self, on: bool, now_s: float) -> bool:
        """Return whether it must be written; on again now and then, for its board may have dropped it."""
        since_s = now_s - self._at_s
        if self._missed >= MISSED:
            return since_s > SELDOM_S
        return self._on is not on or (on and since_s > ON_AGAIN_S)

    def tell(self, device: "WiredDevice", output: "Output", on: bool, now_s: float) -> None:
        """Write it. Never raises: a dead horn must not stop a heat's last words."""
        silent = device.silent
        try:
            device.write(output, output.on if on else output.off)
            self.took(on, now_s)
        except Exception as e:
            self.missed(str(e), now_s)
            device.silent = silent  # one number that nothing answers to is no silent board

    def took(self, on: bool, now_s: float) -> None:
        """Note a word that was taken."""
        self.why, self._on, self._at_s, self._missed = "", on, now_s, 0

    def missed(self, why: str, now_s: float) -> None:
        """Note a word that was not: it may sound all the same, for perhaps the answer was lost."""
        self.why, self._on, self._at_s, self._missed = why, None, now_s, self._missed + 1


def sounders(outputs: "Outputs") -> "dict[str, tuple[Output, Sounder]]":
    """Return horn and lamp where the oven has them, told nothing yet."""
    both = {"horn": outputs.horn, "lamp": outputs.lamp}
    return {name: (output, Sounder()) for name, output in both.items() if output is not None}
