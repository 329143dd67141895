"""From the oven file's device to the object that speaks its language."""

from typing import TYPE_CHECKING

from kilnctl.clock import Clock
from kilnctl.devices.bus import Bus
from kilnctl.devices.device import WiredDevice

if TYPE_CHECKING:
    from kilnctl.config.device_keys import Device


def board(name: str, device: "Device", bus: Bus, clock: Clock) -> WiredDevice:
    """Return the device; what it needs is imported only when an oven has one of its kind."""
    if device.kind == "line":
        from kilnctl.devices.languages.line import LineBoard

        return LineBoard(name, device, bus, clock)
    if device.kind == "text":
        from kilnctl.devices.languages.text import TextBoard

        return TextBoard(name, device, bus, clock)
    from kilnctl.devices.languages.modbus import ModbusBoard

    return ModbusBoard(name, device, bus, clock)
