"""Modbus RTU frames, apart from any port: request bytes to reply bytes.

Modbus Application Protocol V1.1b3 (function codes 01-06, 15, 16; exceptions 01-03) and Modbus over Serial
Line V1.02 (CRC-16, low byte first; unit 0 is a broadcast and gets no reply).
"""

from collections.abc import Mapping
from typing import Protocol

from simulator.boards.board import BadValue, NoSuchRegister

NO_FUNCTION, NO_REGISTER, NO_VALUE = 1, 2, 3
BITS = {1: "coil", 2: "discrete"}
WORDS = {3: "holding", 4: "input"}
LONGEST_FRAME = 256


class Unit(Protocol):
    """What answers under one unit address: registers with no line between."""

    def get(self, table: str, register: int) -> int:
        """Read a register, 0..65535. Raises NoSuchRegister."""
        ...

    def set(self, table: str, register: int, value: int) -> None:
        """Write a register. Raises NoSuchRegister and BadValue."""
        ...


def crc(data: bytes) -> int:
    """Return the CRC-16 of a frame: start FFFF, reflected polynomial A001."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = (value >> 1) ^ 0xA001 if value & 1 else value >> 1
    return value


def framed(body: bytes) -> bytes:
    """Return a body with its CRC, low byte first."""
    return body + crc(body).to_bytes(2, "little")


def request_length(start: bytes) -> int | None:
    """Return how long the request that begins so is; None while that cannot be known yet.

    An unknown function code counts as 8 bytes, like the simple ones.
    """
    if len(start) < 2:
        return None
    if start[1] in (15, 16):
        return 9 + start[6] if len(start) > 6 else None
    return 8


def answer(units: Mapping[int, Unit], frame: bytes) -> bytes | None:
    """Return the reply to a whole request, or None: damaged, for nobody here, or a broadcast."""
    if len(frame) < 4 or crc(frame[:-2]) != int.from_bytes(frame[-2:], "little"):
        return None
    address, body = frame[0], frame[1:-2]
    if address == 0:
        for unit in units.values():
            _reply(unit, body)
        return None
    if address not in units:
        return None
    return framed(bytes([address]) + _reply(units[address], body))


def _reply(unit: Unit, body: bytes) -> bytes:
    try:
        return _act(unit, body[0], body[1:])
    except NoSuchRegister:
        code = NO_REGISTER
    except BadValue:
        code = NO_VALUE
    except NotImplementedError:
        code = NO_FUNCTION
    return bytes([body[0] | 0x80, code])


def _act(unit: Unit, function: int, data: bytes) -> bytes:
    first, second = int.from_bytes(data[0:2], "big"), int.from_bytes(data[2:4], "big")
    if function in BITS:
        return bytes([function]) + _read_bits(unit, BITS[function], first, second)
    if function in WORDS:
        return bytes([function]) + _read_words(unit, WORDS[function], first, second)
    if function == 5:
        if second not in (0x0000, 0xFF00):
            raise BadValue("a coil takes 0000 or FF00")
        unit.set("coil", first, int(second == 0xFF00))
    elif function == 6:
        unit.set("holding", first, second)
    elif function == 15:
        _write_bits(unit, first, second, data[4:])
    elif function == 16:
        _write_words(unit, first, second, data[4:])
    else:
        raise NotImplementedError
    return bytes([function]) + data[:4]


def _read_bits(unit: Unit, table: str, first: int, count: int) -> bytes:
    if not 1 <= count <= 2000:
        raise BadValue("1 to 2000 bits")
    packed = bytearray((count + 7) // 8)
    for i in range(count):
        packed[i // 8] |= unit.get(table, first + i) << (i % 8)
    return bytes([len(packed)]) + bytes(packed)


def _read_words(unit: Unit, table: str, first: int, count: int) -> bytes:
    if not 1 <= count <= 125:
        raise BadValue("1 to 125 registers")
    words = b"".join(unit.get(table, first + i).to_bytes(2, "big") for i in range(count))
    return bytes([len(words)]) + words


def _write_bits(unit: Unit, first: int, count: int, data: bytes) -> None:
    if not 1 <= count <= 0x7B0 or data[:1] != bytes([(count + 7) // 8]) or len(data) != 1 + data[0]:
        raise BadValue("counts do not agree")
    for i in range(count):
        unit.get("coil", first + i)
    for i in range(count):
        unit.set("coil", first + i, data[1 + i // 8] >> (i % 8) & 1)


def _write_words(unit: Unit, first: int, count: int, data: bytes) -> None:
    if not 1 <= count <= 0x7B or data[:1] != bytes([2 * count]) or len(data) != 1 + data[0]:
        raise BadValue("counts do not agree")
    for i in range(count):
        unit.get("holding", first + i)
    for i in range(count):
        unit.set("holding", first + i, int.from_bytes(data[1 + 2 * i : 3 + 2 * i], "big"))
