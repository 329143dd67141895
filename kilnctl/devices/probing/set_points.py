"""A set-point that heats nothing, for a look at what an instrument's own display makes of it."""

from collections.abc import Callable

from kilnctl.config.wiring import Heater, Place, Temperature
from kilnctl.devices.device import WiredDevice
from kilnctl.devices.outputs import same, setpoint_raw
from kilnctl.devices.signals import in_degc
from kilnctl.errors import DeviceError
from kilnctl.units import f_from_c

LOW_C, WARM_C = 1.0, 12.0  # ten times as much as the first is below the second

Read = Callable[[Place], float | DeviceError]


def low_set_point(heater: Heater, process: Temperature, device: WiredDevice, read: Read) -> str:
    """Write a set-point far below the room to an instrument that regulates by itself; return it in words.

    Ten times as much is below the room too, so nothing heats if the scale is wrong. Empty where the oven has
    no such instrument, or is too cold or not read for this.
    """
    if heater.kind != "set-point" or process.unit == "mV" or process.exponent:
        return ""
    seen_c = in_degc(process, read(process), None, 0.0).value
    if seen_c is None or seen_c < WARM_C or not put(heater, LOW_C, device, read):
        return ""
    return f"{LOW_C:g} °C ({f_from_c(LOW_C):.1f} °F)"


def put(heater: Heater, point_c: float, device: WiredDevice, read: Read) -> bool:
    """Write a set-point in degC; True when it is read back."""
    raw = setpoint_raw(heater, point_c)
    try:
        device.write(heater, raw, force=True)
    except DeviceError:
        return False
    back = read(heater)
    return not isinstance(back, DeviceError) and same(heater, back, raw)
