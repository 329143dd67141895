"""A set-point that heats nothing, for a look at what an instrument's own display makes of it."""

from collections.abc import Callable

from kilnctl.config.places import Place
from kilnctl.config.wiring import Heater, Temperature
from kilnctl.devices.device import WiredDevice
from kilnctl.devices.outputs import off_amount, off_value, reads_as_written, setpoint_raw
from kilnctl.devices.probing.diagnoses import Diagnosis, kept_set_point
from kilnctl.devices.probing.outputs_seen import output_seen, shown_amount
from kilnctl.devices.signals import in_degc
from kilnctl.errors import DeviceError
from kilnctl.units import c_from_f, f_from_c

PARKED = (
    "The instrument's set-point read {}: kilnctl has parked it ({}) before the supply goes, so that what it "
    "comes up with tells something."
)
LOW, WARM_C = 1.0, 12.0  # ten times as much as the first, in either unit, is below the second

Read = Callable[[Place], float | DeviceError]


def low_set_point(heater: Heater, process: Temperature, device: WiredDevice, read: Read) -> str:
    """Write a set-point far below the room to an instrument that regulates by itself; return it in words.

    It is 1 in the file's own unit: ten times as much, or as many degrees of the other unit, is below the room
    too. Empty, and parked again, where the oven has no such instrument, or is too cold or not read for this.
    """
    if heater.kind != "set-point" or process.unit == "mV" or process.exponent:
        return ""
    seen_c = in_degc(process, read(process), None, 0.0).value
    if seen_c is None or seen_c < WARM_C:
        return ""
    low_c = LOW if heater.unit == "C" else c_from_f(LOW)
    if not put(heater, low_c, device, read):
        put(heater, heater.park_c or 0.0, device, read)  # what it made of the number is not known
        return ""
    both = f"{low_c:.3g} °C", f"{f_from_c(low_c):.3g} °F"
    return "{} ({})".format(*(both if heater.unit == "C" else both[::-1]))


def parked_first(heater: Heater, device: WiredDevice, read: Read) -> str:
    """Write park where an instrument holds a higher set-point; return what is told, empty for nothing.

    Before its supply goes: else what it comes up with may be its maker's own number, which proves nothing. A
    lower one stays: perhaps the file has another unit or scale, and park would be more heat.
    """
    if heater.kind != "set-point" or heater.park_c is None:
        return ""
    before = read(heater)
    if isinstance(before, DeviceError) or reads_as_written(heater, before, off_value(heater)):
        return ""
    if (before - off_value(heater)) * heater.scale < 0:
        return ""
    put(heater, heater.park_c, device, read)  # one that takes no such number is told after the power-up
    return PARKED.format(f"{before:g}", f"{off_value(heater):g}")


def other_set_point(heater: Heater, read: Read) -> Diagnosis | None:
    """Return what is told of an instrument that came up with another set-point than park, None for any other.

    Where `back` is a mode or an output, that tells whether it heats, and this nothing.
    """
    amount = shown_amount(heater, read)
    if heater.kind != "set-point" or (heater.back is not None and amount is None):
        return None
    if not output_seen(heater, read):
        return None
    return (
        kept_set_point(read(heater), off_value(heater))
        if amount is None
        else kept_set_point(amount, off_amount(heater))
    )


def put(heater: Heater, point_c: float, device: WiredDevice, read: Read) -> bool:
    """Write a set-point in degC; True when it is read back."""
    raw = setpoint_raw(heater, point_c)
    try:
        device.write(heater, raw, force=True)
    except DeviceError:
        return False
    back = read(heater)
    return not isinstance(back, DeviceError) and reads_as_written(heater, back, raw)
