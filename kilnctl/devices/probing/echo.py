"""An address that nobody has must stay silent: an adapter that echoes makes a dead board look alive."""

from kilnctl.clock import Clock
from kilnctl.config.device_keys import ModbusDevice
from kilnctl.config.places import Place
from kilnctl.devices.bus import Bus
from kilnctl.devices.languages.modbus import ModbusBoard
from kilnctl.devices.library_errors import NO_ECHO
from kilnctl.devices.probing.diagnoses import Diagnosis
from kilnctl.errors import BadReply, DeviceRefused, NoReply, PortLost, sentence


def echo_on(bus: Bus, unused: int, clock: Clock) -> Diagnosis:
    """Ask an address that nobody on the line has, and say what its answer, or its silence, means."""
    place = Place(device="", table="coil", register=0)
    nobody = ModbusBoard("nobody", ModbusDevice(port="", address=unused), bus, clock)
    whose = f"{bus.port.path}: address {unused}, which no device has,"
    match nobody.read([place], force=True)[0]:
        case NoReply() as e if str(e).endswith(NO_ECHO):
            why = "is there no echo? Then take echoes out. Otherwise look at the wires"
            return Diagnosis("echo", False, f"{bus.port.path}: nothing comes back of what is sent: {why}.")
        case NoReply():
            return Diagnosis("echo", True, f"{whose} stays silent.")
        case BadReply():
            say = f"{bus.port.path}: bytes come back from address {unused}, which no device has: an echo."
            hint = (
                "Switch its echo off (two-wire adapters have a jumper or setting) before anything else; "
                "where that cannot be, write echoes = true at the port."
            )
            return Diagnosis("echo", False, f"{say} {hint}")
        case PortLost() as e:
            return Diagnosis("echo", False, sentence(e))
        case DeviceRefused():
            return Diagnosis("echo", True, f"{whose} is refused, as gateways do.")
    say = f"{bus.port.path}: a device answers to address {unused} too; give it an address of its own."
    return Diagnosis("echo", False, say)
