"""Is this the device that the oven file means? And is it real, or a simulator?

A simulator identifies itself in two holding registers. A file marked `simulated` runs on nothing else, and
nothing else runs on a simulator: a rehearsal must never heat a real oven, nor a simulator pass for one.
"""

from kilnctl.config.oven import Identity, Oven, Place
from kilnctl.devices.modbus import ModbusDevice
from kilnctl.devices.port import is_pseudo_terminal
from kilnctl.errors import BadReply, DeviceError, PortLost, RunRefused

SIMULATED_PLANT = 0x5350  # "SP"
MARK_REGISTER = 9000
SPEED_REGISTER = 9001


def check_identity(expected: Identity, device: ModbusDevice) -> None:
    """Raise BadReply when the register does not hold the constant that the oven file names."""
    raw = device.read([expected])[0]
    if isinstance(raw, DeviceError):
        raise raw
    if raw != expected.expect:
        at = f"{expected.device}: {expected.table} {expected.register_no}"
        raise BadReply(f"{at} holds {raw:g}, not {expected.expect}: another device answers; check the wiring")


def check_simulated(oven: Oven, path: str, device: ModbusDevice, time_scale: float) -> None:
    """Raise RunRefused unless file, port, device and time scale agree on what is simulated."""
    wire = not is_pseudo_terminal(path)
    if not oven.simulated:
        if time_scale != 1:
            raise RunRefused(f"{oven.name}: a time scale is only for ovens marked simulated = true")
        if not wire and _register(device, oven, MARK_REGISTER) == SIMULATED_PLANT:
            raise RunRefused(
                f"{oven.name}: a simulator answers, but the oven file is not marked simulated = true"
            )
        return
    if wire:
        raise RunRefused(f"{oven.name} is marked simulated, but {path} is a real port; nothing was heated")
    if _register(device, oven, MARK_REGISTER) != SIMULATED_PLANT:
        raise RunRefused(f"{oven.name} is marked simulated, but no simulator answers on {path}")
    speed = _register(device, oven, SPEED_REGISTER)
    if speed != time_scale:
        raise RunRefused(
            f"{oven.name}: the simulator runs at {speed:g} ×, but {time_scale:g} × was asked for"
        )


def _register(device: ModbusDevice, oven: Oven, register_no: int) -> float:
    """Return a register, or -1 where the device does not have it; PortLost is not an answer."""
    place = Place(device=oven.output.heater.device, table="holding", register=register_no, format="uint16")
    raw = device.read([place])[0]
    if isinstance(raw, PortLost):
        raise raw
    return -1.0 if isinstance(raw, DeviceError) else raw
