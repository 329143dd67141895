"""From the oven file's device to the object that speaks its language."""

from kilnctl.clock import Clock
from kilnctl.config.wiring import Device, LineDevice, TextDevice
from kilnctl.devices.bus import Bus
from kilnctl.devices.device import WiredDevice


def board(name: str, device: Device, bus: Bus, clock: Clock) -> WiredDevice:
    """Return the device; what it needs is imported only when an oven has one of its kind."""
    match device:
        case LineDevice():
            from kilnctl.devices.line import LineBoard

            return LineBoard(name, device, bus, clock)
        case TextDevice():
            from kilnctl.devices.text import TextBoard

            return TextBoard(name, device, bus, clock)
        case _:
            from kilnctl.devices.modbus import ModbusBoard

            return ModbusBoard(name, device, bus, clock)
