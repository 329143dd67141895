"""What an oven file puts on the wire, to be laid beside the examples of the device's own sheet."""

from collections.abc import Iterator

from kilnctl.config.device_keys import ModbusDevice, Port, TextDevice
from kilnctl.config.line_parts import PART, VALUE
from kilnctl.config.oven import Oven
from kilnctl.config.wiring import DeadMan, Heater, Output, Written
from kilnctl.devices.checksums import crc16, tail
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.languages.modbus import encode
from kilnctl.devices.languages.text_numbers import digits
from kilnctl.devices.outputs import off_value, wanted_value

LOW_C = 100.0
HEADER_ZERO = b"\0\0"  # the protocol's own number: Modbus


def what_is_sent(oven: Oven) -> Iterator[str]:
    """Yield a line for each thing that is written, and each that a text board is asked, as it is sent."""
    for name, place, doing, raw in _writes(oven):
        device = oven.device[place.device]
        if isinstance(device, TextDevice):
            yield f"{name}, {doing}: {_on_the_wire(device, _line(device, place, raw))}"
        elif isinstance(device, ModbusDevice):
            yield f"{name}, {doing}: {_framed(oven.port[device.port], device.address, _asked(place, raw))}"
    for name, device in oven.device.items():
        if isinstance(device, TextDevice):
            sends = [ask.send for ask in device.ask if ask.send]
            yield from (f"{name} is asked: {_on_the_wire(device, send)}" for send in sends)


def _on_the_wire(device: TextDevice, line: str) -> str:
    """Return a line with its checksum, and what ends it."""
    summed = tail(device.checksum, device.checksum_mark, device.checksum_after, line)
    return f"{line + summed!r} {device.line_end}"


def _writes(oven: Oven) -> Iterator[tuple[str, Written, str, float]]:
    for name, place in oven.wired():
        if isinstance(place, Heater):
            yield from ((name, place, doing, raw) for doing, raw in _amounts(place))
        elif isinstance(place, Output):
            yield name, place, "on", place.on
            yield name, place, "off", place.off
        elif isinstance(place, DeadMan):
            yield name, place, "once, unless it reads so" if place.stored else "every second", place.write
            if place.then is not None:
                yield name, place, "in turn with it", place.then
    yield from (("arm", arm, "once", arm.write) for arm in oven.arm)


def _amounts(heater: Heater) -> Iterator[tuple[str, float]]:
    match heater.kind:
        case "set-point":
            yield f"{LOW_C:.0f} °C", wanted_value(heater, HeatRequest(True, 1.0, LOW_C))
        case "duty":
            yield "full heat", wanted_value(heater, HeatRequest(True, 1.0))
            yield "a third", wanted_value(heater, HeatRequest(True, 1.0 / 3.0))
        case _:
            yield "on", heater.on
    yield "off", off_value(heater)


def _line(device: TextDevice, place: Written, raw: float) -> str:
    def told(name: str, picture: str) -> str:
        one, number = (place.field, raw) if name == VALUE else (name, 0.0)
        words = device.words.get(one)
        return words[int(number)] if words else digits(number, picture, device.decimal)

    return PART.sub(lambda part: told(part[1], part[2] or ""), device.tell[place.field].send)


def _framed(port: Port, address: int, asked: bytes) -> str:
    """Return a request as the port carries it: RTU or ASCII (serial line guide 1.02), or Modbus over TCP.

    TCP (messaging guide 1.0b, 3.1.3) has a header for a CRC, with a number that is another each time.
    """
    frame = bytes([address]) + asked
    if port.path.startswith("tcp://"):
        return f"(number, 2 bytes) {(HEADER_ZERO + len(frame).to_bytes(2, 'big') + frame).hex(' ').upper()}"
    if port.frames == "ascii":
        return f":{frame.hex().upper()}{-sum(frame) & 0xFF:02X} CR LF"
    return (frame + crc16(frame).to_bytes(2, "little")).hex(" ").upper()


def _asked(place: Written, raw: float) -> bytes:
    """Return function and data of a request (application protocol V1.1b3)."""
    words = [int(raw) << place.bit] if place.bit is not None else encode(place, raw)
    first = place.register_no.to_bytes(2, "big")
    if place.bits_table:
        function, data = (
            (15, b"\0\1\1" + bytes([int(raw)])) if place.multiple else (5, bytes([255 * int(raw), 0]))
        )
    elif place.multiple or len(words) > 1:
        data = b"".join(word.to_bytes(2, "big") for word in words)
        function, data = 16, len(words).to_bytes(2, "big") + bytes([len(data)]) + data
    else:
        function, data = 6, words[0].to_bytes(2, "big")
    return bytes([function]) + first + data
