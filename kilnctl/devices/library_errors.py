"""What the serial and Modbus libraries raise, as one of our errors in words of our own.

Their texts show bytes and inner names; a maker needs to know what came back. The exception codes bear the
names of the MODBUS Application Protocol Specification V1.1b3, section 7.
"""

import ast
import re
import termios

import minimalmodbus

from kilnctl.errors import BadReply, DeviceBusy, DeviceError, DeviceRefused, NoReply, PortLost

# How the library begins what it says of a reply, and what is said instead; {0} and {1} are its two numbers.
DAMAGED = (
    (r"Checksum error", "its checksum is wrong"),
    (r"Too short", "it is cut short"),
    (r"Wrong return slave address: (\d+) instead of (\d+)", "address {0} answers, not {1}"),
    (r"Wrong functioncode: (\d+) instead of (\d+)", "it answers function {0}, not {1}"),
    (r"Wrong given write start adress: (\d+), but commanded is (\d+)", "it names register {0}, not {1}"),
    (r"Local echo", "the request did not come back before the answer, though the file says echoes = true"),
    (r"Wrong number of registers|Wrong write data", "it does not repeat what was written"),
)
NO_ECHO = "the request did not come back, though the file says echoes = true"
FOREIGN = "its length or form is not as requested"
# No device on a serial line has address 00 or FF: such a byte is what a line gives that nobody drives.
STRAY, CAME = "a stray byte comes before it", re.compile(r"Checksum error in rtu mode.* is: (b'.*') \(plain")
BUSY = "device busy"
# Code 4 is a failure by its name; makers use it for "not now": a mode that does not fit, a latch that stands.
NOT_NOW = {"device failure": "it cannot do that now, or has a fault (exception 04)"}
# Code 5, "taken, but not done yet", is no error to the library: it sees function 131 where it asked for 3.
TAKEN = re.compile(r"Wrong functioncode: (\d+) instead of (\d+)")
GONE = "unplugged, or its device is switched off"


def as_device_error(e: Exception, what: str, timeout_s: float) -> DeviceError:
    """Return what a library raised as one of our errors; `what` names device and operation."""
    match e:
        case minimalmodbus.NoResponseError():
            return NoReply(f"{what}: no reply within {timeout_s:g} s")
        case minimalmodbus.LocalEchoError() if str(e).endswith("local echo:  (0 bytes)."):
            return NoReply(f"{what}: {NO_ECHO}")  # a line that is cut is silent, not damaged
        case minimalmodbus.SlaveReportedException():
            return _refusal(str(e).removeprefix("Slave reported "), what)
        case minimalmodbus.ModbusException() if (said := TAKEN.match(str(e))) and _has_taken(said):
            return _refusal(BUSY, what)
        case minimalmodbus.ModbusException():
            return BadReply(f"{what}: damaged or foreign reply: {_damage(str(e))}")
        case OSError() | termios.error():
            return PortLost(f"{what}: the port is gone: {_loss(e)}")
    return BadReply(f"{what}: {str(e).splitlines()[0][:120] if str(e) else type(e).__name__}")


def _refusal(reason: str, what: str) -> DeviceError:
    if "gateway" in reason:
        return NoReply(f"{what}: a gateway reports no answer there")
    if reason == BUSY:
        return DeviceBusy(f"{what}: the device reports that it is busy")
    said = reason.splitlines()[0][:120]
    refused = f"{what}: the device refuses: {NOT_NOW.get(said, said)}"
    if "illegal function" in reason and "by function 1" in what:
        refused += "; if its list has only 5 and 6, take multiple = true out, or a value over two registers"
    elif "illegal function" in reason and "writing" in what:
        refused += "; if its list has only functions 15 and 16, write multiple = true there"
    return DeviceRefused(refused)


def _has_taken(functions: re.Match[str]) -> bool:
    return int(functions[1]) == int(functions[2]) + 128


def _damage(text: str) -> str:
    if (came := CAME.match(text)) and ast.literal_eval(came[1])[0] in (0x00, 0xFF):
        return STRAY
    for begins, words in DAMAGED:
        if match := re.match(begins, text):
            return words.format(*match.groups())
    return FOREIGN


def _loss(e: OSError | termios.error) -> str:
    """Return why a port is lost: the system's words where it has some, ours for those of the library."""
    if isinstance(e, ConnectionError) and e.errno is None and e.args:
        return str(e.args[0])  # raised by our own connections, in our words
    number = e.errno if isinstance(e, OSError) else e.args[0] if e.args else None
    said = e.strerror if isinstance(e, OSError) else str(e.args[-1]) if e.args else ""
    return said if isinstance(number, int) and said and "could not" not in said else GONE
