"""From the raw number on the wire to a reading that may be acted on, or the reason why there is none."""

import math
from typing import TYPE_CHECKING

from kilnctl.devices.contact import switch
from kilnctl.errors import BadReply, DeviceError
from kilnctl.readings import Quality, Reading
from kilnctl.units import c_from_f

if TYPE_CHECKING:
    from kilnctl.config.places import Switch
    from kilnctl.config.wiring import Number, Temperature

MOST_TENS = 6  # powers of ten; no register moves a temperature's point further
JUMP_K = 50.0  # no oven of this kind moves so far between two looks; a damaged frame or a loose wire does
AGREE_K = 10.0

OPEN_RAW = -1e300  # stands for a word that says "sensor open"; no wire format reaches it

Raw = float | DeviceError


def in_degc(
    place: "Temperature", raw: Raw, junction_c: float | None, at_s: float, exponent: Raw = 0.0
) -> Reading:
    """Return a temperature in degC; a sentinel, NaN, an absurd value or an error become a bad reading.

    `junction_c` is the cold junction's temperature, for the voltage of a bare thermocouple; `exponent` what
    the register holds that moves the decimal point.
    """
    if isinstance(raw, DeviceError):
        return _failed(raw, at_s)
    if raw in place.open_values or raw == OPEN_RAW:
        return Reading.bad(Quality.OPEN, "the device reports an open sensor", at_s)
    if not math.isfinite(raw):
        return Reading.bad(Quality.NOT_FINITE, "not a finite number", at_s)
    if isinstance(times := power_of_ten(place, exponent), DeviceError):
        return _failed(times, at_s)
    value_c = _degc(place, raw * place.scale * times + place.offset, junction_c)
    if value_c is None:
        why = "the voltage is outside this couple's table, or the cold junction cannot be read"
        return Reading.bad(Quality.OUT_OF_RANGE, why, at_s, raw)
    if not place.low_c <= value_c <= place.high_c:
        shown = f"{value_c:.1f}" if abs(value_c) < 1e6 else f"{value_c:.3g}"
        why = f"{shown} °C is outside {place.low_c:g} to {place.high_c:g} °C"
        return Reading.bad(Quality.OUT_OF_RANGE, why, at_s, raw)
    return Reading.of(value_c, at_s, raw)


def power_of_ten(place: "Temperature", raw: Raw) -> float | DeviceError:
    """Return what a temperature is taken times for the register that holds its exponent, 1 without one."""
    if place.exponent is None or isinstance(raw, DeviceError):
        return 1.0 if place.exponent is None else raw
    tens = raw * place.exponent.scale + place.exponent.offset
    if not math.isfinite(tens) or abs(tens) > MOST_TENS or tens != round(tens):
        return BadReply(f"{place.exponent.where} holds {raw:g}, which is no exponent")
    return float(10.0 ** round(tens))


def _degc(place: "Temperature", shown: float, junction_c: float | None) -> float | None:
    match place.unit:
        case "C":
            return shown
        case "F":
            return c_from_f(shown)
        case "mV":
            from kilnctl.devices.thermocouples import hot_c

            return None if junction_c is None else hot_c(place.couple, shown, junction_c)


def number(place: "Number", raw: Raw, at_s: float) -> Reading:
    """Return any other analogue value in its own unit."""
    if isinstance(raw, DeviceError):
        return _failed(raw, at_s)
    value = raw * place.scale + place.offset
    if not place.low <= value <= place.high:
        why = f"{value:g} is outside {place.low:g} to {place.high:g}"
        return Reading.bad(Quality.OUT_OF_RANGE, why, at_s, raw)
    return Reading.of(value, at_s, raw)


def broken_by(fault: "Switch", raw: Raw, at_s: float) -> Reading | None:
    """Return the bad reading of a sensor whose device calls it broken or cannot be asked; None when sound."""
    if isinstance(raw, DeviceError):
        return _failed(raw, at_s)
    if (said := switch(fault, raw)) is None:
        return Reading.bad(Quality.BAD_REPLY, f"{fault.where} holds {raw:g}, neither a yes nor a no", at_s)
    return Reading.bad(Quality.OPEN, "the device reports a broken sensor", at_s) if said else None


def is_jump(reading: Reading, last_c: float | None) -> bool:
    """True for a good reading that nobody should believe without asking again."""
    if reading.value is None:
        return False
    return last_c is None or abs(reading.value - last_c) > JUMP_K


def confirmed(first: Reading, second: Reading, last_c: float | None) -> Reading:
    """Return what two looks at a jump are worth: two that agree, or the second if it jumped back."""
    if first.value is None or second.value is None:
        return second
    if abs(second.value - first.value) <= AGREE_K:
        return second
    if last_c is not None and abs(second.value - last_c) <= JUMP_K:
        return second
    why = f"{first.value:.1f} °C, then {second.value:.1f} °C"
    return Reading.bad(Quality.UNCONFIRMED, why, second.at_s, second.raw)


def _failed(error: DeviceError, at_s: float) -> Reading:
    quality = Quality.BAD_REPLY if isinstance(error, BadReply) else Quality.NO_REPLY
    return Reading.bad(quality, str(error), at_s)
