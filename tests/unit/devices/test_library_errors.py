"""What the libraries raise reaches nobody in their words. Their texts: minimalmodbus 2.1, pyserial 3.5."""

import re
import termios

import minimalmodbus
import pytest
import serial

from kilnctl.devices.library_errors import as_device_error
from kilnctl.errors import BadReply, DeviceBusy, DeviceError, DeviceRefused, NoReply, PortLost


class Canned:
    """A line whose other end gives one reply to anything."""

    port, baudrate, timeout, is_open = "line", 19200, 0.1, True

    def __init__(self, reply: bytes) -> None:
        self.reply = reply

    def read(self, _size: int) -> bytes:
        return self.reply

    def write(self, _data: bytes) -> None:
        """Take it."""

    def reset_input_buffer(self) -> None:
        """Nothing waits."""

    reset_output_buffer = flush = open = close = reset_input_buffer


def of_a_reply(function: int, reply: bytes) -> Exception:
    """Return what the library raises when a request to device 1 gets such a reply."""
    instrument = minimalmodbus.Instrument(Canned(reply), 1)
    ask = {
        3: lambda: instrument.read_register(9),
        6: lambda: instrument.write_register(9, 1, functioncode=6),
        16: lambda: instrument.write_registers(9, [1]),
    }[function]
    with pytest.raises(minimalmodbus.ModbusException) as raised:
        ask()
    return raised.value


def whole(body: bytes) -> bytes:
    return body + minimalmodbus._calculate_crc(body)


@pytest.mark.parametrize(
    ("reply", "function", "kind", "words"),
    [
        (b"\x01\x03", 3, BadReply, "cut short"),
        (b"\x01\x03\x02\x00\x07\x00\x00", 3, BadReply, "checksum"),
        (b"\x00" + whole(b"\x01\x03\x02\x00\x07")[:-1], 3, BadReply, "reply: a stray byte comes before it"),
        (b"\xff" + whole(b"\x01\x03\x02'\"")[:-1], 3, BadReply, "reply: a stray byte comes before it"),
        (whole(b"\x02\x03\x02\x00\x07"), 3, BadReply, "address 2 answers, not 1"),
        (whole(b"\x01\x04\x02\x00\x07"), 3, BadReply, "function 4, not 3"),
        (whole(b"\x01\x06\x00\x07\x00\x00"), 6, BadReply, "register 7, not 9"),
        (whole(b"\x01\x10\x00\x09\x00\x05"), 16, BadReply, "does not repeat what was written"),
        (whole(b"\x01\x83\x02"), 3, DeviceRefused, "refuses: illegal data address"),
        (
            whole(b"\x01\x83\x04"),
            3,
            DeviceRefused,
            "refuses: it cannot do that now, or has a fault (exception 04)",
        ),
        (whole(b"\x01\x83\x06"), 3, DeviceBusy, "it is busy"),
        (whole(b"\x01\x83\x05"), 3, DeviceBusy, "it is busy"),
        (whole(b"\x01\x83\x0b"), 3, NoReply, "gateway"),
        (whole(b"\x01\x83\x63"), 3, DeviceRefused, "error code 99"),
    ],
)
def test_a_reply_that_cannot_be_used(
    reply: bytes, function: int, kind: type[DeviceError], words: str
) -> None:
    error = as_device_error(of_a_reply(function, reply), "board, reading", 0.2)
    assert type(error) is kind
    assert words in str(error)
    assert not re.search(r"adress|b'|\\x|Slave|payload|\bNone\b", str(error))


@pytest.mark.parametrize(
    ("raised", "words"),
    [
        (OSError(5, "Input/output error"), "the port is gone: Input/output error"),
        (termios.error(5, "Input/output error"), "the port is gone: Input/output error"),
        (serial.SerialException("device reports readiness to read but returned no data"), "unplugged"),
        (serial.SerialTimeoutException("Write timeout"), "unplugged"),
        (ConnectionResetError("the device has closed the connection"), "closed the connection"),
        (BrokenPipeError(32, "Broken pipe"), "Broken pipe"),
    ],
)
def test_a_port_that_is_gone(raised: Exception, words: str) -> None:
    error = as_device_error(raised, "board, reading", 0.2)
    assert isinstance(error, PortLost)
    assert words in str(error)
    assert "readiness" not in str(error)


def test_a_write_by_a_function_that_the_device_lacks_names_the_key() -> None:
    """Exception code 01, ILLEGAL FUNCTION (V1.1b3, 7)."""
    refused = minimalmodbus.IllegalRequestError("Slave reported illegal function")
    assert "multiple = true" in str(as_device_error(refused, "relays, writing 1 to 10", 0.2))
    assert "multiple" not in str(as_device_error(refused, "relays, reading holding 10", 0.2))
    taken = "relays, writing 1 by function 16 to holding 10"  # as where only 5 and 6 are there
    assert "only 5 and 6, take multiple = true out" in str(as_device_error(refused, taken, 0.2))
