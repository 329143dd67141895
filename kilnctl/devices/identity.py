"""Is this the device that the oven file means? And is it real, or a simulator?

A file marked `simulated` runs on nothing but a simulator, and nothing else runs on one: a rehearsal must
never heat a real oven, nor a simulator pass for one.
"""

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.config.wiring import DeviceIdentity
from kilnctl.devices.bus import Bus
from kilnctl.devices.device import WiredDevice
from kilnctl.devices.device_factory import board
from kilnctl.devices.port import is_pseudo_terminal
from kilnctl.errors import BadReply, DeviceBusy, DeviceError, DeviceRefused, PortLost, RunRefused

SIGNED = 0x10000


def check_identity(expected: DeviceIdentity, device: WiredDevice) -> None:
    """Raise BadReply when the register or field does not hold the constant that the oven file names.

    A device that is busy is no other device: it raises DeviceBusy.
    """
    raw = device.read([expected])[0]
    if isinstance(raw, DeviceBusy):
        raise DeviceBusy(f"{raw}; wait until it has started, then try again") from raw
    if isinstance(raw, DeviceRefused):
        at = f"{expected.device}: {expected.where}"
        why = f"{at}, which should hold {expected.expect}, is refused: another device answers"
        raise BadReply(why) from raw
    error = raw if isinstance(raw, DeviceError) else unlike(expected, raw)
    if error is not None:
        raise error


def unlike(expected: DeviceIdentity, raw: float) -> BadReply | None:
    """Return what is wrong when the place does not hold the constant that the oven file names."""
    if raw == expected.expect or (expected.registers == 1 and raw == expected.expect - SIGNED):
        return None  # a table prints B207h, a signed register shows it as a negative number
    at = f"{expected.device}: {expected.where}"
    return BadReply(f"{at} holds {raw:g}, not {expected.expect}: another device answers; check the wiring")


def check_simulated(oven: Oven, path: str, device: WiredDevice, time_scale: float) -> None:
    """Raise RunRefused unless file, port, device and time scale agree on what is simulated."""
    wire = not is_pseudo_terminal(path)
    if not oven.simulated:
        if time_scale != 1:
            raise RunRefused(f"{oven.name}: a time scale is only for ovens marked simulated = true")
        if not wire and _speed(device) is not None:
            raise RunRefused(f"{oven.name}: a simulator answers, but the file is not marked simulated = true")
        return
    if wire:
        raise RunRefused(f"{oven.name} is marked simulated, but {path} is a real port; nothing was heated")
    speed = _speed(device)
    if speed is None:
        raise RunRefused(f"{oven.name} is marked simulated, but no simulator answers on {path}")
    if speed != time_scale:
        raise RunRefused(f"{oven.name}: the simulator runs at {speed:g} ×, not at {time_scale:g} ×")


def simulator_speed(oven: Oven, clock: Clock) -> float:
    """Return the speed that the simulator of a simulated oven says it runs at; 1 where none is heard.

    Only reads. A real port is not opened; whatever is wrong is said when the heat is started.
    """
    name = oven.output.heater.device
    port = oven.port[oven.device[name].port]
    if not oven.simulated or not is_pseudo_terminal(port.path):
        return 1.0
    bus = Bus(port, clock)
    try:
        return _speed(board(name, oven.device[name], bus, clock)) or 1.0
    except PortLost:
        return 1.0
    finally:
        bus.close()


def _speed(device: WiredDevice) -> float | None:
    """Return a simulator's speed; a device that does not know the question is none, a lost port no answer."""
    try:
        return device.simulated_speed()
    except PortLost:
        raise
    except DeviceError:
        return None
